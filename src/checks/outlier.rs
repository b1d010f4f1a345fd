//! Single captures that stand out.

use super::evidence::Evidence;
use super::facts::Facts;
use super::finding::{Certainty, Fault, Finding};
use super::scatter::{Scatter, median};

/// A capture stands out where in half of the windows of the sweep it is so many deviations from its model.
const SIGMAS: f64 = 6.0;
/// Nearer ones are not reported, however certain.
const SMALLEST: f64 = 0.01;

/// A capture that stands out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Outlier {
    pub(super) state: usize,
    pub(super) relative: f64,
    sigmas: f64,
}

/// Captures that lie far from what the states around them in the word say, over most of the sweep. The median over the
/// windows is taken, so that a disturbed stretch of one sweep does not count.
pub(super) fn outliers(evidence: &Evidence) -> Vec<Outlier> {
    let states = evidence.repeats_before.len();
    let mut sigmas: Vec<Vec<f64>> = vec![Vec::new(); states];
    for sums in &evidence.windows {
        let lengths: Vec<(f64, f64)> =
            sums.iter().map(|sums| (sums.residual.norm() / sums.points, sums.points / sums.power)).collect();
        let Some(scatter) = Scatter::of_lengths(&lengths) else { continue };
        for (state, &(length, inverse_power)) in lengths.iter().enumerate() {
            sigmas[state].push(length / scatter.sigma(inverse_power));
        }
    }
    let told = |state: usize| {
        let (mut square, mut points) = (0.0, 0.0);
        for sums in &evidence.windows {
            square += sums[state].residual.norm_sqr() / sums[state].points;
            points += sums[state].points;
        }
        let outlier = Outlier {
            state,
            relative: (square / points).sqrt(),
            sigmas: median(sigmas[state].iter().copied()),
        };
        (outlier.sigmas > SIGMAS && outlier.relative > SMALLEST).then_some(outlier)
    };
    (0..states).filter_map(told).collect()
}

/// The finding of all outliers.
pub(super) fn finding(facts: &Facts, outliers: &[Outlier]) -> Option<Finding> {
    let largest = outliers.iter().max_by(|a, b| a.relative.total_cmp(&b.relative))?;
    let least = outliers.iter().map(|outlier| outlier.sigmas).fold(f64::INFINITY, f64::min);
    let words = outliers.iter().map(|outlier| facts.words[outlier.state]).collect();
    Some(Finding::of(Fault::Outlier { relative: largest.relative }, words, Certainty::Sigmas(least)))
}
