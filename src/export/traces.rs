//! The traces of all states against frequency as density: what the axes span.

use super::line_plot::svg;
use super::refused::ExportRefused;
use crate::chart::{Curve, DensityData, Frame, Plot, Role, Theme, Values, density_axes, density_plot};
use crate::control::Setting;
use crate::pipeline::protocol::{DensityFrame, TraceQuantity};
use crate::pipeline::{Analysis, AtFrequency, Report};
use crate::plane::{Place, PreparedTarget, StateError, Tolerance, wrap_deg};
use num_complex::Complex64;

/// What states do more than this below the strongest is noise in any analyser: the axis goes no deeper.
const DEEPEST_DB: f64 = 100.0;

/// Room beyond the states at either end of the gain axis, as a part of what they span.
const MARGIN: f64 = 0.04;

/// The gain axis spans at least this, so that noise does not fill it.
const NARROWEST_DB: f64 = 1.0;

/// The gains that the axis spans.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GainSpan {
    /// The lower end, dB.
    pub low_db: f64,
    /// The upper end, dB.
    pub high_db: f64,
    /// Whether states go below the lower end somewhere and are cut off there.
    pub is_cut: bool,
}

impl GainSpan {
    /// Everything that the states do at any frequency of the grid, with some room, down to 100 dB below the strongest.
    pub fn of(frequencies: &[AtFrequency]) -> Self {
        let ranges = frequencies.iter().filter_map(|at| at.gain_range_db);
        let ends = ranges.reduce(|(low, high), (lower, higher)| (low.min(lower), high.max(higher)));
        let (lowest_db, highest_db) = ends.unwrap_or((0.0, 0.0));
        let deepest_db = highest_db - DEEPEST_DB;
        if lowest_db < deepest_db {
            return Self { low_db: deepest_db, high_db: highest_db + MARGIN * DEEPEST_DB, is_cut: true };
        }
        let span_db = highest_db - lowest_db;
        let room_db = (MARGIN * span_db).max((NARROWEST_DB - span_db) / 2.0);
        Self { low_db: lowest_db - room_db, high_db: highest_db + room_db, is_cut: false }
    }
}

/// The trace of one state: a value per frequency of the grid, beside the name that is written at its end.
#[derive(Clone, Debug, PartialEq)]
pub struct Trace {
    label: String,
    relative: Vec<Complex64>,
    gain_db: Vec<Option<f64>>,
    phase_deg: Vec<Option<f64>>,
}

impl Trace {
    /// The trace of a state by its name, whose relative gain is given at every frequency.
    pub fn new(name: String, relative: &[Complex64]) -> Self {
        let finite = |value: f64| Some(value).filter(|value| value.is_finite());
        Self {
            label: name,
            relative: relative.to_vec(),
            gain_db: relative.iter().map(|gain| finite(20.0 * gain.norm().log10())).collect(),
            phase_deg: relative.iter().map(|gain| finite(wrap_deg(gain.arg().to_degrees()))).collect(),
        }
    }

    /// What is written at its end.
    pub fn label(&self) -> &str {
        &self.label
    }

    /// The relative vector error from a setting at every frequency, percent.
    pub fn vector_errors_pct(&self, setting: Setting) -> Vec<Option<f64>> {
        let error = |error: StateError| Some(100.0 * error.vector).filter(|error| error.is_finite());
        self.errors(setting).map(error).collect()
    }

    /// Whether gain and phase are within tolerance of a setting at every frequency; `None` where nothing was measured.
    pub fn within(&self, setting: Setting, tolerance: &Tolerance) -> Vec<Option<bool>> {
        let gain_db = tolerance.gain_db_at(setting.gain_db);
        let holds = |error: StateError| {
            let both = Tolerance::holds(error.gain_db, gain_db)
                && Tolerance::holds(error.phase_deg, tolerance.phase_deg);
            Some(both).filter(|_| !error.vector.is_nan())
        };
        self.errors(setting).map(holds).collect()
    }

    fn errors(&self, setting: Setting) -> impl Iterator<Item = StateError> {
        let target = PreparedTarget::of(setting);
        self.relative.iter().map(move |&relative| StateError::between(&Place::of(relative), &target))
    }

    /// As a line over the density.
    pub fn curve(&self, quantity: TraceQuantity) -> Curve<'_> {
        let values = match quantity {
            TraceQuantity::RelativeGainDb => &self.gain_db,
            TraceQuantity::RelativePhaseDeg => &self.phase_deg,
        };
        Curve { label: &self.label, values, role: Role::First }
    }
}

/// What is drawn over the density of all states' traces: the lines given.
pub fn density_data<'a>(
    report: &'a Report,
    analysis: &Analysis,
    quantity: TraceQuantity,
    curves: &'a [Curve<'a>],
) -> DensityData<'a> {
    let grid = &report.intake.frequency_hz;
    let (name, range, kind) = match quantity {
        TraceQuantity::RelativeGainDb => {
            let span = GainSpan::of(&analysis.frequencies);
            ("Relative gain, dB", (span.low_db, span.high_db), Values::Plain)
        }
        TraceQuantity::RelativePhaseDeg => ("Relative phase, °", (-180.0, 180.0), Values::WrappedDegrees),
    };
    DensityData {
        name,
        frequency_hz: grid,
        range,
        kind,
        traces: u32::try_from(report.intake.states.len()).unwrap_or(u32::MAX),
        curves,
        limits: &[],
        design_band_hz: Some((grid[*analysis.design_band.start()], grid[*analysis.design_band.end()])),
        cursor_hz: Some(grid[analysis.service.index]),
    }
}

/// What workers are asked to count for a picture of this size.
pub fn density_frame(frame: Frame, data: &DensityData, quantity: TraceQuantity) -> DensityFrame {
    let plot: Plot = density_plot(frame, data);
    let (width, height) = plot.raster_size();
    let ghz = |hz: Option<&f64>| hz.map_or(f64::NAN, |hz| hz / 1e9);
    DensityFrame {
        quantity,
        width,
        height,
        frequency_ghz: (ghz(data.frequency_hz.first()), ghz(data.frequency_hz.last())),
        values: data.range,
    }
}

/// Width and height of a density's drawing, in its own pixels.
const DRAWING: (u32, u32) = (720, 360);

/// How much finer the density is counted than its drawing's pixels are.
const FINER: u32 = 3;

/// What workers are asked to count for a drawing.
pub fn drawing_density_frame(data: &DensityData, quantity: TraceQuantity) -> DensityFrame {
    let fine = Frame { scale: f64::from(FINER), ..Frame::svg(FINER * DRAWING.0, FINER * DRAWING.1) };
    density_frame(fine, data, quantity)
}

/// A density as SVG: axes and single traces as lines and text over an image of what was counted, a PNG as a `data:` address.
///
/// # Errors
///
/// Where the report has no analysis, or the axes cannot be drawn.
pub fn density_svg(report: &Report, data: &DensityData, image: &str) -> Result<Vec<u8>, ExportRefused> {
    let axes = svg(report, DRAWING, |surface, frame, _| {
        density_axes(surface, frame, &Theme::PRINT, data).map(|_| ())
    })?;
    let axes = String::from_utf8(axes).map_err(|error| ExportRefused::Plot(error.to_string()))?;
    let area = density_plot(Frame::svg(DRAWING.0, DRAWING.1), data).area;
    let ground = format!(
        "<rect width=\"100%\" height=\"100%\" fill=\"#FFFFFF\"/>\n<image x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" \
         preserveAspectRatio=\"none\" href=\"{image}\"/>\n",
        area.left,
        area.top,
        area.width(),
        area.height()
    );
    // Under everything else: behind the tag that opens the drawing.
    let opened = axes.find('>').map_or(0, |end| end + 1);
    let (head, rest) = axes.split_at(opened);
    Ok(format!("{head}\n{ground}{rest}").into_bytes())
}
