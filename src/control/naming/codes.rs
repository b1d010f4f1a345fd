//! Names with one code: binary, decimal or hexadecimal.
//!
//! The same digits can often be read in more than one way. The rules:
//!
//! * Digits that are all 0 or 1 are binary where their number equals the bits that the count of names needs
//!   (`000` … `111` are eight), or where at least three names of one length use both digits at every place (`0001`,
//!   `0010`, `0100`, `1000`: a decimal count would leave 2 to 9 unused everywhere). Decimal is then doubtful, else
//!   binary is. `0b` before them says binary.
//! * Digits without a letter are decimal; hexadecimal is doubtful (`00` … `15`), and not offered
//!   where all digits are 0 or 1.
//! * Hexadecimal needs letters in at least one name of twenty, or a mark (`0x`, a last `h`): a stray `bad` beside
//!   decimal names is no code.
//! * A place beside a decimal mark (`0.5`) is doubtful unless its words are complete.
//! * The numbers 1 … 2^n without 0 count the words from one.

use super::shape::{Name, Shape, digit_runs, hexadecimal_tails};
use super::{Candidate, Likelihood, NameStyle, sentence};
use crate::control::{Layout, Word};
use std::collections::BTreeSet;

/// Every reading of the names as one code each. `paths` is the length of the lists of words.
pub(super) fn candidates(names: &[Name], paths: usize) -> Vec<Candidate> {
    let mut found = Vec::new();
    if let Some(shape) = Shape::commonest(names, digit_runs) {
        for place in shape.varying() {
            let values: Vec<&str> = shape.values(place).collect();
            let marked =
                place > 0 && shape.texts[place] == "b" && shape.values(place - 1).all(|value| value == "0");
            let binary = binary_digits(&values).map(|own| if marked { Likelihood::Marked } else { own });
            let binary_is_likelier = binary.is_some_and(|binary| binary < Likelihood::Doubtful);
            found.push(decimal(&shape, place, paths, binary_is_likelier));
            found.extend(decimal_from_one(&shape, place, paths));
            if let Some(likelihood) = binary {
                found.push(candidate(&shape, place, paths, NameStyle::Binary, likelihood));
            }
        }
    }
    if let Some(mut shape) = Shape::commonest(names, hexadecimal_tails) {
        for place in shape.varying() {
            shape.give_back_shared_letters(place);
            let likelihood = hexadecimal_likelihood(&shape, place);
            let only_bits = binary_digits(&shape.values(place).collect::<Vec<_>>()).is_some();
            if only_bits && likelihood == Likelihood::Doubtful {
                continue;
            }
            found.push(candidate(&shape, place, paths, NameStyle::Hexadecimal, likelihood));
        }
    }
    found
}

fn decimal(shape: &Shape, place: usize, paths: usize, binary_is_likelier: bool) -> Candidate {
    let likelihood = if binary_is_likelier { Likelihood::Doubtful } else { Likelihood::Plausible };
    candidate(shape, place, paths, NameStyle::Decimal, likelihood)
}

/// The numbers less one, where they are exactly 1 … 2^n with n ≥ 2: a count from one.
fn decimal_from_one(shape: &Shape, place: usize, paths: usize) -> Option<Candidate> {
    counts_from_one(&shape.values(place).collect::<Vec<_>>())
        .then(|| candidate(shape, place, paths, NameStyle::DecimalFromOne, Likelihood::Plausible))
}

/// Whether the decimal values are exactly 1 … 2^n with n ≥ 2.
pub(super) fn counts_from_one(values: &[&str]) -> bool {
    let numbers: BTreeSet<Option<u32>> = values.iter().map(|value| value.parse().ok()).collect();
    let count = numbers.len();
    count >= 4
        && count.is_power_of_two()
        && numbers.first() == Some(&Some(1))
        && numbers.last() == Some(&u32::try_from(count).ok())
}

/// Whether the values can be binary: `None` where other digits occur, or where all have a single digit and so say
/// the same in every number system.
pub(super) fn binary_digits(values: &[&str]) -> Option<Likelihood> {
    if longest(values) < 2
        || !values.iter().all(|value| value.bytes().all(|digit| matches!(digit, b'0' | b'1')))
    {
        return None;
    }
    let distinct: BTreeSet<&str> = values.iter().copied().collect();
    let digits = longest(values);
    let full = digits == bits_of_largest(distinct.len().saturating_sub(1));
    let one_length = values.iter().all(|value| value.len() == digits);
    let uses_both =
        |place: usize| distinct.iter().any(|value| value.as_bytes()[place] != values[0].as_bytes()[place]);
    let every_place = one_length && distinct.len() >= 3 && (0..digits).all(uses_both);
    Some(if full || every_place { Likelihood::Plausible } else { Likelihood::Doubtful })
}

fn hexadecimal_likelihood(shape: &Shape, place: usize) -> Likelihood {
    let before = &shape.texts[place];
    let after = &shape.texts[place + 1];
    if before.ends_with("0x") || after.starts_with('h') {
        return Likelihood::Marked;
    }
    let with_letters =
        shape.values(place).filter(|value| value.bytes().any(|digit| digit.is_ascii_alphabetic())).count();
    if 20 * with_letters >= shape.members.len() { Likelihood::Plausible } else { Likelihood::Doubtful }
}

/// Reads one place of every name in one style.
fn candidate(
    shape: &Shape,
    place: usize,
    paths: usize,
    style: NameStyle,
    likelihood: Likelihood,
) -> Candidate {
    let values: Vec<&str> = shape.values(place).collect();
    let padded = padded_length(&values);
    let mut words = vec![None; paths];
    let mut too_large = None;
    for member in &shape.members {
        let value = member.value(place);
        // A padded hexadecimal code has one length: `add` beside four digits is a word of English.
        if style == NameStyle::Hexadecimal && padded.is_some_and(|digits| value.len() != digits) {
            continue;
        }
        match code(value, style) {
            Some(code) => words[member.path] = Some(Word(code)),
            None => too_large = Some(value.to_owned()),
        }
    }
    let distinct: BTreeSet<Word> = words.iter().copied().flatten().collect();
    let bits = match style {
        NameStyle::Binary => longest(&values),
        _ => bits_of_largest(distinct.last().map_or(0, |word| word.0 as usize)),
    };
    let complete = bits <= Layout::MAX_BITS && distinct.len() == 1 << bits;
    let likelihood = match likelihood {
        Likelihood::Plausible if complete => Likelihood::Complete,
        Likelihood::Plausible if beside_decimal_mark(shape, place) => Likelihood::Doubtful,
        likelihood => likelihood,
    };
    let span = distinct.first().zip(distinct.last()).map(|(first, last)| (first.0, last.0));
    Candidate {
        style,
        keys: None,
        bits: Some(bits),
        likelihood,
        with_folders: false,
        from_end: shape.texts.len() - place,
        sentence: sentence::one_code(shape, place, style, padded, span),
        otherwise: sentence::otherwise(style, span),
        words,
        too_large,
        marks: Vec::new(),
    }
}

/// Whether a place is the whole or the broken part of what may be a number with decimals.
pub(super) fn beside_decimal_mark(shape: &Shape, place: usize) -> bool {
    let is_mark =
        |at: usize| at > 0 && at + 1 < shape.texts.len() && matches!(shape.texts[at].as_str(), "." | ",");
    is_mark(place) || is_mark(place + 1)
}

/// A code's value; `None` where it is none or needs more bits than a word may have.
pub(super) fn code(value: &str, style: NameStyle) -> Option<u32> {
    let radix = match style {
        NameStyle::Binary => 2,
        NameStyle::Hexadecimal => 16,
        _ => 10,
    };
    let number = u32::from_str_radix(value, radix).ok()?;
    let number = if style == NameStyle::DecimalFromOne { number.checked_sub(1)? } else { number };
    (number < 1 << Layout::MAX_BITS).then_some(number)
}

/// The bits that a number needs, at least one.
pub(super) fn bits_of_largest(number: usize) -> usize {
    (usize::BITS - number.leading_zeros()).max(1) as usize
}

fn longest(values: &[&str]) -> usize {
    values.iter().map(|value| value.len()).max().unwrap_or(0)
}

/// The number of digits that most values have, where one of them shows by a leading zero that it was padded.
fn padded_length(values: &[&str]) -> Option<usize> {
    let digits = values
        .iter()
        .map(|value| value.len())
        .max_by_key(|&length| (values.iter().filter(|value| value.len() == length).count(), length))?;
    let padded = values.iter().any(|value| value.len() == digits && digits > 1 && value.starts_with('0'));
    padded.then_some(digits)
}
