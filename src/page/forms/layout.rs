//! The layout of the control word: a row for each field.

use super::input::{FILLED, exact_input, numbers, parse_positions};
use crate::control::{Direction, Field, FieldBit, Layout, Quantity};
use crate::page::app::{self, Handle};
use crate::page::dom::{self, by_id};
use crate::sheet::{read_values, write_values};
use wasm_bindgen::JsCast;
use web_sys::{Element, HtmlInputElement, HtmlSelectElement};

/// Listens to the form.
pub fn listen(app: &Handle) {
    dom::on_id("layout-add", "click", |_| {
        let field = Field {
            quantity: Quantity::Gain,
            bits: Vec::new(),
            step: 1.0,
            direction: Direction::Down,
            levels: None,
        };
        dom::append(&by_id::<Element>("layout-fields"), &layout_row(&field));
    });
    let handle = app.clone();
    dom::on_id("layout-form", "submit", move |event| {
        event.prevent_default();
        let word_bits = handle.borrow().shown.as_ref().map_or(0, |shown| shown.report.intake.word_bits());
        let message = match layout_in_form() {
            Ok(layout) if layout.bits() < word_bits => Some(format!(
                "The fields use {} bits, but the largest word that came in needs {word_bits}.",
                layout.bits()
            )),
            Ok(layout) => {
                app::change_settings(&handle, |settings| {
                    settings.layout = Some(layout);
                    settings.tolerance = None;
                });
                None
            }
            Err(reason) => Some(reason),
        };
        dom::set_message("layout-message", message.as_deref());
    });
    let handle = app.clone();
    dom::on_id("layout-guess", "click", move |_| {
        forget_edits();
        app::change_settings(&handle, |settings| settings.layout = None);
        dom::set_message("layout-message", None);
    });
}

/// Writes a layout into the form, unless it was filled with the same before and may have been edited since.
pub fn show_layout(layout: &Layout) {
    let body: Element = by_id("layout-fields");
    let active = dom::document().active_element();
    let filled = format!("{layout:?}");
    // A form that is being edited is left alone.
    if body.get_attribute(FILLED).as_deref() == Some(&filled)
        || active.is_some_and(|element| body.contains(Some(&element)))
    {
        return;
    }
    dom::attribute(&body, FILLED, &filled);
    body.set_text_content(None);
    for field in &layout.fields {
        dom::append(&body, &layout_row(field));
    }
}

/// Lets the form be filled anew, whatever it holds.
pub fn forget_edits() {
    let _ = by_id::<Element>("layout-fields").remove_attribute(FILLED);
}

fn layout_row(field: &Field) -> Element {
    let row = dom::make("tr", "");
    let positions: Vec<u8> = field.bits.iter().map(|bit| bit.position).collect();
    let inverted: Vec<u8> = field.bits.iter().filter(|bit| bit.inverted).map(|bit| bit.position).collect();
    let quantity = select(
        "What the field sets",
        &["gain, dB", "phase, °"],
        usize::from(field.quantity == Quantity::Phase),
    );
    let direction = select(
        "What a larger code does",
        &["raises it", "lowers it"],
        usize::from(field.direction == Direction::Down),
    );
    let step = input("number", "Step", &exact_input(field.step));
    dom::attribute(&step, "step", "any");
    let levels = input(
        "text",
        "Value of every code in dB or °, from code 0 up, if the steps are uneven",
        &field.levels.as_deref().map(write_values).unwrap_or_default(),
    );
    dom::attribute(&levels, "placeholder", "even");
    let remove = dom::make("button", "Remove");
    dom::attribute(&remove, "type", "button");
    let this = row.clone();
    dom::on(&remove, "click", move |_| this.remove());
    let cells = [
        quantity,
        input("text", "Bits, least significant first", &positions_text(&positions)),
        input("text", "Inverted bits", &positions_text(&inverted)),
        step,
        levels,
        direction,
        remove,
    ];
    for content in cells {
        let cell = dom::make("td", "");
        dom::append(&cell, &content);
        dom::append(&row, &cell);
    }
    row
}

/// A rising run of three or more neighbours is shortened.
fn positions_text(positions: &[u8]) -> String {
    match positions {
        [first, .., last]
            if positions.len() > 2 && positions.windows(2).all(|pair| pair[1] == pair[0] + 1) =>
        {
            format!("{first}-{last}")
        }
        _ => numbers(positions.iter()),
    }
}

fn input(kind: &str, label: &str, value: &str) -> Element {
    let input = dom::make("input", "");
    dom::attribute(&input, "type", kind);
    dom::attribute(&input, "aria-label", label);
    input.unchecked_ref::<HtmlInputElement>().set_value(value);
    input
}

fn select(label: &str, options: &[&str], chosen: usize) -> Element {
    let select = dom::make("select", "");
    dom::attribute(&select, "aria-label", label);
    for option in options {
        dom::append(&select, &dom::make("option", option));
    }
    select.unchecked_ref::<HtmlSelectElement>().set_selected_index(i32::try_from(chosen).unwrap_or(0));
    select
}

fn layout_in_form() -> Result<Layout, String> {
    let rows = by_id::<Element>("layout-fields").children();
    let mut fields = Vec::new();
    for row in (0..rows.length()).filter_map(|index| rows.item(index)) {
        let value = |column: u32| {
            let control = row.children().item(column).and_then(|cell| cell.first_element_child());
            control
                .as_ref()
                .and_then(|control| control.dyn_ref::<HtmlInputElement>().map(HtmlInputElement::value))
        };
        let choice = |column: u32| {
            let control = row.children().item(column).and_then(|cell| cell.first_element_child());
            control
                .and_then(|c| c.dyn_into::<HtmlSelectElement>().ok())
                .map_or(0, |select| select.selected_index())
        };
        let inverted = parse_positions(&value(2).unwrap_or_default())?;
        let bits = parse_positions(&value(1).unwrap_or_default())?;
        if let Some(stray) = inverted.iter().find(|bit| !bits.contains(bit)) {
            return Err(format!("Bit {stray} is marked inverted in a field that does not have it."));
        }
        let step = value(3).unwrap_or_default();
        fields.push(Field {
            quantity: if choice(0) == 1 { Quantity::Phase } else { Quantity::Gain },
            bits: bits
                .iter()
                .map(|&position| FieldBit { position, inverted: inverted.contains(&position) })
                .collect(),
            step: step
                .trim()
                .parse()
                .map_err(|_| format!("“{step}” is not a step; write a number such as 0.5."))?,
            direction: if choice(5) == 1 { Direction::Down } else { Direction::Up },
            levels: Some(read_values(&value(4).unwrap_or_default())?).filter(|levels| !levels.is_empty()),
        });
    }
    let layout = Layout { fields };
    layout.check().map_err(|error| error.to_string())?;
    Ok(layout)
}
