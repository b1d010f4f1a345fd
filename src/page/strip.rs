//! The frequency strip: shows the share within tolerance along the axis and chooses the frequency.

use super::app::{self, Handle, Shown};
use super::{canvas, dom};
use crate::chart::Frame;
use crate::export::plots;
use crate::sheet::wording::{frequency, percent};
use std::cell::Cell;
use std::rc::Rc;
use wasm_bindgen::JsCast;
use web_sys::{Element, HtmlCanvasElement, KeyboardEvent, PointerEvent};

/// Grid points that a page key moves by.
const PAGE: usize = 10;

/// How much larger than a chart of its height the strip is written.
const TEXT_ENLARGED: f64 = 1.25;

/// The strip's frame on a pad. The strip is low, and charts write small on low frames; it stays in view, so it is
/// written larger.
pub fn frame(frame: Frame) -> Frame {
    Frame { scale: frame.scale * TEXT_ENLARGED, ..frame }
}

/// Listens for the pointer, the keyboard and typed frequencies.
pub fn listen(app: &Handle) {
    let dragging = Rc::new(Cell::new(Dragging::Nothing));
    let (handle, drag) = (app.clone(), dragging.clone());
    dom::on_id("strip-canvas", "pointerdown", move |event| {
        let event: &PointerEvent = event.unchecked_ref();
        let Some(hz) = frequency_under(&handle, event) else { return };
        let _ = dom::by_id::<Element>("strip-canvas").set_pointer_capture(event.pointer_id());
        drag.set(if event.shift_key() { Dragging::Band { from_hz: hz } } else { Dragging::Frequency });
        drag_to(&handle, drag.get(), hz);
    });
    let (handle, drag) = (app.clone(), dragging.clone());
    dom::on_id("strip-canvas", "pointermove", move |event| {
        if let Some(hz) = frequency_under(&handle, event.unchecked_ref()) {
            drag_to(&handle, drag.get(), hz);
        }
    });
    for end in ["pointerup", "pointercancel"] {
        let drag = dragging.clone();
        dom::on_id("strip-canvas", end, move |_| drag.set(Dragging::Nothing));
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

/// What the pointer drags.
#[derive(Clone, Copy, PartialEq)]
enum Dragging {
    Nothing,
    Frequency,
    Band { from_hz: f64 },
}

fn drag_to(app: &Handle, dragging: Dragging, hz: f64) {
    match dragging {
        Dragging::Nothing => {}
        Dragging::Frequency => app::change_settings(app, |settings| settings.frequency_hz = Some(hz)),
        // A press without a drag is no band.
        Dragging::Band { from_hz } if from_hz == hz => {}
        Dragging::Band { from_hz } => {
            let band = (from_hz.min(hz), from_hz.max(hz));
            app::change_settings(app, |settings| settings.design_band_hz = Some(band));
        }
    }
}

/// The measured frequency nearest to the pointer.
fn frequency_under(app: &Handle, event: &PointerEvent) -> Option<f64> {
    let plot = app.borrow().strip_plot?;
    let canvas: HtmlCanvasElement = dom::by_id("strip-canvas");
    let bounds = canvas.unchecked_ref::<Element>().get_bounding_client_rect();
    let across = (f64::from(event.client_x()) - bounds.left()) / bounds.width();
    let wanted_hz = plot.frequency_at(across * f64::from(canvas.width()));
    let shown = app.borrow().shown.clone()?;
    let grid = &shown.report.intake.frequency_hz;
    let distance = |hz: &f64| (hz - wanted_hz).abs();
    grid.iter().copied().min_by(|a, b| distance(a).total_cmp(&distance(b)))
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
        plots::strip(&mut pad.surface, frame(pad.frame), pad.theme, &shown.report, analysis)
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
        &format!(
            "Share of settings that the chosen words serve within tolerance: {said}. Drag to choose the frequency, \
             or hold Shift to drag out the design band."
        ),
    );
}
