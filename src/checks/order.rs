//! Whether the files have their words in the right order.

use super::by_weights::ByWeights;
use super::evidence::Evidence;
use super::finding::{Certainty, Correction, Fault, Finding};
use super::scatter::median;
use crate::control::Word;
use crate::run::{BitWeight, OrderOfFiles, bit_weights};
use num_complex::Complex64;

/// Whether the bit weights alone can tell an order from the files' own. They can not where it does no more than invert or
/// exchange bits: weights change sign or place, and fit as well as before. Such an order is reported as wiring, which says
/// the same more simply.
fn can_be_told(order: OrderOfFiles, words: &[Word], made: &[Word]) -> bool {
    let is_wiring = matches!(order, OrderOfFiles::Complemented | OrderOfFiles::BitReversed)
        || OrderOfFiles::Complemented.words(words, bits_of(words)).is_some_and(|other| other == made);
    !is_wiring && made != words
}

fn bits_of(words: &[Word]) -> usize {
    let largest = words.iter().map(|word| word.0).max().unwrap_or(0);
    (u32::BITS - largest.leading_zeros()).max(1) as usize
}

/// The words of a run under every order of files that can be told from its own; what is the same at all frequencies.
pub(super) struct Orders {
    own: Vec<usize>,
    others: Vec<(OrderOfFiles, Vec<Word>, Vec<usize>)>,
}

impl Orders {
    pub(super) fn of(words: &[Word], bits: usize) -> Self {
        let positions = |words: &[Word]| words.iter().map(|word| word.0 as usize).collect();
        let orders = OrderOfFiles::ALL.into_iter().filter(|_| bits > 0);
        let others = orders.filter_map(|order| {
            let made = order.words(words, bits).filter(|made| can_be_told(order, words, made))?;
            let positions = positions(&made);
            Some((order, made, positions))
        });
        Self { own: positions(words), others: others.collect() }
    }

    /// What remains when the states of one frequency are explained by bit weights alone, in nepers and radians: the
    /// median over the states, as the files name them and under every other order.
    pub(super) fn residuals(
        &self,
        transmission: &[Complex64],
        weights: &[BitWeight],
    ) -> (f64, Vec<(OrderOfFiles, f64)>) {
        let of = |(order, words, positions): &(OrderOfFiles, Vec<Word>, Vec<usize>)| {
            let weights = bit_weights(words, transmission, weights.len());
            (*order, median_residual(&weights, positions, transmission))
        };
        let own = median_residual(weights, &self.own, transmission);
        (own, self.others.iter().map(of).collect())
    }
}

fn median_residual(weights: &[BitWeight], positions: &[usize], transmission: &[Complex64]) -> f64 {
    let Some(fit) = ByWeights::of(weights, positions, transmission) else { return f64::INFINITY };
    let squares = fit.residual.iter().map(Complex64::norm_sqr);
    median(squares).sqrt()
}

/// An order is claimed where the residual falls at least by this factor.
const BETTER: f64 = 3.0;

/// The order under which bit weights explain the states far better, the median over the frequencies looked at. Of
/// orders that do equally well the first in [`OrderOfFiles::ALL`] is claimed.
pub(super) fn finding(evidence: &Evidence) -> Option<Finding> {
    let probed = || evidence.frequencies.iter().filter_map(|at| at.order_residuals.as_ref());
    let natural = median(probed().map(|(natural, _)| *natural));
    let of = |order: OrderOfFiles| {
        let residuals = probed().filter_map(move |(_, others)| {
            others.iter().find(|(other, _)| *other == order).map(|(_, residual)| *residual)
        });
        median(residuals)
    };
    let (order, residual) = OrderOfFiles::ALL
        .into_iter()
        .map(|order| (order, of(order)))
        .filter(|(_, residual)| residual.is_finite())
        .min_by(|a, b| a.1.total_cmp(&b.1))?;
    let ratio = natural / residual;
    (ratio >= BETTER).then(|| Finding {
        correction: Some(Correction::Order(order)),
        ..Finding::of(Fault::OrderOfFiles(order), Vec::new(), Certainty::ResidualRatio(ratio))
    })
}
