//! Shows how things stand: the phase, the progress, messages, and every view of a finished report.

use super::app::{Handle, Shown};
use super::{
    dom, forms, saving, strip, view_came_in, view_parts, view_plane, view_reach, view_sheet, view_trust,
    view_use, view_words,
};
use crate::pipeline::{Conductor, Stage};
use crate::sheet::{Sheet, ToolFacts};
use std::rc::Rc;
use wasm_bindgen::prelude::*;

/// While thousands of files are read, drawing how far it is would itself slow the reading.
const PROGRESS_EVERY_MS: f64 = 100.0;

/// Shows the state of things with the next picture, once however often it is asked for.
pub fn render_soon(app: &Handle) {
    if std::mem::replace(&mut app.borrow_mut().render_waiting, true) {
        return;
    }
    let handle = app.clone();
    let render = Closure::once_into_js(move || {
        handle.borrow_mut().render_waiting = false;
        render(&handle);
    });
    // A hidden page gets no animation frames; a timer reaches it too.
    let function = render.unchecked_ref();
    if dom::document().hidden() {
        let _ = dom::window().set_timeout_with_callback_and_timeout_and_arguments_0(function, 50);
    } else {
        let _ = dom::window().request_animation_frame(function);
    }
}

fn render(app: &Handle) {
    let (stage, progress, started_ms, failure) = {
        let state = app.borrow();
        let Some(conductor) = state.conductor() else { return };
        (conductor.stage(), conductor.progress(), state.started_ms, conductor.failure().to_owned())
    };
    match stage {
        Stage::Failed => show_failure(&failure),
        stage if stage.is_ready() => {
            dom::show("progress", false);
            refresh_shown(app);
            let shown = app.borrow().shown.clone();
            if let Some(shown) = shown {
                show_report(app, &shown);
            }
            show_phase("ready");
        }
        stage => {
            let now_ms = dom::now_ms();
            let waited = now_ms - std::mem::replace(&mut app.borrow_mut().progress_shown_ms, now_ms);
            if waited < PROGRESS_EVERY_MS {
                app.borrow_mut().progress_shown_ms = now_ms - waited;
                return;
            }
            show_phase(if stage == Stage::Reading { "reading" } else { "computing" });
            let busy_with_a_change = app.borrow().shown.is_some();
            dom::show("progress", !busy_with_a_change);
            view_came_in::show_progress(&progress, dom::now_ms() - started_ms);
            if !busy_with_a_change {
                view_came_in::show_reading(app);
            }
        }
    }
}

/// Shows how far a report is from complete that stands as it was shown.
pub fn show_completing(app: &Handle) {
    view_trust::show_progress(app);
    view_words::show_progress(app);
    saving::save_waiting(app);
}

/// Makes the sheet of the conductor's latest report.
fn refresh_shown(app: &Handle) {
    let mut state = app.borrow_mut();
    let Some(report) = state.conductor().and_then(Conductor::report).cloned() else { return };
    let sheet = Sheet::of(&report, &tool_facts());
    state.shown = Some(Rc::new(Shown { report, sheet }));
}

/// What the sheet says of the tool itself; the date is the user's.
pub fn tool_facts() -> ToolFacts {
    let now = js_sys::Date::new_0();
    let date = format!("{:04}-{:02}-{:02}", now.get_full_year(), now.get_month() + 1, now.get_date());
    ToolFacts::on(&date)
}

fn show_report(app: &Handle, shown: &Rc<Shown>) {
    view_came_in::show(shown);
    view_trust::show(app, shown);
    view_parts::show(shown);
    view_plane::show(app, shown);
    view_words::show(shown);
    view_words::show_progress(app);
    forms::show_in_use(shown);
    view_reach::show(shown);
    view_use::show(shown);
    view_sheet::show(shown);
    strip::show(app, shown);
    saving::show(app, shown);
    saving::save_waiting(app);
}

/// Tells scripts and screen readers which phase the page is in.
pub fn show_phase(phase: &str) {
    let main: web_sys::Element = dom::by_id("questions");
    if main.get_attribute("data-phase").as_deref() == Some(phase) {
        return;
    }
    dom::attribute(&main, "data-phase", phase);
    let said = match phase {
        "reading" => "Reading files.",
        "computing" => "Computing.",
        "ready" => "The answers are ready.",
        _ => "",
    };
    dom::set_text("status", said);
}

/// Shows why the work cannot go on.
pub fn show_failure(reason: &str) {
    dom::show("progress", false);
    show_phase("failed");
    show_message(Some(reason));
}

/// Shows or removes the message under the drop area.
pub fn show_message(text: Option<&str>) {
    dom::set_message("message", text);
}
