//! Square M-QAM: M points on a square grid around the origin.

use num_complex::Complex64;
use std::f64::consts::SQRT_2;

/// The orders M that are looked at, ascending.
pub const ORDERS: [u16; 6] = [4, 16, 64, 256, 1024, 4096];

/// The points of one square constellation, scaled so that the corners have magnitude 1.
///
/// Point `quadrature·√M + in_phase` has the level (2k + 1 − √M)/((√M − 1)·√2) in each part, k the index of that part: the
/// in-phase part ascends fastest. How bits label the points is left open.
#[derive(Clone, Debug)]
pub struct Qam {
    side: u16,
    points: Vec<Complex64>,
}

impl Qam {
    /// The constellation of one order; `None` unless M is a square of an even number.
    pub fn new(order: u16) -> Option<Self> {
        let side = order.isqrt();
        if side * side != order || side == 0 || side % 2 == 1 {
            return None;
        }
        let level = |index: u16| (2.0 * f64::from(index) + 1.0 - f64::from(side)) * half_spacing(side);
        let row =
            |quadrature| (0..side).map(move |in_phase| Complex64::new(level(in_phase), level(quadrature)));
        Some(Self { side, points: (0..side).flat_map(row).collect() })
    }

    /// M.
    pub fn order(&self) -> u16 {
        self.side * self.side
    }

    /// The points.
    pub fn points(&self) -> &[Complex64] {
        &self.points
    }

    /// Whether `value`, in the scale of the points, is nearer to point `index` than to any other. On the line between
    /// two points it is nearer to neither.
    pub fn is_nearest(&self, value: Complex64, index: usize) -> bool {
        let half = half_spacing(self.side) * (1.0 - 1e-12);
        let last = usize::from(self.side) - 1;
        let (in_phase, quadrature) = (index % (last + 1), index / (last + 1));
        // The cells of a square grid are squares, open at the outer edge.
        let inside = |offset: f64, index: usize| {
            (offset > -half || index == 0) && (offset < half || index == last) && offset.is_finite()
        };
        let offset = value - self.points[index];
        inside(offset.re, in_phase) && inside(offset.im, quadrature)
    }
}

/// Half the distance between neighbours.
fn half_spacing(side: u16) -> f64 {
    1.0 / ((f64::from(side) - 1.0) * SQRT_2)
}

/// The peak over the mean power of square M-QAM, linear: 3(√M − 1)/(√M + 1), from the mean energy 2(M − 1)/3 and the
/// corner energy 2(√M − 1)² of the grid of odd integers.
pub fn peak_over_mean(order: u16) -> f64 {
    let side = f64::from(order).sqrt();
    3.0 * (side - 1.0) / (side + 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 3(√M − 1)/(√M + 1) in decibels and the mean energy 2(M − 1)/3 of the grid of odd integers; by hand.
    #[test]
    fn powers_of_square_constellations() {
        let expected = [
            (4, 0.0, 2.0),
            (16, 2.552_725, 10.0),
            (64, 3.679_768, 42.0),
            (256, 4.227_636, 170.0),
            (1024, 4.499_690, 682.0),
            (4096, 4.635_484, 2730.0),
        ];
        assert_eq!(expected.map(|(order, ..)| order), ORDERS);
        for (order, peak_over_mean_db, mean_energy) in expected {
            let found = peak_over_mean(order);
            assert!((10.0 * found.log10() - peak_over_mean_db).abs() < 5e-7, "{order}");
            let qam = Qam::new(order).expect("a square");
            let mean = qam.points().iter().map(Complex64::norm_sqr).sum::<f64>() / f64::from(order);
            assert!((1.0 / mean - found).abs() < 1e-12 * found, "{order}");
            let odd = half_spacing(qam.side);
            assert!((mean / (odd * odd) - mean_energy).abs() < 1e-9 * mean_energy, "{order}");
        }
    }

    /// From the corner to the innermost points, 20·log10(√M − 1): 36 dB at 4096, beyond an attenuator of 31.5 dB. By hand.
    #[test]
    fn ranges_of_square_constellations() {
        for (order, range_db) in
            [(16, 9.542_425), (64, 16.901_961), (256, 23.521_825), (1024, 29.827_234), (4096, 35.986_811)]
        {
            let qam = Qam::new(order).expect("a square");
            let sizes = || qam.points().iter().map(|point| point.norm());
            let (low, high) = (sizes().fold(f64::INFINITY, f64::min), sizes().fold(0.0, f64::max));
            assert!((20.0 * (high / low).log10() - range_db).abs() < 5e-7, "{order}");
            assert!((high - 1.0).abs() < 1e-15);
        }
    }

    #[test]
    fn only_squares_of_even_numbers_are_square_constellations() {
        assert!([0, 1, 2, 8, 9, 15, 25, 128].into_iter().all(|order| Qam::new(order).is_none()));
        assert_eq!(Qam::new(36).map(|qam| qam.order()), Some(36));
    }

    /// Against the distances to all points.
    #[test]
    fn the_nearest_point_is_the_nearest_point() {
        for order in [4, 16, 64] {
            let qam = Qam::new(order).expect("a square");
            let mut turn = 0.0;
            for step in 0..400 {
                turn += 2.399_963;
                let value = Complex64::from_polar(1.6 * (f64::from(step) / 400.0).sqrt(), turn);
                let squared: Vec<f64> = qam.points().iter().map(|point| (point - value).norm_sqr()).collect();
                for (index, own) in squared.iter().enumerate() {
                    let nearest = squared.iter().enumerate().all(|(at, other)| at == index || own < other);
                    assert_eq!(qam.is_nearest(value, index), nearest, "{order} {value} {index}");
                }
            }
            assert!((0..usize::from(order)).all(|index| !qam.is_nearest(Complex64::new(0.0, 0.1), index)));
            assert!(!qam.is_nearest(Complex64::new(f64::NAN, 0.1), 0));
        }
    }
}
