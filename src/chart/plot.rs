//! A plot of values against frequency: where its rectangle lies in the frame, and its two axes.

use super::axis::{Axis, Tick, written};
use super::pen::{Area, Beside, Pen};
use super::{ChartError, Frame, text};
use plotters::prelude::DrawingBackend;

/// The geometry of a plot against frequency, for drawing and for reading a pointer back.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Plot {
    /// The rectangle of the data; its edges are whole pixels.
    pub area: Area,
    /// The horizontal axis, in GHz.
    pub frequency_ghz: Axis,
    /// The vertical axis.
    pub vertical: Axis,
}

impl Plot {
    /// Lays out a plot that keeps `right_px` free at its right side, and room for its axes at the others.
    pub(super) fn new(frame: Frame, frequency_hz: &[f64], vertical: Axis, right_px: f64) -> Self {
        let text_px = frame.text_px();
        let gap = 6.0 * frame.scale;
        let (first, last) = (frequency_hz.first(), frequency_hz.last());
        let ghz = |hz: Option<&f64>| hz.map_or(f64::NAN, |hz| hz / 1e9);
        let (width, height) = (f64::from(frame.width_px), f64::from(frame.height_px));
        let top = (1.9 * text_px).round();
        let bottom = (height - 3.1 * text_px).round().max(top + 1.0);
        let widest = vertical
            .ticks(vertical_ticks(bottom - top, text_px))
            .iter()
            .map(|tick| text::width(&tick.text, text_px))
            .fold(0.0, f64::max);
        let left = (widest + 2.0 * gap).round();
        let right = (width - right_px.max(1.5 * text_px)).round().max(left + 1.0);
        Self {
            area: Area { left, top, right, bottom },
            frequency_ghz: Axis::linear(ghz(first), ghz(last)),
            vertical,
        }
    }

    /// The column of a frequency, in pixels of the frame.
    pub fn x_of(&self, frequency_hz: f64) -> f64 {
        self.area.left + self.frequency_ghz.fraction(frequency_hz / 1e9) * self.area.width()
    }

    /// The row of a value, in pixels of the frame.
    pub fn y_of(&self, value: f64) -> f64 {
        self.area.bottom - self.vertical.fraction(value) * self.area.height()
    }

    /// The frequency under a column, in hertz.
    pub fn frequency_at(&self, x_px: f64) -> f64 {
        self.frequency_ghz.value((x_px - self.area.left) / self.area.width()) * 1e9
    }

    /// The value at a row.
    pub fn value_at(&self, y_px: f64) -> f64 {
        self.vertical.value((self.area.bottom - y_px) / self.area.height())
    }

    /// Width and height of the rectangle in whole pixels: the size of a raster that fills it.
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "whole and positive")]
    pub fn raster_size(&self) -> (usize, usize) {
        (self.area.width() as usize, self.area.height() as usize)
    }

    /// Where each frequency stands in a raster that fills the rectangle, in pixels from its left edge.
    pub fn raster_columns(&self, frequency_hz: &[f64]) -> Vec<f64> {
        frequency_hz.iter().map(|&hz| self.x_of(hz) - self.area.left).collect()
    }

    /// Draws ticks, their numbers and the axes' names; `gridded` adds lines across.
    pub(super) fn draw_axes<B: DrawingBackend>(
        &self,
        pen: &mut Pen<B>,
        name: &str,
        gridded: bool,
    ) -> Result<(), ChartError> {
        let (ink, faint, grid) = (pen.theme.ink, pen.theme.faint, pen.theme.grid);
        let text_px = pen.text_px();
        let gap = pen.px(6.0);
        let Area { left, top, right, bottom } = self.area;
        for tick in self.vertical.ticks(vertical_ticks(self.area.height(), text_px)) {
            let y = self.y_of(tick.value);
            if gridded {
                pen.line((left, y), (right, y), grid, 1.0)?;
            }
            pen.line((left - gap / 2.0, y), (left, y), faint, 1.0)?;
            pen.write(&tick.text, (left - gap, y), Beside::Left, faint)?;
        }
        pen.line((left, top), (left, bottom), faint, 1.0)?;
        pen.write(name, (gap / 2.0, text_px * 0.8), Beside::Right, ink)?;
        draw_frequency_axis(pen, &self.area, self.frequency_ghz)?;
        pen.write("frequency, GHz", (right, bottom + 2.5 * text_px), Beside::Left, ink)
    }
}

/// Draws a frequency axis with its numbers under a rectangle.
pub(super) fn draw_frequency_axis<B: DrawingBackend>(
    pen: &mut Pen<B>,
    area: &Area,
    axis_ghz: Axis,
) -> Result<(), ChartError> {
    let faint = pen.theme.faint;
    let gap = pen.px(6.0);
    pen.line((area.left, area.bottom), (area.right, area.bottom), faint, 1.0)?;
    let row = area.bottom + gap + pen.text_px() * 0.6;
    let whole = pen.whole();
    for tick in frequency_ticks(axis_ghz, area.width(), pen.text_px()) {
        let x = area.left + axis_ghz.fraction(tick.value) * area.width();
        pen.line((x, area.bottom), (x, area.bottom + gap / 2.0), faint, 1.0)?;
        let half = pen.text_width(&tick.text) / 2.0;
        let kept = x.clamp(half, (whole.right - half).max(half));
        pen.write(&tick.text, (kept, row), Beside::Middle, faint)?;
    }
    Ok(())
}

/// As many ticks as leave a number's width between numbers.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a small positive count")]
fn frequency_ticks(axis: Axis, width_px: f64, text_px: f64) -> Vec<Tick> {
    let mut most = ((width_px / (4.0 * text_px)) as usize).clamp(2, 12);
    loop {
        let ticks = axis.ticks(most);
        let widest = ticks.iter().map(|tick| text::width(&tick.text, text_px)).fold(0.0, f64::max);
        let spacing = width_px / ticks.len().max(1) as f64;
        if widest + text_px <= spacing || most == 2 {
            return ticks;
        }
        most -= 1;
    }
}

#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a small positive count")]
pub(super) fn vertical_ticks(height_px: f64, text_px: f64) -> usize {
    ((height_px / (2.8 * text_px)) as usize).clamp(2, 10)
}

/// A frequency in GHz with as many decimals as it needs, at most four.
pub(super) fn ghz_text(frequency_hz: f64) -> String {
    let long = written(frequency_hz / 1e9, 4);
    let short = long.trim_end_matches('0').trim_end_matches('.');
    format!("{short} GHz")
}
