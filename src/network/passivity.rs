//! Passivity: whether more power can come out than goes in.

use super::TwoPort;

/// The largest singular value of the scattering matrix: the square root of the most power that can come out of
/// both ports together for one watt going in. A passive two-port has at most 1, a lossless one exactly 1.
///
/// σ² = (F + √(F² − 4·|det S|²))/2 with F = Σ|Sij|², the larger eigenvalue of S's conjugate transpose times S.
pub fn largest_singular_value(two_port: &TwoPort) -> f64 {
    let total =
        two_port.s11.norm_sqr() + two_port.s12.norm_sqr() + two_port.s21.norm_sqr() + two_port.s22.norm_sqr();
    // Rounding can push the difference below zero where both singular values agree.
    let apart = (total * total - 4.0 * two_port.determinant().norm_sqr()).max(0.0).sqrt();
    f64::midpoint(total, apart).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::network::check::{near, polar};
    use num_complex::Complex64;

    /// By hand: [[.5,.9],[.9,.5]] has the eigenvectors (1, ±1) and the singular values 1.4 and 0.4.
    #[test]
    fn more_out_than_in() {
        let active = TwoPort::symmetrical(Complex64::from(0.5), Complex64::from(0.9));
        near(largest_singular_value(&active), 1.4, 1e-14);
    }

    /// The quarter-wave transformer of two to one is lossless.
    #[test]
    fn lossless() {
        let lossless = TwoPort::symmetrical(Complex64::from(0.6), Complex64::new(0.0, -0.8));
        near(largest_singular_value(&lossless), 1.0, 1e-14);
    }

    /// Touchstone 2.1, example 18, first row, an amplifying transistor; the expected value was made with
    /// `numpy.linalg.svd`.
    #[test]
    fn a_printed_transistor_amplifies() {
        let transistor = TwoPort {
            s11: polar(0.95, -26.0),
            s21: polar(3.57, 157.0),
            s12: polar(0.04, 76.0),
            s22: polar(0.66, -14.0),
        };
        near(largest_singular_value(&transistor), 3.749_112_817, 1e-8);
    }
}
