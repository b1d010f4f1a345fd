//! The only code that knows a browser: files, workers, the document, canvases.
//!
//! `app` holds the run and moves messages; `taking` begins runs, `showing` tells how things stand; `carrier` takes requests to workers or answers them on the page;
//! `picture` draws plots as files of pixels; `downloads` hands finished files out; `files` turns drops and chosen folders into files; the `view_*` modules show a report, each one section.

mod app;
mod canvas;
mod carrier;
mod dom;
mod downloads;
mod files;
mod forms;
mod hovering;
mod looking;
mod message;
mod numbers;
mod picking;
mod picture;
mod preferences;
mod printing;
mod resting;
mod run_file;
mod saving;
mod sheet_fit;
mod showing;
mod strip;
mod surface;
mod taking;
mod terms;
mod times;
mod typed_tables;
mod undoing;
mod view_came_in;
mod view_parts;
mod view_plane;
mod view_reach;
mod view_sheet;
mod view_trust;
mod view_use;
mod view_words;
mod worker;

use wasm_bindgen::prelude::*;

/// Starts the page. `new_worker` returns a fresh worker that already has the compiled module, or null where the
/// browser refuses workers.
#[wasm_bindgen]
pub fn start_page(new_worker: js_sys::Function) {
    tell_panics();
    app::start(new_worker);
}

/// Starts a worker: from here on it answers the page's messages.
#[wasm_bindgen]
pub fn start_worker() {
    tell_panics();
    worker::start();
}

/// A panic is a bug; its message goes to the console, where whoever reports it can read it.
fn tell_panics() {
    std::panic::set_hook(Box::new(|panic| web_sys::console::error_1(&panic.to_string().into())));
}
