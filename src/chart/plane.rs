//! The gain-phase plane at one frequency: where the states land, seen as complex numbers.
//!
//! A plain complex plane of equal aspect, so that a distance on the page is a vector error and a tolerance keeps its
//! shape; circles carry decibels, spokes degrees.

use super::pen::{Area, Beside, Pen};
use super::plane_grid::{draw_grid, draw_grid_labels, plan_grid, veil_rings};
use super::plane_key::{draw_key, key_room};
use super::{ChartError, Dashes, Frame, Rgb, StatePalette, Theme};
use num_complex::Complex64;
use plotters::prelude::DrawingBackend;

/// The part of the plane that is seen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlaneWindow {
    /// What lies in the middle.
    pub centre: Complex64,
    /// Half of the shorter side, linear, positive.
    pub half_side: f64,
}

impl PlaneWindow {
    /// All states and the unit circle, with room for the labels around.
    pub fn whole(states: &[Complex64]) -> Self {
        Self { centre: Complex64::ZERO, half_side: outermost(states) * 1.17 }
    }
}

/// The largest magnitude among finite states and 1.
fn outermost(states: &[Complex64]) -> f64 {
    states.iter().map(|state| state.norm()).filter(|norm| norm.is_finite()).fold(1.0, f64::max)
}

/// The state to pick out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Highlight<'a> {
    /// Its index among the states.
    pub state: usize,
    /// The index of the target that it serves.
    pub target: Option<usize>,
    /// Half the height (dB) and half the width (degrees) of that setting's tolerance cell.
    pub tolerance: Option<(f64, f64)>,
    /// What is written beside it.
    pub label: &'a str,
}

/// What the plane shows.
#[derive(Clone, Copy, Debug)]
pub struct PlaneData<'a> {
    /// Relative gain of every state, linear.
    pub states: &'a [Complex64],
    /// Colour of every state, from a [`StatePalette`].
    pub colours: &'a [Rgb],
    /// The palette, for its key; no key where there is none.
    pub palette: Option<&'a StatePalette>,
    /// Wanted settings, drawn as open marks where there is room for them.
    pub targets: &'a [Complex64],
    /// Wanted settings that no state comes near, marked with diamonds.
    pub holes: &'a [Complex64],
    /// Half the height (dB) and half the width (degrees) of the tolerance cell around each target, where all have the same.
    pub tolerance: Option<(f64, f64)>,
    /// The state to pick out.
    pub highlight: Option<Highlight<'a>>,
    /// The state under the pointer, marked more lightly.
    pub pointed: Option<Highlight<'a>>,
    /// The part of the plane that is seen.
    pub window: PlaneWindow,
}

/// The geometry of a drawn plane, for reading a pointer back.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlaneGeometry {
    /// The rectangle of the plane, in pixels of the backing store.
    pub area: Area,
    /// What lies in its middle.
    pub centre: Complex64,
    /// Pixels for a magnitude of 1.
    pub unit_px: f64,
}

impl PlaneGeometry {
    fn new(frame: Frame, data: &PlaneData) -> Self {
        let key = if data.palette.is_some() { key_room(frame) } else { 0.0 };
        let (width, height) = (f64::from(frame.width_px), f64::from(frame.height_px));
        let area = Area { left: 0.0, top: 0.0, right: (width - key).max(1.0), bottom: height.max(1.0) };
        let half_side = if data.window.half_side > 0.0 { data.window.half_side } else { 1.0 };
        let unit_px = area.width().min(area.height()) / 2.0 / half_side;
        Self { area, centre: data.window.centre, unit_px }
    }

    fn middle(&self) -> (f64, f64) {
        (f64::midpoint(self.area.left, self.area.right), f64::midpoint(self.area.top, self.area.bottom))
    }

    /// Where a relative gain is drawn.
    pub fn to_px(&self, gain: Complex64) -> (f64, f64) {
        let (x, y) = self.middle();
        let from_centre = gain - self.centre;
        (x + from_centre.re * self.unit_px, y - from_centre.im * self.unit_px)
    }

    /// The relative gain under a point.
    pub fn at(&self, (x_px, y_px): (f64, f64)) -> Complex64 {
        let (x, y) = self.middle();
        self.centre + Complex64::new((x_px - x) / self.unit_px, (y - y_px) / self.unit_px)
    }
}

/// Draws the plane and returns its geometry.
pub fn plane<B: DrawingBackend>(
    surface: &mut B,
    frame: Frame,
    theme: &Theme,
    data: &PlaneData,
) -> Result<PlaneGeometry, ChartError> {
    check(data)?;
    let geometry = PlaneGeometry::new(frame, data);
    let pen = &mut Pen::new(surface, frame, theme);
    pen.clear()?;
    let grid = plan_grid(&geometry, outermost(data.states), pen.text_px());
    draw_grid(pen, &geometry, &grid)?;
    draw_targets(pen, &geometry, data)?;
    let many_holes = data.holes.len() > MANY_HOLES;
    if many_holes {
        draw_holes(pen, &geometry, data)?;
    }
    draw_states(pen, &geometry, data)?;
    veil_rings(pen, &geometry, &grid)?;
    if !many_holes {
        draw_holes(pen, &geometry, data)?;
    }
    draw_reference(pen, &geometry)?;
    if let Some(highlight) = data.highlight {
        draw_highlight(pen, &geometry, data, highlight, PICKED)?;
    }
    if let Some(pointed) = data.pointed {
        draw_highlight(pen, &geometry, data, pointed, POINTED)?;
    }
    draw_grid_labels(pen, &geometry, &grid)?;
    if let Some(palette) = data.palette {
        draw_key(pen, palette)?;
    }
    Ok(geometry)
}

fn check(data: &PlaneData) -> Result<(), ChartError> {
    let states = data.states.len();
    if data.colours.len() != states {
        return Err(ChartError::LengthsDiffer {
            what: "state colours",
            expected: states,
            found: data.colours.len(),
        });
    }
    let targets = data.targets.len();
    for highlight in [data.highlight, data.pointed].into_iter().flatten() {
        if highlight.state >= states {
            return Err(ChartError::OutOfRange { what: "state", index: highlight.state, count: states });
        }
        if let Some(index) = highlight.target.filter(|index| *index >= targets) {
            return Err(ChartError::OutOfRange { what: "target", index, count: targets });
        }
    }
    Ok(())
}

/// Pixels between marks, were the visible ones spread evenly over the window.
fn spacing_px(geometry: &PlaneGeometry, visible: usize) -> f64 {
    (geometry.area.width() * geometry.area.height() / visible.max(1) as f64).sqrt()
}

/// So many states or fewer are drawn as discs, and no label covers any but that of the state picked out, where all room is
/// taken.
const FEW_STATES: usize = 400;

/// More holes than this would bury the states: they are drawn under them.
const MANY_HOLES: usize = 200;

/// Squares, since a surface fills thousands of them fastest; discs where there are few.
fn draw_states<B: DrawingBackend>(
    pen: &mut Pen<B>,
    geometry: &PlaneGeometry,
    data: &PlaneData,
) -> Result<(), ChartError> {
    let marks: Vec<((f64, f64), Rgb)> = data
        .states
        .iter()
        .zip(data.colours)
        .map(|(&state, &colour)| (geometry.to_px(state), colour))
        .filter(|(at, _)| geometry.area.contains(*at))
        .collect();
    let size = (spacing_px(geometry, marks.len()) / pen.frame.scale * 0.4).clamp(2.0, 7.0);
    if marks.len() <= FEW_STATES {
        let half = pen.px(size / 2.0);
        for ((x, y), colour) in marks {
            pen.disc((x, y), size / 2.0, colour)?;
            pen.reserve(Area { left: x - half, right: x + half, top: y - half, bottom: y + half });
        }
        return Ok(());
    }
    let side = pen.px(size).round();
    for ((x, y), colour) in marks {
        let (left, top) = ((x - side / 2.0).round(), (y - side / 2.0).round());
        pen.fill(Area { left, top, right: left + side, bottom: top + side }, colour, 1.0)?;
    }
    Ok(())
}

/// Targets as small crosses, and their tolerance cells, each where the window leaves room for them.
fn draw_targets<B: DrawingBackend>(
    pen: &mut Pen<B>,
    geometry: &PlaneGeometry,
    data: &PlaneData,
) -> Result<(), ChartError> {
    let visible: Vec<Complex64> = data
        .targets
        .iter()
        .copied()
        .filter(|&target| geometry.area.contains(geometry.to_px(target)))
        .collect();
    let spacing = spacing_px(geometry, visible.len()) / pen.frame.scale;
    if visible.is_empty() || spacing < 16.0 {
        return Ok(());
    }
    let faint = pen.theme.faint;
    if let (Some(tolerance), true) = (data.tolerance, spacing >= 30.0) {
        for &target in &visible {
            draw_cell(pen, geometry, target, tolerance, faint, &[1.0, 3.0])?;
        }
    }
    let arm = pen.px(3.0);
    for &target in &visible {
        let (x, y) = geometry.to_px(target);
        pen.line((x - arm, y), (x + arm, y), faint, 1.0)?;
        pen.line((x, y - arm), (x, y + arm), faint, 1.0)?;
    }
    Ok(())
}

/// Holes as open diamonds, the smaller the more there are.
fn draw_holes<B: DrawingBackend>(
    pen: &mut Pen<B>,
    geometry: &PlaneGeometry,
    data: &PlaneData,
) -> Result<(), ChartError> {
    let spacing = spacing_px(geometry, data.holes.len()) / pen.frame.scale;
    let (accent, arm) = (pen.theme.accent, pen.px((0.3 * spacing).clamp(2.0, 4.0)));
    for (x, y) in data.holes.iter().map(|&hole| geometry.to_px(hole)) {
        let diamond = [(x, y - arm), (x + arm, y), (x, y + arm), (x - arm, y), (x, y - arm)];
        pen.path(&diamond, &geometry.area, accent, 1.5, &[])?;
    }
    Ok(())
}

/// The outline of what lies within tolerance of a target: a piece of a ring.
fn draw_cell<B: DrawingBackend>(
    pen: &mut Pen<B>,
    geometry: &PlaneGeometry,
    target: Complex64,
    (gain_db, phase_deg): (f64, f64),
    colour: Rgb,
    dashes: Dashes,
) -> Result<(), ChartError> {
    let factor = 10_f64.powf(gain_db / 20.0);
    let half = phase_deg.to_radians();
    let corner = |ratio: f64, part: f64| geometry.to_px(target * Complex64::from_polar(ratio, half * part));
    let steps = 8;
    let sweep = || (0..=steps).map(move |step| 2.0 * f64::from(step) / f64::from(steps) - 1.0);
    let outer = sweep().map(|part| corner(factor, part));
    let inner = sweep().map(|part| corner(1.0 / factor, -part));
    let outline: Vec<(f64, f64)> = outer.chain(inner).chain([corner(factor, -1.0)]).collect();
    pen.path(&outline, &geometry.area, colour, 1.0, dashes)
}

/// The reference state stands at 1: a ring with a dot's room inside.
fn draw_reference<B: DrawingBackend>(pen: &mut Pen<B>, geometry: &PlaneGeometry) -> Result<(), ChartError> {
    let at = geometry.to_px(Complex64::ONE);
    let within = geometry.area.inset(pen.px(6.0));
    if !within.contains(at) {
        return Ok(());
    }
    let ink = pen.theme.ink;
    pen.ring(at, 5.0, ink, 1.5)?;
    let half = pen.px(6.0);
    pen.reserve(Area { left: at.0 - half, right: at.0 + half, top: at.1 - half, bottom: at.1 + half });
    write_beside(pen, at, pen.px(9.0), "reference", ink, &geometry.area).map(|_| ())
}

/// Writes a label beside a point where it touches nothing, near it or somewhat farther away; says whether it did.
fn write_beside<B: DrawingBackend>(
    pen: &mut Pen<B>,
    at: (f64, f64),
    away_px: f64,
    label: &str,
    colour: Rgb,
    within: &Area,
) -> Result<bool, ChartError> {
    for farther in [1.0, 1.7, 2.6] {
        let (dx, dy) = (away_px * farther, pen.text_px() * farther);
        for (x, y, beside) in [
            (at.0 + dx, at.1 + dy, Beside::Right),
            (at.0 - dx, at.1 + dy, Beside::Left),
            (at.0 + dx, at.1 - dy, Beside::Right),
            (at.0 - dx, at.1 - dy, Beside::Left),
        ] {
            if pen.write_if_free(label, (x, y), beside, colour, within)? {
                return Ok(true);
            }
        }
    }
    Ok(false)
}

/// How wide the ring of a state is, and how its tolerance cell is dashed.
const PICKED: (f64, Dashes) = (2.0, &[]);
const POINTED: (f64, Dashes) = (1.0, &[4.0, 3.0]);

/// The state to pick out, its target with the tolerance cell, and the error between them.
fn draw_highlight<B: DrawingBackend>(
    pen: &mut Pen<B>,
    geometry: &PlaneGeometry,
    data: &PlaneData,
    highlight: Highlight,
    (width, dashes): (f64, Dashes),
) -> Result<(), ChartError> {
    let accent = pen.theme.accent;
    let at = geometry.to_px(data.states[highlight.state]);
    let half = pen.px(7.0);
    pen.reserve(Area { left: at.0 - half, right: at.0 + half, top: at.1 - half, bottom: at.1 + half });
    if let Some(target) = highlight.target.map(|index| data.targets[index]) {
        if let Some(tolerance) = highlight.tolerance {
            draw_cell(pen, geometry, target, tolerance, accent, dashes)?;
        }
        pen.path(&[geometry.to_px(target), at], &geometry.area, accent, 0.75 * width, &[])?;
    }
    if !geometry.area.inset(pen.px(8.0)).contains(at) {
        return Ok(());
    }
    pen.ring(at, 6.0, accent, width)?;
    if write_beside(pen, at, pen.px(10.0), highlight.label, accent, &geometry.area)? {
        return Ok(());
    }
    // What was asked for is told, whatever lies there.
    let beside = if at.0 < geometry.middle().0 { Beside::Right } else { Beside::Left };
    let away = if beside == Beside::Right { pen.px(10.0) } else { -pen.px(10.0) };
    pen.write(highlight.label, (at.0 + away, at.1), beside, accent)
}
