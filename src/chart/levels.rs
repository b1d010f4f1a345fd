//! Steps between named levels against frequency.

use super::axis::Axis;
use super::curves::{draw_cursor, shade_band};
use super::pen::{Area, Beside, Pen};
use super::plot::draw_frequency_axis;
use super::{ChartError, Frame, Plot, Theme, text};
use plotters::prelude::DrawingBackend;

/// What a chart of levels shows.
#[derive(Clone, Copy, Debug)]
pub struct LevelsData<'a> {
    /// The name of the vertical axis.
    pub name: &'a str,
    /// The levels' names, from the lowest up; they stand at equal distances.
    pub levels: &'a [&'a str],
    /// The frequencies looked at, ascending.
    pub frequency_hz: &'a [f64],
    /// The level at each of them.
    pub at: &'a [usize],
    /// The ends of the frequency axis.
    pub whole_hz: (f64, f64),
    /// The ends of the design band.
    pub design_band_hz: Option<(f64, f64)>,
    /// The chosen frequency.
    pub cursor_hz: Option<f64>,
}

/// So many marks stand apart from each other.
const MOST_MARKS: usize = 128;

/// Draws the level as steps that change halfway between the frequencies looked at, each of which has a mark where they
/// are few enough.
pub fn levels<B: DrawingBackend>(
    surface: &mut B,
    frame: Frame,
    theme: &Theme,
    data: &LevelsData,
) -> Result<Plot, ChartError> {
    if data.at.len() != data.frequency_hz.len() {
        return Err(ChartError::LengthsDiffer {
            what: "levels against frequency",
            expected: data.frequency_hz.len(),
            found: data.at.len(),
        });
    }
    let pen = &mut Pen::new(surface, frame, theme);
    pen.clear()?;
    let plot = geometry(frame, data);
    if let Some(band) = data.design_band_hz {
        shade_band(pen, &plot, band)?;
    }
    draw_axes(pen, &plot, data)?;
    let row = |level: usize| plot.y_of(level as f64);
    let column = |hz: f64| plot.x_of(hz).clamp(plot.area.left, plot.area.right);
    let halfway =
        |from: usize, to: usize| column(f64::midpoint(data.frequency_hz[from], data.frequency_hz[to]));
    let last = data.at.len().saturating_sub(1);
    let steps: Vec<(f64, f64)> = data
        .at
        .iter()
        .enumerate()
        .flat_map(|(index, &level)| {
            let own = column(data.frequency_hz[index]);
            let from = if index == 0 { own } else { halfway(index - 1, index) };
            let to = if index == last { own } else { halfway(index, index + 1) };
            [(from, row(level)), (to, row(level))]
        })
        .collect();
    let within = plot.area.inset(-pen.px(1.0));
    pen.path(&steps, &within, theme.accent, 2.0, &[])?;
    if data.at.len() <= MOST_MARKS {
        for (&hz, &level) in data.frequency_hz.iter().zip(data.at) {
            pen.disc((column(hz), row(level)), 2.0, theme.accent)?;
        }
    }
    if let Some(cursor_hz) = data.cursor_hz {
        let name_px = pen.text_width(data.name) + pen.px(6.0);
        let right_px = pen.whole().right - pen.px(3.0);
        draw_cursor(pen, &plot, cursor_hz, name_px, right_px)?;
    }
    Ok(plot)
}

fn geometry(frame: Frame, data: &LevelsData) -> Plot {
    let text_px = frame.text_px();
    let widest = data.levels.iter().map(|name| text::width(name, text_px)).fold(0.0, f64::max);
    let (width, height) = (f64::from(frame.width_px), f64::from(frame.height_px));
    let top = (2.1 * text_px).round();
    let left = (widest + 12.0 * frame.scale).round();
    let area = Area {
        left,
        top,
        right: (width - 1.5 * text_px).round().max(left + 1.0),
        bottom: (height - 3.1 * text_px).round().max(top + 1.0),
    };
    Plot {
        area,
        frequency_ghz: Axis::linear(data.whole_hz.0 / 1e9, data.whole_hz.1 / 1e9),
        vertical: Axis::linear(-0.5, data.levels.len().max(1) as f64 - 0.5),
        numbered: data.whole_hz.0.is_finite(),
    }
}

fn draw_axes<B: DrawingBackend>(pen: &mut Pen<B>, plot: &Plot, data: &LevelsData) -> Result<(), ChartError> {
    let (ink, faint, grid) = (pen.theme.ink, pen.theme.faint, pen.theme.grid);
    let Area { left, right, top, bottom } = plot.area;
    let text_px = pen.text_px();
    for (level, name) in data.levels.iter().enumerate() {
        let y = plot.y_of(level as f64);
        pen.line((left, y), (right, y), grid, 1.0)?;
        pen.write(name, (left - pen.px(6.0), y), Beside::Left, faint)?;
    }
    pen.line((left, top), (left, bottom), faint, 1.0)?;
    pen.write(data.name, (pen.px(3.0), text_px * 0.8), Beside::Right, ink)?;
    if plot.numbered {
        draw_frequency_axis(pen, &plot.area, plot.frequency_ghz)?;
    }
    pen.write("frequency, GHz", (right, bottom + 2.5 * text_px), Beside::Left, ink)
}

#[cfg(test)]
mod tests {
    use super::*;
    use plotters::prelude::SVGBackend;

    fn drawn(frequency_hz: &[f64], at: &[usize]) -> (String, Plot) {
        let ends = (frequency_hz.first().copied(), frequency_hz.last().copied());
        let data = LevelsData {
            name: "Largest clean constellation",
            levels: &["none", "QPSK", "16-QAM"],
            frequency_hz,
            at,
            whole_hz: (ends.0.unwrap_or(f64::NAN), ends.1.unwrap_or(f64::NAN)),
            design_band_hz: None,
            cursor_hz: ends.0,
        };
        let mut text = String::new();
        let plot = {
            let mut surface = SVGBackend::with_string(&mut text, (480, 260));
            let plot = levels(&mut surface, Frame::svg(480, 260), &Theme::PRINT, &data).expect("a chart");
            surface.present().expect("text");
            plot
        };
        (text, plot)
    }

    /// From 8 to 10 GHz none, at 12 GHz 16-QAM: the step stands at 11 GHz.
    #[test]
    fn steps_stand_halfway() {
        let (text, plot) = drawn(&[8e9, 10e9, 12e9], &[0, 0, 2]);
        let line = text.lines().rfind(|line| line.contains("<polyline")).expect("the steps");
        let at = |hz: f64, level: f64| format!("{:.0},{:.0}", plot.x_of(hz), plot.y_of(level));
        for point in [at(8e9, 0.0), at(11e9, 0.0), at(11e9, 2.0), at(12e9, 2.0)] {
            assert!(line.contains(&point), "{point} in {line}");
        }
        assert_eq!(text.matches("<circle").count(), 3);
        for name in ["none", "QPSK", "16-QAM", "frequency, GHz"] {
            assert!(text.contains(&format!("\n{name}\n")), "{name}");
        }
    }

    #[test]
    fn one_frequency_and_none_make_a_chart() {
        assert_eq!(drawn(&[9e9], &[1]).0.matches("<circle").count(), 1);
        assert!(drawn(&[], &[]).0.contains("frequency, GHz"));
    }
}
