//! Shows how things stand: the phase, the progress, messages, and every view of a finished report.

use super::app::{Handle, Shown};
use super::{
    canvas, dom, forms, picking, saving, strip, view_came_in, view_parts, view_plane, view_reach, view_sheet,
    view_trust, view_use, view_words,
};
use crate::pipeline::{Conductor, Stage};
use crate::sheet::{Sheet, ToolFacts, answers_here};
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
    dom::before_picture(render.unchecked_ref());
}

fn render(app: &Handle) {
    let (stage, progress, started_ms, failure) = {
        let state = app.borrow();
        let Some(conductor) = state.conductor() else { return };
        (conductor.stage(), conductor.progress(), state.started_ms, conductor.failure().to_owned())
    };
    let follows = app.borrow().conductor().is_some_and(Conductor::follows_frequency);
    match stage {
        Stage::Failed => {
            show_failure(&failure);
            saving::save_waiting(app);
        }
        _ if follows => show_following(app),
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

/// Shows the states at a frequency that was moved to: what the eye follows, at once. The plots come first, since what is
/// laid out anew by writing texts has to be measured again.
pub fn show_moved(app: &Handle) {
    let Some(report) = app.borrow().conductor().and_then(Conductor::shared_report) else { return };
    view_plane::draw_here(app, &report);
    view_words::draw_errors(app, &report);
    strip::tell(app, &report);
    let answers = answers_here(&report, &tool_facts());
    let answer = |key| answers.iter().find(|answer| answer.key == key);
    view_plane::tell_here(&report, answer("plane"));
    picking::tell(app, &report);
    view_words::tell_here(app, &report, answer("words"));
    picking::point_anew(app);
}

/// Shows another state picked out in the plane, in every plot in which states have a part; all else stays as it is.
pub fn show_picked(app: &Handle) {
    let (shown, revision) = {
        let state = app.borrow();
        (state.shown.clone(), state.conductor().map(Conductor::revision))
    };
    match shown.filter(|shown| Some(shown.revision) == revision) {
        Some(shown) => {
            view_plane::show(app, &shown);
            view_trust::show_weights(app, &shown.report);
            view_parts::show(app, &shown);
            view_words::show_errors(app, &shown.report);
            view_reach::show(app, &shown);
            view_use::show(app, &shown);
        }
        None => render_soon(app),
    }
}

/// Shows what else is told of a frequency that was moved to, as far as it is near what is seen; the rest follows when the
/// report is complete.
fn show_following(app: &Handle) {
    if !refresh_shown(app) {
        return;
    }
    let Some(shown) = app.borrow().shown.clone() else { return };
    let is_near = |question| canvas::is_near(&dom::by_id(question));
    if is_near("parts") {
        view_parts::show(app, &shown);
    }
    if is_near("reach") {
        view_reach::show(app, &shown);
    }
    if is_near("use") {
        view_use::show(app, &shown);
    }
}

/// Shows how far a report is from complete that stands as it was shown.
pub fn show_completing(app: &Handle) {
    view_trust::show_progress(app);
    view_words::show_progress(app);
    saving::save_waiting(app);
}

/// Makes the sheet of the conductor's latest report; says whether that is another report than the one shown.
pub fn refresh_shown(app: &Handle) -> bool {
    let mut state = app.borrow_mut();
    let Some(conductor) = state.conductor() else { return false };
    let revision = conductor.revision();
    let is_shown = state.shown.as_ref().is_some_and(|shown| shown.revision == revision);
    let Some(report) = conductor.shared_report().filter(|_| !is_shown) else { return false };
    let sheet = Sheet::of(&report, &tool_facts());
    state.shown = Some(Rc::new(Shown { revision, report, sheet }));
    true
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
    view_parts::show(app, shown);
    view_plane::show(app, shown);
    view_words::show(app, shown);
    view_words::show_progress(app);
    forms::show_in_use(shown);
    view_reach::show(app, shown);
    view_use::show(app, shown);
    // Fitting the sheet onto its page takes longer than all else; it waits for what moves.
    if !app.borrow().is_moving {
        view_sheet::show(shown);
    }
    strip::show(app, &shown.report);
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
