//! Question 7 on the page: the constellations that the states form.

use super::app::{Handle, Shown};
use super::dom::{self, by_id};
use super::{canvas, looking, numbers};
use crate::export::{numbers as drawn, signal_plots};
use crate::pipeline::{Analysis, Report, Settings};
use crate::run::Intake;
use crate::sheet::signal::{constellation_rows, name as constellation_name};
use crate::sheet::{captions, state_name};
use std::sync::Arc;
use web_sys::Element;

/// The run and the settings, but for the frequency, of which something was shown.
pub struct Told {
    run: Arc<Intake>,
    settings: Settings,
}

impl PartialEq for Told {
    fn eq(&self, other: &Self) -> bool {
        Arc::ptr_eq(&self.run, &other.run) && self.settings == other.settings
    }
}

impl Told {
    fn of(report: &Report) -> Self {
        let settings = Settings { frequency_hz: None, ..report.settings.clone() };
        Self { run: report.intake.clone(), settings }
    }
}

/// Shows the question. While only the frequency has moved and nothing is worked out there, what stands, which says of which
/// frequency it is, stays.
pub fn show(app: &Handle, shown: &Shown) {
    let report = &shown.report;
    let told = report.analysis.is_ok().then(|| Told::of(report));
    if report.signal.is_none() && told.is_some() && app.borrow().signal_told == told {
        return;
    }
    app.borrow_mut().signal_told = told.filter(|_| report.signal.is_some());
    dom::show("use", report.analysis.is_ok());
    dom::show_answer(shown.sheet.answer("use"));
    let rows = constellation_rows(report);
    dom::show("use-block", rows.is_some());
    if let Some((head, rows)) = rows {
        dom::fill_table(&by_id::<Element>("use-table"), &head, &rows);
    }
    let Ok(analysis) = &report.analysis else { return };
    show_constellation(app, report, analysis);
    show_largest_clean(report, analysis);
}

fn show_constellation(app: &Handle, report: &Report, analysis: &Analysis) {
    let view = looking::view(app);
    let looked_at = view.constellation(report);
    dom::show("use-detail", looked_at.is_some());
    let Some(one) = looked_at else { return };
    canvas::draw("constellation-canvas", |pad| {
        signal_plots::constellation(&mut pad.surface, pad.frame, pad.theme, report, analysis, &view)
    });
    dom::set_caption("constellation", &captions::constellation(report, one));
    let named = format!("the points of {}", constellation_name(one.order));
    numbers::show("constellation", &named, || drawn::constellation(report, analysis, one));
    canvas::draw("evm-canvas", |pad| {
        signal_plots::evm(&mut pad.surface, pad.frame, pad.theme, report, &view)
    });
    let formed = report.signal.as_ref().and_then(|signal| signal.constellations.as_deref().ok());
    let formed = formed.unwrap_or_default();
    let picked = view.picked.zip(view.word(report));
    let picked =
        picked.map(|(state, word)| captions::picked_points(&state_name(&report.intake, word), state, formed));
    dom::set_caption("evm", &format!("{}{}", captions::evm(formed), picked.unwrap_or_default()));
    numbers::show("evm", "the error of every constellation", || {
        constellation_rows(report).unwrap_or_default()
    });
}

fn show_largest_clean(report: &Report, analysis: &Analysis) {
    dom::show("largest-figure", report.largest_clean.is_some());
    let Some(found) = &report.largest_clean else { return };
    canvas::draw("largest-canvas", |pad| {
        signal_plots::largest_clean(&mut pad.surface, pad.frame, pad.theme, report, analysis)
    });
    dom::set_caption("largest", &captions::largest_clean(report, found));
    numbers::show("largest", "the largest clean constellation", || drawn::largest_clean(report));
}
