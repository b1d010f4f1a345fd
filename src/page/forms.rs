//! The settings that are edited in place: layout, rules, controller map, names on the sheet.

use super::app::{self, Handle};
use super::dom::{self, by_id};
use crate::control::{Direction, Field, FieldBit, Layout, Quantity};
use crate::pipeline::{Settings, TransmissionParameter};
use crate::plane::{ReferencePolicy, Tolerance};
use crate::sheet::reference_name;
use crate::sheet::wording::exact;
use crate::table::ControllerMap;
use wasm_bindgen::JsCast;
use web_sys::{Element, HtmlInputElement, HtmlSelectElement};

/// One of the names that the sheet prints.
type NameOf = fn(&mut Settings) -> &mut String;

/// A change that a form asks for.
type Change = Box<dyn FnOnce(&mut Settings)>;

/// Listens to every form of the page.
pub fn listen(app: &Handle) {
    let reference: Element = by_id("reference");
    for policy in ReferencePolicy::ALL {
        let option = dom::make("option", reference_name(policy));
        dom::append(&reference, &option);
    }
    listen_layout(app);
    listen_rules(app);
    listen_naming(app);
    listen_controller(app);
    listen_reach(app);
    let names: [(&str, NameOf); 2] =
        [("part-name", |settings| &mut settings.part_name), ("operator", |settings| &mut settings.operator)];
    for (id, name) in names {
        let handle = app.clone();
        dom::on_id(id, "input", move |_| {
            app::change_settings(&handle, |settings| *name(settings) = dom::input_value(id));
        });
    }
    let handle = app.clone();
    dom::on_id("paper", "change", move |_| super::showing::render_soon(&handle));
    for id in ["lookup-gain", "lookup-phase"] {
        let handle = app.clone();
        dom::on_id(id, "input", move |_| {
            let shown = handle.borrow().shown.clone();
            if let Some(shown) = shown {
                super::view_words::show_lookup(&shown);
            }
        });
    }
    for id in ["rules", "controller", "reach-rules"] {
        dom::on_id(id, "submit", |event| event.prevent_default());
    }
}

/// Writes settings into the forms, except where the user is typing.
pub fn show_settings(app: &Handle) {
    let settings = app.borrow().settings().clone();
    dom::set_input("part-name", &settings.part_name);
    dom::set_input("operator", &settings.operator);
    dom::set_input("usable-share", &exact_input(settings.usable_share_pct));
    dom::set_input("ceiling", &settings.gain_ceiling_db.map(exact_input).unwrap_or_default());
    let map = &settings.controller_map;
    dom::set_input("bus-bits", &numbers(map.bus_bit.iter()));
    let inverted: Vec<u32> = (0..u32::BITS).filter(|bit| map.inverted >> bit & 1 == 1).collect();
    dom::set_input("bus-inverted", &numbers(inverted.iter()));
    by_id::<HtmlInputElement>("bus-reversed").set_checked(map.reversed);
    let transmission = match settings.transmission {
        TransmissionParameter::S21 => "S21",
        TransmissionParameter::S12 => "S12",
    };
    by_id::<HtmlSelectElement>("transmission").set_value(transmission);
}

/// Writes what the analysis uses into the rules, so that proposals can be seen and changed.
pub fn show_in_use(shown: &app::Shown) {
    let grid = &shown.report.intake.frequency_hz;
    let Ok(analysis) = &shown.report.analysis else { return };
    by_id::<HtmlSelectElement>("reference").set_value(reference_name(analysis.reference));
    let tolerance = &analysis.tolerance;
    dom::set_input("tolerance-gain", &exact_input(tolerance.gain_db));
    dom::set_input("tolerance-percent", &exact_input(tolerance.gain_pct_of_setting));
    dom::set_input("tolerance-phase", &exact_input(tolerance.phase_deg));
    dom::set_input("band-low", &exact_input(grid[*analysis.design_band.start()] / 1e9));
    dom::set_input("band-high", &exact_input(grid[*analysis.design_band.end()] / 1e9));
}

/// A number as an input takes it; without a limit the input is empty.
fn exact_input(value: f64) -> String {
    if value.is_finite() { format!("{value}") } else { String::new() }
}

fn numbers<T: std::fmt::Display>(values: impl Iterator<Item = T>) -> String {
    values.map(|value| value.to_string()).collect::<Vec<_>>().join(" ")
}

fn listen_rules(app: &Handle) {
    for id in [
        "reference",
        "tolerance-gain",
        "tolerance-percent",
        "tolerance-phase",
        "band-low",
        "band-high",
        "transmission",
    ] {
        let handle = app.clone();
        dom::on_id(id, "change", move |_| {
            let message = match rules(id) {
                Ok(change) => {
                    app::change_settings(&handle, change);
                    None
                }
                Err(reason) => Some(reason),
            };
            dom::set_message("rules-message", message.as_deref());
        });
    }
    let handle = app.clone();
    dom::on_id("rules-reset", "click", move |_| {
        app::change_settings(&handle, |settings| {
            let proposed = Settings::default();
            settings.reference = proposed.reference;
            settings.tolerance = None;
            settings.design_band_hz = None;
            settings.transmission = proposed.transmission;
        });
        dom::set_message("rules-message", None);
    });
}

/// The change that one of the rule inputs asks for.
fn rules(id: &str) -> Result<Change, String> {
    match id {
        "reference" => {
            let name = dom::selected("reference");
            let policy = ReferencePolicy::ALL.into_iter().find(|&policy| reference_name(policy) == name);
            let policy = policy.ok_or("There is no such reference.")?;
            Ok(Box::new(move |settings| settings.reference = policy))
        }
        "transmission" => {
            let transmission = match dom::selected("transmission").as_str() {
                "S12" => TransmissionParameter::S12,
                _ => TransmissionParameter::S21,
            };
            Ok(Box::new(move |settings| settings.transmission = transmission))
        }
        "band-low" | "band-high" => {
            let (low, high) = (
                positive("band-low", "The band's lower end")?,
                positive("band-high", "The band's upper end")?,
            );
            if low > high {
                return Err("The band's lower end lies above its upper end.".to_owned());
            }
            Ok(Box::new(move |settings| settings.design_band_hz = Some((low * 1e9, high * 1e9))))
        }
        _ => {
            let tolerance = Tolerance {
                gain_db: limit("tolerance-gain", "The gain tolerance")?,
                gain_pct_of_setting: number("tolerance-percent")?.unwrap_or(0.0),
                phase_deg: limit("tolerance-phase", "The phase tolerance")?,
            };
            if tolerance.gain_pct_of_setting < 0.0 {
                return Err("The gain tolerance cannot shrink with the setting.".to_owned());
            }
            Ok(Box::new(move |settings| settings.tolerance = Some(tolerance)))
        }
    }
}

/// The number in an input; `None` where it is empty.
fn number(id: &str) -> Result<Option<f64>, String> {
    let input: HtmlInputElement = by_id(id);
    let text = input.value();
    // A number input gives an empty value for what it cannot read.
    if text.trim().is_empty() && !input.validity().bad_input() {
        return Ok(None);
    }
    match text.trim().parse::<f64>() {
        Ok(value) if value.is_finite() => Ok(Some(value)),
        _ => Err("This is not a number. Write it with a decimal point, such as 0.25.".to_owned()),
    }
}

/// A tolerance; an empty input limits nothing.
fn limit(id: &str, name: &str) -> Result<f64, String> {
    match number(id)? {
        None => Ok(f64::INFINITY),
        Some(value) if value >= 0.0 => Ok(value),
        Some(_) => Err(format!("{name} cannot be negative.")),
    }
}

fn positive(id: &str, name: &str) -> Result<f64, String> {
    number(id)?
        .filter(|value| *value > 0.0)
        .ok_or_else(|| format!("{name} has to be a positive number of GHz."))
}

fn listen_naming(app: &Handle) {
    let handle = app.clone();
    dom::on_id("naming", "change", move |_| {
        let index = by_id::<HtmlSelectElement>("naming").selected_index();
        let shown = handle.borrow().shown.clone();
        let choices = shown.as_ref().map_or(&[][..], |shown| &shown.report.intake.naming_choices);
        if let Some(choice) = usize::try_from(index).ok().and_then(|index| choices.get(index)) {
            let naming = choice.naming;
            // Another reading gives other words: a layout given for the old ones no longer means anything.
            app::change_settings(&handle, |settings| {
                settings.naming = Some(naming);
                settings.layout = None;
            });
        }
    });
}

fn listen_reach(app: &Handle) {
    let handle = app.clone();
    dom::on_id("usable-share", "change", move |_| {
        let share = number("usable-share").map(|share| share.filter(|share| (0.0..=100.0).contains(share)));
        let message = match share {
            Ok(Some(share)) => {
                app::change_settings(&handle, |settings| settings.usable_share_pct = share);
                None
            }
            Ok(None) => Some("The share has to be a number from 0 to 100 %.".to_owned()),
            Err(reason) => Some(reason),
        };
        dom::set_message("reach-message", message.as_deref());
    });
}

fn listen_controller(app: &Handle) {
    for id in ["ceiling", "bus-bits", "bus-inverted", "bus-reversed"] {
        let handle = app.clone();
        dom::on_id(id, "change", move |_| {
            let message = match controller(&handle) {
                Ok((ceiling, map)) => {
                    app::change_settings(&handle, |settings| {
                        settings.gain_ceiling_db = ceiling;
                        settings.controller_map = map;
                    });
                    None
                }
                Err(reason) => Some(reason),
            };
            dom::set_message("controller-message", message.as_deref());
        });
    }
}

fn controller(app: &Handle) -> Result<(Option<f64>, ControllerMap), String> {
    let bus_bit = positions("bus-bits")?;
    let inverted = positions("bus-inverted")?.iter().fold(0_u32, |mask, bit| mask | 1 << bit);
    let map =
        ControllerMap { bus_bit, inverted, reversed: by_id::<HtmlInputElement>("bus-reversed").checked() };
    let bits = app.borrow().shown.as_ref().map(|shown| shown.report.intake.bits);
    if let Some(bits) = bits {
        map.check(bits).map_err(|error| error.to_string())?;
    }
    Ok((number("ceiling")?, map))
}

/// Bit positions separated by spaces or commas; "0-6" is a run of neighbours.
fn positions(id: &str) -> Result<Vec<u8>, String> {
    parse_positions(&dom::input_value(id))
}

fn parse_positions(text: &str) -> Result<Vec<u8>, String> {
    let refuse = |part: &str| {
        format!("“{part}” is no bit position; write numbers from 0 to 15, such as 0 1 2 or 0-6.")
    };
    let position = |part: &str| match part.parse::<u8>() {
        Ok(position) if usize::from(position) < Layout::MAX_BITS => Ok(position),
        _ => Err(refuse(part)),
    };
    let mut positions = Vec::new();
    for part in text.split([' ', ',']).filter(|part| !part.is_empty()) {
        match part.split_once('-') {
            Some((first, last)) => {
                let (first, last) = (position(first)?, position(last)?);
                if first <= last {
                    positions.extend(first..=last);
                } else {
                    positions.extend((last..=first).rev());
                }
            }
            None => positions.push(position(part)?),
        }
    }
    Ok(positions)
}

fn listen_layout(app: &Handle) {
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
        app::change_settings(&handle, |settings| settings.layout = None);
        dom::set_message("layout-message", None);
    });
}

/// Writes a layout into the form.
pub fn show_layout(layout: &Layout) {
    let body: Element = by_id("layout-fields");
    let active = dom::document().active_element();
    // A form that is being edited is left alone.
    if active.is_some_and(|element| body.contains(Some(&element))) {
        return;
    }
    body.set_text_content(None);
    for field in &layout.fields {
        dom::append(&body, &layout_row(field));
    }
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
    let step = input("number", "Step", &exact(field.step));
    dom::attribute(&step, "step", "any");
    let remove = dom::make("button", "Remove");
    dom::attribute(&remove, "type", "button");
    let this = row.clone();
    dom::on(&remove, "click", move |_| this.remove());
    let cells = [
        quantity,
        input("text", "Bits, least significant first", &positions_text(&positions)),
        input("text", "Inverted bits", &positions_text(&inverted)),
        step,
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
            direction: if choice(4) == 1 { Direction::Down } else { Direction::Up },
            levels: None,
        });
    }
    let layout = Layout { fields };
    layout.check().map_err(|error| error.to_string())?;
    Ok(layout)
}
