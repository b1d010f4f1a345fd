//! One table for a band: for every target the word whose error over the band is smallest.
//!
//! The frequencies of a band are shared among workers, but a word's error over the band needs all of them. Two passes do it:
//!
//! 1. Of some proposed tables (the states chosen at a few frequencies do well) every worker takes the errors over its
//!    frequencies, and with them the least that any state has there ([`Bounds::of`]). Merged, they give for every target an
//!    upper bound U of the best word's error and the errors that it has at least anywhere.
//! 2. Every worker lists for each target the states whose error over its own frequencies leaves U in reach
//!    ([`Candidates::of`]), with that error. The states that all workers list are merged into the table ([`band_table`]).
//!
//! The second pass loses no best word. Call the squared error of a state over the band its whole error, and that over a
//! worker's frequencies its share; the whole is the largest share (worst error) or the sum of the shares (RMS). A best state's
//! whole error is at most U. For the worst error no share exceeds the whole, so it is within U at every worker. For the RMS
//! let the floor of a worker be the sum over its frequencies of the smallest squared errors there: no state's share is below
//! it. So a best state's share at one worker, its whole error less the other shares, is at most U less the other floors,
//! which is the limit that this worker is given. Listed by all, the state has its whole error merged, and so has every state
//! that might tie with it: limits are widened by more than the tie.

use super::bits_changed;
use super::cells::{Cells, TIE};
use super::spot::Spot;
use crate::control::Word;
use crate::plane::PreparedTargets;
use num_complex::Complex64;
use serde::{Deserialize, Serialize};

/// Which error of a word over the band counts.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum BandError {
    /// The largest relative vector error at any frequency.
    #[default]
    Worst,
    /// The root mean square of the relative vector errors at all frequencies.
    Rms,
}

impl BandError {
    fn join(self, a: f64, b: f64) -> f64 {
        match self {
            Self::Worst => a.max(b),
            Self::Rms => a + b,
        }
    }

    /// The error over all of some squared ones; `None` of none.
    pub(super) fn over(self, squared: impl Iterator<Item = f64>) -> Option<f64> {
        let (mut count, mut joined) = (0, 0.0);
        for squared in squared {
            (count, joined) = (count + 1, self.join(joined, squared));
        }
        (count > 0).then(|| self.error(joined, count))
    }

    /// The error that a joined square stands for, over `frequencies`.
    fn error(self, squared: f64, frequencies: usize) -> f64 {
        match self {
            Self::Worst => squared.sqrt(),
            Self::Rms => (squared / frequencies as f64).sqrt(),
        }
    }
}

/// One frequency of a band.
#[derive(Clone, Copy, Debug)]
pub struct AtFrequency<'a> {
    /// All states, not divided by the reference.
    pub transmission: &'a [Complex64],
    /// The reference.
    pub reference: Complex64,
}

impl AtFrequency<'_> {
    /// Squared relative vector error of a state against target number `target`. A state whose transmission is not finite is
    /// infinitely far.
    pub(super) fn squared_error(&self, targets: &PreparedTargets, target: usize, state: usize) -> f64 {
        Aim::of(self, targets, target).squared_error(self.transmission[state])
    }

    /// The states whose squared relative vector error against a target is within a limit, appended with it.
    pub(super) fn within(
        &self,
        cells: &Cells,
        targets: &PreparedTargets,
        target: usize,
        limit: f64,
        into: &mut Vec<(u32, f64)>,
    ) {
        let spot = Spot::under(&targets.prepared[target], &Spot::of(self.reference));
        let radius = limit.sqrt() * (1.0 + 1e-9) + 1e-9;
        // A disc of relative radius r < 1 lies between −ln(1 − r) nepers below and above and asin r radians to both sides.
        let (gain, phase) =
            if radius < 1.0 { (-(-radius).ln_1p(), radius.asin()) } else { (f64::INFINITY, 7.0) };
        let aim = Aim::of(self, targets, target);
        cells.visit_around(&spot, gain, phase + 1e-9, |state, _| {
            let squared = aim.squared_error(self.transmission[state as usize]);
            if squared <= limit {
                into.push((state, squared));
            }
        });
    }
}

/// A target at one frequency.
struct Aim {
    /// Where its state should be, times the reference.
    place: Complex64,
    /// What makes a squared distance from there one relative to the target.
    scale: f64,
}

impl Aim {
    fn of(at: &AtFrequency, targets: &PreparedTargets, target: usize) -> Self {
        let prepared = &targets.prepared[target];
        let scale = prepared.inverse_magnitude * prepared.inverse_magnitude / at.reference.norm_sqr();
        Self { place: prepared.gain * at.reference, scale }
    }

    fn squared_error(&self, transmission: Complex64) -> f64 {
        let squared = (transmission - self.place).norm_sqr() * self.scale;
        if squared.is_nan() { f64::INFINITY } else { squared }
    }
}

/// Per target, the squared errors of proposed tables and of the nearest states, joined over some frequencies.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Bounds {
    /// Which error counts.
    pub error: BandError,
    /// How many frequencies are joined.
    pub frequencies: usize,
    /// Per proposal and target.
    pub proposed: Vec<Vec<f64>>,
    /// Per target, the errors of the states that are nearest at each frequency: those of a table per frequency.
    pub nearest: Vec<f64>,
    /// The largest squared error of any nearest state at any frequency, whichever error counts.
    pub farthest: f64,
}

impl Bounds {
    /// Over a worker's frequencies. `proposals[p][t]` is the position of the state that proposal `p` serves target `t` with.
    /// `None` where there are no states.
    pub fn of(
        error: BandError,
        targets: &PreparedTargets,
        words: &[Word],
        share: &[AtFrequency],
        proposals: &[Vec<u32>],
    ) -> Option<Self> {
        let mut bounds = Self {
            error,
            frequencies: share.len(),
            proposed: vec![vec![0.0; targets.len()]; proposals.len()],
            nearest: vec![0.0; targets.len()],
            farthest: 0.0,
        };
        for at in share {
            let cells = Cells::new(at.transmission, words);
            let reference = Spot::of(at.reference);
            let mut beside = None;
            for (target, nearest) in bounds.nearest.iter_mut().enumerate() {
                let spot = Spot::under(&targets.prepared[target], &reference);
                let state = cells.nearest(&spot, None, beside)?;
                beside = Some(state);
                let squared = at.squared_error(targets, target, state as usize);
                bounds.farthest = bounds.farthest.max(squared);
                *nearest = error.join(*nearest, squared);
            }
            for (proposal, squared) in proposals.iter().zip(&mut bounds.proposed) {
                for (target, (&state, squared)) in proposal.iter().zip(squared).enumerate() {
                    *squared = error.join(*squared, at.squared_error(targets, target, state as usize));
                }
            }
        }
        Some(bounds)
    }

    /// The bounds over the frequencies of both.
    #[must_use]
    pub fn and(&self, other: &Self) -> Self {
        let join = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(&a, &b)| self.error.join(a, b)).collect();
        Self {
            error: self.error,
            frequencies: self.frequencies + other.frequencies,
            proposed: self.proposed.iter().zip(&other.proposed).map(|(a, b)| join(a, b)).collect(),
            nearest: join(&self.nearest, &other.nearest),
            farthest: self.farthest.max(other.farthest),
        }
    }

    /// Up to which squared error over its own frequencies a worker lists states, per target; `self` are the bounds over the
    /// band and `own` those over the worker's frequencies.
    pub fn limits(&self, own: &Self) -> Vec<f64> {
        let limit = |target: usize| {
            let upper = self.proposed.iter().map(|squared| squared[target]).fold(f64::INFINITY, f64::min);
            let elsewhere = match self.error {
                BandError::Worst => 0.0,
                BandError::Rms => self.nearest[target] - own.nearest[target],
            };
            // Wider than a tie and than what sums are rounded by.
            upper * (1.0 + 1e-9) - elsewhere * (1.0 - 1e-9)
        };
        (0..self.nearest.len()).map(limit).collect()
    }
}

/// Per target, the states that may be best over the band, ascending, with their squared errors joined over a worker's
/// frequencies.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Candidates {
    /// Which error counts.
    pub error: BandError,
    /// Position of the state and its squared error.
    pub states: Vec<Vec<(u32, f64)>>,
}

impl Candidates {
    /// Over a worker's frequencies, within the limits of [`Bounds::limits`].
    pub fn of(
        error: BandError,
        targets: &PreparedTargets,
        words: &[Word],
        share: &[AtFrequency],
        limits: &[f64],
    ) -> Self {
        let mut candidates = Self::new(error, targets.len());
        if let Some(first) = share.first() {
            candidates.begin(targets, words, first, limits, 0..targets.len());
        }
        candidates.narrow(targets, &from_both_ends(share), limits);
        candidates
    }

    /// Before any frequency.
    pub fn new(error: BandError, targets: usize) -> Self {
        Self { error, states: vec![Vec::new(); targets] }
    }

    /// Lists for some targets the states that are within reach at one of the worker's frequencies: no state that is out of
    /// reach at one is in reach over several. Has to be done once for every target, best
    /// where the fewest are.
    pub fn begin(
        &mut self,
        targets: &PreparedTargets,
        words: &[Word],
        at: &AtFrequency,
        limits: &[f64],
        some: impl Iterator<Item = usize>,
    ) {
        let mut cells = None;
        for target in some {
            let cells = cells.get_or_insert_with(|| Cells::new(at.transmission, words));
            let candidates = &mut self.states[target];
            at.within(cells, targets, target, limits[target], candidates);
            // Narrowing takes this frequency with the others.
            for (_, squared) in candidates.iter_mut() {
                *squared = 0.0;
            }
            candidates.sort_unstable_by_key(|(state, _)| *state);
        }
    }

    /// Keeps what stays within the limits over more of the worker's frequencies. Each has to be taken once; the order changes
    /// no more than how soon states drop out. The limits may leave room for what is still to come ([`Floors`](super::Floors)).
    pub fn narrow(&mut self, targets: &PreparedTargets, more: &[AtFrequency], limits: &[f64]) {
        // Target by target, so that the many states that one frequency lists do not wait in memory for the next.
        for (target, (candidates, &limit)) in self.states.iter_mut().zip(limits).enumerate() {
            let aims: Vec<(Aim, &[Complex64])> =
                more.iter().map(|at| (Aim::of(at, targets, target), at.transmission)).collect();
            candidates.retain_mut(|(state, squared)| {
                for (aim, transmission) in &aims {
                    *squared = self.error.join(*squared, aim.squared_error(transmission[*state as usize]));
                    if *squared > limit {
                        return false;
                    }
                }
                true
            });
            candidates.shrink_to_fit();
        }
    }

    /// The states that both list, with their errors over the frequencies of both.
    #[must_use]
    pub fn and(&self, other: &Self) -> Self {
        let both = |(target, own): (usize, &Vec<(u32, f64)>)| {
            let others = &other.states[target];
            let joined = |&(state, squared): &(u32, f64)| {
                let at = others.binary_search_by_key(&state, |(state, _)| *state).ok()?;
                Some((state, self.error.join(squared, others[at].1)))
            };
            own.iter().filter_map(joined).collect()
        };
        Self { error: self.error, states: self.states.iter().enumerate().map(both).collect() }
    }
}

/// The first, the last, the second, the last but one and so on: words fail at the ends first.
pub fn from_both_ends<T: Copy>(all: &[T]) -> Vec<T> {
    let at = |turn: usize| if turn.is_multiple_of(2) { turn / 2 } else { all.len() - 1 - turn / 2 };
    (0..all.len()).map(|turn| all[at(turn)]).collect()
}

/// One table for a band.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct BandTable {
    /// Position of the state that serves each target.
    pub states: Vec<u32>,
    /// Its relative vector error over the band, linear.
    pub errors: Vec<f64>,
    /// What a table per frequency has instead: the same error of the states nearest at each frequency.
    pub per_frequency: Vec<f64>,
}

impl BandTable {
    /// What one table costs over all targets: its error and that of a table per frequency, the largest or the root mean
    /// square by what the table was made for. `None` without targets.
    pub fn penalty(&self, error: BandError) -> Option<(f64, f64)> {
        let over_targets = |errors: &[f64]| error.over(errors.iter().map(|error| error * error));
        over_targets(&self.errors).zip(over_targets(&self.per_frequency))
    }
}

/// The table, from the bounds and the candidates of the whole band. Of words whose squared errors agree to 1e-12 of the larger
/// the one that changes fewer bits from the nominal word, then the lower. `None` where a target has no candidate, which
/// is where there are no states or no proposals.
pub fn band_table(
    targets: &PreparedTargets,
    words: &[Word],
    bounds: &Bounds,
    candidates: &Candidates,
) -> Option<BandTable> {
    let best = |(candidates, target): (&Vec<(u32, f64)>, &crate::control::Target)| {
        best_of(candidates, words, target.nominal_word)
    };
    let best: Vec<(u32, f64)> =
        candidates.states.iter().zip(&targets.targets).map(best).collect::<Option<_>>()?;
    let error = |squared: f64| bounds.error.error(squared, bounds.frequencies);
    Some(BandTable {
        states: best.iter().map(|(state, _)| *state).collect(),
        errors: best.iter().map(|(_, squared)| error(*squared)).collect(),
        per_frequency: bounds.nearest.iter().map(|&squared| error(squared)).collect(),
    })
}

/// The smallest, ties as the mapping settles them.
pub(super) fn best_of(
    candidates: &[(u32, f64)],
    words: &[Word],
    nominal_word: Option<Word>,
) -> Option<(u32, f64)> {
    let smallest = candidates.iter().map(|(_, squared)| *squared).min_by(f64::total_cmp)?;
    let tied = candidates.iter().filter(|(_, squared)| *squared <= smallest / (1.0 - TIE));
    let rank = |(state, _): &&(u32, f64)| {
        let word = words[*state as usize];
        (nominal_word.map_or(0, |nominal| bits_changed(nominal, word)), word)
    };
    tied.min_by_key(rank).copied()
}
