//! The plots of a report on any surface, and as SVG files.

use super::refused::{ExportRefused, analysis_of};
use super::view::View;
use super::{part_traces, parts, plane_plot, signal_plots};
use crate::chart::{
    self, BitMark, ChartError, Curve, CurvesData, Frame, Limit, LimitedBand, Plot, ResolutionData, Role,
    StripData, Theme, Vertical,
};
use crate::checks::Expected;
use crate::control::Word;
use crate::pipeline::{Analysis, LayoutOrigin, Mapping, PolicyScores, Report};
use crate::plane::Score;
use crate::reach::CleanBits;
use crate::sheet::band::score_of;
use crate::sheet::parts::{from_typical, is_broken_at, specified_bands};
use crate::sheet::reach::usable_band_of;
use crate::sheet::reference_name_in;
use plotters::prelude::{DrawingBackend, SVGBackend};

/// The mappings in the order in which they are drawn, the chosen words on top.
pub const MAPPINGS: [(Mapping, &str, Role); 3] = [
    (Mapping::Chosen, "chosen", Role::First),
    (Mapping::Held, "held", Role::Third),
    (Mapping::Nominal, "nominal", Role::Second),
];

/// The RMS relative vector error of the three mappings against frequency.
pub fn errors<B: DrawingBackend>(
    surface: &mut B,
    frame: Frame,
    theme: &Theme,
    report: &Report,
    analysis: &Analysis,
) -> Result<(), ChartError> {
    let lines = Lines {
        name: "RMS vector error, %",
        vertical: Vertical::Logarithmic,
        limits: &[],
        value: |score| 100.0 * score.rms_vector_error,
    };
    lines.draw(surface, frame, theme, report, analysis)
}

/// The share of settings within both tolerances of the three mappings against frequency.
pub fn share<B: DrawingBackend>(
    surface: &mut B,
    frame: Frame,
    theme: &Theme,
    report: &Report,
    analysis: &Analysis,
) -> Result<(), ChartError> {
    let wanted = report.settings.usable_share_pct;
    let label = format!("{wanted} %");
    let lines = Lines {
        name: "Within both tolerances, %",
        vertical: Vertical::Between(0.0, 100.0),
        limits: &[Limit { label: &label, value: wanted, over_hz: None }],
        value: |score| score.within_both_pct,
    };
    lines.draw(surface, frame, theme, report, analysis)
}

/// The RMS relative vector error of the words chosen under every reference against frequency, the one in use first; empty
/// until they are compared.
pub fn references<B: DrawingBackend>(
    surface: &mut B,
    frame: Frame,
    theme: &Theme,
    report: &Report,
    analysis: &Analysis,
) -> Result<(), ChartError> {
    let Some(comparison) = &report.comparison else { return Ok(()) };
    let mut policies: Vec<&PolicyScores> = comparison.policies.iter().collect();
    policies.sort_by_key(|scores| scores.policy != analysis.reference);
    let error = |at: &Option<Score>| at.map(|score| 100.0 * score.rms_vector_error).filter(|e| e.is_finite());
    let lines = policies.iter().map(|scores| {
        let label = reference_name_in(scores.policy, &analysis.model);
        (label, scores.chosen.iter().map(error).collect::<Vec<_>>())
    });
    let lines: Vec<(String, Vec<Option<f64>>)> = lines.collect();
    let curves: Vec<Curve> =
        lines.iter().zip(Role::ALL).map(|((label, values), role)| Curve { label, values, role }).collect();
    let grid = &report.intake.frequency_hz;
    let data = CurvesData {
        name: "RMS vector error of the chosen words, %",
        frequency_hz: grid,
        curves: &curves,
        vertical: Vertical::Logarithmic,
        limits: &[],
        design_band_hz: Some(design_band_hz(grid, analysis)),
        cursor_hz: Some(grid[analysis.service.index]),
    };
    chart::curves(surface, frame, theme, &data).map(|_| ())
}

/// One value of a score, drawn for the three mappings.
struct Lines<'a> {
    name: &'static str,
    vertical: Vertical,
    limits: &'a [Limit<'a>],
    value: fn(&Score) -> f64,
}

impl Lines<'_> {
    fn draw<B: DrawingBackend>(
        &self,
        surface: &mut B,
        frame: Frame,
        theme: &Theme,
        report: &Report,
        analysis: &Analysis,
    ) -> Result<(), ChartError> {
        let grid = &report.intake.frequency_hz;
        let values = MAPPINGS.map(|(mapping, ..)| -> Vec<Option<f64>> {
            let at = |at| score_of(at, mapping).map(self.value).filter(|value| value.is_finite());
            analysis.frequencies.iter().map(at).collect()
        });
        let lines: Vec<Curve> = MAPPINGS
            .iter()
            .zip(&values)
            .filter(|((mapping, ..), _)| *mapping != Mapping::Nominal || analysis.model.has_nominal())
            .map(|(&(_, label, role), values)| Curve { label, values, role })
            .collect();
        let data = CurvesData {
            name: self.name,
            frequency_hz: grid,
            curves: &lines,
            vertical: self.vertical,
            limits: self.limits,
            design_band_hz: Some(design_band_hz(grid, analysis)),
            cursor_hz: Some(grid[analysis.service.index]),
        };
        chart::curves(surface, frame, theme, &data).map(|_| ())
    }
}

/// The share of settings that the chosen words serve within tolerance, along the frequency axis; `chosen` is the grid
/// index that it points at.
pub fn strip<B: DrawingBackend>(
    surface: &mut B,
    frame: Frame,
    theme: &Theme,
    report: &Report,
    analysis: &Analysis,
    chosen: usize,
) -> Result<Plot, ChartError> {
    let grid = &report.intake.frequency_hz;
    let share: Vec<Option<f64>> =
        analysis.frequencies.iter().map(|at| Some(at.chosen.within_both_pct)).collect();
    let specified = specified_bands(report);
    let limited: Vec<LimitedBand> = specified
        .iter()
        .map(|band| LimitedBand { from_hz: band.from_hz, to_hz: band.to_hz, labels: &band.labels })
        .collect();
    let data = StripData {
        name: "Chosen words within tolerance",
        frequency_hz: grid,
        share_pct: &share,
        cursor_hz: grid.get(chosen).copied(),
        design_band_hz: Some(design_band_hz(grid, analysis)),
        usable_share_pct: Some(report.settings.usable_share_pct),
        usable_band_hz: usable_band_of(report, analysis)
            .map(|band| (band.low.frequency_hz, band.high.frequency_hz)),
        limited: &limited,
        is_broken: &is_broken_at(report),
    };
    chart::strip(surface, frame, theme, &data)
}

/// The resolution map at the chosen frequency; empty where there is none.
pub fn resolution<B: DrawingBackend>(
    surface: &mut B,
    frame: Frame,
    theme: &Theme,
    report: &Report,
) -> Result<(), ChartError> {
    let map = report.reach.here.as_ref().and_then(|here| here.resolution.as_ref().ok());
    let Some(map) = map else { return Ok(()) };
    let pairs = (0..=map.phase_bits())
        .flat_map(|phase| (0..=map.gain_bits()).map(move |gain| CleanBits { phase, gain }));
    let served: Vec<f64> = pairs.filter_map(|bits| map.yield_pct(bits)).collect();
    let data = ResolutionData {
        phase_bits: map.phase_bits(),
        gain_bits: map.gain_bits(),
        served_pct: &served,
        picked: map.clean_bits().map(|bits| (bits.phase, bits.gain)),
    };
    chart::resolution(surface, frame, theme, &data)
}

/// The clean bits of phase and of gain against frequency; a quantity that nothing sets has no line.
pub fn clean_bits<B: DrawingBackend>(
    surface: &mut B,
    frame: Frame,
    theme: &Theme,
    report: &Report,
    analysis: &Analysis,
) -> Result<(), ChartError> {
    let map = report.reach.here.as_ref().and_then(|here| here.resolution.as_ref().ok());
    let (Some(map), Some(clean)) = (map, &report.reach.clean_bits) else { return Ok(()) };
    let line = |bits: fn(&CleanBits) -> u8| -> Vec<Option<f64>> {
        clean.iter().map(|at| at.as_ref().map(|at| f64::from(bits(at)))).collect()
    };
    let (phase, gain) = (line(|bits| bits.phase), line(|bits| bits.gain));
    let lines = [
        (map.phase_bits(), Curve { label: "phase", values: &phase, role: Role::First }),
        (map.gain_bits(), Curve { label: "gain", values: &gain, role: Role::Second }),
    ];
    let curves: Vec<Curve> = lines.into_iter().filter(|(bits, _)| *bits > 0).map(|(_, line)| line).collect();
    let grid = &report.intake.frequency_hz;
    let data = CurvesData {
        name: "Clean bits",
        frequency_hz: grid,
        curves: &curves,
        vertical: Vertical::Between(0.0, f64::from(map.phase_bits().max(map.gain_bits()))),
        limits: &[],
        design_band_hz: Some(design_band_hz(grid, analysis)),
        cursor_hz: Some(grid[analysis.service.index]),
    };
    chart::curves(surface, frame, theme, &data).map(|_| ())
}

/// What each bit does, measured against what it would do in a part that is wired straight.
pub fn bit_weights<B: DrawingBackend>(
    surface: &mut B,
    frame: Frame,
    theme: &Theme,
    analysis: &Analysis,
) -> Result<(), ChartError> {
    chart::bit_weights(surface, frame, theme, &bit_marks(analysis))
}

/// Each bit's measured weight beside what it would be in a part that is wired straight; empty in a run without bits.
pub fn bit_marks(analysis: &Analysis) -> Vec<BitMark> {
    let Some(layout) = analysis.layout() else { return Vec::new() };
    // A guess has taken in how the part is wired; what it should do is told by the same fields wired straight.
    let guessed = matches!(analysis.layout_origin, LayoutOrigin::Guessed(_));
    let layout = Expected { layout, guessed }.as_wired_straight();
    let zero = layout.zero_word().0;
    analysis
        .bit_weights
        .iter()
        .zip(0..)
        .map(|(weight, bit)| {
            // What the layout says that this bit alone does to the zero word.
            let (with, without) =
                (layout.nominal(Word(zero | 1 << bit)), layout.nominal(Word(zero & !(1 << bit))));
            let measured = |value| Some(value).filter(|_| weight.pairs > 0);
            BitMark {
                bit,
                nominal_gain_db: with.gain_db - without.gain_db,
                gain_db: measured(weight.gain_db),
                nominal_phase_deg: with.phase_deg - without.phase_deg,
                phase_deg: measured(weight.phase_deg),
            }
        })
        .collect()
}

pub(super) fn design_band_hz(grid: &[f64], analysis: &Analysis) -> (f64, f64) {
    (grid[*analysis.design_band.start()], grid[*analysis.design_band.end()])
}

/// A plot made of lines, marks and text.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LinePlot {
    /// [`plane_plot::plane`].
    Plane,
    /// [`errors`].
    Errors,
    /// [`share`].
    Share,
    /// [`references`].
    References,
    /// [`strip`].
    Strip,
    /// [`bit_weights`].
    BitWeights,
    /// [`resolution`].
    Resolution,
    /// [`clean_bits`].
    CleanBits,
    /// [`signal_plots::constellation`].
    Constellation,
    /// [`signal_plots::evm`].
    Evm,
    /// [`signal_plots::largest_clean`].
    LargestClean,
    /// [`parts::state_errors`].
    StateErrors,
    /// [`parts::cross_effects`].
    CrossEffects,
    /// [`parts::against_frequency`].
    FieldFigure,
    /// [`parts::typical_difference`].
    TypicalDifference,
    /// [`part_traces::code_traces`].
    CodeTraces,
    /// [`part_traces::error_map`].
    ErrorMap,
}

impl LinePlot {
    /// Draws it.
    pub fn draw<B: DrawingBackend>(
        self,
        surface: &mut B,
        frame: Frame,
        theme: &Theme,
        report: &Report,
        analysis: &Analysis,
        view: &View,
    ) -> Result<(), ChartError> {
        let marked = view.marked(report, analysis);
        match (self, view.graded(report)) {
            (Self::Plane, _) => plane_plot::plane(surface, frame, theme, report, analysis, view).map(|_| ()),
            (Self::Errors, _) => errors(surface, frame, theme, report, analysis),
            (Self::Share, _) => share(surface, frame, theme, report, analysis),
            (Self::References, _) => references(surface, frame, theme, report, analysis),
            (Self::Strip, _) => {
                strip(surface, frame, theme, report, analysis, analysis.service.index).map(|_| ())
            }
            (Self::BitWeights, _) => bit_weights(surface, frame, theme, analysis),
            (Self::Resolution, _) => resolution(surface, frame, theme, report),
            (Self::CleanBits, _) => clean_bits(surface, frame, theme, report, analysis),
            (Self::Constellation, _) => {
                signal_plots::constellation(surface, frame, theme, report, analysis, view)
            }
            (Self::Evm, _) => signal_plots::evm(surface, frame, theme, report),
            (Self::LargestClean, _) => signal_plots::largest_clean(surface, frame, theme, report, analysis),
            (Self::StateErrors, Some((_, graded))) => {
                parts::state_errors(surface, frame, theme, report, analysis, graded, marked)
            }
            (Self::CrossEffects, Some((_, graded))) => {
                parts::cross_effects(surface, frame, theme, report, analysis, graded, marked)
            }
            (Self::FieldFigure, Some((_, graded))) => {
                let figure = parts::figure_for(&view.figure, graded, report);
                parts::against_frequency(surface, frame, theme, report, analysis, graded, figure)
            }
            (Self::TypicalDifference, Some((_, graded))) => {
                parts::typical_difference(surface, frame, theme, report, analysis, graded)
            }
            (Self::CodeTraces, Some((_, graded))) => {
                part_traces::code_traces(surface, frame, theme, report, analysis, graded, marked)
            }
            (Self::ErrorMap, Some((_, graded))) => {
                part_traces::error_map(surface, frame, theme, report, analysis, graded, marked)
            }
            (
                Self::StateErrors
                | Self::CrossEffects
                | Self::FieldFigure
                | Self::TypicalDifference
                | Self::CodeTraces
                | Self::ErrorMap,
                None,
            ) => Ok(()),
        }
    }

    /// Why there is no such plot of a run that was analysed, as a sentence; `None` where there is one.
    pub fn missing(self, report: &Report, view: &View) -> Option<&'static str> {
        let reach = &report.reach;
        let has_map = || reach.here.as_ref().is_some_and(|here| here.resolution.is_ok());
        let (is_there, why) = match self {
            Self::Plane | Self::Errors | Self::Share | Self::Strip => return None,
            Self::BitWeights => {
                let has_bits = report.analysis.as_ref().is_ok_and(|analysis| analysis.layout().is_some());
                (has_bits, "The run has no bits whose weights could be drawn.")
            }
            Self::References => (report.comparison.is_some(), "The references are not compared."),
            Self::Resolution => (has_map(), "The run has no resolution map."),
            Self::CleanBits => (
                has_map() && reach.clean_bits.is_some(),
                "The clean bits are not counted at every frequency, or the run has no resolution map.",
            ),
            Self::Constellation | Self::Evm => {
                (view.constellation(report).is_some(), "No constellation is formed at the chosen frequency.")
            }
            Self::LargestClean => (
                report.largest_clean.is_some(),
                "The largest clean constellation over frequency is not known, or none can be formed.",
            ),
            Self::TypicalDifference => (
                view.graded(report).is_some_and(|(_, graded)| from_typical(report, graded).is_some()),
                "No typical curve meets what was measured of this field.",
            ),
            Self::StateErrors
            | Self::CrossEffects
            | Self::FieldFigure
            | Self::CodeTraces
            | Self::ErrorMap => (view.graded(report).is_some(), "No field is graded."),
        };
        (!is_there).then_some(why)
    }

    /// Its text as SVG, in ink on paper.
    pub(super) fn svg(self, report: &Report, view: &View) -> Result<Vec<u8>, ExportRefused> {
        analysis_of(report)?;
        if let Some(why) = self.missing(report, view) {
            return Err(ExportRefused::NoSuchPlot(why));
        }
        let size = match self {
            Self::Plane | Self::Constellation => (640, 560),
            Self::Strip => (720, 96),
            Self::BitWeights | Self::StateErrors | Self::CrossEffects | Self::TypicalDifference => (720, 300),
            Self::CodeTraces | Self::ErrorMap => (720, 420),
            _ => (720, 360),
        };
        svg(report, size, |surface, frame, analysis| {
            self.draw(surface, frame, &Theme::PRINT, report, analysis, view)
        })
    }
}

/// Draws with an SVG surface of this many pixels and gives its text.
fn svg(
    report: &Report,
    size: (u32, u32),
    draw: impl FnOnce(&mut SVGBackend<'_>, Frame, &Analysis) -> Result<(), ChartError>,
) -> Result<Vec<u8>, ExportRefused> {
    let analysis = analysis_of(report)?;
    let mut text = String::new();
    let mut surface = SVGBackend::with_string(&mut text, size);
    draw(&mut surface, Frame::svg(size.0, size.1), analysis)
        .and_then(|()| surface.present().map_err(|error| ChartError::Surface(error.to_string())))
        .map_err(|error| ExportRefused::Plot(error.to_string()))?;
    drop(surface);
    Ok(text.into_bytes())
}
