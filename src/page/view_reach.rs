//! Question 6 on the page: the usable band, the resolution map and the holes.

use super::app::Shown;
use super::dom::{self, by_id};
use super::{canvas, numbers, terms};
use crate::export::numbers as drawn;
use crate::export::plots;
use crate::pipeline::{Analysis, Report};
use crate::sheet::captions;
use crate::sheet::reach::{hole_rows, resolution_rows};
use crate::sheet::wording::{counted, frequency, whole};
use web_sys::Element;

/// So many holes are listed, the largest first.
const HOLES_SHOWN: usize = 512;

/// Shows the question.
pub fn show(shown: &Shown) {
    dom::show("reach", shown.report.analysis.is_ok());
    dom::show_answer(shown.sheet.answer("reach"));
    let Ok(analysis) = &shown.report.analysis else { return };
    show_resolution(&shown.report, analysis);
    show_holes(&shown.report);
}

fn show_resolution(report: &Report, analysis: &Analysis) {
    let rows = resolution_rows(report);
    dom::show("resolution-detail", rows.is_some());
    dom::show("resolution-block", rows.is_some());
    let Some((head, rows)) = rows else { return };
    dom::fill_table(&by_id::<Element>("resolution-table"), &head, &rows);
    canvas::draw("resolution-canvas", |pad| {
        plots::resolution(&mut pad.surface, pad.frame, pad.theme, report)
    });
    let here = frequency(report.intake.frequency_hz[analysis.service.index]);
    let caption = format!(
        "Share of the settings of so many bits that some state serves at {here}; shaded where all are, framed the most \
         bits of which all are."
    );
    dom::set_caption("resolution", &caption);
    dom::show("clean-figure", report.reach.clean_bits.is_some());
    canvas::draw("clean-canvas", |pad| {
        plots::clean_bits(&mut pad.surface, pad.frame, pad.theme, report, analysis)
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
