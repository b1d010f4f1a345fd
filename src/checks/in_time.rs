//! What changed while the run went on: a step from one capture to the next, or a slow drift.
//!
//! Both multiply the captures by a factor that depends on when they were made. In the residual it shows as far as it
//! does not look like bits of the word: captured in counting order, a steady drift looks wholly like bit weights (every
//! bit takes the drift times its share of the count), and a step in the middle looks like the highest bit. How much of a
//! shape the model leaves is worked out beforehand, and nothing is said where it is too little.

use super::bit_model::BitModel;
use super::evidence::{Evidence, StateWindow};
use super::facts::Facts;
use super::finding::{Certainty, Fault, Finding, WhyUntold};
use super::scatter::{Scatter, median};
use num_complex::Complex64;
use std::collections::HashSet;

/// A shape in time is looked for where the model leaves this share of its variance.
const VISIBLE_STEP: f64 = 0.1;
const VISIBLE_DRIFT: f64 = 0.3;
/// It is claimed where it is so many times its deviation, root mean square over the windows of the sweep.
const SIGMAS: f64 = 5.0;
/// A step also has to explain this share of the power of all residuals; reflections may look like a small one.
const STEP_EXPLAINS: f64 = 0.4;
/// A step somewhere else has to leave so many times the power that this one leaves.
const ALIKE: f64 = 1.15;
/// So many captures at least lie before and after a step. Fewer are captures that stand out.
const BESIDE_STEP: usize = 3;
/// More places for a step than this are first searched at intervals.
const PLACES: usize = 256;
/// No state counts less than this.
const LEAST_WEIGHT: f64 = 0.01;
/// Changes smaller than this are not reported, however certain: 0.01 dB and 0.07°.
const SMALLEST: f64 = 0.0012;

/// The mean residuals of all states in every window, and how far they scatter.
struct Residuals<'a> {
    model: &'a BitModel,
    weight: Vec<f64>,
    windows: &'a [Vec<StateWindow>],
    /// By window, then by state.
    values: Vec<Vec<Complex64>>,
}

/// A shape in time fitted to the residuals.
struct Fitted {
    /// Its factor in every window.
    factors: Vec<Complex64>,
    /// The share of the power of the residuals that it explains.
    explained: f64,
}

impl<'a> Residuals<'a> {
    /// States in `apart` are left out. The fit at each frequency does not know the noise; once it is known how far each
    /// state scatters, the terms are fitted again to the means with states counted by that, twice.
    fn of(evidence: &'a Evidence, model: &'a BitModel, apart: &HashSet<usize>) -> Option<Self> {
        let mean = |sums: &StateWindow| {
            let mean = sums.residual / sums.points;
            if mean.is_finite() { mean } else { Complex64::ZERO }
        };
        let means: Vec<Vec<Complex64>> =
            evidence.windows.iter().map(|sums| sums.iter().map(mean).collect()).collect();
        let mut values = means.clone();
        let mut weight = Vec::new();
        for _ in 0..2 {
            let variances = evidence
                .windows
                .iter()
                .zip(&values)
                .map(|(sums, values)| variances_of(sums, values))
                .collect::<Option<Vec<_>>>()?;
            weight = weights_of(&variances, apart);
            values = means.iter().map(|means| model.unexplained(&weight, means)).collect();
        }
        Some(Self { model, weight, windows: &evidence.windows, values })
    }

    /// What the model leaves of a shape, and the share of its variance that that is.
    fn visible(&self, shape: &[f64]) -> (Vec<f64>, f64) {
        let complex: Vec<Complex64> = shape.iter().map(|&value| Complex64::from(value)).collect();
        let left: Vec<f64> =
            self.model.unexplained(&self.weight, &complex).iter().map(|value| value.re).collect();
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

    /// Fits what the model leaves of a shape.
    fn fit(&self, left: &[f64]) -> Fitted {
        let square: f64 = left.iter().zip(&self.weight).map(|(value, weight)| weight * value * value).sum();
        let (mut factors, mut explained, mut power) = (Vec::new(), 0.0, 0.0);
        for values in &self.values {
            let mut product = Complex64::ZERO;
            for ((value, left), weight) in values.iter().zip(left).zip(&self.weight) {
                product += value * left * weight;
                power += weight * value.norm_sqr();
            }
            factors.push(product / square);
            explained += product.norm_sqr() / square;
        }
        Fitted { factors, explained: explained / power }
    }

    /// How many times its deviation a fit is, root mean square over the windows. The deviation is that of the residuals
    /// without the fit.
    fn sigmas(&self, left: &[f64], fitted: &Fitted) -> f64 {
        let square: f64 = left.iter().zip(&self.weight).map(|(value, weight)| weight * value * value).sum();
        let mut sigmas = 0.0;
        for ((values, sums), factor) in self.values.iter().zip(self.windows).zip(&fitted.factors) {
            let rest: Vec<Complex64> =
                values.iter().zip(left).map(|(value, left)| value - factor * *left).collect();
            let Some(variances) = variances_of(sums, &rest) else { return 0.0 };
            let terms = left.iter().zip(&self.weight).zip(&variances);
            let variance: f64 =
                terms.map(|((left, weight), variance)| (weight * left).powi(2) * variance).sum();
            sigmas += factor.norm_sqr() * square.powi(2) / (2.0 * variance) / self.values.len() as f64;
        }
        sigmas.sqrt()
    }
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

impl Fitted {
    /// The change in dB and in degrees, the means over the points of the sweep. What a length of line turns is
    /// proportional to frequency, so that the mean is its value in the middle.
    fn change(&self, windows: &[Vec<StateWindow>]) -> (f64, f64) {
        let points = |window: &Vec<StateWindow>| window.iter().map(|sums| sums.points).fold(0.0, f64::max);
        let total: f64 = windows.iter().map(points).sum();
        let sum: Complex64 =
            self.factors.iter().zip(windows).map(|(factor, window)| factor * points(window)).sum();
        let mean = (1.0 + sum / total).ln();
        (20.0 * std::f64::consts::LOG10_E * mean.re, mean.im.to_degrees())
    }

    fn size(&self) -> f64 {
        median(self.factors.iter().map(|factor| factor.norm()))
    }
}

/// What changed in time.
pub(super) struct InTime {
    pub(super) findings: Vec<Finding>,
    /// What it did to the residual of every state in every window, where something was found.
    effect: Option<(Vec<f64>, Vec<Complex64>)>,
}

impl InTime {
    /// How sure a step or a drift is; `None` where none was found.
    pub(super) fn sigmas(&self) -> Option<f64> {
        self.findings.iter().find_map(|finding| match finding.certainty {
            Certainty::Sigmas(sigmas) => Some(sigmas),
            _ => None,
        })
    }

    /// By how much all captures after a step, or the last after a drift, were changed; 0 where none was found.
    pub(super) fn size(&self) -> f64 {
        self.effect.as_ref().map_or(0.0, |(_, factors)| median(factors.iter().map(|factor| factor.norm())))
    }

    /// The note that drift cannot be told, where it cannot.
    pub(super) fn why_untold(&self) -> Option<Finding> {
        self.findings.iter().find(|finding| matches!(finding.fault, Fault::DriftUntold(_))).cloned()
    }

    /// The evidence without what was found.
    pub(super) fn taken_off(&self, evidence: &Evidence) -> Evidence {
        let mut without = evidence.clone();
        if let Some((left, factors)) = &self.effect {
            for (sums, factor) in without.windows.iter_mut().zip(factors) {
                for (sums, left) in sums.iter_mut().zip(left) {
                    *sums = sums.less(factor * *left);
                }
            }
        }
        without
    }
}

/// A step or a drift, or why drift cannot be told. Captures in `apart` are at fault in another way and do not count.
pub(super) fn in_time(evidence: &Evidence, facts: &Facts, apart: &HashSet<usize>) -> InTime {
    let bits = evidence.frequencies.first().map_or(0, |at| at.weights.len());
    let model = BitModel::new(facts.words, bits);
    let residuals = model.as_ref().and_then(|model| Residuals::of(evidence, model, apart));
    let untold = |why| Finding::of(Fault::DriftUntold(why), Vec::new(), Certainty::CannotTell);
    let Some(residuals) = residuals else {
        return InTime { findings: vec![untold(WhyUntold::TooFewStates)], effect: None };
    };
    let step = step(&residuals, facts);
    let drift = drift(&residuals, facts);
    let why_not = drift.as_ref().err().copied();
    let drift = drift.ok().flatten();
    // A step looks like some drift and a drift like some step; what explains more is said.
    let said = match (step, drift) {
        (Some(step), Some(drift)) if drift.fitted.explained > step.fitted.explained => Some(drift),
        (Some(step), _) => Some(step),
        (None, drift) => drift,
    };
    let mut findings: Vec<Finding> = said.iter().map(|said| said.finding.clone()).collect();
    findings.extend(why_not.map(untold));
    InTime { findings, effect: said.map(|said| (said.left, said.fitted.factors)) }
}

/// A shape that was found.
struct Found {
    finding: Finding,
    left: Vec<f64>,
    fitted: Fitted,
}

fn drift(residuals: &Residuals, facts: &Facts) -> Result<Option<Found>, WhyUntold> {
    if !facts.order_on_record {
        return Err(WhyUntold::OrderNotRecorded);
    }
    let (left, visible) = residuals.visible(&shape_of_drift(facts));
    if visible < VISIBLE_DRIFT {
        return Err(WhyUntold::LooksLikeBitWeights);
    }
    let fitted = residuals.fit(&left);
    let sigmas = residuals.sigmas(&left, &fitted);
    if sigmas < SIGMAS || fitted.size() < SMALLEST {
        return Ok(None);
    }
    let (gain_db, phase_deg) = fitted.change(residuals.windows);
    let fault = Fault::Drift { gain_db, phase_deg };
    let finding = Finding::of(fault, Vec::new(), Certainty::Sigmas(sigmas));
    Ok(Some(Found { finding, left, fitted }))
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

/// A place in the order of captures, what the model leaves of a step there, and its fit.
type Tried = (usize, Vec<f64>, Fitted);

/// The step that explains most.
fn step(residuals: &Residuals, facts: &Facts) -> Option<Found> {
    let count = facts.capture_order.len();
    let last = count.checked_sub(BESIDE_STEP)?;
    let tried = |place: usize| {
        let mut shape = vec![0.0; facts.words.len()];
        for &state in &facts.capture_order[place..] {
            shape[state] = 1.0;
        }
        let (left, visible) = residuals.visible(&shape);
        (visible >= VISIBLE_STEP).then(|| {
            let fitted = residuals.fit(&left);
            (place, left, fitted)
        })
    };
    let best = |tried: Vec<Tried>| tried.into_iter().max_by(|a, b| a.2.explained.total_cmp(&b.2.explained));
    let interval = count.div_ceil(PLACES);
    let all: Vec<Tried> = (BESIDE_STEP..=last).step_by(interval).filter_map(tried).collect();
    let explained: Vec<(usize, f64)> =
        all.iter().map(|(place, _, fitted)| (*place, fitted.explained)).collect();
    let mut found = best(all)?;
    if interval > 1 {
        let near = found.0.saturating_sub(interval).max(BESIDE_STEP)..=(found.0 + interval).min(last);
        found = best(near.filter_map(tried).collect())?;
    }
    let (place, left, fitted) = found;
    let sigmas = residuals.sigmas(&left, &fitted);
    if sigmas < SIGMAS || fitted.explained < STEP_EXPLAINS || fitted.size() < SMALLEST {
        return None;
    }
    // Captured in counting order, steps in two places may look alike; neither is claimed then.
    let elsewhere =
        explained.iter().filter(|(other, _)| other.abs_diff(place) > 2 * interval.max(BESIDE_STEP));
    let best_elsewhere = elsewhere.map(|(_, explained)| *explained).fold(0.0, f64::max);
    if 1.0 - best_elsewhere < ALIKE * (1.0 - fitted.explained) {
        return None;
    }
    let (gain_db, phase_deg) = fitted.change(residuals.windows);
    let after = facts.words[facts.capture_order[place]];
    let fault = Fault::StepInTime { after, gain_db, phase_deg };
    let finding = Finding::of(fault, vec![after], Certainty::Sigmas(sigmas));
    Some(Found { finding, left, fitted })
}
