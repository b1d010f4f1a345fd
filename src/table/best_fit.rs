//! The reference that serves a frequency best: the complex number R that makes the RMS relative vector error of the
//! nearest states smallest.
//!
//! The error has many minima. With the states fixed the best R is known, with R fixed the nearest states are best, and taking
//! turns leads to a minimum near the start; so it is done from many starts, and the smallest error wins. R keeps within 6 dB
//! of the ring median's.
//!
//! What makes it cheap: a target is looked at again only when R has moved so far that another state may have become its
//! nearest. The place of target z among the undivided states is R·z, so while R moves by m, its distance to the nearest state
//! grows by at most m·|z| and that to any other shrinks by at most as much. This changes no answer.
//!
//! From 800 targets on, where the turns creep through a thousand minima that hardly differ, the search is shortened: the ways
//! down take longer steps (`descent`), of ways that meet one goes on, and few targets, spread evenly over gain and phase,
//! decide which ways are worth following: one in 32 tells the eight best starts and the six best ends of the ways from them,
//! one in 12 where these lead, and the two best of those are followed on all targets, the better one turn by turn until no
//! target changes its state. The answer is a minimum by the same rule, though not always the lowest that the whole search
//! would meet. Its error was above that of the whole search by at most 0.02 % of itself on twelve seeded planes of 1,024 and
//! 4,096 states (`tests/best_fit.rs`), and on the mean of 45 frequencies of the part that the speeds are measured with, whose
//! minima crowd more, by 0.13 %, with the neighbours' ratios ([`better_fit`]) by 0.10 %.

use super::cells::{self, Around, Cells};
use super::descent::{Descent, FitSums, Point, within_limits};
use super::spot::Spot;
use crate::control::{ControlModel, Quantity};
use crate::plane::PreparedTargets;
use num_complex::Complex64;
use serde::{Deserialize, Serialize};
use std::f64::consts::LN_10;
use std::iter;
use std::ops::RangeInclusive;

/// Errors agree within this part of the larger: turning by whole phase steps gives nearly equal minima.
const AGREE: f64 = 1e-9;

/// Below this an error is nothing but rounding, and errors agree.
const ROUNDING: f64 = 1e-12;

/// Which share of the targets tells the best starts, and the best ends of the ways from them.
const FIRST_SHARE: f64 = 1.0 / 32.0;

/// Starts that differ by no more than this part of themselves are one.
const SAME: f64 = 1e-6;

/// So many of the starts are followed.
const FOLLOWED: usize = 8;

/// So many of the ends go on from there.
const KEPT: usize = 6;

/// Which share of the targets tells where those lead.
const LAST_SHARE: f64 = 1.0 / 12.0;

/// So many of the last ends are followed on all targets.
const LAST_KEPT: usize = 2;

/// A selection is made of no fewer targets than this.
const FEWEST: f64 = 100.0;

/// From so many targets on the search is shortened.
const MANY: usize = 800;

/// The ways end where a step promises less than this part of the squared error; what is left is for the last turns.
const FINE: f64 = 3e-3;

/// More turns than the last ones are; only a mapping that flips between tied states could go on.
const MOST_TURNS: usize = 500;

/// A reference that was fitted.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Fit {
    /// R over `R_ring`: the reference divided by the ring median's.
    pub ratio: Complex64,
    /// The RMS relative vector error of the nearest states under it, linear.
    pub rms_vector_error: f64,
}

impl Fit {
    /// Of several fits the one of the smallest error; of those whose errors agree with it to a relative 1e-9, the one whose
    /// reference is nearest the ring median's, in the magnitude of the logarithm of their ratio. `None` of none.
    pub fn best(fits: &[Self]) -> Option<Self> {
        let smallest = fits.iter().map(|fit| fit.rms_vector_error).min_by(f64::total_cmp)?;
        let agrees = |fit: &&Self| fit.rms_vector_error - smallest <= AGREE * fit.rms_vector_error + ROUNDING;
        let away = |fit: &Self| fit.ratio.ln().norm();
        fits.iter().filter(agrees).min_by(|a, b| away(a).total_cmp(&away(b))).copied()
    }
}

/// Where the search begins, as the ratio to the ring median's reference: that moved by {−2, −1, −½, 0, ½, 1, 2} of the finest
/// gain steps and by {0, ¼, ½, ¾} of the finest phase step, and before them `fixed`: the references of other policies.
///
/// A quantity that nothing sets is moved by {−½, −¼, 0, ¼, ½} of a step of the other in nepers or radians. Of few codes the
/// minima are far apart, and such starts miss some that looking everywhere finds (`tests/best_fit.rs`): a part of up to six
/// bits that sets one quantity is begun at every quarter of a step, four steps of gain to either side and one of phase, and one
/// that sets both at every quarter step of gain and every eighth of phase.
///
/// Neighbouring starts follow each other, which saves time and changes no answer.
pub fn starts(model: &ControlModel, fixed: &[Complex64]) -> Vec<Complex64> {
    let gain_step = model.finest_step(Quantity::Gain);
    let phase_step = model.finest_step(Quantity::Phase);
    let is_of_few_codes = matches!(model, ControlModel::Bits(layout) if layout.bits() <= 6);
    let usual_gains = vec![-2.0, -1.0, -0.5, 0.0, 0.5, 1.0, 2.0];
    let (gains, phases) = match (gain_step, phase_step, is_of_few_codes) {
        (None, None, _) => (vec![0.0], vec![0.0]),
        (Some(_), Some(_), false) => (usual_gains, evenly(0..=3, 4.0)),
        (Some(_), Some(_), true) => (evenly(-8..=8, 4.0), evenly(0..=7, 8.0)),
        (_, _, false) => (usual_gains, evenly(-2..=2, 4.0)),
        (_, _, true) => (evenly(-16..=16, 4.0), evenly(-4..=4, 4.0)),
    };
    // A neper is 20/ln 10 decibels.
    let db_a_radian = 20.0 / LN_10;
    let gain_step_db = gain_step.or(phase_step.map(|step| step.to_radians() * db_a_radian)).unwrap_or(0.0);
    let phase_step_deg =
        phase_step.or(gain_step.map(|step| (step / db_a_radian).to_degrees())).unwrap_or(0.0);
    let mut starts: Vec<Complex64> = fixed.iter().copied().filter(|ratio| ratio.is_finite()).collect();
    for (phase, back) in phases.into_iter().zip([false, true].into_iter().cycle()) {
        let turn = (phase * phase_step_deg).to_radians();
        let at = |gain: &f64| Complex64::from_polar(10_f64.powf(gain * gain_step_db / 20.0), turn);
        let mut row: Vec<Complex64> = gains.iter().map(at).collect();
        if back {
            row.reverse();
        }
        starts.append(&mut row);
    }
    starts
}

/// Whole numbers divided by another.
fn evenly(numbers: RangeInclusive<i32>, by: f64) -> Vec<f64> {
    numbers.map(|number| f64::from(number) / by).collect()
}

/// The best of the minima that the starts lead to, at one frequency. `ring_median` is the ring median's reference there;
/// `starts` are ratios to it: those of [`starts`], or the ratios found at the neighbouring frequencies. `None` where there
/// are no targets, no states or no starts, or the ring median's reference is no number to divide by.
///
/// So that the answer does not depend on how the grid is cut among workers, give every frequency the ratios that its
/// neighbours found from [`starts`] alone, not what they found from their own neighbours, and take [`Fit::best`] of both.
pub fn best_fit(
    targets: &PreparedTargets,
    cells: &Cells,
    ring_median: Complex64,
    starts: &[Complex64],
) -> Option<Fit> {
    if !(ring_median.is_finite() && ring_median.norm() > 0.0) {
        return None;
    }
    let ratios: Vec<Complex64> = starts.iter().copied().map(within_limits).collect();
    if targets.len() < MANY {
        let mut walk = Walk::new(targets, cells, ring_median, Sample::ALL);
        let fits: Vec<Fit> = ratios.into_iter().filter_map(|start| settle(&mut walk, start)).collect();
        return Fit::best(&fits);
    }
    let few = |share: f64| {
        let sample = Sample { share: share.max(FEWEST / targets.len() as f64), offset: 0.0 };
        Walk::new(targets, cells, ring_median, sample)
    };
    let mut walk = few(FIRST_SHARE);
    let followed = first(FOLLOWED, &ranked(&mut walk, &ratios));
    let kept = first(KEPT, &ends(&mut walk, &followed));
    let last = first(LAST_KEPT, &ends(&mut few(LAST_SHARE), &kept));
    follow(targets, cells, ring_median, &last)
}

/// The best of the minima that `starts` lead to, where the one at the ratio `known` was found at this frequency before.
/// `None` also where no way leads lower than that one: of at least 800 targets one in 12 decides it, and ways that meet the one
/// down to it go no further.
pub fn better_fit(
    targets: &PreparedTargets,
    cells: &Cells,
    ring_median: Complex64,
    known: Complex64,
    starts: &[Complex64],
) -> Option<Fit> {
    if targets.len() < MANY {
        return best_fit(targets, cells, ring_median, starts);
    }
    if !(ring_median.is_finite() && ring_median.norm() > 0.0) {
        return None;
    }
    let ratios: Vec<Complex64> = iter::once(known).chain(starts.iter().copied()).map(within_limits).collect();
    let mut walk = Walk::new(targets, cells, ring_median, Sample { share: LAST_SHARE, offset: 0.0 });
    let mut ends = ways(&mut walk, &ratios).into_iter();
    let known = ends.next()??;
    let lower: Vec<Complex64> =
        ends.flatten().filter(|end| end.squared < known.squared).map(|end| end.ratio).collect();
    follow(targets, cells, ring_median, &lower)
}

/// The best of the minima of all targets that the ways from here lead to.
fn follow(
    targets: &PreparedTargets,
    cells: &Cells,
    ring_median: Complex64,
    ratios: &[Complex64],
) -> Option<Fit> {
    if ratios.is_empty() {
        return None;
    }
    let mut walk = Walk::new(targets, cells, ring_median, Sample::ALL);
    let ends = ends(&mut walk, ratios);
    // Of ends that agree none may be dropped: which of them is nearest to the ring median's is told after the last turns.
    let smallest = ends.first()?.squared;
    let close = ends.iter().filter(|end| end.squared <= smallest + FINE * FINE * smallest.abs() + 1e-14);
    let fits: Vec<Fit> = close.filter_map(|end| settle(&mut walk, end.ratio)).collect();
    Fit::best(&fits)
}

/// These starts with their errors, the best first, each place once: the references of two policies are often one.
fn ranked(walk: &mut Walk, starts: &[Complex64]) -> Vec<Point> {
    let points = starts.iter().filter_map(|&start| Some(Point::under(start, &walk.at(start)?)));
    let mut ranked: Vec<Point> = Vec::new();
    for point in by_rank(points.collect()) {
        let differs = |other: &Point| (other.ratio - point.ratio).norm() > SAME * point.ratio.norm();
        if ranked.iter().all(differs) {
            ranked.push(point);
        }
    }
    ranked
}

/// The first so many of these.
fn first(count: usize, points: &[Point]) -> Vec<Complex64> {
    points.iter().take(count).map(|point| point.ratio).collect()
}

/// Where the ways from these starts end, the best first, each place once.
fn ends(walk: &mut Walk, starts: &[Complex64]) -> Vec<Point> {
    by_rank(ways(walk, starts).into_iter().flatten().collect())
}

/// Where the way from each of these starts ends; `None` of one that met another, or leads nowhere.
fn ways(walk: &mut Walk, starts: &[Complex64]) -> Vec<Option<Point>> {
    let mut passed: Vec<Point> = Vec::new();
    let mut way = |&start: &Complex64| {
        let mut descent = Descent::new(start, FINE);
        let own = passed.len();
        let mut merged = false;
        while let Some(ratio) = descent.asks().filter(|_| !merged)
            && let Some(sums) = walk.at(ratio)
        {
            descent.take(&sums);
            if let Some(at) = descent.at() {
                merged = passed[..own].iter().any(|other| at.yields_to(other));
                passed.push(at);
            }
        }
        descent.at().filter(|_| !merged)
    };
    starts.iter().map(&mut way).collect()
}

/// The smallest error first; of those that agree, the nearest to the ring median's reference.
pub(super) fn by_rank(mut ends: Vec<Point>) -> Vec<Point> {
    let smallest = ends.iter().map(|end| end.squared).fold(f64::INFINITY, f64::min);
    let rank = |end: &Point| {
        let agrees = end.squared - smallest <= 2.0 * AGREE * end.squared.abs() + 1e-14;
        if agrees { (smallest, end.ratio.ln().norm()) } else { (end.squared, 0.0) }
    };
    ends.sort_by(|a, b| {
        let (a, b) = (rank(a), rank(b));
        a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1))
    });
    ends
}

/// Takes turns until no target changes its state.
fn settle(walk: &mut Walk, start: Complex64) -> Option<Fit> {
    let mut ratio = start;
    let mut sums = walk.at(ratio)?;
    for _ in 0..MOST_TURNS {
        let Some(next) = sums.best().filter(|next| (next - ratio).norm() > 1e-15 * ratio.norm()) else {
            break;
        };
        ratio = next;
        sums = walk.at(ratio)?;
        if walk.changed == 0 {
            break;
        }
    }
    Some(Fit { ratio, rms_vector_error: walk.rms_vector_error() })
}

/// Which targets are looked at: a share of them, spread evenly.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Sample {
    /// The share, up to 1.
    pub share: f64,
    /// Another offset is another selection.
    pub offset: f64,
}

impl Sample {
    /// All targets.
    pub const ALL: Self = Self { share: 1.0, offset: 0.0 };

    /// Multiples of the golden ratio, less their whole turns, are spread evenly however the targets are listed in rows.
    fn holds(self, index: usize) -> bool {
        (index as f64 * 0.618_033_988_749_894_9 + self.offset).fract() < self.share
    }
}

/// The nearest state of every target while the reference moves.
pub(super) struct Walk<'a> {
    targets: &'a PreparedTargets,
    cells: &'a Cells<'a>,
    ring_median: Complex64,
    /// Indices of the targets that are looked at.
    picked: Vec<usize>,
    states: Vec<u32>,
    looks: Vec<Look>,
    reference: Complex64,
    /// Of the undivided states.
    sums: FitSums,
    /// How many targets have another state than before the last move.
    changed: usize,
}

/// How a target was looked at last.
#[derive(Clone, Copy, Debug)]
struct Look {
    /// Under which reference.
    reference: Complex64,
    /// Squared distance of the reference up to which the state stays the nearest; negative before the first look.
    safe: f64,
    /// What is searched first, and under which reference it lay around the target.
    around: Around,
    around_under: Complex64,
}

impl<'a> Walk<'a> {
    pub(super) fn new(
        targets: &'a PreparedTargets,
        cells: &'a Cells<'a>,
        ring_median: Complex64,
        sample: Sample,
    ) -> Self {
        let never = Look {
            reference: Complex64::ZERO,
            safe: -1.0,
            around: Around::NOBODY,
            around_under: Complex64::ZERO,
        };
        let picked: Vec<usize> = (0..targets.len()).filter(|&index| sample.holds(index)).collect();
        Self {
            targets,
            cells,
            ring_median,
            states: vec![0; picked.len()],
            looks: vec![never; picked.len()],
            picked,
            reference: Complex64::ONE,
            sums: FitSums::default(),
            changed: 0,
        }
    }

    /// The sums of the nearest states under the reference `ratio` times the ring median's. `None` where there are no states
    /// or no targets.
    pub(super) fn at(&mut self, ratio: Complex64) -> Option<FitSums> {
        let first = self.sums.targets == 0;
        self.move_to(ratio * self.ring_median)?;
        if first {
            self.sum_up();
        }
        let sums = self.sums;
        Some(FitSums {
            power: sums.power / self.ring_median.norm_sqr(),
            cross: sums.cross / self.ring_median.conj(),
            ..sums
        })
    }

    fn sum_up(&mut self) {
        self.sums = FitSums { targets: self.picked.len(), ..FitSums::default() };
        for (&index, &state) in self.picked.iter().zip(&self.states) {
            let target = &self.targets.prepared[index];
            self.sums.add(1.0, target.inverse_magnitude, target.gain, self.cells.states()[state as usize]);
        }
    }

    fn move_to(&mut self, reference: Complex64) -> Option<()> {
        self.reference = reference;
        self.changed = 0;
        let (spot_of_reference, states) = (Spot::of(reference), self.cells.states());
        let mut before = None;
        for ((&index, look), state) in self.picked.iter().zip(&mut self.looks).zip(&mut self.states) {
            if (reference - look.reference).norm_sqr() <= look.safe {
                continue;
            }
            let target = &self.targets.prepared[index];
            let value = target.gain * reference;
            let moved = (reference - look.around_under).norm_sqr().sqrt() / target.inverse_magnitude;
            let near = if let Some(near) = self.cells.near_in(&look.around, moved, value) {
                near
            } else {
                let nominal_word = self.targets.targets[index].nominal_word;
                let beside = if look.safe >= 0.0 { Some(*state) } else { before };
                let spot = Spot::under(target, &spot_of_reference);
                let (near, around) = self.cells.near_and_around(&spot, nominal_word, beside)?;
                (look.around, look.around_under) = (around, reference);
                near
            };
            before = Some(near.state);
            // Less by more than the lengths are rounded, and the places that they are taken between.
            let slack = 0.5 * (near.others - near.distance) * target.inverse_magnitude * (1.0 - 1e-9);
            let slack = (slack - cells::ROUNDING * spot_of_reference.magnitude).max(0.0);
            (look.reference, look.safe) = (reference, slack * slack);
            if *state != near.state {
                self.changed += 1;
                self.sums.add(-1.0, target.inverse_magnitude, target.gain, states[*state as usize]);
                self.sums.add(1.0, target.inverse_magnitude, target.gain, states[near.state as usize]);
                *state = near.state;
            }
        }
        (!self.picked.is_empty()).then_some(())
    }

    /// Of the present mapping under the present reference; from the differences themselves, since those of the sums lose
    /// all places where the error is small.
    fn rms_vector_error(&self) -> f64 {
        (self.squared_vector_errors() / self.picked.len() as f64).sqrt()
    }

    /// Sum over targets of the squared relative vector error.
    pub(super) fn squared_vector_errors(&self) -> f64 {
        let states = self.cells.states();
        let squared = |(&index, &state): (&usize, &u32)| {
            let target = &self.targets.prepared[index];
            let off = states[state as usize] - target.gain * self.reference;
            off.norm_sqr() * target.inverse_magnitude * target.inverse_magnitude
        };
        let sum: f64 = self.picked.iter().zip(&self.states).map(squared).sum();
        sum / self.reference.norm_sqr()
    }
}
