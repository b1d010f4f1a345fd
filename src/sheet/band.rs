//! A mapping's score over the design band.

use crate::pipeline::{AtFrequency, Mapping, Summary};
use crate::plane::Score;
use std::ops::RangeInclusive;

/// The score of one mapping at one frequency.
pub fn score_of(at: &AtFrequency, mapping: Mapping) -> &Score {
    match mapping {
        Mapping::Nominal => &at.nominal,
        Mapping::Chosen => &at.chosen,
        Mapping::Held => &at.held,
    }
}

/// Errors as the root mean square of the per-frequency RMS values, shares as their unweighted mean over the grid
/// points, the largest number of missing targets, and the worst frequency of each kind (the lower of two).
/// `None` where the band holds no grid point.
pub fn over_band(
    frequencies: &[AtFrequency],
    band: &RangeInclusive<usize>,
    mapping: Mapping,
) -> Option<Summary> {
    let inside = frequencies.get(band.clone())?;
    let scores = || inside.iter().map(|at| score_of(at, mapping));
    let indexed = || (*band.start()..).zip(scores());
    let rms = |value: fn(&Score) -> f64| {
        (scores().map(|s| value(s) * value(s)).sum::<f64>() / inside.len() as f64).sqrt()
    };
    let mean = |value: fn(&Score) -> f64| scores().map(value).sum::<f64>() / inside.len() as f64;
    let worst_vector =
        indexed().max_by(|a, b| a.1.rms_vector_error.total_cmp(&b.1.rms_vector_error).then(b.0.cmp(&a.0)))?;
    let worst_share = indexed().min_by(|a, b| a.1.within_both_pct.total_cmp(&b.1.within_both_pct))?;
    Some(Summary {
        score: Score {
            rms_gain_error_db: rms(|s| s.rms_gain_error_db),
            rms_phase_error_deg: rms(|s| s.rms_phase_error_deg),
            rms_vector_error: rms(|s| s.rms_vector_error),
            within_gain_pct: mean(|s| s.within_gain_pct),
            within_phase_pct: mean(|s| s.within_phase_pct),
            within_both_pct: mean(|s| s.within_both_pct),
            missing: scores().map(|s| s.missing).max()?,
        },
        worst_vector_index: worst_vector.0,
        worst_vector_error: worst_vector.1.rms_vector_error,
        worst_share_index: worst_share.0,
        worst_share_pct: worst_share.1.within_both_pct,
    })
}
