//! From one reference impedance to another.

use super::TwoPort;
use num_complex::Complex64;

/// The same two-port with `to_ohm` as reference impedance of both ports instead of `from_ohm`, both real and
/// positive.
///
/// With r = (Zto − Zfrom)/(Zto + Zfrom): S' = (S − r·I)(I − r·S)⁻¹, the matrix form of Γ' = (Γ − r)/(1 − r·Γ)
/// (Kurokawa, "Power waves and the scattering matrix", IEEE Trans. MTT, 1965, for equal real impedances; from
/// memory).
pub fn renormalise(two_port: TwoPort, from_ohm: f64, to_ohm: f64) -> TwoPort {
    let step = (to_ohm - from_ohm) / (to_ohm + from_ohm);
    let one = Complex64::ONE;
    let TwoPort { s11, s12, s21, s22 } = two_port;
    let across = step * s12 * s21;
    let scale = one / ((one - step * s11) * (one - step * s22) - step * across);
    TwoPort {
        s11: ((s11 - step) * (one - step * s22) + across) * scale,
        s12: s12 * (1.0 - step * step) * scale,
        s21: s21 * (1.0 - step * step) * scale,
        s22: ((s22 - step) * (one - step * s11) + across) * scale,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::network::check::{close, polar, same};
    use crate::network::series;

    /// Sixty degrees of 100 Ω is a pure delay against 100 Ω; against 50 Ω it is the mismatched line, worked out
    /// from its transmission matrix.
    #[test]
    fn a_line_seen_from_its_own_and_from_another_impedance() {
        let own = TwoPort::symmetrical(Complex64::ZERO, polar(1.0, -60.0));
        let seen = renormalise(own, 100.0, 50.0);
        close(seen.s11, Complex64::new(0.494_505_494_5, 0.228_402_304_3), 1e-9);
        close(seen.s21, Complex64::new(0.351_648_351_6, -0.761_341_014_3), 1e-9);
        same(renormalise(seen, 50.0, 100.0), own, 1e-14);
    }

    /// A series impedance Z has S21 = 2·Z0/(2·Z0 + Z) for any Z0 (the voltage divider).
    #[test]
    fn a_series_impedance_at_another_reference() {
        let impedance = Complex64::new(30.0, -40.0);
        let seen = renormalise(series(impedance, 50.0), 50.0, 75.0);
        close(seen.s21, 150.0 / (150.0 + impedance), 1e-15);
        close(seen.s11, impedance / (150.0 + impedance), 1e-15);
    }

    /// An ideal isolator between 50 Ω ends: nothing reflected, one direction only. Against 75 Ω each port shows
    /// (50 − 75)/(50 + 75) = −0.2 and the forward path loses both steps, 1 − 0.2².
    #[test]
    fn a_one_way_two_port_at_another_reference() {
        let zero = Complex64::ZERO;
        let isolator = TwoPort { s11: zero, s12: zero, s21: Complex64::ONE, s22: zero };
        let seen = renormalise(isolator, 50.0, 75.0);
        let step = Complex64::from(-0.2);
        same(seen, TwoPort { s11: step, s12: zero, s21: Complex64::from(0.96), s22: step }, 1e-15);
    }
}
