//! What each bit does: its measured weight beside its nominal one, gain above phase or side by side.

use super::axis::{Axis, written};
use super::pen::{Area, Beside, Pen};
use super::plot::vertical_ticks;
use super::{ChartError, Frame, Theme};
use plotters::prelude::DrawingBackend;

/// The weight of one bit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BitMark {
    /// Position in the word, 0 the least significant.
    pub bit: u8,
    /// What it is meant to do to the gain, dB.
    pub nominal_gain_db: f64,
    /// What it does to the gain, dB; `None` where it could not be measured.
    pub gain_db: Option<f64>,
    /// What it is meant to do to the phase, degrees.
    pub nominal_phase_deg: f64,
    /// What it does to the phase, degrees.
    pub phase_deg: Option<f64>,
    /// Whether it is set in the word picked out.
    pub is_set: bool,
}

/// One of the two panels.
struct Panel<'a> {
    name: &'a str,
    area: Area,
    marks: Vec<Weight>,
    decimals: usize,
}

/// What one bit does in a panel.
struct Weight {
    bit: u8,
    nominal: f64,
    measured: Option<f64>,
    is_set: bool,
}

/// Draws two panels, gain and phase: a bar for the nominal weight, a disc for the measured one with its number. The
/// numbers of the bits that are set in the word picked out are framed.
pub fn bit_weights<B: DrawingBackend>(
    surface: &mut B,
    frame: Frame,
    theme: &Theme,
    marks: &[BitMark],
) -> Result<(), ChartError> {
    let pen = &mut Pen::new(surface, frame, theme);
    pen.clear()?;
    let whole = pen.whole();
    let middle = (whole.right / 2.0).round();
    let weights = |of: fn(&BitMark) -> (f64, Option<f64>)| -> Vec<Weight> {
        let weight = |mark: &BitMark| {
            let (nominal, measured) = of(mark);
            Weight { bit: mark.bit, nominal, measured, is_set: mark.is_set }
        };
        marks.iter().map(weight).collect()
    };
    let gain = weights(|mark| (mark.nominal_gain_db, mark.gain_db));
    let phase = weights(|mark| (mark.nominal_phase_deg, mark.phase_deg));
    let left = Area { right: middle, ..whole };
    let right = Area { left: middle, ..whole };
    draw_panel(pen, &Panel { name: "Gain, dB", area: left, marks: gain, decimals: 2 })?;
    draw_panel(pen, &Panel { name: "Phase, °", area: right, marks: phase, decimals: 1 })
}

fn draw_panel<B: DrawingBackend>(pen: &mut Pen<B>, panel: &Panel) -> Result<(), ChartError> {
    let text_px = pen.text_px();
    let (ink, faint, grid) = (pen.theme.ink, pen.theme.faint, pen.theme.grid);
    let (top, bottom) = (panel.area.top + 2.6 * text_px, panel.area.bottom - 3.0 * text_px);
    let vertical = axis(panel, vertical_ticks(bottom - top, text_px));
    let ticks = vertical.ticks(vertical_ticks(bottom - top, text_px));
    let widest = ticks.iter().map(|tick| pen.text_width(&tick.text)).fold(0.0, f64::max);
    let area = Area {
        left: (panel.area.left + widest + pen.px(10.0)).round(),
        right: (panel.area.right - pen.px(8.0)).round(),
        top: top.round(),
        bottom: bottom.round().max(top.round() + 1.0),
    };
    let row = |value: f64| area.bottom - vertical.fraction(value) * area.height();
    for tick in ticks {
        let y = row(tick.value);
        pen.line((area.left, y), (area.right, y), grid, 1.0)?;
        pen.write(&tick.text, (area.left - pen.px(5.0), y), Beside::Left, faint)?;
    }
    pen.line((area.left, row(0.0)), (area.right, row(0.0)), faint, 1.0)?;
    let name_at = (panel.area.left + pen.px(3.0), panel.area.top + text_px * 0.8);
    pen.write(panel.name, name_at, Beside::Right, ink)?;
    pen.write("bit", (area.right, area.bottom + 2.3 * text_px), Beside::Left, ink)?;
    draw_key(pen, panel)?;
    let pitch = area.width() / panel.marks.len().max(1) as f64;
    let column = |index: usize| area.left + pitch * (index as f64 + 0.5);
    let half = (pitch * 0.3).min(pen.px(12.0));
    let every = stride(pitch, pen.text_width("00") + pen.px(3.0));
    for (index, &Weight { bit, nominal, is_set, .. }) in panel.marks.iter().enumerate() {
        let x = column(index);
        let (high, low) = (row(nominal.max(0.0)), row(nominal.min(0.0)));
        if nominal != 0.0 {
            pen.fill(Area { left: x - half, right: x + half, top: high, bottom: low }, grid, 1.0)?;
            pen.line((x - half, row(nominal)), (x + half, row(nominal)), ink, 1.5)?;
        }
        let number_at = (x, area.bottom + text_px);
        if index.is_multiple_of(every) {
            let colour = if is_set { ink } else { faint };
            pen.write(&bit.to_string(), number_at, Beside::Middle, colour)?;
        }
        if is_set {
            let room = (pitch / 2.0 - pen.px(1.0)).min(0.9 * text_px);
            let frame = Area {
                left: (x - room).round(),
                right: (x + room).round(),
                top: (number_at.1 - 0.7 * text_px).round(),
                bottom: (number_at.1 + 0.7 * text_px).round(),
            };
            pen.outline(&frame, pen.theme.accent, 1.5)?;
        }
    }
    let measured: Vec<(f64, f64, f64)> = panel
        .marks
        .iter()
        .enumerate()
        .filter_map(|(index, mark)| mark.measured.map(|value| (column(index), row(value), value)))
        .filter(|mark| mark.1.is_finite())
        .collect();
    let disc = pen.px(3.0);
    for &(x, y, _) in &measured {
        pen.disc((x, y), 3.0, pen.theme.accent)?;
        pen.reserve(Area { left: x - disc, right: x + disc, top: y - disc, bottom: y + disc });
    }
    // The largest weights are named first: they are what is looked for, and they have the room.
    let mut by_size = measured;
    by_size.sort_by(|a, b| b.2.abs().total_cmp(&a.2.abs()));
    for (x, y, value) in by_size {
        name_measured(pen, (x, y), row(0.0), &written(value, panel.decimals), &area)?;
    }
    Ok(())
}

/// Every how many columns a number of this width may stand.
fn stride(pitch_px: f64, width_px: f64) -> usize {
    (1..64).find(|&every| pitch_px * every as f64 >= width_px).unwrap_or(64)
}

/// Says which mark is which, at the right end of the panel's first row, where it fits.
fn draw_key<B: DrawingBackend>(pen: &mut Pen<B>, panel: &Panel) -> Result<(), ChartError> {
    let row = panel.area.top + pen.text_px() * 0.8;
    let (ink, faint, grid, accent) = (pen.theme.ink, pen.theme.faint, pen.theme.grid, pen.theme.accent);
    let side = pen.text_px();
    let (nominal, measured) = ("nominal", "measured");
    let total = pen.text_width(nominal) + pen.text_width(measured) + 4.0 * side;
    let mut x = panel.area.right - pen.px(8.0) - total;
    if x < panel.area.left + pen.text_width(panel.name) + side {
        return Ok(());
    }
    let half = side * 0.4;
    pen.fill(Area { left: x, right: x + side, top: row - half, bottom: row + half }, grid, 1.0)?;
    pen.line((x, row - half), (x + side, row - half), ink, 1.5)?;
    x += side * 1.3;
    pen.write(nominal, (x, row), Beside::Right, faint)?;
    x += pen.text_width(nominal) + side * 1.4;
    pen.disc((x, row), 3.0, accent)?;
    pen.write(measured, (x + side * 0.6, row), Beside::Right, faint)
}

/// A number beside a disc, on the side away from zero unless that is taken; left out where both are.
fn name_measured<B: DrawingBackend>(
    pen: &mut Pen<B>,
    at: (f64, f64),
    zero_row: f64,
    label: &str,
    area: &Area,
) -> Result<(), ChartError> {
    let accent = pen.theme.accent;
    let away = if at.1 > zero_row { 1.0 } else { -1.0 };
    let room = pen.text_px();
    let within = Area { top: area.top - room, bottom: area.bottom + room * 0.2, ..pen.whole() };
    for rows in [away, -away] {
        let place = (at.0, at.1 + rows * room * 1.05);
        if pen.write_if_free(label, place, Beside::Middle, accent, &within)? {
            break;
        }
    }
    Ok(())
}

/// Zero and everything drawn.
fn axis(panel: &Panel, most_ticks: usize) -> Axis {
    let values = panel.marks.iter().flat_map(|mark| [Some(mark.nominal), mark.measured]);
    let (low, high) = values
        .flatten()
        .filter(|value| value.is_finite())
        .fold((0.0_f64, 0.0_f64), |(low, high), value| (low.min(value), high.max(value)));
    if low == high { Axis::linear(-1.0, 1.0) } else { Axis::linear_rounded(low, high, most_ticks) }
}
