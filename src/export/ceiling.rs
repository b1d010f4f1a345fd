//! No table may ask for more gain than the user's ceiling.

use super::refused::ExportRefused;
use super::word_table::ChosenAt;
use crate::control::{Target, Word};
use crate::pipeline::Report;
use crate::table::exceeding;

/// Refuses a table in which a chosen state has more gain than the user's ceiling.
///
/// The gain of a state is that of its own transmission, its relative gain times the reference: in decibels
/// target + gain error + 20·log10|R|. A gain that is not a number cannot be shown to lie below, and counts as above.
pub(super) fn refuse_above_ceiling(
    report: &Report,
    targets: &[Target],
    chosen: ChosenAt<'_>,
    frequency_hz: f64,
) -> Result<(), ExportRefused> {
    let Some(ceiling_db) = report.settings.gain_ceiling_db else { return Ok(()) };
    let reference_db = 20.0 * chosen.reference.norm().log10();
    let (words, gains_db): (Vec<Word>, Vec<f64>) = targets
        .iter()
        .zip(chosen.served)
        .map(|(target, served)| {
            let gain_db = target.setting.gain_db + served.error.gain_db + reference_db;
            let word = report.intake.states[served.state].word;
            (word, if gain_db.is_nan() { f64::INFINITY } else { gain_db })
        })
        .unzip();
    let words = exceeding(&words, &gains_db, ceiling_db);
    if words.is_empty() {
        return Ok(());
    }
    let largest_db = gains_db.into_iter().fold(f64::NEG_INFINITY, f64::max);
    Err(ExportRefused::GainAboveCeiling { ceiling_db, frequency_hz, band_hz: None, words, largest_db })
}
