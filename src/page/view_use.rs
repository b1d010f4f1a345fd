//! Question 7 on the page: the constellations that the states form.

use super::app::Shown;
use super::dom::{self, by_id};
use crate::sheet::signal::constellation_rows;
use web_sys::Element;

/// Shows the question.
pub fn show(shown: &Shown) {
    dom::show("use", shown.report.analysis.is_ok());
    dom::show_answer(shown.sheet.answer("use"));
    let rows = constellation_rows(&shown.report);
    dom::show("use-block", rows.is_some());
    if let Some((head, rows)) = rows {
        dom::fill_table(&by_id::<Element>("use-table"), &head, &rows);
    }
}
