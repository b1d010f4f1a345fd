//! The specification along the frequency axis: its sub-bands, and where it is broken.

use super::{figure_title, limit_text};
use crate::part::{Judgement, Verdict};
use crate::pipeline::Report;
use crate::sheet::wording::counted;

/// A sub-band in which rows of the specification set limits.
#[derive(Clone, Debug, PartialEq)]
pub struct SpecifiedBand {
    /// Its lower end in hertz, not below what was measured.
    pub from_hz: f64,
    /// Its upper end in hertz, not above what was measured.
    pub to_hz: f64,
    /// What is limited there, longest first.
    pub labels: [String; 2],
}

/// The sub-bands of the specification's rows, each once, in the order of the rows.
pub fn specified_bands(report: &Report) -> Vec<SpecifiedBand> {
    let grid = &report.intake.frequency_hz;
    let (Some(&first), Some(&last)) = (grid.first(), grid.last()) else { return Vec::new() };
    let mut bands: Vec<((f64, f64), Vec<usize>)> = Vec::new();
    for (number, row) in report.settings.specification.iter().enumerate() {
        let band = (row.from_hz.unwrap_or(first).max(first), row.to_hz.unwrap_or(last).min(last));
        match bands.iter_mut().find(|(known, _)| *known == band) {
            Some((_, rows)) => rows.push(number),
            None if band.0 <= band.1 => bands.push((band, vec![number])),
            None => {}
        }
    }
    let named = |((from_hz, to_hz), rows): ((f64, f64), Vec<usize>)| SpecifiedBand {
        from_hz,
        to_hz,
        labels: labels(report, &rows),
    };
    bands.into_iter().map(named).collect()
}

fn labels(report: &Report, rows: &[usize]) -> [String; 2] {
    let broken = rows.iter().filter(|&&row| is_broken(report, row)).count();
    let broken = match (rows.len(), broken) {
        (_, 0) => String::new(),
        (1, _) => ", broken".to_owned(),
        (_, several) => format!(", {several} broken"),
    };
    let short = format!("{}{broken}", counted(rows.len(), "limit", "limits"));
    let long = match rows {
        [only] => {
            let row = &report.settings.specification[*only];
            let limits = limit_text(&row.limits, row.figure.unit());
            format!("{} {limits}{broken}", figure_title(row.figure))
        }
        _ => short.clone(),
    };
    [long, short]
}

/// What became of a row of the specification in every field that it is about.
fn judgements(report: &Report, row: usize) -> impl Iterator<Item = &Judgement> {
    let fields = report.parts.iter().flat_map(|parts| &parts.fields);
    fields.filter_map(move |field| field.judgements.get(row)?.as_ref())
}

fn is_broken(report: &Report, row: usize) -> bool {
    judgements(report, row).any(|judgement| !judgement.broken_at.is_empty())
}

/// Whether it is kept wherever it applies, so that nothing is left open.
fn holds(report: &Report, row: usize) -> bool {
    let mut judged = judgements(report, row).peekable();
    judged.peek().is_some() && judged.all(|judgement| judgement.verdict == Verdict::Holds)
}

/// Whether some row of the specification is broken, at every frequency of the grid.
pub fn is_broken_at(report: &Report) -> Vec<bool> {
    let mut is_broken = vec![false; report.intake.frequency_hz.len()];
    let rows = 0..report.settings.specification.len();
    for judgement in rows.flat_map(|row| judgements(report, row)) {
        for &index in &judgement.broken_at {
            is_broken[index] = true;
        }
    }
    is_broken
}

/// How many rows are broken, and at how many frequencies, and how many are left open; `None` until they are judged, and
/// without any.
pub fn broken_sentence(report: &Report) -> Option<String> {
    let rows = report.settings.specification.len();
    if rows == 0 || !report.parts.as_deref()?.is_judged {
        return None;
    }
    let broken = (0..rows).filter(|&row| is_broken(report, row)).count();
    let open = (0..rows).filter(|&row| !is_broken(report, row) && !holds(report, row)).count();
    let places = is_broken_at(report).into_iter().filter(|is_broken| *is_broken).count();
    let points = report.intake.frequency_hz.len();
    let left_open = match open {
        0 => String::new(),
        open => format!(
            "; {open} could not be decided or {} not measured",
            if open == 1 { "was" } else { "were" }
        ),
    };
    Some(match (rows, broken, open) {
        (1, 0, 1) => "The limit specified could not be decided or was not measured.".to_owned(),
        (1, 0, _) => "The limit specified is broken nowhere.".to_owned(),
        (_, 0, _) => format!("None of the {rows} limits specified is seen to be broken{left_open}."),
        (1, ..) => format!("The limit specified is broken at {places} of {points} frequencies, drawn thick."),
        _ => format!(
            "Of the {rows} limits specified {broken} {} broken, at {places} of {points} frequencies, drawn thick{left_open}.",
            if broken == 1 { "is" } else { "are" }
        ),
    })
}
