//! Names with one code per field: `A12_P33`, or `att_05/ph_13` with the fields in folders.
//!
//! Only where no single place of the name tells most of the files apart. A place counts as a field where its codes
//! include 0, or count from one: of two folders `25C` and `85C` neither is a code, nor is the day of a date. Places
//! without which the words stay as distinct are left out, the first ones first.

use super::codes::{beside_decimal_mark, binary_digits, bits_of_largest, code, counts_from_one};
use super::shape::{Name, Shape, digit_runs, hexadecimal_tails};
use super::{Candidate, Likelihood, NameStyle, StateKey, sentence};
use crate::control::{Layout, Word};
use std::collections::BTreeSet;

/// One place of the name, read.
pub(super) struct CodeField {
    /// Where it stands among the name's values.
    pub(super) place: usize,
    /// Its number system.
    pub(super) style: NameStyle,
    /// Its bits: the digits of a binary code, else what the largest code needs.
    pub(super) bits: usize,
    /// Per member of the shape: its code.
    codes: Vec<Option<u32>>,
}

/// The readings of the names as several codes each: none, or one.
pub(super) fn candidates(names: &[Name], paths: usize) -> Option<Candidate> {
    let decimal =
        Shape::commonest(names, digit_runs).and_then(|shape| combined(&shape, paths, decimal_style));
    let mut hexadecimal = Shape::commonest(names, hexadecimal_tails);
    if let Some(shape) = &mut hexadecimal {
        for place in shape.varying() {
            shape.give_back_shared_letters(place);
        }
    }
    let hexadecimal = hexadecimal.and_then(|shape| combined(&shape, paths, |_| NameStyle::Hexadecimal));
    // Fields in hexadecimal are read as decimal ones wherever the digits allow it for as many names.
    let told_apart = |candidate: &Option<Candidate>| candidate.as_ref().map_or(0, Candidate::distinct);
    if told_apart(&hexadecimal) > told_apart(&decimal) { hexadecimal } else { decimal }
}

fn decimal_style(values: &[&str]) -> NameStyle {
    if binary_digits(values) == Some(Likelihood::Plausible) {
        NameStyle::Binary
    } else if counts_from_one(values) {
        NameStyle::DecimalFromOne
    } else {
        NameStyle::Decimal
    }
}

fn combined(shape: &Shape, paths: usize, style_of: impl Fn(&[&str]) -> NameStyle) -> Option<Candidate> {
    let names = shape.members.len();
    let mut fields: Vec<CodeField> = Vec::new();
    for place in shape.varying() {
        let values: Vec<&str> = shape.values(place).collect();
        if 2 * values.iter().collect::<BTreeSet<_>>().len() > names {
            return None;
        }
        fields.extend(field(place, style_of(&values), &values));
    }
    drop_needless(&mut fields);
    if fields.len() < 2 {
        return None;
    }
    let bits: usize = fields.iter().map(|field| field.bits).sum();
    let mut words = vec![None; paths];
    let mut keys = vec![None; paths];
    let fits = bits <= Layout::MAX_BITS;
    if fits {
        for (member, code) in shape.members.iter().zip(joined(&fields)) {
            words[member.path] = code.map(Word);
        }
        for (index, member) in shape.members.iter().enumerate() {
            let codes: Option<Vec<u32>> = fields.iter().map(|field| field.codes[index]).collect();
            keys[member.path] = codes.map(StateKey::Codes);
        }
    }
    let distinct = words.iter().flatten().collect::<BTreeSet<_>>().len();
    let likelihood = if fields.iter().any(|field| beside_decimal_mark(shape, field.place)) {
        Likelihood::Doubtful
    } else if fits && distinct == 1 << bits {
        Likelihood::Complete
    } else {
        Likelihood::Plausible
    };
    let first = |field: &CodeField| shape.members[0].value(field.place);
    Some(Candidate {
        style: NameStyle::CodePerField,
        words,
        keys: Some(keys),
        bits: Some(bits),
        likelihood,
        with_folders: false,
        from_end: shape.texts.len() - fields[0].place,
        sentence: sentence::code_per_field(shape, &fields),
        otherwise: "Read as one code per field, the first field gives the most significant bits.".to_owned(),
        too_large: (!fits).then(|| fields.iter().map(first).collect::<Vec<_>>().join(" and ")),
        marks: Vec::new(),
    })
}

/// Reads one place as a field's code; `None` where it cannot be one.
fn field(place: usize, style: NameStyle, values: &[&str]) -> Option<CodeField> {
    let codes: Vec<Option<u32>> = values.iter().map(|value| code(value, style)).collect();
    let largest = codes.iter().flatten().max().copied()?;
    if !codes.contains(&Some(0)) || largest == 0 {
        return None;
    }
    let bits = match style {
        NameStyle::Binary => values.iter().map(|value| value.len()).max()?,
        _ => bits_of_largest(largest as usize),
    };
    Some(CodeField { place, style, bits, codes })
}

/// Takes out every field without which as many names are told apart.
fn drop_needless(fields: &mut Vec<CodeField>) {
    let told_apart = |fields: &[&CodeField]| {
        let mut seen = BTreeSet::new();
        for member in 0..fields.first().map_or(0, |field| field.codes.len()) {
            seen.insert(fields.iter().map(|field| field.codes[member]).collect::<Vec<_>>());
        }
        seen.len()
    };
    let all = told_apart(&fields.iter().collect::<Vec<_>>());
    let mut at = 0;
    while at < fields.len() {
        let others: Vec<&CodeField> =
            fields.iter().enumerate().filter(|&(index, _)| index != at).map(|(_, field)| field).collect();
        if told_apart(&others) == all {
            fields.remove(at);
        } else {
            at += 1;
        }
    }
}

/// The fields' codes side by side, the first field the most significant.
fn joined(fields: &[CodeField]) -> impl Iterator<Item = Option<u32>> {
    (0..fields[0].codes.len()).map(move |member| {
        fields.iter().try_fold(0, |word, field| Some(word << field.bits | field.codes[member]?))
    })
}
