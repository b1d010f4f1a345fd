//! How names were read, in words for the user.

use super::fields::CodeField;
use super::shape::Shape;
use super::{Candidate, NameReading, NameStyle};

/// Makes readings of candidates in order, each with the sentences on what was left out and on the next likely one.
pub(super) fn finish(candidates: &[&Candidate], files: usize) -> Vec<NameReading> {
    let reading = |(index, candidate): (usize, &&Candidate)| {
        let without = files - candidate.words.iter().flatten().count();
        let verb = if without == 1 { "gives" } else { "give" };
        let mut sentences = vec![candidate.sentence.clone()];
        if without > 0 {
            sentences.push(format!("{without} of the {files} S-parameter files {verb} no word."));
        }
        let meaning = sentences.join(" ");
        // The likeliest is weighed against the next one, every other against the likeliest.
        let alternative = candidates.get(usize::from(index == 0));
        sentences.extend(alternative.map(|alternative| alternative.otherwise.clone()));
        let sentence = sentences.join(" ");
        NameReading {
            style: candidate.style,
            words: candidate.words.clone(),
            keys: (0..candidate.words.len()).map(|path| candidate.key(path)).collect(),
            bits: candidate.bits,
            marks: candidate.marks.clone(),
            meaning,
            sentence,
        }
    };
    candidates.iter().enumerate().map(reading).collect()
}

/// "Each name ends in a 3-digit hexadecimal code."
pub(super) fn one_code(
    shape: &Shape,
    place: usize,
    style: NameStyle,
    padded: Option<usize>,
    span: Option<(u32, u32)>,
) -> String {
    let length = padded.map_or(String::new(), |digits| format!("{digits}-digit "));
    let kind = match style {
        NameStyle::Binary => format!("{length}binary code, most significant bit first"),
        NameStyle::DecimalFromOne => {
            let (first, last) = span.unwrap_or((0, 0));
            return format!(
                "{} a {length}number that counts from 1, read as the words {first} to {last}.",
                where_it_stands(shape, place)
            );
        }
        _ => format!("{length}{} code", system(style)),
    };
    format!("{} a {kind}.", where_it_stands(shape, place))
}

/// "Read as decimal codes, the words would run from 0 to 15."
pub(super) fn otherwise(style: NameStyle, span: Option<(u32, u32)>) -> String {
    let (first, last) = span.unwrap_or((0, 0));
    let kind = match style {
        NameStyle::DecimalFromOne => "a count from 1".to_owned(),
        _ => format!("{} codes", system(style)),
    };
    format!("Read as {kind}, the words would run from {first} to {last}.")
}

/// "Each name holds one code per field: a (5 bits) and p (6 bits), the first the most significant."
pub(super) fn code_per_field(shape: &Shape, fields: &[CodeField]) -> String {
    let named: Vec<String> = fields
        .iter()
        .map(|field| {
            let label = label(&shape.texts[field.place]);
            let system = match field.style {
                NameStyle::DecimalFromOne => "counted from 1".to_owned(),
                style => system(style).to_owned(),
            };
            let bits = if field.bits == 1 { "1 bit".to_owned() } else { format!("{} bits", field.bits) };
            if label.is_empty() {
                format!("{system}, {bits}")
            } else {
                format!("“{label}” {system}, {bits}")
            }
        })
        .collect();
    format!("Each name holds one code per field, the most significant first: {}.", named.join("; "))
}

/// The letters just before a value, without what separates them from it.
pub(super) fn label(text: &str) -> &str {
    let trimmed = text.trim_end_matches(|c: char| !c.is_alphanumeric());
    let start = trimmed
        .rfind(|c: char| !c.is_alphabetic())
        .map_or(0, |at| at + trimmed[at..].chars().next().map_or(0, char::len_utf8));
    &trimmed[start..]
}

fn where_it_stands(shape: &Shape, place: usize) -> &'static str {
    let first = place == 0 && shape.texts[0].is_empty();
    let last = place + 2 == shape.texts.len() && shape.texts[place + 1].is_empty();
    match (first, last) {
        (true, true) => "Each name is",
        (true, false) => "Each name begins with",
        (false, true) => "Each name ends in",
        (false, false) => "Each name holds",
    }
}

fn system(style: NameStyle) -> &'static str {
    match style {
        NameStyle::Binary => "binary",
        NameStyle::Hexadecimal => "hexadecimal",
        _ => "decimal",
    }
}
