//! Runs without bits: the settings that are wanted of marks, and what listed phases without a sign mean.

use super::input::FILLED;
use crate::control::{ControlModel, Listing, WantedSettings};
use crate::page::app::{self, Handle, Shown};
use crate::page::dom::{self, by_id};
use crate::pipeline::{LayoutOrigin, ListedPhases, Settings, UnsignedPhases};
use crate::sheet::{read_values, write_values};
use web_sys::{Element, HtmlInputElement, HtmlSelectElement};

/// The meanings of phases without a sign, in the order of the choice on the page.
const MEANINGS: [UnsignedPhases; 3] =
    [UnsignedPhases::AsProposed, UnsignedPhases::Lags, UnsignedPhases::Leads];

/// Listens to both forms.
pub fn listen(app: &Handle) {
    for id in ["wanted-gains", "wanted-phases"] {
        let handle = app.clone();
        dom::on_id(id, "change", move |_| {
            let message = match wanted_in_form() {
                Ok(wanted) => {
                    forget_edits();
                    app::change_settings(&handle, |settings| settings.wanted = Some(wanted));
                    None
                }
                Err(reason) => Some(reason),
            };
            dom::set_message("wanted-message", message.as_deref());
        });
    }
    let handle = app.clone();
    dom::on_id("wanted-proposal", "click", move |_| {
        forget_edits();
        app::change_settings(&handle, |settings| settings.wanted = None);
        dom::set_message("wanted-message", None);
    });
    let handle = app.clone();
    dom::on_id("unsigned-phases", "change", move |_| {
        let index = by_id::<HtmlSelectElement>("unsigned-phases").selected_index();
        if let Some(&meaning) = usize::try_from(index).ok().and_then(|index| MEANINGS.get(index)) {
            app::change_settings(&handle, |settings| settings.unsigned_phases = meaning);
        }
    });
}

/// Writes the choice that stands.
pub fn show(settings: &Settings) {
    let index = MEANINGS.iter().position(|meaning| *meaning == settings.unsigned_phases).unwrap_or(0);
    by_id::<HtmlSelectElement>("unsigned-phases").set_selected_index(i32::try_from(index).unwrap_or(0));
}

/// Shows what the run has use for, with what is in use.
pub fn show_in_use(shown: &Shown) {
    let analysis = shown.report.analysis.as_ref().ok();
    let wanted = match analysis.map(|analysis| &analysis.model) {
        Some(ControlModel::Listed(Listing::Marks(_, wanted))) => Some(wanted),
        _ => None,
    };
    dom::show("wanted", wanted.is_some());
    if let Some(wanted) = wanted {
        fill("wanted-gains", &write_values(&wanted.gains_db));
        fill("wanted-phases", &write_values(&wanted.phases_deg));
    }
    let phases = match analysis.map(|analysis| &analysis.layout_origin) {
        Some(LayoutOrigin::Listed(phases)) => *phases,
        _ => ListedPhases::AsWritten,
    };
    dom::show("unsigned-block", phases != ListedPhases::AsWritten);
    dom::set_text(
        "unsigned-proposal",
        match phases {
            ListedPhases::Guessed { lags: true } => "as proposed: lags",
            ListedPhases::Guessed { lags: false } => "as proposed: leads",
            _ => "as proposed",
        },
    );
}

fn wanted_in_form() -> Result<WantedSettings, String> {
    let values = |id: &str, what: &str| match read_values(&dom::input_value(id)) {
        Ok(values) if values.is_empty() => Err(format!("Write at least one {what}, such as 0.")),
        other => other,
    };
    let wanted = WantedSettings {
        gains_db: values("wanted-gains", "gain")?,
        phases_deg: values("wanted-phases", "phase")?,
    };
    wanted.check()?;
    Ok(wanted)
}

/// Writes into an input, unless it was filled with the same before and may have been edited since.
fn fill(id: &str, text: &str) {
    let input: Element = by_id(id);
    if input.get_attribute(FILLED).as_deref() != Some(text) {
        dom::attribute(&input, FILLED, text);
        by_id::<HtmlInputElement>(id).set_value(text);
    }
}

/// Lets both inputs be filled with what comes into use, even if that is what stood there before.
pub fn forget_edits() {
    for id in ["wanted-gains", "wanted-phases"] {
        let _ = by_id::<Element>(id).remove_attribute(FILLED);
    }
}
