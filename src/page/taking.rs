//! Takes what the user drops, chooses or asks for, and makes a run or settings of it.

use super::app::{self, Handle};
use super::files::{self, Drop, Dropped, Offered, Source};
use super::showing::{show_message, show_phase};
use super::{dom, run_file, saving, typed_tables};
use crate::control::Word;
use crate::demo;
use crate::pipeline::{Conductor, Settings};
use crate::run::Offer;
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::spawn_local;
use web_sys::{DragEvent, Element, HtmlInputElement};

/// Listens for drops, for the folder input, and for the buttons beside it.
pub fn listen(app: &Handle) {
    let document = dom::document();
    for event in ["dragenter", "dragover"] {
        dom::on(&document, event, |event| {
            // Without this the browser would open the file in the page's place.
            event.prevent_default();
            dom::by_id::<Element>("drop").set_class_name("over");
        });
    }
    dom::on(&document, "dragleave", |_| dom::by_id::<Element>("drop").set_class_name(""));
    let handle = app.clone();
    dom::on(&document, "drop", move |event| {
        event.prevent_default();
        dom::by_id::<Element>("drop").set_class_name("");
        let Some(transfer) = event.unchecked_ref::<DragEvent>().data_transfer() else { return };
        let (drop, handle) = (Drop::take(&transfer), handle.clone());
        spawn_local(async move {
            let taking = begin_listing(&handle);
            let listed = drop.list(show_listing).await;
            if handle.borrow().takings != taking {
                return;
            }
            match listed {
                Ok(dropped) => take(&handle, taking, dropped).await,
                Err(reason) => end_listing(&handle, &reason),
            }
        });
    });
    let handle = app.clone();
    dom::on_id("folder", "change", move |_| take_chosen(&handle));
    // A folder may have been chosen while the page was starting.
    take_chosen(app);
    let handle = app.clone();
    dom::on_id("run-demo", "click", move |_| start_demo(&handle));
    let handle = app.clone();
    dom::on_id("cancel", "click", move |_| cancel(&handle));
}

/// Takes the folder that was chosen, if one was.
fn take_chosen(app: &Handle) {
    let input: HtmlInputElement = dom::by_id("folder");
    let Some(list) = input.files().filter(|list| list.length() > 0) else { return };
    let mut dropped = files::chosen(&list);
    dropped.folders = dropped.folders.max(1);
    // So that choosing the same folder again is a change again.
    input.set_value("");
    let handle = app.clone();
    spawn_local(async move {
        let taking = begin_listing(&handle);
        dom::next_turn().await;
        take(&handle, taking, dropped).await;
    });
}

fn begin_listing(app: &Handle) -> u64 {
    show_listing(0);
    show_message(None);
    show_phase("reading");
    dom::show("progress", true);
    let mut state = app.borrow_mut();
    state.takings += 1;
    state.takings
}

fn show_listing(found: usize) {
    dom::set_text("progress-text", &format!("Listing the folder: {found} files."));
}

/// Ends a listing that came to nothing: what stood before stands again, with the reason.
fn end_listing(app: &Handle, message: &str) {
    dom::show("progress", false);
    let before = if app.borrow().shown.is_some() { "ready" } else { "empty" };
    show_phase(before);
    show_message(Some(message));
}

/// Takes what was listed: settings files are applied, the rest becomes a run.
async fn take(app: &Handle, taking: u64, dropped: Dropped) {
    let (settings_files, files): (Vec<_>, Vec<_>) =
        dropped.files.into_iter().partition(|offered| is_settings_file(&offered.path));
    let (tables, files) = typed_tables::among(files).await;
    let (mut new_settings, mut message) = read_settings(&settings_files).await;
    let alone = files.is_empty() && dropped.folders == 0;
    if !tables.is_empty() {
        let settings = new_settings.get_or_insert_with(|| settings_before(app, alone));
        let said = tables.enter(settings).join(" ");
        message = Some(message.map_or_else(|| said.clone(), |message| format!("{message} {said}")));
    }
    if let [only] = files.as_slice()
        && run_file::is_run_file(only)
    {
        return match run_file::open(only).await {
            Ok(words) => app::begin_run_file(app, &only.path, words, new_settings.unwrap_or_default()),
            Err(reason) => end_listing(app, &format!("{}: {reason}", only.path)),
        };
    }
    let Some(offers) = offers_of(app, taking, &files).await else { return };
    if alone {
        let message = message.unwrap_or_else(|| "Nothing was dropped that this page can read.".to_owned());
        end_listing(app, &message);
        if let Some(settings) = new_settings {
            apply_settings(app, settings, &message);
        }
        return;
    }
    let waiting = app.borrow_mut().waiting_settings.take();
    let sources = files.into_iter().map(|offered| Source::File(offered.file)).collect();
    // A new folder starts from the defaults: a layout given for another part would silently be wrong here.
    let settings = new_settings.or(waiting).unwrap_or_default();
    app::begin(app, &dropped.name, offers, sources, settings);
    show_message(message.as_deref());
}

/// The settings that tables are entered into: those that stand where tables come alone, else those of a new run.
fn settings_before(app: &Handle, alone: bool) -> Settings {
    let mut state = app.borrow_mut();
    if alone && state.conductor().is_some() {
        return state.settings().clone();
    }
    state.waiting_settings.take().unwrap_or_default()
}

/// Settings that came without a folder: for the run that stands, or for the next one.
fn apply_settings(app: &Handle, settings: Settings, message: &str) {
    if app.borrow().conductor().is_some() {
        return app::change_settings(app, |current| *current = settings);
    }
    app.borrow_mut().waiting_settings = Some(settings);
    show_message(Some(&format!("{message} The next folder takes them.")));
}

/// `settings.json`, and `settings (1).json` as browsers name a second download.
fn is_settings_file(path: &str) -> bool {
    let name = path.rsplit('/').next().unwrap_or(path).to_ascii_lowercase();
    let stem = name.strip_prefix("settings").and_then(|rest| rest.strip_suffix(".json"));
    stem.is_some_and(|between| between.chars().all(|character| " ()0123456789".contains(character)))
}

/// The settings of the first file, and what to tell the user of all of them.
async fn read_settings(found: &[Offered]) -> (Option<Settings>, Option<String>) {
    let Some(first) = found.first() else { return (None, None) };
    let (settings, mut message) = match saving::read_settings(&first.file).await {
        Ok(settings) => (Some(settings), format!("The settings in {} are taken.", first.path)),
        Err(reason) => (None, format!("{}: {reason} The run goes on without it.", first.path)),
    };
    if found.len() > 1 {
        let others: Vec<&str> = found[1..].iter().map(|offered| offered.path.as_str()).collect();
        message = format!("{message} Other settings files were left aside: {}.", others.join(", "));
    }
    (settings, Some(message))
}

/// The files as the run counts them; `None` if the user has begun something else meanwhile.
async fn offers_of(app: &Handle, taking: u64, files: &[Offered]) -> Option<Vec<Offer>> {
    let mut offers = Vec::with_capacity(files.len());
    for offered in files {
        if offers.len() % files::AT_A_TIME == files::AT_A_TIME - 1 {
            dom::next_turn().await;
            if app.borrow().takings != taking {
                return None;
            }
        }
        offers.push(files::offer(offered).await);
    }
    Some(offers)
}

/// Runs the made-up part.
pub fn start_demo(app: &Handle) {
    app.borrow_mut().takings += 1;
    let words = || (0..).map(Word).take(demo::word_count());
    let part = demo::part();
    // Every file has the same digits, so the first tells the size of all.
    let bytes = part.file(Word(0)).len() as u64;
    let offers = words().map(|word| Offer {
        path: part.file_name(word),
        bytes: Some(bytes),
        is_s_parameter_file: true,
        contents: None,
    });
    let sources = words().map(Source::Demo).collect();
    app::begin(app, demo::SOURCE_NAME, offers.collect(), sources, Settings::default());
}

fn cancel(app: &Handle) {
    let was_listing = {
        let mut state = app.borrow_mut();
        state.takings += 1;
        state.conductor().is_none_or(Conductor::is_ready)
    };
    if was_listing {
        return end_listing(app, "Cancelled while the folder was being listed. Nothing of it was kept.");
    }
    let read = app::end_run(app).unwrap_or(0);
    dom::show("progress", false);
    show_phase("empty");
    let files = if read == 1 { "file" } else { "files" };
    let message =
        format!("Cancelled after {read} {files}. Nothing was kept; drop the folder again to start over.");
    show_message(Some(&message));
}
