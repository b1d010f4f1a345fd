//! The plots of one field over codes and frequencies at once: its codes' traces, and their errors as a map.

use super::parts::rows_at;
use super::plots::design_band_hz;
use super::view::FieldInView;
use crate::chart::{self, ChartError, CodeTrace, CodeTracesData, ErrorMapData, Frame, Theme};
use crate::control::Quantity;
use crate::part::Figure;
use crate::pipeline::{Analysis, Graded, Report};
use plotters::prelude::DrawingBackend;

/// So many codes are drawn as single traces; of more, every second, third, …
pub const MOST_TRACES: usize = 64;

/// Every how many codes one is drawn.
pub fn every_code(codes: usize) -> usize {
    codes.div_ceil(MOST_TRACES).max(1)
}

/// What every code does relative to code 0 against frequency, with the signs of the plane, and the limits of its state
/// error about what it should be. A marked code is drawn whichever others are.
pub fn code_traces<B: DrawingBackend>(
    surface: &mut B,
    frame: Frame,
    theme: &Theme,
    report: &Report,
    analysis: &Analysis,
    field: FieldInView,
) -> Result<(), ChartError> {
    let FieldInView { graded, marked, .. } = field;
    let grid = &report.intake.frequency_hz;
    let quantity = graded.slice.quantity;
    let every = every_code(graded.slice.codes());
    let codes = (0..graded.slice.codes()).filter(|&code| code % every == 0 || marked == Some(code));
    let trace = |code| CodeTrace { is_marked: marked == Some(code), ..trace_of(code, report, graded) };
    let traces: Vec<CodeTrace> = codes.map(trace).collect();
    let data = CodeTracesData {
        name: match quantity {
            Quantity::Gain => "Relative gain, dB",
            Quantity::Phase => "Relative phase, °",
        },
        in_degrees: quantity == Quantity::Phase,
        frequency_hz: grid,
        traces: &traces,
        design_band_hz: Some(design_band_hz(grid, analysis)),
        cursor_hz: Some(grid[analysis.service.index]),
    };
    chart::code_traces(surface, frame, theme, &data).map(|_| ())
}

fn trace_of(code: usize, report: &Report, graded: &Graded) -> CodeTrace {
    let slice = &graded.slice;
    let (sign, nominal) = (slice.sign, slice.nominal[code]);
    let values = graded.at.iter().map(|at| sign * (nominal + at.state_errors[code])).collect();
    let limits = report.intake.frequency_hz.iter().map(|&hz| {
        // Code 0 is what the others are measured from and has no error of its own.
        let (low, high) = if code == 0 {
            (None, None)
        } else {
            tightest(report, Figure::StateError(slice.quantity), hz, nominal)
        };
        let ends = [low, high].map(|limit| limit.map_or(f64::NAN, |limit| sign * (nominal + limit)));
        // In a field that goes down the upper limit of the error is the lower one of the gain or phase.
        if sign < 0.0 { (ends[1], ends[0]) } else { (ends[0], ends[1]) }
    });
    let (lowest, highest) = limits.unzip();
    CodeTrace { label: code.to_string(), nominal: sign * nominal, values, lowest, highest, is_marked: false }
}

/// The tightest limits of a figure at a frequency, widened with the setting where rows say so.
pub(super) fn tightest(
    report: &Report,
    figure: Figure,
    frequency_hz: f64,
    setting: f64,
) -> (Option<f64>, Option<f64>) {
    let mut both = (None, None);
    for row in rows_at(report, figure, frequency_hz) {
        let wider =
            if figure.has_setting() { row.limits.percent_of_setting / 100.0 * setting.abs() } else { 0.0 };
        let tighter = |a: Option<f64>, b: Option<f64>, of: fn(f64, f64) -> f64| match (a, b) {
            (Some(a), Some(b)) => Some(of(a, b)),
            (a, b) => a.or(b),
        };
        both.0 = tighter(both.0, row.limits.at_least.map(|limit| limit - wider), f64::max);
        both.1 = tighter(both.1, row.limits.at_most.map(|limit| limit + wider), f64::min);
    }
    both
}

/// The state error of every code at every frequency.
pub fn error_map<B: DrawingBackend>(
    surface: &mut B,
    frame: Frame,
    theme: &Theme,
    report: &Report,
    analysis: &Analysis,
    field: FieldInView,
) -> Result<(), ChartError> {
    let FieldInView { graded, marked, .. } = field;
    let grid = &report.intake.frequency_hz;
    let errors: Vec<f64> = graded.at.iter().flat_map(|at| at.state_errors.iter().copied()).collect();
    let data = ErrorMapData {
        name: "code",
        scale_name: match graded.slice.quantity {
            Quantity::Gain => "State error, dB",
            Quantity::Phase => "State error, °",
        },
        frequency_hz: grid,
        codes: graded.slice.codes(),
        errors: &errors,
        marked,
        cursor_hz: Some(grid[analysis.service.index]),
    };
    chart::error_map(surface, frame, theme, &data).map(|_| ())
}
