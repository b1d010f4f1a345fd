//! The run on the page: moves messages between the conductor and the carriers, and shows what comes of it.

use super::carrier::{Carrier, Delivery};
use super::dom;
use super::files::Source;
use super::picking::Picking;
use super::run_file::WordOffer;
use super::view_use::Told;
use super::{
    forms, hovering, looking, numbers, picking, preferences, printing, resting, saving, showing, strip,
    taking, terms, times, undoing, view_plane, view_sheet, view_trust,
};
use crate::control::{Word, naming};
use crate::export::Export;
use crate::pipeline::protocol::{Reply, Request};
use crate::pipeline::{Conductor, History, Report, Settings};
use crate::run::Offer;
use crate::sheet::Sheet;
use crate::sheet::changed::what_changed;
use js_sys::Function;
use std::cell::RefCell;
use std::collections::HashMap;
use std::rc::Rc;
use std::sync::Arc;

/// A handle on the page's state, for event handlers.
pub type Handle = Rc<RefCell<App>>;

/// Hears the reply to a request that the page itself made; `None` where none can come any more, because the worker died
/// or the run ended.
type Listener = Box<dyn FnOnce(&Handle, Option<Reply>)>;

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
    /// Settings that were dropped before any folder: the next run takes them.
    pub waiting_settings: Option<Settings>,
    /// Counts what the user began, so that a listing that was overtaken or cancelled goes no further.
    pub takings: u64,
    sources: Vec<Source>,
    settings: Settings,
    queries: HashMap<u64, (usize, Listener)>,
    next_query: u64,
    /// Counts the runs begun, so that late deliveries of an earlier one are told apart.
    run: u64,
    /// When the run began.
    pub started_ms: f64,
    /// Counts the changes of settings, so that only the last one is waited for.
    pub changes: u64,
    /// Settings have changed and not come to rest.
    pub is_moving: bool,
    /// What question 7 was last told of.
    pub signal_told: Option<Told>,
    /// A picture has been asked for and not drawn yet.
    pub render_waiting: bool,
    /// The strip is about to point at the frequency that was moved to.
    pub point_waiting: bool,
    /// When the progress was last drawn, on the clock of [`dom::now_ms`].
    pub progress_shown_ms: f64,
    /// The changes of settings of this run that can be taken back.
    pub history: History,
    /// Files that were asked for before the run was checked.
    pub waiting_exports: Vec<&'static Export>,
    /// The run whose files' times were asked for last.
    times_of_run: u64,
    /// The latest report with its answers.
    pub shown: Option<Rc<Shown>>,
    /// Geometry of the strip as it was last drawn.
    pub strip_plot: Option<crate::chart::Plot>,
    /// What is picked out in the plane, and how much of it is seen.
    pub picking: Picking,
    /// Where the pointer is among the traces of all states.
    pub hovering: hovering::Hovering,
    /// What the plots need beside the report.
    pub pictures: view_plane::Pictures,
}

/// A report and its sheet, as the views read them.
pub struct Shown {
    /// The conductor's count of changes of the report.
    pub revision: u64,
    /// The report.
    pub report: Arc<Report>,
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
        waiting_settings: None,
        takings: 0,
        sources: Vec::new(),
        settings: Settings::default(),
        queries: HashMap::new(),
        next_query: FIRST_QUERY,
        run: 0,
        started_ms: 0.0,
        changes: 0,
        is_moving: false,
        signal_told: None,
        render_waiting: false,
        point_waiting: false,
        progress_shown_ms: 0.0,
        history: History::default(),
        waiting_exports: Vec::new(),
        times_of_run: 0,
        shown: None,
        strip_plot: None,
        picking: Picking::default(),
        hovering: hovering::Hovering::default(),
        pictures: view_plane::Pictures::default(),
    }));
    view_sheet::show_fixed_texts();
    view_trust::show_fixed();
    taking::listen(&app);
    forms::listen(&app);
    looking::listen(&app);
    preferences::listen();
    picking::listen(&app);
    hovering::listen(&app);
    strip::listen(&app);
    saving::listen(&app);
    printing::listen(&app);
    numbers::listen(&app);
    undoing::listen(&app);
    terms::listen();
    listen_for_looks(&app);
    if dom::window().location().hash().is_ok_and(|hash| hash == "#demo") {
        taking::start_demo(&app);
    }
}

/// Plots are drawn in the screen's own pixels and colours: anew when either changes.
fn listen_for_looks(app: &Handle) {
    let handle = app.clone();
    dom::on(&dom::window(), "resize", move |_| showing::render_soon(&handle));
    let handle = app.clone();
    // Plots far from what is seen are left undrawn; when scrolling ends, some may have come near.
    dom::on(&dom::document(), "scrollend", move |_| showing::render_soon(&handle));
    if let Ok(Some(query)) = dom::window().match_media("(prefers-color-scheme: dark)") {
        let handle = app.clone();
        dom::on(&query, "change", move |_| showing::render_soon(&handle));
    }
}

/// Begins a run, ending any that is under way.
pub fn begin(app: &Handle, name: &str, offers: Vec<Offer>, sources: Vec<Source>, settings: Settings) {
    let mut paired: Vec<(Offer, Source)> = offers.into_iter().zip(sources).collect();
    paired.sort_by(|a, b| naming::natural_order(&a.0.path, &b.0.path));
    let (offers, sources): (Vec<Offer>, Vec<Source>) = paired.into_iter().unzip();
    start_run(app, sources, settings, |settings, workers| Conductor::new(name, offers, settings, workers));
}

/// Begins a run whose words come from one file.
pub fn begin_run_file(app: &Handle, name: &str, mut words: Vec<WordOffer>, settings: Settings) {
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
    let unanswered = {
        let mut state = app.borrow_mut();
        state.run += 1;
        state.shown = None;
        state.history = History::default();
        state.waiting_exports.clear();
        state.pictures = view_plane::Pictures::default();
        state.picking = Picking::default();
        state.hovering = hovering::Hovering::default();
        state.sources = sources;
        state.settings = settings.clone();
        state.carriers.clear();
        state.started_ms = dom::now_ms();
        std::mem::take(&mut state.queries)
    };
    forms::forget_edits();
    undoing::show(app);
    hovering::say(app);
    dom::set_input("plane-word", "");
    dom::set_text("frequency-nearest", "");
    give_up(app, unanswered);
    let workers = start_carriers(app);
    app.borrow_mut().conductor = Some(conductor(settings, workers));
    showing::show_message(None);
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
        Some((_, listener)) => {
            listener(app, Some(reply));
            pump(app);
        }
        None => accept_for_conductor(app, id, reply),
    }
}

/// Hands a reply to the conductor. While a report is being completed most replies leave it as it is: then only how far
/// that is is shown, and not all of the page anew.
fn accept_for_conductor(app: &Handle, id: u64, reply: Reply) {
    let (is_as_it_was, has_moved) = {
        let mut state = app.borrow_mut();
        let Some(conductor) = &mut state.conductor else { return };
        let (was_ready, revision) = (conductor.is_ready(), conductor.revision());
        conductor.accept(id, reply);
        let is_same = conductor.revision() == revision;
        (was_ready && conductor.is_ready() && is_same, conductor.follows_frequency() && !is_same)
    };
    if has_moved {
        showing::show_moved(app);
        // The workers share the processors with the page: they go on when the picture is on the screen.
        let handle = app.clone();
        dom::after_picture(move || pump(&handle));
    } else if is_as_it_was {
        hand_out(app);
        showing::show_completing(app);
    } else {
        pump(app);
    }
}

/// A worker that died is replaced, and its files are read again.
fn replace_worker(app: &Handle, worker: usize) {
    let carrier = make_carrier(app, worker);
    let unanswered = {
        let mut state = app.borrow_mut();
        let unanswered = state.queries.extract_if(|_, (at, _)| *at == worker).collect();
        state.pictures = view_plane::Pictures::default();
        state.carriers[worker] = carrier;
        state.in_flight[worker] = 0;
        if let Some(conductor) = &mut state.conductor {
            conductor.worker_died(worker);
        }
        unanswered
    };
    give_up(app, unanswered);
    pump(app);
}

/// Tells those who wait for replies that none will come.
fn give_up(app: &Handle, unanswered: HashMap<u64, (usize, Listener)>) {
    for (_, listener) in unanswered.into_values() {
        listener(app, None);
    }
}

/// Hands out whatever the conductor has for workers with room, and shows how things stand.
pub fn pump(app: &Handle) {
    hand_out(app);
    showing::render_soon(app);
}

/// Hands out whatever the conductor has for workers with room.
fn hand_out(app: &Handle) {
    {
        let mut state = app.borrow_mut();
        let App { conductor, carriers, in_flight, sources, .. } = &mut *state;
        let Some(conductor) = conductor else { return };
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
                carrier.send(assignment.id, assignment.request, wanted);
            }
        }
    }
    ask_for_times(app);
}

/// The checks wait to be told when the files were last changed.
fn ask_for_times(app: &Handle) {
    {
        let mut state = app.borrow_mut();
        let wanted = state.conductor.as_ref().is_some_and(Conductor::wants_times);
        if !wanted || state.times_of_run == state.run {
            return;
        }
        state.times_of_run = state.run;
    }
    times::tell(app);
}

/// Takes what the browser says of when the files of a run were last changed.
pub fn give_times(app: &Handle, run: u64, modified_s: Vec<Option<f64>>) {
    {
        let mut state = app.borrow_mut();
        if state.run != run {
            return;
        }
        if let Some(conductor) = &mut state.conductor {
            conductor.give_times(modified_s);
        }
    }
    pump(app);
}

/// Asks a worker something beside the conductor's work; the reply goes to `listener`.
pub fn ask(
    app: &Handle,
    worker: usize,
    request: Request,
    listener: impl FnOnce(&Handle, Option<Reply>) + 'static,
) {
    let mut state = app.borrow_mut();
    let id = state.next_query;
    state.next_query += 1;
    state.queries.insert(id, (worker, Box::new(listener)));
    if let Some(count) = state.in_flight.get_mut(worker) {
        *count += 1;
    }
    if let Some(carrier) = state.carriers.get(worker) {
        carrier.send(id, request, Vec::new());
    }
}

/// Asks the worker that owns a frequency.
pub fn ask_owner(
    app: &Handle,
    index: usize,
    request: Request,
    listener: impl FnOnce(&Handle, Option<Reply>) + 'static,
) {
    let owner = app.borrow().conductor.as_ref().and_then(|conductor| conductor.owner_of(index));
    match owner {
        Some(worker) => ask(app, worker, request, listener),
        None => listener(app, None),
    }
}

/// The frequency indices that each worker owns.
pub fn worker_ranges(app: &Handle) -> Vec<std::ops::Range<usize>> {
    app.borrow().conductor.as_ref().map(|conductor| conductor.ranges().to_vec()).unwrap_or_default()
}

/// Changes the settings and redoes what depends on them.
pub fn change_settings(app: &Handle, change: impl FnOnce(&mut Settings)) {
    change_settings_saying(app, None, change);
}

/// The same, with words of its own for what is changed.
pub fn change_settings_saying(app: &Handle, what: Option<&str>, change: impl FnOnce(&mut Settings)) {
    let (settings, is_noted) = {
        let mut state = app.borrow_mut();
        let before = state.settings.clone();
        let mut settings = before.clone();
        change(&mut settings);
        let changed = what_changed(&before, &settings).filter(|_| state.conductor.is_some());
        if let Some(changed) = &changed {
            state.history.note(&before, what.unwrap_or(changed), dom::now_ms());
        }
        (settings, changed.is_some())
    };
    go_to_settings(app, settings);
    if is_noted {
        undoing::show(app);
    }
}

/// Takes settings, and starts what has to be redone.
pub fn go_to_settings(app: &Handle, settings: Settings) {
    let only_looks_elsewhere = {
        let mut state = app.borrow_mut();
        let before = std::mem::replace(&mut state.settings, settings.clone());
        let only_looks_elsewhere = settings.frequency_hz != before.frequency_hz
            && settings == Settings { frequency_hz: settings.frequency_hz, ..before };
        if let Some(conductor) = &mut state.conductor {
            conductor.set_settings(settings);
        }
        only_looks_elsewhere
    };
    // What was refused under other settings may be granted now.
    dom::set_message("export-refusal", None);
    // The forms hold no frequency, and the eye follows where it moves.
    if !only_looks_elsewhere {
        forms::show_settings(app);
    }
    resting::await_rest(app);
    pump(app);
}

impl App {
    /// The settings as they stand.
    pub fn settings(&self) -> &Settings {
        &self.settings
    }

    /// The number of the present run.
    pub fn run(&self) -> u64 {
        self.run
    }

    /// Where the bytes of its files come from.
    pub fn sources(&self) -> &[Source] {
        &self.sources
    }

    /// The same, to be told something.
    pub fn conductor_mut(&mut self) -> Option<&mut Conductor> {
        self.conductor.as_mut()
    }

    /// The conductor of the present run.
    pub fn conductor(&self) -> Option<&Conductor> {
        self.conductor.as_ref()
    }
}

/// Ends the run under way, if one is; tells how many files it had read.
pub fn end_run(app: &Handle) -> Option<usize> {
    let (ended, unanswered) = {
        let mut state = app.borrow_mut();
        state.run += 1;
        state.carriers.clear();
        state.in_flight.clear();
        (state.conductor.take(), std::mem::take(&mut state.queries))
    };
    give_up(app, unanswered);
    ended.map(|conductor| conductor.progress().files.0)
}
