//! Finished files handed to the browser one after the other.
//!
//! A browser silently drops downloads that a page starts in a burst: Chromium takes ten in a second. Files that waited
//! for the run to be worked out come all at once, so each leaves a little after the one before.

use super::dom;
use super::saving::say;
use js_sys::Array;
use std::cell::{Cell, RefCell};
use std::collections::VecDeque;
use wasm_bindgen::prelude::*;
use web_sys::{Blob, BlobPropertyBag, HtmlAnchorElement, HtmlElement, Url};

/// The time from one file to the next, in milliseconds: eight leave in a second.
const APART_MS: f64 = 125.0;

/// As long the browser may take to read a file after it was handed over.
const HELD_MS: f64 = 60_000.0;

thread_local! {
    static WAITING: RefCell<VecDeque<(&'static str, Blob)>> = const { RefCell::new(VecDeque::new()) };
    static IS_BUSY: Cell<bool> = const { Cell::new(false) };
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
    WAITING.with_borrow_mut(|waiting| waiting.push_back((name, blob)));
    if !IS_BUSY.replace(true) {
        dom::after_ms(0.0, hand_out_next);
    }
}

/// Times itself from when a file really leaves: timers that fall due while the page is busy, or hidden, all go off at once.
fn hand_out_next() {
    let Some((name, blob)) = WAITING.with_borrow_mut(VecDeque::pop_front) else { return IS_BUSY.set(false) };
    match offer(name, &blob) {
        Ok(()) => say(&format!("{name} is ready in your downloads."), false),
        Err(_) => say(&format!("{name} was not made: the browser would not take it."), true),
    }
    dom::after_ms(APART_MS, hand_out_next);
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
