//! What the user knows of the part that the checks cannot tell.

use super::input::{exact_input, number};
use crate::page::app::{self, Handle};
use crate::page::dom::{self, by_id};
use crate::pipeline::Settings;
use crate::run::CaptureOrder;
use web_sys::{HtmlInputElement, HtmlSelectElement};

/// The orders of capture, in the order of the choice on the page.
const ORDERS: [CaptureOrder; 3] = [CaptureOrder::AsProposed, CaptureOrder::Times, CaptureOrder::Counting];

/// Listens to the form.
pub fn listen(app: &Handle) {
    let handle = app.clone();
    dom::on_id("part-is-active", "change", move |_| {
        let active = by_id::<HtmlInputElement>("part-is-active").checked();
        app::change_settings(&handle, |settings| settings.part_is_active = active);
    });
    let handle = app.clone();
    dom::on_id("capture-order", "change", move |_| {
        let index = by_id::<HtmlSelectElement>("capture-order").selected_index();
        if let Some(&order) = usize::try_from(index).ok().and_then(|index| ORDERS.get(index)) {
            app::change_settings(&handle, |settings| settings.capture_order = order);
        }
    });
    let handle = app.clone();
    dom::on_id("zero-word-loss", "change", move |_| {
        let message = match number("zero-word-loss") {
            Ok(loss) => {
                app::change_settings(&handle, |settings| settings.zero_word_loss_db = loss);
                None
            }
            Err(reason) => Some(reason),
        };
        dom::set_message("trust-message", message.as_deref());
    });
}

/// Writes what is set.
pub fn show(settings: &Settings) {
    by_id::<HtmlInputElement>("part-is-active").set_checked(settings.part_is_active);
    let order = ORDERS.iter().position(|order| *order == settings.capture_order).unwrap_or(0);
    by_id::<HtmlSelectElement>("capture-order").set_selected_index(i32::try_from(order).unwrap_or(0));
    dom::set_input("zero-word-loss", &settings.zero_word_loss_db.map_or_else(String::new, exact_input));
}
