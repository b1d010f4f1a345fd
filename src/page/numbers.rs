//! The table behind a plot, folded away under its caption and filled while it is open.

use super::app::Handle;
use super::dom::{self, by_id};
use super::showing;
use crate::export::numbers::Numbers;
use crate::sheet::wording::whole;
use wasm_bindgen::JsCast;
use web_sys::Element;

/// So many rows are listed; files to take away hold all of them.
const ROWS_SHOWN: usize = 512;

/// Fills a table when it is opened.
pub fn listen(app: &Handle) {
    let handle = app.clone();
    // Opening does not bubble, so it is caught on its way down.
    dom::on_captured(&dom::document(), "toggle", move |event| {
        let folded = event.target().and_then(|target| target.dyn_into::<Element>().ok());
        if folded.is_some_and(|folded| folded.class_name() == "numbers" && is_open(&folded)) {
            showing::render_soon(&handle);
        }
    });
}

/// Offers the numbers of a figure of the markup, and writes them while they are unfolded. `said` names the table.
pub fn show(figure: &str, said: &str, make: impl FnOnce() -> Numbers) {
    let folded = folded(figure);
    if !is_open(&folded) {
        return;
    }
    let (head, rows) = make();
    let frame = by_id::<Element>(&format!("{figure}-numbers-frame"));
    dom::attribute(&frame, "aria-label", &format!("The numbers drawn: {said}"));
    let table: Element = by_id(&format!("{figure}-numbers-table"));
    let shown = &rows[..rows.len().min(ROWS_SHOWN)];
    dom::fill_table(&table, &head, shown);
    let rest = rows.len() - shown.len();
    let text = (rest > 0).then(|| format!("{} more rows are in the files to take away.", whole(rest)));
    dom::set_message(&format!("{figure}-numbers-rest"), text.as_deref());
}

/// The folded element under a figure's caption, made when it is first asked for.
fn folded(figure: &str) -> Element {
    let id = format!("{figure}-numbers");
    if let Some(found) = dom::document().get_element_by_id(&id) {
        return found;
    }
    let folded = dom::make("details", "");
    dom::attribute(&folded, "id", &id);
    folded.set_class_name("numbers");
    dom::append(&folded, &dom::make("summary", "The numbers drawn"));
    let frame = dom::make("div", "");
    // A keyboard scrolls what it can focus.
    for (name, value) in
        [("id", format!("{id}-frame")), ("role", "group".to_owned()), ("tabindex", "0".to_owned())]
    {
        dom::attribute(&frame, name, &value);
    }
    let table = dom::make("table", "");
    dom::attribute(&table, "id", &format!("{id}-table"));
    dom::append(&frame, &table);
    dom::append(&folded, &frame);
    let rest = dom::make("p", "");
    dom::attribute(&rest, "id", &format!("{id}-rest"));
    dom::attribute(&rest, "hidden", "");
    dom::append(&folded, &rest);
    let caption: Element = by_id(&format!("{figure}-caption"));
    if let Some(parent) = caption.parent_element() {
        dom::append(&parent, &folded);
    }
    folded
}

fn is_open(folded: &Element) -> bool {
    folded.has_attribute("open")
}
