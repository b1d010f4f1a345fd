//! Captures that hold what the capture before held.

use super::evidence::Evidence;
use super::facts::Facts;
use super::finding::{Certainty, Fault, Finding};
use super::noise::Noise;
use super::unsettled::whole_shares;
use super::windows::Windows;

/// A change within so many times the power of the noise of both captures is none: the noise is known to a decibel or so.
const NO_CHANGE: f64 = 1.5;
/// A change is clear where it is so many times that power.
const CLEAR_CHANGE: f64 = 13.0;
/// Where it should not, the share of the capture before has to be so many deviations from 0, and not so many from 1.
const SIGMAS: f64 = 6.0;
const NEAR: f64 = 3.0;

/// States that equal the capture before them to the last digit: an analyser's memory read twice. Two sweeps never agree
/// so.
pub(super) fn repeated_buffers(evidence: &Evidence) -> Vec<usize> {
    (0..evidence.repeats_before.len()).filter(|&state| evidence.repeats_before[state]).collect()
}

/// States that equal the capture before within noise although the bits between them should have changed them: the part
/// did not take the word. What the bits should change is what they change in the other states, so that an idle bit is
/// none. Each with how many deviations the change should have been.
///
/// Either the change should have been clear of the noise, or the state, over the whole sweep, is the capture before as
/// closely as can be told (its share is 1) and clearly not what its word asks for.
pub(super) fn missed_words(evidence: &Evidence, noise: &Noise) -> Vec<(usize, f64)> {
    let windows = Windows::of(evidence.points);
    let shares = whole_shares(evidence);
    let states = evidence.repeats_before.len();
    let told = |state: usize| {
        let (mut change, mut expected) = (0.0, 0.0);
        for (window, sums) in evidence.windows.iter().enumerate() {
            // Each capture has both parts of the noise: 4σ² together.
            let power = 4.0 * noise.window_sigma[window].powi(2) * windows.points(window).len() as f64;
            change += sums[state].change_square / power / windows.count() as f64;
            expected += sums[state].expected_change_square / power / windows.count() as f64;
        }
        let sigmas = match shares[state] {
            _ if evidence.repeats_before[state] || change > NO_CHANGE => return None,
            _ if expected > CLEAR_CHANGE => expected.sqrt(),
            Some((share, sigma)) if share > SIGMAS * sigma && (share - 1.0).abs() < NEAR * sigma => {
                share / sigma
            }
            _ => return None,
        };
        Some((state, sigmas))
    };
    (0..states).filter_map(told).collect()
}

/// The findings of both.
pub(super) fn findings(facts: &Facts, repeated: &[usize], missed: &[(usize, f64)]) -> Vec<Finding> {
    let mut findings = Vec::new();
    if !repeated.is_empty() {
        let words = repeated.iter().map(|&state| facts.words[state]).collect();
        findings.push(Finding::of(Fault::RepeatedBuffer, words, Certainty::Certain));
    }
    if let Some(least) = missed.iter().map(|(_, sigmas)| *sigmas).min_by(f64::total_cmp) {
        let words = missed.iter().map(|&(state, _)| facts.words[state]).collect();
        findings.push(Finding::of(Fault::MissedWord, words, Certainty::Sigmas(least)));
    }
    findings
}
