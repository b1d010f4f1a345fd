//! How much a table flatters itself: words chosen from one capture, scored on another of the same part.
//!
//! Of several states near a target the choice takes the one whose noise happens to point towards it, so the capture
//! that a table was chosen from always looks better than the part is. A second capture has other noise and does not
//! know what was chosen.

use super::{BandError, BandTable, choose};
use crate::control::{Target, Word};
use crate::plane::{Place, PreparedTarget, PreparedTargets, Score, StateError, Tolerance, score};
use num_complex::Complex64;

/// The same words scored on the capture that they were chosen from and on another.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OnSecondCapture {
    /// How many targets were judged: those whose words both captures have.
    pub targets: usize,
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

/// One table for a band on the capture that it was chosen from and on another.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BandOnSecondCapture {
    /// How many targets were judged: those whose words both captures have.
    pub targets: usize,
    /// Which error of a word over the band counts, and of the words over these targets.
    pub error: BandError,
    /// The relative vector error on the capture that the table was chosen from, linear.
    pub own: f64,
    /// The same on the other capture; infinite where a word of it is no number at some frequency.
    pub other: f64,
}

/// Scores one table for a band on another capture: `scored_on` gives what the state at a position does there at each frequency
/// of the band, relative to the reference that the table was chosen under, and nothing for a word that was not captured again.
/// `None` where none was.
pub fn band_on_second_capture(
    targets: &PreparedTargets,
    table: &BandTable,
    error: BandError,
    scored_on: impl Fn(usize) -> Option<Vec<Complex64>>,
) -> Option<BandOnSecondCapture> {
    let judged = |(target, &state): (&PreparedTarget, &u32)| {
        let squared = |relative: &Complex64| {
            let squared = ((relative - target.gain) * target.inverse_magnitude).norm_sqr();
            if squared.is_nan() { f64::INFINITY } else { squared }
        };
        let along = scored_on(state as usize)?;
        error.over(along.iter().map(squared))
    };
    let others = targets.prepared.iter().zip(&table.states).map(judged);
    let both: Vec<(f64, f64)> =
        table.errors.iter().zip(others).filter_map(|(own, other)| Some((*own, other?))).collect();
    let squared = |one: fn(&(f64, f64)) -> f64| both.iter().map(move |pair| one(pair) * one(pair));
    Some(BandOnSecondCapture {
        targets: both.len(),
        error,
        own: error.over(squared(|pair| pair.0))?,
        other: error.over(squared(|pair| pair.1))?,
    })
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
    let scored_on: Vec<Option<Complex64>> = scored_on.iter().copied().map(Some).collect();
    chosen_on_second_capture(targets, &states, chosen_from, &scored_on, tolerance)
}

/// The same for words that were chosen before, where only some were captured again: `chosen[t]` is the position of the state
/// that serves `targets[t]`, and `scored_on` has a state only for the words of the other capture. Only targets whose words
/// it has are judged, on both captures; `None` where there is none.
///
/// # Panics
/// If a position lies beyond the states.
pub fn chosen_on_second_capture(
    targets: &PreparedTargets,
    chosen: &[u32],
    chosen_from: &[Complex64],
    scored_on: &[Option<Complex64>],
    tolerance: &Tolerance,
) -> Option<OnSecondCapture> {
    let judged =
        |(target, &state): (usize, &u32)| scored_on[state as usize].map(|again| (target, state, again));
    let judged: Vec<(usize, u32, Complex64)> = chosen.iter().enumerate().filter_map(judged).collect();
    if judged.is_empty() {
        return None;
    }
    let wanted: Vec<Target> = judged.iter().map(|&(target, ..)| targets.targets[target]).collect();
    let scored = |relative: &dyn Fn(u32, Complex64) -> Complex64| {
        let error = |&(target, state, again): &(usize, u32, Complex64)| {
            Some(StateError::between(&Place::of(relative(state, again)), &targets.prepared[target]))
        };
        score(&wanted, &judged.iter().map(error).collect::<Vec<_>>(), tolerance)
    };
    let own = scored(&|state, _| chosen_from[state as usize]);
    let other = scored(&|_, again| again);
    Some(OnSecondCapture {
        targets: judged.len(),
        own,
        other,
        rms_vector_error_gained: other.rms_vector_error - own.rms_vector_error,
        within_both_lost_pct: own.within_both_pct - other.within_both_pct,
    })
}
