//! Plots of one field: errors over its codes, and figures against frequency.

use super::part_traces::tightest;
use super::plots::design_band_hz;
use super::view::FieldInView;
use crate::chart::{self, ChartError, CodesData, Curve, CurvesData, Frame, Limit, Role, Theme, Vertical};
use crate::control::Quantity;
use crate::part::{Figure, RmsVariant, SpecificationRow};
use crate::pipeline::{Analysis, Graded, Report};
use crate::sheet::parts::{against_frequency as extremes, figure_title, from_typical};
use plotters::prelude::DrawingBackend;

/// The state error of every code at the chosen frequency, with the limits that hold there; one may be marked.
pub fn state_errors<B: DrawingBackend>(
    surface: &mut B,
    frame: Frame,
    theme: &Theme,
    report: &Report,
    analysis: &Analysis,
    field: FieldInView,
) -> Result<(), ChartError> {
    let FieldInView { graded, marked, .. } = field;
    let quantity = graded.slice.quantity;
    let name = match quantity {
        Quantity::Gain => "State error of gain, dB",
        Quantity::Phase => "State error of phase, °",
    };
    let values = &graded.at[analysis.service.index].state_errors;
    let figure = Figure::StateError(quantity);
    let (lower, upper) = limits(report, analysis, graded, figure);
    let data = CodesData { name, values, lower: &lower, upper: &upper, marked };
    chart::codes(surface, frame, theme, &data)
}

/// What every code does to the other quantity at the chosen frequency; one may be marked.
pub fn cross_effects<B: DrawingBackend>(
    surface: &mut B,
    frame: Frame,
    theme: &Theme,
    report: &Report,
    analysis: &Analysis,
    field: FieldInView,
) -> Result<(), ChartError> {
    let FieldInView { graded, marked, .. } = field;
    let quantity = graded.slice.quantity;
    let name = match quantity {
        Quantity::Gain => "Phase over gain codes, °",
        Quantity::Phase => "Gain over phase codes, dB",
    };
    let values = &graded.at[analysis.service.index].other;
    let figure = Figure::OverCodes(quantity);
    let (lower, upper) = limits(report, analysis, graded, figure);
    let data = CodesData { name, values, lower: &lower, upper: &upper, marked };
    chart::codes(surface, frame, theme, &data)
}

/// Lower and upper limit of every code.
pub(super) type CodeLimits = (Vec<Option<f64>>, Vec<Option<f64>>);

/// The rows about a figure at a frequency.
pub(super) fn rows_at(
    report: &Report,
    figure: Figure,
    frequency_hz: f64,
) -> impl Iterator<Item = &SpecificationRow> {
    let rows = report.settings.specification.iter();
    rows.filter(move |row| row.figure == figure && row.covers(frequency_hz))
}

/// The tightest limits of every code but code 0, which has no error of its own.
pub(super) fn limits(report: &Report, analysis: &Analysis, graded: &Graded, figure: Figure) -> CodeLimits {
    let frequency_hz = report.intake.frequency_hz[analysis.service.index];
    let of_code = |(code, setting): (usize, &f64)| {
        if code == 0 { (None, None) } else { tightest(report, figure, frequency_hz, *setting) }
    };
    graded.slice.nominal.iter().enumerate().map(of_code).unzip()
}

/// The figure of that name, where the field has it; else the typical curve's, else the field's own RMS error.
pub fn figure_for(name: &str, graded: &Graded, report: &Report) -> Figure {
    let quantity = graded.slice.quantity;
    let typical = report.settings.typical.as_ref().map(|typical| typical.figure);
    [Figure::named(name), typical]
        .into_iter()
        .flatten()
        .find(|figure| figure.quantity().is_none_or(|own| own == quantity))
        .unwrap_or(Figure::Rms(RmsVariant::trade(quantity)))
}

/// The lowest and the highest value of a figure at every frequency, with its limits over their sub-bands, the typical curve and
/// the value of the code marked. Limits that grow with the setting have no one height here and are left to the plots over codes.
pub fn against_frequency<B: DrawingBackend>(
    surface: &mut B,
    frame: Frame,
    theme: &Theme,
    report: &Report,
    analysis: &Analysis,
    field: FieldInView,
    figure: Figure,
) -> Result<(), ChartError> {
    let FieldInView { graded, marked, .. } = field;
    let grid = &report.intake.frequency_hz;
    let both = extremes(&graded.measured(grid, None), figure);
    let low: Vec<Option<f64>> = both.iter().map(|both| both.map(|both| both.0)).collect();
    let high: Vec<Option<f64>> = both.iter().map(|both| both.map(|both| both.1)).collect();
    let typical = report.settings.typical.as_ref().filter(|typical| typical.figure == figure);
    let typical = typical.map(|typical| typical.curve.on(grid));
    let mut curves = Vec::new();
    if low == high {
        curves.push(Curve { label: "measured", values: &high, role: Role::First });
    } else {
        curves.push(Curve { label: "highest", values: &high, role: Role::First });
        curves.push(Curve { label: "lowest", values: &low, role: Role::Third });
    }
    let marked = marked.and_then(|code| Some((code, of_code(graded, figure, grid, code)?)));
    let label = marked.as_ref().map_or_else(String::new, |(code, _)| format!("code {code}"));
    if let Some((_, values)) = &marked {
        curves.push(Curve { label: &label, values, role: Role::Fifth });
    }
    if let Some(values) = &typical {
        curves.push(Curve { label: "typical", values, role: Role::Second });
    }
    let limits = limits_of(report, figure);
    let name = format!("{}, {}", figure_title(figure), figure.unit().sign());
    on_grid(surface, frame, theme, report, analysis, &name, &curves, &limits)
}

/// A figure's value of one code at every frequency; `None` of a figure over all codes, and where nothing was measured of it.
pub(super) fn of_code(
    graded: &Graded,
    figure: Figure,
    grid: &[f64],
    code: usize,
) -> Option<Vec<Option<f64>>> {
    let word = *graded.slice.words.get(code)?;
    let measured = graded.measured(grid, None);
    // A figure over all codes has no value of one.
    let first = (0..grid.len()).find_map(|index| measured.readings(figure, index).ok()?.first().copied())?;
    first.word?;
    let value = |index| {
        let readings = measured.readings(figure, index).ok()?;
        let own = readings.iter().find(|reading| reading.word == Some(word))?;
        Some(own.value).filter(|value| value.is_finite())
    };
    let values: Vec<Option<f64>> = (0..grid.len()).map(value).collect();
    values.iter().any(Option::is_some).then_some(values)
}

/// Measured minus the typical curve at every frequency, about a line at none; empty where the field has no such figure.
pub fn typical_difference<B: DrawingBackend>(
    surface: &mut B,
    frame: Frame,
    theme: &Theme,
    report: &Report,
    analysis: &Analysis,
    graded: &Graded,
) -> Result<(), ChartError> {
    let Some((figure, difference)) = from_typical(report, graded) else { return Ok(()) };
    let none = Limit { label: "typical", value: 0.0, over_hz: None };
    let curves = [Curve { label: "measured", values: &difference, role: Role::First }];
    let name = format!("{} minus typical, {}", figure_title(figure), figure.unit().sign());
    on_grid(surface, frame, theme, report, analysis, &name, &curves, &[none])
}

#[expect(clippy::too_many_arguments, reason = "a plot's surface, its report, and what is drawn of it")]
fn on_grid<B: DrawingBackend>(
    surface: &mut B,
    frame: Frame,
    theme: &Theme,
    report: &Report,
    analysis: &Analysis,
    name: &str,
    curves: &[Curve],
    limits: &[Limit],
) -> Result<(), ChartError> {
    let grid = &report.intake.frequency_hz;
    let data = CurvesData {
        name,
        frequency_hz: grid,
        curves,
        vertical: Vertical::Linear { from_zero: false },
        limits,
        design_band_hz: Some(design_band_hz(grid, analysis)),
        cursor_hz: Some(grid[analysis.service.index]),
        lane: None,
    };
    chart::curves(surface, frame, theme, &data).map(|_| ())
}

/// Every limit of a figure that is the same for all settings.
fn limits_of(report: &Report, figure: Figure) -> Vec<Limit<'static>> {
    let rows = report.settings.specification.iter();
    let fixed = rows.filter(|row| row.figure == figure && row.limits.percent_of_setting == 0.0);
    let of_row = |row: &SpecificationRow| {
        let over_hz = Some((row.from_hz.unwrap_or(0.0), row.to_hz.unwrap_or(f64::INFINITY)));
        let limit = |label, value: Option<f64>| value.map(|value| Limit { label, value, over_hz });
        [limit("at most", row.limits.at_most), limit("at least", row.limits.at_least)].into_iter().flatten()
    };
    fixed.flat_map(of_row).collect()
}
