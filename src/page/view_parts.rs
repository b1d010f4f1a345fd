//! Question 3 on the page: what each field does against its limits.

use super::app::{Handle, Shown};
use super::{canvas, dom, looking, numbers, terms};
use crate::export::{FieldInView, numbers as drawn, part_traces, parts};
use crate::pipeline::{Analysis, Parts, Report};
use crate::sheet::captions;
use crate::sheet::parts::{field_name, from_typical};
use crate::sheet::wording::frequency;
use wasm_bindgen::JsCast;
use web_sys::Element;

/// Shows the question.
pub fn show(app: &Handle, shown: &Shown) {
    let report = &shown.report;
    dom::show("parts", report.analysis.is_ok());
    dom::show_answer(shown.sheet.answer("parts"));
    let parts = report.parts.as_deref();
    offer_fields(parts);
    let without_fields = parts.is_some_and(|parts| parts.fields.is_empty());
    dom::show("specification", !without_fields || !report.settings.specification.is_empty());
    let view = looking::view(app);
    let in_view = report.analysis.as_ref().ok().and_then(|analysis| {
        let field = view.field(report, analysis)?;
        Some((analysis, parts?, field))
    });
    dom::show("parts-detail", in_view.is_some());
    if let Some((analysis, parts, field)) = in_view {
        let marked = field.marked.zip(view.word(report));
        let said = marked
            .map(|(code, word)| captions::marked(&report.intake, field.field, field.graded, code, word));
        let not_picked = || "A state that is picked out in the plane is marked in these plots.".to_owned();
        terms::say("parts-marked", &said.unwrap_or_else(not_picked));
        draw_traces(report, analysis, parts, field);
        draw(report, analysis, &field_name(field.field, parts), field);
    }
}

/// The fields to look at, which stay chosen while they are the same.
fn offer_fields(parts: Option<&Parts>) {
    let select: Element = dom::by_id("parts-field");
    let names: Vec<String> = parts
        .map(|parts| parts.fields.iter().map(|field| field_name(field, parts)).collect())
        .unwrap_or_default();
    let options = select.children();
    let offered: Vec<String> =
        (0..options.length()).filter_map(|index| options.item(index)?.text_content()).collect();
    if offered != names {
        dom::list("parts-field", "option", names);
    }
}

/// The field over codes and frequencies at once.
fn draw_traces(report: &Report, analysis: &Analysis, parts: &Parts, in_view: FieldInView) {
    let FieldInView { field, graded, .. } = in_view;
    canvas::draw("traces-canvas", |pad| {
        part_traces::code_traces(&mut pad.surface, pad.frame, pad.theme, report, analysis, in_view)
    });
    let every = part_traces::every_code(graded.slice.codes());
    dom::set_caption("traces", &captions::code_traces(report, parts, field, graded, every));
    canvas::draw("map-canvas", |pad| {
        part_traces::error_map(&mut pad.surface, pad.frame, pad.theme, report, analysis, in_view)
    });
    dom::set_caption("map", &captions::error_map(report, parts, field, graded));
    let name = field_name(field, parts);
    numbers::show("traces", &format!("every trace of the {name}"), || drawn::code_traces(report, graded));
    numbers::show("map", &format!("state errors of the {name} over frequency"), || {
        drawn::error_map(report, graded)
    });
}

fn draw(report: &Report, analysis: &Analysis, name: &str, in_view: FieldInView) {
    let graded = in_view.graded;
    let here = frequency(report.intake.frequency_hz[analysis.service.index]);
    let figure_name = dom::selected("parts-figure");
    canvas::draw("codes-canvas", |pad| {
        parts::state_errors(&mut pad.surface, pad.frame, pad.theme, report, analysis, in_view)
    });
    dom::set_caption("codes", &captions::state_errors(report, analysis, name, graded));
    canvas::draw("cross-canvas", |pad| {
        parts::cross_effects(&mut pad.surface, pad.frame, pad.theme, report, analysis, in_view)
    });
    dom::set_caption("cross", &captions::cross_effects(report, analysis, name, graded));
    let figure = parts::figure_for(&figure_name, graded, report);
    canvas::draw("figure-canvas", |pad| {
        parts::against_frequency(&mut pad.surface, pad.frame, pad.theme, report, analysis, in_view, figure)
    });
    dom::set_caption("figure", &captions::field_figure(report, name, graded, figure));
    draw_difference(report, analysis, name, in_view);
    numbers::show("codes", &format!("state errors of the {name} at {here}"), || {
        drawn::state_errors(report, analysis, graded)
    });
    numbers::show("cross", &format!("what the {name} does to the other quantity at {here}"), || {
        drawn::cross_effects(report, analysis, graded)
    });
    numbers::show("figure", &format!("{} of the {name}", figure.name()), || {
        drawn::figure(report, in_view, &figure_name)
    });
}

/// How far the measurement lies from the typical curve, where the field has one.
fn draw_difference(report: &Report, analysis: &Analysis, name: &str, in_view: FieldInView) {
    let graded = in_view.graded;
    let from_typical = from_typical(report, graded);
    dom::show("difference", from_typical.is_some());
    let Some((figure, _)) = from_typical else { return };
    canvas::draw("difference-canvas", |pad| {
        parts::typical_difference(&mut pad.surface, pad.frame, pad.theme, report, analysis, graded)
    });
    dom::set_caption("difference", &captions::typical_difference(report, name, graded));
    numbers::show("difference", &format!("{} of the {name} beside the typical curve", figure.name()), || {
        drawn::figure(report, in_view, figure.name())
    });
}

/// Names every figure in a select of the markup.
pub fn offer_figures(id: &str) {
    let select: Element = dom::by_id(id);
    for figure in crate::part::Figure::all() {
        let option = dom::make("option", figure.name());
        dom::append(&select, option.unchecked_ref());
    }
}
