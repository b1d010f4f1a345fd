//! The ladder: nominal words, then chosen words, then better references, and what each step gained.

use super::answer::Figure;
use super::provenance::{reference_name_in, the_reference, zero_word_name};
use super::wording::{decibels, percent, ratio_percent, rounded, times};
use crate::control::ControlModel;
use crate::pipeline::{Analysis, Mapping, Report, Rung};
use crate::table::SelectionRule;
use serde::Serialize;

/// One rung as a row of a table.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LadderRow {
    /// Words and reference: "Chosen words, zero word".
    pub label: String,
    /// At the chosen frequency and over the design band.
    pub figures: Vec<Figure>,
    /// What this step did: the first chosen words compared with the nominal ones, other references with the first.
    pub sentence: String,
    /// Among the few for which there is room on paper: up to the first chosen words, the reference in use, the best.
    pub is_printed: bool,
}

/// The rungs in the order of the report; empty without analysis, and until the references are compared.
pub fn rows(report: &Report) -> Vec<LadderRow> {
    let (Ok(analysis), Some(comparison)) = (&report.analysis, &report.comparison) else { return Vec::new() };
    let (rungs, model) = (&comparison.ladder, &analysis.model);
    let first_chosen = rungs.iter().position(|rung| rung.mapping == Mapping::Chosen);
    // References are alternatives: each is held against the first, not against the one listed before it.
    let before = |index: usize| match first_chosen {
        Some(first) if index > first => Some(&rungs[first]),
        _ => index.checked_sub(1).map(|before| &rungs[before]),
    };
    let error = |rung: &Rung| rung.band.score.rms_vector_error;
    let best = rungs.iter().map(error).fold(f64::INFINITY, f64::min);
    let row = |(index, rung): (usize, &Rung)| LadderRow {
        is_printed: first_chosen.is_none_or(|first| index <= first)
            || rung.reference == analysis.reference
            || error(rung) <= best,
        label: label(rung, model),
        figures: figures(rung, model),
        sentence: sentence(rung, before(index), analysis),
    };
    rungs.iter().enumerate().map(row).collect()
}

fn label(rung: &Rung, model: &ControlModel) -> String {
    let words = match rung.mapping {
        Mapping::Nominal => "Nominal words",
        Mapping::Chosen => "Chosen words",
        Mapping::Held => "Held words",
    };
    format!("{words}, {} as reference", reference_name_in(rung.reference, model))
}

fn sentence(rung: &Rung, before: Option<&Rung>, analysis: &Analysis) -> String {
    let model = &analysis.model;
    let error = ratio_percent(rung.at_frequency.rms_vector_error);
    let share = percent(rung.at_frequency.within_both_pct);
    let Some(before) = before else {
        return format!(
            "Where it starts: RMS vector error {error}, {share} of the settings within tolerance."
        );
    };
    let what = match (rung.mapping != before.mapping, rung.reference != before.reference) {
        (true, _) => match rung.mapping {
            Mapping::Chosen => match analysis.rule {
                SelectionRule::Nearest => "Choosing the nearest state".to_owned(),
                SelectionRule::ToleranceFirst => "Choosing states within tolerance first".to_owned(),
                SelectionRule::Weighted => "Choosing by weighted errors".to_owned(),
            },
            Mapping::Nominal => "Going back to the nominal words".to_owned(),
            Mapping::Held => "Holding the words over the band".to_owned(),
        },
        (false, true) => format!("Taking {} as reference", the_reference(rung.reference, model)),
        (false, false) => "The same again".to_owned(),
    };
    format!(
        "{what} {} and {}{}.",
        error_change(before.at_frequency.rms_vector_error, rung.at_frequency.rms_vector_error),
        share_change(before.at_frequency.within_both_pct, rung.at_frequency.within_both_pct),
        gain_clause(rung, zero_word_name(model))
    )
}

fn error_change(before: f64, after: f64) -> String {
    let (from, to) = (ratio_percent(before), ratio_percent(after));
    let ratio = before / after;
    if from == to {
        format!("leaves the RMS vector error at {to}")
    } else if after > before {
        format!("raises the RMS vector error from {from} to {to}")
    } else if ratio.is_finite() && ratio >= 1.05 {
        format!("makes the RMS vector error {} times smaller, from {from} to {to},", times(ratio))
    } else {
        format!("lowers the RMS vector error from {from} to {to}")
    }
}

fn share_change(before: f64, after: f64) -> String {
    let (from, to) = (percent(before), percent(after));
    if from == to {
        format!("leaves {to} of the settings within tolerance")
    } else if after > before {
        format!("brings {to} of the settings within tolerance, up from {from}")
    } else {
        format!("brings {to} of the settings within tolerance, down from {from}")
    }
}

/// What the reference costs; silent where it costs nothing.
fn gain_clause(rung: &Rung, zero_word: &str) -> String {
    match rung.gain_given_up_db {
        Some(db) if rounded(db) == "0" => String::new(),
        Some(db) if db < 0.0 => format!("; it gives up {} of gain", decibels(-db)),
        Some(db) => format!("; its reference lies {} above the {zero_word}", decibels(db)),
        None => format!("; the gain given up cannot be told without the {zero_word}"),
    }
}

/// What the gain given up is called.
pub(super) fn against_zero_word(model: &ControlModel) -> &'static str {
    if model.has_nominal() { "Reference against the zero word" } else { "Reference against the lowest mark" }
}

fn figures(rung: &Rung, model: &ControlModel) -> Vec<Figure> {
    let (at, band) = (&rung.at_frequency, &rung.band.score);
    let mut figures = vec![
        Figure::decibels("rms_gain_error_db", "RMS gain error", at.rms_gain_error_db),
        Figure::degrees("rms_phase_error_deg", "RMS phase error", at.rms_phase_error_deg),
        Figure::ratio("rms_vector_error_pct", "RMS vector error", at.rms_vector_error),
        Figure::percent("within_both_pct", "Within tolerance", at.within_both_pct),
        Figure::ratio("band_rms_vector_error_pct", "RMS vector error over the band", band.rms_vector_error),
        Figure::percent("band_within_both_pct", "Within tolerance over the band", band.within_both_pct),
    ];
    if let Some(db) = rung.gain_given_up_db {
        figures.push(Figure::decibels("gain_given_up_db", against_zero_word(model), db));
    }
    figures
}
