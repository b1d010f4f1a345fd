//! The run on the page: moves messages between the conductor and the carriers, and shows what comes of it.

use super::carrier::{Carrier, Delivery};
use super::dom;
use super::files::{self, Drop, Dropped, Source};
use super::run_file::{self, WordOffer};
use super::{forms, printing, saving, strip, view_came_in, view_plane, view_sheet, view_words};
use crate::control::{Word, naming};
use crate::demo;
use crate::pipeline::protocol::{Reply, Request};
use crate::pipeline::{Conductor, Report, Settings, Stage};
use crate::run::Offer;
use crate::sheet::{Sheet, ToolFacts};
use js_sys::Function;
use std::cell::RefCell;
use std::collections::HashMap;
use std::rc::Rc;
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::spawn_local;
use web_sys::{DragEvent, HtmlInputElement};

/// A handle on the page's state, for event handlers.
pub type Handle = Rc<RefCell<App>>;

/// Hears the reply to a request that the page itself made.
type Listener = Box<dyn FnOnce(&Handle, Reply)>;

/// Requests of the page itself are numbered from here, far above the conductor's.
const FIRST_QUERY: u64 = 1 << 48;

/// Requests under way at a worker: one being worked on, one waiting.
const REQUESTS_AT_A_WORKER: usize = 2;

/// The page's state.
pub struct App {
    new_worker: Function,
    carriers: Vec<Carrier>,
    in_flight: Vec<usize>,
    conductor: Option<Conductor>,
    sources: Vec<Source>,
    settings: Settings,
    queries: HashMap<u64, (usize, Listener)>,
    next_query: u64,
    /// Counts the runs begun, so that late deliveries of an earlier one are told apart.
    run: u64,
    started_ms: f64,
    render_waiting: bool,
    /// The latest report with its answers.
    pub shown: Option<Rc<Shown>>,
    /// Geometry of the strip as it was last drawn.
    pub strip_plot: Option<crate::chart::Plot>,
    /// What the plots need beside the report.
    pub pictures: view_plane::Pictures,
}

/// A report and its sheet, as the views read them.
pub struct Shown {
    /// The report.
    pub report: Report,
    /// The answers.
    pub sheet: Sheet,
}

/// Starts the page.
pub fn start(new_worker: Function) {
    let app: Handle = Rc::new(RefCell::new(App {
        new_worker,
        carriers: Vec::new(),
        in_flight: Vec::new(),
        conductor: None,
        sources: Vec::new(),
        settings: Settings::default(),
        queries: HashMap::new(),
        next_query: FIRST_QUERY,
        run: 0,
        started_ms: 0.0,
        render_waiting: false,
        shown: None,
        strip_plot: None,
        pictures: view_plane::Pictures::default(),
    }));
    view_sheet::show_fixed_texts();
    listen_for_files(&app);
    forms::listen(&app);
    strip::listen(&app);
    saving::listen(&app);
    printing::listen(&app);
    if dom::window().location().hash().is_ok_and(|hash| hash == "#demo") {
        start_demo(&app);
    }
}

fn listen_for_files(app: &Handle) {
    let document = dom::document();
    for event in ["dragenter", "dragover"] {
        dom::on(&document, event, |event| {
            // Without this the browser would open the file in the page's place.
            event.prevent_default();
            dom::by_id::<web_sys::Element>("drop").set_class_name("over");
        });
    }
    dom::on(&document, "dragleave", |_| dom::by_id::<web_sys::Element>("drop").set_class_name(""));
    let handle = app.clone();
    dom::on(&document, "drop", move |event| {
        event.prevent_default();
        dom::by_id::<web_sys::Element>("drop").set_class_name("");
        let Some(transfer) = event.unchecked_ref::<DragEvent>().data_transfer() else { return };
        let (drop, handle) = (Drop::take(&transfer), handle.clone());
        spawn_local(async move {
            let listing =
                |found: usize| dom::set_text("progress-text", &format!("Listing the folder: {found} files."));
            show_phase("reading");
            dom::show("progress", true);
            match drop.list(listing).await {
                Ok(dropped) => take_files(&handle, dropped).await,
                Err(reason) => show_failure(&reason),
            }
        });
    });
    let handle = app.clone();
    dom::on_id("folder", "change", move |event| {
        let Some(input) = event.target().and_then(|target| target.dyn_into::<HtmlInputElement>().ok()) else {
            return;
        };
        let Some(list) = input.files() else { return };
        let mut dropped = files::chosen(&list);
        dropped.folders = dropped.folders.max(1);
        // So that choosing the same folder again is a change again.
        input.set_value("");
        let handle = handle.clone();
        spawn_local(async move { take_files(&handle, dropped).await });
    });
    let handle = app.clone();
    dom::on_id("demo", "click", move |_| start_demo(&handle));
    let handle = app.clone();
    dom::on_id("cancel", "click", move |_| cancel(&handle));
}

/// Takes what was dropped: settings files are applied, the rest becomes a run.
async fn take_files(app: &Handle, dropped: Dropped) {
    let (settings_files, files): (Vec<_>, Vec<_>) = dropped
        .files
        .into_iter()
        .partition(|offered| offered.path.rsplit('/').next() == Some("settings.json"));
    let mut new_settings = None;
    if let Some(offered) = settings_files.first() {
        match saving::read_settings(&offered.file).await {
            Ok(settings) => new_settings = Some(settings),
            Err(reason) => return show_failure(&format!("{}: {reason}", offered.path)),
        }
    }
    if files.is_empty() && dropped.folders == 0 {
        match new_settings {
            Some(settings) => return change_settings(app, |current| *current = settings),
            None => return show_failure("Nothing was dropped that this page can read."),
        }
    }
    if let [only] = files.as_slice()
        && run_file::is_run_file(only)
    {
        return match run_file::open(only).await {
            Ok(words) => begin_run_file(app, &only.path, words, new_settings.unwrap_or_default()),
            Err(reason) => show_failure(&format!("{}: {reason}", only.path)),
        };
    }
    let offers = files.iter().map(|offered| Offer {
        path: offered.path.clone(),
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a size is a whole number"
        )]
        bytes: offered.file.size() as u64,
        is_s_parameter_file: naming::is_s_parameter_name(&offered.path).is_some(),
    });
    let offers: Vec<Offer> = offers.collect();
    let sources = files.into_iter().map(|offered| Source::File(offered.file)).collect();
    // A new folder starts from the defaults: a layout given for another part would silently be wrong here.
    begin(app, &dropped.name, offers, sources, new_settings.unwrap_or_default());
}

fn start_demo(app: &Handle) {
    let words = || (0..).map(Word).take(demo::word_count());
    let part = demo::part();
    // Every file has the same digits, so the first tells the size of all.
    let bytes = part.file(Word(0)).len() as u64;
    let offers = words().map(|word| Offer { path: part.file_name(word), bytes, is_s_parameter_file: true });
    begin(app, demo::SOURCE_NAME, offers.collect(), words().map(Source::Demo).collect(), Settings::default());
}

/// Begins a run, ending any that is under way.
fn begin(app: &Handle, name: &str, offers: Vec<Offer>, sources: Vec<Source>, settings: Settings) {
    let mut paired: Vec<(Offer, Source)> = offers.into_iter().zip(sources).collect();
    paired.sort_by(|a, b| naming::natural_order(&a.0.path, &b.0.path));
    let (offers, sources): (Vec<Offer>, Vec<Source>) = paired.into_iter().unzip();
    start_run(app, sources, settings, |settings, workers| Conductor::new(name, offers, settings, workers));
}

/// Begins a run whose words come from one file.
fn begin_run_file(app: &Handle, name: &str, mut words: Vec<WordOffer>, settings: Settings) {
    words.sort_by(|a, b| naming::natural_order(&a.0.path, &b.0.path));
    let (offers, sources): (Vec<(Offer, Word)>, Vec<Source>) =
        words.into_iter().map(|(offer, word, source)| ((offer, word), source)).unzip();
    let said = format!("The words are those that “{name}” gives.");
    start_run(app, sources, settings, |settings, workers| {
        Conductor::with_words(name, offers, &said, settings, workers)
    });
}

fn start_run(
    app: &Handle,
    sources: Vec<Source>,
    settings: Settings,
    conductor: impl FnOnce(Settings, usize) -> Conductor,
) {
    {
        let mut state = app.borrow_mut();
        state.run += 1;
        state.shown = None;
        state.pictures = view_plane::Pictures::default();
        state.sources = sources;
        state.settings = settings.clone();
        state.queries.clear();
        state.carriers.clear();
        state.started_ms = dom::now_ms();
    }
    let workers = start_carriers(app);
    app.borrow_mut().conductor = Some(conductor(settings, workers));
    show_message(None);
    forms::show_settings(app);
    pump(app);
}

/// Starts as many workers as there are processors, up to four; one stand-in on the page where they are refused.
fn start_carriers(app: &Handle) -> usize {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to 1 … 4")]
    let wanted = dom::window().navigator().hardware_concurrency().clamp(1.0, 4.0) as usize;
    for worker in 0..wanted {
        let carrier = make_carrier(app, worker);
        let refused = matches!(carrier, Carrier::Page(..));
        app.borrow_mut().carriers.push(carrier);
        if refused {
            break;
        }
    }
    let mut state = app.borrow_mut();
    let workers = state.carriers.len();
    state.in_flight = vec![0; workers];
    workers
}

fn make_carrier(app: &Handle, worker: usize) -> Carrier {
    let (run, new_worker) = {
        let state = app.borrow();
        (state.run, state.new_worker.clone())
    };
    let handle = app.clone();
    let deliver = move |delivery| {
        if handle.borrow().run != run {
            return;
        }
        match delivery {
            Delivery::Reply(id, reply) => accept(&handle, worker, id, reply),
            Delivery::Died => replace_worker(&handle, worker),
        }
    };
    Carrier::new(&new_worker, Rc::new(deliver))
}

fn accept(app: &Handle, worker: usize, id: u64, reply: Reply) {
    {
        let mut state = app.borrow_mut();
        if let Some(count) = state.in_flight.get_mut(worker) {
            *count = count.saturating_sub(1);
        }
    }
    let listener = app.borrow_mut().queries.remove(&id);
    match listener {
        Some((_, listener)) => listener(app, reply),
        None => {
            if let Some(conductor) = &mut app.borrow_mut().conductor {
                conductor.accept(id, reply);
            }
        }
    }
    pump(app);
}

/// A worker that died is replaced, and its files are read again.
fn replace_worker(app: &Handle, worker: usize) {
    let carrier = make_carrier(app, worker);
    {
        let mut state = app.borrow_mut();
        state.queries.retain(|_, (at, _)| *at != worker);
        state.pictures = view_plane::Pictures::default();
        state.carriers[worker] = carrier;
        state.in_flight[worker] = 0;
        if let Some(conductor) = &mut state.conductor {
            conductor.worker_died(worker);
        }
    }
    pump(app);
}

/// Hands out whatever the conductor has for workers with room, and shows how things stand.
pub fn pump(app: &Handle) {
    let failure = {
        let mut state = app.borrow_mut();
        let App { conductor, carriers, in_flight, sources, .. } = &mut *state;
        let Some(conductor) = conductor else { return };
        let mut failure = None;
        for (worker, carrier) in carriers.iter().enumerate() {
            while in_flight[worker] < REQUESTS_AT_A_WORKER {
                let Some(assignment) = conductor.next(worker) else { break };
                let wanted = match &assignment.request {
                    Request::Read(tickets) => {
                        tickets.iter().map(|ticket| sources[ticket.file].clone()).collect()
                    }
                    _ => Vec::new(),
                };
                in_flight[worker] += 1;
                failure = failure.or(carrier.send(assignment.id, assignment.request, wanted).err());
            }
        }
        failure
    };
    if let Some(reason) = failure {
        show_failure(&reason);
    }
    render_soon(app);
}

/// Asks a worker something beside the conductor's work; the reply goes to `listener`.
pub fn ask(app: &Handle, worker: usize, request: Request, listener: impl FnOnce(&Handle, Reply) + 'static) {
    let mut state = app.borrow_mut();
    let id = state.next_query;
    state.next_query += 1;
    state.queries.insert(id, (worker, Box::new(listener)));
    if let Some(count) = state.in_flight.get_mut(worker) {
        *count += 1;
    }
    if let Some(carrier) = state.carriers.get(worker) {
        // A request without files can always be posted.
        let _ = carrier.send(id, request, Vec::new());
    }
}

/// Asks the worker that owns a frequency.
pub fn ask_owner(
    app: &Handle,
    index: usize,
    request: Request,
    listener: impl FnOnce(&Handle, Reply) + 'static,
) {
    let owner = app.borrow().conductor.as_ref().and_then(|conductor| conductor.owner_of(index));
    if let Some(worker) = owner {
        ask(app, worker, request, listener);
    }
}

/// The frequency indices that each worker owns.
pub fn worker_ranges(app: &Handle) -> Vec<std::ops::Range<usize>> {
    app.borrow().conductor.as_ref().map(|conductor| conductor.ranges().to_vec()).unwrap_or_default()
}

/// Changes the settings and redoes what depends on them.
pub fn change_settings(app: &Handle, change: impl FnOnce(&mut Settings)) {
    {
        let mut state = app.borrow_mut();
        change(&mut state.settings);
        let settings = state.settings.clone();
        if let Some(conductor) = &mut state.conductor {
            conductor.set_settings(settings);
        }
    }
    forms::show_settings(app);
    pump(app);
}

impl App {
    /// The settings as they stand.
    pub fn settings(&self) -> &Settings {
        &self.settings
    }

    /// The conductor of the present run.
    pub fn conductor(&self) -> Option<&Conductor> {
        self.conductor.as_ref()
    }
}

fn cancel(app: &Handle) {
    let intake = {
        let mut state = app.borrow_mut();
        state.run += 1;
        state.carriers.clear();
        state.in_flight.clear();
        state.queries.clear();
        state.conductor.take().map(|conductor| conductor.progress())
    };
    let read = intake.map_or(0, |progress| progress.files.0);
    dom::show("progress", false);
    show_phase("empty");
    let files = if read == 1 { "file" } else { "files" };
    show_message(Some(&format!(
        "Cancelled after {read} {files}. Nothing was kept; drop the folder again to start over."
    )));
}

/// Shows the state of things with the next picture, once however often it is asked for.
pub fn render_soon(app: &Handle) {
    if std::mem::replace(&mut app.borrow_mut().render_waiting, true) {
        return;
    }
    let handle = app.clone();
    let render = Closure::once_into_js(move || {
        handle.borrow_mut().render_waiting = false;
        render(&handle);
    });
    // A hidden page gets no animation frames; a timer reaches it too.
    let function = render.unchecked_ref();
    if dom::document().hidden() {
        let _ = dom::window().set_timeout_with_callback_and_timeout_and_arguments_0(function, 50);
    } else {
        let _ = dom::window().request_animation_frame(function);
    }
}

fn render(app: &Handle) {
    let (stage, progress, started_ms, failure) = {
        let state = app.borrow();
        let Some(conductor) = &state.conductor else { return };
        (conductor.stage(), conductor.progress(), state.started_ms, conductor.failure().to_owned())
    };
    match stage {
        Stage::Failed => show_failure(&failure),
        Stage::Ready => {
            dom::show("progress", false);
            refresh_shown(app);
            let shown = app.borrow().shown.clone();
            if let Some(shown) = shown {
                show_report(app, &shown);
            }
            show_phase("ready");
        }
        stage => {
            show_phase(if stage == Stage::Reading { "reading" } else { "computing" });
            let busy_with_a_change = app.borrow().shown.is_some();
            dom::show("progress", !busy_with_a_change);
            view_came_in::show_progress(&progress, dom::now_ms() - started_ms);
            if !busy_with_a_change {
                view_came_in::show_reading(app);
            }
        }
    }
}

/// Makes the sheet of the conductor's latest report.
fn refresh_shown(app: &Handle) {
    let mut state = app.borrow_mut();
    let Some(report) = state.conductor.as_ref().and_then(Conductor::report).cloned() else { return };
    let sheet = Sheet::of(&report, &tool_facts());
    state.shown = Some(Rc::new(Shown { report, sheet }));
}

/// What the sheet says of the tool itself; the date is the user's.
pub fn tool_facts() -> ToolFacts {
    let now = js_sys::Date::new_0();
    let date = format!("{:04}-{:02}-{:02}", now.get_full_year(), now.get_month() + 1, now.get_date());
    ToolFacts::on(&date)
}

fn show_report(app: &Handle, shown: &Rc<Shown>) {
    view_came_in::show(shown);
    view_plane::show(app, shown);
    view_words::show(shown);
    forms::show_in_use(shown);
    view_sheet::show(app, shown);
    strip::show(app, shown);
    saving::show(app, shown);
}

/// Tells scripts and screen readers which phase the page is in.
fn show_phase(phase: &str) {
    let main: web_sys::Element = dom::by_id("questions");
    if main.get_attribute("data-phase").as_deref() == Some(phase) {
        return;
    }
    dom::attribute(&main, "data-phase", phase);
    let said = match phase {
        "reading" => "Reading files.",
        "computing" => "Computing.",
        "ready" => "The answers are ready.",
        _ => "",
    };
    dom::set_text("status", said);
}

/// Shows why the work cannot go on.
pub fn show_failure(reason: &str) {
    dom::show("progress", false);
    show_phase("failed");
    show_message(Some(reason));
}

/// Shows or removes the message under the drop area.
pub fn show_message(text: Option<&str>) {
    dom::set_message("message", text);
}
