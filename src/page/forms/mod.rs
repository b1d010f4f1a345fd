//! The settings that are edited in place, one form a file.

mod controller;
mod input;
mod layout;
mod naming;
mod reach;
mod rules;
mod sheet;

pub use layout::show_layout;
pub use rules::show_in_use;

use super::app::Handle;
use super::dom;

/// Listens to every form of the page.
pub fn listen(app: &Handle) {
    naming::listen(app);
    layout::listen(app);
    rules::listen(app);
    controller::listen(app);
    reach::listen(app);
    sheet::listen(app);
    for id in ["rules", "controller", "reach-rules"] {
        dom::on_id(id, "submit", |event| event.prevent_default());
    }
}

/// Writes settings into the forms, except where the user is typing.
pub fn show_settings(app: &Handle) {
    let settings = app.borrow().settings().clone();
    rules::show(&settings);
    controller::show(&settings);
    reach::show(&settings);
    sheet::show(&settings);
}
