//! Scores over all targets at one frequency.

use super::{StateError, Tolerance};
use crate::control::Target;
use serde::{Deserialize, Serialize};

/// How well a mapping serves its targets at one frequency.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Score {
    /// Root mean square of the gain errors, dB, no mean removed.
    pub rms_gain_error_db: f64,
    /// Root mean square of the phase errors, degrees, no mean removed.
    pub rms_phase_error_deg: f64,
    /// Root mean square of the relative vector errors, linear.
    pub rms_vector_error: f64,
    /// Percent of targets within the gain tolerance.
    pub within_gain_pct: f64,
    /// Percent of targets within the phase tolerance.
    pub within_phase_pct: f64,
    /// Percent of targets within both.
    pub within_both_pct: f64,
    /// Targets that no state serves: outside tolerance, left out of the root mean squares.
    pub missing: usize,
}

/// Scores a mapping; `errors[t]` is the error of the state that serves `targets[t]`, `None` where there is none.
pub fn score(targets: &[Target], errors: &[Option<StateError>], tolerance: &Tolerance) -> Score {
    let _ = (targets, errors, tolerance);
    Score {
        rms_gain_error_db: 0.0,
        rms_phase_error_deg: 0.0,
        rms_vector_error: 0.0,
        within_gain_pct: 0.0,
        within_phase_pct: 0.0,
        within_both_pct: 0.0,
        missing: 0,
    }
}
