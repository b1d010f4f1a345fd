//! One value for each of some named kinds, each beside the limit that it is compared with.

use super::axis::{Axis, written};
use super::pen::{Area, Beside, Pen};
use super::plot::vertical_ticks;
use super::{ChartError, Frame, Theme};
use plotters::prelude::DrawingBackend;

/// One kind.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct KindMark<'a> {
    /// What stands under its column.
    pub name: &'a str,
    /// Its value.
    pub value: f64,
    /// Whether its disc is filled; else it is a ring.
    pub filled: bool,
    /// The limit that it is compared with.
    pub limit: Option<f64>,
    /// Whether its name is framed.
    pub is_marked: bool,
}

/// What the chart shows.
#[derive(Clone, Copy, Debug)]
pub struct BesideLimitsData<'a> {
    /// The name of the vertical axis with its unit.
    pub name: &'a str,
    /// What the columns are.
    pub kinds_name: &'a str,
    /// What is written beside the limits.
    pub limit_name: &'a str,
    /// What filled discs and rings are.
    pub filled_name: &'a str,
    /// The same of rings.
    pub open_name: &'a str,
    /// From left to right.
    pub marks: &'a [KindMark<'a>],
}

/// Draws a column for each kind on a logarithmic axis: its value as a disc or a ring with its number, its limit as a bar.
pub fn beside_limits<B: DrawingBackend>(
    surface: &mut B,
    frame: Frame,
    theme: &Theme,
    data: &BesideLimitsData,
) -> Result<(), ChartError> {
    let pen = &mut Pen::new(surface, frame, theme);
    pen.clear()?;
    let (ink, faint, grid, accent) = (theme.ink, theme.faint, theme.grid, theme.accent);
    let (text_px, whole) = (pen.text_px(), pen.whole());
    // Above the plot one row for the axis' name and one for the key.
    let (top, bottom) = ((3.5 * text_px).round(), (whole.bottom - 3.1 * text_px).round());
    let vertical = vertical_axis(data.marks);
    let ticks = vertical.ticks(vertical_ticks(bottom - top, text_px));
    let widest = ticks.iter().map(|tick| pen.text_width(&tick.text)).fold(0.0, f64::max);
    let area = Area {
        left: (widest + pen.px(12.0)).round(),
        right: (whole.right - text_px).round(),
        top,
        bottom: bottom.max(top + 1.0),
    };
    let row = |value: f64| area.bottom - vertical.fraction(value).clamp(0.0, 1.0) * area.height();
    for tick in ticks {
        let y = row(tick.value);
        pen.line((area.left, y), (area.right, y), grid, 1.0)?;
        pen.write(&tick.text, (area.left - pen.px(5.0), y), Beside::Left, faint)?;
    }
    pen.write(data.name, (pen.px(3.0), text_px * 0.8), Beside::Right, ink)?;
    pen.write(data.kinds_name, (area.right, area.bottom + 2.4 * text_px), Beside::Left, ink)?;
    draw_key(pen, data, area.left)?;
    let pitch = area.width() / data.marks.len().max(1) as f64;
    let half = (0.32 * pitch).min(pen.px(34.0));
    let column = |index: usize| area.left + pitch * (index as f64 + 0.5);
    for (index, mark) in data.marks.iter().enumerate() {
        let x = column(index);
        let name_at = (x, area.bottom + text_px);
        if pen.text_width(mark.name) <= pitch {
            pen.write(mark.name, name_at, Beside::Middle, faint)?;
        } else {
            let within = whole;
            pen.write_if_free(mark.name, name_at, Beside::Middle, faint, &within)?;
        }
        if mark.is_marked {
            let named = pen.text_area(mark.name, name_at, Beside::Middle).inset(-pen.px(2.0));
            let frame = Area {
                left: named.left.max(x - pitch / 2.0),
                right: named.right.min(x + pitch / 2.0),
                ..named
            };
            pen.outline(&frame, accent, 1.5)?;
        }
        if let Some(limit) = mark.limit {
            pen.line((x - half, row(limit)), (x + half, row(limit)), ink, 2.0)?;
            pen.reserve(Area { left: x - half, right: x + half, top: row(limit), bottom: row(limit) });
        }
        if mark.value.is_finite() {
            let at = (x, row(mark.value));
            if mark.filled {
                pen.disc(at, 4.0, accent)?;
            } else {
                pen.disc(at, 4.0, theme.paper)?;
                pen.ring(at, 4.0, accent, 2.0)?;
            }
            let disc = pen.px(4.0);
            pen.reserve(Area { left: x - disc, right: x + disc, top: at.1 - disc, bottom: at.1 + disc });
        }
    }
    let room = Area { top: area.top - text_px, bottom: area.bottom, ..whole };
    for (index, mark) in data.marks.iter().enumerate() {
        let over_limit = mark.limit.is_none_or(|limit| mark.value >= limit);
        let away = if over_limit { -1.2 } else { 1.2 };
        for (value, colour, away) in [(Some(mark.value), accent, away), (mark.limit, ink, -away)] {
            let Some(value) = value.filter(|value| value.is_finite()) else { continue };
            for rows in [away, -away] {
                let at = (column(index), row(value) + rows * text_px);
                if pen.write_if_free(&two_digits(value), at, Beside::Middle, colour, &room)? {
                    break;
                }
            }
        }
    }
    Ok(())
}

/// Which mark is which, in a row above the plot, where it fits.
fn draw_key<B: DrawingBackend>(
    pen: &mut Pen<B>,
    data: &BesideLimitsData,
    left: f64,
) -> Result<(), ChartError> {
    let (row, side) = (pen.text_px() * 2.3, pen.text_px());
    let (ink, faint, accent, paper) = (pen.theme.ink, pen.theme.faint, pen.theme.accent, pen.theme.paper);
    let mut x = left;
    let has = |wanted: bool| data.marks.iter().any(|mark| mark.filled == wanted && mark.value.is_finite());
    let entries = [
        (data.filled_name, has(true)),
        (data.open_name, has(false)),
        (data.limit_name, data.marks.iter().any(|mark| mark.limit.is_some())),
    ];
    for (number, (name, _)) in entries.into_iter().enumerate().filter(|(_, (_, is_there))| *is_there) {
        if x + 1.6 * side + pen.text_width(name) > pen.whole().right {
            break;
        }
        let middle = (x + 0.6 * side, row);
        match number {
            0 => pen.disc(middle, 4.0, accent)?,
            1 => {
                pen.disc(middle, 4.0, paper)?;
                pen.ring(middle, 4.0, accent, 2.0)?;
            }
            _ => pen.line((x, row), (x + 1.2 * side, row), ink, 2.0)?,
        }
        pen.write(name, (x + 1.6 * side, row), Beside::Right, faint)?;
        x += 1.6 * side + pen.text_width(name) + 1.4 * side;
    }
    Ok(())
}

/// Over all values and limits. What is nothing but rounding stands at the axis' foot.
fn vertical_axis(marks: &[KindMark]) -> Axis {
    let values = marks.iter().flat_map(|mark| [Some(mark.value), mark.limit]).flatten();
    let (low, high) = values
        .filter(|value| value.is_finite())
        .fold((f64::INFINITY, 0.0_f64), |(low, high), value| (low.min(value), high.max(value)));
    Axis::logarithmic_rounded(low.max(1e-3 * high), high)
}

/// Two significant digits, at least none and at most two decimals.
fn two_digits(value: f64) -> String {
    let decimals = match value.abs() {
        size if size >= 99.5 => 0,
        size if size >= 0.995 => 1,
        _ => 2,
    };
    written(value, decimals)
}

#[cfg(test)]
mod tests {
    use super::*;
    use plotters::prelude::SVGBackend;

    fn drawn(marks: &[KindMark]) -> String {
        let data = BesideLimitsData {
            name: "EVM, %",
            kinds_name: "constellation",
            limit_name: "guide",
            filled_name: "clean",
            open_name: "not clean",
            marks,
        };
        let mut text = String::new();
        {
            let mut surface = SVGBackend::with_string(&mut text, (560, 300));
            beside_limits(&mut surface, Frame::svg(560, 300), &Theme::PRINT, &data).expect("a chart");
            surface.present().expect("text");
        }
        text
    }

    #[test]
    fn values_and_limits_carry_their_numbers() {
        let marks = [
            KindMark { name: "QPSK", value: 44.9, filled: true, limit: Some(17.5), is_marked: false },
            KindMark { name: "16-QAM", value: 2.04, filled: false, limit: Some(12.5), is_marked: false },
            KindMark { name: "4,096-QAM", value: 0.5, filled: false, limit: None, is_marked: false },
        ];
        let text = drawn(&marks);
        for label in ["44.9", "17.5", "2.0", "12.5", "0.50", "QPSK", "clean", "not clean", "guide", "EVM, %"]
        {
            assert!(text.contains(&format!("\n{label}\n")), "{label}");
        }
        let only_clean = drawn(&marks[..1]);
        assert!(!only_clean.contains("\nnot clean\n"), "the key has what is there");
    }

    #[test]
    fn nothing_and_an_error_of_nothing_but_rounding_are_charts() {
        assert!(drawn(&[]).contains("EVM, %"));
        let exact =
            KindMark { name: "QPSK", value: 1e-14, filled: true, limit: Some(17.5), is_marked: false };
        assert!(!drawn(&[exact]).contains("NaN"));
    }
}
