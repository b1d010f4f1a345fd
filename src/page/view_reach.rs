//! Question 6 on the page: the usable band.

use super::app::Shown;
use super::dom;

/// Shows the question.
pub fn show(shown: &Shown) {
    dom::show("reach", shown.report.analysis.is_ok());
    dom::show_answer(shown.sheet.answer("reach"));
}
