//! Which starts are worth a search: the fitted error of every start of the grid at once, nearly.
//!
//! A scale a turns and stretches a constellation, which in the plane of log-magnitude and angle only moves it. So the
//! sums over its points, taken at all starts, are a correlation of that plane with the constellation, and along the
//! angle that is a product of Fourier transforms. The plane is sampled once for all orders: at each node z the nearest
//! state r has the relative error ε = r/z − 1, and with B = Σ|x|²(1 + ε*) and A = Σ|x|²|1 + ε|² the error after the best
//! scale for the start's own mapping follows as in [`best_scale`](super::fit::best_scale). Between nodes ε is
//! interpolated, which is why this ranks starts and decides nothing.
//!
//! A square constellation turned by 90° is the same one with its points exchanged, so a start and its three quarter
//! turns lead to the same error by the same states. Only a quarter of the turns is looked at, and a quarter of the
//! points: the plane's four quarters are added instead.

use super::Qam;
use super::fit::Corner;
use super::fourier::Fourier;
use crate::table::Finder;
use num_complex::Complex64;
use std::f64::consts::TAU;

/// The start grid's spacing in gain, dB: a little less than a quarter, so that on a part with even steps of a quarter or
/// half a decibel starts do not all meet the states in the same two ways.
const ROW_DB: f64 = 0.24;
/// Starts reach from the full ring's gain down to 12 dB below it.
const START_ROWS: usize = 51;
/// What the corner may be below the full ring's gain, dB.
pub(super) const CORNER_RANGE_DB: f64 = ROW_DB * (START_ROWS - 1) as f64;
/// Points are followed down to 24 dB below the corner. What lies deeper has less than 1/250 of the corner's power, too
/// little to tell starts apart.
const POINT_ROWS: usize = 101;
const ROWS: usize = START_ROWS + POINT_ROWS;

/// Of so many nodes along the angle one is asked for its nearest state; those between take the nearest of what their
/// neighbours and the node above found, which is nearly always the same one.
const ASKED_EVERY: usize = 4;

/// The grid of starts, whatever the states.
#[derive(Clone, Debug)]
pub(super) struct StartGrid {
    /// Starts in a quarter turn, a power of two.
    turns: usize,
    fourier: Fourier,
}

/// A start: rows below the full ring's gain, and turns of a quarter turn's `turns`th part.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Start {
    row: usize,
    turn: usize,
}

/// The plane at one frequency as the starts need it.
pub(super) struct Sampled<'a> {
    grid: &'a StartGrid,
    /// The nearest state at each node, row by row, all around the circle.
    nearest: Vec<u32>,
    /// Transforms along the angle of Σε and Σ|ε|² over the four quarters, row by row.
    error: Vec<Complex64>,
    squared: Vec<Complex64>,
}

/// A constellation as the correlation needs it: for each row below the corner the transform of its points' powers.
#[derive(Clone, Debug)]
pub(super) struct Kernel {
    /// (row, transform).
    rows: Vec<(usize, Vec<Complex64>)>,
    /// Σ|x|² over all points.
    power: f64,
}

impl StartGrid {
    /// Most starts in a quarter turn: finer ones, of parts with more than 7 phase bits, only repeat what the search from
    /// a neighbour finds.
    const MOST_TURNS: usize = 256;

    /// Starts at least as dense as an eighth of the phase step.
    pub(super) fn new(phase_step_deg: f64) -> Self {
        // A cast saturates, and what is not positive becomes the sparsest grid.
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let wanted = (8.0 * 90.0 / phase_step_deg - 1e-6).ceil() as usize;
        let turns = wanted.clamp(8, Self::MOST_TURNS).next_power_of_two();
        Self { turns, fourier: Fourier::new(turns) }
    }

    /// Every start.
    pub(super) fn starts(&self) -> impl Iterator<Item = Start> {
        let turns = self.turns;
        (0..START_ROWS).flat_map(move |row| (0..turns).map(move |turn| Start { row, turn }))
    }

    /// The scale of a start, where `origin` is the full ring's gain.
    pub(super) fn scale(&self, start: Start, origin: Complex64) -> Complex64 {
        origin * self.node(start.row, start.turn)
    }

    fn node(&self, row: usize, angle: usize) -> Complex64 {
        let angle = TAU * angle as f64 / (4 * self.turns) as f64;
        Complex64::from_polar(10_f64.powf(-ROW_DB * row as f64 / 20.0), angle)
    }

    /// Prepares a constellation.
    pub(super) fn kernel(&self, qam: &Qam) -> Kernel {
        let mut rows: Vec<Option<Vec<Complex64>>> = vec![None; POINT_ROWS + 1];
        for point in qam.points().iter().filter(|point| point.re > 0.0 && point.im > 0.0) {
            let below = -20.0 * point.norm().log10() / ROW_DB;
            let upper = below.clamp(0.0, POINT_ROWS as f64).floor();
            // Rounding may put a corner a little above the first row.
            let fraction = (below - upper).max(0.0);
            if below > (POINT_ROWS - 1) as f64 {
                continue;
            }
            #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
            let upper = upper as usize;
            for (row, part) in [(upper, 1.0 - fraction), (upper + 1, fraction)] {
                if part > 1e-9 {
                    let transform = rows[row].get_or_insert_with(|| vec![Complex64::ZERO; self.turns]);
                    self.add_point(transform, point.arg(), part * point.norm_sqr());
                }
            }
        }
        let rows = (0..).zip(rows).filter_map(|(row, transform)| Some((row, transform?))).collect();
        Kernel { rows, power: qam.points().iter().map(Complex64::norm_sqr).sum() }
    }

    /// Adds weight·e^(j4hθ) for every harmonic h of a quarter turn, negative ones in the upper half.
    fn add_point(&self, transform: &mut [Complex64], angle: f64, weight: f64) {
        for (index, value) in transform.iter_mut().enumerate() {
            let harmonic =
                if 2 * index < self.turns { index as f64 } else { index as f64 - self.turns as f64 };
            // The middle harmonic is both its own negative; the mean of the two.
            if 2 * index == self.turns {
                *value += weight * (4.0 * harmonic * angle).cos();
            } else {
                *value += weight * Complex64::cis(4.0 * harmonic * angle);
            }
        }
    }

    /// Samples the plane around `origin`, the full ring's gain. `None` without states.
    pub(super) fn sample(
        &self,
        transmission: &[Complex64],
        finder: &Finder,
        origin: Complex64,
    ) -> Option<Sampled<'_>> {
        let circle = 4 * self.turns;
        let angles: Vec<Complex64> = (0..circle).map(|angle| self.node(0, angle)).collect();
        let mut nearest: Vec<u32> = Vec::with_capacity(ROWS * circle);
        let mut error = vec![Complex64::ZERO; ROWS * self.turns];
        let mut squared = error.clone();
        for row in 0..ROWS {
            let size = origin * self.node(row, 0);
            let above = nearest.len().checked_sub(circle);
            let asked =
                (0..circle).step_by(ASKED_EVERY).scan(above.map(|at| nearest[at]), |beside, angle| {
                    *beside = finder.nearest_beside(size * angles[angle], None, *beside);
                    Some(*beside)
                });
            let asked: Vec<u32> = asked.collect::<Option<_>>()?;
            for (angle, turned) in angles.iter().enumerate() {
                let node = size * turned;
                let far = |state: &u32| (transmission[*state as usize] - node).norm_sqr();
                let (before, after) = (angle / ASKED_EVERY, angle.div_ceil(ASKED_EVERY) % asked.len());
                let known =
                    [asked[before], asked[after]].into_iter().chain(above.map(|at| nearest[at + angle]));
                let state = known.min_by(|a, b| far(a).total_cmp(&far(b)))?;
                let off = transmission[state as usize] / node - 1.0;
                error[row * self.turns + angle % self.turns] += off;
                squared[row * self.turns + angle % self.turns] += off.norm_sqr();
                nearest.push(state);
            }
            let along = row * self.turns..(row + 1) * self.turns;
            self.fourier.forward(&mut error[along.clone()]);
            self.fourier.forward(&mut squared[along]);
        }
        Some(Sampled { grid: self, nearest, error, squared })
    }
}

/// A promise below is nothing but rounding.
const ROUNDING: f64 = 1e-15;
/// Promises that agree to this part are those of one start met again: a part with even steps repeats itself.
const SAME_PROMISE: f64 = 1e-9;

impl Sampled<'_> {
    /// The states that are nearest to the nodes around a constellation's points at a start.
    pub(super) fn beside(&self, qam: &Qam, start: Start) -> Vec<u32> {
        let circle = 4 * self.grid.turns;
        let at = |point: &Complex64| {
            let row = start.row as f64 - 20.0 * point.norm().log10() / ROW_DB;
            let angle = start.turn as f64 + point.arg() / TAU * circle as f64;
            #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
            let (row, angle) = (row.round().max(0.0) as usize, angle.round() as i64);
            let angle =
                usize::try_from(angle.rem_euclid(i64::try_from(circle).unwrap_or(i64::MAX))).unwrap_or(0);
            self.nearest[row.min(ROWS - 1) * circle + angle]
        };
        qam.points().iter().map(at).collect()
    }

    /// The most promising starts, at most `most`: first those that promise more than their neighbours on the grid do, then
    /// others.
    pub(super) fn best(&self, kernel: &Kernel, most: usize) -> Vec<Start> {
        let turns = self.grid.turns;
        let promised = self.promised(kernel);
        let is_lowest = |start: &Start| {
            let here = promised[start.row * turns + start.turn];
            let rows = start.row.saturating_sub(1)..=(start.row + 1).min(START_ROWS - 1);
            let beside = [turns - 1, 0, 1];
            rows.flat_map(|row| beside.map(|by| row * turns + (start.turn + by) % turns))
                .all(|other| promised[other] >= here)
        };
        // From the smallest turn and the highest gain on, so that of equal promises the first in this order is kept.
        let turn = |start: &Start| start.turn.min(turns - start.turn);
        let promise = |start: &Start| promised[start.row * turns + start.turn];
        let in_order = |mut starts: Vec<Start>| {
            starts.sort_by_key(|start| (turn(start), start.turn, start.row));
            starts.sort_by(|a, b| promise(a).total_cmp(&promise(b)));
            starts.dedup_by(|later, kept| promise(later) - promise(kept) <= SAME_PROMISE * promise(later));
            starts
        };
        let (lowest, others) = self.grid.starts().partition(is_lowest);
        let mut best = in_order(lowest);
        if best.len() < most {
            best.extend(in_order(others));
        }
        best.truncate(most);
        best
    }

    /// At every start the squared error vector magnitude that the best scale for its mapping would leave.
    fn promised(&self, kernel: &Kernel) -> Vec<f64> {
        let turns = self.grid.turns;
        let mut promised = Vec::with_capacity(START_ROWS * turns);
        let (mut error, mut squared) = (vec![Complex64::ZERO; turns], vec![Complex64::ZERO; turns]);
        for start in 0..START_ROWS {
            error.fill(Complex64::ZERO);
            squared.fill(Complex64::ZERO);
            for (row, points) in &kernel.rows {
                let along = (start + row) * turns..(start + row + 1) * turns;
                let sampled = self.error[along.clone()].iter().zip(&self.squared[along]);
                let sums = error.iter_mut().zip(&mut squared);
                for ((points, sampled), sums) in points.iter().zip(sampled).zip(sums) {
                    *sums.0 += points * sampled.0;
                    *sums.1 += points * sampled.1;
                }
            }
            self.grid.fourier.inverse(&mut error);
            self.grid.fourier.inverse(&mut squared);
            let corner = Corner::around(10_f64.powf(ROW_DB * start as f64 / 20.0));
            let left = |(error, squared): (&Complex64, &Complex64)| {
                left_after_scaling(kernel.power, *error, squared.re, corner)
            };
            promised.extend(error.iter().zip(&squared).map(left));
        }
        promised
    }
}

/// The squared error vector magnitude after the best scale, from X = Σ|x|², Σ|x|²ε and Σ|x|²|ε|²; `corner` is relative
/// to the scale that ε was taken at.
fn left_after_scaling(power: f64, error: Complex64, squared: f64, corner: Corner) -> f64 {
    let (a, b) = (power + 2.0 * error.re + squared, (power + error).norm());
    let size = (b / a).clamp(1.0 / corner.highest, 1.0 / corner.lowest);
    ((size * size * a - 2.0 * size * b + power) / power).max(ROUNDING)
}
