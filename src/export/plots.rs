//! The plots of a report on any surface, and as SVG files.

use super::refused::{ExportRefused, analysis_of};
use crate::chart::{
    self, BitMark, ChartError, Curve, CurvesData, Frame, Limit, PlaneData, PlaneWindow, Plot, ResolutionData,
    Rgb, Role, StatePalette, StripData, Theme, Vertical,
};
use crate::checks::Expected;
use crate::control::{Setting, Word};
use crate::pipeline::{Analysis, LayoutOrigin, Mapping, PolicyScores, Report};
use crate::plane::{Score, target_gain};
use crate::reach::CleanBits;
use crate::sheet::band::score_of;
use crate::sheet::reach::usable_band_of;
use crate::sheet::reference_name_in;
use num_complex::Complex64;
use plotters::prelude::{DrawingBackend, SVGBackend};

/// The mappings in the order in which they are drawn, the chosen words on top.
pub const MAPPINGS: [(Mapping, &str, Role); 3] = [
    (Mapping::Chosen, "chosen", Role::First),
    (Mapping::Held, "held", Role::Third),
    (Mapping::Nominal, "nominal", Role::Second),
];

/// Every state at the chosen frequency in the gain-phase plane.
pub fn plane<B: DrawingBackend>(
    surface: &mut B,
    frame: Frame,
    theme: &Theme,
    report: &Report,
    analysis: &Analysis,
) -> Result<(), ChartError> {
    let service = &analysis.service;
    let states: Vec<Complex64> = service.transmission.iter().map(|t| t / service.reference).collect();
    // Where words have no nominal setting, a state takes its colour from where it lies.
    let measured = |gain: &Complex64| Setting {
        gain_db: 20.0 * gain.norm().log10(),
        phase_deg: gain.arg().to_degrees(),
    };
    let nominal: Vec<Setting> = report
        .intake
        .states
        .iter()
        .zip(&states)
        .map(|(state, gain)| analysis.model.nominal(state.word).unwrap_or_else(|| measured(gain)))
        .collect();
    let palette = StatePalette::spanning(theme.paper_kind, nominal.iter().map(|setting| setting.gain_db));
    let mut colours: Vec<Rgb> =
        nominal.iter().map(|setting| palette.colour(setting.gain_db, setting.phase_deg)).collect();
    for (colour, near_floor) in colours.iter_mut().zip(near_floor(report, analysis)) {
        if near_floor {
            *colour = theme.faint;
        }
    }
    let targets: Vec<Complex64> = analysis.targets.iter().map(|target| target_gain(target.setting)).collect();
    let here = report.reach.here.as_ref();
    let holes: Vec<Complex64> =
        here.map_or(&[][..], |here| &here.holes).iter().map(|hole| targets[hole.target]).collect();
    let data = PlaneData {
        states: &states,
        colours: &colours,
        palette: Some(&palette),
        targets: &targets,
        tolerance: None,
        holes: &holes,
        highlight: None,
        window: PlaneWindow::whole(&states),
    };
    chart::plane(surface, frame, theme, &data).map(|_| ())
}

/// The states that the noise blurs at the chosen frequency, as far as the run is checked.
pub fn near_floor(report: &Report, analysis: &Analysis) -> Vec<bool> {
    let points = report.intake.frequency_hz.len();
    let checks = report.checks.as_ref();
    checks.map_or_else(Vec::new, |checks| checks.near_floor(points, analysis.service.index))
}

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
        limit: None,
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
        limit: Some(Limit { label: &label, value: wanted }),
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
        limit: None,
        design_band_hz: Some(design_band_hz(grid, analysis)),
        cursor_hz: Some(grid[analysis.service.index]),
    };
    chart::curves(surface, frame, theme, &data).map(|_| ())
}

/// One value of a score, drawn for the three mappings.
struct Lines<'a> {
    name: &'static str,
    vertical: Vertical,
    limit: Option<Limit<'a>>,
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
            limit: self.limit,
            design_band_hz: Some(design_band_hz(grid, analysis)),
            cursor_hz: Some(grid[analysis.service.index]),
        };
        chart::curves(surface, frame, theme, &data).map(|_| ())
    }
}

/// The share of settings that the chosen words serve within tolerance, along the frequency axis.
pub fn strip<B: DrawingBackend>(
    surface: &mut B,
    frame: Frame,
    theme: &Theme,
    report: &Report,
    analysis: &Analysis,
) -> Result<Plot, ChartError> {
    let grid = &report.intake.frequency_hz;
    let share: Vec<Option<f64>> =
        analysis.frequencies.iter().map(|at| Some(at.chosen.within_both_pct)).collect();
    let data = StripData {
        name: "Chosen words within tolerance",
        frequency_hz: grid,
        share_pct: &share,
        cursor_hz: Some(grid[analysis.service.index]),
        design_band_hz: Some(design_band_hz(grid, analysis)),
        usable_share_pct: Some(report.settings.usable_share_pct),
        usable_band_hz: usable_band_of(report, analysis)
            .map(|band| (band.low.frequency_hz, band.high.frequency_hz)),
        limited_hz: &limited_hz(report),
    };
    chart::strip(surface, frame, theme, &data)
}

/// The sub-bands of the specification's rows, each once, cut to what was measured.
fn limited_hz(report: &Report) -> Vec<(f64, f64)> {
    let grid = &report.intake.frequency_hz;
    let (Some(&first), Some(&last)) = (grid.first(), grid.last()) else { return Vec::new() };
    let mut bands: Vec<(f64, f64)> = Vec::new();
    for row in &report.settings.specification {
        let band = (row.from_hz.unwrap_or(first).max(first), row.to_hz.unwrap_or(last).min(last));
        if band.0 <= band.1 && !bands.contains(&band) {
            bands.push(band);
        }
    }
    bands
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
        limit: None,
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

fn design_band_hz(grid: &[f64], analysis: &Analysis) -> (f64, f64) {
    (grid[*analysis.design_band.start()], grid[*analysis.design_band.end()])
}

/// A plot made of lines, marks and text.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LinePlot {
    /// [`plane`].
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
    ) -> Result<(), ChartError> {
        match self {
            Self::Plane => plane(surface, frame, theme, report, analysis),
            Self::Errors => errors(surface, frame, theme, report, analysis),
            Self::Share => share(surface, frame, theme, report, analysis),
            Self::References => references(surface, frame, theme, report, analysis),
            Self::Strip => strip(surface, frame, theme, report, analysis).map(|_| ()),
            Self::BitWeights => bit_weights(surface, frame, theme, analysis),
        }
    }

    /// Its text as SVG, in ink on paper.
    pub(super) fn svg(self, report: &Report) -> Result<Vec<u8>, ExportRefused> {
        let size = match self {
            Self::Plane => (640, 560),
            Self::Errors | Self::Share | Self::References => (720, 360),
            Self::Strip => (720, 112),
            Self::BitWeights => (720, 300),
        };
        svg(report, size, |surface, frame, analysis| {
            self.draw(surface, frame, &Theme::PRINT, report, analysis)
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
