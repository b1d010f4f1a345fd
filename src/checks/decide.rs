//! From evidence to findings.

use super::evidence::Evidence;
use super::facts::Facts;
use super::finding::Finding;
use super::noise::Noise;
use super::{capture, floor, order, outlier, unsettled, wiring};
use std::collections::HashSet;

/// What the run's data say of how it was taken. Where the files have their words in the wrong order, nothing is said
/// that rests on the words: all of it would be wrong.
pub fn findings(evidence: &Evidence, facts: &Facts) -> Vec<Finding> {
    let mut findings = Vec::new();
    let Some(noise) = Noise::of(evidence) else { return findings };
    let repeated = capture::repeated_buffers(evidence);
    findings.extend(floor::finding(evidence, facts, &noise));
    if let Some(order) = order::finding(evidence) {
        findings.extend(capture::findings(facts, &repeated, &[]));
        findings.push(order);
        return findings;
    }
    findings.extend(wiring::findings(evidence, facts));
    if evidence.model_order == 0 {
        findings.extend(capture::findings(facts, &repeated, &[]));
        return findings;
    }
    let missed = capture::missed_words(evidence, &noise);
    findings.extend(capture::findings(facts, &repeated, &missed));
    let mut explained: HashSet<usize> =
        repeated.iter().copied().chain(missed.iter().map(|(state, _)| *state)).collect();
    let mut mixes = unsettled::mixes(evidence);
    mixes.retain(|mix| !explained.contains(&mix.state));
    findings.extend(unsettled::finding(facts, evidence, &mixes));
    explained.extend(mixes.iter().map(|mix| mix.state));
    let mut outliers = outlier::outliers(evidence);
    outliers.retain(|outlier| !explained.contains(&outlier.state));
    findings.extend(outlier::finding(facts, &outliers));
    findings
}
