//! The error of every code at every frequency as colour.

use super::axis::{Axis, written};
use super::curves::draw_cursor;
use super::pen::{Area, Beside, Pen};
use super::{ChartError, Frame, Plot, Rgb, Theme, difference_colour, text};
use plotters::prelude::DrawingBackend;
use std::ops::Range;

/// What an error map shows.
#[derive(Clone, Copy, Debug)]
pub struct ErrorMapData<'a> {
    /// The name of the vertical axis.
    pub name: &'a str,
    /// What the colours are, with their unit.
    pub scale_name: &'a str,
    /// The grid, ascending.
    pub frequency_hz: &'a [f64],
    /// The number of codes.
    pub codes: usize,
    /// The errors of all codes at the first frequency, then at the next, …; not a number where a code was not measured.
    pub errors: &'a [f64],
    /// The code picked out.
    pub marked: Option<usize>,
    /// The chosen frequency.
    pub cursor_hz: Option<f64>,
}

/// Shades on either side of zero.
const SHADES: i32 = 12;
/// The narrowest column, in page pixels.
const NARROWEST_PX: f64 = 1.5;

/// Draws codes upwards and frequencies to the right. Where a column or a row of pixels holds several, the largest error
/// among them shows; what was not measured is struck through. The row of the code picked out stands between two lines, its
/// number at its foot.
pub fn error_map<B: DrawingBackend>(
    surface: &mut B,
    frame: Frame,
    theme: &Theme,
    data: &ErrorMapData,
) -> Result<Plot, ChartError> {
    let expected = data.codes * data.frequency_hz.len();
    if data.errors.len() != expected {
        return Err(ChartError::LengthsDiffer {
            what: "errors of codes",
            expected,
            found: data.errors.len(),
        });
    }
    let scale = Shades::over(data.errors);
    let plot = geometry(frame, data, &scale);
    let pen = &mut Pen::new(surface, frame, theme);
    pen.clear()?;
    let columns = columns(pen, &plot, data.frequency_hz);
    let rows = rows(pen, &plot, data.codes);
    for (codes, (top, bottom)) in &rows {
        draw_row(pen, data, &scale, &columns, codes, (*top, *bottom))?;
    }
    draw_axes(pen, &plot, data)?;
    if let Some((_, sides)) =
        rows.iter().find(|(codes, _)| data.marked.is_some_and(|code| codes.contains(&code)))
    {
        mark_row(pen, &plot, data, *sides)?;
    }
    draw_scale(pen, &plot, data, &scale)?;
    if let Some(cursor_hz) = data.cursor_hz {
        let name_px = pen.text_width(data.name) + pen.px(6.0);
        let right_px = pen.whole().right - pen.text_width(data.scale_name) - pen.px(9.0);
        draw_cursor(pen, &plot, cursor_hz, name_px, right_px)?;
    }
    Ok(plot)
}

/// The colour scale: even steps from −`largest` to +`largest`.
struct Shades {
    axis: Axis,
}

impl Shades {
    fn over(errors: &[f64]) -> Self {
        let largest = errors
            .iter()
            .filter(|error| error.is_finite())
            .fold(0.0_f64, |most, error| most.max(error.abs()));
        let high = if largest > 0.0 { Axis::linear_rounded(0.0, largest, 10).high } else { 1.0 };
        Self { axis: Axis::linear(-high, high) }
    }

    /// From −[`SHADES`] to +[`SHADES`].
    #[expect(clippy::cast_possible_truncation, reason = "clamped")]
    fn shade(&self, error: f64) -> i32 {
        (error / self.axis.high * f64::from(SHADES)).round().clamp(-f64::from(SHADES), f64::from(SHADES))
            as i32
    }
}

fn colour(theme: &Theme, shade: i32) -> Rgb {
    difference_colour(theme.paper_kind, f64::from(shade) / f64::from(SHADES))
}

fn geometry(frame: Frame, data: &ErrorMapData, scale: &Shades) -> Plot {
    let text_px = frame.text_px();
    let width_of = |label: &str| text::width(label, text_px);
    let (width, height) = (f64::from(frame.width_px), f64::from(frame.height_px));
    let top = (2.1 * text_px).round();
    let left = (width_of(&data.codes.to_string()) + 12.0 * frame.scale).round();
    let numbers = scale.axis.ticks(5).iter().map(|tick| width_of(&tick.text)).fold(0.0, f64::max);
    let room = numbers + 3.0 * text_px + 8.0 * frame.scale;
    let area = Area {
        left,
        top,
        right: (width - room).round().max(left + 1.0),
        bottom: (height - 3.1 * text_px).round().max(top + 1.0),
    };
    let ends = (data.frequency_hz.first(), data.frequency_hz.last());
    let ghz = |hz: Option<&f64>| hz.map_or(f64::NAN, |hz| hz / 1e9);
    Plot {
        area,
        frequency_ghz: Axis::linear(ghz(ends.0), ghz(ends.1)),
        vertical: Axis::linear(-0.5, data.codes.max(1) as f64 - 0.5),
        numbered: !data.frequency_hz.is_empty(),
    }
}

/// Neighbouring frequencies and the pixels across that they take, at least so many that a column shows.
fn columns<B: DrawingBackend>(
    pen: &Pen<B>,
    plot: &Plot,
    frequency_hz: &[f64],
) -> Vec<(Range<usize>, (f64, f64))> {
    let last = frequency_hz.len().saturating_sub(1);
    let edge = |index: usize| {
        if index == 0 {
            plot.area.left
        } else if index > last {
            plot.area.right
        } else {
            plot.x_of(f64::midpoint(frequency_hz[index - 1], frequency_hz[index])).round()
        }
    };
    grouped(frequency_hz.len(), pen.px(NARROWEST_PX), edge)
}

/// Neighbouring codes and the pixels upwards that they take: top and bottom.
fn rows<B: DrawingBackend>(pen: &Pen<B>, plot: &Plot, codes: usize) -> Vec<(Range<usize>, (f64, f64))> {
    let edge = |code: usize| {
        // Edges grow downwards for `grouped`, so that they are counted from the foot.
        (code as f64 / codes.max(1) as f64 * plot.area.height()).round()
    };
    let from_foot = grouped(codes, pen.px(NARROWEST_PX), edge);
    let bottom = plot.area.bottom;
    from_foot.into_iter().map(|(codes, (low, high))| (codes, (bottom - high, bottom - low))).collect()
}

/// Items whose edges lie nearer than `least` are taken together.
fn grouped(items: usize, least: f64, edge: impl Fn(usize) -> f64) -> Vec<(Range<usize>, (f64, f64))> {
    let mut groups = Vec::new();
    let mut start = 0;
    for end in 1..=items {
        if edge(end) - edge(start) >= least || end == items {
            groups.push((start..end, (edge(start), edge(end))));
            start = end;
        }
    }
    groups
}

/// One row; neighbouring columns of one shade are one rectangle.
fn draw_row<B: DrawingBackend>(
    pen: &mut Pen<B>,
    data: &ErrorMapData,
    scale: &Shades,
    columns: &[(Range<usize>, (f64, f64))],
    codes: &Range<usize>,
    (top, bottom): (f64, f64),
) -> Result<(), ChartError> {
    let shade = |frequencies: &Range<usize>| {
        let errors = frequencies
            .clone()
            .flat_map(|index| codes.clone().map(move |code| data.errors[index * data.codes + code]));
        let worst = errors.filter(|error| !error.is_nan()).max_by(|a, b| a.abs().total_cmp(&b.abs()));
        worst.map(|worst| scale.shade(worst))
    };
    let mut start = 0;
    while start < columns.len() {
        let own = shade(&columns[start].0);
        let more = columns[start + 1..].iter().take_while(|column| shade(&column.0) == own).count();
        let area = Area { left: columns[start].1.0, right: columns[start + more].1.1, top, bottom };
        if let Some(own) = own {
            pen.fill(area, colour(pen.theme, own), 1.0)?;
        } else {
            let middle = f64::midpoint(top, bottom);
            pen.line((area.left, middle), (area.right, middle), pen.theme.faint, 1.0)?;
        }
        start += more + 1;
    }
    Ok(())
}

fn draw_axes<B: DrawingBackend>(
    pen: &mut Pen<B>,
    plot: &Plot,
    data: &ErrorMapData,
) -> Result<(), ChartError> {
    let (ink, faint) = (pen.theme.ink, pen.theme.faint);
    let Area { left, right, top, bottom } = plot.area;
    let text_px = pen.text_px();
    let last = data.codes.saturating_sub(1) as f64;
    for tick in Axis::linear(0.0, last.max(1.0)).ticks(super::plot::vertical_ticks(bottom - top, text_px)) {
        if tick.value.fract() == 0.0 && tick.value <= last && data.codes > 0 {
            let y = plot.y_of(tick.value);
            pen.line((left - pen.px(3.0), y), (left, y), faint, 1.0)?;
            pen.write(&written(tick.value, 0), (left - pen.px(6.0), y), Beside::Left, faint)?;
        }
    }
    pen.line((left, top), (left, bottom), faint, 1.0)?;
    pen.write(data.name, (pen.px(3.0), text_px * 0.8), Beside::Right, ink)?;
    if plot.numbered {
        super::plot::draw_frequency_axis(pen, &plot.area, plot.frequency_ghz)?;
    }
    pen.write("frequency, GHz", (right, bottom + 2.5 * text_px), Beside::Left, ink)
}

/// The row of the code picked out.
fn mark_row<B: DrawingBackend>(
    pen: &mut Pen<B>,
    plot: &Plot,
    data: &ErrorMapData,
    (top, bottom): (f64, f64),
) -> Result<(), ChartError> {
    let (ink, Area { left, right, .. }) = (pen.theme.ink, plot.area);
    // Along a row of a few pixels the lines would cover it and its neighbours.
    let end = if bottom - top < pen.px(5.0) { left } else { right };
    for y in [top, bottom] {
        pen.line((left - pen.px(8.0), y), (end, y), ink, 1.5)?;
    }
    let label = format!("code {}", data.marked.unwrap_or_default());
    let foot = (left, plot.area.bottom + 2.5 * pen.text_px());
    // Its foot ends with the chart, a rounding aside.
    let within = pen.whole().inset(-pen.px(1.0));
    pen.write_if_free(&label, foot, Beside::Right, ink, &within).map(|_| ())
}

/// The scale at the right side: every shade, with numbers beside it and its name above.
fn draw_scale<B: DrawingBackend>(
    pen: &mut Pen<B>,
    plot: &Plot,
    data: &ErrorMapData,
    scale: &Shades,
) -> Result<(), ChartError> {
    let (ink, faint) = (pen.theme.ink, pen.theme.faint);
    let text_px = pen.text_px();
    let Area { right, top, bottom, .. } = plot.area;
    let left = right + 1.4 * text_px;
    let bar = Area { left, right: left + 1.2 * text_px, top, bottom };
    let row = |error: f64| bar.bottom - scale.axis.fraction(error) * bar.height();
    let shades = 2 * SHADES + 1;
    for shade in -SHADES..=SHADES {
        let edge = |steps: i32| (bar.bottom - f64::from(steps) / f64::from(shades) * bar.height()).round();
        let (low, high) = (edge(shade + SHADES), edge(shade + SHADES + 1));
        pen.fill(Area { top: high, bottom: low, ..bar }, colour(pen.theme, shade), 1.0)?;
    }
    for tick in scale.axis.ticks(5) {
        let y = row(tick.value);
        pen.line((bar.right, y), (bar.right + pen.px(3.0), y), faint, 1.0)?;
        let y = y.clamp(top + 0.5 * text_px, bottom - 0.5 * text_px);
        pen.write(&tick.text, (bar.right + pen.px(6.0), y), Beside::Right, faint)?;
    }
    let name_at = (pen.whole().right - pen.px(3.0), text_px * 0.8);
    pen.write(data.scale_name, name_at, Beside::Left, ink)
}

#[cfg(test)]
mod tests {
    use super::*;
    use plotters::prelude::SVGBackend;

    fn drawn(frequency_hz: &[f64], codes: usize, errors: &[f64]) -> Result<String, ChartError> {
        marked(frequency_hz, codes, errors, None)
    }

    fn marked(
        frequency_hz: &[f64],
        codes: usize,
        errors: &[f64],
        marked: Option<usize>,
    ) -> Result<String, ChartError> {
        let data = ErrorMapData {
            name: "code",
            scale_name: "state error, dB",
            frequency_hz,
            codes,
            errors,
            cursor_hz: None,
            marked,
        };
        let mut text = String::new();
        {
            let mut surface = SVGBackend::with_string(&mut text, (480, 240));
            error_map(&mut surface, Frame::svg(480, 240), &Theme::PRINT, &data)?;
            surface.present().expect("text");
        }
        Ok(text)
    }

    fn hex(colour: Rgb) -> String {
        format!("#{:02X}{:02X}{:02X}", colour.0, colour.1, colour.2)
    }

    /// Two codes at three frequencies; the largest error, 0.4 dB, ends the scale.
    #[test]
    fn errors_take_the_colours_of_the_scale() {
        let text = drawn(&[8e9, 9e9, 10e9], 2, &[0.0, 0.4, 0.0, 0.4, 0.0, -0.2]).expect("a chart");
        let rects = |shade: i32| text.matches(&hex(colour(&Theme::PRINT, shade))).count();
        // Each shade once in the scale; the first code is one run of zeros, the second one of +0.4 and one of −0.2.
        assert_eq!((rects(0), rects(SHADES), rects(-SHADES / 2), rects(3)), (2, 2, 2, 1));
        for label in ["code", "state error, dB", "0.4", "\u{2212}0.4", "0.0"] {
            assert!(text.contains(&format!("\n{label}\n")), "{label}");
        }
    }

    #[test]
    fn what_was_not_measured_is_struck_through() {
        let lines = |errors: &[f64]| drawn(&[8e9, 9e9], 2, errors).expect("a chart").matches("<line").count();
        assert_eq!(lines(&[0.0, f64::NAN, 0.0, f64::NAN]), lines(&[0.0, 0.1, 0.0, 0.1]) + 1);
    }

    #[test]
    fn the_row_picked_out_stands_between_two_lines() {
        let text = |code| marked(&[8e9, 9e9], 2, &[0.1; 4], code).expect("a chart");
        let lines = |code| text(code).matches("<line").count();
        assert_eq!(lines(Some(1)), lines(None) + 2);
        assert!(text(Some(1)).contains("\ncode 1\n"));
        assert_eq!(text(Some(2)), text(None), "there is no such code");
    }

    #[test]
    fn thousands_of_codes_share_rows_and_none_is_lost() {
        let mut errors = vec![0.0; 4096];
        errors[1777] = -2.0;
        let text = drawn(&[9e9], 4096, &errors).expect("a chart");
        assert_eq!(
            text.matches(&hex(colour(&Theme::PRINT, -SHADES))).count(),
            2,
            "the scale's and the code's"
        );
        let groups = grouped(10, 2.0, |edge| edge as f64 * 0.7);
        assert_eq!(groups.iter().map(|group| group.0.clone()).collect::<Vec<_>>(), [0..3, 3..6, 6..9, 9..10]);
    }

    #[test]
    fn nothing_is_an_empty_chart_and_what_does_not_fit_is_refused() {
        assert!(drawn(&[], 0, &[]).expect("a chart").contains("state error, dB"));
        assert!(matches!(
            drawn(&[9e9], 2, &[0.0]),
            Err(ChartError::LengthsDiffer { expected: 2, found: 1, .. })
        ));
    }
}
