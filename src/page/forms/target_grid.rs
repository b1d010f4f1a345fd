//! Which of the nominal settings are wanted: a coarser grid, a smaller gain range.

use super::input::{exact_input, number};
use crate::control::{Quantity, TargetGrid};
use crate::page::app::{self, Handle, Shown};
use crate::page::dom;
use crate::pipeline::Settings;

/// Listens to the inputs.
pub fn listen(app: &Handle) {
    for id in ["every-gain", "every-phase", "range-low", "range-high"] {
        let handle = app.clone();
        dom::on_id(id, "change", move |_| {
            let message = match in_form() {
                Ok(grid) => {
                    app::change_settings(&handle, |settings| settings.target_grid = grid);
                    None
                }
                Err(reason) => Some(reason),
            };
            dom::set_message("rules-message", message.as_deref());
        });
    }
}

fn in_form() -> Result<TargetGrid, String> {
    let one_in = |id: &str| {
        let steps = dom::input_value(id).trim().parse::<usize>();
        steps.map_err(|_| "One step in so many: a whole number from 1 up.".to_owned())
    };
    let (low, high) = (number("range-low")?, number("range-high")?);
    let gain_range_db = match (low, high) {
        (None, None) => None,
        // Far beyond any part, and a number that a settings file can hold.
        (low, high) => Some((low.unwrap_or(-1e3), high.unwrap_or(1e3))),
    };
    let grid =
        TargetGrid { every_gain: one_in("every-gain")?, every_phase: one_in("every-phase")?, gain_range_db };
    grid.check().map(|()| grid)
}

/// Writes what is wanted.
pub fn show(settings: &Settings) {
    let grid = &settings.target_grid;
    dom::set_input("every-gain", &grid.every_gain.to_string());
    dom::set_input("every-phase", &grid.every_phase.to_string());
    let end = |value: f64| if value.abs() < 1e3 { exact_input(value) } else { String::new() };
    let (low, high) = grid.gain_range_db.map_or_else(Default::default, |(low, high)| (end(low), end(high)));
    dom::set_input("range-low", &low);
    dom::set_input("range-high", &high);
}

/// Shows only the steps that the run has.
pub fn show_in_use(shown: &Shown) {
    let Ok(analysis) = &shown.report.analysis else { return };
    let sets = |quantity| analysis.layout().is_some_and(|layout| layout.finest_step(quantity).is_some());
    dom::show("every-gain-line", sets(Quantity::Gain));
    dom::show("every-phase-line", sets(Quantity::Phase));
}
