//! Reciprocity: whether both directions transmit alike.

use super::TwoPort;

/// |S21 − S12| / max(|S21|, |S12|): 0 for a reciprocal two-port, 1 where one direction alone transmits, up to 2.
/// Where neither transmits it is 0.
pub fn reciprocity(two_port: &TwoPort) -> f64 {
    let larger = two_port.s21.norm().max(two_port.s12.norm());
    if larger == 0.0 { 0.0 } else { (two_port.s21 - two_port.s12).norm() / larger }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::network::check::{near, polar};
    use num_complex::Complex64;

    fn with(s21: Complex64, s12: Complex64) -> TwoPort {
        TwoPort { s11: Complex64::ZERO, s12, s21, s22: Complex64::ZERO }
    }

    /// All of these follow from the definition; the last is a pair 60° apart, whose difference is as long as each.
    #[test]
    fn from_reciprocal_to_one_way() {
        near(reciprocity(&with(polar(0.3, 20.0), polar(0.3, 20.0))), 0.0, 1e-15);
        near(reciprocity(&with(polar(0.3, 20.0), Complex64::ZERO)), 1.0, 1e-15);
        near(reciprocity(&with(polar(0.3, 20.0), polar(0.3, -160.0))), 2.0, 1e-15);
        near(reciprocity(&with(polar(0.5, 0.0), polar(0.5, 60.0))), 1.0, 1e-15);
        assert_eq!(reciprocity(&with(Complex64::ZERO, Complex64::ZERO)), 0.0);
    }
}
