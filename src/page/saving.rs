//! Files in and out: exports as downloads, settings read back.

use super::app::{self, Handle, Shown};
use super::dom;
use crate::export::{self, ChosenAt, ExportRefused, WordTable};
use crate::pipeline::protocol::{Reply, Request};
use crate::pipeline::{Served, Settings};
use js_sys::{Array, Uint8Array};
use num_complex::Complex64;
use std::rc::Rc;
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::JsFuture;
use web_sys::{Blob, BlobPropertyBag, File, HtmlAnchorElement, HtmlElement, Url};

/// The table whose rows may cover a band.
const WORD_TABLE: &str = "word-table.csv";

/// Files that hold nothing without an analysis.
const NEED_ANALYSIS: [&str; 3] = [WORD_TABLE, "word-table.hex", "per-frequency.csv"];

/// Makes the export buttons.
pub fn listen(app: &Handle) {
    for export in export::exports() {
        let list = dom::by_id::<web_sys::Element>(if export.question == "sheet" {
            "sheet-exports"
        } else {
            "word-exports"
        });
        let item = dom::make("li", "");
        let button = dom::make("button", export.file_name);
        dom::attribute(&button, "type", "button");
        dom::attribute(&button, "data-export", export.file_name);
        dom::append(&item, &button);
        dom::append(&item, &dom::make("small", export.description));
        dom::append(&list, &item);
        let (handle, name) = (app.clone(), export.file_name);
        dom::on(&button, "click", move |_| save(&handle, name));
    }
}

fn save(app: &Handle, name: &'static str) {
    let Some(shown) = app.borrow().shown.clone() else { return };
    if name == WORD_TABLE && dom::selected("table-rows") == "band" && shown.report.analysis.is_ok() {
        return save_band_table(app, shown);
    }
    finish(name, export::make(name, &shown.report, &shown.sheet));
}

fn finish(name: &'static str, made: Result<Vec<u8>, ExportRefused>) {
    match made {
        Ok(bytes) => {
            download(name, media_type(name), &bytes);
            say(&format!("{name} is ready in your downloads."), false);
        }
        Err(refused) => say(&format!("{name} was not made. {refused}"), true),
    }
}

fn media_type(name: &str) -> &'static str {
    export::exports()
        .iter()
        .find(|export| export.file_name == name)
        .map_or("application/octet-stream", |e| e.media_type)
}

/// Exports report beside the buttons, refusals as an alert.
fn say(text: &str, refused: bool) {
    dom::set_message("export-refusal", refused.then_some(text));
    dom::set_text("export-status", if refused { "" } else { text });
}

/// The chosen words at every frequency of the design band, fetched one frequency after the other.
fn save_band_table(app: &Handle, shown: Rc<Shown>) {
    let Ok(analysis) = &shown.report.analysis else { return };
    let band = analysis.design_band.clone();
    fetch_rows(app, shown, *band.start(), Vec::new());
}

fn fetch_rows(app: &Handle, shown: Rc<Shown>, index: usize, mut fetched: Vec<(Complex64, Vec<Served>)>) {
    app::ask_owner(app, index, Request::ServiceAt { index }, move |app, reply| {
        let (Reply::Service(service), Ok(analysis)) = (reply, &shown.report.analysis) else {
            return say(
                &format!("{WORD_TABLE} was not made: the settings changed meanwhile. Try again."),
                true,
            );
        };
        fetched.push((service.reference, service.chosen));
        let (first, last) = (*analysis.design_band.start(), *analysis.design_band.end());
        if index == last {
            return finish(WORD_TABLE, band_table(&shown, first, &fetched));
        }
        say(&format!("{WORD_TABLE}: {} of {} frequencies.", index + 1 - first, last + 1 - first), false);
        fetch_rows(app, shown, index + 1, fetched);
    });
}

fn band_table(
    shown: &Shown,
    first: usize,
    fetched: &[(Complex64, Vec<Served>)],
) -> Result<Vec<u8>, ExportRefused> {
    let mut table = WordTable::new(&shown.report, &shown.sheet)?;
    for (index, (reference, served)) in (first..).zip(fetched) {
        table.push(ChosenAt { index, reference: *reference, served })?;
    }
    Ok(table.into_bytes())
}

fn download(name: &str, media_type: &str, bytes: &[u8]) {
    let parts = Array::of1(&Uint8Array::from(bytes));
    let options = BlobPropertyBag::new();
    options.set_type(media_type);
    let Ok(blob) = Blob::new_with_u8_array_sequence_and_options(&parts, &options) else { return };
    let Ok(url) = Url::create_object_url_with_blob(&blob) else { return };
    let anchor: HtmlAnchorElement = dom::make("a", "").unchecked_into();
    anchor.set_href(&url);
    anchor.set_download(name);
    anchor.unchecked_ref::<HtmlElement>().click();
    // The download has taken the blob by the time a minute is over; until then the address has to live.
    let revoke = Closure::once_into_js(move || {
        let _ = Url::revoke_object_url(&url);
    });
    let _ =
        dom::window().set_timeout_with_callback_and_timeout_and_arguments_0(revoke.unchecked_ref(), 60_000);
}

/// Enables the buttons once there is something to save.
pub fn show(_app: &Handle, shown: &Shown) {
    for export in export::exports() {
        let selector = format!("[data-export='{}']", export.file_name);
        if let Ok(Some(button)) = dom::document().query_selector(&selector) {
            let available = shown.report.analysis.is_ok() || !NEED_ANALYSIS.contains(&export.file_name);
            if available {
                let _ = button.remove_attribute("disabled");
            } else {
                dom::attribute(&button, "disabled", "");
            }
        }
    }
}

/// Reads a dropped settings file.
pub async fn read_settings(file: &File) -> Result<Settings, String> {
    let text =
        JsFuture::from(file.text()).await.map_err(|_| "The browser could not read this file.".to_owned())?;
    Settings::read(&text.as_string().unwrap_or_default()).map_err(|error| error.to_string())
}
