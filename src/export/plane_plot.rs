//! The gain-phase plane of a report at the chosen frequency.

use super::view::View;
use crate::chart::{
    self, ChartError, Frame, Highlight, PlaneData, PlaneGeometry, PlaneWindow, Rgb, StatePalette, Theme,
};
use crate::control::Setting;
use crate::pipeline::{Analysis, Report};
use crate::plane::target_gain;
use crate::sheet::{picked, state_name};
use num_complex::Complex64;
use plotters::prelude::DrawingBackend;

/// Every state at the chosen frequency in the gain-phase plane, the one picked out with the setting that it serves.
pub fn plane<B: DrawingBackend>(
    surface: &mut B,
    frame: Frame,
    theme: &Theme,
    report: &Report,
    analysis: &Analysis,
    view: &View,
) -> Result<PlaneGeometry, ChartError> {
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
    let picked = marked(report, analysis, view.picked);
    let pointed = marked(report, analysis, view.pointed.filter(|state| Some(*state) != view.picked));
    let data = PlaneData {
        states: &states,
        colours: &colours,
        palette: Some(&palette),
        targets: &targets,
        tolerance: cell(analysis, None),
        holes: &holes,
        highlight: picked.as_ref().map(Marked::highlight),
        pointed: pointed.as_ref().map(Marked::highlight),
        window: view.window.unwrap_or_else(|| PlaneWindow::whole(&states)),
    };
    chart::plane(surface, frame, theme, &data)
}

/// A state that is marked, with what is drawn beside it.
struct Marked {
    state: usize,
    target: Option<usize>,
    tolerance: Option<(f64, f64)>,
    label: String,
}

impl Marked {
    fn highlight(&self) -> Highlight<'_> {
        Highlight { state: self.state, target: self.target, tolerance: self.tolerance, label: &self.label }
    }
}

fn marked(report: &Report, analysis: &Analysis, state: Option<usize>) -> Option<Marked> {
    let state = state.filter(|state| *state < analysis.service.transmission.len())?;
    let target = picked::target_of(report, analysis, state);
    let tolerance = target.and_then(|target| cell(analysis, Some(target)));
    let label = state_name(&report.intake, report.intake.states.get(state)?.word);
    Some(Marked { state, target, tolerance, label })
}

/// Half the height in dB and half the width in degrees of the tolerance cells, where both are limited: around a target, or
/// around all where the tolerance is the same for all.
fn cell(analysis: &Analysis, target: Option<usize>) -> Option<(f64, f64)> {
    let tolerance = &analysis.tolerance;
    let gain_db = match target {
        Some(target) => tolerance.gain_db_at(analysis.targets[target].setting.gain_db),
        None if tolerance.gain_pct_of_setting == 0.0 => tolerance.gain_db,
        None => return None,
    };
    (gain_db.is_finite() && tolerance.phase_deg.is_finite()).then_some((gain_db, tolerance.phase_deg))
}

/// The states that the noise blurs at the chosen frequency, as far as the run is checked.
pub fn near_floor(report: &Report, analysis: &Analysis) -> Vec<bool> {
    let points = report.intake.frequency_hz.len();
    let checks = report.checks.as_ref();
    checks.map_or_else(Vec::new, |checks| checks.near_floor(points, analysis.service.index))
}
