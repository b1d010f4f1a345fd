//! Lines against frequency, and the labels at their ends.

use super::pen::{Area, Beside, Pen};
use super::{ChartError, Plot, Rgb, Role};
use plotters::prelude::DrawingBackend;

/// One line against frequency.
#[derive(Clone, Copy, Debug)]
pub struct Curve<'a> {
    /// What is written at its end.
    pub label: &'a str,
    /// A value per frequency; the line has a gap where there is none, or where it is not finite.
    pub values: &'a [Option<f64>],
    /// Its look.
    pub role: Role,
}

/// A value that must not be passed, drawn across the plot or over its sub-band.
#[derive(Clone, Copy, Debug)]
pub struct Limit<'a> {
    /// What is written at its end.
    pub label: &'a str,
    /// Where it stands.
    pub value: f64,
    /// The sub-band that it is for, ascending and perhaps beyond the grid; `None` where it is for all.
    pub over_hz: Option<(f64, f64)>,
}

/// A label at the right edge and the row that it belongs to.
pub(super) struct EndLabel<'a> {
    pub(super) text: &'a str,
    pub(super) row: f64,
    pub(super) colour: Rgb,
}

/// The room that end labels need.
pub(super) fn end_label_room<'a>(frame: super::Frame, labels: impl Iterator<Item = &'a str>) -> f64 {
    let widest = labels.map(|label| super::text::width(label, frame.text_px())).fold(0.0, f64::max);
    widest + 16.0 * frame.scale
}

pub(super) fn check_lengths(frequency_hz: &[f64], curves: &[Curve]) -> Result<(), ChartError> {
    match curves.iter().find(|curve| curve.values.len() != frequency_hz.len()) {
        Some(curve) => Err(ChartError::LengthsDiffer {
            what: "values of a line",
            expected: frequency_hz.len(),
            found: curve.values.len(),
        }),
        None => Ok(()),
    }
}

/// Draws the lines; where `break_over` is given, the line is broken at larger jumps. Returns the labels for their ends.
pub(super) fn draw_curves<'a, B: DrawingBackend>(
    pen: &mut Pen<B>,
    plot: &Plot,
    frequency_hz: &[f64],
    curves: &[Curve<'a>],
    break_over: Option<f64>,
) -> Result<Vec<EndLabel<'a>>, ChartError> {
    let mut labels = Vec::new();
    // Room for half a stroke, so that a line along the plot's edge stays whole.
    let within = plot.area.inset(-pen.px(1.0));
    for curve in curves.iter().rev() {
        let look = *pen.theme.line(curve.role);
        let mut points = Vec::with_capacity(frequency_hz.len());
        let mut before = None;
        for (&hz, &value) in frequency_hz.iter().zip(curve.values) {
            let jumps =
                |limit: f64| before.zip(value).is_some_and(|(a, b): (f64, f64)| (b - a).abs() > limit);
            if break_over.is_some_and(jumps) {
                points.push((f64::NAN, f64::NAN));
            }
            points.push((plot.x_of(hz), value.map_or(f64::NAN, |value| plot.y_of(value))));
            before = value;
        }
        pen.path(&points, &within, look.colour, look.width_px, look.dashes)?;
        mark_lone_points(pen, &points, &within, curve.role)?;
        let last = points.iter().rev().find(|point| point.1.is_finite());
        if let Some(&(_, row)) = last {
            labels.push(EndLabel { text: curve.label, row, colour: look.colour });
        }
    }
    Ok(labels)
}

/// A value without neighbours makes no line: it is drawn as a marker.
fn mark_lone_points<B: DrawingBackend>(
    pen: &mut Pen<B>,
    points: &[(f64, f64)],
    within: &Area,
    role: Role,
) -> Result<(), ChartError> {
    let look = *pen.theme.line(role);
    let missing = |index: Option<usize>| {
        index.and_then(|index| points.get(index)).is_none_or(|point| !point.1.is_finite())
    };
    for (index, &point) in points.iter().enumerate() {
        let lone = missing(index.checked_sub(1)) && missing(Some(index + 1));
        if lone && point.1.is_finite() && within.contains(point) {
            pen.marker(point, &look)?;
        }
    }
    Ok(())
}

/// A marker on every line at one grid frequency.
pub(super) fn mark_at<B: DrawingBackend>(
    pen: &mut Pen<B>,
    plot: &Plot,
    frequency_hz: &[f64],
    curves: &[Curve],
    at_hz: f64,
) -> Result<(), ChartError> {
    let nearest = frequency_hz
        .iter()
        .enumerate()
        .min_by(|a, b| (a.1 - at_hz).abs().total_cmp(&(b.1 - at_hz).abs()))
        .map(|(index, _)| index);
    let Some(index) = nearest else { return Ok(()) };
    for curve in curves.iter().rev() {
        if let Some(value) = curve.values[index] {
            let point = (plot.x_of(frequency_hz[index]), plot.y_of(value));
            if point.1.is_finite() && plot.area.contains(point) {
                let look = *pen.theme.line(curve.role);
                pen.marker(point, &look)?;
            }
        }
    }
    Ok(())
}

/// Writes labels right of the plot, each as near to its row as the others allow, joined to it where it had to move.
pub(super) fn draw_end_labels<B: DrawingBackend>(
    pen: &mut Pen<B>,
    area: &Area,
    mut labels: Vec<EndLabel>,
) -> Result<(), ChartError> {
    labels.sort_by(|a, b| a.row.total_cmp(&b.row));
    let wanted: Vec<f64> = labels.iter().map(|label| label.row).collect();
    let half = pen.text_px() * 0.6;
    let rows = spread_rows(&wanted, 2.0 * half, area.top, area.bottom);
    for (label, row) in labels.iter().zip(rows) {
        let from = area.right + pen.px(2.0);
        let to = area.right + pen.px(10.0);
        let anchor = label.row.clamp(area.top, area.bottom);
        pen.line((from, anchor), (to, row), label.colour, 1.0)?;
        pen.write(label.text, (area.right + pen.px(13.0), row), Beside::Right, label.colour)?;
    }
    Ok(())
}

/// Rows at least `spacing` apart, in order, within the ends where they fit, each group of touching rows centred on
/// what it wanted.
pub(super) fn spread_rows(wanted: &[f64], spacing: f64, top: f64, bottom: f64) -> Vec<f64> {
    // A group is (sum of wanted first-row positions, members); its first row is the mean.
    let mut groups: Vec<(f64, usize)> = Vec::new();
    let first_row = |group: &(f64, usize)| {
        let room = spacing * (group.1 - 1) as f64;
        (group.0 / group.1 as f64).min(bottom - room).max(top)
    };
    for &row in wanted {
        groups.push((row, 1));
        while groups.len() > 1 {
            let (before, last) = (groups[groups.len() - 2], groups[groups.len() - 1]);
            let end_of_before = first_row(&before) + spacing * before.1 as f64;
            if first_row(&last) >= end_of_before {
                break;
            }
            let shifted = last.0 - spacing * (before.1 * last.1) as f64;
            groups.pop();
            groups.pop();
            groups.push((before.0 + shifted, before.1 + last.1));
        }
    }
    groups
        .iter()
        .flat_map(|group| {
            let first = first_row(group);
            (0..group.1).map(move |index| first + spacing * index as f64)
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_that_have_room_stay_and_others_part_evenly() {
        assert_eq!(spread_rows(&[10.0, 50.0, 90.0], 12.0, 0.0, 100.0), [10.0, 50.0, 90.0]);
        assert_eq!(spread_rows(&[50.0, 50.0], 12.0, 0.0, 100.0), [44.0, 56.0]);
        assert_eq!(spread_rows(&[99.0, 100.0, 100.0], 12.0, 0.0, 100.0), [76.0, 88.0, 100.0]);
        assert_eq!(spread_rows(&[], 12.0, 0.0, 100.0), [] as [f64; 0]);
    }

    #[test]
    fn rows_never_come_nearer_than_the_spacing() {
        let mut seed = 7_u32;
        for _ in 0..200 {
            let mut wanted: Vec<f64> = (0..6)
                .map(|_| {
                    seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                    f64::from(seed >> 16) / 655.36
                })
                .collect();
            wanted.sort_by(f64::total_cmp);
            let rows = spread_rows(&wanted, 12.0, 0.0, 100.0);
            assert!(rows.windows(2).all(|pair| pair[1] - pair[0] >= 12.0 - 1e-9), "{wanted:?} {rows:?}");
            assert!(rows[0] >= -1e-9 && rows[5] <= 100.0 + 1e-9, "{rows:?}");
        }
    }
}
