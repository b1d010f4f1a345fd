//! The frequency strip: shows the share within tolerance along the axis, chooses the frequency and the design band.

use super::app::{self, Handle};
use super::{canvas, dom, numbers};
use crate::chart::Frame;
use crate::export::{numbers as drawn, plots};
use crate::pipeline::{Analysis, Report, nearest};
use crate::sheet::parts::broken_sentence;
use crate::sheet::wording::{frequency, percent};
use std::cell::Cell;
use std::rc::Rc;
use wasm_bindgen::JsCast;
use wasm_bindgen::prelude::Closure;
use web_sys::{Element, HtmlCanvasElement, HtmlElement, HtmlInputElement, KeyboardEvent, PointerEvent};

/// Grid points that a page key moves by.
const PAGE: usize = 10;

/// How much larger than a chart of its height the strip is written.
const TEXT_ENLARGED: f64 = 1.25;

/// The strip's frame on a pad. The strip is low, and charts write small on low frames; it stays in view, so it is
/// written larger.
pub fn frame(frame: Frame) -> Frame {
    Frame { scale: frame.scale * TEXT_ENLARGED, ..frame }
}

/// One end of the design band.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum End {
    Low,
    High,
}

impl End {
    /// Its grip in the markup.
    fn grip(self) -> &'static str {
        match self {
            Self::Low => "band-low-grip",
            Self::High => "band-high-grip",
        }
    }
}

/// What the pointer drags.
#[derive(Clone, Copy, PartialEq)]
enum Dragging {
    Nothing,
    Frequency,
    /// The design band from where the pointer went down; without a drag there is none.
    Band {
        from_hz: f64,
    },
    /// One end of the design band; the other stays.
    End {
        other_hz: f64,
    },
}

/// Folds the table that hangs over the page with Escape, as what hangs over a page is.
fn listen_for_escape() {
    dom::on_id("strip-numbers", "keydown", |event| {
        let table: Element = dom::by_id("strip-numbers");
        if event.unchecked_ref::<KeyboardEvent>().key() == "Escape" && table.has_attribute("open") {
            let _ = table.remove_attribute("open");
            dom::by_id::<HtmlElement>("strip-numbers-summary").focus().ok();
        }
    });
}

/// Listens for the pointer, the keyboard and typed frequencies.
pub fn listen(app: &Handle) {
    listen_for_escape();
    listen_for_pointer(app);
    listen_for_keys(app);
    let handle = app.clone();
    dom::on_id("frequency", "change", move |_| {
        if let Ok(ghz) = dom::input_value("frequency").parse::<f64>()
            && ghz.is_finite()
            && ghz > 0.0
        {
            type_frequency(&handle, ghz * 1e9);
        }
    });
}

/// Moves to the measured frequency nearest to the one typed, and says so where that is another.
fn type_frequency(app: &Handle, typed_hz: f64) {
    let shown = app.borrow().shown.clone();
    let grid = shown.as_ref().map_or(&[][..], |shown| &shown.report.intake.frequency_hz);
    if grid.is_empty() {
        return move_to(app, typed_hz);
    }
    let nearest_hz = grid[nearest(grid, typed_hz)];
    move_to(app, nearest_hz);
    dom::by_id::<HtmlInputElement>("frequency").set_value(&format!("{}", nearest_hz / 1e9));
    if frequency(nearest_hz) != frequency(typed_hz) {
        dom::set_text("frequency-nearest", &format!("Nearest measured to {}.", frequency(typed_hz)));
        dom::attribute(&dom::by_id("frequency-nearest"), OF, &nearest_hz.to_string());
    }
}

/// Which frequency it is that is told to be the nearest, in hertz.
const OF: &str = "data-of";

/// Takes back what was told of a typed frequency once another is chosen, by whatever means.
fn forget_typed(chosen_hz: f64) {
    let told: Element = dom::by_id("frequency-nearest");
    if told.get_attribute(OF).is_some_and(|of| of != chosen_hz.to_string()) {
        dom::set_text("frequency-nearest", "");
    }
}

fn listen_for_pointer(app: &Handle) {
    let dragging = Rc::new(Cell::new(Dragging::Nothing));
    let (handle, drag) = (app.clone(), dragging.clone());
    dom::on_id("strip-canvas", "pointerdown", move |event| {
        let event: &PointerEvent = event.unchecked_ref();
        let Some(hz) = frequency_under(&handle, event) else { return };
        let _ = dom::by_id::<Element>("strip-canvas").set_pointer_capture(event.pointer_id());
        let wants_band = event.shift_key() || is_over_band_lane(&handle, event);
        drag.set(if wants_band { Dragging::Band { from_hz: hz } } else { Dragging::Frequency });
        drag_to(&handle, drag.get(), hz);
    });
    for end in [End::Low, End::High] {
        let (handle, drag) = (app.clone(), dragging.clone());
        dom::on_id(end.grip(), "pointerdown", move |event| {
            let event: &PointerEvent = event.unchecked_ref();
            let Some((low_hz, high_hz)) = design_band(&handle) else { return };
            let _ = dom::by_id::<Element>(end.grip()).set_pointer_capture(event.pointer_id());
            drag.set(Dragging::End { other_hz: if end == End::Low { high_hz } else { low_hz } });
        });
    }
    for id in ["strip-canvas", End::Low.grip(), End::High.grip()] {
        let (handle, drag) = (app.clone(), dragging.clone());
        dom::on_id(id, "pointermove", move |event| {
            let event: &PointerEvent = event.unchecked_ref();
            let over = if is_over_band_lane(&handle, event) { "band" } else { "frequency" };
            dom::attribute(&dom::by_id("strip-canvas"), "data-over", over);
            if let Some(hz) = frequency_under(&handle, event) {
                drag_to(&handle, drag.get(), hz);
            }
        });
        for end in ["pointerup", "pointercancel"] {
            let drag = dragging.clone();
            dom::on_id(id, end, move |_| drag.set(Dragging::Nothing));
        }
    }
}

fn listen_for_keys(app: &Handle) {
    let handle = app.clone();
    on_key("strip-canvas", move |key| step(&handle, key));
    for end in [End::Low, End::High] {
        let handle = app.clone();
        on_key(end.grip(), move |key| step_end(&handle, end, key));
    }
}

/// Listens for keys; those that mean something do nothing else.
fn on_key(id: &str, mut take: impl FnMut(&str) -> bool + 'static) {
    dom::on_id(id, "keydown", move |event| {
        if take(&event.unchecked_ref::<KeyboardEvent>().key()) {
            event.prevent_default();
        }
    });
}

fn drag_to(app: &Handle, dragging: Dragging, hz: f64) {
    match dragging {
        Dragging::Nothing => {}
        Dragging::Frequency => move_to(app, hz),
        Dragging::Band { from_hz } if from_hz == hz => {}
        Dragging::Band { from_hz: other_hz } | Dragging::End { other_hz } => set_band(app, other_hz, hz),
    }
}

fn move_to(app: &Handle, hz: f64) {
    forget_typed(hz);
    app::change_settings(app, |settings| settings.frequency_hz = Some(hz));
    point_soon(app);
}

fn set_band(app: &Handle, one_hz: f64, other_hz: f64) {
    let band = (one_hz.min(other_hz), one_hz.max(other_hz));
    app::change_settings(app, |settings| settings.design_band_hz = Some(band));
}

/// The measured frequency nearest to the pointer.
fn frequency_under(app: &Handle, event: &PointerEvent) -> Option<f64> {
    let plot = app.borrow().strip_plot?;
    let wanted_hz = plot.frequency_at(canvas::position("strip-canvas", event).0);
    let shown = app.borrow().shown.clone()?;
    let grid = &shown.report.intake.frequency_hz;
    let distance = |hz: &f64| (hz - wanted_hz).abs();
    grid.iter().copied().min_by(|a, b| distance(a).total_cmp(&distance(b)))
}

/// Whether the pointer is above the strip, where the design band is drawn.
fn is_over_band_lane(app: &Handle, event: &PointerEvent) -> bool {
    let plot = app.borrow().strip_plot;
    plot.is_some_and(|plot| canvas::position("strip-canvas", event).1 < plot.area.top)
}

/// The grid index at which a frequency stands, or would be put in.
fn index_of(grid: &[f64], hz: f64) -> usize {
    grid.partition_point(|&other| other < hz * (1.0 - 1e-12)).min(grid.len() - 1)
}

/// Where a key leads from a grid index; `None` if it means nothing here.
fn moved(key: &str, here: usize, first: usize, last: usize) -> Option<usize> {
    let index = match key {
        "ArrowLeft" | "ArrowDown" => here.saturating_sub(1),
        "ArrowRight" | "ArrowUp" => here + 1,
        "PageDown" => here.saturating_sub(PAGE),
        "PageUp" => here + PAGE,
        "Home" => first,
        "End" => last,
        _ => return None,
    };
    Some(index.clamp(first, last))
}

/// Moves the chosen frequency by a key; false if the key means nothing here.
fn step(app: &Handle, key: &str) -> bool {
    let shown = app.borrow().shown.clone();
    let Some(shown) = shown else { return false };
    let Ok(analysis) = &shown.report.analysis else { return false };
    let grid = &shown.report.intake.frequency_hz;
    // The settings may be ahead of the report while it is being made.
    let current_hz = app.borrow().settings().frequency_hz.unwrap_or(grid[analysis.service.index]);
    let Some(index) = moved(key, index_of(grid, current_hz), 0, grid.len() - 1) else { return false };
    move_to(app, grid[index]);
    true
}

/// Moves one end of the design band by a key, up to the other end.
fn step_end(app: &Handle, end: End, key: &str) -> bool {
    let shown = app.borrow().shown.clone();
    let (Some(shown), Some((low_hz, high_hz))) = (shown, design_band(app)) else { return false };
    let grid = &shown.report.intake.frequency_hz;
    let (low, high) = (index_of(grid, low_hz), index_of(grid, high_hz));
    let index = match end {
        End::Low => moved(key, low, 0, high),
        End::High => moved(key, high, low, grid.len() - 1),
    };
    let Some(index) = index else { return false };
    set_band(app, grid[index], if end == End::Low { high_hz } else { low_hz });
    true
}

/// The ends of the design band, which the settings may be ahead of the report in.
fn design_band(app: &Handle) -> Option<(f64, f64)> {
    let shown = app.borrow().shown.clone()?;
    let analysis = shown.report.analysis.as_ref().ok()?;
    let wanted = app.borrow().settings().design_band_hz;
    Some(wanted.unwrap_or_else(|| band_in_use(&shown.report.intake.frequency_hz, analysis)))
}

fn band_in_use(grid: &[f64], analysis: &Analysis) -> (f64, f64) {
    (grid[*analysis.design_band.start()], grid[*analysis.design_band.end()])
}

/// Draws the strip and tells its values.
pub fn show(app: &Handle, report: &Report) {
    dom::show("strip", report.analysis.is_ok());
    let Ok(analysis) = &report.analysis else { return };
    draw(app, report, analysis.service.index);
    tell(app, report);
    numbers::show("strip", "what the frequency strip shows", || drawn::strip(report, analysis));
}

/// Points at a frequency that is being moved to with the next picture, whether or not it is known by then what the states
/// do there.
fn point_soon(app: &Handle) {
    if std::mem::replace(&mut app.borrow_mut().point_waiting, true) {
        return;
    }
    let handle = app.clone();
    let draw = Closure::once_into_js(move || {
        handle.borrow_mut().point_waiting = false;
        let (shown, wanted_hz) = {
            let state = handle.borrow();
            (state.shown.clone(), state.settings().frequency_hz)
        };
        if let (Some(shown), Some(wanted_hz)) = (shown, wanted_hz) {
            draw(&handle, &shown.report, nearest(&shown.report.intake.frequency_hz, wanted_hz));
        }
    });
    dom::before_picture(draw.unchecked_ref());
}

fn draw(app: &Handle, report: &Report, chosen: usize) {
    let Ok(analysis) = &report.analysis else { return };
    let plot = canvas::draw("strip-canvas", |pad| {
        plots::strip(&mut pad.surface, frame(pad.frame), pad.theme, report, analysis, chosen)
    });
    app.borrow_mut().strip_plot = plot;
}

/// Tells the strip's values.
pub fn tell(app: &Handle, report: &Report) {
    let Ok(analysis) = &report.analysis else { return };
    let grid = &report.intake.frequency_hz;
    let chosen_hz = grid[analysis.service.index];
    let share = analysis.frequencies[analysis.service.index].chosen.within_both_pct;
    let said = format!("{}, {} of the settings within tolerance", frequency(chosen_hz), percent(share));
    tell_value("strip-canvas", (grid[0], chosen_hz, grid[grid.len() - 1]), &said);
    let wanted_hz = app.borrow().settings().frequency_hz;
    forget_typed(wanted_hz.unwrap_or(chosen_hz));
    show_grips(app, grid, analysis);
    dom::set_input("frequency", &format!("{}", chosen_hz / 1e9));
    let broken = broken_sentence(report).map_or_else(String::new, |broken| format!(" {broken}"));
    dom::set_text(
        "strip-caption",
        &format!(
            "{said}, with chosen words.{broken} Drag to choose the frequency; drag along the bar above for a new design \
             band, or drag its ends."
        ),
    );
}

/// Puts the grips on the ends of the design band.
fn show_grips(app: &Handle, grid: &[f64], analysis: &Analysis) {
    let canvas: HtmlCanvasElement = dom::by_id("strip-canvas");
    let (width, height) = (f64::from(canvas.width()), f64::from(canvas.height()));
    let (low_hz, high_hz) = band_in_use(grid, analysis);
    let (first_hz, last_hz) = (grid[0], grid[grid.len() - 1]);
    for (end, values) in [(End::Low, (first_hz, low_hz, high_hz)), (End::High, (low_hz, high_hz, last_hz))] {
        tell_value(end.grip(), values, &frequency(values.1));
        if let Some(plot) = app.borrow().strip_plot {
            let frame = frame(Frame::canvas(
                canvas.width(),
                canvas.height(),
                dom::window().device_pixel_ratio().max(1.0),
            ));
            let top = plot.band_lane_top(frame);
            let style = dom::by_id::<HtmlElement>(end.grip()).style();
            for (property, part) in [
                ("left", plot.x_of(values.1) / width),
                ("top", top / height),
                ("height", (plot.area.top - top) / height),
            ] {
                let _ = style.set_property(property, &format!("{:.3}%", 100.0 * part));
            }
        }
    }
}

/// What a slider stands at, between what.
fn tell_value(id: &str, (least_hz, now_hz, most_hz): (f64, f64, f64), said: &str) {
    let slider: Element = dom::by_id(id);
    for (name, hz) in [("aria-valuemin", least_hz), ("aria-valuenow", now_hz), ("aria-valuemax", most_hz)] {
        dom::attribute(&slider, name, &format!("{}", hz / 1e9));
    }
    dom::attribute(&slider, "aria-valuetext", said);
}
