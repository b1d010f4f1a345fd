//! Question 2 on the page: what the checks found, with the bits' weights as evidence, and what to do about each.

use super::app::{self, Handle, Shown};
use super::dom::{self, by_id};
use super::{canvas, looking, numbers, terms};
use crate::checks::{Correction, Finding};
use crate::export::numbers as drawn;
use crate::export::plots;
use crate::pipeline::{Analysis, Conductor, Report, Stage};
use crate::sheet::trust::{severity_rows, severity_word};
use crate::sheet::wording::{capital, counted, named, whole};
use crate::sheet::{FindingLine, captions};
use web_sys::Element;

/// So many words are listed of a finding that names only the first few in its sentence.
const WORDS_SHOWN: usize = 512;

/// Shows the table of severities, which no run changes.
pub fn show_fixed() {
    let rows: Vec<Vec<String>> = severity_rows()
        .into_iter()
        .map(|row| vec![row.fault.to_owned(), row.condition, row.severity.to_owned()])
        .collect();
    let table: Element = by_id("severities");
    table.set_text_content(None);
    let (head, body) = (dom::make("thead", ""), dom::make("tbody", ""));
    let names = ["Finding", "Where", "Weighs"].map(str::to_owned);
    dom::append(&head, &dom::row("th", &names, usize::MAX));
    for cells in rows {
        dom::append(&body, &dom::row("td", &cells, usize::MAX));
    }
    dom::append(&table, &head);
    dom::append(&table, &body);
}

/// Shows the question.
pub fn show(app: &Handle, shown: &Shown) {
    let report = &shown.report;
    dom::show("trust", !report.intake.states.is_empty());
    dom::show_answer(shown.sheet.answer("trust"));
    show_progress(app);
    show_findings(app, shown);
    show_weights(app, report);
}

/// Shows what each bit does, in a run that has bits.
pub fn show_weights(app: &Handle, report: &Report) {
    let has_bits = report.analysis.as_ref().ok().filter(|analysis| analysis.layout().is_some());
    dom::show("weights-figure", has_bits.is_some());
    if let Some(analysis) = has_bits {
        draw_weights(app, report, analysis);
    }
}

/// How far the search for faults is, once the other answers stand.
pub fn show_progress(app: &Handle) {
    let state = app.borrow();
    let is_being_checked = state.conductor().is_some_and(Conductor::is_being_checked);
    let checked = if is_being_checked { "no" } else { "yes" };
    dom::attribute(&by_id("trust"), "data-checked", checked);
    let is_being_completed = state.conductor().is_some_and(Conductor::is_being_completed);
    dom::attribute(&by_id("words"), "data-compared", if is_being_completed { "no" } else { "yes" });
    let progress = state.conductor().map(Conductor::progress);
    let text = progress.and_then(|progress| match progress.stage {
        Stage::Examining => Some(format!(
            "{} of {} searched.",
            whole(progress.frequencies.0),
            counted(progress.frequencies.1, "frequency", "frequencies")
        )),
        Stage::Collecting | Stage::Judging | Stage::Verifying => {
            Some("All frequencies are searched; what was found is being judged.".to_owned())
        }
        _ => None,
    });
    dom::set_message("trust-progress", text.as_deref());
}

fn show_findings(app: &Handle, shown: &Shown) {
    let list: Element = by_id("findings");
    let written = format!("{:?}", shown.sheet.findings);
    if list.get_attribute(dom::WRITTEN).as_deref() == Some(&written) {
        return;
    }
    dom::attribute(&list, dom::WRITTEN, &written);
    list.set_text_content(None);
    let findings = shown.report.checks.as_ref().map_or(&[][..], |checks| &checks.findings);
    for (line, finding) in shown.sheet.findings.iter().zip(findings) {
        dom::append(&list, &item(app, line, finding));
    }
    dom::show("findings", !findings.is_empty());
}

fn item(app: &Handle, line: &FindingLine, finding: &Finding) -> Element {
    let item = dom::make("li", "");
    dom::attribute(&item, "data-finding", line.name);
    item.set_class_name(match line.severity {
        crate::checks::Severity::Note => "note",
        crate::checks::Severity::Care => "care",
        crate::checks::Severity::NotToBeTrusted => "grave",
    });
    let said = dom::make("p", "");
    let severity = dom::make("strong", &format!("{}.", capital(severity_word(line.severity))));
    dom::append(&said, &severity);
    terms::append(&said, &format!(" {} ", line.sentence), "trust");
    if let Some(certainty) = line.certainty_said() {
        dom::append(&said, &dom::make("small", &format!("({certainty})")));
    }
    dom::append(&item, &said);
    if !line.advice.is_empty() {
        let advice = dom::make("p", line.advice);
        advice.set_class_name("advice");
        dom::append(&item, &advice);
    }
    if line.words.len() > 4 {
        let all = dom::make("details", "");
        dom::append(&all, &dom::make("summary", &counted(line.words.len(), "word", "words")));
        let words: Vec<u32> = line.words.iter().map(|word| word.0).collect();
        dom::append(&all, &dom::make("p", &named("Word", "Words", &words, WORDS_SHOWN)));
        dom::append(&item, &all);
    }
    if let Some((label, correction)) = line.correction.clone().zip(finding.correction.clone()) {
        let button = dom::make("button", &label);
        dom::attribute(&button, "type", "button");
        let handle = app.clone();
        dom::on(&button, "click", move |_| apply(&handle, &label, correction.clone()));
        dom::append(&item, &button);
    }
    item
}

/// Reads the run in another way.
fn apply(app: &Handle, label: &str, correction: Correction) {
    app::change_settings_saying(app, Some(&format!("“{label}”")), |settings| match correction {
        Correction::Layout(layout) => settings.layout = Some(layout),
        Correction::Order(order) => {
            settings.file_order = Some(order);
            // A layout that was made to fit words in the wrong order fits none.
            settings.layout = None;
        }
    });
}

fn draw_weights(app: &Handle, report: &Report, analysis: &Analysis) {
    let view = looking::view(app);
    canvas::draw("weights-canvas", |pad| {
        plots::bit_weights(&mut pad.surface, pad.frame, pad.theme, report, analysis, &view)
    });
    let picked = view.word(report).map_or_else(String::new, captions::picked_bits);
    let caption = "What each bit does: bars for a part wired straight, marks for what was measured, the median over \
                   the design band.";
    dom::set_caption("weights", &format!("{caption}{picked}"));
    numbers::show("weights", "what each bit does", || drawn::bit_weights(analysis));
}
