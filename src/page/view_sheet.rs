//! Question 8 on the page: the one page to print, and the texts that never change.

use super::app::Shown;
use super::canvas::{self, Medium};
use super::{dom, sheet_fit, showing, terms, view_words};
use crate::checks::Severity;
use crate::export::{View, fine_plots, plane_plot, plots};
use crate::pipeline::{Analysis, Report};
use crate::sheet::parts::LineVerdict;
use crate::sheet::trust::severity_word;
use crate::sheet::wording::as_sentence;
use crate::sheet::{CAUTIONS, CAUTIONS_IN_BRIEF, FindingLine, NoteKind, Sheet, SpecificationLine, captions};
use wasm_bindgen::JsCast;
use web_sys::{Element, HtmlCanvasElement};

/// Shows what does not depend on a run.
pub fn show_fixed_texts() {
    dom::list("caution-list", "li", CAUTIONS.iter().map(|&caution| caution.to_owned()));
    let tool = showing::tool_facts();
    dom::set_text("version", &format!("{} {}", tool.name, tool.version));
}

/// Builds the sheet and draws its plots.
pub fn show(shown: &Shown) {
    dom::show("sheet", true);
    let article: Element = dom::by_id("paper-sheet");
    let letter = dom::selected("paper") == "letter";
    article.set_class_name(if letter { "letter" } else { "" });
    article.set_text_content(None);
    build(&article, &shown.report, &shown.sheet);
    sheet_fit::fit(&article);
    draw_seen(shown);
}

fn build(article: &Element, report: &Report, sheet: &Sheet) {
    let head = dom::make("div", "");
    head.set_class_name("sheet-head");
    dom::append(&head, &dom::make("h3", &sheet.title));
    let operator = report.settings.operator.trim();
    // Where nobody is named there is room to sign.
    let by = if operator.is_empty() { "Operator: ______________".to_owned() } else { operator.to_owned() };
    dom::append(
        &head,
        &dom::make("p", &format!("{by} · {} · {} {}", sheet.tool.date, sheet.tool.name, sheet.tool.version)),
    );
    dom::append(article, &head);

    let answers = dom::make("div", "");
    answers.set_class_name("answers");
    for answer in sheet.answers.iter().filter(|answer| answer.key != "sheet") {
        dom::append(&answers, &dom::make("h4", answer.question));
        dom::append(&answers, &terms::on_paper("p", &answer.sentence));
    }
    dom::append(article, &answers);
    if !sheet.specification.is_empty() {
        dom::append(article, &dom::make("h4", "Rows of the specification"));
        dom::append(article, &specification(sheet));
    }
    if let Ok(analysis) = &report.analysis {
        dom::append(article, &plots(report, analysis));
        let printed: Vec<crate::sheet::LadderRow> =
            sheet.ladder.iter().filter(|row| row.is_printed).cloned().collect();
        let (head, rows) = view_words::ladder_table(&printed);
        dom::append(article, &dom::make("h4", "What each step gained"));
        let table = dom::make("table", "");
        dom::fill_table(&table, &head, &rows);
        dom::append(article, &table);
        dom::append(article, &terms::on_paper("p", &sheet.table_statistics));
    }
    let notes = block("Notes", notes(sheet));
    notes.set_class_name("columns");
    if let Some(list) = notes.last_element_child() {
        dom::attribute(&list, "data-notes", "");
    }
    dom::append(article, &notes);
    for caution in CAUTIONS_IN_BRIEF {
        let line = dom::make("p", caution);
        line.set_class_name("caution");
        dom::append(article, &line);
    }
    let origin = dom::make(
        "p",
        &format!("Where the numbers came from: {}.", sheet.provenance.lines_on_paper().join("; ")),
    );
    origin.set_class_name("origin");
    dom::append(article, &origin);
}

/// Every row with what became of it: what fails first, then what is open, and what holds last, from where rows are taken
/// away when the page is full.
fn specification(sheet: &Sheet) -> Element {
    let rank = |line: &SpecificationLine| match line.verdict {
        Some(LineVerdict::Fails) => 0,
        Some(LineVerdict::NotDecidable | LineVerdict::NotMeasured) | None => 1,
        Some(LineVerdict::Holds) => 2,
    };
    let mut lines: Vec<&SpecificationLine> = sheet.specification.iter().collect();
    lines.sort_by_key(|line| rank(line));
    let table = dom::make("table", "");
    dom::attribute(&table, "data-rows", "");
    let head = ["Figure", "Limit", "Band", "Verdict", "Decided by"].map(str::to_owned);
    let verdict =
        |line: &SpecificationLine| line.verdict.map_or("not judged yet", LineVerdict::word).to_owned();
    let row = |line: &&SpecificationLine| {
        vec![
            line.figure.to_owned(),
            line.limits.clone(),
            line.band_text(),
            verdict(line),
            line.deciding_text(),
        ]
    };
    dom::fill_table(&table, &head, &lines.iter().map(row).collect::<Vec<_>>());
    if let Ok(rows) = table.query_selector_all("tbody tr") {
        let rows = (0..).map_while(|index| rows.item(index));
        for (element, line) in rows.zip(&lines) {
            dom::attribute(element.unchecked_ref(), sheet_fit::VERDICT, &verdict(line));
        }
    }
    table
}

fn block(heading: &str, lines: Vec<String>) -> Element {
    let block = dom::make("section", "");
    dom::append(&block, &dom::make("h4", heading));
    let list = dom::make("ul", "");
    for line in lines {
        dom::append(&list, &terms::on_paper("li", &line));
    }
    dom::append(&block, &list);
    block
}

/// What the checks found that matters, then the margin notes, those that need attention first and guesses last, then the
/// files left out and what is merely good to know. What the page alone needs is not among them.
fn notes(sheet: &Sheet) -> Vec<String> {
    let (good_to_know, matters): (Vec<&FindingLine>, Vec<&FindingLine>) =
        sheet.findings.iter().partition(|line| line.severity == Severity::Note);
    let of_findings = |lines: Vec<&FindingLine>| -> Vec<String> {
        let line = |line: &FindingLine| {
            format!("{}: {}", as_sentence(severity_word(line.severity)).trim_end_matches('.'), line.sentence)
        };
        lines.into_iter().map(line).collect()
    };
    let rank = |kind: NoteKind| match kind {
        NoteKind::Attention => 0,
        NoteKind::Remark => 1,
        NoteKind::Guess => 2,
    };
    let mut notes: Vec<_> = sheet.answers.iter().flat_map(|answer| &answer.notes).collect();
    notes.sort_by_key(|note| rank(note.kind));
    let notes = notes.into_iter().filter_map(|note| note.on_paper().map(str::to_owned));
    let left_out = sheet.left_out.iter().map(|line| format!("{}: {}", line.path, line.sentence));
    of_findings(matters).into_iter().chain(notes).chain(left_out).chain(of_findings(good_to_know)).collect()
}

fn plots(report: &Report, analysis: &Analysis) -> Element {
    let plots = dom::make("div", "");
    // It is a map only where phase and gain are both set.
    let has_map = report.reach.resolution().is_some_and(|map| map.phase_bits() > 0 && map.gain_bits() > 0);
    plots.set_class_name(if has_map { "plots with-map" } else { "plots" });
    let shown = [
        ("plane", "tall", captions::plane_on_paper(report, analysis)),
        ("errors", "low", "RMS vector error against frequency.".to_owned()),
        ("share", "low", "Settings within tolerance against frequency.".to_owned()),
    ];
    let map = has_map.then(|| ("resolution", "tall", captions::resolution_on_paper(report, analysis)));
    for (name, height, caption) in shown.into_iter().chain(map) {
        let figure = dom::make("figure", "");
        figure.set_class_name(height);
        let canvas = dom::make("canvas", "");
        dom::attribute(&canvas, "data-plot", name);
        dom::attribute(&canvas, "role", "img");
        dom::attribute(&canvas, "aria-label", &caption);
        dom::append(&figure, &canvas);
        dom::append(&figure, &dom::make("figcaption", &caption));
        dom::append(&plots, &figure);
    }
    plots
}

/// Draws the sheet's plots where they are seen; printing draws them anyway.
fn draw_seen(shown: &Shown) {
    let Ok(analysis) = &shown.report.analysis else { return };
    each_plot(|name, canvas| {
        if canvas::is_near(canvas) {
            draw_one(name, canvas, &shown.report, analysis);
        }
    });
}

/// Draws the sheet's plots; synchronous, since printing does not wait.
pub fn draw(shown: &Shown) {
    let Ok(analysis) = &shown.report.analysis else { return };
    each_plot(|name, canvas| draw_one(name, canvas, &shown.report, analysis));
}

fn each_plot(mut draw: impl FnMut(&str, &HtmlCanvasElement)) {
    let Ok(found) = dom::document().query_selector_all("#paper-sheet canvas[data-plot]") else { return };
    for canvas in (0..found.length()).filter_map(|index| found.item(index)) {
        let canvas: HtmlCanvasElement = canvas.unchecked_into();
        let name = canvas.unchecked_ref::<Element>().get_attribute("data-plot").unwrap_or_default();
        draw(&name, &canvas);
    }
}

fn draw_one(name: &str, element: &HtmlCanvasElement, report: &Report, analysis: &Analysis) {
    canvas::draw_on(element, Medium::Paper, |pad| {
        let whole = View::default();
        match name {
            "plane" => plane_plot::plane(&mut pad.surface, pad.frame, pad.theme, report, analysis, &whole)
                .map(|_| ()),
            "errors" => plots::errors(&mut pad.surface, pad.frame, pad.theme, report, analysis, &whole),
            "resolution" => fine_plots::resolution(&mut pad.surface, pad.frame, pad.theme, report, &whole),
            _ => plots::share(&mut pad.surface, pad.frame, pad.theme, report, analysis, &whole),
        }
    });
}
