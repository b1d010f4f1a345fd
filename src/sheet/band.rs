//! A mapping's score over the design band.

use crate::pipeline::{AtFrequency, Mapping};
use crate::plane::{BandScore, Score, band_summary};
use std::ops::RangeInclusive;

/// The score of one mapping at one frequency; `None` of the nominal mapping where there is none, and of the held words
/// while they are scored anew.
pub fn score_of(at: &AtFrequency, mapping: Mapping) -> Option<&Score> {
    match mapping {
        Mapping::Nominal => at.nominal.as_ref(),
        Mapping::Chosen => Some(&at.chosen),
        Mapping::Held => at.held.as_ref(),
    }
}

/// The mapping's scores summed up over the band; `None` where the band holds no grid point or leaves the grid, and where
/// [`score_of`] has none.
pub fn over_band(
    frequencies: &[AtFrequency],
    band: &RangeInclusive<usize>,
    mapping: Mapping,
) -> Option<BandScore> {
    let inside = frequencies.get(band.clone())?;
    let scores: Option<Vec<Score>> = inside.iter().map(|at| score_of(at, mapping).copied()).collect();
    band_summary(*band.start(), &scores?)
}
