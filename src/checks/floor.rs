//! States so deep that the noise blurs them.

use super::evidence::Evidence;
use super::facts::Facts;
use super::finding::{Certainty, Fault, Finding};
use super::noise::Noise;
use super::windows::Windows;

/// Below this signal-to-noise ratio a trace has more than 0.6 dB and 4° of noise.
pub const LOWEST_SNR_DB: f64 = 20.0;

/// States whose signal-to-noise ratio is below 20 dB in some window of the sweep, and the frequencies from the first
/// to the last such window.
pub(super) fn finding(evidence: &Evidence, facts: &Facts, noise: &Noise) -> Option<Finding> {
    let windows = Windows::of(evidence.points);
    let mut smallest_snr_db = f64::INFINITY;
    let mut blurred = vec![false; facts.words.len()];
    let mut concerned: Vec<usize> = Vec::new();
    for (window, sums) in evidence.windows.iter().enumerate() {
        let points = windows.points(window).len();
        for (state, sums) in sums.iter().enumerate() {
            let snr_db = noise.snr_db(window, points, sums);
            if snr_db < LOWEST_SNR_DB {
                blurred[state] = true;
                concerned.push(window);
                smallest_snr_db = smallest_snr_db.min(snr_db);
            }
        }
    }
    let (first, last) = (*concerned.first()?, *concerned.last()?);
    let words = facts.words.iter().zip(&blurred).filter(|(_, blurred)| **blurred).map(|(word, _)| *word);
    let mut finding = Finding::of(Fault::NearFloor { smallest_snr_db }, words.collect(), Certainty::Certain);
    if (first, last + 1) != (0, windows.count()) {
        let hz = |point: usize| facts.frequency_hz.get(point).copied();
        finding.band_hz = hz(windows.points(first).start).zip(hz(windows.points(last).end - 1));
    }
    Some(finding)
}
