//! The resolution map: which coarser gains and phases the states of one frequency serve without exception.

use super::EvenSteps;
use super::steps::{Kept, Steps};
use crate::control::Quantity;
use crate::plane::Place;
use serde::{Deserialize, Serialize};

/// How many of the targets that p phase bits and q gain bits would make are served, for every p and q, at one
/// frequency.
///
/// With p of P phase bits kept, the targets are 2^p phases, evenly spaced over what the P bits cover, from the phase
/// nearest to 0° on; with q of Q gain bits, 2^q gains spaced step·2^(Q−q), from the highest down. A target is served
/// where some state lies within half of both spacings of it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct ResolutionMap {
    phase_bits: u8,
    gain_bits: u8,
    /// Targets served, p by p, q ascending within.
    served: Vec<u32>,
}

/// Bits of which every target is served.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct CleanBits {
    /// Phase bits.
    pub phase: u8,
    /// Gain bits.
    pub gain: u8,
}

impl ResolutionMap {
    /// The map of one frequency's states. States without transmission serve nothing.
    pub fn new(steps: &EvenSteps, places: &[Place]) -> Self {
        let places: Vec<&Place> = places.iter().filter(|place| is_somewhere(place)).collect();
        let cells = |steps: Option<Steps>, measured: fn(&Place) -> f64| -> Vec<Level> {
            let levels = 0..=steps.map_or(0, |steps| steps.bits);
            let kept = levels.map(|bits| steps.map(|steps| steps.kept(bits)));
            kept.map(|kept| Level::of(kept, places.iter().map(|place| measured(place)))).collect()
        };
        let phases = cells(steps.phase, |place| place.phase_deg);
        let gains = cells(steps.gain, |place| place.gain_db);
        let pairs = phases.iter().flat_map(|phase| gains.iter().map(move |gain| served(phase, gain)));
        Self {
            phase_bits: steps.bits(Quantity::Phase),
            gain_bits: steps.bits(Quantity::Gain),
            served: pairs.collect(),
        }
    }

    /// P, the number of phase bits.
    pub fn phase_bits(&self) -> u8 {
        self.phase_bits
    }

    /// Q, the number of gain bits.
    pub fn gain_bits(&self) -> u8 {
        self.gain_bits
    }

    /// The share of targets served with so many bits kept, percent; `None` for more bits than there are.
    pub fn yield_pct(&self, bits: CleanBits) -> Option<f64> {
        Some(100.0 * f64::from(self.served(bits)?) / f64::from(targets(bits)))
    }

    /// Whether every target of so many bits is served.
    pub fn is_clean(&self, bits: CleanBits) -> bool {
        self.served(bits) == Some(targets(bits))
    }

    /// The clean pair with the most bits; of equally many, the one with more phase bits. `None` where none is clean.
    pub fn clean_bits(&self) -> Option<CleanBits> {
        let pairs = (0..=self.phase_bits)
            .flat_map(|phase| (0..=self.gain_bits).map(move |gain| CleanBits { phase, gain }));
        pairs.filter(|&bits| self.is_clean(bits)).max_by_key(|bits| (bits.phase + bits.gain, bits.phase))
    }

    fn served(&self, bits: CleanBits) -> Option<u32> {
        let inside = bits.phase <= self.phase_bits && bits.gain <= self.gain_bits;
        let index = usize::from(bits.phase) * (usize::from(self.gain_bits) + 1) + usize::from(bits.gain);
        self.served.get(index).copied().filter(|_| inside)
    }
}

fn targets(bits: CleanBits) -> u32 {
    1 << (bits.phase + bits.gain)
}

fn is_somewhere(place: &Place) -> bool {
    place.gain_db.is_finite() && place.phase_deg.is_finite()
}

/// One quantity with some of its bits kept: which of its values each state is within tolerance of.
struct Level {
    values: u32,
    cells: Vec<[Option<u32>; 2]>,
}

impl Level {
    fn of(kept: Option<Kept>, measured: impl Iterator<Item = f64>) -> Self {
        let cell = |measured| kept.map_or([Some(0), None], |kept| kept.cells_of(measured));
        Self { values: kept.map_or(1, |kept| kept.count), cells: measured.map(cell).collect() }
    }
}

/// The number of targets, each a phase and a gain, that some state is within tolerance of in both.
fn served(phase: &Level, gain: &Level) -> u32 {
    let mut is_served = vec![false; (phase.values * gain.values) as usize];
    for (phases, gains) in phase.cells.iter().zip(&gain.cells) {
        for phase in phases.iter().flatten() {
            for at in gains.iter().flatten() {
                is_served[(phase * gain.values + at) as usize] = true;
            }
        }
    }
    is_served.into_iter().map(u32::from).sum()
}
