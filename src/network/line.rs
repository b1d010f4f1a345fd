//! A length of transmission line.

use super::TwoPort;
use num_complex::Complex64;

/// A line of real characteristic impedance.
///
/// * `impedance_ohm`: characteristic impedance; the loss is taken to leave it real (a distortionless line)
/// * `length_deg`: electrical length at this frequency, a delay where positive
/// * `loss_db`: loss between its own matched ends, positive
/// * `reference_ohm`: reference impedance of the result
///
/// With Γ = (Z − Z0)/(Z + Z0) and p = e^(−γl): S11 = Γ(1 − p²)/(1 − Γ²p²), S21 = p(1 − Γ²)/(1 − Γ²p²), the sum of
/// the reflections between its two ends (a textbook result, for instance Pozar, Microwave Engineering, on multiple
/// reflections; from memory).
pub fn line(impedance_ohm: f64, length_deg: f64, loss_db: f64, reference_ohm: f64) -> TwoPort {
    let step = (impedance_ohm - reference_ohm) / (impedance_ohm + reference_ohm);
    let pass = Complex64::from_polar(10_f64.powf(-loss_db / 20.0), -length_deg.to_radians());
    let rounds = Complex64::ONE - step * step * pass * pass;
    TwoPort::symmetrical(step * (1.0 - pass * pass) / rounds, pass * (1.0 - step * step) / rounds)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::network::check::{close, near, same};

    /// A quarter wave of 100 Ω turns 50 Ω into 200 Ω: S11 = 150/250 (the quarter-wave transformer), and the rest
    /// passes, √(1 − 0.6²) = 0.8, a quarter turn late.
    #[test]
    fn quarter_wave_transformer() {
        let quarter = line(100.0, 90.0, 0.0, 50.0);
        same(quarter, TwoPort::symmetrical(Complex64::from(0.6), Complex64::new(0.0, -0.8)), 1e-12);
    }

    /// Sixty degrees of 100 Ω. The transmission matrix has A = D = ½, B = j·100·sin 60°, C = j·sin 60°/100; the
    /// expected values come from it by the usual conversion (Pozar, table of network conversions, from memory).
    #[test]
    fn sixty_degrees() {
        let sixth = line(100.0, 60.0, 0.0, 50.0);
        close(sixth.s11, Complex64::new(0.494_505_494_5, 0.228_402_304_3), 1e-9);
        close(sixth.s21, Complex64::new(0.351_648_351_6, -0.761_341_014_3), 1e-9);
        near(20.0 * sixth.s21.norm().log10(), -1.528_614_183, 1e-8);
    }

    /// A matched line only attenuates and delays (follows from the definition).
    #[test]
    fn a_matched_line_has_its_loss_and_length() {
        let matched = line(50.0, 30.0, 3.0, 50.0);
        close(matched.s11, Complex64::ZERO, 1e-15);
        near(-20.0 * matched.s21.norm().log10(), 3.0, 1e-12);
        near(matched.s21.arg().to_degrees(), -30.0, 1e-12);
    }

    /// A long lossy line ends up showing its own impedance: S11 tends to Γ = 1/3 for 100 Ω against 50 Ω.
    #[test]
    fn a_long_lossy_line_shows_its_own_impedance() {
        close(line(100.0, 1234.0, 200.0, 50.0).s11, Complex64::from(1.0 / 3.0), 1e-12);
    }
}
