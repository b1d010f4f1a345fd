//! Two-ports one behind the other.

use super::TwoPort;
use num_complex::Complex64;

/// `first` followed by `second`, every reflection between them included.
///
/// With D = 1 − S22a·S11b: S21 = S21a·S21b/D, S12 = S12a·S12b/D, S11 = S11a + S12a·S21a·S11b/D and
/// S22 = S22b + S21b·S12b·S22a/D. It follows from summing the geometric series of reflections at the joint.
/// Unlike a product of transfer matrices it stays accurate when a transmission is zero.
///
/// Not finite where D is zero: a lossless resonance between the two, which no passive lossy pair reaches.
pub fn cascade(first: TwoPort, second: TwoPort) -> TwoPort {
    let rounds = Complex64::ONE / (Complex64::ONE - first.s22 * second.s11);
    TwoPort {
        s11: first.s11 + first.s12 * first.s21 * second.s11 * rounds,
        s12: first.s12 * second.s12 * rounds,
        s21: first.s21 * second.s21 * rounds,
        s22: second.s22 + second.s21 * second.s12 * first.s22 * rounds,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::network::check::{close, near, polar, same};
    use crate::network::line;

    /// Two quarter waves are a half wave, which is a sign change whatever its impedance (follows from the
    /// definition of a line). Multiplying the transmissions alone would give −0.64.
    #[test]
    fn two_quarter_waves_make_a_half_wave() {
        let quarter = line(100.0, 90.0, 0.0, 50.0);
        let half = cascade(quarter, quarter);
        same(half, TwoPort::symmetrical(Complex64::ZERO, -Complex64::ONE), 1e-12);
    }

    /// Two general two-ports; the expected values were made with scikit-rf 2.2.0 (`a ** b`).
    #[test]
    fn two_mismatched_two_ports_agree_with_a_reference_library() {
        let transmission = polar(0.7, -30.0);
        let a = TwoPort {
            s11: Complex64::new(0.1, 0.05),
            s12: transmission,
            s21: transmission,
            s22: polar(0.2, 60.0),
        };
        let transmission = polar(0.5, 45.0);
        let b = TwoPort {
            s11: polar(0.15, -100.0),
            s12: transmission,
            s21: transmission,
            s22: Complex64::new(0.1, -0.1),
        };
        let both = cascade(a, b);
        close(both.s11, Complex64::new(0.028_827_887_2, 0.025_674_954_0), 1e-9);
        close(both.s21, Complex64::new(0.347_720_709_0, 0.085_854_397_4), 1e-9);
        close(both.s12, both.s21, 1e-15);
        close(both.s22, Complex64::new(0.056_202_300_3, -0.073_547_507_9), 1e-9);
        near(20.0 * both.s21.norm().log10(), -8.918_387_838, 1e-8);
        near(both.s21.arg().to_degrees(), 13.869_287_644, 1e-7);
    }

    /// The transfer matrix in the convention (b1, a1) = T·(a2, b2).
    fn transfer(two_port: TwoPort) -> [[Complex64; 2]; 2] {
        let TwoPort { s11, s12, s21, s22 } = two_port;
        [[(s12 * s21 - s11 * s22) / s21, s11 / s21], [-s22 / s21, 1.0 / s21]]
    }

    /// The long way round: transfer matrices multiply. Those of the first two-port agree with scikit-rf 2.2.0 (`s2t`),
    /// and the determinant is S12/S21.
    #[test]
    fn transfer_matrices_multiply_to_the_same_cascade() {
        let a = TwoPort { s11: Complex64::new(0.1, 0.05), s22: polar(0.2, 60.0), ..pair(polar(0.7, -30.0)) };
        let b =
            TwoPort { s11: polar(0.15, -100.0), s22: Complex64::new(0.1, -0.1), ..pair(polar(0.5, 45.0)) };
        let [[t11, t12], [t21, t22]] = transfer(a);
        close(t11, Complex64::new(0.620_503_496_9, -0.378_571_428_6), 1e-9);
        close(t12, Complex64::new(0.088_003_629_1, 0.133_287_528_8), 1e-9);
        close(t21, Complex64::new(0.0, -0.285_714_285_7), 1e-9);
        close(t22, Complex64::new(1.237_179_148_3, 0.714_285_714_3), 1e-9);
        close(t11 * t22 - t12 * t21, Complex64::ONE, 1e-14);

        let [[u11, u12], [u21, u22]] = transfer(b);
        let product =
            [[t11 * u11 + t12 * u21, t11 * u12 + t12 * u22], [t21 * u11 + t22 * u21, t21 * u12 + t22 * u22]];
        let [[p11, p12], [p21, p22]] = product;
        let through_matrices =
            TwoPort { s11: p12 / p22, s12: (p11 * p22 - p12 * p21) / p22, s21: 1.0 / p22, s22: -p21 / p22 };
        same(cascade(a, b), through_matrices, 1e-14);
    }

    fn pair(transmission: Complex64) -> TwoPort {
        TwoPort { s11: Complex64::ZERO, s12: transmission, s21: transmission, s22: Complex64::ZERO }
    }

    /// A non-reciprocal pair keeps its two directions apart, and a through changes nothing.
    #[test]
    fn directions_stay_apart() {
        let a = TwoPort {
            s11: Complex64::ZERO,
            s12: Complex64::new(0.0, 0.25),
            s21: Complex64::new(2.0, 0.0),
            s22: Complex64::ZERO,
        };
        let both = cascade(a, a);
        close(both.s21, Complex64::new(4.0, 0.0), 1e-15);
        close(both.s12, Complex64::new(-0.0625, 0.0), 1e-15);
        assert_eq!(cascade(a, TwoPort::THROUGH), a);
        assert_eq!(cascade(TwoPort::THROUGH, a), a);
    }
}
