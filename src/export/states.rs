//! `states.csv`: one row per word at the chosen frequency.

use super::csv::{push_number, push_number_cell, text_cell};
use super::refused::{ExportRefused, analysis_of};
use crate::control::Setting;
use crate::pipeline::Report;
use crate::pipeline::protocol::Reflections;
use crate::plane::{Place, StateError};
use crate::sheet::Sheet;

const HEADER: &str = "word,file,nominal_gain_db,nominal_phase_deg,gain_db,phase_deg,gain_error_db,phase_error_deg,\
                      vector_error_pct,return_loss_in_db,return_loss_out_db,snr_db\n";

/// `reflections` runs beside the run's states. Errors are those of each word against its own nominal setting; return
/// loss is −20·log10|S11| and −20·log10|S22|, and its cell is empty where the reflection is exactly zero, as where a
/// one-path analyser did not measure it. The signal-to-noise ratio is the mean around the frequency, against noise of
/// both parts; its cell is empty where the run is not checked.
pub(super) fn make(
    report: &Report,
    _sheet: &Sheet,
    reflections: &[Reflections],
) -> Result<Vec<u8>, ExportRefused> {
    let analysis = analysis_of(report)?;
    let service = &analysis.service;
    let states = &report.intake.states;
    if reflections.len() != states.len() || service.transmission.len() != states.len() {
        return Err(ExportRefused::OtherRun);
    }
    let points = report.intake.frequency_hz.len();
    let snr_db = report.checks.as_ref().and_then(|checks| checks.snr_at(points, service.index));
    let mut text = HEADER.to_owned();
    let rows = states.iter().zip(&service.transmission).zip(reflections).enumerate();
    for (position, ((state, transmission), reflections)) in rows {
        // A mark says nothing of gain or phase: its nominal setting and its errors stay empty.
        let nominal = analysis.model.nominal(state.word);
        let relative = transmission / service.reference;
        let place = Place::of(relative);
        let error = nominal.map(|nominal| StateError::of(relative, nominal));
        let of_nominal = |value: fn(&Setting) -> f64| nominal.as_ref().map_or(f64::NAN, value);
        let of_error = |value: fn(&StateError) -> f64| error.as_ref().map_or(f64::NAN, value);
        text.push_str(&state.word.0.to_string());
        text.push(',');
        text.push_str(&text_cell(&report.intake.paths[state.file]));
        text.push(',');
        for value in [
            of_nominal(|nominal| nominal.gain_db),
            of_nominal(|nominal| nominal.phase_deg),
            place.gain_db,
            place.phase_deg,
            of_error(|error| error.gain_db),
            of_error(|error| error.phase_deg),
            of_error(|error| 100.0 * error.vector),
            return_loss_db(reflections.s11),
        ] {
            // An empty sum of decibels is −0, which plus 0 is 0.
            push_number_cell(&mut text, value + 0.0);
        }
        push_number_cell(&mut text, return_loss_db(reflections.s22));
        let snr_db = snr_db.and_then(|all| all.get(position)).map_or(f64::NAN, |&snr| f64::from(snr));
        push_number(&mut text, (100.0 * snr_db).round() / 100.0);
        text.push('\n');
    }
    Ok(text.into_bytes())
}

/// Infinite, and so an empty cell, where nothing comes back.
fn return_loss_db(reflection: f64) -> f64 {
    0.0 - 20.0 * reflection.log10()
}
