//! Technical terms on the page: marked where they are first written in a section, explained on focus, hover and touch.
//!
//! The explanation is drawn by the style sheet from an attribute, so the text of a sentence stays what it is; screen
//! readers are pointed to the list of terms at the end of the page.

use super::dom::{self, by_id};
use crate::sheet::glossary::{GLOSSARY, Piece, Term, pieces};
use std::collections::BTreeSet;
use wasm_bindgen::JsCast;
use web_sys::{Element, KeyboardEvent};

/// On the document's element while Escape has put explanations away.
const HUSHED: &str = "data-hushed";

/// Lists the terms, and lets Escape put an explanation away until the pointer or the focus moves on.
pub fn listen() {
    let list: Element = by_id("term-list");
    for term in &GLOSSARY {
        dom::append(&list, &dom::make("dt", term.name));
        let meaning = dom::make("dd", term.meaning);
        dom::attribute(&meaning, "id", &id_of(term));
        dom::append(&list, &meaning);
    }
    let Some(root) = dom::document().document_element() else { return };
    let hushed = root.clone();
    dom::on(&dom::document(), "keydown", move |event| {
        if event.unchecked_ref::<KeyboardEvent>().key() == "Escape" {
            dom::attribute(&hushed, HUSHED, "");
        }
    });
    for moves_on in ["pointerover", "focusin"] {
        let root = root.clone();
        dom::on(&dom::document(), moves_on, move |_| {
            let _ = root.remove_attribute(HUSHED);
        });
    }
}

/// Writes a text into an element of a question's section.
pub fn write(element: &Element, text: &str, question: &str) {
    // Writing the same text again would take the focus from its terms, and make a screen reader repeat it.
    if element.text_content().as_deref() == Some(text) {
        return;
    }
    element.set_text_content(None);
    append(element, text, question);
}

/// Appends a text to an element of a question's section.
pub fn append(parent: &Element, text: &str, question: &str) {
    let mut marked = marked_in(&by_id(question));
    for piece in pieces(text, question, &mut marked) {
        match piece {
            Piece::Plain(text) => {
                let _ = parent.append_with_str_1(text);
            }
            Piece::Measure(text) => {
                let measure = dom::make("span", text);
                measure.set_class_name("unbroken");
                dom::append(parent, &measure);
            }
            Piece::Term(text, term) => dom::append(parent, &element_of(text, term)),
        }
    }
}

/// The terms that a section has marked.
fn marked_in(section: &Element) -> BTreeSet<&'static str> {
    let Ok(found) = section.query_selector_all("[data-term]") else { return BTreeSet::new() };
    let marks = (0..found.length()).filter_map(|index| found.item(index)?.dyn_into::<Element>().ok());
    let keys: BTreeSet<String> = marks.filter_map(|mark| mark.get_attribute("data-term")).collect();
    GLOSSARY.iter().map(|term| term.key).filter(|key| keys.contains(*key)).collect()
}

fn element_of(text: &str, term: &Term) -> Element {
    let element = dom::make("dfn", text);
    element.set_class_name("term");
    let id = id_of(term);
    for (name, value) in [
        ("tabindex", "0"),
        ("data-term", term.key),
        ("data-meaning", term.meaning),
        ("aria-describedby", &id),
    ] {
        dom::attribute(&element, name, value);
    }
    element
}

fn id_of(term: &Term) -> String {
    format!("term-{}", term.key)
}
