//! One turn and scale for a band: the complex κ for which the ring median's reference at each frequency, divided by κ, makes
//! the band's RMS relative vector error of the nearest states smallest.
//!
//! The search is that of one frequency (`best_fit`), with sums over all frequencies. Where these are many, the starts are
//! compared on a share of all targets, another one at each frequency, and the best two go on with all.

use super::best_fit::{Fit, Sample, Walk, by_rank};
use super::cells::Cells;
use super::descent::{Descent, FitSums};
use crate::plane::PreparedTargets;
use num_complex::Complex64;

/// About so many targets, over all frequencies, decide which starts are worth following.
const ENOUGH: f64 = 16_384.0;

/// So many go on from there.
const KEEP: usize = 2;

/// The ways end where a step promises less than this part of the squared error: first, and at last.
const FINE: (f64, f64) = (1e-3, 1e-10);

/// The search for a band's turn and scale, to be carried on by whoever holds the frequencies: what [`Self::asks`] wants is
/// answered by [`fit_sums`] at each frequency, the answers are added up with [`FitSums::and`] and handed to [`Self::take`],
/// until nothing is asked.
#[derive(Clone, Debug)]
pub struct BandFit {
    descents: Vec<Descent>,
    sample: Sample,
}

impl BandFit {
    /// Begins from [`starts`](super::starts); `zero_word` there is the ratio at the band's centre, since it differs from
    /// frequency to frequency.
    pub fn new(starts: &[Complex64], targets: usize, frequencies: usize) -> Self {
        let share = (ENOUGH / (targets as f64 * frequencies as f64)).min(1.0);
        let fine = if share < 1.0 { FINE.0 } else { FINE.1 };
        let descents = starts.iter().map(|&start| Descent::new(start, fine)).collect();
        Self { descents, sample: Sample { share, offset: 0.0 } }
    }

    /// The references to be tried, as ratios to the ring median's, and on which targets; `None` when the search is over.
    pub fn asks(&self) -> Option<(Vec<Complex64>, Sample)> {
        let ratios: Vec<Complex64> = self.descents.iter().filter_map(Descent::asks).collect();
        (!ratios.is_empty()).then_some((ratios, self.sample))
    }

    /// Takes what was found under each reference that was asked for, over all targets asked for and all frequencies.
    pub fn take(&mut self, sums: &[FitSums]) {
        let asked = self.descents.iter_mut().filter(|descent| descent.asks().is_some());
        for (descent, sums) in asked.zip(sums) {
            descent.take(sums);
        }
        if self.sample.share >= 1.0 {
            return;
        }
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
        if self.asks().is_none() {
            let best = by_rank(points.into_iter().flatten().collect());
            let mut kept: Vec<Complex64> = Vec::new();
            for end in best {
                if kept.iter().all(|kept| (kept - end.ratio).norm() > 1e-3 * kept.norm()) && kept.len() < KEEP
                {
                    kept.push(end.ratio);
                }
            }
            self.descents = kept.into_iter().map(|start| Descent::new(start, FINE.1)).collect();
            self.sample = Sample::ALL;
        }
    }

    /// What the search has found; the band's κ is the inverse of its ratio. `None` before it is over, or where there was
    /// nothing to fit.
    pub fn fit(&self) -> Option<Fit> {
        let over = self.asks().is_none() && self.sample.share >= 1.0;
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
    (ratios, sample): &(Vec<Complex64>, Sample),
) -> Option<Vec<FitSums>> {
    if !(ring_median.is_finite() && ring_median.norm() > 0.0) {
        return None;
    }
    // Multiples of an irrational number: no two frequencies look at the same targets.
    let offset = (frequency as f64 * std::f64::consts::SQRT_2).fract();
    let mut walk = Walk::new(targets, cells, ring_median, Sample { share: sample.share, offset });
    ratios.iter().map(|&ratio| walk.at(ratio)).collect()
}
