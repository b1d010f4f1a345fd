//! The key to the colours of states: a small plane of its own.

use super::pen::{Beside, Pen};
use super::{ChartError, Frame, StatePalette};
use plotters::prelude::DrawingBackend;

/// The room that the key takes at the right side; none where the frame is not clearly wider than high.
pub(super) fn key_room(frame: Frame) -> f64 {
    let room = 10.0 * frame.text_px();
    let spare = f64::from(frame.width_px) - f64::from(frame.height_px);
    if spare >= room { room } else { 0.0 }
}

/// Hue around as the nominal phase goes round, shade outwards as the nominal gain rises.
pub(super) fn draw_key<B: DrawingBackend>(pen: &mut Pen<B>, palette: &StatePalette) -> Result<(), ChartError> {
    let room = key_room(pen.frame);
    if room == 0.0 {
        return Ok(());
    }
    let text_px = pen.text_px();
    let whole = pen.whole();
    let centre = (whole.right - room / 2.0, 6.6 * text_px);
    let (inner, outer) = (0.7 * text_px, 2.8 * text_px);
    let spans = palette.highest_gain_db > palette.lowest_gain_db;
    let rings = if spans { 4 } else { 1 };
    let wedges = 24;
    for ring in 0..rings {
        let edge = |ring: i32| inner + (outer - inner) * f64::from(ring) / f64::from(rings);
        let part = if spans { f64::from(ring) / f64::from(rings - 1) } else { 1.0 };
        let gain_db = if spans {
            palette.lowest_gain_db + (palette.highest_gain_db - palette.lowest_gain_db) * part
        } else {
            palette.highest_gain_db
        };
        for wedge in 0..wedges {
            let degrees = |wedge: f64| 360.0 * (wedge - 0.5) / f64::from(wedges);
            let corner = |radius: f64, wedge: f64| {
                let (sin, cos) = degrees(wedge).to_radians().sin_cos();
                (centre.0 + radius * cos, centre.1 - radius * sin)
            };
            let (start, end) = (f64::from(wedge), f64::from(wedge + 1));
            let colour = palette.colour(gain_db, 360.0 * f64::from(wedge) / f64::from(wedges));
            let shape = [
                corner(edge(ring), start),
                corner(edge(ring + 1), start),
                corner(edge(ring + 1), end),
                corner(edge(ring), end),
            ];
            pen.polygon(&shape, colour, 1.0)?;
        }
    }
    let (ink, faint) = (pen.theme.ink, pen.theme.faint);
    let line = 1.3 * text_px;
    pen.write("nominal phase", (centre.0, text_px), Beside::Middle, ink)?;
    pen.write("0°", (centre.0 + outer + pen.px(4.0), centre.1), Beside::Right, faint)?;
    pen.write("180°", (centre.0 - outer - pen.px(4.0), centre.1), Beside::Left, faint)?;
    pen.write("90°", (centre.0, centre.1 - outer - text_px * 0.7), Beside::Middle, faint)?;
    pen.write("\u{2212}90°", (centre.0, centre.1 + outer + text_px * 0.7), Beside::Middle, faint)?;
    if spans {
        let below = centre.1 + outer + 1.2 * text_px + line;
        pen.write("outwards:", (centre.0, below), Beside::Middle, ink)?;
        pen.write("more gain", (centre.0, below + line), Beside::Middle, ink)?;
    }
    Ok(())
}
