//! The traces of all states against frequency as density: what the axes span.

use crate::chart::{DensityData, Frame, Plot, Values, density_plot};
use crate::pipeline::protocol::{DensityFrame, TraceQuantity};
use crate::pipeline::{Analysis, AtFrequency, Report};

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

/// What is drawn over the density of all states' traces.
pub fn density_data<'a>(report: &'a Report, analysis: &Analysis, quantity: TraceQuantity) -> DensityData<'a> {
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
        curves: &[],
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
