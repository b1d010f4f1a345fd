//! One turn and scale for a band: the complex κ for which the ring median's reference at each frequency, divided by κ, makes
//! the band's RMS relative vector error of the nearest states smallest.
//!
//! The search is that of one frequency (`best_fit`), with sums over all frequencies. Where these are many it goes from coarse to
//! fine: the starts are compared on a share of all targets at a few frequencies, the best two go on with all targets at more of
//! them, and the better one with all targets at all frequencies, until a step promises next to nothing.

use super::best_fit::{Fit, Sample, Walk, by_rank};
use super::cells::Cells;
use super::descent::{Descent, FitSums};
use crate::plane::PreparedTargets;
use num_complex::Complex64;
use serde::{Deserialize, Serialize};

/// About so many targets, over all frequencies, decide which starts are worth following.
const ENOUGH: f64 = 16_384.0;

/// Frequencies that the starts are compared at, and those that the best of them go on with.
const FEW: (usize, usize) = (16, 32);

/// The best so many of the starts go on.
const KEEP: usize = 2;

/// References to try, as ratios to the ring median's, and on what.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Trials {
    /// The ratios.
    pub ratios: Vec<Complex64>,
    /// The targets.
    pub sample: Sample,
    /// One in so many of the band's frequencies.
    one_in: usize,
}

impl Trials {
    /// Whether the frequency at a place of the band, counted from 0, is among those.
    pub fn are_at(&self, place: usize) -> bool {
        // In the middle of each so many, so that neither end of the band is preferred.
        place % self.one_in == (self.one_in - 1) / 2
    }
}

/// How a part of the search is made.
#[derive(Clone, Copy, Debug)]
struct Pass {
    share: f64,
    one_in: usize,
    /// The ways end where a step promises less than this part of the squared error.
    fine: f64,
    /// The best so many ends go on to the next pass.
    keep: usize,
}

/// The search for a band's turn and scale, to be carried on by whoever holds the frequencies: what [`Self::asks`] wants is
/// answered by [`fit_sums`] at each frequency that it wants it of, the answers are added up with [`FitSums::and`] and handed
/// to [`Self::take`], until nothing is asked.
#[derive(Clone, Debug)]
pub struct BandFit {
    descents: Vec<Descent>,
    /// The present pass, and those to come.
    passes: Vec<Pass>,
}

impl BandFit {
    /// Begins from [`starts`](super::starts); `zero_word` there is the ratio at the band's centre, since it differs from
    /// frequency to frequency.
    pub fn new(starts: &[Complex64], targets: usize, frequencies: usize) -> Self {
        let few = |most: usize| frequencies.div_ceil(most).max(1);
        // Over so many middles of a stride there is at least one frequency, however few there are.
        let share = |one_in: usize| ENOUGH / (targets as f64 * (frequencies as f64 / one_in as f64));
        let (coarse, finer) = (few(FEW.0), few(FEW.1));
        let passes = if coarse == 1 && share(1) >= 1.0 {
            vec![Pass { share: 1.0, one_in: 1, fine: 1e-10, keep: 1 }]
        } else {
            let first = Pass { share: share(coarse).min(1.0), one_in: coarse, fine: 1e-3, keep: KEEP };
            let second = Pass { share: 1.0, one_in: finer, fine: 1e-5, keep: 1 };
            let last = (finer > 1).then_some(Pass { one_in: 1, ..second });
            [Some(first), Some(second), last].into_iter().flatten().collect()
        };
        let descents = starts.iter().map(|&start| Descent::new(start, passes[0].fine)).collect();
        Self { descents, passes }
    }

    /// The references to be tried, and on what; `None` when the search is over.
    pub fn asks(&self) -> Option<Trials> {
        let ratios: Vec<Complex64> = self.descents.iter().filter_map(Descent::asks).collect();
        let pass = self.passes.first().filter(|_| !ratios.is_empty())?;
        Some(Trials { ratios, sample: Sample { share: pass.share, offset: 0.0 }, one_in: pass.one_in })
    }

    /// Takes what was found under each reference that was asked for, over all targets and frequencies asked for.
    pub fn take(&mut self, sums: &[FitSums]) {
        let asked = self.descents.iter_mut().filter(|descent| descent.asks().is_some());
        for (descent, sums) in asked.zip(sums) {
            descent.take(sums);
        }
        if self.passes.len() < 2 {
            return;
        }
        self.merge();
        if self.asks().is_none() {
            self.go_on();
        }
    }

    /// Stops the ways that another makes needless.
    fn merge(&mut self) {
        let points: Vec<_> = self.descents.iter().map(Descent::at).collect();
        for (index, descent) in self.descents.iter_mut().enumerate() {
            let others = points.iter().enumerate().filter(|(other, _)| *other != index);
            let lower = |(other, point): (usize, &Option<_>)| match (points[index], point) {
                // Of two at one place the first goes on.
                (Some(at), Some(point)) => at.yields_to(point) && !(point.yields_to(&at) && index < other),
                _ => false,
            };
            if { others }.any(lower) {
                descent.stop();
            }
        }
    }

    /// Begins the next pass from the best ends of this one.
    fn go_on(&mut self) {
        let done = self.passes.remove(0);
        let mut kept: Vec<Complex64> = Vec::new();
        for end in by_rank(self.descents.iter().filter_map(Descent::at).collect()) {
            let is_new = kept.iter().all(|kept| (kept - end.ratio).norm() > 1e-3 * kept.norm());
            if is_new && kept.len() < done.keep {
                kept.push(end.ratio);
            }
        }
        let fine = self.passes.first().map_or(done.fine, |pass| pass.fine);
        self.descents = kept.into_iter().map(|start| Descent::new(start, fine)).collect();
    }

    /// What the search has found; the band's κ is the inverse of its ratio. `None` before it is over, or where there was
    /// nothing to fit.
    pub fn fit(&self) -> Option<Fit> {
        let over = self.asks().is_none() && self.passes.len() == 1;
        let best = *by_rank(self.descents.iter().filter_map(Descent::at).collect()).first()?;
        over.then(|| Fit { ratio: best.ratio, rms_vector_error: best.squared.max(0.0).sqrt() })
    }
}

/// Sums over the nearest states at the frequency of index `frequency`, under each of some references given as ratios to the ring median's.
/// `None` where there is nothing to sum up, or the ring median's reference is no number to divide by.
pub fn fit_sums(
    targets: &PreparedTargets,
    cells: &Cells,
    ring_median: Complex64,
    frequency: usize,
    trials: &Trials,
) -> Option<Vec<FitSums>> {
    if !(ring_median.is_finite() && ring_median.norm() > 0.0) {
        return None;
    }
    // Multiples of an irrational number: no two frequencies look at the same targets.
    let offset = (frequency as f64 * std::f64::consts::SQRT_2).fract();
    let mut walk = Walk::new(targets, cells, ring_median, Sample { share: trials.sample.share, offset });
    trials.ratios.iter().map(|&ratio| walk.at(ratio)).collect()
}
