//! The scattering parameters of a two-port at one frequency.

use num_complex::Complex64;

/// Scattering parameters of a two-port at one frequency, linear; `s21` is the transmission from port 1 to port 2.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TwoPort {
    /// Reflection at port 1.
    pub s11: Complex64,
    /// Transmission from port 2 to port 1.
    pub s12: Complex64,
    /// Transmission from port 1 to port 2.
    pub s21: Complex64,
    /// Reflection at port 2.
    pub s22: Complex64,
}

impl TwoPort {
    /// A joint of no length: nothing reflected, everything passed on. The neutral element of a cascade.
    pub const THROUGH: Self =
        Self { s11: Complex64::ZERO, s12: Complex64::ONE, s21: Complex64::ONE, s22: Complex64::ZERO };

    /// A two-port that looks the same from both sides.
    pub fn symmetrical(reflection: Complex64, transmission: Complex64) -> Self {
        Self { s11: reflection, s12: transmission, s21: transmission, s22: reflection }
    }

    /// The determinant S11·S22 − S12·S21.
    pub fn determinant(&self) -> Complex64 {
        self.s11 * self.s22 - self.s12 * self.s21
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::network::check::{near, polar};

    /// Touchstone 2.1, example 18, first row; the determinant was worked out apart from this code.
    #[test]
    fn the_determinant_of_a_printed_transistor() {
        let transistor = TwoPort {
            s11: polar(0.95, -26.0),
            s21: polar(3.57, 157.0),
            s12: polar(0.04, 76.0),
            s22: polar(0.66, -14.0),
        };
        near(transistor.determinant().norm(), 0.635_727_125, 1e-8);
    }
}
