//! Errors of one state against one target.

use crate::control::Setting;
use num_complex::Complex64;
use serde::{Deserialize, Serialize};

/// Wraps an angle in degrees into (−180°, +180°].
pub fn wrap_deg(angle_deg: f64) -> f64 {
    let turned = angle_deg.rem_euclid(360.0);
    if turned > 180.0 { turned - 360.0 } else { turned }
}

/// Where a setting should land in the plane: 10^(gain/20)·e^(j·phase).
pub fn target_gain(setting: Setting) -> Complex64 {
    Complex64::from_polar(10_f64.powf(setting.gain_db / 20.0), setting.phase_deg.to_radians())
}

/// What is allowed around a target.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Tolerance {
    /// Largest absolute gain error in dB.
    pub gain_db: f64,
    /// What the gain tolerance grows with the setting, in percent of its decibels: ±(a + b·|g|).
    pub gain_pct_of_setting: f64,
    /// Largest absolute phase error in degrees.
    pub phase_deg: f64,
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
    /// Measured minus wanted gain, dB.
    pub gain_db: f64,
    /// Measured minus wanted phase, degrees, wrapped.
    pub phase_deg: f64,
    /// |G − z|/|z|, linear: the distance in the plane relative to the wanted setting's own magnitude.
    pub vector: f64,
}

impl StateError {
    /// The error of relative gain `relative` against `setting`.
    pub fn of(relative: Complex64, setting: Setting) -> Self {
        let target = target_gain(setting);
        Self {
            gain_db: 20.0 * relative.norm().log10() - setting.gain_db,
            phase_deg: wrap_deg(relative.arg().to_degrees() - setting.phase_deg),
            vector: (relative - target).norm() / target.norm(),
        }
    }
}
