//! What changed while the run went on: steps from one capture to the next, or a slow drift.
//!
//! Both multiply the captures by a factor that depends on when they were made. In the residual it shows as far as it
//! does not look like bits of the word: captured in counting order, a steady drift looks wholly like bit weights (every
//! bit takes the drift times its share of the count), and a step in the middle looks like the highest bit. How much of a
//! shape the model leaves is worked out beforehand, and where it is too little the finding says that it cannot be told.

use super::basis::Basis;
use super::bit_model::BitModel;
use super::evidence::{Evidence, StateWindow};
use super::facts::Facts;
use super::finding::{Certainty, Fault, Finding, WhyUntold};
use super::scatter::{Scatter, median};
use super::steps::{self, Step, Steps};
use crate::control::Word;
use num_complex::Complex64;
use std::collections::HashSet;

/// A drift is looked for where the model leaves this share of its variance.
const VISIBLE_DRIFT: f64 = 0.3;
/// A shape in time is claimed where it is so many times its deviation, root mean square over the windows of the sweep.
const SIGMAS: f64 = 5.0;
/// A step whose place cannot be told explains at least this share of the power: bits acting on each other may look alike.
const SOMEWHERE_EXPLAINS: f64 = 0.7;
/// Each step has to explain the states better than a drift by this much in the logarithm of the likelihood.
const FOR_EACH_STEP: f64 = 6.0;
/// No state counts less than this.
const LEAST_WEIGHT: f64 = 0.01;
/// Changes smaller than this are not reported, however certain: 0.01 dB and 0.07°.
const SMALLEST: f64 = 0.0012;

/// The mean residuals of all states in every window, and how far they scatter.
pub(super) struct Residuals<'a> {
    pub(super) basis: Basis,
    pub(super) weight: Vec<f64>,
    windows: &'a [Vec<StateWindow>],
    /// As the fit at each frequency leaves them, by window, then by state.
    means: Vec<Vec<Complex64>>,
    /// What the terms leave of those, states counted by how far they scatter.
    pub(super) values: Vec<Vec<Complex64>>,
    /// States that count beyond the number of terms.
    pub(super) free: f64,
}

impl<'a> Residuals<'a> {
    /// States in `apart` are left out. The fit at each frequency does not know the noise; once it is known how far each
    /// state scatters, the terms are fitted again to the means with states counted by that, twice.
    fn of(evidence: &'a Evidence, model: &BitModel, apart: &HashSet<usize>) -> Option<Self> {
        let mean = |sums: &StateWindow| {
            let mean = sums.residual / sums.points;
            if mean.is_finite() { mean } else { Complex64::ZERO }
        };
        let means: Vec<Vec<Complex64>> =
            evidence.windows.iter().map(|sums| sums.iter().map(mean).collect()).collect();
        let windows = &evidence.windows;
        let first = fitted_again(windows, model, apart, &means, &means)?;
        let (basis, weight, values) = fitted_again(windows, model, apart, &means, &first.2)?;
        let counted = weight.iter().filter(|weight| **weight > 0.0).count();
        let free = counted.saturating_sub(basis.terms()) as f64;
        Some(Self { basis, weight, windows, means, values, free })
    }

    /// What the model leaves of a shape, and the share of its variance that that is.
    fn visible(&self, shape: &[f64]) -> (Vec<f64>, f64) {
        let left = self.basis.unexplained(&self.weight, shape);
        let total: f64 = self.weight.iter().sum();
        let weighted = |values: &[f64], about: f64| {
            values
                .iter()
                .zip(&self.weight)
                .map(|(value, weight)| weight * (value - about).powi(2))
                .sum::<f64>()
        };
        let mean = shape.iter().zip(&self.weight).map(|(value, weight)| weight * value).sum::<f64>() / total;
        let share = weighted(&left, 0.0) / weighted(shape, mean);
        (left, if share.is_finite() { share } else { 0.0 })
    }

    /// The power of what is left of the residuals in all windows, states counted by their weight.
    pub(super) fn power_of(&self, values: &[Vec<Complex64>]) -> f64 {
        let of = |values: &Vec<Complex64>| -> f64 {
            values.iter().zip(&self.weight).map(|(value, weight)| weight * value.norm_sqr()).sum()
        };
        values.iter().map(of).sum()
    }

    /// Fits what the model leaves of a shape: its factor in every window, and the share of the power that it explains.
    fn fit(&self, left: &[f64]) -> (Vec<Complex64>, f64) {
        let square: f64 = left.iter().zip(&self.weight).map(|(value, weight)| weight * value * value).sum();
        let product = |values: &Vec<Complex64>| {
            let terms = values.iter().zip(left).zip(&self.weight);
            terms.map(|((value, left), weight)| value * (left * weight)).sum::<Complex64>()
        };
        let factors: Vec<Complex64> = self.values.iter().map(|values| product(values) / square).collect();
        let explained = factors.iter().map(Complex64::norm_sqr).sum::<f64>() * square;
        (factors, explained / self.power_of(&self.values))
    }

    /// What is left of the residuals when a shape is taken off, by window, then by state.
    fn without(&self, left: &[f64], factors: &[Complex64]) -> Vec<Vec<Complex64>> {
        let without = |(values, factor): (&Vec<Complex64>, &Complex64)| {
            values.iter().zip(left).map(|(value, left)| value - factor * *left).collect()
        };
        self.values.iter().zip(factors).map(without).collect()
    }

    /// How many times its deviation a shape's factor is, root mean square over the windows. The deviation is that of
    /// what is left of the residuals without it, and without all else that was found.
    fn sigmas(&self, left: &[f64], factors: &[Complex64], rest: &[Vec<Complex64>]) -> f64 {
        let square: f64 = left.iter().zip(&self.weight).map(|(value, weight)| weight * value * value).sum();
        let mut sigmas = 0.0;
        for ((rest, sums), factor) in rest.iter().zip(self.windows).zip(factors) {
            let Some(variances) = variances_of(sums, rest) else { return 0.0 };
            let terms = left.iter().zip(&self.weight).zip(&variances);
            let variance: f64 =
                terms.map(|((left, weight), variance)| (weight * left).powi(2) * variance).sum();
            sigmas += factor.norm_sqr() * square.powi(2) / (2.0 * variance) / self.windows.len() as f64;
        }
        sigmas.sqrt()
    }

    /// How sure a step is, where it is sure enough and not too small.
    pub(super) fn sigmas_of(&self, step: &Step, rest: &[Vec<Complex64>]) -> Option<f64> {
        let sigmas = self.sigmas(&step.left, &step.factors, rest);
        (sigmas >= SIGMAS && size(&step.factors) >= SMALLEST).then_some(sigmas)
    }

    /// The change in dB and in degrees, the means over the points of the sweep. What a length of line turns is
    /// proportional to frequency, so that the mean is its value in the middle.
    fn change(&self, factors: &[Complex64]) -> (f64, f64) {
        let points = |window: &Vec<StateWindow>| window.iter().map(|sums| sums.points).fold(0.0, f64::max);
        let total: f64 = self.windows.iter().map(points).sum();
        let sum: Complex64 =
            factors.iter().zip(self.windows).map(|(factor, window)| factor * points(window)).sum();
        let mean = (1.0 + sum / total).ln();
        (20.0 * std::f64::consts::LOG10_E * mean.re, mean.im.to_degrees())
    }

    /// By how much the mean of every state in every window is changed by all that was found and by what it did to the
    /// terms.
    fn effect(&self, rest: &[Vec<Complex64>]) -> Vec<Vec<Complex64>> {
        let of = |(means, rest): (&Vec<Complex64>, &Vec<Complex64>)| {
            means.iter().zip(rest).map(|(mean, rest)| mean - rest).collect()
        };
        self.means.iter().zip(rest).map(of).collect()
    }
}

type FittedAgain = (Basis, Vec<f64>, Vec<Vec<Complex64>>);

/// Fits the terms to the means, each state counted as far as `values` of it scatter.
fn fitted_again(
    windows: &[Vec<StateWindow>],
    model: &BitModel,
    apart: &HashSet<usize>,
    means: &[Vec<Complex64>],
    values: &[Vec<Complex64>],
) -> Option<FittedAgain> {
    let variances = windows.iter().zip(values).map(|(sums, values)| variances_of(sums, values));
    let weight = weights_of(&variances.collect::<Option<Vec<_>>>()?, apart);
    let basis = Basis::of(model, &weight);
    let values = means.iter().map(|means| basis.unexplained(&weight, means)).collect();
    Some((basis, weight, values))
}

/// The variance of either part of the mean residual of every state in a window.
fn variances_of(sums: &[StateWindow], values: &[Complex64]) -> Option<Vec<f64>> {
    let inverse = |sums: &StateWindow| sums.points / sums.power;
    let lengths: Vec<(f64, f64)> =
        sums.iter().zip(values).map(|(sums, value)| (value.norm(), inverse(sums))).collect();
    let scatter = Scatter::of_lengths(&lengths)?;
    Some(sums.iter().map(|sums| scatter.sigma(inverse(sums)).powi(2)).collect())
}

/// How much every state counts: as little as it scatters, relative to the surest state.
fn weights_of(variances: &[Vec<f64>], apart: &HashSet<usize>) -> Vec<f64> {
    let states = variances.first().map_or(0, Vec::len);
    let total = |state: usize| variances.iter().map(|variances| variances[state]).sum::<f64>();
    let totals: Vec<f64> = (0..states).map(total).collect();
    let least = totals.iter().copied().filter(|total| *total > 0.0).fold(f64::INFINITY, f64::min);
    let weight_of = |state: usize| {
        let weight = (least / totals[state]).max(LEAST_WEIGHT);
        if apart.contains(&state) || !weight.is_finite() { 0.0 } else { weight }
    };
    (0..states).map(weight_of).collect()
}

/// How large a change is, the median over the windows.
fn size(factors: &[Complex64]) -> f64 {
    median(factors.iter().map(|factor| factor.norm()))
}

/// What changed in time.
#[derive(Default)]
pub(super) struct InTime {
    pub(super) findings: Vec<Finding>,
    said: Option<Said>,
}

/// Steps or a drift that were found.
struct Said {
    findings: Vec<Finding>,
    /// The share of the residuals' power that all of it explains.
    explained: f64,
    /// How sure the surest of it is.
    sigmas: f64,
    /// The largest change.
    size: f64,
    /// By how much it changed the mean residual of every state, by window.
    effect: Vec<Vec<Complex64>>,
}

impl InTime {
    /// How sure a step or a drift is; `None` where none was found.
    pub(super) fn sigmas(&self) -> Option<f64> {
        self.said.as_ref().map(|said| said.sigmas)
    }

    /// By how much all captures after a step, or the last after a drift, were changed; 0 where none was found.
    pub(super) fn size(&self) -> f64 {
        self.said.as_ref().map_or(0.0, |said| said.size)
    }

    /// The note that drift cannot be told, where it cannot.
    pub(super) fn why_untold(&self) -> Option<Finding> {
        self.findings.iter().find(|finding| matches!(finding.fault, Fault::DriftUntold(_))).cloned()
    }

    /// The evidence without what was found.
    pub(super) fn taken_off(&self, evidence: &Evidence) -> Evidence {
        let mut without = evidence.clone();
        if let Some(said) = &self.said {
            for (sums, effect) in without.windows.iter_mut().zip(&said.effect) {
                for (sums, effect) in sums.iter_mut().zip(effect) {
                    *sums = sums.less(*effect);
                }
            }
        }
        without
    }
}

/// Steps or a drift, or why they cannot be told. Captures in `apart` are at fault in another way and do not count.
pub(super) fn in_time(evidence: &Evidence, facts: &Facts, apart: &HashSet<usize>) -> InTime {
    let bits = evidence.frequencies.first().map_or(0, |at| at.weights.len());
    let model = BitModel::new(facts.words, bits);
    let residuals = model.as_ref().and_then(|model| Residuals::of(evidence, model, apart));
    let untold = |why| Finding::of(Fault::DriftUntold(why), Vec::new(), Certainty::CannotTell);
    let Some(residuals) = residuals else {
        return InTime { findings: vec![untold(WhyUntold::TooFewStates)], said: None };
    };
    let steps = steps_said(&residuals, facts);
    let drift = drift(&residuals, facts);
    let why_not = drift.as_ref().err().copied();
    // A step looks like some drift and a drift like some steps; more of them always explain more.
    let said = match (steps, drift.ok().flatten()) {
        (Some(steps), Some(drift)) => {
            let better = residuals.free * ((1.0 - drift.explained) / (1.0 - steps.explained)).ln();
            let asked = FOR_EACH_STEP * (steps.findings.len() as f64 - 1.0);
            Some(if better > asked { steps } else { drift })
        }
        (steps, drift) => steps.or(drift),
    };
    let mut findings: Vec<Finding> = said.iter().flat_map(|said| said.findings.clone()).collect();
    let hidden = words_at(facts, &steps::hidden(&residuals, facts.capture_order));
    if !hidden.is_empty() {
        findings.push(Finding::of(Fault::StepUntold { after: hidden }, Vec::new(), Certainty::CannotTell));
    }
    findings.extend(why_not.map(untold));
    InTime { findings, said }
}

fn drift(residuals: &Residuals, facts: &Facts) -> Result<Option<Said>, WhyUntold> {
    if !facts.order_on_record {
        return Err(WhyUntold::OrderNotRecorded);
    }
    let (left, visible) = residuals.visible(&shape_of_drift(facts));
    if visible < VISIBLE_DRIFT {
        return Err(WhyUntold::LooksLikeBitWeights);
    }
    let (factors, explained) = residuals.fit(&left);
    let rest = residuals.without(&left, &factors);
    let sigmas = residuals.sigmas(&left, &factors, &rest);
    if sigmas < SIGMAS || size(&factors) < SMALLEST {
        return Ok(None);
    }
    let (gain_db, phase_deg) = residuals.change(&factors);
    let finding = Finding::of(Fault::Drift { gain_db, phase_deg }, Vec::new(), Certainty::Sigmas(sigmas));
    Ok(Some(Said {
        findings: vec![finding],
        explained,
        sigmas,
        size: size(&factors),
        effect: residuals.effect(&rest),
    }))
}

/// From 0 at the first capture to 1 at the last, by time where it is known and else by count.
fn shape_of_drift(facts: &Facts) -> Vec<f64> {
    let count = facts.capture_order.len();
    let mut shape = vec![0.0; facts.words.len()];
    for (place, &state) in facts.capture_order.iter().enumerate() {
        shape[state] = match facts.capture_times_s {
            Some([first, .., last]) if last > first => {
                (facts.capture_times_s.map_or(*first, |times| times[place]) - first) / (last - first)
            }
            _ => place as f64 / count.max(2).saturating_sub(1) as f64,
        };
    }
    shape
}

/// The steps that were found, each a finding of its own.
fn steps_said(residuals: &Residuals, facts: &Facts) -> Option<Said> {
    let Steps { each: steps, explained, rest, rest_of_rest } = steps::steps(residuals, facts.capture_order)?;
    let finding = |step: &Step| {
        let sigmas = residuals.sigmas_of(step, &rest_of_rest)?;
        let certainty = Certainty::Sigmas(sigmas);
        if step.or_at.is_empty() {
            let (gain_db, phase_deg) = residuals.change(&step.factors);
            let after = facts.words[facts.capture_order[step.place]];
            let fault = Fault::StepInTime { after, gain_db, phase_deg };
            return Some((sigmas, Finding::of(fault, vec![after], certainty)));
        }
        let mut places = step.or_at.clone();
        places.push(step.place);
        places.sort_unstable();
        let fault = Fault::StepSomewhere { after: words_at(facts, &places) };
        let is_told = step.explained > SOMEWHERE_EXPLAINS || step.is_told_nearly();
        is_told.then(|| (sigmas, Finding::of(fault, Vec::new(), certainty)))
    };
    let found: Vec<(f64, Finding)> = steps.iter().map(finding).collect::<Option<_>>()?;
    Some(Said {
        sigmas: found.iter().map(|(sigmas, _)| *sigmas).fold(0.0, f64::max),
        findings: found.into_iter().map(|(_, finding)| finding).collect(),
        explained,
        size: steps.iter().map(|step| size(&step.factors)).fold(0.0, f64::max),
        effect: residuals.effect(&rest),
    })
}

/// The words of the first captures at these places.
fn words_at(facts: &Facts, places: &[usize]) -> Vec<Word> {
    places.iter().map(|&place| facts.words[facts.capture_order[place]]).collect()
}
