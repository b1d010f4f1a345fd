//! A figure against frequency, and beside a typical curve.

use super::notes::field_of;
use crate::part::{Figure, Measured};
use crate::pipeline::{Graded, Parts, Report};

/// The lowest and the highest value of a figure at each frequency; of one with a single value both are the same. `None`
/// where nothing was measured, or where the figure does not exist.
pub fn against_frequency(measured: &Measured, figure: Figure) -> Vec<Option<(f64, f64)>> {
    let at = |index: usize| {
        let readings = measured.readings(figure, index).ok()?;
        let values = readings.iter().map(|reading| reading.value).filter(|value| value.is_finite());
        values.map(|value| (value, value)).reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)))
    };
    (0..measured.frequency_hz.len()).map(at).collect()
}

/// The figure of the typical curve and measured minus typical at each frequency, the highest value where the figure has
/// one per code; `None` where the field has no such figure, or curve and measurement meet nowhere.
pub fn from_typical(report: &Report, graded: &Graded) -> Option<(Figure, Vec<Option<f64>>)> {
    let typical = report.settings.typical.as_ref()?;
    let figure = typical.figure;
    if figure.quantity().is_some_and(|quantity| quantity != graded.slice.quantity) {
        return None;
    }
    let grid = &report.intake.frequency_hz;
    let extremes = against_frequency(&graded.measured(grid, None), figure);
    let highest: Vec<f64> = extremes.iter().map(|both| both.map_or(f64::NAN, |both| both.1)).collect();
    let difference = typical.curve.difference(grid, &highest);
    difference.iter().any(Option::is_some).then_some((figure, difference))
}

/// The same of the first graded field that has the figure.
pub fn typical_difference(report: &Report, parts: &Parts) -> Option<Vec<Option<f64>>> {
    let typical = report.settings.typical.as_ref()?;
    let (_, graded) = field_of(typical.figure, parts)?;
    from_typical(report, graded).map(|(_, difference)| difference)
}
