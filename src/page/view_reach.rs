//! Question 6 on the page: the usable band, the resolution map and the holes.

use super::app::{Handle, Shown};
use super::dom::{self, by_id};
use super::{canvas, looking, numbers, terms};
use crate::export::{fine_plots, numbers as drawn};
use crate::pipeline::{Analysis, Report};
use crate::sheet::reach::{hole_rows, resolution_rows};
use crate::sheet::wording::{counted, whole};
use crate::sheet::{captions, state_name};
use web_sys::Element;

/// So many holes are listed, the largest first.
const HOLES_SHOWN: usize = 512;

/// Shows the question.
pub fn show(app: &Handle, shown: &Shown) {
    dom::show("reach", shown.report.analysis.is_ok());
    dom::show_answer(shown.sheet.answer("reach"));
    let Ok(analysis) = &shown.report.analysis else { return };
    show_resolution(app, &shown.report, analysis);
    show_holes(&shown.report);
}

fn show_resolution(app: &Handle, report: &Report, analysis: &Analysis) {
    let rows = resolution_rows(report);
    dom::show("resolution-detail", rows.is_some());
    dom::show("resolution-block", rows.is_some());
    let Some((head, rows)) = rows else { return };
    dom::fill_table(&by_id::<Element>("resolution-table"), &head, &rows);
    let view = looking::view(app);
    canvas::draw("resolution-canvas", |pad| {
        fine_plots::resolution(&mut pad.surface, pad.frame, pad.theme, report, &view)
    });
    let picked = view.word(report).zip(view.setting(report, analysis));
    let picked =
        picked.map(|(word, setting)| captions::picked_resolution(&state_name(&report.intake, word), setting));
    let caption = captions::resolution(report, analysis);
    dom::set_caption("resolution", &format!("{caption}{}", picked.unwrap_or_default()));
    dom::show("clean-figure", report.reach.clean_bits.is_some());
    canvas::draw("clean-canvas", |pad| {
        fine_plots::clean_bits(&mut pad.surface, pad.frame, pad.theme, report, analysis)
    });
    dom::set_caption("clean", &captions::clean_bits(report, analysis));
    numbers::show("clean", "clean bits", || drawn::clean_bits(report));
}

fn show_holes(report: &Report) {
    let rows = hole_rows(report);
    dom::show("holes-block", !rows.is_empty());
    terms::label("holes-summary", &counted(rows.len(), "setting in a hole", "settings in holes"));
    let head = ["Gain", "Phase", "Distance over what is allowed"].map(str::to_owned);
    let shown: Vec<Vec<String>> = rows.iter().take(HOLES_SHOWN).map(|row| row.texts.to_vec()).collect();
    dom::fill_table(&by_id::<Element>("holes-table"), &head, &shown);
    let rest = rows.len().saturating_sub(HOLES_SHOWN);
    let text = (rest > 0).then(|| format!("{} smaller ones are not listed.", whole(rest)));
    dom::set_message("holes-rest", text.as_deref());
}
