//! The noise of a run, and how far its states stand above it.

use super::evidence::{Evidence, StateWindow};
use serde::{Deserialize, Serialize};

/// The noise of the transmission, estimated from the run itself.
///
/// Each trace is divided by the run's common trace; of the second differences along frequency, real and imaginary parts
/// pooled, the median magnitude gives σ = 1.4826 · median/√6 for each of the two parts: 1.4826 turns the median magnitude
/// of a Gaussian into its deviation (1/0.6745), and the difference a − 2b + c of independent values has 1 + 4 + 1 times
/// their variance. What the traces themselves curve counts as noise, so it is an upper bound.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Noise {
    /// Relative to the common trace, of the real and of the imaginary part, over the whole sweep.
    pub sigma: f64,
    /// The same in each window of the sweep.
    pub window_sigma: Vec<f64>,
}

impl Noise {
    /// The estimate; `None` of fewer than three frequencies.
    pub fn of(evidence: &Evidence) -> Option<Self> {
        let sigma_of = |median: f64| 1.4826 * median / 6_f64.sqrt();
        let mut whole = super::Histogram::default();
        for window in &evidence.second_differences {
            whole.merge(window);
        }
        let sigma = sigma_of(whole.median()?);
        let window = |histogram: &super::Histogram| histogram.median().map_or(sigma, sigma_of);
        Some(Self { sigma, window_sigma: evidence.second_differences.iter().map(window).collect() })
    }

    /// The signal-to-noise ratio of a state in a window in dB: its mean power, without the noise that is in it, over that
    /// of both parts of the noise. At least −20 dB: the noise is not known well enough for less.
    pub fn snr_db(&self, window: usize, points: usize, state: &StateWindow) -> f64 {
        let noise = 2.0 * self.window_sigma[window].powi(2);
        10.0 * (state.power / points as f64 / noise - 1.0).max(0.01).log10()
    }

    /// The noise of the real and of the imaginary part of an S-parameter at each frequency, linear.
    pub fn absolute(&self, evidence: &Evidence) -> Vec<f64> {
        let windows = super::Windows::of(evidence.points);
        let at = |frequency: &super::AtFrequency| {
            self.window_sigma[windows.of_point(frequency.index)] * frequency.common
        };
        evidence.frequencies.iter().map(at).collect()
    }
}
