//! The plots of a report against frequency and over bits, on any surface.

use super::view::View;
use crate::chart::{
    self, BitMark, ChartError, Curve, CurvesData, Frame, Lane, Limit, LimitedBand, Plot, Role, StripData,
    Theme, Vertical,
};
use crate::checks::Expected;
use crate::control::Word;
use crate::pipeline::{Analysis, LayoutOrigin, Mapping, PolicyScores, Report};
use crate::plane::Score;
use crate::sheet::band::score_of;
use crate::sheet::captions::ROUNDING_PCT;
use crate::sheet::parts::{is_broken_at, specified_bands};
use crate::sheet::reach::usable_band_of;
use crate::sheet::reference_name_in;
use plotters::prelude::DrawingBackend;

/// The mappings in the order in which they are drawn, the chosen words on top.
pub const MAPPINGS: [(Mapping, &str, Role); 3] = [
    (Mapping::Chosen, "chosen", Role::First),
    (Mapping::Held, "held", Role::Third),
    (Mapping::Nominal, "nominal", Role::Second),
];

/// The RMS relative vector error of the three mappings against frequency, with the error of the state picked out from the
/// setting that it serves.
pub fn errors<B: DrawingBackend>(
    surface: &mut B,
    frame: Frame,
    theme: &Theme,
    report: &Report,
    analysis: &Analysis,
    view: &View,
) -> Result<(), ChartError> {
    // What is nothing but rounding has no place on a scale of ratios.
    let shown = |error: Option<f64>| error.filter(|error| *error > ROUNDING_PCT);
    let own = view.served(report, analysis).map(|(trace, setting)| -> Vec<Option<f64>> {
        trace.vector_errors_pct(setting).into_iter().map(shown).collect()
    });
    let lines = Lines {
        name: "RMS vector error, %",
        vertical: Vertical::Logarithmic,
        limits: &[],
        value: |score| 100.0 * score.rms_vector_error,
        own: view.trace.as_deref().zip(own.as_deref()).map(|(trace, values)| Curve {
            label: trace.label(),
            values,
            role: Role::Fourth,
        }),
        lane: None,
    };
    lines.draw(surface, frame, theme, report, analysis)
}

/// The share of settings within tolerance of the three mappings against frequency, and where the state picked out is
/// within that of the setting that it serves.
pub fn share<B: DrawingBackend>(
    surface: &mut B,
    frame: Frame,
    theme: &Theme,
    report: &Report,
    analysis: &Analysis,
    view: &View,
) -> Result<(), ChartError> {
    let wanted = report.settings.usable_share_pct;
    let label = format!("{wanted} %");
    let served = view.served(report, analysis);
    let holds = served.map(|(trace, setting)| {
        let within = trace.within(setting, &analysis.tolerance);
        (trace.label(), within.into_iter().map(|within| within == Some(true)).collect::<Vec<_>>())
    });
    let lines = Lines {
        name: "Within tolerance, %",
        vertical: Vertical::Between(0.0, 100.0),
        limits: &[Limit { label: &label, value: wanted, over_hz: None }],
        value: |score| score.within_both_pct,
        own: None,
        lane: holds.as_ref().map(|(label, holds)| Lane { label, holds }),
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
        lane: None,
    };
    chart::curves(surface, frame, theme, &data).map(|_| ())
}

/// One value of a score, drawn for the three mappings.
struct Lines<'a> {
    name: &'static str,
    vertical: Vertical,
    limits: &'a [Limit<'a>],
    value: fn(&Score) -> f64,
    /// What the state picked out does, drawn over the mappings.
    own: Option<Curve<'a>>,
    lane: Option<Lane<'a>>,
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
        let of_mappings = MAPPINGS
            .iter()
            .zip(&values)
            .filter(|((mapping, ..), _)| *mapping != Mapping::Nominal || analysis.model.has_nominal())
            .map(|(&(_, label, role), values)| Curve { label, values, role });
        let lines: Vec<Curve> = self.own.into_iter().chain(of_mappings).collect();
        let data = CurvesData {
            lane: self.lane,
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

/// What each bit does, measured against what it would do in a part that is wired straight; those set in the word picked out
/// are marked.
pub fn bit_weights<B: DrawingBackend>(
    surface: &mut B,
    frame: Frame,
    theme: &Theme,
    report: &Report,
    analysis: &Analysis,
    view: &View,
) -> Result<(), ChartError> {
    chart::bit_weights(surface, frame, theme, &bit_marks(analysis, view.word(report)))
}

/// Each bit's measured weight beside what it would be in a part that is wired straight; empty in a run without bits.
pub fn bit_marks(analysis: &Analysis, picked: Option<Word>) -> Vec<BitMark> {
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
                is_set: picked.is_some_and(|word| word.0 >> bit & 1 == 1),
            }
        })
        .collect()
}

pub(super) fn design_band_hz(grid: &[f64], analysis: &Analysis) -> (f64, f64) {
    (grid[*analysis.design_band.start()], grid[*analysis.design_band.end()])
}
