//! The reason of a guess, in words for the user.

use super::series::{Series, usual_step};
use super::{BitEvidence, BitRole, GuessError};
use crate::control::{Direction, Field, Layout, Quantity};

/// One sentence for each field, then what is odd.
pub(super) fn reason(layout: &Layout, series: &[Series], evidence: &[BitEvidence]) -> String {
    let mut sentences: Vec<String> = layout
        .fields
        .iter()
        .filter_map(|field| {
            let of_this_field = |series: &&Series| {
                let bit = series.bits.first().map(|bit| bit.position);
                field.bits.iter().any(|own| Some(own.position) == bit)
            };
            let series = series.iter().find(of_this_field)?;
            Some(of_field(field, series))
        })
        .collect();
    for bit in evidence.iter().filter(|bit| bit.inverted) {
        sentences.push(format!(
            "Bit {} works against the others of its field and is taken to be inverted.",
            bit.position
        ));
    }
    let idle: Vec<u8> =
        evidence.iter().filter(|bit| bit.role == BitRole::Idle).map(|bit| bit.position).collect();
    if let [bit] = idle[..] {
        sentences.push(format!("Bit {bit} changes nothing; it is put where it does the least harm."));
    } else if !idle.is_empty() {
        sentences
            .push(format!("Bits {} change nothing; they are put where they do the least harm.", list(&idle)));
    }
    sentences.join(" ")
}

/// "Bits 0 to 6 turn the phase in a doubling series from 2.790°: a phase field with a step of 2.8125°, the nearest usual one; a
/// larger code lags."
fn of_field(field: &Field, series: &Series) -> String {
    let positions: Vec<u8> = series.bits.iter().map(|bit| bit.position).collect();
    let unit = unit(field.quantity);
    let (does, what) = match field.quantity {
        Quantity::Gain => ("change the gain", "a gain field"),
        Quantity::Phase => ("turn the phase", "a phase field"),
    };
    let (does, who) = match positions[..] {
        [one] => {
            let does = if field.quantity == Quantity::Gain { "changes the gain" } else { "turns the phase" };
            (format!("{does} by {:.3}{unit}", series.fitted_step), format!("Bit {one}"))
        }
        _ => (
            format!("{does} in a doubling series from {:.3}{unit}", series.fitted_step),
            format!("Bits {}", span(&positions)),
        ),
    };
    let direction = match (field.quantity, field.direction) {
        (Quantity::Gain, Direction::Up) => "a larger code gives more gain",
        (Quantity::Gain, Direction::Down) => "a larger code attenuates more",
        (Quantity::Phase, Direction::Up) => "a larger code leads",
        (Quantity::Phase, Direction::Down) => "a larger code lags",
    };
    let usual = if usual_step(field.quantity, series.fitted_step).is_some() {
        "the nearest usual one"
    } else {
        "as measured, near no usual one"
    };
    let circle = if series.fills_the_circle() && series.bits.len() > 1 {
        " (or all of its bits are inverted: phase alone cannot tell)"
    } else {
        ""
    };
    format!("{who} {does}: {what} with a step of {}{unit}, {usual}; {direction}{circle}.", field.step)
}

/// "0 to 6", "11 down to 7", or "0, 2 and 5 in this order".
fn span(positions: &[u8]) -> String {
    let rising = positions.windows(2).all(|pair| pair[1] == pair[0] + 1);
    let falling = positions.windows(2).all(|pair| pair[0] == pair[1] + 1);
    match (positions.first(), positions.last()) {
        (Some(first), Some(last)) if rising => format!("{first} to {last}"),
        (Some(first), Some(last)) if falling => format!("{first} down to {last}"),
        _ => format!("{} in this order", list(positions)),
    }
}

/// "0, 2 and 5".
fn list(positions: &[u8]) -> String {
    let texts: Vec<String> = positions.iter().map(u8::to_string).collect();
    match texts.split_last() {
        Some((last, others)) if !others.is_empty() => format!("{} and {last}", others.join(", ")),
        Some((last, _)) => last.clone(),
        None => String::new(),
    }
}

fn unit(quantity: Quantity) -> &'static str {
    match quantity {
        Quantity::Gain => " dB",
        Quantity::Phase => "°",
    }
}

impl std::fmt::Display for GuessError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::NoBits => write!(f, "There are no bits to guess a layout from."),
            Self::TooManyBits(bits) => {
                write!(f, "{bits} bits are more than the {} that are supported.", Layout::MAX_BITS)
            }
            Self::NotFinite(bit) => write!(f, "The weight of bit {bit} is not a number."),
            Self::AllIdle => write!(f, "No bit of the word changes the transmission."),
            Self::NotDoubling { quantity, weights } => {
                let unit = unit(*quantity);
                let weights: Vec<String> = weights
                    .iter()
                    .map(|(position, size)| format!("bit {position}: {size:.2}{unit}"))
                    .collect();
                let kind = match quantity {
                    Quantity::Gain => "gain",
                    Quantity::Phase => "phase",
                };
                write!(
                    f,
                    "The {kind} bits do not double from one to the next ({}), so the layout has to be given.",
                    weights.join(", ")
                )
            }
        }
    }
}
