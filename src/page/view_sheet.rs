//! Question 8 on the page: the one page to print, and the texts that never change.

use super::app::{self, Handle, Shown};
use super::canvas::{self, Medium};
use super::{dom, view_words};
use crate::export::plots;
use crate::pipeline::{Analysis, Report};
use crate::sheet::{CAUTIONS, NoteKind, Sheet};
use std::rc::Rc;
use wasm_bindgen::JsCast;
use web_sys::{Element, HtmlCanvasElement};

/// Margin notes that the sheet prints; the rest are counted, so that the sheet stays one page.
const NOTES_PRINTED: usize = 8;

/// Files left out that the sheet names.
const LEFT_OUT_PRINTED: usize = 4;

/// Shows what does not depend on a run.
pub fn show_fixed_texts() {
    dom::list("caution-list", "li", CAUTIONS.iter().map(|&caution| caution.to_owned()));
    let tool = app::tool_facts();
    dom::set_text("version", &format!("{} {}", tool.name, tool.version));
}

/// Builds the sheet and draws its plots.
pub fn show(app: &Handle, shown: &Rc<Shown>) {
    dom::show("sheet", true);
    let article: Element = dom::by_id("paper-sheet");
    let letter = dom::selected("paper") == "letter";
    article.set_class_name(if letter { "letter" } else { "" });
    article.set_text_content(None);
    build(&article, &shown.report, &shown.sheet);
    draw(app, shown);
}

fn build(article: &Element, report: &Report, sheet: &Sheet) {
    let head = dom::make("div", "");
    head.set_class_name("sheet-head");
    dom::append(&head, &dom::make("h3", &sheet.title));
    let operator = report.settings.operator.trim();
    let by = if operator.is_empty() { String::new() } else { format!("{operator} · ") };
    dom::append(
        &head,
        &dom::make("p", &format!("{by}{} · {} {}", sheet.tool.date, sheet.tool.name, sheet.tool.version)),
    );
    dom::append(article, &head);

    for answer in sheet.answers.iter().filter(|answer| answer.key != "sheet") {
        dom::append(article, &dom::make("h4", answer.question));
        dom::append(article, &dom::make("p", &answer.sentence));
    }
    if report.analysis.is_ok() {
        dom::append(article, &plots());
        let (head, rows) = view_words::ladder_table(&sheet.ladder);
        dom::append(article, &dom::make("h4", "What each step gained"));
        let table = dom::make("table", "");
        dom::fill_table(&table, &head, &rows);
        dom::append(article, &table);
    }
    let columns = dom::make("div", "");
    columns.set_class_name("columns");
    dom::append(&columns, &block("Notes", notes(sheet)));
    dom::append(
        &columns,
        &block("Before hardware is driven", sheet.cautions.iter().map(|&c| c.to_owned()).collect()),
    );
    dom::append(article, &columns);
    dom::append(
        article,
        &block("Where the numbers came from", vec![sheet.provenance.comment_lines().join(" · ")]),
    );
}

fn block(heading: &str, lines: Vec<String>) -> Element {
    let block = dom::make("section", "");
    dom::append(&block, &dom::make("h4", heading));
    let list = dom::make("ul", "");
    for line in lines {
        dom::append(&list, &dom::make("li", &line));
    }
    dom::append(&block, &list);
    block
}

/// The margin notes, those that need attention first, and the files left out: as many as there is room for.
fn notes(sheet: &Sheet) -> Vec<String> {
    let all = || sheet.answers.iter().flat_map(|answer| &answer.notes);
    let rank = |kind: NoteKind| match kind {
        NoteKind::Attention => 0,
        NoteKind::Guess => 1,
        NoteKind::Remark => 2,
    };
    let mut notes: Vec<_> = all().collect();
    notes.sort_by_key(|note| rank(note.kind));
    let mut lines: Vec<String> = notes.iter().take(NOTES_PRINTED).map(|note| note.text.clone()).collect();
    if notes.len() > NOTES_PRINTED {
        lines.push(format!("{} more notes stand on the page.", notes.len() - NOTES_PRINTED));
    }
    let named = sheet.left_out.iter().take(LEFT_OUT_PRINTED);
    lines.extend(named.map(|line| format!("{}: {}", line.path, line.sentence)));
    if sheet.left_out.len() > LEFT_OUT_PRINTED {
        lines.push(format!("{} more files were left out.", sheet.left_out.len() - LEFT_OUT_PRINTED));
    }
    lines
}

const PLOTS: [(&str, &str); 3] = [
    ("plane", "Every state at the chosen frequency"),
    ("errors", "RMS vector error against frequency"),
    ("share", "Settings within both tolerances against frequency"),
];

fn plots() -> Element {
    let plots = dom::make("div", "");
    plots.set_class_name("plots");
    for (name, caption) in PLOTS {
        let figure = dom::make("figure", "");
        dom::attribute(&figure, "class", &format!("plot-{name}"));
        let canvas = dom::make("canvas", "");
        dom::attribute(&canvas, "data-plot", name);
        dom::attribute(&canvas, "role", "img");
        dom::attribute(&canvas, "aria-label", caption);
        dom::append(&figure, &canvas);
        dom::append(&figure, &dom::make("figcaption", caption));
        dom::append(&plots, &figure);
    }
    plots
}

/// Draws the sheet's plots; synchronous, since printing does not wait.
pub fn draw(_app: &Handle, shown: &Shown) {
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
        let draw = match name {
            "plane" => plots::plane,
            "errors" => plots::errors,
            _ => plots::share,
        };
        draw(&mut pad.surface, pad.frame, pad.theme, report, analysis)
    });
}
