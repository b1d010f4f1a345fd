//! Question 8: the sheet itself, the one page to print.

use super::Provenance;
use super::answer::{Answer, Note};
use super::provenance::settings_line;
use super::wording::{clipped, counted, frequency_range};
use crate::checks::RunVerdict;
use crate::pipeline::Report;

/// The part's name, else the name of what was dropped.
pub(super) fn title(report: &Report) -> String {
    let named = [&report.settings.part_name, &report.intake.source];
    let name = named.into_iter().map(|name| name.trim()).find(|name| !name.is_empty());
    clipped(name.unwrap_or("Unnamed part"), 120)
}

pub(super) fn answer(report: &Report, provenance: &Provenance) -> Answer {
    Answer {
        key: "sheet",
        number: 8,
        question: "The sheet",
        sentence: sentence(report, provenance),
        verdict: None,
        figures: Vec::new(),
        notes: notes(report, provenance),
    }
}

fn sentence(report: &Report, provenance: &Provenance) -> String {
    let intake = &report.intake;
    let title = title(report);
    match intake.frequency_hz.as_slice() {
        [first, .., last] if !intake.states.is_empty() => format!(
            "{title}: {} {}; verdict of the run: {}.",
            counted(intake.states.len(), "word", "words"),
            frequency_range(*first, *last),
            provenance.verdict_text()
        ),
        [only] if !intake.states.is_empty() => format!(
            "{title}: {} {}; verdict of the run: {}.",
            counted(intake.states.len(), "word", "words"),
            frequency_range(*only, *only),
            provenance.verdict_text()
        ),
        _ => format!("{title}: there is nothing to print but what was left out."),
    }
}

fn notes(report: &Report, provenance: &Provenance) -> Vec<Note> {
    let mut notes = Vec::new();
    if report.analysis.is_ok() {
        notes.extend(settings_line(provenance).map(Note::remark));
        if provenance.verdict == RunVerdict::Unchecked {
            notes.push(Note::attention(
                "Unchecked means that the run has not been searched for faults of wiring and capture; a faulty run \
                 gives a faulty word table.",
            ));
        }
    }
    let operator = report.settings.operator.trim();
    if !operator.is_empty() {
        notes.push(Note::remark(format!("Operator: {}.", clipped(operator, 120))));
    }
    notes
}
