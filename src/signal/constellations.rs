//! What the states of one frequency make of every square constellation.

use super::fit::{Corner, Settled, evm, nearest, settle};
use super::starts::{CORNER_RANGE_DB, Kernel, Sampled, StartGrid};
use super::{ORDERS, Qam, peak_over_mean};
use crate::control::{ControlModel, Quantity, Word};
use crate::plane::{ReferencePolicy, ResolvedAnchor, StateIndex};
use crate::table::Finder;
use num_complex::Complex64;
use serde::{Deserialize, Serialize};

/// Why a run makes no constellations.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum NoConstellation {
    /// Nothing sets the phase.
    NoPhase,
    /// The word of zero gain and phase is missing, and with it what phases and gains are counted from.
    NoZeroWord,
    /// The full ring transmits nothing at the frequency.
    NoGain,
}

/// One square M-QAM made of a run's states at one frequency, each point by the nearest one.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Constellation {
    /// M.
    pub order: u16,
    /// The complex scale a: point x is wanted at a·x, in the unit of the transmission.
    pub scale: Complex64,
    /// The corner's gain relative to the full ring's, dB; between −12 and 0.
    pub corner_gain_db: f64,
    /// The turn of the constellation against the zero word, degrees, within (−45°, +45°] but for rounding: a quarter turn is the same
    /// constellation with its points exchanged.
    pub turn_deg: f64,
    /// Error vector magnitude over the root mean square of the ideal points, linear: the normaliser of 3GPP TS 38.104
    /// and IEEE Std 802.11.
    pub evm: f64,
    /// The same error over the corner's magnitude, linear: smaller by √(peak over mean power).
    pub evm_of_peak: f64,
    /// The position of the state that serves each point, in the order of [`Qam::points`].
    pub states: Vec<u32>,
    /// Points whose state serves another point too.
    pub sharing: usize,
    /// Points whose state is not nearer to them than to every other point.
    pub misread: usize,
}

impl Constellation {
    /// Whether every point has a state of its own that is nearer to it than to any other point.
    pub fn is_clean(&self) -> bool {
        self.sharing == 0 && self.misread == 0
    }
}

/// The highest order that is clean.
pub fn largest_clean(constellations: &[Constellation]) -> Option<u16> {
    constellations.iter().filter(|one| one.is_clean()).map(|one| one.order).max()
}

/// An error vector magnitude in decibels: 20·log10 of the linear one.
pub fn evm_db(evm: f64) -> f64 {
    20.0 * evm.log10()
}

/// Everything that is the same at all frequencies; made once for a run.
#[derive(Clone, Debug)]
pub struct Constellations {
    full_ring: ResolvedAnchor,
    grid: StartGrid,
    orders: Vec<Prepared>,
}

#[derive(Clone, Debug)]
struct Prepared {
    qam: Qam,
    kernel: Kernel,
    effort: Effort,
}

/// The error vector magnitudes of two scales count as equal when they agree to this part, or are both nothing but
/// rounding.
const SAME_EVM: f64 = 1e-9;
const ROUNDING_EVM: f64 = 1e-12;
/// Turns that differ by less are one, degrees.
const SAME_TURN_DEG: f64 = 1e-7;

impl Constellations {
    /// Prepares all orders for a run with these words, ascending.
    pub fn new(model: &ControlModel, words: &[Word], index: &StateIndex) -> Result<Self, NoConstellation> {
        let step_deg = model.finest_step(Quantity::Phase).ok_or(NoConstellation::NoPhase)?;
        let anchor = ReferencePolicy::FullRing.anchor(model, words, &[]);
        let full_ring = anchor.and_then(|anchor| anchor.resolve(model, words, index));
        let grid = StartGrid::new(step_deg);
        let prepared =
            |qam: Qam| Prepared { kernel: grid.kernel(&qam), effort: Effort::of(qam.order()), qam };
        let orders = ORDERS.into_iter().filter_map(Qam::new).map(prepared).collect();
        Ok(Self { full_ring: full_ring.ok_or(NoConstellation::NoZeroWord)?, orders, grid })
    }

    /// All orders at one frequency; `finder` holds the same states. `None` where the full ring has no gain.
    ///
    /// Of each order the smallest error vector magnitude over the complex scale and the mapping, the corner kept between
    /// the full ring's gain and 12 dB below it. Nearest states and best scale are found in turn from the most promising
    /// starts of a grid of a quarter decibel and an eighth of the phase step. Other minima may lie lower, so the error
    /// is an upper bound: over seeded made-up parts with errors it was at most 0.5 % of itself above the smallest from
    /// every start (orders up to 256), over ideal ones, whose starts are much alike, 1.9 %. Of the scales found whose
    /// errors agree to 1e-9, the smaller turn is taken, then the higher gain.
    pub fn at(&self, transmission: &[Complex64], finder: &Finder) -> Option<Vec<Constellation>> {
        let origin = self.full_ring.reference(transmission)?;
        let sampled = self.grid.sample(transmission, finder, origin)?;
        self.orders.iter().map(|order| self.search(order, &sampled, transmission, finder, origin)).collect()
    }

    /// The highest clean order at one frequency, found without those below it: what [`largest_clean`] says of
    /// [`Self::at`]. `None` where no order is clean, or where the full ring has no gain.
    pub fn largest_clean_at(&self, transmission: &[Complex64], finder: &Finder) -> Option<u16> {
        let origin = self.full_ring.reference(transmission)?;
        let sampled = self.grid.sample(transmission, finder, origin)?;
        // Points that have no state of their own are not clean.
        let orders =
            self.orders.iter().rev().filter(|one| usize::from(one.qam.order()) <= transmission.len());
        let mut found = orders.filter_map(|order| self.search(order, &sampled, transmission, finder, origin));
        found.find(Constellation::is_clean).map(|one| one.order)
    }

    fn search(
        &self,
        prepared: &Prepared,
        sampled: &Sampled,
        transmission: &[Complex64],
        finder: &Finder,
        origin: Complex64,
    ) -> Option<Constellation> {
        let (qam, effort) = (&prepared.qam, prepared.effort);
        let here = Here { qam, transmission, finder, origin };
        let starts = sampled.best(&prepared.kernel, effort.looked_at).into_iter();
        let first = starts.filter_map(|start| {
            here.settle(self.grid.scale(start, origin), sampled.beside(qam, start), effort.first_rounds)
        });
        let mut first: Vec<Settled> = first.collect();
        first.sort_by(|a, b| a.evm.total_cmp(&b.evm));
        first.truncate(effort.followed);
        let settled = first.into_iter().filter_map(|first| here.settle(first.scale, first.states, ROUNDS));
        here.best_of(settled)
    }

    /// One order with every start of the grid followed up, which takes some thousand times as long. `None` also for an
    /// order that is not looked at.
    pub fn at_from_every_start(
        &self,
        transmission: &[Complex64],
        finder: &Finder,
        order: u16,
    ) -> Option<Constellation> {
        let origin = self.full_ring.reference(transmission)?;
        let qam = &self.orders.iter().find(|prepared| prepared.qam.order() == order)?.qam;
        let here = Here { qam, transmission, finder, origin };
        let starts = self.grid.starts();
        here.best_of(
            starts.filter_map(|start| here.settle(self.grid.scale(start, origin), Vec::new(), ROUNDS)),
        )
    }
}

/// How much of the search one order gets. Small constellations have many narrow minima and cost little; of the large
/// ones all minima are nearly alike.
#[derive(Clone, Copy, Debug)]
struct Effort {
    /// Starts that are looked at.
    looked_at: usize,
    /// Rounds of each look.
    first_rounds: usize,
    /// Starts that are then followed until they settle.
    followed: usize,
}

impl Effort {
    fn of(order: u16) -> Self {
        let (looked_at, first_rounds, followed) = match order {
            0..=16 => (64, 4, 16),
            17..=64 => (32, 3, 8),
            65..=256 => (16, 3, 3),
            257..=1024 => (8, 3, 1),
            _ => (4, 2, 1),
        };
        Self { looked_at, first_rounds, followed }
    }
}

/// Rounds at most until the error settles. What the largest constellations would still gain in more is a thousandth
/// part of the error.
const ROUNDS: usize = 12;

impl Corner {
    /// From a gain down to 12 dB below it.
    pub(super) fn around(highest: f64) -> Self {
        Self { lowest: highest * 10_f64.powf(-CORNER_RANGE_DB / 20.0), highest }
    }
}

/// One order at one frequency.
struct Here<'a> {
    qam: &'a Qam,
    transmission: &'a [Complex64],
    finder: &'a Finder<'a>,
    origin: Complex64,
}

impl Here<'_> {
    fn settle(&self, start: Complex64, beside: Vec<u32>, rounds: usize) -> Option<Settled> {
        let corner = Corner::around(self.origin.norm());
        settle(self.qam, self.transmission, self.finder, corner, start, beside, rounds)
    }

    fn best_of(&self, settled: impl Iterator<Item = Settled>) -> Option<Constellation> {
        let best = settled.reduce(|best, other| {
            if (other.evm - best.evm).abs() <= SAME_EVM * best.evm.max(other.evm) + ROUNDING_EVM {
                let key = |settled: &Settled| {
                    let relative = self.upright(settled.scale) / self.origin;
                    ((relative.arg().to_degrees().abs() / SAME_TURN_DEG).round(), -relative.norm())
                };
                if key(&other) < key(&best) { other } else { best }
            } else if other.evm < best.evm {
                other
            } else {
                best
            }
        })?;
        self.constellation(best)
    }

    /// The scale turned by quarter turns to within (−45°, +45°] of the zero word, but for rounding. Quarter turns
    /// exchange parts and signs, so nothing else is rounded.
    fn upright(&self, scale: Complex64) -> Complex64 {
        let upright = |scale: &Complex64| {
            let turn_deg = (scale / self.origin).arg().to_degrees() - SAME_TURN_DEG;
            turn_deg > -45.0 && turn_deg <= 45.0
        };
        let turned = [Complex64::ONE, Complex64::I, -Complex64::ONE, -Complex64::I].map(|by| scale * by);
        turned.into_iter().find(upright).unwrap_or(scale)
    }

    fn constellation(&self, settled: Settled) -> Option<Constellation> {
        let scale = self.upright(settled.scale);
        let states =
            if scale == settled.scale { settled.states } else { nearest(self.qam, self.finder, scale, &[])? };
        let places = || states.iter().map(|&state| self.transmission[state as usize]);
        let evm = evm(self.qam.points(), places(), scale);
        let relative = scale / self.origin;
        let mut uses = vec![0_u32; self.transmission.len()];
        for &state in &states {
            uses[state as usize] += 1;
        }
        let misread =
            places().enumerate().filter(|&(index, place)| !self.qam.is_nearest(place / scale, index)).count();
        Some(Constellation {
            order: self.qam.order(),
            scale,
            corner_gain_db: 20.0 * relative.norm().log10(),
            turn_deg: relative.arg().to_degrees(),
            evm,
            evm_of_peak: evm / peak_over_mean(self.qam.order()).sqrt(),
            sharing: states.iter().filter(|&&state| uses[state as usize] > 1).count(),
            misread,
            states,
        })
    }
}
