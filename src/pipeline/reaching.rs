//! How fine the states of one frequency reach, worked out where they lie.

use super::analysis::{FrequencyWork, places_under};
use crate::reach::{CleanBits, Hole, NoResolution, ResolutionMap, holes};
use num_complex::Complex64;
use serde::{Deserialize, Serialize};

/// How fine a run reaches.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Reach {
    /// At the chosen frequency; `None` without an analysis.
    pub here: Option<ReachAt>,
    /// The clean bits at every frequency of the grid, `None` where no pair is clean. `None` while they are being counted,
    /// and where there is no resolution map.
    pub clean_bits: Option<Vec<Option<CleanBits>>>,
}

impl Reach {
    /// The resolution map at the chosen frequency, where there is one.
    pub fn resolution(&self) -> Option<&ResolutionMap> {
        self.here.as_ref()?.resolution.as_ref().ok()
    }
}

/// How fine the states reach at one frequency, and where they leave holes.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ReachAt {
    /// Grid index of the frequency.
    pub index: usize,
    /// The resolution map, or why the run has none.
    pub resolution: Result<ResolutionMap, NoResolution>,
    /// Targets that no state comes near, in the order of the targets.
    pub holes: Vec<Hole>,
}

/// The resolution map and the holes at one frequency; `chosen` holds the nearest state of every target.
pub fn reach_at(
    work: &FrequencyWork,
    index: usize,
    reference: Complex64,
    transmission: &[Complex64],
    chosen: &[u32],
) -> ReachAt {
    let places = places_under(transmission, reference);
    ReachAt {
        index,
        resolution: work.steps.as_ref().map(|steps| ResolutionMap::new(steps, &places)).map_err(|why| *why),
        holes: holes(&work.targets, &places, chosen, &work.tolerance),
    }
}

/// The clean bits at one frequency; `None` where no pair is clean or there is no map.
pub fn clean_bits(
    work: &FrequencyWork,
    reference: Complex64,
    transmission: &[Complex64],
) -> Option<CleanBits> {
    let steps = work.steps.as_ref().ok()?;
    ResolutionMap::new(steps, &places_under(transmission, reference)).clean_bits()
}
