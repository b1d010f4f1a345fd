//! What a share of the frequencies says about the run: sums that can be put together.

use super::bit_model::{BitFit, BitModel};
use super::histogram::Histogram;
use super::leakage::{LeakageAt, leakage_at};
use super::order::Orders;
use super::windows::Windows;
use crate::control::Word;
use crate::run::{BitWeight, OrderOfFiles};
use num_complex::Complex64;
use serde::{Deserialize, Serialize};
use std::ops::Range;

/// At most so many frequencies, evenly spaced, are looked at where one look is dear: for leakage, and for other orders of
/// files, which show at every one of them.
const MOST_PROBES: usize = 48;
const MOST_ORDER_PROBES: usize = 16;

/// The transmission of all states over a range of frequencies.
#[derive(Clone, Debug)]
pub struct Sweeps<'a> {
    /// Points of the whole grid.
    pub points: usize,
    /// The points looked at.
    pub range: Range<usize>,
    /// The states' words, ascending.
    pub words: &'a [Word],
    /// The states of one frequency contiguous, for `range` and for one frequency more where the grid goes on.
    pub transmission: &'a [Complex64],
    /// The bit weights at each frequency of `transmission`; empty ones for a run without bits.
    pub weights: &'a [Vec<BitWeight>],
    /// States in the order in which they were captured.
    pub capture_order: &'a [usize],
}

/// What one state shows in one window of frequencies. A residual is T/model − 1, a jump is what the change from the
/// capture before should have been, relative to the state: model before/model − 1.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct StateWindow {
    /// Points that count.
    pub points: f64,
    /// Sum of the residuals.
    pub residual: Complex64,
    /// Sum of the squares of their lengths.
    pub residual_square: f64,
    /// Sum of jump* · residual.
    pub mix: Complex64,
    /// Sum of the jumps.
    pub jump: Complex64,
    /// Sum of the squares of the jumps' lengths.
    pub jump_square: f64,
    /// Sum of |T|², relative to the common trace.
    pub power: f64,
    /// Sum of |T − T of the capture before|², relative to the common trace.
    pub change_square: f64,
    /// What the model says of that sum.
    pub expected_change_square: f64,
}

impl StateWindow {
    /// Adds another's sums.
    pub fn add(&mut self, other: &Self) {
        self.points += other.points;
        self.residual += other.residual;
        self.residual_square += other.residual_square;
        self.mix += other.mix;
        self.jump += other.jump;
        self.jump_square += other.jump_square;
        self.power += other.power;
        self.change_square += other.change_square;
        self.expected_change_square += other.expected_change_square;
    }

    /// The same with this taken off the residual of every point.
    #[must_use]
    pub fn less(&self, residual: Complex64) -> Self {
        Self {
            residual: self.residual - residual * self.points,
            residual_square: self.residual_square - 2.0 * (self.residual.conj() * residual).re
                + residual.norm_sqr() * self.points,
            mix: self.mix - self.jump.conj() * residual,
            ..*self
        }
    }
}

/// What one frequency shows.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct AtFrequency {
    /// Its place on the grid.
    pub index: usize,
    /// The magnitude of the common trace, which is the mean magnitude of the states.
    pub common: f64,
    /// The magnitude that the model gives word 0; 0 without a model.
    pub word_zero: f64,
    /// The bit weights as the model has them; the plain ones without a model.
    pub weights: Vec<BitWeight>,
    /// What remains when the states are explained by bit weights alone: as the files name them, and under every other
    /// order of files that was tried. Only at some frequencies.
    pub order_residuals: Option<(f64, Vec<(OrderOfFiles, f64)>)>,
    /// Only at some frequencies.
    pub leakage: Option<LeakageAt>,
}

/// What a share of the frequencies says, or several shares put together.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Evidence {
    /// Points of the whole grid.
    pub points: usize,
    /// By window, then by state.
    pub windows: Vec<Vec<StateWindow>>,
    /// Magnitudes of the second differences along frequency, by window.
    pub second_differences: Vec<Histogram>,
    /// Ascending by frequency.
    pub frequencies: Vec<AtFrequency>,
    /// Whether each state equals, to the last digit, the capture before it.
    pub repeats_before: Vec<bool>,
    /// Most bits of a term of the model; 0 where there is none.
    pub model_order: u32,
    /// The ends of the shares put together so far, ascending; neighbours join.
    pieces: Vec<Piece>,
}

/// The ends of a share: second differences across a joint need the points on both sides of it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
struct Piece {
    range: Range<usize>,
    /// The states at the first point and, where the grid goes on, at the next one.
    head: (Vec<Complex64>, Option<Vec<Complex64>>),
    /// The states at the last point owned.
    tail: Vec<Complex64>,
}

/// Looks at a share of the frequencies. Put together, the sums do not depend on how the grid was cut.
pub fn examine(sweeps: &Sweeps) -> Evidence {
    let states = sweeps.words.len();
    let owned = sweeps.range.len();
    let slices: Vec<&[Complex64]> = sweeps.transmission.chunks_exact(states.max(1)).collect();
    if owned == 0 || slices.len() < owned || sweeps.weights.len() < owned {
        return Evidence::default();
    }
    let windows = Windows::of(sweeps.points);
    let model = BitModel::new(sweeps.words, sweeps.weights[0].len());
    let orders = Orders::of(sweeps.words, sweeps.weights[0].len());
    let before = captures_before(sweeps.capture_order, states);
    let mut evidence = Evidence {
        points: sweeps.points,
        windows: vec![vec![StateWindow::default(); states]; windows.count()],
        second_differences: vec![Histogram::default(); windows.count()],
        frequencies: Vec::with_capacity(owned),
        repeats_before: before.iter().map(Option::is_some).collect(),
        model_order: model.as_ref().map_or(0, BitModel::order),
        pieces: vec![Piece {
            range: sweeps.range.clone(),
            head: (slices[0].to_vec(), slices.get(1).map(|slice| slice.to_vec())),
            tail: slices[owned - 1].to_vec(),
        }],
    };
    let probe_step = sweeps.points.div_ceil(MOST_PROBES).max(1);
    let order_step = sweeps.points.div_ceil(MOST_ORDER_PROBES).max(1);
    for (offset, (&transmission, weights)) in slices.iter().zip(sweeps.weights).take(owned).enumerate() {
        let index = sweeps.range.start + offset;
        let common = common_of(transmission, &turns_of(transmission));
        let fit = model.as_ref().map(|model| model.fit(weights, transmission));
        let window = windows.of_point(index);
        add_states(&mut evidence.windows[window], &before, common.norm_sqr(), fit.as_ref(), transmission);
        for (repeats, (state, before)) in evidence.repeats_before.iter_mut().zip(before.iter().enumerate()) {
            *repeats = *repeats && before.is_some_and(|before| transmission[before] == transmission[state]);
        }
        let probed = index.is_multiple_of(probe_step);
        let probed_fit = model.as_ref().zip(fit.as_ref()).filter(|_| probed);
        evidence.frequencies.push(AtFrequency {
            index,
            common: common.norm(),
            word_zero: fit.as_ref().map_or(0.0, |fit| fit.word_zero),
            weights: fit.as_ref().map_or_else(|| weights.clone(), |fit| fit.bit_weights.clone()),
            order_residuals: (index.is_multiple_of(order_step) && !weights.is_empty())
                .then(|| orders.residuals(transmission, weights)),
            leakage: probed_fit.and_then(|(model, fit)| leakage_at(model, fit, weights, transmission)),
        });
        if offset > 0
            && let Some(&after) = slices.get(offset + 1)
        {
            let differences = &mut evidence.second_differences[window];
            count_second_differences(differences, slices[offset - 1], transmission, after);
        }
    }
    evidence
}

impl Evidence {
    /// Puts the evidence of two shares of one run together; they may come in any order and must not overlap.
    #[must_use]
    pub fn merge(mut self, mut other: Self) -> Self {
        if self.pieces.is_empty() {
            return other;
        }
        for (mine, theirs) in self.windows.iter_mut().flatten().zip(other.windows.iter().flatten()) {
            mine.add(theirs);
        }
        for (mine, theirs) in self.second_differences.iter_mut().zip(&other.second_differences) {
            mine.merge(theirs);
        }
        for (mine, theirs) in self.repeats_before.iter_mut().zip(&other.repeats_before) {
            *mine = *mine && *theirs;
        }
        self.frequencies.append(&mut other.frequencies);
        self.frequencies.sort_by_key(|at| at.index);
        self.pieces.append(&mut other.pieces);
        self.pieces.sort_by_key(|piece| piece.range.start);
        self.join_neighbours();
        self
    }

    fn join_neighbours(&mut self) {
        let windows = Windows::of(self.points);
        let mut joined: Vec<Piece> = Vec::new();
        for piece in std::mem::take(&mut self.pieces) {
            match joined.last_mut() {
                Some(last) if last.range.end == piece.range.start => {
                    if let Some(after) = &piece.head.1 {
                        let window = windows.of_point(piece.range.start);
                        let differences = &mut self.second_differences[window];
                        count_second_differences(differences, &last.tail, &piece.head.0, after);
                    }
                    last.range.end = piece.range.end;
                    last.tail = piece.tail;
                }
                _ => joined.push(piece),
            }
        }
        self.pieces = joined;
    }
}

/// The capture before each state's, if any.
fn captures_before(capture_order: &[usize], states: usize) -> Vec<Option<usize>> {
    let mut before = vec![None; states];
    for pair in capture_order.windows(2) {
        if let Some(slot) = before.get_mut(pair[1]) {
            *slot = Some(pair[0]).filter(|&state| state < states);
        }
    }
    before
}

/// What turns each state to phase zero; nothing for one without transmission.
fn turns_of(transmission: &[Complex64]) -> Vec<Complex64> {
    let turn = |value: &Complex64| {
        let length = value.norm_sqr().sqrt();
        if length > 0.0 { value.conj() / length } else { Complex64::ZERO }
    };
    transmission.iter().map(turn).collect()
}

/// The run's common trace: the mean of the states, each first turned by its phase at some point. At that point it is the
/// mean magnitude; at the points beside it, it has turned as the line in front of the part turns all states, so that
/// what is divided by it has lost the line's length.
fn common_of(transmission: &[Complex64], turns: &[Complex64]) -> Complex64 {
    let sum: Complex64 = transmission.iter().zip(turns).map(|(value, turn)| value * turn).sum();
    sum / transmission.len().max(1) as f64
}

/// Counts the second differences of all states at the middle one of three frequencies, each state divided by the
/// common trace.
fn count_second_differences(
    differences: &mut Histogram,
    below: &[Complex64],
    middle: &[Complex64],
    above: &[Complex64],
) {
    let turns = turns_of(middle);
    let common = [below, middle, above].map(|transmission| common_of(transmission, &turns).inv());
    if common.iter().any(|inverse| !inverse.is_finite()) {
        return;
    }
    for ((a, b), c) in below.iter().zip(middle).zip(above) {
        let difference = a * common[0] - b * common[1] * 2.0 + c * common[2];
        differences.count(difference.re);
        differences.count(difference.im);
    }
}

fn add_states(
    sums: &mut [StateWindow],
    before: &[Option<usize>],
    common_square: f64,
    fit: Option<&BitFit>,
    transmission: &[Complex64],
) {
    if !(common_square > 0.0 && common_square.is_finite()) {
        return;
    }
    for (state, sums) in sums.iter_mut().enumerate() {
        let value = transmission[state];
        sums.power += value.norm_sqr() / common_square;
        if let Some(before) = before[state] {
            sums.change_square += (value - transmission[before]).norm_sqr() / common_square;
        }
        let Some(modelled) = fit.map(|fit| &fit.modelled) else { continue };
        let inverse = modelled[state].inv();
        if !inverse.is_finite() {
            continue;
        }
        let residual = value * inverse - 1.0;
        sums.points += 1.0;
        sums.residual += residual;
        sums.residual_square += residual.norm_sqr();
        if let Some(before) = before[state] {
            let jump = modelled[before] * inverse - 1.0;
            sums.mix += jump.conj() * residual;
            sums.jump += jump;
            sums.jump_square += jump.norm_sqr();
            sums.expected_change_square += (modelled[before] - modelled[state]).norm_sqr() / common_square;
        }
    }
}
