//! The specification as a table to be edited in place, and at which codes fields are held.

use super::input::{FILLED, exact_input, numbers};
use crate::page::app::{self, Handle, Shown};
use crate::page::dom::{self, by_id};
use crate::page::{showing, view_parts};
use crate::part::{Figure, Limits, SpecificationRow, write_specification};
use crate::pipeline::Settings;
use crate::sheet::parts::LineVerdict;
use wasm_bindgen::JsCast;
use web_sys::{Element, HtmlInputElement, HtmlSelectElement};

/// The inputs of a row behind its figure: what a screen reader hears of each.
const INPUTS: [&str; 5] = ["From, GHz", "To, GHz", "At least", "At most", "Percent of the setting wider"];

/// Listens to the forms.
pub fn listen(app: &Handle) {
    view_parts::offer_figures("parts-figure");
    let handle = app.clone();
    dom::on_id("specification", "change", move |_| take(&handle));
    let handle = app.clone();
    dom::on_id("specification-add", "click", move |_| {
        let body: Element = by_id("specification-rows");
        dom::append(&body, &row_element(&handle, None));
    });
    for id in ["parts-field", "parts-figure"] {
        let handle = app.clone();
        dom::on_id(id, "change", move |_| showing::render_soon(&handle));
    }
    let handle = app.clone();
    dom::on_id("held-codes", "change", move |_| {
        let text = dom::input_value("held-codes");
        let parts = text.split([' ', ',']).filter(|part| !part.is_empty());
        let codes: Result<Vec<u32>, _> = parts.map(str::parse).collect();
        let message = match codes {
            Ok(codes) => {
                let mut settings = handle.borrow().settings().clone();
                settings.held_codes.clone_from(&codes);
                match settings.check() {
                    Ok(()) => {
                        app::change_settings(&handle, |settings| settings.held_codes = codes);
                        None
                    }
                    Err(error) => Some(error.to_string()),
                }
            }
            Err(_) => Some("Write one code for each field of the layout, such as 0 12.".to_owned()),
        };
        dom::set_message("parts-message", message.as_deref());
    });
    let handle = app.clone();
    dom::on_id("typical-remove", "click", move |_| {
        app::change_settings(&handle, |settings| settings.typical = None);
    });
    view_parts::offer_figures("typical-figure");
    let handle = app.clone();
    dom::on_id("typical-figure", "change", move |_| {
        let figure = Figure::named(&dom::selected("typical-figure"));
        let unit = handle.borrow().settings().typical.as_ref().and_then(|typical| typical.curve.unit);
        let Some(figure) = figure else { return };
        let other = unit.filter(|unit| *unit != figure.unit());
        if other.is_none() {
            app::change_settings(&handle, |settings| {
                if let Some(typical) = &mut settings.typical {
                    typical.figure = figure;
                }
            });
        }
        show_typical(handle.borrow().settings());
        let message = other.map(|unit| {
            let (found, name, needed) = (unit.sign(), figure.name(), figure.unit().sign());
            format!("The typical curve is in {found}, and {name} is in {needed}.")
        });
        dom::set_message("parts-message", message.as_deref());
    });
}

/// Writes the rows, unless they are what stands there already, and the held codes.
pub fn show(app: &Handle, settings: &Settings) {
    dom::set_input("held-codes", &numbers(settings.held_codes.iter()));
    show_typical(settings);
    let body: Element = by_id("specification-rows");
    let text = write_specification(&settings.specification);
    if body.get_attribute(FILLED).as_deref() == Some(text.as_str()) {
        return;
    }
    dom::attribute(&body, FILLED, &text);
    body.set_text_content(None);
    for row in &settings.specification {
        dom::append(&body, &row_element(app, Some(row)));
    }
}

fn show_typical(settings: &Settings) {
    dom::show("typical", settings.typical.is_some());
    if let Some(typical) = &settings.typical {
        by_id::<HtmlSelectElement>("typical-figure").set_value(typical.figure.name());
    }
}

/// Writes what became of each row beside it.
pub fn show_in_use(shown: &Shown) {
    let body: Element = by_id("specification-rows");
    let mut lines = shown.sheet.specification.iter();
    let rows = body.children();
    for element in (0..rows.length()).filter_map(|index| rows.item(index)) {
        let line = if read_row(&element).is_ok_and(|row| row.is_some()) { lines.next() } else { None };
        let (verdict, sentence) = line
            .map_or(("", ""), |line| (line.verdict.map_or("", LineVerdict::word), line.sentence.as_str()));
        if let Ok(Some(cell)) = element.query_selector("[data-verdict]") {
            cell.set_text_content(Some(verdict));
        }
        if let Ok(Some(why)) = element.query_selector("[data-why]") {
            why.set_text_content(Some(sentence));
        }
    }
}

fn row_element(app: &Handle, row: Option<&SpecificationRow>) -> Element {
    let element = dom::make("tr", "");
    let select = dom::make("select", "");
    dom::attribute(&select, "aria-label", "Figure");
    for figure in Figure::all() {
        dom::append(&select, &dom::make("option", &format!("{}, {}", figure.name(), figure.unit().sign())));
    }
    let figure = row.and_then(|row| Figure::all().position(|figure| figure == row.figure)).unwrap_or(0);
    select.unchecked_ref::<HtmlSelectElement>().set_selected_index(i32::try_from(figure).unwrap_or(0));
    dom::append(&element, &cell(&select));
    let ghz = |hz: Option<f64>| hz.map(|hz| hz / 1e9);
    let values = row.map_or([None; 5], |row| {
        let Limits { at_least, at_most, percent_of_setting } = row.limits;
        let percent = Some(percent_of_setting).filter(|percent| *percent != 0.0);
        [ghz(row.from_hz), ghz(row.to_hz), at_least, at_most, percent]
    });
    for (label, value) in INPUTS.iter().zip(values) {
        let input = dom::make("input", "");
        dom::attribute(&input, "type", "number");
        dom::attribute(&input, "step", "any");
        dom::attribute(&input, "aria-label", label);
        input.unchecked_ref::<HtmlInputElement>().set_value(&value.map_or_else(String::new, exact_input));
        dom::append(&element, &cell(&input));
    }
    let (verdict, why) = (dom::make("strong", ""), dom::make("small", ""));
    dom::attribute(&verdict, "data-verdict", "");
    dom::attribute(&why, "data-why", "");
    let told = cell(&verdict);
    dom::append(&told, &why);
    dom::append(&element, &told);
    let remove = dom::make("button", "Remove");
    dom::attribute(&remove, "type", "button");
    // A note has no input of its own and is kept.
    dom::attribute(&element, "data-note", row.map_or("", |row| row.note.as_str()));
    let (handle, whole) = (app.clone(), element.clone());
    dom::on(&remove, "click", move |_| {
        whole.remove();
        take(&handle);
    });
    dom::append(&element, &cell(&remove));
    element
}

fn cell(content: &Element) -> Element {
    let cell = dom::make("td", "");
    dom::append(&cell, content);
    cell
}

/// Takes what stands in the table into the settings; rows without any limit are still being written.
fn take(app: &Handle) {
    let rows = by_id::<Element>("specification-rows").children();
    let read: Result<Vec<Option<SpecificationRow>>, String> =
        (0..rows.length()).filter_map(|index| rows.item(index)).map(|element| read_row(&element)).collect();
    let message = match read {
        Ok(rows) => {
            let rows: Vec<SpecificationRow> = rows.into_iter().flatten().collect();
            // What stands there is not to be written anew while the user goes on typing.
            dom::attribute(&by_id("specification-rows"), FILLED, &write_specification(&rows));
            app::change_settings(app, |settings| settings.specification = rows);
            None
        }
        Err(reason) => Some(reason),
    };
    dom::set_message("parts-message", message.as_deref());
}

fn read_row(element: &Element) -> Result<Option<SpecificationRow>, String> {
    let figure = element.query_selector("select").ok().flatten();
    let figure = figure.and_then(|select| {
        let index = usize::try_from(select.unchecked_ref::<HtmlSelectElement>().selected_index()).ok()?;
        Figure::all().nth(index)
    });
    let Some(figure) = figure else { return Ok(None) };
    let inputs = element.query_selector_all("input").map_err(|_| "The row cannot be read.".to_owned())?;
    let mut values = [None; INPUTS.len()];
    for (index, value) in (0..inputs.length()).zip(&mut values) {
        let Some(input) = inputs.item(index) else { continue };
        let text = input.unchecked_ref::<HtmlInputElement>().value();
        if !text.trim().is_empty() {
            let read = text.trim().parse::<f64>().ok().filter(|value| value.is_finite());
            *value = Some(read.ok_or("Write numbers with a decimal point, such as 0.25.")?);
        }
    }
    let [from, to, at_least, at_most, percent] = values;
    if at_least.is_none() && at_most.is_none() {
        return Ok(None);
    }
    let hz = |ghz: Option<f64>| ghz.map(|ghz| ghz * 1e9);
    let row = SpecificationRow {
        figure,
        from_hz: hz(from),
        to_hz: hz(to),
        limits: Limits { at_least, at_most, percent_of_setting: percent.unwrap_or(0.0) },
        note: element.get_attribute("data-note").unwrap_or_default(),
    };
    row.check()?;
    Ok(Some(row))
}
