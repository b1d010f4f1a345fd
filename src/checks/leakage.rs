//! Something coherent that goes around the part.
//!
//! A constant added to all states bends the deep ones most: relative to a state it is the larger the deeper the state
//! is. Bit weights explain some of that; the shape that is looked for is what of 1/model they do not explain. What bits
//! do to each other in pairs would explain most of it, so the residual here is that of single bits, and what sections
//! reflect is part of what it has to stand out from.

use super::bit_model::{BitFit, BitModel};
use super::by_weights::ByWeights;
use super::evidence::Evidence;
use super::finding::{Certainty, Fault, Finding};
use super::scatter::median;
use crate::run::BitWeight;
use num_complex::Complex64;
use serde::{Deserialize, Serialize};

/// It is claimed where, over half of the frequencies, it explains this share of the residual's power,
const EXPLAINED: f64 = 0.25;
/// and is so many times its deviation, root mean square over the sweep;
const SIGMAS: f64 = 5.0;
/// and in parts whose states are apart by as much: without depth, nothing tells it from reflections.
const DEPTH_DB: f64 = 15.0;

/// What is added to all states at one frequency.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct LeakageAt {
    /// The fitted constant, relative to word 0.
    pub relative: Complex64,
    /// Its standard deviation by the scatter of the states, of its real and of its imaginary part.
    pub sigma: f64,
    /// The share of the residual's power that it explains.
    pub explained: f64,
}

/// Fits a constant that is added to all states.
pub(super) fn leakage_at(
    model: &BitModel,
    fit: &BitFit,
    weights: &[BitWeight],
    transmission: &[Complex64],
) -> Option<LeakageAt> {
    let single = model.of_single_bits();
    // States that lie far from the model for another reason do not count.
    let weight = &fit.weight;
    let inverse: Vec<Complex64> = fit
        .modelled
        .iter()
        .map(|modelled| fit.word_zero * modelled.inv())
        .map(|inverse| if inverse.is_finite() { inverse } else { Complex64::ZERO })
        .collect();
    let plain = ByWeights::of(weights, model.positions(), transmission)?;
    let residual = single.unexplained(weight, &plain.residual);
    let shape = single.unexplained(weight, &inverse);
    let (mut product, mut square, mut power, mut count) = (Complex64::ZERO, 0.0, 0.0, 0.0);
    for ((shape, &weight), residual) in shape.iter().zip(weight).zip(&residual) {
        product += shape.conj() * residual * weight;
        square += shape.norm_sqr() * weight;
        power += residual.norm_sqr() * weight;
        count += weight;
    }
    let by_constant = product.norm_sqr() / square;
    // The rest scatters alike in all states that count; half of its power is in the real part.
    let sigma = ((power - by_constant).max(0.0) / (2.0 * count) / square).sqrt();
    let relative = product / square;
    let explained = by_constant / power;
    (relative.is_finite() && sigma > 0.0).then_some(LeakageAt { relative, sigma, explained })
}

/// The finding, where there is one, and how many deviations it is.
pub(super) fn finding(evidence: &Evidence) -> Option<(f64, Finding)> {
    let fitted = || evidence.frequencies.iter().filter_map(|at| at.leakage);
    let count = fitted().count();
    if count == 0 || depth_db(evidence) < DEPTH_DB {
        return None;
    }
    // Two parts, each of one squared deviation where there is nothing.
    let mean_square =
        fitted().map(|at| at.relative.norm_sqr() / (2.0 * at.sigma.powi(2))).sum::<f64>() / count as f64;
    let explained = median(fitted().map(|at| at.explained));
    let sigmas = mean_square.sqrt();
    let relative_db = 20.0 * median(fitted().map(|at| at.relative.norm())).log10();
    let told = explained > EXPLAINED && sigmas > SIGMAS;
    let fault = Fault::Leakage { relative_db };
    told.then(|| (sigmas, Finding::of(fault, Vec::new(), Certainty::Sigmas(sigmas))))
}

/// From the strongest state to the weakest, each over the whole sweep.
fn depth_db(evidence: &Evidence) -> f64 {
    let states = evidence.repeats_before.len();
    let powers = (0..states).map(|state| evidence.windows.iter().map(|sums| sums[state].power).sum::<f64>());
    let (low, high) =
        powers.fold((f64::INFINITY, 0.0_f64), |(low, high), power| (low.min(power), high.max(power)));
    10.0 * (high / low).log10()
}
