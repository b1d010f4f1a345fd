//! Tee sections, and the resistors of a matched attenuator pad.

use super::{TwoPort, cascade, series, shunt};
use num_complex::Complex64;

/// The resistors of a matched tee pad, in ohms.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PadResistors {
    /// Each of the two arms in series with the line.
    pub series_ohm: f64,
    /// The arm to ground.
    pub shunt_ohm: f64,
}

/// The resistors of a tee pad that attenuates by `attenuation_db` > 0 and is matched to `reference_ohm`.
///
/// With K = 10^(A/20): series Z0·(K − 1)/(K + 1), shunt 2·Z0·K/(K² − 1) (the handbook formula for symmetrical tee
/// attenuators).
pub fn pad_resistors(attenuation_db: f64, reference_ohm: f64) -> PadResistors {
    let ratio = 10_f64.powf(attenuation_db / 20.0);
    PadResistors {
        series_ohm: reference_ohm * (ratio - 1.0) / (ratio + 1.0),
        shunt_ohm: reference_ohm * 2.0 * ratio / (ratio * ratio - 1.0),
    }
}

/// A symmetrical tee of any impedances: `arm_ohm`, `shunt_siemens` to ground, `arm_ohm`.
pub fn tee(arm_ohm: Complex64, shunt_siemens: Complex64, reference_ohm: f64) -> TwoPort {
    let arm = series(arm_ohm, reference_ohm);
    cascade(cascade(arm, shunt(shunt_siemens, reference_ohm)), arm)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::network::check::{close, near};

    fn pad(resistors: PadResistors) -> TwoPort {
        tee(Complex64::from(resistors.series_ohm), Complex64::from(1.0 / resistors.shunt_ohm), 50.0)
    }

    /// The 3 dB tee of 8.56 and 141.8 Ω (Pozar, Microwave Engineering, example 4.4 of the 3rd and 4th editions,
    /// from memory). The book rounds to S11 = 0, S21 = 0.707; the digits below come from the transmission matrix.
    #[test]
    fn the_textbook_three_decibel_tee() {
        let three = pad(PadResistors { series_ohm: 8.56, shunt_ohm: 141.8 });
        close(three.s11, Complex64::from(0.000_044_398_1), 1e-10);
        close(three.s21, Complex64::from(0.707_694_671_3), 1e-10);
        near(20.0 * three.s21.norm().log10(), -3.003_081_5, 1e-6);
    }

    /// Handbook values of matched tee attenuators at 50 Ω: decibels, series and shunt ohms.
    #[test]
    fn the_handbook_resistors() {
        for (attenuation_db, series_ohm, shunt_ohm) in [
            (0.5, 1.438_72, 868.109_44),
            (1.0, 2.875_06, 433.336_55),
            (2.0, 5.731_16, 215.240_22),
            (3.0, 8.549_868, 141.926_156),
            (4.0, 11.313_68, 104.828_85),
            (8.0, 21.525_28, 47.308_63),
            (16.0, 36.319_31, 16.257_30),
        ] {
            let resistors = pad_resistors(attenuation_db, 50.0);
            near(resistors.series_ohm, series_ohm, 5e-6 + 5e-6 * series_ohm);
            near(resistors.shunt_ohm, shunt_ohm, 5e-6 + 5e-6 * shunt_ohm);
        }
    }

    /// A pad made of its own resistors attenuates as asked and reflects nothing (the definition of a matched pad).
    #[test]
    fn a_pad_is_matched_and_attenuates_as_asked() {
        for attenuation_db in [0.5, 6.0, 40.0] {
            let made = pad(pad_resistors(attenuation_db, 50.0));
            close(made.s11, Complex64::ZERO, 1e-14);
            near(-20.0 * made.s21.norm().log10(), attenuation_db, 1e-11);
        }
    }
}
