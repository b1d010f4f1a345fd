//! Inputs of the forms: numbers and bit positions as they are written into inputs and read from them.

use crate::control::Layout;
use crate::page::dom::{self, by_id};
use web_sys::HtmlInputElement;

/// What a form was last filled with. What the user types there stays until something else is in use.
pub const FILLED: &str = "data-filled";

/// A number as an input takes it; without a limit the input is empty.
pub fn exact_input(value: f64) -> String {
    if value.is_finite() { format!("{value}") } else { String::new() }
}

/// Values separated by spaces.
pub fn numbers<T: std::fmt::Display>(values: impl Iterator<Item = T>) -> String {
    values.map(|value| value.to_string()).collect::<Vec<_>>().join(" ")
}

/// The number in an input; `None` where it is empty.
pub fn number(id: &str) -> Result<Option<f64>, String> {
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

/// Bit positions separated by spaces or commas; "0-6" is a run of neighbours.
pub fn positions(id: &str) -> Result<Vec<u8>, String> {
    parse_positions(&dom::input_value(id))
}

/// The same of a text.
pub fn parse_positions(text: &str) -> Result<Vec<u8>, String> {
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
