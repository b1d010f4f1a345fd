//! Lines against frequency: errors, shares within tolerance, losses.

use super::axis::Axis;
use super::pen::{Area, Beside, Pen};
use super::plot::{ghz_text, vertical_ticks};
use super::runs::{owned_columns, runs};
use super::series::{
    Curve, EndLabel, Limit, check_lengths, draw_curves, draw_end_labels, end_label_room, mark_at,
};
use super::{ChartError, Frame, Plot, Theme};
use plotters::prelude::DrawingBackend;

/// How the vertical axis runs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Vertical {
    /// Linear, over the data and the limit, and including zero where `from_zero`.
    Linear {
        /// Whether zero belongs to the axis.
        from_zero: bool,
    },
    /// Linear between these ends, whatever the data.
    Between(f64, f64),
    /// Logarithmic over the positive data.
    Logarithmic,
}

/// What a chart of lines shows.
#[derive(Clone, Copy, Debug)]
pub struct CurvesData<'a> {
    /// The name of the vertical axis with its unit, such as `RMS gain error, dB`.
    pub name: &'a str,
    /// The grid, ascending.
    pub frequency_hz: &'a [f64],
    /// The lines; earlier ones are drawn over later ones.
    pub curves: &'a [Curve<'a>],
    /// The vertical axis.
    pub vertical: Vertical,
    /// What must not be passed.
    pub limits: &'a [Limit<'a>],
    /// The ends of the design band.
    pub design_band_hz: Option<(f64, f64)>,
    /// The chosen frequency.
    pub cursor_hz: Option<f64>,
    /// Where something holds, as a bar at the plot's foot.
    pub lane: Option<Lane<'a>>,
}

/// Where something holds along the frequency axis.
#[derive(Clone, Copy, Debug)]
pub struct Lane<'a> {
    /// What is written at its end.
    pub label: &'a str,
    /// Whether it holds, per frequency.
    pub holds: &'a [bool],
}

/// Draws lines against frequency with their names at their ends, and returns the geometry.
pub fn curves<B: DrawingBackend>(
    surface: &mut B,
    frame: Frame,
    theme: &Theme,
    data: &CurvesData,
) -> Result<Plot, ChartError> {
    check_lengths(data.frequency_hz, data.curves)?;
    let points = data.frequency_hz.len();
    if let Some(found) = data.lane.map(|lane| lane.holds.len()).filter(|&found| found != points) {
        return Err(ChartError::LengthsDiffer { what: "values of a bar", expected: points, found });
    }
    let plot = geometry(frame, data);
    let pen = &mut Pen::new(surface, frame, theme);
    pen.clear()?;
    if let Some(band) = data.design_band_hz {
        shade_band(pen, &plot, band)?;
    }
    plot.draw_axes(pen, data.name, true)?;
    let mut labels = Vec::new();
    for limit in data.limits {
        labels.extend(draw_limit(pen, &plot, *limit)?);
    }
    labels.extend(draw_curves(pen, &plot, data.frequency_hz, data.curves, None)?);
    if let Some(lane) = data.lane {
        labels.push(draw_lane(pen, &plot, data.frequency_hz, lane)?);
    }
    if let Some(cursor_hz) = data.cursor_hz {
        let name_px = pen.text_width(data.name) + pen.px(6.0);
        let right_px = pen.whole().right - pen.px(3.0);
        draw_cursor(pen, &plot, cursor_hz, name_px, right_px)?;
        mark_at(pen, &plot, data.frequency_hz, data.curves, cursor_hz)?;
    }
    draw_end_labels(pen, &plot.area, labels)?;
    Ok(plot)
}

fn geometry(frame: Frame, data: &CurvesData) -> Plot {
    let labels =
        data.curves.iter().map(|curve| curve.label).chain(data.limits.iter().map(|limit| limit.label));
    let labels = labels.chain(data.lane.iter().map(|lane| lane.label));
    let room = end_label_room(frame, labels);
    let most = vertical_ticks(f64::from(frame.height_px) - 5.0 * frame.text_px(), frame.text_px());
    Plot::new(frame, data.frequency_hz, vertical_axis(data, most), room)
}

fn vertical_axis(data: &CurvesData, most_ticks: usize) -> Axis {
    let values = data.curves.iter().flat_map(|curve| curve.values.iter().copied().flatten());
    let limits = data.limits.iter().map(|limit| limit.value);
    let positive_only = data.vertical == Vertical::Logarithmic;
    let (low, high) = values
        .chain(limits)
        .filter(|value| value.is_finite() && (*value > 0.0 || !positive_only))
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| (low.min(value), high.max(value)));
    match data.vertical {
        Vertical::Between(low, high) => Axis::linear(low, high),
        Vertical::Logarithmic => Axis::logarithmic_rounded(low, high),
        Vertical::Linear { from_zero: true } if low.is_finite() => {
            Axis::linear_rounded(low.min(0.0), high.max(0.0), most_ticks)
        }
        Vertical::Linear { .. } => Axis::linear_rounded(low, high, most_ticks),
    }
}

/// Shades the design band and closes it with thin edges, so that it shows without the shade too.
pub(super) fn shade_band<B: DrawingBackend>(
    pen: &mut Pen<B>,
    plot: &Plot,
    (from_hz, to_hz): (f64, f64),
) -> Result<(), ChartError> {
    let Area { left, top, right, bottom } = plot.area;
    let from = plot.x_of(from_hz.min(to_hz)).clamp(left, right);
    let to = plot.x_of(to_hz.max(from_hz)).clamp(left, right);
    let (shade, grid) = (pen.theme.shade, pen.theme.grid);
    pen.fill(Area { left: from, right: to, top, bottom }, shade, 1.0)?;
    for x in [from, to] {
        pen.line((x, top), (x, bottom), grid, 1.0)?;
    }
    Ok(())
}

/// Draws where something holds as a bar on a thin line just above the plot's foot, and returns its label.
fn draw_lane<'a, B: DrawingBackend>(
    pen: &mut Pen<B>,
    plot: &Plot,
    frequency_hz: &[f64],
    lane: Lane<'a>,
) -> Result<EndLabel<'a>, ChartError> {
    let (half, colour) = (pen.px(2.5), pen.theme.accent);
    let row = (plot.area.bottom - pen.px(6.0)).round();
    pen.line((plot.area.left, row), (plot.area.right, row), colour, 1.0)?;
    let kinds = lane.holds.iter().map(|&holds| holds.then_some(()));
    for (left, right, ()) in runs(&owned_columns(plot, frequency_hz), kinds) {
        pen.fill(
            Area { left, top: row - half, right: right.max(left + 1.0), bottom: row + half },
            colour,
            1.0,
        )?;
    }
    Ok(EndLabel { text: lane.label, row, colour })
}

/// Draws a limit where it lies on the axis, and returns its label.
pub(super) fn draw_limit<'a, B: DrawingBackend>(
    pen: &mut Pen<B>,
    plot: &Plot,
    limit: Limit<'a>,
) -> Result<Option<EndLabel<'a>>, ChartError> {
    let row = plot.y_of(limit.value);
    let Area { top, bottom, .. } = plot.area;
    let (left, right) = match limit.over_hz {
        Some((from_hz, to_hz)) => {
            (plot.x_of(from_hz).max(plot.area.left), plot.x_of(to_hz).min(plot.area.right))
        }
        None => (plot.area.left, plot.area.right),
    };
    if left > right {
        return Ok(None);
    }
    if !(row >= top - 0.5 && row <= bottom + 0.5) {
        return Ok(None);
    }
    let colour = pen.theme.faint;
    let within = plot.area.inset(-pen.px(1.0));
    pen.path(&[(left, row), (right, row)], &within, colour, 1.0, &[9.0, 3.0, 2.0, 3.0])?;
    Ok(Some(EndLabel { text: limit.label, row, colour }))
}

/// Draws the chosen frequency, its number above the plot between the columns given, where it fits there.
pub(super) fn draw_cursor<B: DrawingBackend>(
    pen: &mut Pen<B>,
    plot: &Plot,
    cursor_hz: f64,
    free_from_px: f64,
    free_to_px: f64,
) -> Result<(), ChartError> {
    let x = plot.x_of(cursor_hz);
    let Area { left, right, top, bottom } = plot.area;
    if !(x >= left - 0.5 && x <= right + 0.5) {
        return Ok(());
    }
    let accent = pen.theme.accent;
    pen.line((x, top - pen.px(3.0)), (x, bottom), accent, 1.0)?;
    let label = ghz_text(cursor_hz);
    let half = pen.text_width(&label) / 2.0;
    let lowest = free_from_px + pen.text_px() + half;
    let highest = free_to_px - half;
    let centre = x.max(lowest).min(highest);
    if lowest <= highest {
        pen.write(&label, (centre, pen.text_px() * 0.8), Beside::Middle, accent)?;
    }
    Ok(())
}
