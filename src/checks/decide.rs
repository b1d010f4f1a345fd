//! From evidence to findings.

use super::evidence::Evidence;
use super::facts::Facts;
use super::finding::{Fault, Finding};
use super::in_time::InTime;
use super::noise::Noise;
use super::outlier::Outlier;
use super::repeats::{self, Repeats};
use super::unsettled::Mix;
use super::{capture, floor, in_time, leakage, order, outlier, pace, unsettled, wiring};
use std::collections::HashSet;

/// What the run's data say of how it was taken. Where the files have their words in the wrong order, nothing is said
/// that rests on the words: all of it would be wrong.
pub fn findings(evidence: &Evidence, facts: &Facts) -> Vec<Finding> {
    findings_with(evidence, facts, &Repeats::default())
}

/// The same where words were captured more than once: they tell drift whatever the order of captures, and the noise
/// better than one capture of each.
pub fn findings_with(evidence: &Evidence, facts: &Facts, repeats: &Repeats) -> Vec<Finding> {
    let noise = Noise::of_repeats(evidence, repeats).or_else(|| Noise::of(evidence));
    let Some(noise) = noise else { return Vec::new() };
    let mut findings = what_explains(evidence, facts, &noise);
    if let Some(of_repeats) = repeats::finding(repeats, facts, &noise, evidence) {
        let is_told = !matches!(of_repeats.fault, Fault::DriftUntold(_));
        findings.retain(|finding| {
            !(is_told && matches!(finding.fault, Fault::Drift { .. } | Fault::DriftUntold(_)))
        });
        findings.push(of_repeats);
    }
    findings.into_iter().map(|finding| finding.in_run_of(facts)).collect()
}

fn what_explains(evidence: &Evidence, facts: &Facts, noise: &Noise) -> Vec<Finding> {
    let mut findings = Vec::new();
    let repeated = capture::repeated_buffers(evidence);
    findings.extend(pace::finding(facts));
    findings.extend(floor::finding(evidence, facts, noise));
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
    let missed = capture::missed_words(evidence, noise);
    findings.extend(capture::findings(facts, &repeated, &missed));
    let explained: HashSet<usize> =
        repeated.iter().copied().chain(missed.iter().map(|(state, _)| *state)).collect();
    let in_time = in_time(evidence, facts, &explained);
    // Either may look like a little of the other; what is surer is said.
    if let Some((sigmas, leakage)) = leakage::finding(evidence)
        && in_time.sigmas().is_none_or(|of_time| of_time < sigmas)
    {
        // It makes deep states stand out; what else may be wrong with captures cannot be told.
        findings.extend(in_time.why_untold());
        findings.push(leakage);
        return findings;
    }
    let (without, size) = (in_time.taken_off(evidence), in_time.size());
    findings.extend(in_time.findings);
    // What a fitted step leaves of the real one may look like captures at fault, no larger than itself.
    let (mut mixes, mut outliers) = at_fault(&without, &explained);
    mixes.retain(|mix| mix.moved > size);
    outliers.retain(|outlier| outlier.relative > size);
    findings.extend(unsettled::finding(facts, &without, &mixes));
    findings.extend(outlier::finding(facts, &outliers));
    findings
}

/// A step or a drift: of all captures, else of those that are not at fault by themselves. A step makes some captures look
/// at fault, and captures at fault hide a step; but where the order of captures hides drift, it makes a step near some
/// captures at fault look like a step beside them, so that none is looked for then.
fn in_time(evidence: &Evidence, facts: &Facts, explained: &HashSet<usize>) -> InTime {
    let of_all = in_time::in_time(evidence, facts, explained);
    let (mixes, outliers) = at_fault(evidence, explained);
    if of_all.sigmas().is_some() || of_all.why_untold().is_some() || (mixes.is_empty() && outliers.is_empty())
    {
        return of_all;
    }
    let mut apart = explained.clone();
    apart.extend(mixes.iter().map(|mix| mix.state));
    apart.extend(outliers.iter().map(|outlier| outlier.state));
    in_time::in_time(evidence, facts, &apart)
}

/// Captures that are a mix with the one before, and captures that stand out in another way.
fn at_fault(evidence: &Evidence, explained: &HashSet<usize>) -> (Vec<Mix>, Vec<Outlier>) {
    let mut mixes = unsettled::mixes(evidence);
    mixes.retain(|mix| !explained.contains(&mix.state));
    let mixed: HashSet<usize> = mixes.iter().map(|mix| mix.state).collect();
    let mut outliers = outlier::outliers(evidence);
    outliers.retain(|outlier| !explained.contains(&outlier.state) && !mixed.contains(&outlier.state));
    (mixes, outliers)
}
