//! The settings that are edited in place, one form a file.

mod bands;
mod controller;
mod defaults;
mod fitting;
mod input;
mod layout;
mod listed;
mod naming;
mod reach;
mod rules;
mod sheet;
mod specification;
mod target_grid;
mod trust;

pub use layout::show_layout;

use super::app::{Handle, Shown};
use super::dom;

/// Listens to every form of the page.
pub fn listen(app: &Handle) {
    naming::listen(app);
    fitting::listen(app);
    layout::listen(app);
    listed::listen(app);
    rules::listen(app);
    target_grid::listen(app);
    controller::listen(app);
    bands::listen(app);
    reach::listen(app);
    sheet::listen(app);
    trust::listen(app);
    specification::listen(app);
    defaults::listen();
    for id in [
        "fitting",
        "wanted",
        "rules",
        "bands",
        "controller",
        "reach-rules",
        "trust-rules",
        "specification",
        "held",
    ] {
        dom::on_id(id, "submit", |event| event.prevent_default());
    }
}

/// A new run begins: what was typed for the one before means nothing any more.
pub fn forget_edits() {
    layout::forget_edits();
    listed::forget_edits();
}

/// Writes settings into the forms, except where the user is typing.
pub fn show_settings(app: &Handle) {
    let settings = app.borrow().settings().clone();
    listed::show(&settings);
    rules::show(&settings);
    target_grid::show(&settings);
    controller::show(&settings);
    bands::show(&settings);
    reach::show(&settings);
    sheet::show(&settings);
    trust::show(&settings);
    specification::show(app, &settings);
    defaults::show(&settings);
}

/// Writes what the analysis uses into the forms, so that proposals can be seen and changed.
pub fn show_in_use(shown: &Shown) {
    fitting::show_in_use(shown);
    listed::show_in_use(shown);
    rules::show_in_use(shown);
    target_grid::show_in_use(shown);
    bands::show_in_use(shown);
    specification::show_in_use(shown);
}
