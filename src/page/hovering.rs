//! Whose trace the pointer is near in the plots of all traces; a press picks that state out.
//!
//! What all states do at the frequency under the pointer is asked of the worker that holds it, and kept until the pointer
//! moves on to another frequency.

use super::app::{self, Handle};
use super::dom::{self, by_id};
use super::view_plane::Basis;
use super::{picking, terms};
use crate::chart::Plot;
use crate::pipeline::Conductor;
use crate::pipeline::protocol::{Reply, Request, TraceQuantity};
use crate::sheet::picked;
use num_complex::Complex64;
use std::rc::Rc;
use wasm_bindgen::JsCast;
use web_sys::{Element, HtmlCanvasElement, PointerEvent};

/// What is said while the pointer is elsewhere.
const NOTHING: &str = "Point at the traces to see whose is nearest; a press picks its state out.";

/// A trace is named within so many page pixels of the pointer.
const REACH_PX: f64 = 24.0;

/// Where the pointer is among the traces, and what they do there.
#[derive(Default)]
pub struct Hovering {
    /// The geometry of the plots as they were last drawn.
    pub gain: Option<Plot>,
    /// The same of the phases.
    pub phase: Option<Plot>,
    at: Option<At>,
    column: Option<Column>,
}

/// A place in one of the plots, in its canvas's own pixels.
#[derive(Clone, Copy, PartialEq)]
struct At {
    quantity: TraceQuantity,
    px: (f64, f64),
}

/// All states at one frequency; `None` until they have come.
struct Column {
    index: usize,
    basis: Basis,
    relative: Option<Rc<Vec<Complex64>>>,
}

impl Hovering {
    /// Where a plot's geometry is kept.
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
        let handle = app.clone();
        dom::on_id(id, "pointermove", move |event| {
            let at = At { quantity, px: position(id, event.unchecked_ref()) };
            handle.borrow_mut().hovering.at = Some(at);
            say(&handle);
        });
        let handle = app.clone();
        dom::on_id(id, "pointerleave", move |_| {
            handle.borrow_mut().hovering.at = None;
            say(&handle);
        });
        let handle = app.clone();
        dom::on_id(id, "pointerup", move |event| {
            let at = At { quantity, px: position(id, event.unchecked_ref()) };
            handle.borrow_mut().hovering.at = Some(at);
            if let Some((state, _)) = nearest(&handle) {
                picking::pick(&handle, Some(state));
            }
        });
    }
}

/// Where the pointer is on a canvas, in its own pixels.
fn position(id: &str, event: &PointerEvent) -> (f64, f64) {
    let canvas: HtmlCanvasElement = by_id(id);
    let bounds = canvas.unchecked_ref::<Element>().get_bounding_client_rect();
    let across = (f64::from(event.client_x()) - bounds.left()) / bounds.width();
    let down = (f64::from(event.client_y()) - bounds.top()) / bounds.height();
    (across * f64::from(canvas.width()), down * f64::from(canvas.height()))
}

/// Says whose trace is nearest, and asks for what the traces do there where it is not known.
fn say(app: &Handle) {
    let text = nearest(app).map_or_else(|| NOTHING.to_owned(), |(_, sentence)| sentence);
    terms::say("trace-pointed", &text);
}

/// The state whose trace is nearest to the pointer, with what is said of it; `None` where none is near, or it is not known yet.
fn nearest(app: &Handle) -> Option<(usize, String)> {
    let (at, plot, report) = {
        let mut state = app.borrow_mut();
        let at = state.hovering.at?;
        let plot = (*state.hovering.plot(at.quantity))?;
        let report = state.conductor().filter(|conductor| conductor.is_ready()).and_then(Conductor::report);
        (at, plot, report.cloned()?)
    };
    let analysis = report.analysis.as_ref().ok()?;
    if !plot.area.contains(at.px) {
        return None;
    }
    let hz = plot.frequency_at(at.px.0);
    let away = |one: &(usize, &f64)| (one.1 - hz).abs();
    let (index, _) =
        report.intake.frequency_hz.iter().enumerate().min_by(|a, b| away(a).total_cmp(&away(b)))?;
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
        return None;
    };
    let reach = REACH_PX * dom::window().device_pixel_ratio().max(1.0);
    let within = (plot.value_at(at.px.1 - reach) - plot.value_at(at.px.1)).abs();
    let value = plot.value_at(at.px.1);
    picked::near_trace(&report, analysis, at.quantity, index, &relative?, value, within)
}

/// Asks for all states at a frequency.
fn ask(app: &Handle, index: usize, basis: Basis, reference: Complex64) {
    app.borrow_mut().hovering.column = Some(Column { index, basis: basis.clone(), relative: None });
    app::ask_owner(app, index, Request::StatesAt { index }, move |app, reply| {
        {
            let hovering = &mut app.borrow_mut().hovering;
            let asked =
                hovering.column.as_mut().filter(|column| column.index == index && column.basis == basis);
            match (asked, reply) {
                (Some(column), Some(Reply::States(states))) => {
                    let relative = states.iter().map(|state| state / reference).collect();
                    column.relative = Some(Rc::new(relative));
                }
                // The pointer has moved on.
                (None, _) => return,
                (Some(_), _) => {
                    hovering.column = None;
                    return;
                }
            }
        }
        say(app);
    });
}
