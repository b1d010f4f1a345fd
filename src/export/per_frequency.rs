//! `per-frequency.csv`: one row per grid frequency.

use super::csv::push_number_cell;
use super::refused::{ExportRefused, analysis_of};
use crate::pipeline::Report;
use crate::plane::Score;
use crate::sheet::Sheet;

const MAPPINGS: [&str; 3] = ["nominal", "chosen", "held"];
const SCORES: [&str; 6] = [
    "rms_gain_error_db",
    "rms_phase_error_deg",
    "rms_vector_error_pct",
    "within_gain_pct",
    "within_phase_pct",
    "within_both_pct",
];

pub(super) fn make(report: &Report, _sheet: &Sheet) -> Result<Vec<u8>, ExportRefused> {
    let analysis = analysis_of(report)?;
    let mut text = header();
    for (index, (hertz, at)) in report.intake.frequency_hz.iter().zip(&analysis.frequencies).enumerate() {
        push_number_cell(&mut text, *hertz);
        push_number_cell(&mut text, at.reference.re);
        push_number_cell(&mut text, at.reference.im);
        push_optional_cell(&mut text, at.gain_given_up_db);
        for score in [at.nominal.as_ref(), Some(&at.chosen), at.held.as_ref()] {
            // Without a nominal mapping its cells stay empty.
            for value in score.map_or([f64::NAN; 6], values) {
                push_number_cell(&mut text, value);
            }
        }
        push_optional_cell(&mut text, at.gain_effective_bits);
        push_optional_cell(&mut text, at.phase_effective_bits);
        // Empty where no pair of bits is clean, and where none is counted.
        let clean = report.reach.clean_bits.as_ref().and_then(|bits| *bits.get(index)?);
        push_optional_cell(&mut text, clean.map(|bits| f64::from(bits.gain)));
        push_optional_cell(&mut text, clean.map(|bits| f64::from(bits.phase)));
        // 0 where no constellation is clean, empty where none was looked for.
        let points = report.largest_clean.as_ref().and_then(|found| found.points_at(index));
        push_optional_cell(&mut text, points.map(f64::from));
        end_row(&mut text);
    }
    Ok(text.into_bytes())
}

fn header() -> String {
    let mut text = "frequency_hz,reference_re,reference_im,gain_given_up_db,".to_owned();
    for mapping in MAPPINGS {
        for score in SCORES {
            for part in [mapping, "_", score, ","] {
                text.push_str(part);
            }
        }
    }
    text + "gain_effective_bits,phase_effective_bits,clean_gain_bits,clean_phase_bits,largest_clean_qam\n"
}

/// In the order of [`SCORES`]; the relative vector error in percent of the wanted setting.
fn values(score: &Score) -> [f64; 6] {
    [
        score.rms_gain_error_db,
        score.rms_phase_error_deg,
        100.0 * score.rms_vector_error,
        score.within_gain_pct,
        score.within_phase_pct,
        score.within_both_pct,
    ]
}

fn push_optional_cell(row: &mut String, value: Option<f64>) {
    push_number_cell(row, value.unwrap_or(f64::NAN));
}

/// The last cell's comma becomes the line end.
fn end_row(text: &mut String) {
    text.pop();
    text.push('\n');
}
