//! Small helpers over the document.

use super::terms;
use crate::sheet::glossary::differ_in_numbers_alone;
use crate::sheet::{Answer, Note, NoteKind};
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::JsFuture;
use web_sys::{
    Document, Element, Event, EventTarget, HtmlElement, HtmlInputElement, HtmlSelectElement, Window,
};

/// What a list was last written of: it is built anew only where that differs, since whoever has moved the focus into it
/// would lose the place.
pub const WRITTEN: &str = "data-written";

/// The page's window.
pub fn window() -> Window {
    web_sys::window().expect("page code runs in a window")
}

/// The page's document.
pub fn document() -> Document {
    window().document().expect("a window has a document")
}

/// An element of the page's own markup.
pub fn by_id<T: JsCast>(id: &str) -> T {
    let element = document().get_element_by_id(id);
    element
        .and_then(|element| element.dyn_into().ok())
        .unwrap_or_else(|| panic!("the page's own markup has #{id}"))
}

/// Shows or hides an element of the markup.
pub fn show(id: &str, visible: bool) {
    by_id::<HtmlElement>(id).set_hidden(!visible);
}

/// Sets an element's text.
pub fn set_text(id: &str, text: &str) {
    let element = by_id::<Element>(id);
    // Writing the same text again would make a screen reader repeat it.
    if element.text_content().as_deref() != Some(text) {
        element.set_text_content(Some(text));
    }
}

/// Writes a figure's caption, which is also what a screen reader hears of its canvas.
pub fn set_caption(figure: &str, text: &str) {
    let caption: Element = by_id(&format!("{figure}-caption"));
    let section = caption.closest("section").ok().flatten();
    terms::write(&caption, text, &section.map(|section| section.id()).unwrap_or_default());
    attribute(&by_id::<Element>(&format!("{figure}-canvas")), "aria-label", text);
}

/// Shows a text in an element, or hides the element where there is none.
pub fn set_message(id: &str, text: Option<&str>) {
    set_text(id, text.unwrap_or(""));
    show(id, text.is_some());
}

/// The element that carries the answer to a question.
fn answer_element(key: &str) -> Option<Element> {
    document().query_selector(&format!("[data-answer='{key}']")).ok().flatten()
}

/// Writes an answer's sentence.
pub fn set_answer(key: &str, sentence: &str) {
    if let Some(element) = answer_element(key) {
        terms::write(&element, sentence, key);
    }
}

/// Shows an answer with its margin notes.
pub fn show_answer(answer: Option<&Answer>) {
    let Some(answer) = answer else { return };
    set_answer(answer.key, &answer.sentence);
    show_notes(answer.key, &answer.notes);
}

/// Shows a question's margin notes, first those that need attention.
pub fn show_notes(key: &str, notes: &[Note]) {
    let mut notes: Vec<&Note> = notes.iter().collect();
    notes.sort_by_key(|note| note.kind != NoteKind::Attention);
    let parent: Element = by_id(&format!("{key}-notes"));
    let written = format!("{notes:?}");
    if parent.get_attribute(WRITTEN).as_deref() == Some(&written) {
        return;
    }
    attribute(&parent, WRITTEN, &written);
    let items = parent.children();
    let items: Vec<Element> = (0..items.length()).filter_map(|index| items.item(index)).collect();
    // Terms are marked where they are first written, which other words in one note could change for the next.
    let is_as_it_was = |(item, note): (&Element, &Note)| {
        let before = item.text_content().unwrap_or_default();
        item.class_name() == class_of(note.kind) && differ_in_numbers_alone(&before, &note.text)
    };
    if items.len() == notes.len() && items.iter().zip(notes.iter().copied()).all(is_as_it_was) {
        for (item, note) in items.iter().zip(notes.iter().copied()) {
            terms::write(item, &note.text, key);
        }
        return;
    }
    parent.set_text_content(None);
    for note in notes.iter().copied() {
        let item = make("li", "");
        terms::append(&item, &note.text, key);
        item.set_class_name(class_of(note.kind));
        append(&parent, &item);
    }
}

fn class_of(kind: NoteKind) -> &'static str {
    match kind {
        NoteKind::Remark => "remark",
        NoteKind::Guess => "guess",
        NoteKind::Attention => "attention",
    }
}

/// A new element with a text.
pub fn make(tag: &str, text: &str) -> Element {
    let element = document().create_element(tag).expect("tag names here are valid");
    element.set_text_content(Some(text));
    element
}

/// Appends a child.
pub fn append(parent: &Element, child: &Element) {
    // Only a cycle or a foreign document could make this fail.
    let _ = parent.append_child(child);
}

/// Sets an attribute whose name is valid.
pub fn attribute(element: &Element, name: &str, value: &str) {
    let _ = element.set_attribute(name, value);
}

/// Adds the element `id` to those that describe an element, or takes it away.
pub fn describe(element: &Element, id: &str, describes: bool) {
    let known = element.get_attribute("aria-describedby").unwrap_or_default();
    let others = known.split_whitespace().filter(|other| *other != id);
    let all: Vec<&str> = others.chain(describes.then_some(id)).collect();
    if all.is_empty() {
        let _ = element.remove_attribute("aria-describedby");
    } else {
        attribute(element, "aria-describedby", &all.join(" "));
    }
}

/// Replaces an element's children with one child a text.
pub fn list(id: &str, tag: &str, texts: impl IntoIterator<Item = String>) {
    let parent = by_id::<Element>(id);
    let _ = parent.remove_attribute(WRITTEN);
    parent.set_text_content(None);
    for text in texts {
        append(&parent, &make(tag, &text));
    }
}

/// A table row; cells from `numbers_from` on are numbers.
pub fn row(cell_tag: &str, cells: &[String], numbers_from: usize) -> Element {
    let row = make("tr", "");
    for (column, text) in cells.iter().enumerate() {
        let cell = make(if column == 0 && cell_tag == "td" { "th" } else { cell_tag }, text);
        let scope = if cell_tag == "th" { Some("col") } else { (column == 0).then_some("row") };
        if let Some(scope) = scope {
            attribute(&cell, "scope", scope);
        }
        if column >= numbers_from {
            cell.set_class_name("number");
        }
        append(&row, &cell);
    }
    row
}

/// Fills a table with a head and rows; columns from the second on are numbers. A table of the same shape keeps its cells,
/// and only texts that differ are written: less is laid out anew, and what the user has selected stays.
pub fn fill_table(table: &Element, head: &[String], rows: &[Vec<String>]) {
    let texts: Vec<&String> = head.iter().chain(rows.iter().flatten()).collect();
    let shape: Vec<usize> = std::iter::once(head.len()).chain(rows.iter().map(Vec::len)).collect();
    let shape = format!("{shape:?}");
    if table.get_attribute(WRITTEN).as_deref() == Some(&shape)
        && let Ok(cells) = table.query_selector_all("th, td")
        && usize::try_from(cells.length()) == Ok(texts.len())
    {
        for (cell, text) in (0..).map_while(|index| cells.item(index)).zip(texts) {
            if cell.text_content().as_deref() != Some(text) {
                cell.set_text_content(Some(text));
            }
        }
        return;
    }
    attribute(table, WRITTEN, &shape);
    table.set_text_content(None);
    let (top, body) = (make("thead", ""), make("tbody", ""));
    let cells = row("th", &vec![String::new(); head.len()], 1);
    append(&top, &cells);
    append(table, &top);
    let question = table.closest("section.question").ok().flatten().map(|section| section.id());
    // What scrolls on its own would cut an explanation off, and the sheet to print has none.
    let is_explained = table.closest(".numbers, #paper-sheet").ok().flatten().is_none();
    for (index, text) in (0..).zip(head) {
        let Some(cell) = cells.children().item(index) else { continue };
        match question.as_deref().filter(|_| is_explained) {
            Some(question) => terms::append(&cell, text, question),
            None => cell.set_text_content(Some(text)),
        }
    }
    for cells in rows {
        append(&body, &row("td", cells, 1));
    }
    append(table, &body);
}

/// Listens for an event for the page's whole life.
pub fn on(target: &EventTarget, event: &str, handler: impl FnMut(Event) + 'static) {
    let closure = Closure::<dyn FnMut(Event)>::new(handler);
    let _ = target.add_event_listener_with_callback(event, closure.as_ref().unchecked_ref());
    closure.forget();
}

/// The same, before the event reaches the elements inside.
pub fn on_captured(target: &EventTarget, event: &str, handler: impl FnMut(Event) + 'static) {
    let closure = Closure::<dyn FnMut(Event)>::new(handler);
    let function = closure.as_ref().unchecked_ref();
    let _ = target.add_event_listener_with_callback_and_bool(event, function, true);
    closure.forget();
}

/// Listens for an event on an element of the markup.
pub fn on_id(id: &str, event: &str, handler: impl FnMut(Event) + 'static) {
    on(&by_id::<EventTarget>(id), event, handler);
}

/// The text in an input of the markup, trimmed.
pub fn input_value(id: &str) -> String {
    by_id::<HtmlInputElement>(id).value().trim().to_owned()
}

/// Writes into an input, unless the user is typing there.
pub fn set_input(id: &str, value: &str) {
    let input = by_id::<HtmlInputElement>(id);
    let focused = document().active_element().is_some_and(|element| element.id() == id);
    if !focused && input.value() != value {
        input.set_value(value);
    }
}

/// The value chosen in a select of the markup.
pub fn selected(id: &str) -> String {
    by_id::<HtmlSelectElement>(id).value()
}

/// Lets the browser paint and take input before going on.
pub async fn next_turn() {
    let turn = js_sys::Promise::new(&mut |resolve, _| {
        let _ = window().set_timeout_with_callback(&resolve);
    });
    let _ = JsFuture::from(turn).await;
}

/// Calls after some milliseconds, never within the call that asks.
pub fn after_ms(delay_ms: f64, call: impl FnOnce() + 'static) {
    let later = Closure::once_into_js(call);
    #[expect(clippy::cast_possible_truncation, reason = "a delay is a minute at most")]
    let delay_ms = delay_ms.ceil() as i32;
    let _ = window().set_timeout_with_callback_and_timeout_and_arguments_0(later.unchecked_ref(), delay_ms);
}

/// Calls when the next picture of the page is on the screen.
pub fn after_picture(call: impl FnOnce() + 'static) {
    let later = Closure::once_into_js(call);
    let drawn = Closure::once_into_js(move || {
        let _ = window().set_timeout_with_callback(later.unchecked_ref());
    });
    before_picture(drawn.unchecked_ref());
}

/// Calls before the next picture is made.
pub fn before_picture(call: &js_sys::Function) {
    // A hidden page gets no animation frames; a timer reaches it too.
    if document().hidden() {
        let _ = window().set_timeout_with_callback_and_timeout_and_arguments_0(call, 50);
    } else {
        let _ = window().request_animation_frame(call);
    }
}

/// Milliseconds since the page was opened.
pub fn now_ms() -> f64 {
    window().performance().map_or(0.0, |performance| performance.now())
}
