//! Finished files handed to the browser one after the other.
//!
//! A browser silently drops downloads that a page starts in a burst: Chromium takes ten in a second. Files that waited
//! for the run to be worked out come all at once, so each leaves a little after the one before.

use super::dom;
use super::saving::say;
use js_sys::Array;
use std::cell::Cell;
use wasm_bindgen::prelude::*;
use web_sys::{Blob, BlobPropertyBag, HtmlAnchorElement, HtmlElement, Url};

/// The time between two files, in milliseconds: eight leave in a second.
const APART_MS: f64 = 125.0;

/// As long the browser may take to read a file after it was handed over.
const HELD_MS: f64 = 60_000.0;

thread_local! {
    /// When the next file may leave, by the page's clock.
    static NEXT_MS: Cell<f64> = const { Cell::new(0.0) };
}

/// Hands a file to the browser and says so.
pub fn hand_out(name: &'static str, media_type: &str, parts: &Array) {
    let options = BlobPropertyBag::new();
    options.set_type(media_type);
    match Blob::new_with_u8_array_sequence_and_options(parts, &options) {
        Ok(blob) => hand_out_blob(name, blob),
        Err(_) => say(&format!("{name} was not made: the browser has no memory for it."), true),
    }
}

/// Hands a file that is a blob already to the browser and says so.
pub fn hand_out_blob(name: &'static str, blob: Blob) {
    let now_ms = dom::now_ms();
    let leaves_ms = NEXT_MS.get().max(now_ms);
    NEXT_MS.set(leaves_ms + APART_MS);
    dom::after_ms(leaves_ms - now_ms, move || match offer(name, &blob) {
        Ok(()) => say(&format!("{name} is ready in your downloads."), false),
        Err(_) => say(&format!("{name} was not made: the browser would not take it."), true),
    });
}

fn offer(name: &str, blob: &Blob) -> Result<(), JsValue> {
    let url = Url::create_object_url_with_blob(blob)?;
    let anchor: HtmlAnchorElement = dom::make("a", "").unchecked_into();
    anchor.set_href(&url);
    anchor.set_download(name);
    anchor.unchecked_ref::<HtmlElement>().click();
    dom::after_ms(HELD_MS, move || {
        let _ = Url::revoke_object_url(&url);
    });
    Ok(())
}
