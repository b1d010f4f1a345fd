//! Whose trace the pointer is near in the plots of all traces; a press picks that state out.
//!
//! What all states do at the frequency under the pointer is asked of the worker that holds it, and kept until the pointer
//! moves on to another frequency.

use super::app::{self, Handle};
use super::dom;
use super::view_plane::Basis;
use super::{canvas, picking, terms};
use crate::chart::Plot;
use crate::pipeline::protocol::{Reply, Request, TraceQuantity};
use crate::pipeline::{Conductor, nearest};
use crate::sheet::picked;
use num_complex::Complex64;
use std::rc::Rc;
use wasm_bindgen::JsCast;
use web_sys::PointerEvent;

/// What is said while the pointer is elsewhere.
const NOTHING: &str = "Point at the traces to see whose is nearest; a press picks its state out.";

/// A pointer that moves no farther than this while it is down presses, in page pixels.
const STILL_PX: f64 = 4.0;

/// A trace is named within so many page pixels of the pointer.
const REACH_PX: f64 = 24.0;

/// Where the pointer is among the traces, and what they do there.
#[derive(Default)]
pub struct Hovering {
    gain: Option<Plot>,
    phase: Option<Plot>,
    at: Option<At>,
    /// Where the pointer went down.
    down: Option<At>,
    /// A press whose state is not known yet.
    press: Option<At>,
    column: Option<Column>,
    /// A worker has been asked and has not answered.
    is_asking: bool,
}

/// A place in one of the plots, in its canvas's own pixels.
#[derive(Clone, Copy, PartialEq)]
struct At {
    quantity: TraceQuantity,
    px: (f64, f64),
}

/// All states at one frequency.
struct Column {
    index: usize,
    basis: Basis,
    relative: Rc<Vec<Complex64>>,
}

/// What is under the pointer.
enum Under {
    /// A worker has to tell first.
    Unknown,
    /// No trace is near.
    Nothing,
    /// The nearest trace's state, and what is said of it.
    Trace(usize, String),
}

impl Hovering {
    /// Where the geometry of a plot is kept as it was last drawn.
    pub fn plot(&mut self, quantity: TraceQuantity) -> &mut Option<Plot> {
        match quantity {
            TraceQuantity::RelativeGainDb => &mut self.gain,
            TraceQuantity::RelativePhaseDeg => &mut self.phase,
        }
    }
}

/// Listens for the pointer over both plots.
pub fn listen(app: &Handle) {
    dom::set_text("trace-pointed", NOTHING);
    for (id, quantity) in
        [("gain-canvas", TraceQuantity::RelativeGainDb), ("phase-canvas", TraceQuantity::RelativePhaseDeg)]
    {
        let place = move |event: &PointerEvent| At { quantity, px: canvas::position(id, event) };
        let handle = app.clone();
        dom::on_id(id, "pointermove", move |event| {
            handle.borrow_mut().hovering.at = Some(place(event.unchecked_ref()));
            say(&handle);
        });
        let handle = app.clone();
        dom::on_id(id, "pointerdown", move |event| {
            let event: &PointerEvent = event.unchecked_ref();
            handle.borrow_mut().hovering.down = Some(place(event)).filter(|_| event.button() == 0);
        });
        let handle = app.clone();
        dom::on_id(id, "pointerup", move |event| {
            let at = place(event.unchecked_ref());
            {
                let hovering = &mut handle.borrow_mut().hovering;
                hovering.press = hovering.down.take().filter(|down| is_still(*down, at)).and(Some(at));
            }
            say(&handle);
        });
        for gone in ["pointerleave", "pointercancel"] {
            let handle = app.clone();
            dom::on_id(id, gone, move |_| {
                {
                    let hovering = &mut handle.borrow_mut().hovering;
                    (hovering.at, hovering.down) = (None, None);
                }
                say(&handle);
            });
        }
    }
}

fn is_still(down: At, up: At) -> bool {
    let still_px = STILL_PX * dom::window().device_pixel_ratio().max(1.0);
    down.quantity == up.quantity && (down.px.0 - up.px.0).hypot(down.px.1 - up.px.1) <= still_px
}

/// Says whose trace is nearest to the pointer, and picks the one that was pressed. Asks what the traces do there where that is
/// not known, and goes on when it is.
pub fn say(app: &Handle) {
    let press = app.borrow().hovering.press;
    if let Some(at) = press {
        match under(app, at) {
            Under::Unknown => {}
            Under::Nothing => app.borrow_mut().hovering.press = None,
            Under::Trace(state, _) => {
                app.borrow_mut().hovering.press = None;
                picking::pick(app, Some(state));
            }
        }
    }
    let at = app.borrow().hovering.at;
    match at.map_or(Under::Nothing, |at| under(app, at)) {
        // What stands is of the place before, as far as anybody sees.
        Under::Unknown => {}
        Under::Nothing => terms::say("trace-pointed", NOTHING),
        Under::Trace(_, sentence) => terms::say("trace-pointed", &sentence),
    }
}

fn under(app: &Handle, at: At) -> Under {
    let (plot, report) = {
        let mut state = app.borrow_mut();
        let plot = *state.hovering.plot(at.quantity);
        let ready = state.conductor().filter(|conductor| conductor.is_ready());
        (plot, ready.and_then(Conductor::shared_report))
    };
    let (Some(plot), Some(report)) = (plot, report) else { return Under::Unknown };
    let Ok(analysis) = &report.analysis else { return Under::Nothing };
    if !plot.area.contains(at.px) {
        return Under::Nothing;
    }
    let index = nearest(&report.intake.frequency_hz, plot.frequency_at(at.px.0));
    let basis = Basis::of(&report, analysis);
    let known = {
        let state = app.borrow();
        let column = state.hovering.column.as_ref();
        column
            .filter(|column| column.index == index && column.basis == basis)
            .map(|column| column.relative.clone())
    };
    let Some(relative) = known else {
        ask(app, index, basis, analysis.frequencies[index].reference);
        return Under::Unknown;
    };
    let reach_px = REACH_PX * dom::window().device_pixel_ratio().max(1.0);
    let value = plot.value_at(at.px.1);
    let within = (plot.value_at(at.px.1 - reach_px) - value).abs();
    let near = picked::near_trace(&report, analysis, at.quantity, index, &relative, value, within);
    near.map_or(Under::Nothing, |(state, sentence)| Under::Trace(state, sentence))
}

/// Asks for all states at a frequency. One question is out at a time: what the pointer passed over meanwhile is asked no more.
fn ask(app: &Handle, index: usize, basis: Basis, reference: Complex64) {
    if std::mem::replace(&mut app.borrow_mut().hovering.is_asking, true) {
        return;
    }
    app::ask_owner(app, index, Request::StatesAt { index }, move |app, reply| {
        {
            let hovering = &mut app.borrow_mut().hovering;
            hovering.is_asking = false;
            // Who died or was interrupted is asked again with the next report.
            let Some(Reply::States(states)) = reply else { return };
            let relative = Rc::new(states.iter().map(|state| state / reference).collect());
            hovering.column = Some(Column { index, basis, relative });
        }
        say(app);
    });
}
