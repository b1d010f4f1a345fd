//! Under the plots of question 3.

use crate::control::{Quantity, Word};
use crate::part::Figure;
use crate::pipeline::{Analysis, Graded, GradedField, Parts, Report};
use crate::run::Intake;
use crate::sheet::listed::word_name;
use crate::sheet::parts::{against_frequency, field_name, figure_title, from_typical};
use crate::sheet::wording::{all_of, counted, frequency, in_quantity, in_unit, whole};

/// Of a code that is marked in the plots of a field, because a word was picked out that has it.
pub fn marked(intake: &Intake, field: &GradedField, graded: &Graded, code: usize, word: Word) -> String {
    let Some(drawn) = graded.slice.words.get(code) else { return String::new() };
    let (picked, stands) = (word_name(intake, word), word_name(intake, *drawn));
    let held =
        if field.field.is_some() { "with the other fields held" } else { "with the other quantity held" };
    if graded.missing.contains(drawn) {
        format!("Code {code}, which {picked} of the plane has here, was not measured {held}.")
    } else if *drawn == word {
        format!("Marked is code {code}, {picked} of the plane.")
    } else {
        format!("Marked is code {code} of {picked} of the plane; {held}, {stands} is drawn for it.")
    }
}

/// Of the traces of a field's codes, every `every`th of which is drawn.
pub fn code_traces(
    report: &Report,
    parts: &Parts,
    field: &GradedField,
    graded: &Graded,
    every: usize,
) -> String {
    let what = match field.quantity {
        Quantity::Gain => "Relative gain",
        Quantity::Phase => "Relative phase",
    };
    let codes = whole(graded.slice.codes());
    let drawn = match every {
        1 => all_of(graded.slice.codes(), "codes"),
        every => format!("every {} of {codes} codes", ordinal(every)),
    };
    let error = Figure::StateError(field.quantity);
    let is_limited = report.settings.specification.iter().any(|row| row.figure == error);
    let limits = if is_limited {
        "shaded is what the specification allows, and what lies outside is thick and in colour"
    } else {
        "the straight lines are what each code should do"
    };
    format!("{what} of {drawn} of the {} against frequency; {limits}.", field_name(field, parts))
}

/// Of the errors of a field's codes as colour.
pub fn error_map(report: &Report, parts: &Parts, field: &GradedField, graded: &Graded) -> String {
    let grid = &report.intake.frequency_hz;
    let mut largest: Option<(f64, usize, usize)> = None;
    for (index, at) in graded.at.iter().enumerate() {
        for (code, &error) in at.state_errors.iter().enumerate().filter(|(_, error)| error.is_finite()) {
            // Of equal ones, rounding aside, the lowest frequency's.
            if largest.is_none_or(|(most, ..)| error.abs() > most.abs() * (1.0 + 1e-9)) {
                largest = Some((error, code, index));
            }
        }
    }
    let said = largest.map_or_else(String::new, |(error, code, index)| {
        let size = in_quantity(field.quantity, error);
        format!(" The largest is {size}, of code {code} at {}.", frequency(grid[index]))
    });
    let missing = match graded.missing.len() {
        0 => String::new(),
        missing => {
            format!(" {} not measured and struck through.", counted(missing, "code was", "codes were"))
        }
    };
    format!(
        "State error of every code of the {} at every frequency, blue below zero and orange above.{said}{missing}",
        field_name(field, parts)
    )
}

fn ordinal(number: usize) -> String {
    match number {
        2 => "second".to_owned(),
        3 => "third".to_owned(),
        other => format!("{other}th"),
    }
}

/// Of the state errors of a field's codes at the chosen frequency.
pub fn state_errors(report: &Report, analysis: &Analysis, name: &str, graded: &Graded) -> String {
    let errors = &graded.at[analysis.service.index].state_errors;
    let said = farthest(errors).map_or_else(String::new, |(code, error)| {
        format!(" The largest is {}, of code {code}.", in_quantity(graded.slice.quantity, error))
    });
    let figure = Figure::StateError(graded.slice.quantity);
    let limited = if is_limited(report, figure) { " A ring marks a code outside its limit." } else { "" };
    format!("State error of every code of the {name} at {}.{said}{limited}", here(report, analysis))
}

/// Of what a field's codes do to the other quantity at the chosen frequency.
pub fn cross_effects(report: &Report, analysis: &Analysis, name: &str, graded: &Graded) -> String {
    let (verb, other) = match graded.slice.quantity {
        Quantity::Gain => ("turns the phase", Quantity::Phase),
        Quantity::Phase => ("changes the gain", Quantity::Gain),
    };
    let effect = graded.at[analysis.service.index].cross_effect(&graded.slice);
    let said = effect.map_or_else(String::new, |effect| {
        format!(
            ": code {} does so most, by {}, and the codes span {}",
            effect.peak_code,
            in_quantity(other, effect.peak),
            in_quantity(other, effect.peak_to_peak)
        )
    });
    let figure = Figure::OverCodes(graded.slice.quantity);
    let limited = if is_limited(report, figure) { " A ring marks a code outside its limit." } else { "" };
    format!(
        "How much every code of the {name} {verb} at {}, from code 0{said}.{limited}",
        here(report, analysis)
    )
}

/// Of one figure against frequency.
pub fn field_figure(report: &Report, name: &str, graded: &Graded, figure: Figure) -> String {
    let grid = &report.intake.frequency_hz;
    let both = against_frequency(&graded.measured(grid, None), figure);
    let measured = || both.iter().zip(grid).filter_map(|(both, &hz)| Some(((*both)?, hz)));
    let lowest = measured().map(|((low, _), hz)| (low, hz)).reduce(|a, b| if b.0 < a.0 { b } else { a });
    let highest = measured().map(|((_, high), hz)| (high, hz)).reduce(|a, b| if b.0 > a.0 { b } else { a });
    let said = lowest.zip(highest).map_or_else(
        || ": nothing was measured of it".to_owned(),
        |((low, low_hz), (high, high_hz))| {
            format!(
                ": between {} at {} and {} at {}",
                in_unit(low, figure.unit()),
                frequency(low_hz),
                in_unit(high, figure.unit()),
                frequency(high_hz)
            )
        },
    );
    let rows = || report.settings.specification.iter().filter(|row| row.figure == figure);
    let growing = rows().filter(|row| row.limits.percent_of_setting > 0.0).count();
    let left_out =
        if growing > 0 { " Limits that grow with the setting are drawn over the codes only." } else { "" };
    format!("{} of the {name} against frequency{said}.{left_out}", figure_title(figure))
}

/// Of the distance between the measurement and the typical curve.
pub fn typical_difference(report: &Report, name: &str, graded: &Graded) -> String {
    let Some((figure, difference)) = from_typical(report, graded) else { return String::new() };
    let grid = &report.intake.frequency_hz;
    let known = difference.iter().zip(grid).filter_map(|(value, &hz)| Some(((*value)?, hz)));
    // Of equal ones the lowest frequency.
    let worst = known.reduce(|a, b| if b.0.abs() > a.0.abs() { b } else { a });
    let said = worst.map_or_else(String::new, |(value, hz)| {
        let side = if value < 0.0 { "below" } else { "above" };
        format!(": at most {} {side} it, at {}", in_unit(value.abs(), figure.unit()), frequency(hz))
    });
    format!("{} of the {name} minus the typical curve{said}.", figure_title(figure))
}

fn here(report: &Report, analysis: &Analysis) -> String {
    frequency(report.intake.frequency_hz[analysis.service.index])
}

fn is_limited(report: &Report, figure: Figure) -> bool {
    report.settings.specification.iter().any(|row| row.figure == figure)
}

/// The value farthest from zero and its index, of equal ones the first.
fn farthest(values: &[f64]) -> Option<(usize, f64)> {
    let measured = values.iter().copied().enumerate().filter(|(_, value)| value.is_finite());
    measured.reduce(|a, b| if b.1.abs() > a.1.abs() { b } else { a })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ordinals() {
        assert_eq!([2, 3, 4, 64].map(ordinal), ["second", "third", "4th", "64th"]);
    }
}
