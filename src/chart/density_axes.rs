//! Axes, limits and single traces over a density raster.

use super::axis::Axis;
use super::curves::{draw_cursor, draw_limit};
use super::density::density_fraction;
use super::pen::{Area, Beside, Pen};
use super::series::{Curve, Limit, check_lengths, draw_curves, draw_end_labels, end_label_room};
use super::{ChartError, Frame, Plot, Theme, Values, density_colour};
use plotters::prelude::DrawingBackend;

/// What is drawn over a density raster.
#[derive(Clone, Copy, Debug)]
pub struct DensityData<'a> {
    /// The name of the vertical axis with its unit.
    pub name: &'a str,
    /// The grid, ascending.
    pub frequency_hz: &'a [f64],
    /// The ends of the vertical axis, lower first; for wrapped degrees −180 and 180.
    pub range: (f64, f64),
    /// What the values are.
    pub kind: Values,
    /// Number of traces in the raster; 0 draws no key to the shades.
    pub traces: u32,
    /// Single traces to pick out.
    pub curves: &'a [Curve<'a>],
    /// Limits.
    pub limits: &'a [Limit<'a>],
    /// The ends of the design band.
    pub design_band_hz: Option<(f64, f64)>,
    /// The chosen frequency.
    pub cursor_hz: Option<f64>,
}

/// The geometry of a density plot: [`Plot::area`] is where the raster goes, [`Plot::raster_size`] its size and
/// [`Plot::raster_columns`] its columns.
pub fn density_plot(frame: Frame, data: &DensityData) -> Plot {
    let labels = data.curves.iter().map(|c| c.label).chain(data.limits.iter().map(|limit| limit.label));
    let room = end_label_room(frame, labels);
    Plot::new(frame, data.frequency_hz, Axis::linear(data.range.0, data.range.1), room)
}

/// Draws everything but the raster, over what is there: clear the surface and put the raster in place first.
pub fn density_axes<B: DrawingBackend>(
    surface: &mut B,
    frame: Frame,
    theme: &Theme,
    data: &DensityData,
) -> Result<Plot, ChartError> {
    check_lengths(data.frequency_hz, data.curves)?;
    let plot = density_plot(frame, data);
    let pen = &mut Pen::new(surface, frame, theme);
    plot.draw_axes(pen, data.name, false)?;
    let name_px = pen.text_width(data.name) + pen.px(6.0);
    let key_px = draw_key(pen, data.traces, name_px + pen.text_px())?;
    if let Some(band) = data.design_band_hz {
        draw_band_ends(pen, &plot, band)?;
    }
    let mut labels = Vec::new();
    for &limit in data.limits {
        labels.extend(draw_limit(pen, &plot, limit)?);
    }
    let break_over = (data.kind == Values::WrappedDegrees).then_some(180.0);
    labels.extend(draw_curves(pen, &plot, data.frequency_hz, data.curves, break_over)?);
    if let Some(cursor_hz) = data.cursor_hz {
        draw_cursor(pen, &plot, cursor_hz, name_px, key_px)?;
    }
    draw_end_labels(pen, &plot.area, labels)?;
    Ok(plot)
}

/// Shades with their numbers of traces, at the right end of the row above the plot; returns the left end of the row's
/// taken part. Left out where the row has no room.
fn draw_key<B: DrawingBackend>(pen: &mut Pen<B>, traces: u32, taken_px: f64) -> Result<f64, ChartError> {
    let right = pen.whole().right - pen.px(3.0);
    if traces == 0 {
        return Ok(right);
    }
    let (ink, faint, side) = (pen.theme.ink, pen.theme.faint, pen.text_px());
    let row = side * 0.8;
    let mut counts: Vec<u32> =
        (0..7).map(|exponent| 10_u32.pow(exponent)).take_while(|&count| count < traces).collect();
    counts.push(traces);
    let words: Vec<String> = counts.iter().map(u32::to_string).collect();
    let entry = |pen: &Pen<B>, word: &str| side * 1.3 + pen.text_width(word) + side * 0.7;
    let heading = "traces";
    let total: f64 = words.iter().map(|word| entry(pen, word)).sum::<f64>() + pen.text_width(heading);
    let mut x = right - total;
    if x < taken_px {
        return Ok(right);
    }
    let left = x;
    for (&count, word) in counts.iter().zip(&words) {
        let shade = density_colour(pen.theme.paper_kind, density_fraction(count, traces));
        let half = side * 0.45;
        let swatch = Area { left: x, right: x + side, top: row - half, bottom: row + half };
        pen.fill(swatch, shade, 1.0)?;
        pen.write(word, (x + side * 1.3, row), Beside::Right, faint)?;
        x += entry(pen, word);
    }
    pen.write(heading, (x, row), Beside::Right, ink)?;
    Ok(left)
}

/// The design band as a bar on the frequency axis, so that no shade is laid over the density.
fn draw_band_ends<B: DrawingBackend>(
    pen: &mut Pen<B>,
    plot: &Plot,
    (from_hz, to_hz): (f64, f64),
) -> Result<(), ChartError> {
    let Area { left, right, top, bottom } = plot.area;
    let ends = [from_hz, to_hz].map(|hz| plot.x_of(hz).clamp(left, right));
    let colour = pen.theme.ink;
    pen.line((ends[0], bottom), (ends[1], bottom), colour, 3.0)?;
    for x in ends {
        pen.path(&[(x, top), (x, bottom)], &plot.area, colour, 1.0, &[2.0, 4.0])?;
    }
    Ok(())
}
