//! Tables for the design band: which error counts, and the error that the fewest tables hold.

use super::input::{exact_input, number};
use crate::page::app::{self, Handle, Shown};
use crate::page::dom::{self, by_id};
use crate::pipeline::{BandError, HeldError, Settings};
use crate::sheet::wording::exact;
use web_sys::{Element, HtmlSelectElement};

/// Listens to the form.
pub fn listen(app: &Handle) {
    let handle = app.clone();
    dom::on_id("band-error", "change", move |_| {
        let error = if dom::selected("band-error") == "rms" { BandError::Rms } else { BandError::Worst };
        app::change_settings(&handle, |settings| settings.band_error = error);
    });
    let handle = app.clone();
    dom::on_id("held-error", "change", move |_| {
        let largest = HeldError::LARGEST_PCT;
        let message = match number("held-error") {
            Ok(held) if held.is_none_or(|held| held > 0.0 && held <= largest) => {
                app::change_settings(&handle, |settings| settings.held_error_pct = held);
                None
            }
            Ok(_) => {
                Some(format!("The error has to be more than 0 % and no more than {} %.", exact(largest)))
            }
            Err(reason) => Some(reason),
        };
        dom::set_message("bands-message", message.as_deref());
    });
}

/// Writes the settings.
pub fn show(settings: &Settings) {
    let error = match settings.band_error {
        BandError::Worst => "worst",
        BandError::Rms => "rms",
    };
    by_id::<HtmlSelectElement>("band-error").set_value(error);
    dom::set_input("held-error", &settings.held_error_pct.map_or_else(String::new, exact_input));
}

/// Writes the proposal into an input that holds nothing of the user's.
pub fn show_in_use(shown: &Shown) {
    let proposal = shown.report.tables.fewest.as_deref().map(|fewest| exact_input(fewest.limit.pct()));
    dom::attribute(&by_id::<Element>("held-error"), "placeholder", proposal.as_deref().unwrap_or("none"));
}
