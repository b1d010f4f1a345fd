//! From one reference impedance to another.

use super::TwoPort;
use num_complex::Complex64;

/// The same two-port with `to_ohm` as reference impedance of both ports instead of `from_ohm` of port 1 and port 2,
/// all real and positive.
///
/// With rₖ = (Zto − Zk)/(Zto + Zk), R = diag(rₖ) and A = diag(√(1 − rₖ²)): S' = A⁻¹(S − R)(I − R·S)⁻¹A, the matrix form
/// of Γ' = (Γ − r)/(1 − r·Γ) (Kurokawa, "Power waves and the scattering matrix", IEEE Trans. MTT, 1965, for real
/// impedances; from memory, checked below against a reference library).
pub fn renormalise(two_port: TwoPort, from_ohm: [f64; 2], to_ohm: f64) -> TwoPort {
    let [step_in, step_out] = from_ohm.map(|from_ohm| (to_ohm - from_ohm) / (to_ohm + from_ohm));
    let one = Complex64::ONE;
    let TwoPort { s11, s12, s21, s22 } = two_port;
    let round = s12 * s21;
    let scale = one / ((one - step_in * s11) * (one - step_out * s22) - step_in * step_out * round);
    let across = ((1.0 - step_in * step_in) * (1.0 - step_out * step_out)).sqrt();
    TwoPort {
        s11: ((s11 - step_in) * (one - step_out * s22) + step_out * round) * scale,
        s12: s12 * across * scale,
        s21: s21 * across * scale,
        s22: ((s22 - step_out) * (one - step_in * s11) + step_in * round) * scale,
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
        let seen = renormalise(own, [100.0; 2], 50.0);
        close(seen.s11, Complex64::new(0.494_505_494_5, 0.228_402_304_3), 1e-9);
        close(seen.s21, Complex64::new(0.351_648_351_6, -0.761_341_014_3), 1e-9);
        same(renormalise(seen, [50.0; 2], 100.0), own, 1e-14);
    }

    /// A series impedance Z has S21 = 2·Z0/(2·Z0 + Z) for any Z0 (the voltage divider).
    #[test]
    fn a_series_impedance_at_another_reference() {
        let impedance = Complex64::new(30.0, -40.0);
        let seen = renormalise(series(impedance, 50.0), [50.0; 2], 75.0);
        close(seen.s21, 150.0 / (150.0 + impedance), 1e-15);
        close(seen.s11, impedance / (150.0 + impedance), 1e-15);
    }

    /// Ports of unlike impedance; the expected values were made with scikit-rf 2.2.0, `Network.renormalize`.
    #[test]
    fn unlike_ports_at_a_common_reference() {
        let two_port = TwoPort {
            s11: Complex64::new(0.1, 0.05),
            s12: Complex64::new(0.3, -0.2),
            s21: polar(0.5, 45.0),
            s22: Complex64::new(-0.2, 0.15),
        };
        let expected = TwoPort {
            s11: Complex64::new(-0.011_338_61, 0.046_616_47),
            s12: Complex64::new(0.303_193_88, -0.207_784_24),
            s21: Complex64::new(0.365_007_18, 0.355_779_46),
            s22: Complex64::new(-0.071_457_93, 0.157_756_94),
        };
        same(renormalise(two_port, [50.0, 75.0], 60.0), expected, 1e-8);
    }

    /// An ideal isolator between 50 Ω ends: nothing reflected, one direction only. Against 75 Ω each port shows
    /// (50 − 75)/(50 + 75) = −0.2 and the forward path loses both steps, 1 − 0.2².
    #[test]
    fn a_one_way_two_port_at_another_reference() {
        let zero = Complex64::ZERO;
        let isolator = TwoPort { s11: zero, s12: zero, s21: Complex64::ONE, s22: zero };
        let seen = renormalise(isolator, [50.0; 2], 75.0);
        let step = Complex64::from(-0.2);
        same(seen, TwoPort { s11: step, s12: zero, s21: Complex64::from(0.96), s22: step }, 1e-15);
    }
}
