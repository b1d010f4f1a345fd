//! Strokes, marks and labels in page terms on top of a surface that knows whole pixels only.

use super::theme::{Dashes, LineLook, Marker};
use super::{ChartError, Frame, Rgb, Theme, text};
use plotters::prelude::DrawingBackend;
use plotters::style::text_anchor::{HPos, Pos, VPos};
use plotters::style::{
    Color, FontDesc, FontFamily, FontStyle, FontTransform, RGBColor, ShapeStyle, TextStyle,
};

/// A rectangle in pixels of the backing store; y grows downwards.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Area {
    /// Left edge.
    pub left: f64,
    /// Top edge.
    pub top: f64,
    /// Right edge.
    pub right: f64,
    /// Bottom edge.
    pub bottom: f64,
}

impl Area {
    /// Width in pixels.
    pub fn width(&self) -> f64 {
        self.right - self.left
    }

    /// Height in pixels.
    pub fn height(&self) -> f64 {
        self.bottom - self.top
    }

    /// Whether the point lies inside or on the edge.
    pub fn contains(&self, (x, y): (f64, f64)) -> bool {
        x >= self.left && x <= self.right && y >= self.top && y <= self.bottom
    }

    fn overlaps(&self, other: &Self) -> bool {
        self.left < other.right
            && other.left < self.right
            && self.top < other.bottom
            && other.top < self.bottom
    }

    fn inside(&self, other: &Self) -> bool {
        self.left >= other.left
            && self.right <= other.right
            && self.top >= other.top
            && self.bottom <= other.bottom
    }

    /// The same rectangle with its edges moved inwards.
    pub(super) fn inset(&self, by: f64) -> Self {
        Self { left: self.left + by, top: self.top + by, right: self.right - by, bottom: self.bottom - by }
    }

    /// The part of a segment inside the rectangle (Liang and Barsky, "A new concept and method for line clipping",
    /// ACM TOG 3(1), 1984).
    fn clip(&self, from: (f64, f64), to: (f64, f64)) -> Option<((f64, f64), (f64, f64))> {
        let (dx, dy) = (to.0 - from.0, to.1 - from.1);
        let (mut enter, mut leave) = (0.0_f64, 1.0_f64);
        for (direction, distance) in [
            (-dx, from.0 - self.left),
            (dx, self.right - from.0),
            (-dy, from.1 - self.top),
            (dy, self.bottom - from.1),
        ] {
            if direction == 0.0 {
                if distance < 0.0 {
                    return None;
                }
            } else if direction < 0.0 {
                enter = enter.max(distance / direction);
            } else {
                leave = leave.min(distance / direction);
            }
        }
        let at = |t: f64| (from.0 + dx * t, from.1 + dy * t);
        (enter <= leave).then(|| (at(enter), at(leave)))
    }
}

/// Where a label stands relative to its point.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Beside {
    /// The text starts at the point.
    Right,
    /// The text ends at the point.
    Left,
    /// The text is centred on the point.
    Middle,
}

/// Draws on a surface in the terms of a frame and a theme.
pub(super) struct Pen<'a, B: DrawingBackend> {
    surface: &'a mut B,
    pub(super) frame: Frame,
    pub(super) theme: &'a Theme,
    written: Vec<Area>,
}

impl<'a, B: DrawingBackend> Pen<'a, B> {
    pub(super) fn new(surface: &'a mut B, frame: Frame, theme: &'a Theme) -> Self {
        Self { surface, frame, theme, written: Vec::new() }
    }

    /// Page pixels in pixels of the backing store.
    pub(super) fn px(&self, page_px: f64) -> f64 {
        page_px * self.frame.scale
    }

    pub(super) fn text_px(&self) -> f64 {
        self.frame.text_px()
    }

    pub(super) fn whole(&self) -> Area {
        Area {
            left: 0.0,
            top: 0.0,
            right: f64::from(self.frame.width_px),
            bottom: f64::from(self.frame.height_px),
        }
    }

    pub(super) fn clear(&mut self) -> Result<(), ChartError> {
        let (whole, paper) = (self.whole(), self.theme.paper);
        self.fill(whole, paper, 1.0)
    }

    pub(super) fn fill(&mut self, area: Area, colour: Rgb, opacity: f64) -> Result<(), ChartError> {
        let style = ink(colour).mix(opacity);
        let corners = (whole_px((area.left, area.top)), whole_px((area.right, area.bottom)));
        check(self.surface.draw_rect(corners.0, corners.1, &style, true))
    }

    /// A straight line with this width in page pixels.
    pub(super) fn line(
        &mut self,
        from: (f64, f64),
        to: (f64, f64),
        colour: Rgb,
        width: f64,
    ) -> Result<(), ChartError> {
        let style = self.stroke(colour, width);
        check(self.surface.draw_line(whole_px(from), whole_px(to), &style))
    }

    /// A polyline, cut to `within` and broken into dashes of its width.
    pub(super) fn path(
        &mut self,
        points: &[(f64, f64)],
        within: &Area,
        colour: Rgb,
        width: f64,
        dashes: Dashes,
    ) -> Result<(), ChartError> {
        self.stroke_path(points, within, self.stroke(colour, width), self.px(width), dashes)
    }

    /// A thin polyline that lets what lies under it show through.
    pub(super) fn veil_path(
        &mut self,
        points: &[(f64, f64)],
        within: &Area,
        colour: Rgb,
        opacity: f64,
    ) -> Result<(), ChartError> {
        let mut style = self.stroke(colour, 1.0);
        style.color = ink(colour).mix(opacity);
        self.stroke_path(points, within, style, 1.0, &[])
    }

    fn stroke_path(
        &mut self,
        points: &[(f64, f64)],
        within: &Area,
        style: ShapeStyle,
        unit: f64,
        dashes: Dashes,
    ) -> Result<(), ChartError> {
        for piece in pieces(points, within) {
            for dash in dashed(&piece, dashes, unit) {
                if dash.len() > 1 {
                    check(self.surface.draw_path(dash.into_iter().map(whole_px), &style))?;
                }
            }
        }
        Ok(())
    }

    /// The edge of a rectangle.
    pub(super) fn outline(&mut self, area: &Area, colour: Rgb, width: f64) -> Result<(), ChartError> {
        let Area { left, top, right, bottom } = *area;
        let corners = [(left, top), (right, top), (right, bottom), (left, bottom), (left, top)];
        corners.windows(2).try_for_each(|pair| self.line(pair[0], pair[1], colour, width))
    }

    pub(super) fn polygon(
        &mut self,
        points: &[(f64, f64)],
        colour: Rgb,
        opacity: f64,
    ) -> Result<(), ChartError> {
        let style = ink(colour).mix(opacity);
        check(self.surface.fill_polygon(points.iter().copied().map(whole_px), &style))
    }

    pub(super) fn disc(&mut self, centre: (f64, f64), radius: f64, colour: Rgb) -> Result<(), ChartError> {
        let radius = radius_px(self.px(radius));
        check(self.surface.draw_circle(whole_px(centre), radius, &ink(colour).filled(), true))
    }

    /// A circle of this radius in pixels of the surface, which lets what lies under it show through.
    pub(super) fn veil_circle(
        &mut self,
        centre: (f64, f64),
        radius: f64,
        colour: Rgb,
        opacity: f64,
    ) -> Result<(), ChartError> {
        let mut style = self.stroke(colour, 1.0);
        style.color = ink(colour).mix(opacity);
        check(self.surface.draw_circle(whole_px(centre), radius_px(radius), &style, false))
    }

    pub(super) fn ring(
        &mut self,
        centre: (f64, f64),
        radius: f64,
        colour: Rgb,
        width: f64,
    ) -> Result<(), ChartError> {
        let style = self.stroke(colour, width);
        let radius = radius_px(self.px(radius));
        check(self.surface.draw_circle(whole_px(centre), radius, &style, false))
    }

    /// A line's marker: rings are filled with paper so that the line does not run through.
    pub(super) fn marker(&mut self, centre: (f64, f64), look: &LineLook) -> Result<(), ChartError> {
        let radius = 3.0;
        match look.marker {
            Marker::Disc => self.disc(centre, radius, look.colour),
            Marker::Ring => {
                self.disc(centre, radius, self.theme.paper)?;
                self.ring(centre, radius, look.colour, 1.5)
            }
            Marker::Square => {
                let half = self.px(radius).round();
                let (x, y) = (centre.0.round(), centre.1.round());
                let area = Area { left: x - half, top: y - half, right: x + half, bottom: y + half };
                self.fill(area, look.colour, 1.0)
            }
        }
    }

    pub(super) fn text_width(&self, label: &str) -> f64 {
        text::width(label, self.text_px())
    }

    /// The rectangle that a label takes, vertically centred on its point.
    pub(super) fn text_area(&self, label: &str, (x, y): (f64, f64), beside: Beside) -> Area {
        let (width, half) = (self.text_width(label), self.text_px() * 0.6);
        let left = match beside {
            Beside::Right => x,
            Beside::Left => x - width,
            Beside::Middle => x - width / 2.0,
        };
        Area { left, top: y - half, right: left + width, bottom: y + half }
    }

    /// Writes a label, vertically centred on its point.
    pub(super) fn write(
        &mut self,
        label: &str,
        at: (f64, f64),
        beside: Beside,
        colour: Rgb,
    ) -> Result<(), ChartError> {
        self.written.push(self.text_area(label, at, beside));
        let horizontal = match beside {
            Beside::Right => HPos::Left,
            Beside::Left => HPos::Right,
            Beside::Middle => HPos::Center,
        };
        let size = self.text_px() * self.frame.text_factor;
        let style = TextStyle {
            font: FontDesc::new(FontFamily::Name(self.theme.font), size, FontStyle::Normal)
                .transform(FontTransform::None),
            color: ink(colour).to_backend_color(),
            pos: Pos::new(horizontal, VPos::Center),
        };
        check(self.surface.draw_text(label, &style, whole_px(at)))
    }

    /// Keeps labels that are written later away from here.
    pub(super) fn reserve(&mut self, area: Area) {
        self.written.push(area);
    }

    /// Writes a label on a patch of paper where it lies inside `within` and touches no label written before; says
    /// whether it did.
    pub(super) fn write_if_free(
        &mut self,
        label: &str,
        at: (f64, f64),
        beside: Beside,
        colour: Rgb,
        within: &Area,
    ) -> Result<bool, ChartError> {
        let area = self.text_area(label, at, beside);
        let padded = area.inset(-self.px(2.0));
        if !area.inside(within) || self.written.iter().any(|other| other.overlaps(&padded)) {
            return Ok(false);
        }
        self.fill(area.inset(-self.px(1.0)), self.theme.paper, 0.8)?;
        self.write(label, at, beside, colour)?;
        Ok(true)
    }

    fn stroke(&self, colour: Rgb, width: f64) -> ShapeStyle {
        ink(colour).stroke_width(radius_px(self.px(width)).max(1))
    }
}

fn ink(colour: Rgb) -> RGBColor {
    RGBColor(colour.0, colour.1, colour.2)
}

fn check<E: std::error::Error>(result: Result<(), E>) -> Result<(), ChartError> {
    result.map_err(|error| ChartError::Surface(error.to_string()))
}

#[expect(clippy::cast_possible_truncation, reason = "a cast saturates; far outside is as good as outside")]
fn whole_px((x, y): (f64, f64)) -> (i32, i32) {
    (x.round() as i32, y.round() as i32)
}

#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few pixels, never negative")]
fn radius_px(px: f64) -> u32 {
    px.round().max(0.0) as u32
}

/// The pieces of a polyline inside a rectangle; broken where a point is not finite.
fn pieces(points: &[(f64, f64)], within: &Area) -> Vec<Vec<(f64, f64)>> {
    let finite = |point: &(f64, f64)| point.0.is_finite() && point.1.is_finite();
    let mut pieces: Vec<Vec<(f64, f64)>> = Vec::new();
    let mut joined = false;
    for pair in points.windows(2) {
        let clipped = if finite(&pair[0]) && finite(&pair[1]) { within.clip(pair[0], pair[1]) } else { None };
        let Some((from, to)) = clipped else {
            joined = false;
            continue;
        };
        match pieces.last_mut() {
            Some(piece) if joined && piece.last() == Some(&from) => piece.push(to),
            _ => pieces.push(vec![from, to]),
        }
        joined = to == pair[1];
    }
    pieces
}

/// Cuts a polyline into its dashes; `unit` is the length that the pattern counts in.
fn dashed(points: &[(f64, f64)], dashes: Dashes, unit: f64) -> Vec<Vec<(f64, f64)>> {
    let usable = dashes.iter().all(|&length| length > 0.0) && unit > 0.0;
    if dashes.is_empty() || !usable {
        return vec![points.to_vec()];
    }
    let mut result = Vec::new();
    let mut turn = 0;
    let mut left = dashes[0] * unit;
    let mut current = points.first().copied().into_iter().collect::<Vec<_>>();
    for pair in points.windows(2) {
        let length = (pair[1].0 - pair[0].0).hypot(pair[1].1 - pair[0].1);
        let mut done = 0.0;
        while length - done > left {
            done += left;
            let t = done / length;
            let point = (pair[0].0 + (pair[1].0 - pair[0].0) * t, pair[0].1 + (pair[1].1 - pair[0].1) * t);
            if turn % 2 == 0 {
                current.push(point);
                result.push(std::mem::take(&mut current));
            } else {
                current = vec![point];
            }
            turn += 1;
            left = dashes[turn % dashes.len()] * unit;
        }
        left -= length - done;
        if turn % 2 == 0 {
            current.push(pair[1]);
        }
    }
    if turn.is_multiple_of(2) {
        result.push(current);
    }
    result
}
