//! Errors of one state against one target.

use super::{Place, PreparedTarget};
use crate::control::Setting;
use num_complex::Complex64;
use serde::{Deserialize, Serialize};

/// Wraps an angle in degrees into (−180°, +180°].
pub fn wrap_deg(angle_deg: f64) -> f64 {
    let turned = angle_deg.rem_euclid(360.0);
    if turned > 180.0 { turned - 360.0 } else { turned }
}

/// [`wrap_deg`] for the difference of two wrapped angles, which is at most one turn off.
pub(crate) fn wrap_difference_deg(difference_deg: f64) -> f64 {
    if difference_deg > 180.0 {
        difference_deg - 360.0
    } else if difference_deg <= -180.0 {
        difference_deg + 360.0
    } else {
        difference_deg
    }
}

/// Where a setting should land in the plane: 10^(gain/20)·e^(j·phase).
pub fn target_gain(setting: Setting) -> Complex64 {
    Complex64::from_polar(10_f64.powf(setting.gain_db / 20.0), setting.phase_deg.to_radians())
}

/// What is allowed around a target.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Tolerance {
    /// Largest absolute gain error in dB; infinite where the gain is not limited.
    #[serde(with = "limit")]
    pub gain_db: f64,
    /// What the gain tolerance grows with the setting, in percent of its decibels: ±(a + b·|g|).
    pub gain_pct_of_setting: f64,
    /// Largest absolute phase error in degrees; infinite where the phase is not limited.
    #[serde(with = "limit")]
    pub phase_deg: f64,
}

/// A limit in a file: a number, or nothing where there is no limit, since JSON knows no infinity.
mod limit {
    use serde::{Deserialize, Deserializer, Serialize, Serializer};

    // The signature is serde's; the lint speaks only where a reference is as large as the number.
    #[allow(clippy::trivially_copy_pass_by_ref)]
    pub(super) fn serialize<S: Serializer>(limit: &f64, serializer: S) -> Result<S::Ok, S::Error> {
        Some(*limit).filter(|limit| *limit != f64::INFINITY).serialize(serializer)
    }

    pub(super) fn deserialize<'de, D: Deserializer<'de>>(deserializer: D) -> Result<f64, D::Error> {
        Ok(Option::deserialize(deserializer)?.unwrap_or(f64::INFINITY))
    }
}

impl Tolerance {
    /// The gain tolerance at a nominal gain.
    pub fn gain_db_at(&self, nominal_gain_db: f64) -> f64 {
        self.gain_db + self.gain_pct_of_setting / 100.0 * nominal_gain_db.abs()
    }

    /// Bounds are inclusive with a relative slack of 1e-9, so that a value computed onto the limit counts as inside.
    pub fn holds(error: f64, limit: f64) -> bool {
        error.abs() <= limit * (1.0 + 1e-9)
    }
}

/// The error of one state against one target.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct StateError {
    /// Measured minus wanted gain, dB; −∞ for a state without transmission.
    pub gain_db: f64,
    /// Measured minus wanted phase, degrees, wrapped.
    pub phase_deg: f64,
    /// |G − z|/|z|, linear: the distance in the plane relative to the wanted setting's own magnitude.
    pub vector: f64,
}

impl StateError {
    /// The error of relative gain `relative` against `setting`.
    ///
    /// Many states against many targets are faster through [`Self::between`], which repeats no trigonometry.
    pub fn of(relative: Complex64, setting: Setting) -> Self {
        Self::between(&Place::of(relative), &PreparedTarget::of(setting))
    }

    /// The error of a state whose place is known against a prepared target.
    pub fn between(place: &Place, target: &PreparedTarget) -> Self {
        Self {
            gain_db: place.gain_db - target.gain_db,
            phase_deg: wrap_difference_deg(place.phase_deg - target.phase_deg),
            vector: (place.relative - target.gain).norm_sqr().sqrt() * target.inverse_magnitude,
        }
    }

    /// The phase error of [`Self::between`] as a number of magnitude one, without trigonometry: e^(j·error) = G·z*/|G·z*|.
    pub fn turn_between(place: &Place, target: &PreparedTarget) -> Complex64 {
        let along = place.relative * target.gain.conj();
        let magnitude = along.norm_sqr().sqrt();
        if magnitude > 0.0 {
            along / magnitude
        } else {
            Complex64::cis(Self::between(place, target).phase_deg.to_radians())
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn close(a: f64, b: f64, tolerance: f64) {
        assert!((a - b).abs() <= tolerance, "{a} is not {b} within {tolerance}");
    }

    #[test]
    fn angles_wrap_into_the_half_open_turn() {
        for (angle, wrapped) in
            [(180.0, 180.0), (-180.0, 180.0), (540.0, 180.0), (181.0, -179.0), (-357.0, 3.0), (0.0, 0.0)]
        {
            assert_eq!(wrap_deg(angle), wrapped);
        }
        for (difference, wrapped) in
            [(180.0, 180.0), (-180.0, 180.0), (359.0, -1.0), (-359.0, 1.0), (-7.0, -7.0)]
        {
            assert_eq!(wrap_difference_deg(difference), wrapped);
        }
    }

    /// |g·e^(jp) − 1| of single errors; follows from the definition, computed outside this code.
    #[test]
    fn single_errors_have_their_exact_vector_error() {
        for (gain_db, phase_deg, vector) in [
            (0.5, 3.0, 0.080_089_6),
            (1.0, 0.0, 0.122_018_5),
            (0.0, 5.0, 0.087_238_8),
            (0.3, 2.0, 0.049_961_3),
            (0.5, 5.0, 0.107_575_9),
            (0.25, 2.8125, 0.057_724_4),
        ] {
            for wanted in [(0.0, 0.0), (-15.5, -357.1875), (-31.5, 180.0), (-4.0, -180.0)] {
                let wanted = Setting { gain_db: wanted.0, phase_deg: wanted.1 };
                let landed =
                    Setting { gain_db: wanted.gain_db + gain_db, phase_deg: wanted.phase_deg + phase_deg };
                let error = StateError::of(target_gain(landed), wanted);
                close(error.vector, vector, 5e-8);
                close(error.gain_db, gain_db, 1e-12);
                close(error.phase_deg, phase_deg, 1e-11);
                let turn =
                    StateError::turn_between(&Place::of(target_gain(landed)), &PreparedTarget::of(wanted));
                close(turn.arg().to_degrees(), phase_deg, 1e-11);
                close(turn.norm(), 1.0, 1e-15);
            }
        }
    }

    #[test]
    fn a_state_without_transmission_is_one_whole_target_away() {
        let error = StateError::of(Complex64::ZERO, Setting { gain_db: -6.0, phase_deg: 90.0 });
        assert_eq!(error.gain_db, f64::NEG_INFINITY);
        close(error.vector, 1.0, 1e-15);
    }

    #[test]
    fn a_limit_holds_what_is_computed_onto_it() {
        assert!(Tolerance::holds(0.25 * (1.0 + 9e-10), 0.25));
        assert!(!Tolerance::holds(-0.25 * (1.0 + 2e-9), 0.25));
        assert!(!Tolerance::holds(f64::NEG_INFINITY, 0.25));
        let tolerance = Tolerance { gain_db: 0.3, gain_pct_of_setting: 3.0, phase_deg: 1.0 };
        close(tolerance.gain_db_at(-16.0), 0.78, 1e-12);
    }
}
