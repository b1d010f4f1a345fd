//! The plots of how fine a run resolves: the resolution map, and the clean bits over frequency.

use super::plots::design_band_hz;
use super::view::View;
use crate::chart::{self, ChartError, Curve, CurvesData, Frame, ResolutionData, Role, Theme, Vertical};
use crate::pipeline::{Analysis, Report};
use crate::reach::{CleanBits, EvenSteps};
use plotters::prelude::DrawingBackend;

/// The resolution map at the chosen frequency, its cells marked that have the setting of the state picked out; empty where
/// there is none.
pub fn resolution<B: DrawingBackend>(
    surface: &mut B,
    frame: Frame,
    theme: &Theme,
    report: &Report,
    view: &View,
) -> Result<(), ChartError> {
    let Some(map) = report.reach.resolution() else { return Ok(()) };
    let pairs = || {
        let gains = || 0..=map.gain_bits();
        (0..=map.phase_bits()).flat_map(move |phase| gains().map(move |gain| CleanBits { phase, gain }))
    };
    let served: Vec<f64> = pairs().filter_map(|bits| map.yield_pct(bits)).collect();
    let setting = report.analysis.as_ref().ok().and_then(|analysis| {
        let setting = view.setting(report, analysis)?;
        Some((EvenSteps::new(&analysis.model).ok()?, setting))
    });
    let marked: Vec<bool> = setting.map_or_else(Vec::new, |(steps, setting)| {
        pairs().map(|bits| steps.want(setting, bits.phase, bits.gain)).collect()
    });
    let data = ResolutionData {
        phase_bits: map.phase_bits(),
        gain_bits: map.gain_bits(),
        served_pct: &served,
        picked: map.clean_bits().map(|bits| (bits.phase, bits.gain)),
        marked: &marked,
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
    let (Some(map), Some(clean)) = (report.reach.resolution(), &report.reach.clean_bits) else {
        return Ok(());
    };
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
        lane: None,
    };
    chart::curves(surface, frame, theme, &data).map(|_| ())
}
