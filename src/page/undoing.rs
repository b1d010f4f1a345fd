//! Taking changes of settings back, and making them again.

use super::app::{self, Handle};
use super::dom;
use crate::pipeline::{History, Settings};
use wasm_bindgen::JsCast;
use web_sys::{Element, HtmlInputElement, KeyboardEvent};

/// Listens to the buttons and the keys.
pub fn listen(app: &Handle) {
    for (id, way) in [("undo", History::undo as Way), ("redo", History::redo)] {
        let handle = app.clone();
        dom::on_id(id, "click", move |_| go(&handle, way));
    }
    let handle = app.clone();
    dom::on(&dom::document(), "keydown", move |event| {
        let Some(key) = event.dyn_ref::<KeyboardEvent>().filter(|key| key.ctrl_key() || key.meta_key())
        else {
            return;
        };
        // A field of text takes its own changes back.
        if key.alt_key() || event.target().is_some_and(|target| is_text_field(&target)) {
            return;
        }
        let way: Way = match (key.key().to_lowercase().as_str(), key.shift_key()) {
            ("z", false) => History::undo,
            ("z", true) | ("y", false) => History::redo,
            _ => return,
        };
        event.prevent_default();
        go(&handle, way);
    });
}

/// To the settings before or after a change.
type Way = fn(&mut History, &Settings) -> Option<Settings>;

fn go(app: &Handle, way: Way) {
    let to = {
        let mut state = app.borrow_mut();
        let now = state.settings().clone();
        way(&mut state.history, &now)
    };
    if let Some(settings) = to {
        app::go_to_settings(app, settings);
        show(app);
    }
}

/// Offers what can be taken back and made again.
pub fn show(app: &Handle) {
    let state = app.borrow();
    let (undoes, redoes) = (state.history.undoes(), state.history.redoes());
    dom::show("undoing", undoes.is_some() || redoes.is_some());
    for (id, verb, what) in [("undo", "Take back", undoes), ("redo", "Make again", redoes)] {
        let focused = dom::document().active_element().is_some_and(|element| element.id() == id);
        dom::show(id, what.is_some());
        if let Some(what) = what {
            dom::set_text(id, &format!("{verb}: {what}"));
        } else if focused {
            // What is hidden cannot keep the focus.
            let other = if id == "undo" { "redo" } else { "undo" };
            dom::show(other, true);
            let _ = dom::by_id::<web_sys::HtmlElement>(other).focus();
        }
    }
}

fn is_text_field(target: &web_sys::EventTarget) -> bool {
    let Some(element) = target.dyn_ref::<Element>() else { return false };
    match element.dyn_ref::<HtmlInputElement>() {
        Some(input) => matches!(input.type_().as_str(), "text" | "number"),
        None => element.tag_name() == "TEXTAREA",
    }
}
