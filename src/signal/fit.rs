//! One constellation against the states that make it: the best scale for a mapping, and the best mapping for a scale.

use super::Qam;
use crate::table::Finder;
use num_complex::Complex64;

/// The limits of the corner's magnitude.
#[derive(Clone, Copy, Debug)]
pub(super) struct Corner {
    pub(super) lowest: f64,
    pub(super) highest: f64,
}

/// A scale that is the best for its mapping, and the mapping that is the best for its scale.
#[derive(Clone, Debug)]
pub(super) struct Settled {
    pub(super) scale: Complex64,
    pub(super) states: Vec<u32>,
    /// Error vector magnitude, linear, over the root mean square of the ideal points.
    pub(super) evm: f64,
}

/// The complex scale a that makes Σ|r − a·x|²/Σ|a·x|² smallest, r the places of a fixed mapping, with |a| within limits; `before`
/// is the scale so far.
///
/// With c = 1/a that is Σ|c·r − x|²/Σ|x|², a parabola in |c| once c has the phase of Σ r*x: the free minimum is
/// c = Σ r*x/Σ|r|², and beyond a limit the limit itself is best. `None` where no state transmits.
pub(super) fn best_scale(
    points: &[Complex64],
    places: impl Iterator<Item = Complex64>,
    corner: Corner,
    before: Complex64,
) -> Option<Complex64> {
    let (mut power, mut ideal_power, mut product) = (0.0, 0.0, Complex64::ZERO);
    for (point, place) in points.iter().zip(places) {
        power += place.norm_sqr();
        ideal_power += point.norm_sqr();
        product += place.conj() * point;
    }
    let size = (product.norm() / power).clamp(1.0 / corner.highest, 1.0 / corner.lowest);
    // Where all points share one state the sum is zero but for rounding, and no turn is better than another.
    let is_something = product.norm_sqr() > 1e-24 * power * ideal_power;
    let towards = if is_something { product } else { before.conj() };
    let turn = towards / towards.norm();
    Some((turn * size).inv()).filter(|scale| scale.is_finite())
}

/// √(Σ|r − a·x|²/Σ|a·x|²).
pub(super) fn evm(points: &[Complex64], places: impl Iterator<Item = Complex64>, scale: Complex64) -> f64 {
    let (mut error, mut power) = (0.0, 0.0);
    for (point, place) in points.iter().zip(places) {
        error += (place - point * scale).norm_sqr();
        power += (point * scale).norm_sqr();
    }
    (error / power).sqrt()
}

/// The error has settled when a round lowers it by less than this part.
const SETTLED: f64 = 1e-6;

/// From a scale on, nearest states and best scale in turn until the error settles, at most so many rounds. Neither step
/// raises the error. `beside` are states thought to be near; they save time only.
pub(super) fn settle(
    qam: &Qam,
    transmission: &[Complex64],
    finder: &Finder,
    corner: Corner,
    start: Complex64,
    mut beside: Vec<u32>,
    rounds: usize,
) -> Option<Settled> {
    let mut scale = start;
    let mut before = f64::INFINITY;
    for round in 1.. {
        let states = nearest(qam, finder, scale, &beside)?;
        let places = || states.iter().map(|&state| transmission[state as usize]);
        let evm = evm(qam.points(), places(), scale);
        if round == rounds || evm >= before * (1.0 - SETTLED) {
            return Some(Settled { scale, states, evm });
        }
        scale = best_scale(qam.points(), places(), corner, scale)?;
        before = evm;
        beside = states;
    }
    None
}

/// The state nearest to each point under a scale; ties go to the lower word. `None` without states.
pub(super) fn nearest(qam: &Qam, finder: &Finder, scale: Complex64, beside: &[u32]) -> Option<Vec<u32>> {
    let beside = beside.iter().copied().map(Some).chain(std::iter::repeat(None));
    let wanted = qam.points().iter().zip(beside);
    wanted.map(|(point, beside)| finder.nearest_beside(point * scale, None, beside)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const FREE: Corner = Corner { lowest: 1e-9, highest: 1e9 };

    /// Four points at 45°, 135°, …, made as 1.05 times at 2° too much, 0.98 at −1°, exactly, and 1.02 at 3°.
    fn four_off() -> (Qam, Vec<Complex64>) {
        let qam = Qam::new(4).expect("a square");
        // In the order of the angles: in phase and quadrature +, then − +, − −, + −.
        let off = [(3, 1.05, 2.0_f64), (2, 0.98, -1.0), (0, 1.0, 0.0), (1, 1.02, 3.0)];
        let mut places = vec![Complex64::ZERO; 4];
        for (point, size, turn) in off {
            places[point] = qam.points()[point] * Complex64::from_polar(size, turn.to_radians());
        }
        (qam, places)
    }

    /// Without scaling 4.379934 %; with the measured values scaled to the ideal ones √(1 − ρ) = 3.750737 %, ρ =
    /// 0.9985931972. With the ideal values scaled to the measured ones √(1/ρ − 1) = 3.753378 %, the scale there being ρ·a =
    /// 1.0119533 + 0.0182309j. Computed outside this code from the definitions of the correlation.
    #[test]
    fn four_points_that_are_off() {
        let (qam, places) = four_off();
        let raw = evm(qam.points(), places.iter().copied(), Complex64::ONE);
        assert!((100.0 * raw - 4.379_934).abs() < 5e-7, "{raw}");
        let scale = best_scale(qam.points(), places.iter().copied(), FREE, Complex64::ONE).expect("a scale");
        let scaled = evm(qam.points(), places.iter().copied(), scale);
        assert!((100.0 * scaled - 3.750_737).abs() < 5e-7, "{scaled}");
        assert!((scaled * scaled - (1.0 - 0.998_593_197_2)).abs() < 1e-10);
        let other = scale * 0.998_593_197_2;
        assert!((other - Complex64::new(1.011_953_3, 0.018_230_9)).norm() < 1e-7, "{other}");
        let to_measured = evm(qam.points(), places.iter().copied(), other);
        assert!((100.0 * to_measured - 3.753_378).abs() < 5e-7, "{to_measured}");
    }

    /// No scale nearby is better, free or at a limit that the free one breaks.
    #[test]
    fn the_best_scale_is_the_best() {
        let (qam, places) = four_off();
        for corner in [FREE, Corner { lowest: 1.1, highest: 3.0 }, Corner { lowest: 0.1, highest: 0.9 }] {
            let error = |scale| evm(qam.points(), places.iter().copied(), scale);
            let best =
                best_scale(qam.points(), places.iter().copied(), corner, Complex64::ONE).expect("a scale");
            let within = corner.lowest * (1.0 - 1e-12)..=corner.highest * (1.0 + 1e-12);
            assert!(within.contains(&best.norm()), "{corner:?} {best}");
            for step in 0..360 {
                for size in [1e-5, 1e-3, 0.1] {
                    let other = best * (1.0 + Complex64::from_polar(size, f64::from(step).to_radians()));
                    let outside = !within.contains(&other.norm());
                    assert!(outside || error(other) >= error(best) * (1.0 - 1e-12), "{corner:?} {other}");
                }
            }
        }
    }

    #[test]
    fn states_without_transmission_have_no_scale_and_one_state_for_all_keeps_the_turn() {
        let qam = Qam::new(16).expect("a square");
        let none = vec![Complex64::ZERO; 16];
        assert_eq!(best_scale(qam.points(), none.into_iter(), FREE, Complex64::ONE), None);
        let corner = Corner { lowest: 0.25, highest: 1.0 };
        let one = vec![Complex64::new(0.3, 0.1); 16];
        let scale = best_scale(qam.points(), one.into_iter(), corner, Complex64::I).expect("a scale");
        assert!((scale - Complex64::I).norm() < 1e-9, "{scale}");
    }
}
