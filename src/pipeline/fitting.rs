//! The references that fit best, searched for where the frequencies lie.

use super::analysis::FrequencyWork;
use super::protocol::{Beside, FittedAt, Starts};
use crate::plane::{Anchor, StateIndex};
use crate::table::{Cells, FitSums, Trials, best_fit, better_fit, fit_sums, starts};
use num_complex::Complex64;

/// The references by rule, beside the zero word's, that a search begins at too, so that it is not worse than they are; of many
/// settings, where only the best starts are followed, the comparison of references sees to that.
const FIXED: [Anchor; 2] = [Anchor::RingMedian, Anchor::FullRing];

/// The best reference of each of some frequencies, `at` holding the states of each; from its neighbours, only one that is
/// better than its own. `None` where the ring median's reference cannot be told.
pub fn fit(
    work: &FrequencyWork,
    ring_median: Anchor,
    at: &[&[Complex64]],
    begin: &Starts,
) -> Vec<Option<FittedAt>> {
    let (model, words) = (&work.plan().model, work.words());
    let Some(ring) = ring_median.resolve(model, words, &StateIndex::new(words)) else {
        return vec![None; at.len()];
    };
    let fixed = FIXED.map(|anchor| anchor.resolve(model, words, &StateIndex::new(words)));
    let fit_at = |(place, states): (usize, &&[Complex64])| {
        let ring_median = ring.reference(states)?;
        let zero_word = work.zero_word_of(states);
        let (targets, cells) = (&work.targets, Cells::new(states, words));
        let fit = match begin {
            Starts::Own => {
                let fixed = fixed.iter().flatten().filter_map(|anchor| anchor.reference(states));
                let fixed: Vec<Complex64> =
                    zero_word.into_iter().chain(fixed).map(|reference| reference / ring_median).collect();
                best_fit(targets, &cells, ring_median, &starts(model, &fixed))
            }
            Starts::Neighbours(beside) => {
                let Beside { here, neighbours } = beside.get(place)?;
                match here {
                    Some(here) => better_fit(targets, &cells, ring_median, *here, neighbours),
                    None => best_fit(targets, &cells, ring_median, neighbours),
                }
            }
        };
        Some(FittedAt { ring_median, zero_word, fit })
    };
    at.iter().enumerate().map(fit_at).collect()
}

/// The sums under each reference tried at each of some frequencies, which come with their grid indices.
pub fn fit_sums_at(
    work: &FrequencyWork,
    ring_median: Anchor,
    at: &[(usize, &[Complex64])],
    trials: &Trials,
) -> Vec<Option<Vec<FitSums>>> {
    let words = work.words();
    let Some(ring) = ring_median.resolve(&work.plan().model, words, &StateIndex::new(words)) else {
        return vec![None; at.len()];
    };
    let sums = |&(index, states): &(usize, &[Complex64])| {
        fit_sums(&work.targets, &Cells::new(states, words), ring.reference(states)?, index, trials)
    };
    at.iter().map(sums).collect()
}
