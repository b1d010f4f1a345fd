//! The share of settings that makes a frequency usable.

use super::input::{exact_input, number};
use crate::page::app::{self, Handle};
use crate::page::dom;
use crate::pipeline::Settings;

/// Listens to the form.
pub fn listen(app: &Handle) {
    let handle = app.clone();
    dom::on_id("usable-share", "change", move |_| {
        let share = number("usable-share").map(|share| share.filter(|share| (0.0..=100.0).contains(share)));
        let message = match share {
            Ok(Some(share)) => {
                app::change_settings(&handle, |settings| settings.usable_share_pct = share);
                None
            }
            Ok(None) => Some("The share has to be a number from 0 to 100 %.".to_owned()),
            Err(reason) => Some(reason),
        };
        dom::set_message("reach-message", message.as_deref());
    });
}

/// Writes the share.
pub fn show(settings: &Settings) {
    dom::set_input("usable-share", &exact_input(settings.usable_share_pct));
}
