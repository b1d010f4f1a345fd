//! The traces of a field's codes against frequency, with what they should be and between which limits.

use super::axis::Axis;
use super::curves::{draw_cursor, shade_band};
use super::pen::{Area, Beside, Pen};
use super::plot::vertical_ticks;
use super::{ChartError, Dashes, Frame, Plot, Theme, text};
use plotters::prelude::DrawingBackend;

/// One code.
#[derive(Clone, Debug, PartialEq)]
pub struct CodeTrace {
    /// What is written at its end.
    pub label: String,
    /// What it should be.
    pub nominal: f64,
    /// A value per frequency; not a number where there is none.
    pub values: Vec<f64>,
    /// The lowest value that keeps its limits at each frequency; not a number where it has none.
    pub lowest: Vec<f64>,
    /// The highest one.
    pub highest: Vec<f64>,
    /// Whether it is picked out.
    pub is_marked: bool,
}

/// What the chart shows.
#[derive(Clone, Copy, Debug)]
pub struct CodeTracesData<'a> {
    /// The name of the vertical axis with its unit.
    pub name: &'a str,
    /// Whether the vertical axis is ticked in parts of a turn.
    pub in_degrees: bool,
    /// The grid, ascending.
    pub frequency_hz: &'a [f64],
    /// The codes.
    pub traces: &'a [CodeTrace],
    /// The ends of the design band.
    pub design_band_hz: Option<(f64, f64)>,
    /// The chosen frequency.
    pub cursor_hz: Option<f64>,
}

impl CodeTrace {
    fn limits(&self, index: usize) -> (f64, f64) {
        let of = |values: &[f64]| values.get(index).copied().unwrap_or(f64::NAN);
        (of(&self.lowest), of(&self.highest))
    }

    fn is_limited(&self) -> bool {
        self.lowest.iter().chain(&self.highest).any(|limit| limit.is_finite())
    }

    fn is_outside(&self, index: usize) -> bool {
        let (low, high) = self.limits(index);
        // A limit that is not a number is kept by any value.
        self.values[index] < low || self.values[index] > high
    }
}

/// Of more codes, dashes line up to patterns of their own: what they should be is drawn pale instead.
const FEW_CODES: usize = 16;

/// Draws what each code should be as a thin line, dashed where there are few, or, where it has limits, these as a shade; each code's trace over
/// it, that of the code picked out thick; and what lies outside its limits in the accent, thick.
pub fn code_traces<B: DrawingBackend>(
    surface: &mut B,
    frame: Frame,
    theme: &Theme,
    data: &CodeTracesData,
) -> Result<Plot, ChartError> {
    let points = data.frequency_hz.len();
    if let Some(trace) = data.traces.iter().find(|trace| trace.values.len() != points) {
        return Err(ChartError::LengthsDiffer {
            what: "values of a code",
            expected: points,
            found: trace.values.len(),
        });
    }
    let plot = geometry(frame, data);
    let pen = &mut Pen::new(surface, frame, theme);
    pen.clear()?;
    let is_limited = data.traces.iter().any(CodeTrace::is_limited);
    // A shade on a shade would read as another limit.
    if let Some(band) = data.design_band_hz.filter(|_| !is_limited) {
        shade_band(pen, &plot, band)?;
    }
    plot.draw_axes(pen, data.name, false)?;
    let within = plot.area.inset(-pen.px(1.0));
    let (straight, dashes): (_, Dashes) =
        if data.traces.len() <= FEW_CODES { (theme.faint, &[2.0, 4.0]) } else { (theme.grid, &[]) };
    for trace in data.traces {
        if trace.is_limited() {
            shade_limits(pen, &plot, data.frequency_hz, trace)?;
        } else {
            let y = plot.y_of(trace.nominal);
            pen.path(&[(plot.area.left, y), (plot.area.right, y)], &within, straight, 1.0, dashes)?;
        }
    }
    // The one picked out over the others.
    let (marked, others): (Vec<_>, Vec<_>) = data.traces.iter().partition(|trace| trace.is_marked);
    for trace in others.into_iter().chain(marked) {
        let at = |index: usize| (plot.x_of(data.frequency_hz[index]), plot.y_of(trace.values[index]));
        let all: Vec<(f64, f64)> = (0..points).map(at).collect();
        pen.path(&all, &within, theme.ink, if trace.is_marked { 3.0 } else { 1.0 }, &[])?;
        let outside = (0..points).filter(|&index| trace.is_outside(index));
        for run in runs(outside) {
            let run: Vec<(f64, f64)> = run.map(at).collect();
            pen.path(&run, &within, theme.accent, if trace.is_marked { 5.0 } else { 2.5 }, &[])?;
            if let [only] = run[..] {
                pen.disc(only, 2.0, theme.accent)?;
            }
        }
        if let [only] = all[..] {
            pen.disc(only, 2.0, theme.ink)?;
        }
    }
    if let Some(cursor_hz) = data.cursor_hz {
        let name_px = pen.text_width(data.name) + pen.px(6.0);
        let right_px = plot.area.right;
        draw_cursor(pen, &plot, cursor_hz, name_px, right_px)?;
    }
    draw_labels(pen, &plot, data.traces)?;
    Ok(plot)
}

fn geometry(frame: Frame, data: &CodeTracesData) -> Plot {
    let names = data.traces.iter().map(|trace| text::width(&trace.label, frame.text_px()));
    let room = names.fold(text::width(HEADING, frame.text_px()), f64::max) + 12.0 * frame.scale;
    let most = vertical_ticks(f64::from(frame.height_px) - 5.0 * frame.text_px(), frame.text_px());
    let all = data.traces.iter().flat_map(|trace| {
        let limits = trace.lowest.iter().chain(&trace.highest).copied();
        trace.values.iter().copied().chain([trace.nominal]).chain(limits)
    });
    let (low, high) = all
        .filter(|value| value.is_finite())
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| (low.min(value), high.max(value)));
    let vertical = if data.in_degrees {
        Axis::linear(low - 0.02 * (high - low), high + 0.02 * (high - low)).in_degrees()
    } else {
        Axis::linear_rounded(low, high, most)
    };
    Plot::new(frame, data.frequency_hz, vertical, room)
}

/// What stands over the labels at the traces' ends.
const HEADING: &str = "code";

/// A rectangle for every run of neighbouring frequencies that share their limits.
fn shade_limits<B: DrawingBackend>(
    pen: &mut Pen<B>,
    plot: &Plot,
    frequency_hz: &[f64],
    trace: &CodeTrace,
) -> Result<(), ChartError> {
    let Area { left, right, top, bottom } = plot.area;
    let last = frequency_hz.len().saturating_sub(1);
    let same =
        |a: (f64, f64), b: (f64, f64)| a.0.to_bits() == b.0.to_bits() && a.1.to_bits() == b.1.to_bits();
    let mut start = 0;
    while start <= last && start < frequency_hz.len() {
        let limits = trace.limits(start);
        let more = (start + 1..=last).take_while(|&index| same(trace.limits(index), limits)).count();
        let end = start + more;
        let (low, high) = limits;
        if low.is_finite() || high.is_finite() {
            // Between two limits the shade changes halfway; beyond the last limited frequency nothing is said.
            let edge = |own: usize, next: usize| {
                let (low, high) = trace.limits(next);
                let is_limited = low.is_finite() || high.is_finite();
                let other = if is_limited { next } else { own };
                plot.x_of(f64::midpoint(frequency_hz[own], frequency_hz[other]))
            };
            let from = if start == 0 { left } else { edge(start, start - 1) };
            let to = if end == last { right } else { edge(end, end + 1) };
            // One frequency alone has no extent to shade.
            let (from, to) =
                if to - from < pen.px(3.0) { (from - pen.px(1.5), from + pen.px(1.5)) } else { (from, to) };
            // A limit to one side leaves the other open.
            let lower = if low.is_finite() { plot.y_of(low) } else { bottom };
            let upper = if high.is_finite() { plot.y_of(high) } else { top };
            let row = |y: f64| y.clamp(top, bottom);
            let shade = Area { left: from, right: to, top: row(upper), bottom: row(lower) };
            pen.fill(shade, pen.theme.grid, 1.0)?;
        }
        start = end + 1;
    }
    Ok(())
}

/// Neighbouring numbers together.
fn runs(numbers: impl Iterator<Item = usize>) -> Vec<std::ops::RangeInclusive<usize>> {
    let mut runs: Vec<std::ops::RangeInclusive<usize>> = Vec::new();
    for number in numbers {
        match runs.last_mut() {
            Some(run) if run.end() + 1 == number => *run = *run.start()..=number,
            _ => runs.push(number..=number),
        }
    }
    runs
}

/// As many codes are named at their traces' ends as have room: the code picked out, then the first and the last, before
/// others.
fn draw_labels<B: DrawingBackend>(
    pen: &mut Pen<B>,
    plot: &Plot,
    traces: &[CodeTrace],
) -> Result<(), ChartError> {
    let (ink, faint) = (pen.theme.ink, pen.theme.faint);
    let x = plot.area.right + pen.px(6.0);
    let text_px = pen.text_px();
    if !traces.is_empty() {
        pen.write(HEADING, (x, plot.area.top - text_px), Beside::Right, ink)?;
    }
    let last = traces.len().saturating_sub(1);
    let spaced = (0..16).rev().map(|exponent| 1_usize << exponent).flat_map(|step| (0..=last).step_by(step));
    let mut done = vec![false; traces.len()];
    let within =
        Area { top: plot.area.top - 0.1 * text_px, bottom: plot.area.bottom + text_px, ..pen.whole() };
    let marked = traces.iter().position(|trace| trace.is_marked);
    for index in marked.into_iter().chain([0, last]).chain(spaced).filter(|index| *index < traces.len()) {
        if std::mem::replace(&mut done[index], true) {
            continue;
        }
        let trace = &traces[index];
        let Some(value) = trace.values.iter().rev().find(|value| value.is_finite()) else { continue };
        let y = plot.y_of(*value).clamp(plot.area.top + 0.6 * text_px, plot.area.bottom);
        let colour = if trace.is_marked { ink } else { faint };
        pen.write_if_free(&trace.label, (x, y), Beside::Right, colour, &within)?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use plotters::prelude::SVGBackend;

    const GRID: [f64; 4] = [8e9, 9e9, 10e9, 11e9];

    fn trace(code: usize, values: [f64; 4], limit: Option<f64>) -> CodeTrace {
        let nominal = -0.5 * code as f64;
        let limits = |sign: f64| limit.map_or(vec![f64::NAN; 4], |limit| vec![nominal + sign * limit; 4]);
        CodeTrace {
            label: code.to_string(),
            nominal,
            values: values.to_vec(),
            lowest: limits(-1.0),
            highest: limits(1.0),
            is_marked: false,
        }
    }

    fn drawn(frequency_hz: &[f64], traces: &[CodeTrace]) -> Result<String, ChartError> {
        let data = CodeTracesData {
            name: "relative gain, dB",
            in_degrees: false,
            frequency_hz,
            traces,
            design_band_hz: None,
            cursor_hz: None,
        };
        let mut text = String::new();
        {
            let mut surface = SVGBackend::with_string(&mut text, (480, 300));
            code_traces(&mut surface, Frame::svg(480, 300), &Theme::PRINT, &data)?;
            surface.present().expect("text");
        }
        Ok(text)
    }

    /// The accent in print.
    const ACCENT: &str = "#A32A12";

    #[test]
    fn what_lies_outside_its_limits_is_in_the_accent() {
        let inside = trace(1, [-0.5, -0.6, -0.55, -0.5], Some(0.2));
        let outside = trace(1, [-0.5, -0.8, -0.9, -0.5], Some(0.2));
        let accents = |trace: CodeTrace| drawn(&GRID, &[trace]).expect("a chart").matches(ACCENT).count();
        assert_eq!(accents(inside), 0);
        let marked = CodeTrace { is_marked: true, ..trace(1, [-0.5, -0.5, -0.5, -0.5], None) };
        let text = drawn(&GRID, std::slice::from_ref(&marked)).expect("a chart");
        assert!(
            text.lines().any(|line| line.contains("<polyline") && line.contains("stroke-width=\"3\"")),
            "{text}"
        );
        let outside_all = CodeTrace { is_marked: true, ..trace(1, [-0.9; 4], Some(0.2)) };
        let text = drawn(&GRID, std::slice::from_ref(&outside_all)).expect("a chart");
        assert!(
            text.lines().any(|line| line.contains(ACCENT) && line.contains("stroke-width=\"5\"")),
            "{text}"
        );
        assert_eq!(accents(outside), 1, "one run of two frequencies");
        assert_eq!(accents(trace(1, [-0.5, -0.8, -0.5, -0.9], Some(0.2))), 2, "two lone frequencies");
        assert_eq!(accents(trace(1, [-0.5, -0.8, -0.9, -0.5], None)), 0, "nothing is outside no limit");
    }

    /// A limit from 9 to 10 GHz, to the pixel.
    #[test]
    fn the_shade_ends_with_the_limit() {
        let (free, low, high) = (f64::NAN, -0.7, -0.3);
        let limited = CodeTrace {
            lowest: vec![free, low, low, free],
            highest: vec![free, high, high, free],
            ..trace(1, [-0.5; 4], None)
        };
        let data = CodeTracesData {
            name: "relative gain, dB",
            in_degrees: false,
            frequency_hz: &GRID,
            traces: std::slice::from_ref(&limited),
            design_band_hz: None,
            cursor_hz: None,
        };
        let plot = geometry(Frame::svg(480, 300), &data);
        let text = drawn(&GRID, std::slice::from_ref(&limited)).expect("a chart");
        let shade = text.lines().find(|line| line.contains("<rect") && line.contains("#D6D6D6"));
        let shade = shade.expect("a shade");
        let (from, to) = (plot.x_of(9e9).round(), plot.x_of(10e9).round());
        for part in [format!("x=\"{from}\""), format!("width=\"{}\"", to - from)] {
            assert!(shade.contains(&part), "{part} in {shade}");
        }
    }

    #[test]
    fn traces_are_named_and_runs_found() {
        let text = drawn(&GRID, &[trace(0, [0.0; 4], None), trace(9, [-4.5; 4], None)]).expect("a chart");
        for label in ["code", "0", "9", "relative gain, dB"] {
            assert!(text.contains(&format!("\n{label}\n")), "{label}");
        }
        assert_eq!(runs([1, 2, 4, 7, 8, 9].into_iter()), [1..=2, 4..=4, 7..=9]);
    }

    #[test]
    fn one_frequency_and_nothing_are_charts() {
        let one = CodeTrace {
            values: vec![-0.4],
            lowest: vec![-0.6],
            highest: vec![-0.5],
            ..trace(1, [0.0; 4], None)
        };
        assert_eq!(drawn(&GRID[..1], &[one]).expect("a chart").matches("<circle").count(), 2);
        assert!(drawn(&[], &[]).expect("a chart").contains("relative gain, dB"));
        let short = drawn(&GRID[..3], &[trace(1, [0.0; 4], None)]);
        assert!(matches!(short, Err(ChartError::LengthsDiffer { expected: 3, found: 4, .. })));
    }
}
