//! How much a table flatters itself: words chosen from one capture, scored on another of the same part.
//!
//! Of several states near a target the choice takes the one whose noise happens to point towards it, so the capture
//! that a table was chosen from always looks better than the part is. A second capture has other noise and does not
//! know what was chosen.

use super::{choose, errors_of_states};
use crate::control::Word;
use crate::plane::{Place, PreparedTargets, Score, Tolerance, score};
use num_complex::Complex64;

/// The same words scored on the capture that they were chosen from and on another.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OnSecondCapture {
    /// On the capture that they were chosen from.
    pub own: Score,
    /// On the other capture.
    pub other: Score,
    /// What the RMS relative vector error gains on the other capture, linear: positive where the table flattered itself.
    pub rms_vector_error_gained: f64,
    /// What the share within both tolerances loses on the other capture, percentage points: positive where the table
    /// flattered itself.
    pub within_both_lost_pct: f64,
}

/// Chooses words from one capture's states at one frequency and scores them on another's; both are relative to their own
/// capture's reference, in the order of `words`. `None` unless both have a state for every word, and at least one.
///
/// The other capture has noise of its own, so where states lie densely the two mean squares differ by that of the noise
/// in both captures together, and the part's true error lies between.
pub fn on_second_capture(
    targets: &PreparedTargets,
    words: &[Word],
    chosen_from: &[Complex64],
    scored_on: &[Complex64],
    tolerance: &Tolerance,
) -> Option<OnSecondCapture> {
    if words.is_empty() || chosen_from.len() != words.len() || scored_on.len() != words.len() {
        return None;
    }
    let states = choose(targets, chosen_from, words);
    if states.len() != targets.len() {
        return None;
    }
    let scored = |capture: &[Complex64]| {
        let places = Place::all(capture, Complex64::ONE);
        score(&targets.targets, &errors_of_states(targets, &places, &states), tolerance)
    };
    let (own, other) = (scored(chosen_from), scored(scored_on));
    Some(OnSecondCapture {
        own,
        other,
        rms_vector_error_gained: other.rms_vector_error - own.rms_vector_error,
        within_both_lost_pct: own.within_both_pct - other.within_both_pct,
    })
}
