//! What the sheet prints beside the answers, and the look-up of one setting.

use crate::page::app::{self, Handle};
use crate::page::dom;
use crate::page::{showing, view_words};
use crate::pipeline::Settings;

/// One of the names that the sheet prints.
type NameOf = fn(&mut Settings) -> &mut String;

/// Listens to the names, the paper size and the look-up.
pub fn listen(app: &Handle) {
    let names: [(&str, NameOf); 2] =
        [("part-name", |settings| &mut settings.part_name), ("operator", |settings| &mut settings.operator)];
    for (id, name) in names {
        let handle = app.clone();
        dom::on_id(id, "input", move |_| {
            app::change_settings(&handle, |settings| *name(settings) = dom::input_value(id));
        });
    }
    let handle = app.clone();
    dom::on_id("paper", "change", move |_| showing::render_soon(&handle));
    for id in ["lookup-gain", "lookup-phase"] {
        let handle = app.clone();
        dom::on_id(id, "input", move |_| {
            let shown = handle.borrow().shown.clone();
            if let Some(shown) = shown {
                view_words::show_lookup(&shown.report);
            }
        });
    }
}

/// Writes the names.
pub fn show(settings: &Settings) {
    dom::set_input("part-name", &settings.part_name);
    dom::set_input("operator", &settings.operator);
}
