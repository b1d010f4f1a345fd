//! What question 5 says of tables beyond that of the chosen frequency: one for the design band, the fewest for it, and how
//! these and the chosen words do on a second capture.

use super::answer::{Figure, Note};
use super::wording::{
    counted, decibels, degrees, exact, frequency, frequency_range, joined, percent, ratio_percent, whole,
};
use crate::pipeline::{
    Along, Analysis, BandError, FewestForBand, HeldError, Report, TableForBand, TableForPiece,
};
use crate::plane::Score;
use crate::table::{BandOnSecondCapture, OnSecondCapture, OutOfReach};
use std::ops::RangeInclusive;

/// The edges of so many pieces are told in a note; of more, only the table on the page tells them.
const PIECES_NAMED: usize = 4;

/// So many settings that are out of reach are named.
const SETTINGS_NAMED: usize = 3;

/// "One table from 8 to 12 GHz errs 3.1 % at worst, a table per frequency 2.2 %; 2 tables hold 5 %."; `None` until it is
/// worked out, and where the band is one frequency, which has but one table.
pub(super) fn sentence(report: &Report) -> Option<String> {
    let one = report.tables.band.as_deref().filter(|one| one.band.start() != one.band.end())?;
    let (band_table, per_frequency) = one.table.penalty(one.error)?;
    let grid = &report.intake.frequency_hz;
    if per_frequency >= WHOLE {
        return Some(beyond_reach(report, one, band_table, per_frequency));
    }
    let held = report.tables.fewest.as_deref().map(|fewest| held_clause(fewest, grid)).unwrap_or_default();
    Some(format!(
        "One table {} has a vector error of {} {}, a table per frequency {}{held}.",
        range(grid, &one.band),
        ratio_percent(band_table),
        kind(one.error),
        ratio_percent(per_frequency)
    ))
}

/// A vector error as large as the setting itself: no signal at all would be no farther away.
const WHOLE: f64 = 1.0;

/// Of a band over which even a table per frequency errs as much as that: how many settings it misses so tells more than by
/// how much one table is worse.
fn beyond_reach(report: &Report, one: &TableForBand, band_table: f64, per_frequency: f64) -> String {
    let band = range(&report.intake.frequency_hz, &one.band);
    let (error, least, kind) = (ratio_percent(band_table), ratio_percent(per_frequency), kind(one.error));
    let missed = one.table.per_frequency.iter().filter(|error| **error >= WHOLE).count();
    let by_their_own_size = match one.error {
        BandError::Worst => format!(
            "; even a table per frequency misses {} of {} by 100 % or more somewhere, {} {kind}",
            whole(missed),
            counted(one.table.per_frequency.len(), "setting", "settings"),
            if least == error { "as much" } else { &least }
        ),
        BandError::Rms => format!(", even a table per frequency {least}"),
    };
    // Where the centre is better, so is a band about it.
    let largest_at_centre = report
        .analysis
        .as_ref()
        .ok()
        .and_then(|analysis| analysis.frequencies.get(analysis.centre)?.chosen.largest_vector_error);
    let advice = match largest_at_centre {
        Some(largest) if largest.error < WHOLE => " A narrower design band would do better.",
        _ => "",
    };
    format!("One table {band} has a vector error of {error} {kind}{by_their_own_size}.{advice}")
}

/// "at worst" or "RMS".
pub fn kind(error: BandError) -> &'static str {
    match error {
        BandError::Worst => "at worst",
        BandError::Rms => "RMS",
    }
}

fn held_clause(fewest: &FewestForBand, grid: &[f64]) -> String {
    let held = held(fewest.limit);
    match &fewest.tables {
        Ok(tables) if tables.len() == 1 => format!("; 1 table holds {held}"),
        Ok(tables) => format!("; {} tables hold {held}", whole(tables.len())),
        Err(out) => format!(
            "; no number of tables holds {held}, since {} out of reach at {}",
            settings_are(out.targets.len()),
            frequency(grid[out.frequency])
        ),
    }
}

fn settings_are(count: usize) -> String {
    format!("{} {}", counted(count, "setting", "settings"), if count == 1 { "is" } else { "are" })
}

/// "5 %"
fn held(limit_on: HeldError) -> String {
    format!("{} %", exact(limit_on.pct()))
}

fn range(grid: &[f64], indices: &RangeInclusive<usize>) -> String {
    frequency_range(grid[*indices.start()], grid[*indices.end()])
}

pub(super) fn notes(report: &Report, analysis: &Analysis) -> Vec<Note> {
    let mut notes = Vec::new();
    let grid = &report.intake.frequency_hz;
    let band = report.tables.band.as_deref().filter(|one| one.band.start() != one.band.end());
    match (band, report.tables.fewest.as_deref()) {
        (Some(_), Some(fewest)) => {
            notes.extend(proposal(fewest.limit));
            notes.push(match &fewest.tables {
                Ok(tables) => Note::remark(pieces(fewest.limit, tables, grid)),
                Err(out) => Note::attention(out_of_reach(fewest.limit, out, analysis, grid)),
            });
        }
        (Some(one), None) if one.table.per_frequency.iter().any(|error| *error > 0.0) => {
            let beyond = whole_percent(HeldError::LARGEST_PCT / 1.25);
            notes.push(Note::remark(format!(
                "No error to be held by the fewest tables is proposed, since even a table per frequency errs more than \
                 {beyond} somewhere."
            )));
        }
        _ => {}
    }
    notes.extend(report.tables.second_capture.map(|again| second_capture(&again, analysis)));
    notes.extend(
        report
            .tables
            .band_on_second_capture
            .filter(|_| band.is_some())
            .map(|again| band_on_second_capture(&again, analysis)),
    );
    notes
}

fn whole_percent(pct: f64) -> String {
    format!("{} %", exact(pct))
}

/// Where the user gives the error that the fewest tables hold.
const CORRECT: &str = "give another at “The fewest tables hold a vector error of”.";

/// Where a limit comes from that the user has not given.
fn proposal(limit_on: HeldError) -> Option<Note> {
    let held = held(limit_on);
    match limit_on {
        HeldError::Given { .. } => None,
        HeldError::Corner { .. } => Some(Note::guess(
            format!("{held} is the error to hold."),
            "it is how far the corner of the tolerance cell is, and over the band a table per frequency keeps it.",
            CORRECT,
        )),
        HeldError::Margin { .. } => Some(Note::guess(
            format!("{held} is the error to hold."),
            "it is a quarter more than a table per frequency errs at worst.",
            CORRECT,
        )),
    }
}

/// "2 tables hold 5 %: from 8 to 10.1 GHz and from 10.15 to 12 GHz."
fn pieces(limit_on: HeldError, tables: &[TableForPiece], grid: &[f64]) -> String {
    let ranges: Vec<String> =
        tables.iter().take(PIECES_NAMED).map(|table| range(grid, &table.piece)).collect();
    let rest = if tables.len() > PIECES_NAMED { "; the list of tables tells the others" } else { "" };
    let hold = if tables.len() == 1 { "table holds" } else { "tables hold" };
    let ranges = if rest.is_empty() { joined(&ranges) } else { ranges.join(", ") };
    format!("{} {hold} {}: {ranges}{rest}.", whole(tables.len()), held(limit_on))
}

fn out_of_reach(limit_on: HeldError, out: &OutOfReach, analysis: &Analysis, grid: &[f64]) -> String {
    let name = |&target: &usize| {
        let setting = analysis.targets[target].setting;
        format!("{} dB, {}°", exact(setting.gain_db), exact(setting.phase_deg))
    };
    let mut named: Vec<String> = out.targets.iter().take(SETTINGS_NAMED).map(name).collect();
    if out.targets.len() > SETTINGS_NAMED {
        named.push(format!("{} more", whole(out.targets.len() - SETTINGS_NAMED)));
    }
    let separated = match named.as_slice() {
        [first @ .., last] if !first.is_empty() => format!("{} and {last}", first.join("; ")),
        _ => named.concat(),
    };
    format!(
        "At {} no state comes within {} of {}: {separated}. From there on no table is looked for.",
        frequency(grid[out.frequency]),
        held(limit_on),
        counted(out.targets.len(), "setting", "settings")
    )
}

fn second_capture(again: &OnSecondCapture, analysis: &Analysis) -> Note {
    let all = counted(analysis.targets.len(), "setting", "settings");
    if again.targets == 1 {
        let within = |score: &Score| score.within_both_pct > 0.0;
        let tolerance = match (within(&again.own), within(&again.other)) {
            (true, true) => "is within tolerance on both captures",
            (true, false) => "is within tolerance on the first capture only",
            (false, true) => "is within tolerance on the second capture only",
            (false, false) => "is outside tolerance on both captures",
        };
        return Note::remark(format!(
            "On a second capture, which did not choose it, the word of 1 of {all} errs {}, and {tolerance}.",
            compared(again.other.rms_vector_error, again.own.rms_vector_error, "", ratio_percent)
        ));
    }
    Note::remark(format!(
        "On a second capture, which did not choose them, the words of {} of {all} err {}, and {}.",
        whole(again.targets),
        compared(again.other.rms_vector_error, again.own.rms_vector_error, " RMS", ratio_percent),
        compared(
            again.other.within_both_pct,
            again.own.within_both_pct,
            " of these settings are within tolerance",
            percent
        )
    ))
}

fn band_on_second_capture(again: &BandOnSecondCapture, analysis: &Analysis) -> Note {
    let all = counted(analysis.targets.len(), "setting", "settings");
    let what = format!(" {} over {} of {all}", kind(again.error), whole(again.targets));
    Note::remark(format!(
        "On a second capture, which did not choose it, the one table for the band errs {}.",
        compared(again.other, again.own, &what, ratio_percent)
    ))
}

/// What a second capture has of something beside what the first had: "3.1 % RMS instead of 2.2 %", "1.5 % RMS, as before".
fn compared(other: f64, own: f64, what: &str, text: fn(f64) -> String) -> String {
    let (now, before) = (text(other), text(own));
    if now == before { format!("{now}{what}, as before") } else { format!("{now}{what} instead of {before}") }
}

pub(super) fn figures(report: &Report) -> Vec<Figure> {
    let mut figures = Vec::new();
    if let Some(one) = report.tables.band.as_deref()
        && let Some((band_table, per_frequency)) = one.table.penalty(one.error)
    {
        let (name, label, per_name, per_label) = match one.error {
            BandError::Worst => (
                "band_table_worst_vector_error_pct",
                "One table for the band, worst vector error",
                "per_frequency_worst_vector_error_pct",
                "A table per frequency, worst vector error",
            ),
            BandError::Rms => (
                "band_table_rms_vector_error_pct",
                "One table for the band, RMS vector error",
                "per_frequency_rms_vector_error_pct",
                "A table per frequency, RMS vector error",
            ),
        };
        figures.push(Figure::ratio(name, label, band_table));
        figures.push(Figure::ratio(per_name, per_label, per_frequency));
    }
    if let Some(fewest) = report.tables.fewest.as_deref() {
        let (pct, text) = (fewest.limit.pct(), held(fewest.limit));
        figures.push(Figure::new(
            "held_error_pct",
            "Vector error that the fewest tables hold",
            pct,
            "%",
            text,
        ));
        if let Ok(tables) = &fewest.tables {
            figures.push(Figure::count("fewest_tables", "Fewest tables for the band", tables.len()));
        }
    }
    if let Some(again) = &report.tables.second_capture {
        figures.push(Figure::count(
            "second_capture_settings",
            "Settings whose chosen words were captured again",
            again.targets,
        ));
        figures.push(Figure::ratio(
            "second_capture_rms_vector_error_pct",
            "RMS vector error of these on the second capture",
            again.other.rms_vector_error,
        ));
        figures.push(Figure::ratio(
            "second_capture_own_rms_vector_error_pct",
            "RMS vector error of these on the capture that chose them",
            again.own.rms_vector_error,
        ));
    }
    if let Some(again) = &report.tables.band_on_second_capture {
        let (name, label, own_name, own_label) = match again.error {
            BandError::Worst => (
                "band_table_second_capture_worst_vector_error_pct",
                "Worst vector error of the band's table on the second capture",
                "band_table_second_capture_own_worst_vector_error_pct",
                "Worst vector error of the same words of it on the capture that chose them",
            ),
            BandError::Rms => (
                "band_table_second_capture_rms_vector_error_pct",
                "RMS vector error of the band's table on the second capture",
                "band_table_second_capture_own_rms_vector_error_pct",
                "RMS vector error of the same words of it on the capture that chose them",
            ),
        };
        figures.push(Figure::count(
            "band_table_second_capture_settings",
            "Settings whose words of the band's table were captured again",
            again.targets,
        ));
        figures.push(Figure::ratio(name, label, again.other));
        figures.push(Figure::ratio(own_name, own_label, again.own));
    }
    figures
}

/// The tables for the band as a head and rows of texts: the one for all of it, then the fewest with their edges. `None` until
/// they are worked out.
pub fn rows(report: &Report) -> Option<(Vec<String>, Vec<Vec<String>>)> {
    let one = report.tables.band.as_deref()?;
    let head = [
        "Table",
        "From",
        "To",
        "Vector error",
        "Largest gain error",
        "Largest phase error",
        "Highest transmission",
    ];
    let grid = &report.intake.frequency_hz;
    let row = |name: String, piece: &RangeInclusive<usize>, error: String, along: &[Along]| {
        let largest = |value: fn(&Along) -> f64| along.iter().map(value).fold(f64::NEG_INFINITY, f64::max);
        let edges = [frequency(grid[*piece.start()]), frequency(grid[*piece.end()])];
        let along = [
            decibels(largest(|along| along.gain_error_db.abs())),
            degrees(largest(|along| along.phase_error_deg.abs())),
            decibels(largest(|along| along.transmission_db)),
        ];
        [name].into_iter().chain(edges).chain([error]).chain(along).collect()
    };
    let of_all = |one: &TableForBand| {
        let (error, _) = one.table.penalty(one.error)?;
        let error = format!("{} {}", ratio_percent(error), kind(one.error));
        Some(row("One for the band".to_owned(), &one.band, error, &one.along))
    };
    let mut rows: Vec<Vec<String>> = of_all(one).into_iter().collect();
    if let Some(Ok(tables)) = report.tables.fewest.as_deref().map(|fewest| &fewest.tables) {
        let count = tables.len();
        rows.extend(tables.iter().zip(1..).map(|(table, number)| {
            let error = table.errors.iter().copied().fold(0.0, f64::max);
            let error = format!("{} {}", ratio_percent(error), kind(BandError::Worst));
            row(format!("{} of {}", whole(number), whole(count)), &table.piece, error, &table.along)
        }));
    }
    Some((head.map(str::to_owned).to_vec(), rows))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_reads_the_same_is_said_to() {
        assert_eq!(compared(0.0149, 0.0151, "", ratio_percent), "1.5 %, as before");
        assert_eq!(compared(0.031, 0.022, " RMS", ratio_percent), "3.1 % RMS instead of 2.2 %");
    }
}
