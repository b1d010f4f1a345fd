//! Files in and out: exports as downloads, settings read back.

use super::app::{self, Handle, Shown};
use super::dom;
use crate::export::{self, ExportRefused};
use crate::pipeline::protocol::{Reply, Request};
use crate::pipeline::{Service, Settings};
use js_sys::{Array, Uint8Array};
use std::rc::Rc;
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::JsFuture;
use web_sys::{Blob, BlobPropertyBag, File, HtmlAnchorElement, HtmlElement, Url};

/// The table whose rows may cover a band.
const WORD_TABLE: &str = "word-table.csv";

/// Makes the export buttons.
pub fn listen(app: &Handle) {
    for export in export::exports() {
        let list = dom::by_id::<web_sys::Element>(if export.about_words { "word-exports" } else { "sheet-exports" });
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
        return save_band_table(app, &shown);
    }
    finish(name, export::make(name, &shown.report, &shown.sheet));
}

fn finish(name: &'static str, made: Result<Vec<u8>, ExportRefused>) {
    match made {
        Ok(bytes) => {
            download(name, media_type(name), &[bytes]);
            say(&format!("{name} is ready in your downloads."), false);
        }
        Err(refused) => say(&format!("{name} was not made. {refused}"), true),
    }
}

fn media_type(name: &str) -> &'static str {
    export::exports().iter().find(|export| export.file_name == name).map_or("application/octet-stream", |e| e.media_type)
}

/// Exports report beside the buttons, refusals as an alert.
fn say(text: &str, refused: bool) {
    dom::set_message("export-refusal", refused.then_some(text));
    dom::set_text("status", if refused { "" } else { text });
}

/// The chosen words at every frequency of the design band, fetched one frequency after the other so that never
/// more than one is held, and written into one file.
fn save_band_table(app: &Handle, shown: &Rc<Shown>) {
    let Ok(analysis) = &shown.report.analysis else { return };
    let (first, last) = (*analysis.design_band.start(), *analysis.design_band.end());
    let chunks = match export::word_table_head(&shown.report, &shown.sheet) {
        Ok(head) => vec![head],
        Err(refused) => return finish(WORD_TABLE, Err(refused)),
    };
    fetch_rows(app, shown.clone(), first, last, chunks);
}

fn fetch_rows(app: &Handle, shown: Rc<Shown>, index: usize, last: usize, mut chunks: Vec<Vec<u8>>) {
    app::ask_owner(app, index, Request::ServiceAt { index }, move |app, reply| {
        let Reply::Service(service) = reply else {
            return say(&format!("{WORD_TABLE} was not made: the settings changed meanwhile. Try again."), true);
        };
        let service: Service = *service;
        match export::word_table_rows(&shown.report, &shown.sheet, &service) {
            Ok(rows) => chunks.push(rows),
            Err(refused) => return finish(WORD_TABLE, Err(refused)),
        }
        if index == last {
            download(WORD_TABLE, media_type(WORD_TABLE), &chunks);
            return say(&format!("{WORD_TABLE} is ready in your downloads."), false);
        }
        fetch_rows(app, shown, index + 1, last, chunks);
    });
}

fn download(name: &str, media_type: &str, chunks: &[Vec<u8>]) {
    let parts: Array = chunks.iter().map(|chunk| JsValue::from(Uint8Array::from(chunk.as_slice()))).collect();
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
    let _ = dom::window()
        .set_timeout_with_callback_and_timeout_and_arguments_0(revoke.unchecked_ref(), 60_000);
}

/// Enables the buttons once there is something to save.
pub fn show(_app: &Handle, shown: &Shown) {
    let analysed = shown.report.analysis.is_ok();
    for export in export::exports() {
        let selector = format!("[data-export='{}']", export.file_name);
        if let Ok(Some(button)) = dom::document().query_selector(&selector) {
            let available = analysed || !export.needs_analysis;
            if available {
                let _ = button.remove_attribute("disabled");
            } else {
                dom::attribute(&button, "disabled", "");
            }
        }
    }
    dom::set_message("export-refusal", None);
}

/// Reads a dropped settings file.
pub async fn read_settings(file: &File) -> Result<Settings, String> {
    let text = JsFuture::from(file.text()).await.map_err(|_| "The browser could not read this file.".to_owned())?;
    Settings::read(&text.as_string().unwrap_or_default()).map_err(|error| error.to_string())
}
