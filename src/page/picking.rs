//! One state picked out in the plane, and the part of the plane that is seen.
//!
//! A press on a state picks it; so does its word, typed. It is marked wherever states are drawn one by one, its trace is drawn
//! over the others, and a sentence says what it does.

use super::app::{self, App, Handle};
use super::dom::{self, by_id};
use super::view_plane::{self, Basis};
use super::{canvas, showing, terms};
use crate::chart::{PlaneGeometry, PlaneWindow};
use crate::export::traces::Trace;
use crate::pipeline::protocol::{Reply, Request};
use crate::pipeline::{Analysis, Conductor, Report};
use crate::sheet::wording::clipped;
use crate::sheet::{picked, state_name, word_meant, word_typed};
use num_complex::Complex64;
use std::cell::{Cell, RefCell};
use std::rc::Rc;
use std::sync::Arc;
use wasm_bindgen::JsCast;
use wasm_bindgen::prelude::Closure;
use web_sys::{Element, PointerEvent, WheelEvent};

/// A state is picked within so many page pixels of the pointer.
const REACH_PX: f64 = 14.0;

/// A pointer that moves no farther than this while it is down presses and does not drag, in page pixels.
const STILL_PX: f64 = 4.0;

/// What a press on a button magnifies by.
const STEP: f64 = 1.6;

/// Half of the side of the smallest and the largest part of the plane that is shown.
const NEAREST: f64 = 1e-4;
const FARTHEST: f64 = 100.0;

/// What is picked out in the plane, and how much of it is seen.
#[derive(Default)]
pub struct Picking {
    /// The state, as its position among the run's.
    pub state: Option<usize>,
    /// The state under the pointer, as its position among the run's.
    pub pointed: Option<usize>,
    /// Where the pointer is over the plane, in the canvas's own pixels.
    pointer: Option<(f64, f64)>,
    /// The plane is about to be drawn with another state under the pointer.
    point_waiting: bool,
    /// The part of the plane that is seen; `None`: all of it.
    pub window: Option<PlaneWindow>,
    /// The plane as it was last drawn.
    pub geometry: Option<PlaneGeometry>,
    asked: Option<AskedTrace>,
}

/// A trace that workers were asked for; `None` until it has come.
struct AskedTrace {
    state: usize,
    basis: Basis,
    trace: Option<Rc<Trace>>,
}

/// Where a drag began: on the canvas, with this part of the plane seen.
#[derive(Clone, Copy)]
struct Drag {
    from_px: (f64, f64),
    window: PlaneWindow,
    has_moved: bool,
}

/// Listens for the pointer, the wheel, the buttons and the word.
pub fn listen(app: &Handle) {
    listen_for_pointer(app);
    let handle = app.clone();
    dom::on_id("plane-canvas", "wheel", move |event| {
        let wheel: &WheelEvent = event.unchecked_ref();
        // Without the key the page scrolls, as everywhere; two fingers that spread come with it.
        if wheel.ctrl_key() {
            event.prevent_default();
            magnify(&handle, (-wheel.delta_y() / 300.0).exp(), Some(canvas::position("plane-canvas", wheel)));
        }
    });
    for (id, factor) in [("plane-nearer", STEP), ("plane-farther", 1.0 / STEP)] {
        let handle = app.clone();
        dom::on_id(id, "click", move |_| magnify(&handle, factor, None));
    }
    let handle = app.clone();
    dom::on_id("plane-whole", "click", move |_| see(&handle, None));
    let handle = app.clone();
    dom::on_id("plane-word", "input", move |_| {
        let state = shown(&handle).and_then(|shown| {
            let intake = &shown.report.intake;
            let word = word_meant(intake, &dom::input_value("plane-word"))?;
            intake.states.iter().position(|state| state.word == word)
        });
        pick(&handle, state);
    });
}

fn listen_for_pointer(app: &Handle) {
    let drag: Rc<Cell<Option<Drag>>> = Rc::default();
    let (handle, begun) = (app.clone(), drag.clone());
    dom::on_id("plane-canvas", "pointerdown", move |event| {
        let event: &PointerEvent = event.unchecked_ref();
        if let Some(window) = window(&handle).filter(|_| event.button() == 0) {
            begun.set(Some(Drag {
                from_px: canvas::position("plane-canvas", event),
                window,
                has_moved: false,
            }));
        }
    });
    let (handle, moved) = (app.clone(), drag.clone());
    dom::on_id("plane-canvas", "pointermove", move |event| {
        let event: &PointerEvent = event.unchecked_ref();
        let (Some(drag), Some(geometry)) = (moved.get(), handle.borrow().picking.geometry) else {
            // A finger hides what is under it.
            if event.pointer_type() != "touch" {
                handle.borrow_mut().picking.pointer = Some(canvas::position("plane-canvas", event));
                point_anew(&handle);
            }
            return;
        };
        // Released where the page was not told of it.
        if event.buttons() & 1 == 0 {
            moved.set(None);
            return;
        }
        let at = canvas::position("plane-canvas", event);
        let away = (at.0 - drag.from_px.0, at.1 - drag.from_px.1);
        // A finger that moves scrolls the page.
        let drags = event.pointer_type() == "mouse";
        if !drags || !drag.has_moved && away.0.hypot(away.1) <= STILL_PX * dom::window().device_pixel_ratio()
        {
            return;
        }
        let _ = by_id::<Element>("plane-canvas").set_pointer_capture(event.pointer_id());
        moved.set(Some(Drag { has_moved: true, ..drag }));
        let by = Complex64::new(away.0, -away.1) / geometry.unit_px;
        see(&handle, Some(PlaneWindow { centre: drag.window.centre - by, ..drag.window }));
    });
    let (handle, ended) = (app.clone(), drag.clone());
    dom::on_id("plane-canvas", "pointerup", move |event| {
        let event: &PointerEvent = event.unchecked_ref();
        if ended.take().is_some_and(|drag| !drag.has_moved) {
            let state = state_under(&handle, canvas::position("plane-canvas", event));
            pick(&handle, state);
        }
    });
    let handle = app.clone();
    dom::on_id("plane-canvas", "pointerleave", move |_| {
        handle.borrow_mut().picking.pointer = None;
        point_anew(&handle);
    });
    dom::on_id("plane-canvas", "pointercancel", move |_| drag.set(None));
}

fn shown(app: &Handle) -> Option<Rc<app::Shown>> {
    app.borrow().shown.clone()
}

/// The report that is drawn in the plane: while the frequency moves it is ahead of the one shown.
fn drawn(app: &Handle) -> Option<Arc<Report>> {
    app.borrow().conductor().and_then(Conductor::shared_report)
}

/// The state nearest to a point of the canvas, if one is near.
fn state_under(app: &Handle, at: (f64, f64)) -> Option<usize> {
    let state = app.borrow();
    let geometry = state.picking.geometry?;
    // The one that is drawn.
    let report = state.conductor()?.report()?;
    let service = &report.analysis.as_ref().ok()?.service;
    let away = |transmission: &Complex64| {
        let place = geometry.to_px(transmission / service.reference);
        // What lies beyond the part of the plane that is seen is not drawn.
        if !geometry.area.contains(place) {
            return f64::INFINITY;
        }
        (place.0 - at.0).hypot(place.1 - at.1)
    };
    let reach = REACH_PX * dom::window().device_pixel_ratio().max(1.0);
    let near = service.transmission.iter().map(away).enumerate().filter(|(_, px)| *px <= reach);
    near.min_by(|a, b| a.1.total_cmp(&b.1)).map(|(state, _)| state)
}

/// Picks a state out, or none.
pub fn pick(app: &Handle, state: Option<usize>) {
    app.borrow_mut().picking.state = state;
    let typed = state.zip(shown(app)).and_then(|(state, shown)| {
        let intake = &shown.report.intake;
        Some(word_typed(intake, intake.states.get(state)?.word))
    });
    dom::set_input("plane-word", &typed.unwrap_or_default());
    showing::show_picked(app);
}

/// Marks the state that is under the pointer now, with the next picture: the pointer has moved, or the states have.
pub fn point_anew(app: &Handle) {
    let pointer = app.borrow().picking.pointer;
    let state = pointer.and_then(|at| state_under(app, at));
    {
        let picking = &mut app.borrow_mut().picking;
        if picking.pointed == state {
            return;
        }
        picking.pointed = state;
        if std::mem::replace(&mut picking.point_waiting, true) {
            return;
        }
    }
    let handle = app.clone();
    let draw = Closure::once_into_js(move || {
        handle.borrow_mut().picking.point_waiting = false;
        if let Some(report) = drawn(&handle) {
            view_plane::draw_here(&handle, &report);
        }
    });
    dom::before_picture(draw.unchecked_ref());
}

/// The part of the plane that is seen.
fn window(app: &Handle) -> Option<PlaneWindow> {
    let state = app.borrow();
    let geometry = state.picking.geometry?;
    let half_side = geometry.area.width().min(geometry.area.height()) / 2.0 / geometry.unit_px;
    Some(PlaneWindow { centre: geometry.centre, half_side })
}

/// Magnifies about a point of the canvas, which stays where it is. Where none is given, the state picked out comes to the
/// middle, or else the middle stays.
fn magnify(app: &Handle, factor: f64, about: Option<(f64, f64)>) {
    let (Some(window), Some(geometry)) = (window(app), app.borrow().picking.geometry) else { return };
    let half_side = (window.half_side / factor).clamp(NEAREST, FARTHEST.max(window.half_side));
    let centre = match about.map(|at| geometry.at(at)) {
        Some(fixed) => fixed + (window.centre - fixed) * (half_side / window.half_side),
        None => place_of_picked(app).unwrap_or(window.centre),
    };
    see(app, Some(PlaneWindow { centre, half_side }));
}

/// Where the state picked out lies.
fn place_of_picked(app: &Handle) -> Option<Complex64> {
    let state = app.borrow().picking.state?;
    let shown = shown(app)?;
    let service = &shown.report.analysis.as_ref().ok()?.service;
    Some(service.transmission.get(state)? / service.reference).filter(|place| place.is_finite())
}

/// Shows another part of the plane.
fn see(app: &Handle, window: Option<PlaneWindow>) {
    app.borrow_mut().picking.window = window;
    if let Some(report) = drawn(app) {
        view_plane::draw_here(app, &report);
    }
    show_buttons(app);
    point_anew(app);
}

fn show_buttons(app: &Handle) {
    let whole: web_sys::HtmlButtonElement = by_id("plane-whole");
    whole.set_disabled(app.borrow().picking.window.is_none());
}

/// Says what the picked state does, and asks for its trace where it is not known.
pub fn show(app: &Handle, report: &Report) {
    show_buttons(app);
    tell(app, report);
    let (Ok(analysis), Some(state)) = (&report.analysis, app.borrow().picking.state) else { return };
    let basis = Basis::of(report, analysis);
    let is_asked = |asked: &AskedTrace| asked.state == state && asked.basis == basis;
    if app.borrow().picking.asked.as_ref().is_some_and(is_asked) {
        return;
    }
    let Some(word) = report.intake.states.get(state).map(|state| state.word) else { return };
    let name = state_name(&report.intake, word);
    app.borrow_mut().picking.asked = Some(AskedTrace { state, basis: basis.clone(), trace: None });
    fetch(app, state, move |app, relative| {
        {
            let mut app = app.borrow_mut();
            let slot = &mut app.picking.asked;
            let Some(asked) = slot.as_mut().filter(|asked| asked.state == state && asked.basis == basis)
            else {
                return;
            };
            match relative {
                Some(relative) => asked.trace = Some(Rc::new(Trace::new(name, &relative))),
                // The workers hold something newer by now: the next report asks again.
                None => *slot = None,
            }
        }
        showing::show_picked(app);
    });
}

/// Says what the picked state does.
pub fn tell(app: &Handle, report: &Report) {
    let state = app.borrow().picking.state;
    let said = report.analysis.as_ref().ok().zip(state);
    let sentence = said.and_then(|(analysis, state)| picked::sentence(report, analysis, state));
    let typed = dom::input_value("plane-word");
    let sentence = sentence.unwrap_or_else(|| match typed.trim() {
        typed if state.is_none() && !typed.is_empty() => no_such_state(report, typed),
        _ => "Press a state, or give its word, to see what it does.".to_owned(),
    });
    terms::say("plane-picked", &sentence);
}

fn no_such_state(report: &Report, typed: &str) -> String {
    let typed = clipped(typed, 20);
    match report.intake.bits {
        0 => format!("No state is named {typed}."),
        _ => format!("The run has no word {typed}."),
    }
}

/// The picked state's trace in a report, where it is known.
pub fn trace(app: &Handle, report: &Report, analysis: &Analysis) -> Option<Rc<Trace>> {
    trace_in(&app.borrow(), report, analysis)
}

/// The picked state's trace in the report that is drawn, where it is known.
pub fn known_trace(app: &App) -> Option<Rc<Trace>> {
    let report = app.conductor()?.report()?;
    trace_in(app, report, report.analysis.as_ref().ok()?)
}

fn trace_in(app: &App, report: &Report, analysis: &Analysis) -> Option<Rc<Trace>> {
    let asked = app.picking.asked.as_ref()?;
    let stands = Some(asked.state) == app.picking.state && asked.basis == Basis::of(report, analysis);
    asked.trace.clone().filter(|_| stands)
}

/// Asks every worker for its part of a state's trace; `None` where one does not come.
fn fetch(app: &Handle, state: usize, done: impl FnOnce(&Handle, Option<Vec<Complex64>>) + 'static) {
    let owners: Vec<usize> = app::worker_ranges(app)
        .iter()
        .enumerate()
        .filter(|(_, range)| !range.is_empty())
        .map(|(worker, _)| worker)
        .collect();
    let parts: Rc<RefCell<Vec<Option<Vec<Complex64>>>>> = Rc::new(RefCell::new(vec![None; owners.len()]));
    let done = Rc::new(RefCell::new(Some(done)));
    for (place, worker) in owners.into_iter().enumerate() {
        let (parts, done) = (parts.clone(), done.clone());
        app::ask(app, worker, Request::Trace { state }, move |app, reply| {
            let whole = match reply {
                Some(Reply::Trace(part)) => {
                    parts.borrow_mut()[place] = Some(part);
                    let all: Option<Vec<Vec<Complex64>>> = parts.borrow().iter().cloned().collect();
                    match all {
                        Some(all) => Some(all.concat()),
                        None => return,
                    }
                }
                _ => None,
            };
            let done = done.borrow_mut().take();
            if let Some(done) = done {
                done(app, whole);
            }
        });
    }
}
