//! The frequency strip: shows the share within tolerance along the axis and chooses the frequency.

use super::app::{self, Handle, Shown};
use super::{canvas, dom};
use crate::export::plots;
use crate::sheet::wording::{frequency, percent};
use std::cell::Cell;
use std::rc::Rc;
use wasm_bindgen::JsCast;
use web_sys::{Element, HtmlCanvasElement, KeyboardEvent, PointerEvent};

/// Grid points that a page key moves by.
const PAGE: usize = 10;

/// Listens for the pointer, the keyboard and typed frequencies.
pub fn listen(app: &Handle) {
    let dragging = Rc::new(Cell::new(false));
    let (handle, drag) = (app.clone(), dragging.clone());
    dom::on_id("strip-canvas", "pointerdown", move |event| {
        let event: &PointerEvent = event.unchecked_ref();
        drag.set(true);
        let _ = dom::by_id::<Element>("strip-canvas").set_pointer_capture(event.pointer_id());
        choose_at(&handle, event);
    });
    let (handle, drag) = (app.clone(), dragging.clone());
    dom::on_id("strip-canvas", "pointermove", move |event| {
        if drag.get() {
            choose_at(&handle, event.unchecked_ref());
        }
    });
    for end in ["pointerup", "pointercancel"] {
        let drag = dragging.clone();
        dom::on_id("strip-canvas", end, move |_| drag.set(false));
    }
    let handle = app.clone();
    dom::on_id("strip-canvas", "keydown", move |event| {
        let key = event.unchecked_ref::<KeyboardEvent>().key();
        if step(&handle, &key) {
            event.prevent_default();
        }
    });
    let handle = app.clone();
    dom::on_id("frequency", "change", move |_| {
        if let Ok(ghz) = dom::input_value("frequency").parse::<f64>()
            && ghz.is_finite()
            && ghz > 0.0
        {
            app::change_settings(&handle, |settings| settings.frequency_hz = Some(ghz * 1e9));
        }
    });
}

fn choose_at(app: &Handle, event: &PointerEvent) {
    let Some(plot) = app.borrow().strip_plot else { return };
    let canvas: HtmlCanvasElement = dom::by_id("strip-canvas");
    let bounds = canvas.unchecked_ref::<Element>().get_bounding_client_rect();
    let across = (f64::from(event.client_x()) - bounds.left()) / bounds.width();
    let wanted_hz = plot.frequency_at(across * f64::from(canvas.width()));
    app::change_settings(app, |settings| settings.frequency_hz = Some(wanted_hz));
}

/// Moves by a key, in grid points; false if the key means nothing here.
fn step(app: &Handle, key: &str) -> bool {
    let shown = app.borrow().shown.clone();
    let Some(shown) = shown else { return false };
    let Ok(analysis) = &shown.report.analysis else { return false };
    let grid = &shown.report.intake.frequency_hz;
    // The settings may be ahead of the report while it is being made.
    let current = app.borrow().settings().frequency_hz.unwrap_or(grid[analysis.service.index]);
    let here = grid.partition_point(|&hz| hz < current * (1.0 - 1e-12)).min(grid.len() - 1);
    let last = grid.len() - 1;
    let index = match key {
        "ArrowLeft" | "ArrowDown" => here.saturating_sub(1),
        "ArrowRight" | "ArrowUp" => (here + 1).min(last),
        "PageDown" => here.saturating_sub(PAGE),
        "PageUp" => (here + PAGE).min(last),
        "Home" => 0,
        "End" => last,
        _ => return false,
    };
    let hz = grid[index];
    app::change_settings(app, |settings| settings.frequency_hz = Some(hz));
    true
}

/// Draws the strip and tells its value.
pub fn show(app: &Handle, shown: &Shown) {
    let Ok(analysis) = &shown.report.analysis else { return dom::show("strip", false) };
    dom::show("strip", true);
    let grid = &shown.report.intake.frequency_hz;
    let plot = canvas::draw("strip-canvas", |pad| {
        plots::strip(&mut pad.surface, pad.frame, pad.theme, &shown.report, analysis)
    });
    app.borrow_mut().strip_plot = plot;
    let chosen_hz = grid[analysis.service.index];
    let share = analysis.frequencies[analysis.service.index].chosen.within_both_pct;
    let canvas: Element = dom::by_id("strip-canvas");
    dom::attribute(&canvas, "aria-valuemin", &format!("{}", grid[0] / 1e9));
    dom::attribute(&canvas, "aria-valuemax", &format!("{}", grid[grid.len() - 1] / 1e9));
    dom::attribute(&canvas, "aria-valuenow", &format!("{}", chosen_hz / 1e9));
    let said = format!("{}, {} of the settings within tolerance", frequency(chosen_hz), percent(share));
    dom::attribute(&canvas, "aria-valuetext", &said);
    dom::set_input("frequency", &format!("{}", chosen_hz / 1e9));
    dom::set_text(
        "strip-caption",
        &format!("Share of settings that the chosen words serve within tolerance. Now at {said}."),
    );
}
