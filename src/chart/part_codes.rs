//! A value of every code of a field, with the limits that it has to keep.

use super::axis::{Axis, written};
use super::pen::{Area, Beside, Pen};
use super::plot::vertical_ticks;
use super::{ChartError, Frame, Theme};
use plotters::prelude::DrawingBackend;

/// What a chart over codes shows.
#[derive(Clone, Copy, Debug)]
pub struct CodesData<'a> {
    /// The name of the vertical axis with its unit, such as `gain state error, dB`.
    pub name: &'a str,
    /// The value of each code, code 0 first; not a number where it was not measured.
    pub values: &'a [f64],
    /// The lower limit of each code, where it has one.
    pub lower: &'a [Option<f64>],
    /// The upper limit of each code.
    pub upper: &'a [Option<f64>],
    /// The code picked out.
    pub marked: Option<usize>,
}

impl CodesData<'_> {
    /// Whether a code's value lies outside a limit.
    fn is_outside(&self, code: usize, value: f64) -> bool {
        let limit = |limits: &[Option<f64>]| limits.get(code).copied().flatten();
        limit(self.lower).is_some_and(|low| value < low) || limit(self.upper).is_some_and(|high| value > high)
    }
}

/// Draws a disc for each code, a ring about those outside their limits, the limits as dashed lines named `limit`, and a line
/// at the code picked out, which stands above it.
pub fn codes<B: DrawingBackend>(
    surface: &mut B,
    frame: Frame,
    theme: &Theme,
    data: &CodesData,
) -> Result<(), ChartError> {
    let pen = &mut Pen::new(surface, frame, theme);
    pen.clear()?;
    let (ink, faint, grid, accent) = (theme.ink, theme.faint, theme.grid, theme.accent);
    let (text_px, whole) = (pen.text_px(), pen.whole());
    let (top, bottom) = ((2.1 * text_px).round(), (whole.bottom - 3.1 * text_px).round());
    let most = vertical_ticks(bottom - top, text_px);
    let vertical = vertical_axis(data, most);
    let ticks = vertical.ticks(most);
    let widest = ticks.iter().map(|tick| pen.text_width(&tick.text)).fold(0.0, f64::max);
    let area = Area {
        left: (widest + pen.px(12.0)).round(),
        right: (whole.right - pen.text_width("limit") - pen.px(12.0)).round(),
        top,
        bottom: bottom.max(top + 1.0),
    };
    let row = |value: f64| area.bottom - vertical.fraction(value) * area.height();
    for tick in ticks {
        let y = row(tick.value);
        pen.line((area.left, y), (area.right, y), grid, 1.0)?;
        pen.write(&tick.text, (area.left - pen.px(5.0), y), Beside::Left, faint)?;
    }
    pen.line((area.left, row(0.0)), (area.right, row(0.0)), faint, 1.0)?;
    pen.write(data.name, (pen.px(3.0), text_px * 0.8), Beside::Right, ink)?;
    pen.write("code", (area.right, area.bottom + 2.3 * text_px), Beside::Left, ink)?;
    let last = data.values.len().saturating_sub(1).max(1) as f64;
    let horizontal = Axis::linear(-0.5, last + 0.5);
    let column = |code: f64| area.left + horizontal.fraction(code) * area.width();
    for tick in horizontal.ticks(8).into_iter().filter(|tick| (0.0..=last).contains(&tick.value)) {
        if tick.value.fract() == 0.0 {
            let code = written(tick.value, 0);
            pen.write(&code, (column(tick.value), area.bottom + text_px), Beside::Middle, faint)?;
        }
    }
    let within = area.inset(-pen.px(1.0));
    for limits in [data.lower, data.upper] {
        let points: Vec<(f64, f64)> = limits
            .iter()
            .enumerate()
            .map(|(code, limit)| (column(code as f64), limit.map_or(f64::NAN, row)))
            .collect();
        pen.path(&points, &within, ink, 1.0, &[9.0, 3.0, 2.0, 3.0])?;
        if let Some((_, y)) = points.iter().rev().find(|point| point.1.is_finite()) {
            pen.write("limit", (area.right + pen.px(4.0), *y), Beside::Right, ink)?;
        }
    }
    if let Some(marked) = data.marked.filter(|marked| *marked < data.values.len()) {
        let x = column(marked as f64);
        pen.path(&[(x, area.top), (x, area.bottom)], &within, ink, 1.0, &[2.0, 2.0])?;
        let label = format!("code {marked}");
        let half = pen.text_width(&label) / 2.0;
        let x = x.min(area.right - half).max(pen.text_width(data.name) + pen.px(12.0) + half);
        pen.write_if_free(&label, (x, text_px * 0.8), Beside::Middle, ink, &whole)?;
    }
    // Thousands of codes stand closer than a disc is wide.
    let radius = (0.4 * area.width() / (last + 1.0) / pen.px(1.0)).clamp(0.8, 3.0);
    for (code, &value) in data.values.iter().enumerate().filter(|(_, value)| value.is_finite()) {
        let at = (column(code as f64), row(value));
        pen.disc(at, radius, accent)?;
        if data.is_outside(code, value) {
            pen.ring(at, radius + 2.5, ink, 1.5)?;
        }
    }
    Ok(())
}

/// Zero, every value and every limit.
fn vertical_axis(data: &CodesData, most_ticks: usize) -> Axis {
    let limits = data.lower.iter().chain(data.upper).copied().flatten();
    let values = data.values.iter().copied().chain(limits).filter(|value| value.is_finite());
    let (low, high) = values.fold((0.0_f64, 0.0_f64), |(low, high), value| (low.min(value), high.max(value)));
    if low == high { Axis::linear(-1.0, 1.0) } else { Axis::linear_rounded(low, high, most_ticks) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use plotters::prelude::SVGBackend;

    fn drawn(values: &[f64], limit: Option<f64>) -> String {
        marked(values, limit, None)
    }

    fn marked(values: &[f64], limit: Option<f64>, marked: Option<usize>) -> String {
        let lower = vec![limit.map(|limit| -limit); values.len()];
        let upper = vec![limit; values.len()];
        let data = CodesData { name: "gain state error, dB", values, lower: &lower, upper: &upper, marked };
        let mut text = String::new();
        {
            let mut surface = SVGBackend::with_string(&mut text, (480, 240));
            codes(&mut surface, Frame::svg(480, 240), &Theme::PRINT, &data).expect("a chart");
            surface.present().expect("text");
        }
        text
    }

    #[test]
    fn a_disc_for_each_code_and_a_ring_where_it_is_outside() {
        let circles = |text: &str| text.matches("<circle").count();
        let values = [0.0, 0.1, f64::NAN, -0.3];
        let free = circles(&drawn(&values, None));
        assert_eq!(circles(&drawn(&values[..2], None)) + 1, free, "an unmeasured code has no disc");
        let limited = drawn(&values, Some(0.2));
        assert_eq!(circles(&limited), free + 1, "one code is outside");
        assert!(limited.contains("limit") && limited.contains("gain state error, dB"));
        assert!(!drawn(&[], None).is_empty());
    }

    #[test]
    fn the_code_picked_out_is_named() {
        let values = [0.0, 0.1, f64::NAN, -0.3];
        for code in 0..4 {
            assert!(marked(&values, None, Some(code)).contains(&format!("code {code}")));
        }
        assert_eq!(marked(&values, None, Some(4)), drawn(&values, None), "there is no such code");
    }
}
