//! Choices of display that the browser keeps from one opening of the page to the next.
//!
//! Pages from files share their storage with every other such page, so nothing of a run may ever be in it: a choice is
//! kept only under one of the keys here, and only as one of the values that the page itself offers there, whatever the
//! document or the storage holds. Where the browser keeps nothing, every choice starts as the page proposes it.

use super::dom::{self, by_id};
use crate::part::Figure;
use crate::signal::ORDERS;
use web_sys::{HtmlSelectElement, Storage};

/// What all keys in the storage begin with.
const PREFIX: &str = "sweepfold.display.";

/// Whether a value is one that may be kept.
type MayHold = fn(&str) -> bool;

/// The selects that are kept, by their names in the markup, and whether one may hold a value.
const KEPT: [(&str, MayHold); 4] = [
    ("paper", |value| ["a4", "letter"].contains(&value)),
    ("table-rows", |value| ["one", "band", "one-table", "fewest-tables"].contains(&value)),
    ("parts-figure", |value| value.is_empty() || Figure::all().any(|figure| figure.name() == value)),
    ("use-order", |value| value.is_empty() || ORDERS.iter().any(|order| order.to_string() == value)),
];

/// Restores what is kept, and keeps what is chosen from now on. The selects have to have their options.
pub fn listen() {
    for (id, may_hold) in KEPT {
        if let Some(value) = read(id).filter(|value| may_hold(value)) {
            by_id::<HtmlSelectElement>(id).set_value(&value);
        }
        dom::on_id(id, "change", move |_| {
            let value = dom::selected(id);
            if may_hold(&value) {
                write(id, &value);
            }
        });
    }
}

/// The browser's storage; none where it refuses it, which it may do by throwing.
fn storage() -> Option<Storage> {
    dom::window().local_storage().ok().flatten()
}

fn read(id: &str) -> Option<String> {
    storage()?.get_item(&format!("{PREFIX}{id}")).ok().flatten()
}

fn write(id: &str, value: &str) {
    // A storage that is full or locked only means that the choice is not kept.
    let _ = storage().map(|storage| storage.set_item(&format!("{PREFIX}{id}"), value));
}
