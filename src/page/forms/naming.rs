//! The reading of the names.

use crate::page::app::{self, Handle};
use crate::page::dom::{self, by_id};
use web_sys::HtmlSelectElement;

/// Listens to the choice of a reading.
pub fn listen(app: &Handle) {
    let handle = app.clone();
    dom::on_id("naming", "change", move |_| {
        let index = by_id::<HtmlSelectElement>("naming").selected_index();
        let shown = handle.borrow().shown.clone();
        let choices = shown.as_ref().map_or(&[][..], |shown| &shown.report.intake.naming_choices);
        if let Some(choice) = usize::try_from(index).ok().and_then(|index| choices.get(index)) {
            let naming = choice.naming;
            // Another reading gives other words: a layout given for the old ones no longer means anything.
            app::change_settings(&handle, |settings| {
                settings.naming = Some(naming);
                settings.layout = None;
            });
        }
    });
}
