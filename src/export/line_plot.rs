//! Every plot of lines, marks and text by name: how it is drawn, why a run has none, and its SVG file.

use super::refused::{ExportRefused, analysis_of};
use super::view::View;
use super::{fine_plots, part_traces, parts, plane_plot, plots, signal_plots};
use crate::chart::{ChartError, Frame, Theme};
use crate::pipeline::{Analysis, Report};
use crate::sheet::parts::from_typical;
use plotters::prelude::{DrawingBackend, SVGBackend};

/// A plot made of lines, marks and text.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LinePlot {
    /// [`plane_plot::plane`].
    Plane,
    /// [`plots::errors`].
    Errors,
    /// [`plots::share`].
    Share,
    /// [`plots::references`].
    References,
    /// [`plots::strip`].
    Strip,
    /// [`plots::bit_weights`].
    BitWeights,
    /// [`fine_plots::resolution`].
    Resolution,
    /// [`fine_plots::clean_bits`].
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
        match (self, view.field(report, analysis)) {
            (Self::Plane, _) => plane_plot::plane(surface, frame, theme, report, analysis, view).map(|_| ()),
            (Self::Errors, _) => plots::errors(surface, frame, theme, report, analysis, view),
            (Self::Share, _) => plots::share(surface, frame, theme, report, analysis, view),
            (Self::References, _) => plots::references(surface, frame, theme, report, analysis),
            (Self::Strip, _) => {
                plots::strip(surface, frame, theme, report, analysis, analysis.service.index).map(|_| ())
            }
            (Self::BitWeights, _) => plots::bit_weights(surface, frame, theme, report, analysis, view),
            (Self::Resolution, _) => fine_plots::resolution(surface, frame, theme, report, view),
            (Self::CleanBits, _) => fine_plots::clean_bits(surface, frame, theme, report, analysis),
            (Self::Constellation, _) => {
                signal_plots::constellation(surface, frame, theme, report, analysis, view)
            }
            (Self::Evm, _) => signal_plots::evm(surface, frame, theme, report, view),
            (Self::LargestClean, _) => signal_plots::largest_clean(surface, frame, theme, report, analysis),
            (Self::StateErrors, Some(field)) => {
                parts::state_errors(surface, frame, theme, report, analysis, field)
            }
            (Self::CrossEffects, Some(field)) => {
                parts::cross_effects(surface, frame, theme, report, analysis, field)
            }
            (Self::FieldFigure, Some(field)) => {
                let figure = parts::figure_for(&view.figure, field.graded, report);
                parts::against_frequency(surface, frame, theme, report, analysis, field, figure)
            }
            (Self::TypicalDifference, Some(field)) => {
                parts::typical_difference(surface, frame, theme, report, analysis, field.graded)
            }
            (Self::CodeTraces, Some(field)) => {
                part_traces::code_traces(surface, frame, theme, report, analysis, field)
            }
            (Self::ErrorMap, Some(field)) => {
                part_traces::error_map(surface, frame, theme, report, analysis, field)
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
        let has_map = || reach.resolution().is_some();
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
pub(super) fn svg(
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
