//! The resolution map: for so many phase and gain bits kept, the share of settings that some state serves.

use super::axis::share;
use super::pen::{Area, Beside, Pen};
use super::{ChartError, Frame, Theme};
use plotters::prelude::DrawingBackend;

/// What the map shows.
#[derive(Clone, Copy, Debug)]
pub struct ResolutionData<'a> {
    /// Phase bits of the finest row.
    pub phase_bits: u8,
    /// Gain bits of the finest column.
    pub gain_bits: u8,
    /// Percent served: all gain bits from 0 on for no phase bit, then for one, …
    pub served_pct: &'a [f64],
    /// The pair (phase, gain) to frame.
    pub picked: Option<(u8, u8)>,
    /// The cells to mark, in the order of `served_pct`: those that have the setting of the state picked out; empty where none
    /// is picked out.
    pub marked: &'a [bool],
}

/// Draws the map: phase bits upwards, gain bits to the right, each cell with its number, the full ones shaded, the
/// marked ones with a disc in a corner.
pub fn resolution<B: DrawingBackend>(
    surface: &mut B,
    frame: Frame,
    theme: &Theme,
    data: &ResolutionData,
) -> Result<(), ChartError> {
    let (rows, columns) = (usize::from(data.phase_bits) + 1, usize::from(data.gain_bits) + 1);
    if data.served_pct.len() != rows * columns {
        return Err(ChartError::LengthsDiffer {
            what: "cells of a resolution map",
            expected: rows * columns,
            found: data.served_pct.len(),
        });
    }
    let pen = &mut Pen::new(surface, frame, theme);
    pen.clear()?;
    let text_px = pen.text_px();
    let whole = pen.whole();
    let area = Area {
        left: (3.0 * text_px).round(),
        top: (2.1 * text_px).round(),
        right: (whole.right - text_px).round(),
        bottom: (whole.bottom - 3.1 * text_px).round(),
    };
    let (width, height) = (area.width() / columns as f64, area.height() / rows as f64);
    let cell = |phase: usize, gain: usize| Area {
        left: (area.left + width * gain as f64).round(),
        right: (area.left + width * (gain + 1) as f64).round(),
        top: (area.bottom - height * (phase + 1) as f64).round(),
        bottom: (area.bottom - height * phase as f64).round(),
    };
    let (ink, faint, grid, accent) = (pen.theme.ink, pen.theme.faint, pen.theme.grid, pen.theme.accent);
    for (index, &served) in data.served_pct.iter().enumerate() {
        let cell = cell(index / columns, index % columns);
        let is_clean = served >= 100.0;
        if is_clean {
            pen.fill(cell, grid, 1.0)?;
        }
        pen.outline(&cell, grid, 1.0)?;
        let at = (f64::midpoint(cell.left, cell.right), f64::midpoint(cell.top, cell.bottom));
        let text = share(served);
        if pen.text_width(&text) <= cell.width() && 1.2 * text_px <= cell.height() {
            pen.write(&text, at, Beside::Middle, if is_clean { ink } else { faint })?;
        }
        if data.marked.get(index).copied().unwrap_or(false) {
            let away = pen.px(6.0).min(cell.width() / 4.0).min(cell.height() / 4.0);
            pen.disc((cell.right - away, cell.top + away), 2.5, accent)?;
        }
    }
    for phase in 0..rows {
        let cell = cell(phase, 0);
        let at = (area.left - text_px * 0.6, f64::midpoint(cell.top, cell.bottom));
        pen.write(&phase.to_string(), at, Beside::Left, faint)?;
    }
    for gain in 0..columns {
        let cell = cell(0, gain);
        let at = (f64::midpoint(cell.left, cell.right), area.bottom + text_px);
        pen.write(&gain.to_string(), at, Beside::Middle, faint)?;
    }
    // On paper the map is narrow, and what its cells say stands under it.
    let titles = ["phase bits kept; cells: settings served, %", "phase bits kept"];
    let fits = |title: &&str| text_px * 0.5 + pen.text_width(title) <= whole.right;
    let title = titles.into_iter().find(fits).unwrap_or_default();
    pen.write(title, (text_px * 0.5, text_px * 0.8), Beside::Right, ink)?;
    pen.write("gain bits kept", (area.right, area.bottom + 2.4 * text_px), Beside::Left, ink)?;
    if let Some((phase, gain)) = data.picked.filter(|(p, q)| *p <= data.phase_bits && *q <= data.gain_bits) {
        let frame = cell(phase.into(), gain.into()).inset(pen.px(1.0));
        pen.outline(&frame, accent, 2.0)?;
    }
    Ok(())
}
