//! The frequency axis as a strip: the share of settings within tolerance as shade and as height.

use super::axis::{Axis, share as share_text};
use super::pen::{Area, Beside, Pen};
use super::plot::{draw_frequency_axis, ghz_text};
use super::runs::{owned_columns, runs};
use super::{ChartError, Frame, Oklch, Paper, Plot, Rgb, Theme};
use plotters::prelude::DrawingBackend;

/// What the strip shows.
#[derive(Clone, Copy, Debug)]
pub struct StripData<'a> {
    /// What the share is of, such as `chosen words within tolerance`.
    pub name: &'a str,
    /// The grid, ascending.
    pub frequency_hz: &'a [f64],
    /// Share per frequency, percent; a frequency without one is left as paper.
    pub share_pct: &'a [Option<f64>],
    /// The chosen frequency.
    pub cursor_hz: Option<f64>,
    /// The ends of the design band.
    pub design_band_hz: Option<(f64, f64)>,
    /// The share that makes a frequency usable, percent.
    pub usable_share_pct: Option<f64>,
    /// The ends of the band in which it is kept.
    pub usable_band_hz: Option<(f64, f64)>,
    /// The sub-bands in which a specification sets limits.
    pub limited: &'a [LimitedBand<'a>],
    /// Whether a limit is broken at each frequency; empty where nothing is known of that.
    pub is_broken: &'a [bool],
}

/// A sub-band in which a specification sets limits.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LimitedBand<'a> {
    /// Its lower end.
    pub from_hz: f64,
    /// Its upper end.
    pub to_hz: f64,
    /// What may be written in it, longest first; the first that has room is.
    pub labels: &'a [String],
}

/// Height of the lane above the strip in which the design band is drawn, and of the usable band's under it, in heights of
/// text.
const LANE: f64 = 0.8;

/// Height of the lane of limits, which holds text.
const LIMITED_LANE: f64 = 1.2;

impl Plot {
    /// The top of the lane over a strip in which the design band is drawn, in pixels of the frame.
    pub fn band_lane_top(&self, frame: Frame) -> f64 {
        self.area.top - (LANE * frame.text_px()).round()
    }
}

/// Draws the strip and returns its geometry.
pub fn strip<B: DrawingBackend>(
    surface: &mut B,
    frame: Frame,
    theme: &Theme,
    data: &StripData,
) -> Result<Plot, ChartError> {
    let points = data.frequency_hz.len();
    let lengths = [("shares", data.share_pct.len()), ("broken limits", data.is_broken.len())];
    if let Some((what, found)) =
        lengths.into_iter().find(|&(what, found)| found != points && (what == "shares" || found > 0))
    {
        return Err(ChartError::LengthsDiffer { what, expected: points, found });
    }
    let pen = &mut Pen::new(surface, frame, theme);
    pen.clear()?;
    let plot = geometry(pen, data);
    draw_shade(pen, &plot, data)?;
    draw_height(pen, &plot, data)?;
    draw_usable_share(pen, &plot, data)?;
    for percent in [0.0, 100.0] {
        let at = (plot.area.left - pen.px(4.0), plot.y_of(percent));
        let faint = pen.theme.faint;
        pen.write(&format!("{percent} %"), at, Beside::Left, faint)?;
    }
    if plot.numbered {
        let bottom = plot.area.bottom + below_px(pen, data);
        draw_frequency_axis(pen, &Area { bottom, ..plot.area }, plot.frequency_ghz)?;
    }
    if let Some(band) = data.design_band_hz {
        draw_band(pen, &plot, band)?;
    }
    if let Some(band) = data.usable_band_hz {
        draw_usable_band(pen, &plot, band)?;
    }
    draw_limited(pen, &plot, data)?;
    let ink = pen.theme.ink;
    pen.write(data.name, (pen.px(3.0), pen.text_px() * 0.8), Beside::Right, ink)?;
    draw_cursor(pen, &plot, data)?;
    Ok(plot)
}

fn geometry<B: DrawingBackend>(pen: &Pen<B>, data: &StripData) -> Plot {
    let text_px = pen.text_px();
    let ghz = |hz: Option<&f64>| hz.map_or(f64::NAN, |hz| hz / 1e9);
    let whole = pen.whole();
    let named = [" GHz", DESIGN_BAND, USABLE_BAND, LIMITED].map(|name| pen.text_width(name));
    let unit = named.into_iter().fold(0.0, f64::max) + pen.px(2.0);
    let left = (pen.text_width("100 %") + pen.px(8.0)).round();
    let top = (1.6 * text_px).round() + lane_px(pen);
    let area = Area {
        left,
        top,
        right: (whole.right - unit - text_px).round().max(left + 1.0),
        bottom: (whole.bottom - 1.9 * text_px - below_px(pen, data)).round().max(top + 1.0),
    };
    let frequency_ghz = Axis::linear(ghz(data.frequency_hz.first()), ghz(data.frequency_hz.last()));
    let numbered = !data.frequency_hz.is_empty();
    Plot { area, frequency_ghz, vertical: Axis::linear(0.0, 100.0), numbered }
}

/// Names of the lanes, written at their right ends.
const DESIGN_BAND: &str = "design band";
const USABLE_BAND: &str = "usable";
const LIMITED: &str = "specified";

fn lane_px<B: DrawingBackend>(pen: &Pen<B>) -> f64 {
    (LANE * pen.text_px()).round()
}

/// The height of all lanes under the strip.
fn below_px<B: DrawingBackend>(pen: &Pen<B>, data: &StripData) -> f64 {
    let usable = if data.usable_band_hz.is_some() { lane_px(pen) } else { 0.0 };
    let limited = if data.limited.is_empty() { 0.0 } else { limited_lane_px(pen) };
    usable + limited
}

fn limited_lane_px<B: DrawingBackend>(pen: &Pen<B>) -> f64 {
    (LIMITED_LANE * pen.text_px()).round()
}

/// The shade of a share: paper at 0 %, well away from the ink of the height line at 100 %.
fn share_colour(theme: &Theme, share_pct: f64) -> Rgb {
    let part = (share_pct / 100.0).clamp(0.0, 1.0);
    let (empty, full) = match theme.paper_kind {
        Paper::Light => (0.96, 0.72),
        Paper::Dark => (0.24, 0.52),
    };
    Oklch { lightness: empty + (full - empty) * part, chroma: 0.07 * part, hue_deg: 230.0 }.to_rgb()
}

/// One rectangle for each run of columns of the same shade.
fn draw_shade<B: DrawingBackend>(pen: &mut Pen<B>, plot: &Plot, data: &StripData) -> Result<(), ChartError> {
    let Area { top, bottom, .. } = plot.area;
    let theme = pen.theme;
    let finite = |share: &Option<f64>| share.filter(|share| share.is_finite());
    let shades = data.share_pct.iter().map(|share| finite(share).map(|share| share_colour(theme, share)));
    for (left, right, shade) in runs(&owned_columns(plot, data.frequency_hz), shades) {
        pen.fill(Area { left, top, right, bottom }, shade, 1.0)?;
    }
    Ok(())
}

fn draw_height<B: DrawingBackend>(pen: &mut Pen<B>, plot: &Plot, data: &StripData) -> Result<(), ChartError> {
    let row = |share: &Option<f64>| share.map_or(f64::NAN, |share| plot.y_of(share));
    let points: Vec<(f64, f64)> = data
        .frequency_hz
        .iter()
        .zip(data.share_pct)
        .map(|(&hz, share)| (plot.x_of(hz), row(share)))
        .collect();
    let ink = pen.theme.ink;
    let within = plot.area.inset(-pen.px(1.0));
    if let [(_, y)] = points[..] {
        return pen.path(&[(plot.area.left, y), (plot.area.right, y)], &within, ink, 1.0, &[]);
    }
    pen.path(&points, &within, ink, 1.0, &[])
}

/// The share that makes a frequency usable, across the strip.
fn draw_usable_share<B: DrawingBackend>(
    pen: &mut Pen<B>,
    plot: &Plot,
    data: &StripData,
) -> Result<(), ChartError> {
    let Some(share) = data.usable_share_pct.filter(|_| plot.numbered) else { return Ok(()) };
    let row = plot.y_of(share);
    let faint = pen.theme.faint;
    pen.path(&[(plot.area.left, row), (plot.area.right, row)], &plot.area, faint, 1.0, &[2.0, 4.0])
}

/// The usable band as a line between two triangles that point to its edges, in the first lane under the strip.
fn draw_usable_band<B: DrawingBackend>(
    pen: &mut Pen<B>,
    plot: &Plot,
    (from_hz, to_hz): (f64, f64),
) -> Result<(), ChartError> {
    let Area { left, right, top, bottom } = plot.area;
    let ends = [from_hz, to_hz].map(|hz| plot.x_of(hz).clamp(left, right));
    let row = (bottom + lane_px(pen) / 2.0).round();
    let ink = pen.theme.ink;
    pen.line((ends[0], row), (ends[1], row), ink, 1.0)?;
    let half = pen.px(3.0);
    for x in ends {
        pen.path(&[(x, top), (x, bottom)], &plot.area, ink, 1.0, &[3.0, 3.0])?;
        pen.polygon(&[(x - half, row + half), (x + half, row + half), (x, bottom + pen.px(1.0))], ink, 1.0)?;
    }
    let faint = pen.theme.faint;
    pen.write(USABLE_BAND, (right + pen.px(6.0), row - pen.text_px() * 0.3), Beside::Right, faint)
}

/// The sub-bands of a specification as lines between posts, with what is limited there, in the last lane; thick where a
/// limit is broken.
fn draw_limited<B: DrawingBackend>(
    pen: &mut Pen<B>,
    plot: &Plot,
    data: &StripData,
) -> Result<(), ChartError> {
    if data.limited.is_empty() {
        return Ok(());
    }
    let Area { left, right, bottom, .. } = plot.area;
    let row = (bottom + below_px(pen, data) - limited_lane_px(pen) / 2.0).round();
    let (faint, accent, half) = (pen.theme.faint, pen.theme.accent, pen.px(3.0));
    let across = Area { left, right, top: row - half, bottom: row + half };
    for band in data.limited {
        let ends = [band.from_hz, band.to_hz].map(|hz| plot.x_of(hz).clamp(left, right));
        pen.path(&[(ends[0], row), (ends[1], row)], &across, faint, 2.0, &[3.0, 2.0])?;
        for x in ends {
            pen.line((x, row - half), (x, row + half), faint, 2.0)?;
        }
    }
    let broken = data.is_broken.iter().map(|&is_broken| is_broken.then_some(()));
    for (from, to, ()) in runs(&owned_columns(plot, data.frequency_hz), broken) {
        pen.fill(
            Area { left: from, right: to.max(from + 1.0), top: row - half, bottom: row + half },
            accent,
            1.0,
        )?;
    }
    let room = limited_lane_px(pen);
    for band in data.limited {
        let ends = [band.from_hz, band.to_hz].map(|hz| plot.x_of(hz).clamp(left, right));
        let inside =
            Area { left: ends[0] + half, right: ends[1] - half, top: row - room, bottom: row + room };
        // Another band may be written in the middle.
        let places = [0.5, 0.25, 0.75].map(|part| (ends[0] + part * (ends[1] - ends[0]), row));
        'written: for label in band.labels {
            for at in places {
                if pen.write_if_free(label, at, Beside::Middle, faint, &inside)? {
                    break 'written;
                }
            }
        }
    }
    pen.write(LIMITED, (right + pen.px(6.0), row + pen.text_px() * 0.1), Beside::Right, faint)
}

/// The design band as a bar with end posts, in the lane over the strip.
fn draw_band<B: DrawingBackend>(
    pen: &mut Pen<B>,
    plot: &Plot,
    (from_hz, to_hz): (f64, f64),
) -> Result<(), ChartError> {
    let Area { left, right, top, bottom } = plot.area;
    let ends = [from_hz, to_hz].map(|hz| plot.x_of(hz).clamp(left, right));
    let (ink, faint) = (pen.theme.ink, pen.theme.faint);
    let row = (top - lane_px(pen) / 2.0).round();
    pen.line((ends[0], row), (ends[1], row), ink, 3.0)?;
    for x in ends {
        pen.line((x, top - lane_px(pen)), (x, bottom), ink, 1.0)?;
    }
    pen.write(DESIGN_BAND, (right + pen.px(6.0), row), Beside::Right, faint)
}

/// The chosen frequency: a line, a wedge above it, and its number with the share there.
fn draw_cursor<B: DrawingBackend>(pen: &mut Pen<B>, plot: &Plot, data: &StripData) -> Result<(), ChartError> {
    let faint = pen.theme.faint;
    let axis_row = plot.area.bottom + below_px(pen, data) + pen.px(6.0) + pen.text_px() * 0.6;
    pen.write("GHz", (plot.area.right + pen.text_px() * 1.6, axis_row), Beside::Right, faint)?;
    let Some(cursor_hz) = data.cursor_hz else { return Ok(()) };
    let x = plot.x_of(cursor_hz);
    let Area { left, right, top, bottom } = plot.area;
    if !(x >= left - 0.5 && x <= right + 0.5) {
        return Ok(());
    }
    let accent = pen.theme.accent;
    pen.line((x, top), (x, bottom), accent, 2.0)?;
    let half = pen.px(5.0);
    pen.polygon(&[(x - half, top - half * 1.4), (x + half, top - half * 1.4), (x, top)], accent, 1.0)?;
    let nearest = data
        .frequency_hz
        .iter()
        .zip(data.share_pct)
        .min_by(|a, b| (a.0 - cursor_hz).abs().total_cmp(&(b.0 - cursor_hz).abs()))
        .and_then(|(_, share)| *share);
    let label = match nearest {
        Some(share) => format!("{}  {} %", ghz_text(cursor_hz), share_text(share)),
        None => ghz_text(cursor_hz),
    };
    let taken = pen.text_width(data.name) + pen.px(3.0) + pen.text_px();
    let width = pen.text_width(&label);
    let row = pen.text_px() * 0.7;
    let free = pen.whole().right - pen.px(3.0);
    // Beside the wedge, on the side where there is room.
    let (at, beside) = if x + half + width <= free && x + half + pen.px(3.0) >= taken {
        (x + half + pen.px(3.0), Beside::Right)
    } else if x - half - width >= taken {
        (x - half - pen.px(3.0), Beside::Left)
    } else {
        (free, Beside::Left)
    };
    let start = if beside == Beside::Left { at - width } else { at };
    if start >= taken { pen.write(&label, (at, row), beside, accent) } else { Ok(()) }
}
