//! Technical terms on the page: marked where they are first written in a block, explained on focus, hover and touch.
//!
//! The explanation is drawn by the style sheet from an attribute, so the text of a sentence stays what it is; screen
//! readers are pointed to the list of terms at the end of the page. A block is what is read as one: the text of a section,
//! a form in it, a table, what can be unfolded. In a label the mark takes no focus, which is the control's: there the
//! explanation shows while the control has it, and describes the control.

use super::dom::{self, by_id};
use crate::sheet::glossary::{GLOSSARY, Piece, Term, differ_in_numbers_alone, pieces};
use std::collections::BTreeSet;
use wasm_bindgen::JsCast;
use web_sys::{Element, KeyboardEvent, Node};

/// On the document's element while Escape has put explanations away.
const HUSHED: &str = "data-hushed";

/// What is read as one.
const BLOCKS: &str = "form, table, details, .settings, .take-away, [role=status], section.question";

/// What describes a control that can have the focus.
const LABELS: &str = "section.question label, section.question summary";

/// Lists the terms, and lets Escape put an explanation away until the pointer or the focus moves on.
pub fn listen() {
    let list: Element = by_id("term-list");
    for term in &GLOSSARY {
        dom::append(&list, &dom::make("dt", term.name));
        let meaning = dom::make("dd", term.meaning);
        dom::attribute(&meaning, "id", &id_of(term));
        dom::append(&list, &meaning);
    }
    mark_fixed_texts();
    let Some(root) = dom::document().document_element() else { return };
    let hushed = root.clone();
    dom::on(&dom::document(), "keydown", move |event| {
        if event.unchecked_ref::<KeyboardEvent>().key() == "Escape" {
            dom::attribute(&hushed, HUSHED, "");
        }
    });
    // Whoever types has read what the control is about.
    let hushed = root.clone();
    dom::on(&dom::document(), "input", move |_| dom::attribute(&hushed, HUSHED, ""));
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
    let before = element.text_content().unwrap_or_default();
    if before == text || differ_in_numbers_alone(&before, text) && rewrite(element, text, question) {
        return;
    }
    element.set_text_content(None);
    append(element, text, question);
}

/// Writes other numbers into the pieces that stand in an element, so that its terms keep the focus and little is laid out
/// anew; false where the pieces turn out to be others.
fn rewrite(element: &Element, text: &str, question: &str) -> bool {
    let nodes = element.child_nodes();
    let nodes: Vec<Node> = (0..nodes.length()).filter_map(|index| nodes.item(index)).collect();
    let term_of =
        |node: &Node| node.dyn_ref::<Element>().and_then(|element| element.get_attribute("data-term"));
    let own: BTreeSet<String> = nodes.iter().filter_map(term_of).collect();
    let mut others: BTreeSet<&str> =
        GLOSSARY.iter().map(|term| term.key).filter(|key| !own.contains(*key)).collect();
    let pieces = pieces(text, question, &mut others);
    let is_of_kind = |(piece, node): (&Piece, &Node)| match piece {
        Piece::Plain(_) => node.node_type() == Node::TEXT_NODE,
        Piece::Measure(_) => node.node_type() == Node::ELEMENT_NODE && term_of(node).is_none(),
        Piece::Term(_, term) => term_of(node).as_deref() == Some(term.key),
    };
    if pieces.len() != nodes.len() || !pieces.iter().zip(&nodes).all(is_of_kind) {
        return false;
    }
    for (piece, node) in pieces.iter().zip(&nodes) {
        let (Piece::Plain(text) | Piece::Measure(text) | Piece::Term(text, _)) = piece;
        if node.text_content().as_deref() != Some(text) {
            node.set_text_content(Some(text));
        }
    }
    true
}

/// Writes a text into an element of the markup that stands in a question's section.
pub fn say(id: &str, text: &str) {
    let element: Element = by_id(id);
    write(&element, text, &question_of(&element));
}

/// Writes a text into a label of the markup, or into a part of one.
pub fn label(id: &str, text: &str) {
    let element: Element = by_id(id);
    if element.text_content().as_deref() != Some(text) {
        element.set_text_content(Some(text));
        mark_label(&element);
    }
}

/// Marks the terms of labels, summaries and heads of tables that the markup holds.
fn mark_fixed_texts() {
    for label in all(&dom::document(), LABELS) {
        mark_label(&label);
    }
    for element in all(&dom::document(), "section.question :is(thead th, [role=status])") {
        let text = element.text_content().unwrap_or_default();
        if element.child_element_count() == 0 {
            element.set_text_content(None);
            append(&element, &text, &question_of(&element));
        }
    }
}

/// Marks the first term in the words that stand directly in a label: one explanation at a time is enough there.
fn mark_label(label: &Element) {
    let question = question_of(label);
    let Some(control) = control_of(label) else { return };
    let nodes = label.child_nodes();
    let texts = (0..nodes.length()).filter_map(|index| nodes.item(index));
    for node in texts.filter(|node| node.node_type() == Node::TEXT_NODE) {
        let text = node.text_content().unwrap_or_default();
        let pieces = pieces(&text, &question, &mut marked_around(label, &question));
        let mut from = 0;
        for piece in pieces {
            match piece {
                Piece::Plain(text) | Piece::Measure(text) => from += text.len(),
                Piece::Term(written, term) => {
                    let mark = dom::make("span", written);
                    mark.set_class_name("term");
                    dom::attribute(&mark, "data-term", term.key);
                    dom::attribute(&mark, "data-meaning", term.meaning);
                    dom::describe(&control, &id_of(term), true);
                    // The words stay one piece, which a label that stacks its parts keeps on a line.
                    let words = dom::make("span", &text[..from]);
                    dom::append(&words, &mark);
                    let _ = words.append_with_str_1(&text[from + written.len()..]);
                    let _ = label.replace_child(&words, &node);
                    return;
                }
            }
        }
    }
}

/// What a label names, or what unfolds at a summary.
fn control_of(label: &Element) -> Option<Element> {
    if label.tag_name() == "SUMMARY" {
        return Some(label.clone());
    }
    let label = label.closest("label").ok().flatten()?;
    label.query_selector("input, select").ok().flatten()
}

/// The key of the question in whose section an element stands; empty outside of all.
fn question_of(element: &Element) -> String {
    let section = element.closest("section.question").ok().flatten();
    section.map(|section| section.id()).unwrap_or_default()
}

/// Appends a text to an element of a question's section.
pub fn append(parent: &Element, text: &str, question: &str) {
    for piece in pieces(text, question, &mut marked_around(parent, question)) {
        match piece {
            Piece::Term(text, term) => dom::append(parent, &element_of(text, term)),
            plain => append_plain(parent, plain),
        }
    }
}

/// An element whose numbers stay with their units, for paper, where nothing can be explained.
pub fn on_paper(tag: &str, text: &str) -> Element {
    let element = dom::make(tag, "");
    for piece in pieces(text, "", &mut BTreeSet::new()) {
        append_plain(&element, piece);
    }
    element
}

/// Appends a piece as it is written, a number unparted from its unit.
fn append_plain(parent: &Element, piece: Piece) {
    match piece {
        Piece::Plain(text) | Piece::Term(text, _) => {
            let _ = parent.append_with_str_1(text);
        }
        Piece::Measure(text) => {
            let measure = dom::make("span", text);
            measure.set_class_name("unbroken");
            dom::append(parent, &measure);
        }
    }
}

/// The terms that the block of an element has marked. What stands nowhere yet will stand in the section's own text.
fn marked_around(element: &Element, question: &str) -> BTreeSet<&'static str> {
    let block_of = |element: &Element| element.closest(BLOCKS).ok().flatten();
    let Some(block) = block_of(element).or_else(|| dom::document().get_element_by_id(question)) else {
        return BTreeSet::new();
    };
    let marks = all(&block, "[data-term]");
    let own = marks.into_iter().filter(|mark| block_of(mark).as_ref() == Some(&block));
    let keys: BTreeSet<String> = own.filter_map(|mark| mark.get_attribute("data-term")).collect();
    GLOSSARY.iter().map(|term| term.key).filter(|key| keys.contains(*key)).collect()
}

/// The elements that a selector finds.
fn all(within: &Node, selector: &str) -> Vec<Element> {
    let found = match within.dyn_ref::<Element>() {
        Some(element) => element.query_selector_all(selector),
        None => dom::document().query_selector_all(selector),
    };
    let Ok(found) = found else { return Vec::new() };
    (0..found.length()).filter_map(|index| found.item(index)?.dyn_into().ok()).collect()
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
