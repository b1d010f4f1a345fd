//! A mapping's score over the design band.

use crate::pipeline::{AtFrequency, Mapping};
use crate::plane::{BandScore, Score, band_summary};
use std::ops::RangeInclusive;

/// The score of one mapping at one frequency.
pub fn score_of(at: &AtFrequency, mapping: Mapping) -> &Score {
    match mapping {
        Mapping::Nominal => &at.nominal,
        Mapping::Chosen => &at.chosen,
        Mapping::Held => &at.held,
    }
}

/// The mapping's scores summed up over the band; `None` where the band holds no grid point or leaves the grid.
pub fn over_band(
    frequencies: &[AtFrequency],
    band: &RangeInclusive<usize>,
    mapping: Mapping,
) -> Option<BandScore> {
    let inside = frequencies.get(band.clone())?;
    let scores: Vec<Score> = inside.iter().map(|at| *score_of(at, mapping)).collect();
    band_summary(*band.start(), &scores)
}
