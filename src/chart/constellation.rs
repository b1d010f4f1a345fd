//! A constellation: its ideal points, the states that make them, and the error between the two.

use super::axis::Axis;
use super::pen::{Area, Beside, Pen};
use super::series::spread_rows;
use super::{ChartError, Frame, Rgb, Theme, text};
use num_complex::Complex64;
use plotters::prelude::DrawingBackend;

/// What a constellation chart shows, in the unit of the corner's magnitude and turned upright.
#[derive(Clone, Copy, Debug)]
pub struct ConstellationData<'a> {
    /// The ideal points of a square constellation, row by row from the lowest, the in-phase part ascending fastest.
    pub points: &'a [Complex64],
    /// The place of the state that makes each point.
    pub made: &'a [Complex64],
    /// Whether a point shares its state, or its state is not nearer to it than to all others.
    pub unclean: &'a [bool],
    /// All other states.
    pub others: &'a [Complex64],
    /// The place of a state to pick out.
    pub picked: Option<Complex64>,
}

/// What marks are called at the right side.
const NAMES: [&str; 4] = ["ideal point", "its state", "not clean", "other state"];

/// Draws in-phase part to the right and quadrature part upwards on equal axes: crosses for ideal points, discs for the
/// states that make them, a line of error between, open where a point is not clean; thin lines where one point's share of
/// the plane ends.
pub fn constellation<B: DrawingBackend>(
    surface: &mut B,
    frame: Frame,
    theme: &Theme,
    data: &ConstellationData,
) -> Result<(), ChartError> {
    for (what, found) in [("states of points", data.made.len()), ("marks of points", data.unclean.len())] {
        if found != data.points.len() {
            return Err(ChartError::LengthsDiffer { what, expected: data.points.len(), found });
        }
    }
    let pen = &mut Pen::new(surface, frame, theme);
    pen.clear()?;
    let view = View::of(frame, data);
    view.draw_axes(pen)?;
    view.draw_decisions(pen, data.points)?;
    let (ink, faint, accent) = (theme.ink, theme.faint, theme.accent);
    for &other in data.others {
        if let Some(at) = view.inside(other) {
            pen.disc(at, 0.8, faint)?;
        }
    }
    let radius = view.mark_radius(pen, data.points.len());
    // Thousands of crosses would hide what is between them.
    let (arm, colour) = if data.points.len() > 256 { (1.5 * radius, faint) } else { (radius + 1.5, ink) };
    for (&point, &made) in data.points.iter().zip(data.made) {
        pen.path(&[view.at(point), view.at(made)], &view.area, accent, 1.5, &[])?;
    }
    for &point in data.points {
        draw_cross(pen, view.at(point), arm, colour)?;
    }
    for (&made, &unclean) in data.made.iter().zip(data.unclean) {
        let Some(at) = view.inside(made) else { continue };
        if unclean {
            pen.disc(at, radius.max(1.5), theme.paper)?;
            pen.ring(at, radius.max(1.5), accent, 1.0)?;
        } else {
            pen.disc(at, radius, accent)?;
        }
    }
    if let Some(at) = data.picked.and_then(|picked| view.inside(picked)) {
        pen.ring(at, radius.max(1.5) + 3.0, ink, 2.0)?;
    }
    draw_names(pen, &view, data)
}

/// The square of the plane that is shown and where it lies.
struct View {
    area: Area,
    half: f64,
}

impl View {
    fn of(frame: Frame, data: &ConstellationData) -> Self {
        let text_px = frame.text_px();
        let names = NAMES.iter().map(|name| text::width(name, text_px)).fold(0.0, f64::max);
        let left = text::width("\u{2212}0.5", text_px) + 12.0 * frame.scale;
        let right = names + 26.0 * frame.scale;
        let (width, height) = (f64::from(frame.width_px), f64::from(frame.height_px));
        let top = (2.1 * text_px).round();
        let side = (width - left - right).min(height - 3.1 * text_px - top).floor().max(1.0);
        let left = left.round();
        Self { area: Area { left, top, right: left + side, bottom: top + side }, half: half_side(data) }
    }

    fn at(&self, value: Complex64) -> (f64, f64) {
        let scale = self.area.width() / (2.0 * self.half);
        (
            f64::midpoint(self.area.left, self.area.right) + value.re * scale,
            f64::midpoint(self.area.top, self.area.bottom) - value.im * scale,
        )
    }

    fn inside(&self, value: Complex64) -> Option<(f64, f64)> {
        Some(self.at(value)).filter(|at| at.0.is_finite() && at.1.is_finite() && self.area.contains(*at))
    }

    /// Marks of many points are small enough to stand apart.
    fn mark_radius<B: DrawingBackend>(&self, pen: &Pen<B>, points: usize) -> f64 {
        let pitch_px = self.area.width() / pen.px(1.0) / (points.max(1) as f64).sqrt();
        (0.12 * pitch_px).clamp(0.8, 3.0)
    }

    fn draw_axes<B: DrawingBackend>(&self, pen: &mut Pen<B>) -> Result<(), ChartError> {
        let (ink, faint, grid) = (pen.theme.ink, pen.theme.faint, pen.theme.grid);
        let Area { left, right, top, bottom } = self.area;
        let text_px = pen.text_px();
        for tick in Axis::linear(-self.half, self.half).ticks(5) {
            let (x, y) = self.at(Complex64::new(tick.value, tick.value));
            pen.line((x, bottom), (x, bottom + pen.px(3.0)), faint, 1.0)?;
            pen.line((left - pen.px(3.0), y), (left, y), faint, 1.0)?;
            pen.write(&tick.text, (x, bottom + pen.px(6.0) + 0.6 * text_px), Beside::Middle, faint)?;
            pen.write(&tick.text, (left - pen.px(6.0), y), Beside::Left, faint)?;
        }
        for (from, to) in [
            ((left, top), (right, top)),
            ((left, bottom), (right, bottom)),
            ((left, top), (left, bottom)),
            ((right, top), (right, bottom)),
        ] {
            pen.line(from, to, grid, 1.0)?;
        }
        pen.write("quadrature, corner = 1", (pen.px(3.0), text_px * 0.8), Beside::Right, ink)?;
        pen.write("in phase, corner = 1", (right, bottom + 2.5 * text_px), Beside::Left, ink)
    }

    /// Halfway between neighbours one point's share of the plane ends.
    fn draw_decisions<B: DrawingBackend>(
        &self,
        pen: &mut Pen<B>,
        points: &[Complex64],
    ) -> Result<(), ChartError> {
        let grid = pen.theme.grid;
        let row = points.iter().take_while(|point| point.im == points[0].im);
        let levels: Vec<f64> = row.map(|point| point.re).collect();
        for pair in levels.windows(2) {
            let (x, y) = self.at(Complex64::new(1.0, 1.0) * f64::midpoint(pair[0], pair[1]));
            pen.line((x, self.area.top), (x, self.area.bottom), grid, 1.0)?;
            pen.line((self.area.left, y), (self.area.right, y), grid, 1.0)?;
        }
        Ok(())
    }
}

/// Every point with some room beside it, and every state that makes one, within reason.
fn half_side(data: &ConstellationData) -> f64 {
    let extent = |values: &[Complex64]| {
        let sides = values.iter().flat_map(|value| [value.re.abs(), value.im.abs()]);
        sides.filter(|side| side.is_finite()).fold(0.0_f64, f64::max)
    };
    let points = extent(data.points);
    let side = (data.points.len() as f64).sqrt();
    let room = if side > 1.0 { (points / (side - 1.0)).min(0.35) } else { 0.35 };
    (points + room).max(extent(data.made).min(1.5) * 1.04).max(0.1)
}

fn draw_cross<B: DrawingBackend>(
    pen: &mut Pen<B>,
    (x, y): (f64, f64),
    radius: f64,
    colour: Rgb,
) -> Result<(), ChartError> {
    let arm = pen.px(radius);
    pen.line((x - arm, y), (x + arm, y), colour, 1.0)?;
    pen.line((x, y - arm), (x, y + arm), colour, 1.0)
}

/// Names one mark of each kind at the right side, the one nearest to it.
fn draw_names<B: DrawingBackend>(
    pen: &mut Pen<B>,
    view: &View,
    data: &ConstellationData,
) -> Result<(), ChartError> {
    let theme = pen.theme;
    let rightmost = |values: &mut dyn Iterator<Item = Complex64>| {
        values
            .filter_map(|value| view.inside(value))
            .max_by(|a, b| a.0.total_cmp(&b.0).then(b.1.total_cmp(&a.1)))
    };
    // The ideal point and its state are named of one and the same point, the top right one.
    let corner = data.points.len().checked_sub(1);
    let named = [
        (NAMES[0], theme.ink, corner.and_then(|at| view.inside(data.points[at]))),
        (NAMES[1], theme.accent, corner.and_then(|at| view.inside(data.made[at]))),
        (
            NAMES[2],
            theme.accent,
            rightmost(
                &mut data.made.iter().zip(data.unclean).filter(|(_, unclean)| **unclean).map(|(at, _)| *at),
            ),
        ),
        (NAMES[3], theme.faint, rightmost(&mut data.others.iter().copied())),
    ];
    let mut named: Vec<(&str, Rgb, (f64, f64))> =
        named.into_iter().filter_map(|(name, colour, at)| Some((name, colour, at?))).collect();
    named.sort_by(|a, b| a.2.1.total_cmp(&b.2.1));
    let wanted: Vec<f64> = named.iter().map(|(.., at)| at.1).collect();
    let rows = spread_rows(&wanted, 1.4 * pen.text_px(), view.area.top, view.area.bottom);
    for ((name, colour, at), row) in named.into_iter().zip(rows) {
        let text_at = (view.area.right + pen.px(14.0), row);
        pen.line((at.0 + pen.px(5.0), at.1), (text_at.0 - pen.px(3.0), row), colour, 1.0)?;
        pen.write(name, text_at, Beside::Right, colour)?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use plotters::prelude::SVGBackend;

    fn drawn(data: &ConstellationData) -> Result<String, ChartError> {
        let mut text = String::new();
        {
            let mut surface = SVGBackend::with_string(&mut text, (560, 440));
            constellation(&mut surface, Frame::svg(560, 440), &Theme::PRINT, data)?;
            surface.present().expect("text");
        }
        Ok(text)
    }

    /// The corners of a square with magnitude 1, the first state a quarter of its side off.
    fn square() -> (Vec<Complex64>, Vec<Complex64>) {
        let half = 0.5_f64.sqrt();
        let points: Vec<Complex64> = [(-1.0, -1.0), (1.0, -1.0), (-1.0, 1.0), (1.0, 1.0)]
            .map(|(x, y)| Complex64::new(x, y) * half)
            .to_vec();
        let mut made = points.clone();
        made[0] += 0.5 * half;
        (points, made)
    }

    #[test]
    fn every_point_has_a_cross_and_a_disc_and_what_is_not_clean_is_open() {
        let (points, made) = square();
        let circles = |unclean: &[bool], others: &[Complex64]| {
            let data = ConstellationData { points: &points, made: &made, unclean, others, picked: None };
            drawn(&data).expect("a chart").matches("<circle").count()
        };
        assert_eq!(circles(&[false; 4], &[]), 4);
        assert_eq!(circles(&[true, false, false, true], &[]), 6);
        // One other state lies in sight, and one far outside.
        assert_eq!(circles(&[false; 4], &[Complex64::new(0.1, 0.0), Complex64::new(9.0, 0.0)]), 5);
        // A ring around a state that is picked out, where it lies in sight.
        for (picked, rings) in [(made[0], 1), (Complex64::new(9.0, 0.0), 0)] {
            let unclean = &[false; 4];
            let data = ConstellationData {
                points: &points,
                made: &made,
                unclean,
                others: &[],
                picked: Some(picked),
            };
            assert_eq!(drawn(&data).expect("a chart").matches("<circle").count(), 4 + rings);
        }
    }

    /// Equal axes: the four corners make a square of pixels, and the error of the first state is a quarter of its side.
    #[test]
    fn axes_are_equal() {
        let (points, made) = square();
        let data = ConstellationData {
            points: &points,
            made: &made,
            unclean: &[false; 4],
            others: &[],
            picked: None,
        };
        let view = View::of(Frame::svg(560, 440), &data);
        let [low, right, up] = [0, 1, 2].map(|index| view.at(points[index]));
        assert!((right.0 - low.0 - (low.1 - up.1)).abs() < 1e-9 && right.0 - low.0 > 100.0);
        assert!((view.at(made[0]).0 - low.0 - 0.25 * (right.0 - low.0)).abs() < 1e-9);
        let text = drawn(&data).expect("a chart");
        for name in ["ideal point", "its state", "quadrature, corner = 1", "in phase, corner = 1"] {
            assert!(text.contains(&format!("\n{name}\n")), "{name}");
        }
        assert!(!text.contains("not clean"), "what is not there is not named");
    }

    #[test]
    fn nothing_is_an_empty_chart_and_what_does_not_fit_is_refused() {
        let empty = ConstellationData { points: &[], made: &[], unclean: &[], others: &[], picked: None };
        assert!(drawn(&empty).expect("a chart").contains("<text"));
        let (points, made) = square();
        let short = ConstellationData {
            points: &points,
            made: &made[1..],
            unclean: &[false; 4],
            others: &[],
            picked: None,
        };
        assert!(matches!(drawn(&short), Err(ChartError::LengthsDiffer { expected: 4, found: 3, .. })));
    }
}
