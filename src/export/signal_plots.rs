//! The plots of question 7: one constellation, the errors of all orders, and the largest clean one over frequency.

use super::plots::design_band_hz;
use super::view::View;
use crate::chart::{
    self, BesideLimitsData, ChartError, ConstellationData, Frame, KindMark, LevelsData, Theme,
};
use crate::pipeline::{Analysis, Report};
use crate::sheet::signal::{guide_limit, name};
use crate::signal::{Constellation, ORDERS, Qam};
use num_complex::Complex64;
use plotters::prelude::DrawingBackend;
use std::collections::HashMap;

/// The constellation looked at with the states that make it, turned upright and scaled to its corner; empty where there is
/// none.
pub fn constellation<B: DrawingBackend>(
    surface: &mut B,
    frame: Frame,
    theme: &Theme,
    report: &Report,
    analysis: &Analysis,
    view: &View,
) -> Result<(), ChartError> {
    let formed = view.constellation(report).and_then(|one| Some((one, Qam::new(one.order)?)));
    let Some((one, qam)) = formed else {
        let nothing = ConstellationData { points: &[], made: &[], unclean: &[], others: &[], picked: None };
        return chart::constellation(surface, frame, theme, &nothing);
    };
    let transmission = &analysis.service.transmission;
    let place = |state: u32| transmission.get(state as usize).map_or(NOWHERE, |t| t / one.scale);
    let made: Vec<Complex64> = one.states.iter().map(|&state| place(state)).collect();
    let uses = uses(one);
    let unclean: Vec<bool> = one
        .states
        .iter()
        .zip(&made)
        .enumerate()
        .map(|(index, (state, made))| uses[state] > 1 || !qam.is_nearest(*made, index))
        .collect();
    let others: Vec<Complex64> = (0_u32..)
        .zip(transmission)
        .filter(|(state, _)| !uses.contains_key(state))
        .map(|(_, transmission)| transmission / one.scale)
        .collect();
    let picked = view.picked.and_then(|state| Some(transmission.get(state)? / one.scale));
    let data =
        ConstellationData { points: qam.points(), made: &made, unclean: &unclean, others: &others, picked };
    chart::constellation(surface, frame, theme, &data)
}

const NOWHERE: Complex64 = Complex64::new(f64::NAN, f64::NAN);

/// How many points each state makes.
fn uses(one: &Constellation) -> HashMap<u32, u32> {
    let mut uses = HashMap::new();
    for &state in &one.states {
        *uses.entry(state).or_insert(0) += 1;
    }
    uses
}

/// The error vector magnitude of every order, each beside its guide limit; those are marked of which the state picked out
/// makes a point.
pub fn evm<B: DrawingBackend>(
    surface: &mut B,
    frame: Frame,
    theme: &Theme,
    report: &Report,
    view: &View,
) -> Result<(), ChartError> {
    let formed = report.signal.as_ref().and_then(|signal| signal.constellations.as_ref().ok());
    let formed = formed.map_or(&[][..], Vec::as_slice);
    let names: Vec<String> = formed.iter().map(|one| name(one.order)).collect();
    let picked = view.picked.and_then(|state| u32::try_from(state).ok());
    let marks: Vec<KindMark> = formed
        .iter()
        .zip(&names)
        .map(|(one, name)| KindMark {
            name,
            value: 100.0 * one.evm,
            filled: one.is_clean(),
            limit: guide_limit(one.order).map(|limit| 100.0 * limit.evm),
            is_marked: picked.is_some_and(|state| one.states.contains(&state)),
        })
        .collect();
    let data = BesideLimitsData {
        name: "EVM over average power, %",
        kinds_name: "constellation",
        limit_name: "guide limit",
        filled_name: "clean",
        open_name: "not clean",
        marks: &marks,
    };
    chart::beside_limits(surface, frame, theme, &data)
}

/// The largest clean constellation at the frequencies looked at, as steps; without steps where it is not known.
pub fn largest_clean<B: DrawingBackend>(
    surface: &mut B,
    frame: Frame,
    theme: &Theme,
    report: &Report,
    analysis: &Analysis,
) -> Result<(), ChartError> {
    let grid = &report.intake.frequency_hz;
    let (frequency_hz, at): (Vec<f64>, Vec<usize>) = report
        .largest_clean
        .iter()
        .flat_map(|found| found.looked_at.iter().zip(&found.orders))
        .map(|(&index, order)| (grid[index], order.map_or(0, level_of)))
        .unzip();
    let names: Vec<String> = std::iter::once("none".to_owned()).chain(ORDERS.map(name)).collect();
    let levels: Vec<&str> = names.iter().map(String::as_str).collect();
    let ends = (grid.first(), grid.last());
    let data = LevelsData {
        name: "Largest clean constellation",
        levels: &levels,
        frequency_hz: &frequency_hz,
        at: &at,
        whole_hz: (ends.0.copied().unwrap_or(f64::NAN), ends.1.copied().unwrap_or(f64::NAN)),
        design_band_hz: Some(design_band_hz(grid, analysis)),
        cursor_hz: Some(grid[analysis.service.index]),
    };
    chart::levels(surface, frame, theme, &data).map(|_| ())
}

/// 1 for the smallest order; each next one has four times as many points, so equal steps are a logarithmic axis.
fn level_of(order: u16) -> usize {
    1 + ORDERS.iter().position(|&known| known == order).unwrap_or(0)
}
