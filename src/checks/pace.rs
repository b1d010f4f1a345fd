//! How the run went on in time.

use super::facts::Facts;
use super::finding::{Certainty, Fault, Finding};
use super::scatter::median;

/// The median time from one capture to the next and the longest, where the times are known and three at least.
pub(super) fn finding(facts: &Facts) -> Option<Finding> {
    let times = facts.capture_times_s.filter(|times| times.len() >= 3)?;
    let pauses = || times.windows(2).map(|pair| pair[1] - pair[0]);
    let (before, longest_s) = pauses().enumerate().max_by(|a, b| a.1.total_cmp(&b.1))?;
    let after = facts.words[*facts.capture_order.get(before + 1)?];
    let fault = Fault::Pace { median_s: median(pauses()), longest_s, after };
    Some(Finding::of(fault, Vec::new(), Certainty::Certain))
}
