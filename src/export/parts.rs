//! Plots of one field: errors over its codes, and figures against frequency.

use super::part_traces::tightest;
use crate::chart::{self, ChartError, CodesData, Curve, CurvesData, Frame, Limit, Role, Theme, Vertical};
use crate::control::Quantity;
use crate::part::{Figure, RmsVariant, SpecificationRow, Unit};
use crate::pipeline::{Analysis, Graded, Report};
use crate::sheet::parts::{against_frequency as extremes, figure_title};
use plotters::prelude::DrawingBackend;

/// The state error of every code at the chosen frequency, with the limits that hold there; one may be marked.
pub fn state_errors<B: DrawingBackend>(
    surface: &mut B,
    frame: Frame,
    theme: &Theme,
    report: &Report,
    analysis: &Analysis,
    graded: &Graded,
    marked: Option<usize>,
) -> Result<(), ChartError> {
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
    graded: &Graded,
    marked: Option<usize>,
) -> Result<(), ChartError> {
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

/// The lowest and the highest value of a figure at every frequency, with its limit at the chosen one and the typical
/// curve.
pub fn against_frequency<B: DrawingBackend>(
    surface: &mut B,
    frame: Frame,
    theme: &Theme,
    report: &Report,
    analysis: &Analysis,
    graded: &Graded,
    figure: Figure,
) -> Result<(), ChartError> {
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
    if let Some(values) = &typical {
        curves.push(Curve { label: "typical", values, role: Role::Second });
    }
    let chosen_hz = grid[analysis.service.index];
    let value = rows_at(report, figure, chosen_hz).find_map(|row| row.limits.at_most.or(row.limits.at_least));
    let unit = match figure.unit() {
        Unit::Degree => "°",
        unit => unit.name(),
    };
    let name = format!("{}, {unit}", figure_title(figure));
    let data = CurvesData {
        name: &name,
        frequency_hz: grid,
        curves: &curves,
        vertical: Vertical::Linear { from_zero: false },
        limit: value.map(|value| Limit { label: "limit", value }),
        design_band_hz: Some((grid[*analysis.design_band.start()], grid[*analysis.design_band.end()])),
        cursor_hz: Some(chosen_hz),
    };
    chart::curves(surface, frame, theme, &data).map(|_| ())
}
