//! Question 3: does each part hold its specification?

mod against_frequency;
mod line;
mod notes;
mod over_frequency;

pub use against_frequency::{against_frequency, from_typical, typical_difference};
pub use line::{LineVerdict, SpecificationLine, limit_text};
pub use over_frequency::{SpecifiedBand, broken_sentence, is_broken_at, specified_bands};

use super::Provenance;
use super::answer::{Answer, Figure, Verdict};
use super::no_analysis::no_analysis_sentence;
use super::wording::{all_of, capital, counted, frequency, frequency_range, in_quantity, joined};
use crate::control::Quantity;
use crate::part::{self, FieldAt, RmsVariant};
use crate::pipeline::{Analysis, Graded, GradedField, Parts, Report};

pub(super) fn answer(report: &Report, _provenance: &Provenance) -> Answer {
    let lines = lines(report);
    let parts = report.parts.as_deref();
    let (figures, notes) = match (&report.analysis, parts) {
        (Ok(analysis), Some(parts)) => {
            (figures(report, analysis, parts, &lines), notes::of(report, analysis, parts))
        }
        _ => (Vec::new(), Vec::new()),
    };
    Answer {
        key: "parts",
        number: 3,
        question: "Does each part hold its specification?",
        sentence: sentence(report, &lines),
        verdict: verdict(&lines),
        figures,
        notes,
    }
}

/// Every row of the specification with what became of it, in the user's order.
pub(super) fn lines(report: &Report) -> Vec<SpecificationLine> {
    let rows = report.settings.specification.iter().enumerate();
    rows.map(|(number, row)| line::of(row, number, report)).collect()
}

/// "gain field", and which one where the layout has several.
pub fn field_name(field: &GradedField, parts: &Parts) -> String {
    let alike = parts.fields.iter().filter(|other| other.quantity == field.quantity).count();
    let kind = kind(field.quantity);
    match field.field {
        Some(number) if alike > 1 => format!("{kind} field (field {} of the layout)", number + 1),
        _ => format!("{kind} field"),
    }
}

/// A figure's name as a title: "RMS phase error".
pub fn figure_title(figure: part::Figure) -> String {
    let name = figure.name();
    name.strip_prefix("rms ").map_or_else(|| capital(name), |rest| format!("RMS {rest}"))
}

fn kind(quantity: Quantity) -> &'static str {
    match quantity {
        Quantity::Gain => "gain",
        Quantity::Phase => "phase",
    }
}

/// The fields that could be graded.
fn graded(parts: &Parts) -> impl Iterator<Item = (&GradedField, &Graded)> {
    parts.fields.iter().filter_map(|field| Some((field, field.graded.as_deref().ok()?)))
}

fn verdict(lines: &[SpecificationLine]) -> Option<Verdict> {
    let verdicts: Option<Vec<LineVerdict>> = lines.iter().map(|line| line.verdict).collect();
    let verdicts = verdicts.filter(|verdicts| !verdicts.is_empty())?;
    let has = |wanted: LineVerdict| verdicts.contains(&wanted);
    Some(if has(LineVerdict::Fails) {
        Verdict::Fails
    } else if has(LineVerdict::NotDecidable) || has(LineVerdict::NotMeasured) {
        Verdict::NotDecidable
    } else {
        Verdict::Holds
    })
}

fn sentence(report: &Report, lines: &[SpecificationLine]) -> String {
    let analysis = match &report.analysis {
        Ok(analysis) => analysis,
        Err(reason) => return format!("No field can be graded. {}", no_analysis_sentence(reason)),
    };
    let Some(parts) = report.parts.as_deref() else { return "The fields are being graded.".to_owned() };
    if parts.fields.is_empty() {
        return "The names say nothing of gain or phase, so there is no field to hold against a specification."
            .to_owned();
    }
    if graded(parts).next().is_none() {
        let error = parts.fields.iter().find_map(|field| field.graded.as_ref().err());
        return format!("No field can be graded. {}", error.map_or_else(String::new, ToString::to_string));
    }
    if lines.is_empty() {
        return without_limits(report, analysis, parts);
    }
    if !parts.is_judged {
        return format!(
            "The fields are graded; {} of the specification {} once the checks of the run have told its noise.",
            counted(lines.len(), "row", "rows"),
            if lines.len() == 1 { "is judged" } else { "are judged" }
        );
    }
    held_against(lines)
}

fn held_against(lines: &[SpecificationLine]) -> String {
    let with = |wanted: fn(LineVerdict) -> bool| -> Vec<&SpecificationLine> {
        lines.iter().filter(|line| line.verdict.is_some_and(wanted)).collect()
    };
    let fails = with(|verdict| verdict == LineVerdict::Fails);
    let open = with(|verdict| matches!(verdict, LineVerdict::NotDecidable | LineVerdict::NotMeasured));
    let rows = counted(lines.len(), "row", "rows");
    let more = |lines: &[&SpecificationLine]| match lines.len() - 1 {
        0 => String::new(),
        more => format!(", and {} more", counted(more, "row", "rows")),
    };
    if let Some(outermost) = tightest(&fails) {
        let undecided = match open.len() {
            0 => String::new(),
            count => format!("; {count} cannot be decided"),
        };
        let fail = if lines.len() == 1 {
            "The only row of the specification fails".to_owned()
        } else if lines.len() == fails.len() {
            capital(&format!("{} of the specification fail", all_of(lines.len(), "rows")))
        } else {
            format!(
                "{} of {rows} of the specification {}",
                fails.len(),
                if fails.len() == 1 { "fails" } else { "fail" }
            )
        };
        return format!("{fail}: {}{}{undecided}.", outermost.clause, more(&fails));
    }
    if let Some(first) = open.first() {
        let held = match lines.len() - open.len() {
            0 => "Of the specification no row can be decided".to_owned(),
            held => format!(
                "{held} of {rows} of the specification {}, {} cannot be decided",
                if held == 1 { "holds" } else { "hold" },
                open.len()
            ),
        };
        return format!("{held}: {}{}.", first.clause, more(&open));
    }
    let all: Vec<&SpecificationLine> = lines.iter().collect();
    let nearest = tightest(&all).map_or("", |line| line.clause.as_str());
    match lines.len() {
        1 => format!("The only row of the specification holds: {nearest}."),
        several => capital(&format!(
            "{} of the specification hold; nearest to its limit, {nearest}.",
            all_of(several, "rows")
        )),
    }
}

/// The line that has least of its limit left; of those that differ by rounding alone the first in the user's order.
fn tightest<'a>(lines: &[&'a SpecificationLine]) -> Option<&'a SpecificationLine> {
    let left = |line: &SpecificationLine| line.share_of_limit_left();
    let least = lines.iter().map(|line| left(line)).reduce(f64::min)?;
    let is_least = |line: &SpecificationLine| left(line) <= least || left(line) - least <= 1e-9 * least.abs();
    lines.iter().find(|line| is_least(line)).copied()
}

/// The largest RMS error of each field over the design band.
fn without_limits(report: &Report, analysis: &Analysis, parts: &Parts) -> String {
    let grid = &report.intake.frequency_hz;
    let design = analysis.design_band.clone();
    let one = |(field, graded): (&GradedField, &Graded)| {
        let rms = |index: &usize| {
            RmsVariant::trade(field.quantity).of(&graded.slice, &graded.at[*index].state_errors)
        };
        // Of equal ones the lowest frequency.
        let worst = design.clone().rev().max_by(|a, b| {
            let finite = |index| Some(rms(index)).filter(|value| !value.is_nan()).unwrap_or(-1.0);
            finite(a).total_cmp(&finite(b))
        })?;
        let value = in_quantity(field.quantity, rms(&worst));
        Some(format!("{value} of the {} at {}", field_name(field, parts), frequency(grid[worst])))
    };
    let errors: Vec<String> = graded(parts).filter_map(one).collect();
    format!(
        "{}, the RMS state error is at most {}; no limits were given to hold that against.",
        capital(&frequency_range(grid[*design.start()], grid[*design.end()])),
        joined(&errors)
    )
}

fn figures(report: &Report, analysis: &Analysis, parts: &Parts, lines: &[SpecificationLine]) -> Vec<Figure> {
    let chosen = analysis.service.index;
    // Of several fields of a kind, the worst.
    let worst = |quantity: Quantity, value: fn(&Graded, &FieldAt) -> f64| {
        let of_kind = graded(parts).filter(|(field, _)| field.quantity == quantity);
        of_kind
            .map(|(_, graded)| value(graded, &graded.at[chosen]))
            .filter(|value| !value.is_nan())
            .reduce(f64::max)
    };
    let rms = |graded: &Graded, at: &FieldAt| {
        RmsVariant::trade(graded.slice.quantity).of(&graded.slice, &at.state_errors)
    };
    let cross = |graded: &Graded, at: &FieldAt| {
        at.cross_effect(&graded.slice).map_or(f64::NAN, |effect| effect.peak_to_peak)
    };
    let mut figures = Vec::new();
    let named = [
        (
            worst(Quantity::Gain, rms).map(|value| {
                Figure::decibels(
                    "field_rms_gain_error_db",
                    "RMS gain error of the gain field at the chosen frequency",
                    value,
                )
            }),
            worst(Quantity::Gain, cross).map(|value| {
                Figure::degrees(
                    "phase_over_gain_codes_deg",
                    "phase over gain codes, from lowest to highest",
                    value,
                )
            }),
        ),
        (
            worst(Quantity::Phase, rms).map(|value| {
                Figure::degrees(
                    "field_rms_phase_error_deg",
                    "RMS phase error of the phase field at the chosen frequency",
                    value,
                )
            }),
            worst(Quantity::Phase, cross).map(|value| {
                Figure::decibels(
                    "gain_over_phase_codes_db",
                    "gain over phase codes, from lowest to highest",
                    value,
                )
            }),
        ),
    ];
    figures.extend(named.into_iter().flat_map(|(own, other)| [own, other]).flatten());
    if let Some((_, graded)) = graded(parts).next() {
        let measured = graded.measured(&report.intake.frequency_hz, None);
        let loss = measured.readings(part::Figure::InsertionLoss, chosen);
        let loss = loss.ok().and_then(|readings| Some(readings.first()?.value));
        figures.extend(loss.map(|loss| {
            Figure::decibels("code_zero_loss_db", "loss at code 0 at the chosen frequency", loss)
        }));
    }
    if verdict(lines).is_some() {
        let count = |verdict| lines.iter().filter(|line| line.verdict == Some(verdict)).count();
        let open = count(LineVerdict::NotDecidable) + count(LineVerdict::NotMeasured);
        figures.push(Figure::count("specification_rows_held", "rows that hold", count(LineVerdict::Holds)));
        figures.push(Figure::count("specification_rows_failed", "rows that fail", count(LineVerdict::Fails)));
        figures.push(Figure::count("specification_rows_open", "rows that cannot be decided", open));
    }
    figures
}
