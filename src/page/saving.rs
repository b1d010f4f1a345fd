//! Files in and out: exports as downloads, settings read back.

use super::app::{self, Handle, Shown};
use super::{dom, downloads, looking, picture, showing};
use crate::export::{self, ChosenAt, Export, ExportRefused, Needs, RunArchive, WhichTable, WordTable};
use crate::pipeline::protocol::{Reply, Request};
use crate::pipeline::{Conductor, Served, Settings};
use js_sys::{Array, Uint8Array};
use num_complex::Complex64;
use std::cell::RefCell;
use std::ops::Range;
use std::rc::Rc;
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::JsFuture;
use web_sys::{Element, File, HtmlElement};

/// The table whose rows may cover a band.
const WORD_TABLE: &str = "word-table.csv";

/// States that are fetched from the workers at a time for the run's file: some megabytes.
const STATES_AT_A_TIME: usize = 64;

/// Makes the export buttons.
pub fn listen(app: &Handle) {
    for export in export::exports() {
        let list = dom::by_id::<Element>(match export.question {
            "sheet" => "sheet-exports",
            "trust" => "trust-exports",
            "plane" => "plane-exports",
            "parts" => "parts-exports",
            "reach" => "reach-exports",
            "use" => "use-exports",
            _ => "word-exports",
        });
        let button = dom::make("button", export.file_name);
        dom::attribute(&button, "type", "button");
        dom::attribute(&button, "data-export", export.file_name);
        if let Some(drawing) = export.file_name.strip_suffix(".png").and_then(drawing_button) {
            // The same plot as lines and as pixels: one entry with one description.
            let _ = drawing.insert_adjacent_element("afterend", &button);
        } else {
            let item = dom::make("li", "");
            dom::append(&item, &button);
            dom::append(&item, &dom::make("small", export.description));
            dom::append(&list, &item);
        }
        let handle = app.clone();
        dom::on(&button, "click", move |_| {
            dom::set_message("export-refusal", None);
            save_when_ready(&handle, export);
        });
    }
}

/// The button that saves a plot as lines, if there is one.
fn drawing_button(stem: &str) -> Option<Element> {
    dom::document().query_selector(&format!("[data-export='{stem}.svg']")).ok().flatten()
}

/// A file tells of the settings as they stand and carries the run's verdict, so it waits until both are worked out, and
/// some for all that is.
fn save_when_ready(app: &Handle, export: &'static Export) {
    let Some(reason) = app.borrow().conductor().and_then(|conductor| waits_for(conductor, export)) else {
        return save(app, export);
    };
    say(&format!("{} waits until {reason}.", export.file_name), false);
    app.borrow_mut().waiting_exports.push(export);
}

/// What a file has to wait for.
fn waits_for(conductor: &Conductor, export: &Export) -> Option<&'static str> {
    if conductor.has_failed() {
        None
    } else if !conductor.stage().is_ready() {
        Some("the answers follow the settings")
    } else if conductor.is_being_checked() {
        Some("the run is checked, since it carries the verdict")
    } else if conductor.is_being_completed() && export.waits_for_all {
        Some("all is worked out, of which it tells")
    } else {
        None
    }
}

/// Makes the files that no longer have to wait.
pub fn save_waiting(app: &Handle) {
    let waiting: Vec<&'static Export> = {
        let mut state = app.borrow_mut();
        let exports = std::mem::take(&mut state.waiting_exports);
        let Some(conductor) = state.conductor() else { return };
        let (waiting, free): (Vec<_>, Vec<_>) =
            exports.into_iter().partition(|export| waits_for(conductor, export).is_some());
        state.waiting_exports = waiting;
        free
    };
    for export in waiting {
        save(app, export);
    }
}

/// Whether settings other than the chosen frequency have changed since a report was made. What is fetched for a file after
/// that would belong to other settings than the file's head tells.
fn is_overtaken(app: &Handle, shown: &Shown) -> bool {
    let state = app.borrow();
    let frequency_hz = state.settings().frequency_hz;
    *state.settings() != Settings { frequency_hz, ..shown.report.settings.clone() }
}

fn save(app: &Handle, export: &'static Export) {
    let name = export.file_name;
    let failure = app.borrow().conductor().filter(|it| it.has_failed()).map(|it| it.failure().to_owned());
    if let Some(failure) = failure {
        return say(&format!("{name} was not made. {failure}"), true);
    }
    // The report may be newer than the last picture.
    showing::refresh_shown(app);
    let Some(shown) = app.borrow().shown.clone() else { return };
    match export.needs() {
        Needs::Reflections => save_with_reflections(app, &shown, name),
        Needs::Picture(plot) => picture::save(app, &shown, name, plot),
        Needs::Run => save_run(app, &shown, name),
        Needs::Nothing
            if name == WORD_TABLE
                && dom::selected("table-rows") == "band"
                && shown.report.analysis.is_ok() =>
        {
            save_band_table(app, shown);
        }
        Needs::Nothing if export.is_table() => {
            let which = match dom::selected("table-rows").as_str() {
                "one-table" => WhichTable::ForBand,
                "fewest-tables" => WhichTable::Fewest,
                _ => WhichTable::AtFrequency,
            };
            finish(name, export::make_table(name, which, &shown.report, &shown.sheet));
        }
        Needs::Nothing => {
            finish(name, export::make_in_view(name, &shown.report, &shown.sheet, &looking::view(app)));
        }
    }
}

fn finish(name: &'static str, made: Result<Vec<u8>, ExportRefused>) {
    match made {
        Ok(bytes) => {
            let parts = Array::of1(&Uint8Array::from(bytes.as_slice()));
            downloads::hand_out(name, media_type(name), &parts);
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

/// Exports report beside the buttons, refusals as an alert, which stands until a file is asked for again: of several that
/// were asked for together another may come later.
pub fn say(text: &str, refused: bool) {
    if refused {
        dom::set_message("export-refusal", Some(text));
    }
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
        let (Some(Reply::Service(service)), Ok(analysis)) = (reply, &shown.report.analysis) else {
            return say_interrupted(WORD_TABLE);
        };
        if is_overtaken(app, &shown) {
            return say_interrupted(WORD_TABLE);
        }
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

/// Values for some of the run's states, asked of every worker that holds their files, in the order of the states.
fn fetch_states<T: Clone + 'static>(
    app: &Handle,
    shown: &Rc<Shown>,
    positions: Range<usize>,
    request: impl Fn(Vec<usize>) -> Request,
    values: fn(Reply) -> Option<Vec<T>>,
    done: impl FnOnce(&Handle, Option<Vec<T>>) + 'static,
) {
    let held = app.borrow().conductor().map(Conductor::states_by_worker).unwrap_or_default();
    let mine = |held: Vec<usize>| -> Vec<usize> {
        held.into_iter().filter(|position| positions.contains(position)).collect()
    };
    let held: Vec<Vec<usize>> = held.into_iter().map(mine).collect();
    let pending = held.iter().filter(|positions| !positions.is_empty()).count();
    let gathered = Rc::new(RefCell::new((vec![None; positions.len()], pending, Some(done))));
    for (worker, mine) in held.into_iter().enumerate().filter(|(_, mine)| !mine.is_empty()) {
        let files = mine.iter().map(|&position| shown.report.intake.states[position].file).collect();
        let (gathered, shown, first) = (gathered.clone(), shown.clone(), positions.start);
        app::ask(app, worker, request(files), move |app, reply| {
            let mut state = gathered.borrow_mut();
            for (position, value) in mine.iter().zip(reply.and_then(values).unwrap_or_default()) {
                state.0[position - first] = Some(value);
            }
            state.1 -= 1;
            if state.1 == 0
                && let Some(done) = state.2.take()
            {
                // A state without a value: its worker died, or holds another run by now.
                let all: Option<Vec<T>> = state.0.drain(..).collect();
                drop(state);
                done(app, all.filter(|_| !is_overtaken(app, &shown)));
            }
        });
    }
    if pending == 0
        && let Some(done) = gathered.borrow_mut().2.take()
    {
        done(app, None);
    }
}

fn save_with_reflections(app: &Handle, shown: &Rc<Shown>, name: &'static str) {
    let Ok(analysis) = &shown.report.analysis else { return };
    let index = analysis.service.index;
    let states = 0..shown.report.intake.states.len();
    let values = |reply| match reply {
        Reply::Reflections(values) => Some(values),
        _ => None,
    };
    let report_of = shown.clone();
    fetch_states(
        app,
        shown,
        states,
        move |files| Request::Reflections { files, index },
        values,
        move |_, found| match found {
            Some(found) => {
                let (report, sheet) = (&report_of.report, &report_of.sheet);
                finish(name, export::make_with_reflections(name, report, sheet, &found));
            }
            None => say_interrupted(name),
        },
    );
}

/// The run's file, fetched and written some states at a time; its parts are handed to the browser as they come.
fn save_run(app: &Handle, shown: &Rc<Shown>, name: &'static str) {
    match RunArchive::new(&shown.report) {
        Ok(archive) => fetch_run(app, shown, name, 0, archive, Array::new()),
        Err(refused) => finish(name, Err(refused)),
    }
}

fn fetch_run(
    app: &Handle,
    shown: &Rc<Shown>,
    name: &'static str,
    start: usize,
    mut archive: RunArchive,
    parts: Array,
) {
    let all = shown.report.intake.states.len();
    let end = (start + STATES_AT_A_TIME).min(all);
    let values = |reply| match reply {
        Reply::Parameters(values) => Some(values),
        _ => None,
    };
    let next = shown.clone();
    fetch_states(
        app,
        shown,
        start..end,
        |files| Request::Parameters { files },
        values,
        move |app, found| {
            let Some(found) = found else { return say_interrupted(name) };
            for state in &found {
                match archive.push(state) {
                    Ok(bytes) => parts.push(&Uint8Array::from(bytes.as_slice())),
                    Err(refused) => return finish(name, Err(refused)),
                };
            }
            if end < all {
                say(&format!("{name}: {end} of {all} words."), false);
                return fetch_run(app, &next, name, end, archive, parts);
            }
            match archive.finish() {
                Ok(ends) => {
                    parts.unshift(&Uint8Array::from(ends.head.as_slice()));
                    parts.push(&Uint8Array::from(ends.tail.as_slice()));
                    downloads::hand_out(name, media_type(name), &parts);
                }
                Err(refused) => finish(name, Err(refused)),
            }
        },
    );
}

/// Something that the file needs did not come.
pub fn say_interrupted(name: &str) {
    let reason = "the run or its settings changed meanwhile, or a worker stopped";
    say(&format!("{name} was not made: {reason}. Try again when the answers are there."), true);
}

/// Enables the buttons once there is something to save.
pub fn show(app: &Handle, shown: &Shown) {
    let view = looking::view(app);
    for export in export::exports() {
        let selector = format!("[data-export='{}']", export.file_name);
        if let Ok(Some(button)) = dom::document().query_selector(&selector) {
            // What the run has not is not offered, once it is known; the description goes with it.
            let waits = app.borrow().conductor().and_then(|conductor| waits_for(conductor, export)).is_some();
            let is_known = shown.report.analysis.is_ok() && !waits;
            let is_there = !is_known || export.missing(&shown.report, &view).is_none();
            button.unchecked_ref::<HtmlElement>().set_hidden(!is_there);
            if let Some(item) = button.closest("li").ok().flatten() {
                item.unchecked_ref::<HtmlElement>().set_hidden(!is_there);
            }
            let available = shown.report.analysis.is_ok() || !export.needs_analysis;
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
