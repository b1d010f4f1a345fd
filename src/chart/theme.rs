//! What the drawing looks like: paper, ink, one accent, and how lines differ without colour.

use super::{Paper, Rgb};

/// How a line is broken, in units of its own width: lengths of ink and gap in turn; empty is unbroken.
pub type Dashes = &'static [f64];

/// The mark that repeats along a line and stands at its end.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Marker {
    /// A filled disc.
    Disc,
    /// An open ring.
    Ring,
    /// A filled square.
    Square,
}

/// How one line is drawn. Lines of one chart differ in dashes as well as in colour, the first three in their markers too.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LineLook {
    /// Colour of the line, its markers and its label.
    pub colour: Rgb,
    /// Width in pixels at scale 1.
    pub width_px: f64,
    /// Its breaks.
    pub dashes: Dashes,
    /// Its marker.
    pub marker: Marker,
}

/// Which look a line takes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Role {
    /// The line that answers the question: the accent, unbroken and thick.
    First,
    /// The line to compare it with.
    Second,
    /// A third line.
    Third,
    /// A fourth line.
    Fourth,
    /// A fifth line.
    Fifth,
    /// A sixth line.
    Sixth,
    /// A seventh line.
    Seventh,
}

impl Role {
    /// All looks, the first line's first.
    pub const ALL: [Self; 7] =
        [Self::First, Self::Second, Self::Third, Self::Fourth, Self::Fifth, Self::Sixth, Self::Seventh];
}

/// The look of all charts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Theme {
    /// Light or dark: decides the state colours and the density ramp.
    pub paper_kind: Paper,
    /// The paper.
    pub paper: Rgb,
    /// Lines and text.
    pub ink: Rgb,
    /// Secondary text: ticks and axis names.
    pub faint: Rgb,
    /// Grid lines.
    pub grid: Rgb,
    /// The shade of a band, between paper and grid.
    pub shade: Rgb,
    /// The one accent: what is chosen or highlighted.
    pub accent: Rgb,
    /// Looks by [`Role`].
    pub lines: [LineLook; 7],
    /// Font families as CSS writes them.
    pub font: &'static str,
}

const FONT: &str = "system-ui, Segoe UI, Helvetica Neue, Arial, sans-serif";
const DASHED: Dashes = &[5.0, 3.0];
const DOTTED: Dashes = &[1.0, 2.0];

const SHORT_DASHED: Dashes = &[3.0, 3.0];
const LONG_DASHED: Dashes = &[11.0, 4.0];
const DASH_TWICE_DOTTED: Dashes = &[7.0, 3.0, 1.0, 3.0, 1.0, 3.0];
const DASH_DOTTED: Dashes = &[7.0, 3.0, 1.0, 3.0];

/// Three colours; lines of one colour differ in their dashes and markers.
const fn lines(first: Rgb, second: Rgb, third: Rgb) -> [LineLook; 7] {
    [
        LineLook { colour: first, width_px: 2.0, dashes: &[], marker: Marker::Disc },
        LineLook { colour: second, width_px: 1.5, dashes: DASHED, marker: Marker::Ring },
        LineLook { colour: third, width_px: 2.0, dashes: DOTTED, marker: Marker::Square },
        LineLook { colour: third, width_px: 1.5, dashes: DASH_TWICE_DOTTED, marker: Marker::Ring },
        LineLook { colour: second, width_px: 1.5, dashes: DASH_DOTTED, marker: Marker::Square },
        LineLook { colour: third, width_px: 1.5, dashes: LONG_DASHED, marker: Marker::Disc },
        LineLook { colour: second, width_px: 1.5, dashes: SHORT_DASHED, marker: Marker::Disc },
    ]
}

impl Theme {
    /// Ink on warm paper.
    pub const LIGHT: Self = Self {
        paper_kind: Paper::Light,
        paper: Rgb(0xfb, 0xf9, 0xf4),
        ink: Rgb(0x22, 0x1f, 0x1a),
        faint: Rgb(0x66, 0x60, 0x56),
        grid: Rgb(0xdf, 0xd9, 0xcc),
        shade: Rgb(0xf2, 0xee, 0xe4),
        accent: Rgb(0xb2, 0x36, 0x1c),
        lines: lines(Rgb(0xb2, 0x36, 0x1c), Rgb(0x22, 0x1f, 0x1a), Rgb(0x1d, 0x5f, 0x7c)),
        font: FONT,
    };

    /// Pale ink on dark paper.
    pub const DARK: Self = Self {
        paper_kind: Paper::Dark,
        paper: Rgb(0x1a, 0x18, 0x15),
        ink: Rgb(0xec, 0xe6, 0xd9),
        faint: Rgb(0xa8, 0xa0, 0x92),
        grid: Rgb(0x3b, 0x37, 0x30),
        shade: Rgb(0x25, 0x22, 0x1e),
        accent: Rgb(0xff, 0x8a, 0x5e),
        lines: lines(Rgb(0xff, 0x8a, 0x5e), Rgb(0xec, 0xe6, 0xd9), Rgb(0x78, 0xbf, 0xdd)),
        font: FONT,
    };

    /// Black ink on white paper; lines still differ when printed grey.
    pub const PRINT: Self = Self {
        paper_kind: Paper::Light,
        paper: Rgb(0xff, 0xff, 0xff),
        ink: Rgb(0x00, 0x00, 0x00),
        faint: Rgb(0x4a, 0x4a, 0x4a),
        grid: Rgb(0xd6, 0xd6, 0xd6),
        shade: Rgb(0xf0, 0xf0, 0xf0),
        accent: Rgb(0xa3, 0x2a, 0x12),
        lines: lines(Rgb(0xa3, 0x2a, 0x12), Rgb(0x00, 0x00, 0x00), Rgb(0x14, 0x55, 0x72)),
        font: FONT,
    };

    /// The look of a role.
    pub fn line(&self, role: Role) -> &LineLook {
        &self.lines[role as usize]
    }
}

/// The surface to draw on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Frame {
    /// Width of the backing store in its own pixels.
    pub width_px: u32,
    /// Height of the backing store in its own pixels.
    pub height_px: u32,
    /// Backing pixels per page pixel (the device pixel ratio): text, margins and strokes grow with it.
    pub scale: f64,
    /// What the surface's font size has to be multiplied by for a given height: 1 on a canvas,
    /// [`Frame::SVG_TEXT_FACTOR`] on plotters' SVG surface.
    pub text_factor: f64,
}

impl Frame {
    /// plotters' SVG surface divides every font size by this.
    pub const SVG_TEXT_FACTOR: f64 = 1.24;

    /// A canvas whose backing store has this size.
    pub fn canvas(width_px: u32, height_px: u32, scale: f64) -> Self {
        Self { width_px, height_px, scale, text_factor: 1.0 }
    }

    /// An SVG drawing of this size.
    pub fn svg(width_px: u32, height_px: u32) -> Self {
        Self { width_px, height_px, scale: 1.0, text_factor: Self::SVG_TEXT_FACTOR }
    }

    /// Text height: 12 page pixels, less on small frames, never under 9.
    pub(super) fn text_px(&self) -> f64 {
        let side = f64::from(self.width_px.min(2 * self.height_px)) / self.scale;
        (side / 40.0).clamp(9.0, 12.0) * self.scale
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::colour::contrast;

    /// WCAG 2.2, criterion 1.4.3: text 4.5 : 1.
    #[test]
    fn everything_that_is_written_can_be_read() {
        for theme in [Theme::LIGHT, Theme::DARK, Theme::PRINT] {
            let written = [theme.ink, theme.faint, theme.accent];
            for colour in written.into_iter().chain(theme.lines.map(|line| line.colour)) {
                for ground in [theme.paper, theme.shade] {
                    assert!(contrast(colour, ground) >= 4.5, "{colour:?} on {ground:?}");
                }
            }
        }
    }

    #[test]
    fn no_two_lines_differ_by_colour_alone() {
        for theme in [Theme::LIGHT, Theme::DARK, Theme::PRINT] {
            for (index, one) in theme.lines.iter().enumerate() {
                for other in &theme.lines[index + 1..] {
                    assert_ne!(one.dashes, other.dashes);
                }
            }
        }
    }
}
