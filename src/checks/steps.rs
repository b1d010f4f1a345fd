//! Where steps in time fit a run.
//!
//! A step changes all captures from a place on by a common factor. It is fitted together with the terms of the bits, at
//! every place: what the terms leave of the step is compared with what they leave of the states. Captured in counting
//! order that is a sawtooth, and nothing at all where the step falls on a change of the highest bits. More than one step is
//! found by adding one after the other, each place looked for anew with the others held.
//!
//! A single capture at fault looks like a step beside a place where no step can be seen. So single captures are fitted
//! beside the steps, and preferred where they explain as much.

use super::in_time::Residuals;
use num_complex::Complex64;

/// A step is looked for where the terms leave this share of its variance, or this much of it counted in captures. Less
/// would be told by a part of one capture only.
const VISIBLE: f64 = 0.02;
const VISIBLE_CAPTURES: f64 = 0.3;
/// At most so many steps.
const MOST_STEPS: usize = 4;
/// Another step is tried where it explains this share of the power that is left, or in a long run so many times the
/// power that is left for each free state,
const WORTH_TRYING: (f64, f64) = (0.25, 40.0);
/// and kept where, with all the others, it explains this share of what they leave, or so many times.
const EXPLAINS: (f64, f64) = (0.4, 64.0);
/// A single capture is looked for where the terms leave this share of it.
const VISIBLE_SINGLE: f64 = 0.02;
/// Two places are told apart where the one explains the states better by this much in the logarithm of the likelihood:
/// 400 to 1. The windows of the sweep count as one, because what the model leaves is alike in them.
const APART: f64 = 6.0;
/// Neighbouring places differ by a few captures, and there the windows count each for itself: what differs is noise.
const NEAR: usize = 6;
/// At most so many single captures.
const MOST_SINGLE: usize = 12;
/// So many captures at least lie before, after and between steps. Fewer are captures that stand out.
const BESIDE: usize = 3;
/// How often the places of several steps are looked for anew.
const ROUNDS: usize = 4;

/// A step fitted to the residuals.
#[derive(Clone, Debug)]
pub(super) struct Step {
    /// Its place in the order of captures: that of the first capture after it.
    pub(super) place: usize,
    /// What the terms and the other steps leave of its shape, by state.
    pub(super) left: Vec<f64>,
    /// Its factor in every window.
    pub(super) factors: Vec<Complex64>,
    /// The share of the power that the others leave which it explains.
    pub(super) explained: f64,
    /// Other places that cannot be told from this one.
    pub(super) or_at: Vec<usize>,
}

impl Step {
    /// All places that are possible are neighbours.
    pub(super) fn is_told_nearly(&self) -> bool {
        self.or_at.iter().all(|other| other.abs_diff(self.place) <= NEAR)
    }
}

/// Steps that explain the residuals together.
#[derive(Clone, Debug)]
pub(super) struct Steps {
    /// Each of them, in the order of captures.
    pub(super) each: Vec<Step>,
    /// The share of the power of the residuals that they explain, beside single captures.
    pub(super) explained: f64,
    /// What they leave, by window, then by state; single captures are left in it.
    pub(super) rest: Vec<Vec<Complex64>>,
    /// The same without what single captures at fault explain.
    pub(super) rest_of_rest: Vec<Vec<Complex64>>,
}

/// What explains residuals.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Cause {
    /// A step before the capture at this place.
    Step(usize),
    /// This state alone.
    Single(usize),
}

/// What explains a step at some place: the share of the power of what the other steps leave.
struct Tried {
    place: usize,
    explained: f64,
}

/// Residuals with some steps taken off.
struct Without<'a> {
    residuals: &'a Residuals<'a>,
    order: &'a [usize],
    /// What is left of the shapes of those steps, orthonormal under the weights.
    shapes: Vec<Vec<f64>>,
    /// What is left of the residuals, by window, then by state.
    values: Vec<Vec<Complex64>>,
    /// What was taken off.
    taken: Vec<Cause>,
}

impl<'a> Without<'a> {
    fn these(residuals: &'a Residuals, order: &'a [usize], causes: &[Cause]) -> Self {
        let mut without = Self {
            residuals,
            order,
            shapes: Vec::new(),
            values: residuals.values.clone(),
            taken: Vec::new(),
        };
        for &cause in causes {
            without.take_off(cause);
        }
        without
    }

    fn take_off(&mut self, cause: Cause) {
        let mut shape = self.left_of(cause);
        let length = self.product(&shape, &shape).sqrt();
        if length > 0.0 {
            for value in &mut shape {
                *value /= length;
            }
            let weight = &self.residuals.weight;
            for values in &mut self.values {
                let terms = values.iter().zip(&shape).zip(weight);
                let product: Complex64 = terms.map(|((value, shape), weight)| value * (shape * weight)).sum();
                for (value, shape) in values.iter_mut().zip(&shape) {
                    *value -= product * *shape;
                }
            }
            self.shapes.push(shape);
        }
        self.taken.push(cause);
    }

    fn product(&self, a: &[f64], b: &[f64]) -> f64 {
        a.iter().zip(b).zip(&self.residuals.weight).map(|((a, b), weight)| a * b * weight).sum()
    }

    /// What the terms and all that was taken off leave of a cause.
    fn left_of(&self, cause: Cause) -> Vec<f64> {
        let mut shape = vec![0.0; self.residuals.weight.len()];
        match cause {
            Cause::Step(place) => {
                for &state in self.order.get(place..).unwrap_or_default() {
                    shape[state] = 1.0;
                }
            }
            Cause::Single(state) => shape[state] = 1.0,
        }
        let mut left = self.residuals.basis.unexplained(&self.residuals.weight, &shape);
        for other in &self.shapes {
            let product = self.product(&left, other);
            for (left, other) in left.iter_mut().zip(other) {
                *left -= product * other;
            }
        }
        left
    }

    /// By how much one share explained is better than another, in the logarithm of the likelihood.
    fn better_by(&self, explained: f64, than: f64) -> f64 {
        self.residuals.free * ((1.0 - than) / (1.0 - explained)).ln()
    }

    fn power(&self) -> f64 {
        self.residuals.power_of(&self.values)
    }

    /// All places at which a step can be seen. From one to the next, the sums over the captures after it lose one
    /// capture; the residuals have no product with the terms, so that of theirs only the plain sums are needed.
    fn tried(&self) -> Vec<Tried> {
        let weight = &self.residuals.weight;
        let total: f64 = weight.iter().sum();
        let counted = weight.iter().filter(|weight| **weight > 0.0).count() as f64;
        let power = self.power();
        let mut sum = 0.0;
        let mut on_terms = vec![0.0; self.residuals.basis.terms()];
        let mut on_shapes = vec![0.0; self.shapes.len()];
        let mut products = vec![Complex64::ZERO; self.values.len()];
        let mut tried = Vec::new();
        for place in (0..self.order.len()).rev() {
            let state = self.order[place];
            let weight = weight[state];
            sum += weight;
            for (sum, row) in on_terms.iter_mut().zip(self.residuals.basis.row(state)) {
                *sum += weight * row;
            }
            for (sum, shape) in on_shapes.iter_mut().zip(&self.shapes) {
                *sum += weight * shape[state];
            }
            for (product, values) in products.iter_mut().zip(&self.values) {
                *product += values[state] * weight;
            }
            let is_beside = place < BESIDE
                || place + BESIDE > self.order.len()
                || self
                    .taken
                    .iter()
                    .any(|taken| matches!(taken, Cause::Step(other) if other.abs_diff(place) < BESIDE));
            let square = sum - square_sum(&on_terms) - square_sum(&on_shapes);
            let visible = (VISIBLE * sum * (1.0 - sum / total)).min(VISIBLE_CAPTURES * total / counted);
            if is_beside || square < visible {
                continue;
            }
            let explained = products.iter().map(Complex64::norm_sqr).sum::<f64>() / square / power;
            tried.push(Tried { place, explained });
        }
        tried
    }

    /// The single state that explains most, and the share that it explains.
    fn best_single(&self) -> Option<(usize, f64)> {
        let power = self.power();
        let of = |(state, &weight): (usize, &f64)| {
            let by_terms = square_sum(self.residuals.basis.row(state));
            let by_shapes: f64 = self.shapes.iter().map(|shape| shape[state] * shape[state]).sum();
            let square = weight * (1.0 - weight * (by_terms + by_shapes));
            let product: f64 = self.values.iter().map(|values| (values[state] * weight).norm_sqr()).sum();
            (square > VISIBLE_SINGLE * weight).then(|| (state, product / square / power))
        };
        self.residuals.weight.iter().enumerate().filter_map(of).max_by(|a, b| a.1.total_cmp(&b.1))
    }

    /// The step that explains most, and the places that cannot be told from it.
    fn best(&self) -> Option<Step> {
        let tried = self.tried();
        let best = tried.iter().max_by(|a, b| a.explained.total_cmp(&b.explained))?;
        let alike = |other: &Tried| {
            let is_near = other.place.abs_diff(best.place) <= NEAR;
            let windows = if is_near { self.values.len() as f64 } else { 1.0 };
            other.place != best.place && windows * self.better_by(best.explained, other.explained) < APART
        };
        let mut or_at: Vec<usize> =
            tried.iter().filter(|other| alike(other)).map(|other| other.place).collect();
        or_at.reverse();
        let left = self.left_of(Cause::Step(best.place));
        let square = self.product(&left, &left);
        let factor = |values: &Vec<Complex64>| {
            let terms = values.iter().zip(&left).zip(&self.residuals.weight);
            terms.map(|((value, left), weight)| value * (left * weight)).sum::<Complex64>() / square
        };
        let factors = self.values.iter().map(factor).collect();
        Some(Step { place: best.place, left, factors, explained: best.explained, or_at })
    }
}

fn square_sum(values: &[f64]) -> f64 {
    values.iter().map(|value| value * value).sum()
}

/// The steps that explain the residuals; none where nothing is explained well.
pub(super) fn steps(residuals: &Residuals, order: &[usize]) -> Option<Steps> {
    let mut causes = causes(residuals, order);
    loop {
        let steps = each_with_the_others(residuals, order, &causes)?;
        let rest_of_rest = Without::these(residuals, order, &causes).values;
        let least = steps.iter().min_by(|a, b| a.explained.total_cmp(&b.explained))?;
        if least.explained >= share(EXPLAINS, residuals)
            && residuals.sigmas_of(least, &rest_of_rest).is_some()
        {
            return Some(together(residuals, order, &causes, steps, rest_of_rest));
        }
        let dropped = Cause::Step(least.place);
        causes.retain(|&cause| cause != dropped);
        refine(residuals, order, &mut causes);
    }
}

/// Steps and single captures, added as long as they explain much.
fn causes(residuals: &Residuals, order: &[usize]) -> Vec<Cause> {
    let mut causes: Vec<Cause> = Vec::new();
    let worth = share(WORTH_TRYING, residuals);
    let count = |causes: &[Cause]| causes.iter().filter(|cause| matches!(cause, Cause::Step(_))).count();
    while count(&causes) < MOST_STEPS && causes.len() - count(&causes) <= MOST_SINGLE {
        let without = Without::these(residuals, order, &causes);
        let step = without.best().filter(|step| step.explained >= worth);
        let single = without.best_single().filter(|single| single.1 >= worth);
        let next = match (step, single) {
            (Some(step), Some((_, explained))) if without.better_by(step.explained, explained) > APART => {
                Cause::Step(step.place)
            }
            (_, Some((state, _))) => Cause::Single(state),
            (Some(step), None) => Cause::Step(step.place),
            (None, None) => break,
        };
        causes.push(next);
        refine(residuals, order, &mut causes);
    }
    causes
}

/// The share that is asked for: in a long run a few captures hold little of the power, whatever they show.
fn share((share, times): (f64, f64), residuals: &Residuals) -> f64 {
    share.min(times / residuals.free.max(1.0))
}

/// Looks for each step's place anew with all else held.
fn refine(residuals: &Residuals, order: &[usize], causes: &mut [Cause]) {
    if causes.len() < 2 {
        return;
    }
    for _ in 0..ROUNDS {
        let before = causes.to_vec();
        for cause in 0..causes.len() {
            if let Cause::Step(_) = causes[cause]
                && let Some(best) = Without::these(residuals, order, &others(causes, cause)).best()
            {
                causes[cause] = Cause::Step(best.place);
            }
        }
        if before == causes {
            break;
        }
    }
}

fn others(causes: &[Cause], cause: usize) -> Vec<Cause> {
    causes.iter().enumerate().filter(|(other, _)| *other != cause).map(|(_, cause)| *cause).collect()
}

fn each_with_the_others(residuals: &Residuals, order: &[usize], causes: &[Cause]) -> Option<Vec<Step>> {
    let steps = (0..causes.len()).filter(|&cause| matches!(causes[cause], Cause::Step(_)));
    steps
        .map(|step| {
            let found = Without::these(residuals, order, &others(causes, step)).best()?;
            Some(Step { place: place_of(causes[step])?, ..found })
        })
        .collect()
}

fn place_of(cause: Cause) -> Option<usize> {
    match cause {
        Cause::Step(place) => Some(place),
        Cause::Single(_) => None,
    }
}

/// What all of them explain beside the single captures.
fn together(
    residuals: &Residuals,
    order: &[usize],
    causes: &[Cause],
    mut steps: Vec<Step>,
    rest_of_rest: Vec<Vec<Complex64>>,
) -> Steps {
    let single: Vec<Cause> = causes.iter().copied().filter(|cause| place_of(*cause).is_none()).collect();
    let without_steps = Without::these(residuals, order, &single).power();
    let explained = 1.0 - residuals.power_of(&rest_of_rest) / without_steps;
    let mut rest = residuals.values.clone();
    for step in &steps {
        // With the single captures held, the factors are those of all steps together.
        for (values, factor) in rest.iter_mut().zip(&step.factors) {
            let mut shape = vec![0.0; residuals.weight.len()];
            for &state in order.get(step.place..).unwrap_or_default() {
                shape[state] = 1.0;
            }
            let shape = residuals.basis.unexplained(&residuals.weight, &shape);
            for (value, shape) in values.iter_mut().zip(&shape) {
                *value -= factor * *shape;
            }
        }
    }
    steps.sort_by_key(|step| step.place);
    Steps { each: steps, explained, rest, rest_of_rest }
}

/// Places at which no step could be seen, and those beside them at which it would look like one capture at fault.
pub(super) fn hidden(residuals: &Residuals, order: &[usize]) -> Vec<usize> {
    let last = order.len().saturating_sub(BESIDE);
    let mut seen: Vec<bool> = (0..=order.len()).map(|place| !(BESIDE..=last).contains(&place)).collect();
    for tried in Without::these(residuals, order, &[]).tried() {
        seen[tried.place] = true;
    }
    (BESIDE..=last).filter(|&place| !(seen[place - 1] && seen[place] && seen[place + 1])).collect()
}
