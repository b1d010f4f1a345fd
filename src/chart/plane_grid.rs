//! Circles of equal gain and spokes of equal phase behind the gain-phase plane.

use super::axis::{decimals, nice_step, written};
use super::pen::{Area, Beside, Pen};
use super::{ChartError, PlaneGeometry};
use num_complex::Complex64;
use plotters::prelude::DrawingBackend;

/// Which circles and spokes are drawn.
pub(super) struct Grid {
    /// Gains of the circles in dB, from the outermost inwards.
    rings_db: Vec<f64>,
    ring_step_db: f64,
    /// Phases of the spokes in degrees.
    spokes_deg: Vec<f64>,
    spoke_step_deg: f64,
    /// Radii between which the spokes run, linear.
    spokes_from: f64,
    spokes_to: f64,
}

/// The steps that divide a turn for the eye.
const SPOKE_STEPS_DEG: [f64; 12] = [0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 15.0, 30.0, 45.0, 60.0, 90.0];

/// Circles and spokes as dense as their labels allow, none beyond the outermost state.
pub(super) fn plan_grid(geometry: &PlaneGeometry, outermost: f64, text_px: f64) -> Grid {
    let (nearest, farthest) = visible_radii(geometry);
    let reach = farthest.min(outermost);
    let px_per_db = reach * geometry.unit_px * std::f64::consts::LN_10 / 20.0;
    let spacing_px = 4.2 * text_px;
    let ring_step_db = nice_step(spacing_px / px_per_db);
    let mut rings_db = Vec::new();
    let mut index = (20.0 * reach.log10() / ring_step_db + 1e-6).floor();
    let mut before = f64::INFINITY;
    while rings_db.len() < 40 {
        let radius = 10_f64.powf(index * ring_step_db / 20.0);
        if radius < nearest || (before - radius) * geometry.unit_px < 0.45 * spacing_px {
            break;
        }
        rings_db.push(index * ring_step_db);
        before = radius;
        index -= 1.0;
    }
    let px_per_degree = reach * geometry.unit_px * std::f64::consts::PI / 180.0;
    let rough = 6.0 * text_px / px_per_degree;
    let spoke_step_deg = SPOKE_STEPS_DEG.into_iter().find(|&step| step >= rough).unwrap_or(90.0);
    Grid {
        ring_step_db,
        spokes_deg: visible_spokes(geometry, spoke_step_deg, nearest, reach),
        spoke_step_deg,
        spokes_from: if before.is_finite() { before } else { nearest },
        spokes_to: outermost,
        rings_db,
    }
}

/// The smallest and the largest radius inside the window.
fn visible_radii(geometry: &PlaneGeometry) -> (f64, f64) {
    let Area { left, right, top, bottom } = geometry.area;
    let origin = geometry.to_px(Complex64::ZERO);
    let near = (origin.0.clamp(left, right) - origin.0).hypot(origin.1.clamp(top, bottom) - origin.1);
    let far = [(left, top), (right, top), (left, bottom), (right, bottom)]
        .into_iter()
        .map(|(x, y)| (x - origin.0).hypot(y - origin.1))
        .fold(0.0, f64::max);
    (near / geometry.unit_px, far / geometry.unit_px)
}

/// Spokes that pass the window, as multiples of the step within (−180°, 180°].
fn visible_spokes(geometry: &PlaneGeometry, step_deg: f64, nearest: f64, reach: f64) -> Vec<f64> {
    let count = (360.0 / step_deg).round();
    let mut spokes = Vec::new();
    let mut index = -(count / 2.0).floor() + 1.0;
    while index <= count / 2.0 {
        let degrees = index * step_deg;
        let seen = (0..=64).any(|part| {
            let radius = nearest + (reach - nearest) * f64::from(part) / 64.0;
            geometry.area.contains(at(geometry, radius, degrees))
        });
        if seen {
            spokes.push(degrees);
        }
        index += 1.0;
    }
    spokes
}

fn at(geometry: &PlaneGeometry, radius: f64, degrees: f64) -> (f64, f64) {
    geometry.to_px(Complex64::from_polar(radius, degrees.to_radians()))
}

pub(super) fn draw_grid<B: DrawingBackend>(
    pen: &mut Pen<B>,
    geometry: &PlaneGeometry,
    grid: &Grid,
) -> Result<(), ChartError> {
    let colour = pen.theme.grid;
    for &gain_db in &grid.rings_db {
        let radius = 10_f64.powf(gain_db / 20.0);
        // A chord of two degrees leaves the circle by 0.015 % of its radius; magnified windows need finer ones.
        let steps = if radius * geometry.unit_px > 2000.0 { 7200 } else { 180 };
        let circle: Vec<(f64, f64)> = (0..=steps)
            .map(|step| at(geometry, radius, 360.0 * f64::from(step) / f64::from(steps)))
            .collect();
        pen.path(&circle, &geometry.area, colour, if gain_db == 0.0 { 1.5 } else { 1.0 }, &[])?;
    }
    for &degrees in &grid.spokes_deg {
        let spoke = [at(geometry, grid.spokes_from, degrees), at(geometry, grid.spokes_to, degrees)];
        pen.path(&spoke, &geometry.area, colour, 1.0, &[])?;
    }
    Ok(())
}

/// Labels last, on patches of paper, so that states do not cover them; a label without room is left out.
pub(super) fn draw_grid_labels<B: DrawingBackend>(
    pen: &mut Pen<B>,
    geometry: &PlaneGeometry,
    grid: &Grid,
) -> Result<(), ChartError> {
    let (ink, faint) = (pen.theme.ink, pen.theme.faint);
    let within = geometry.area.inset(pen.px(3.0));
    let gain_decimals = decimals(grid.ring_step_db);
    for &gain_db in &grid.rings_db {
        let radius = 10_f64.powf(gain_db / 20.0);
        let label = format!("{} dB", written(gain_db, gain_decimals));
        let preferred = [75.0, 105.0, 15.0, 165.0, -75.0, -105.0, -15.0, -165.0];
        let others = (-179..=180).map(f64::from);
        for degrees in preferred.into_iter().chain(others) {
            let point = at(geometry, radius, degrees);
            if pen.write_if_free(&label, point, Beside::Middle, ink, &within)? {
                break;
            }
        }
    }
    let phase_decimals = decimals(grid.spoke_step_deg);
    for &degrees in &grid.spokes_deg {
        let label = format!("{}°", written(degrees, phase_decimals));
        write_spoke_label(pen, geometry, grid, degrees, &label, faint, &within)?;
    }
    Ok(())
}

/// Outside the outermost circle where the window shows it, else as far out along the spoke as the window goes.
fn write_spoke_label<B: DrawingBackend>(
    pen: &mut Pen<B>,
    geometry: &PlaneGeometry,
    grid: &Grid,
    degrees: f64,
    label: &str,
    colour: super::Rgb,
    within: &Area,
) -> Result<(), ChartError> {
    let (sin, cos) = degrees.to_radians().sin_cos();
    let half_width = pen.text_width(label) / 2.0;
    let outward = pen.px(5.0) + half_width * cos.abs() + pen.text_px() * 0.6 * sin.abs();
    let outside = grid.spokes_to + outward / geometry.unit_px;
    if pen.write_if_free(label, at(geometry, outside, degrees), Beside::Middle, colour, within)? {
        return Ok(());
    }
    for step in 0..=60 {
        let radius = grid.spokes_to + (grid.spokes_from - grid.spokes_to) * f64::from(step) / 60.0;
        if pen.write_if_free(label, at(geometry, radius, degrees), Beside::Middle, colour, within)? {
            return Ok(());
        }
    }
    Ok(())
}
