//! Codes that are written in a way of their own: thermometer words, and several two-digit words in a row.

use super::codes::bits_of_largest;
use super::shape::{Name, Shape, digit_runs};
use super::{Candidate, Likelihood, NameStyle, StateKey};
use crate::control::{Layout, Word};
use std::collections::BTreeSet;

/// Every reading of the names as thermometer words or rows of two-digit words.
pub(super) fn candidates(names: &[Name], paths: usize) -> Vec<Candidate> {
    let Some(shape) = Shape::commonest(names, digit_runs) else { return Vec::new() };
    let places = shape.varying();
    let thermometer = places.iter().filter_map(|&place| thermometer(&shape, place, paths));
    let rows = places.iter().filter_map(|&place| two_digit_words(&shape, place, paths));
    thermometer.chain(rows).collect()
}

/// A thermometer word has as many ones as lines are on, all at one end; its code is their number, so equal lines make
/// a doubling field of the code's bits. Lengths may differ (`1`, `11`, `111`). Fewer than four words are as likely
/// binary (`00`, `01`, `11`).
fn thermometer(shape: &Shape, place: usize, paths: usize) -> Option<Candidate> {
    let values: Vec<&str> = shape.values(place).collect();
    let sorted = |pattern: &str| values.iter().all(|value| !value.contains(pattern));
    let only_bits = values.iter().all(|value| value.bytes().all(|digit| matches!(digit, b'0' | b'1')));
    let distinct = values.iter().collect::<BTreeSet<_>>().len();
    if !only_bits || !(sorted("10") || sorted("01")) || distinct < 4 {
        return None;
    }
    let mut words = vec![None; paths];
    for member in &shape.members {
        let ones = member.value(place).bytes().filter(|digit| *digit == b'1').count();
        words[member.path] = u32::try_from(ones).ok().map(Word);
    }
    let counts: BTreeSet<Word> = words.iter().copied().flatten().collect();
    let largest = counts.last()?.0;
    let bits = bits_of_largest(largest as usize);
    Some(Candidate {
        style: NameStyle::Thermometer,
        words,
        keys: None,
        bits: Some(bits),
        likelihood: if counts.len() == 1 << bits { Likelihood::Complete } else { Likelihood::Plausible },
        with_folders: false,
        from_end: shape.texts.len() - place,
        sentence: "Each name holds a thermometer word; the code is the number of its ones.".to_owned(),
        otherwise: format!(
            "Read as thermometer words, the codes would run up to {largest}, the number of ones."
        ),
        too_large: None,
        marks: Vec::new(),
    })
}

/// A row of two-digit decimal codes (`00040812`), the first the most significant. Likely only where the words are all
/// that their bits can make: a time of day looks the same.
fn two_digit_words(shape: &Shape, place: usize, paths: usize) -> Option<Candidate> {
    let digits = shape.values(place).next()?.len();
    if digits < 4 || digits % 2 == 1 || shape.values(place).any(|value| value.len() != digits) {
        return None;
    }
    let code = |value: &str, at: usize| value[2 * at..2 * at + 2].parse::<u32>().ok();
    let bits: Vec<usize> = (0..digits / 2)
        .map(|at| match shape.values(place).filter_map(|value| code(value, at)).max() {
            None | Some(0) => 0,
            Some(largest) => bits_of_largest(largest as usize),
        })
        .collect();
    let has_zero = |at: usize| shape.values(place).any(|value| code(value, at) == Some(0));
    let all_bits: usize = bits.iter().sum();
    if all_bits > Layout::MAX_BITS || all_bits == 0 || !(0..bits.len()).all(has_zero) {
        return None;
    }
    let mut words = vec![None; paths];
    let mut keys = vec![None; paths];
    for member in &shape.members {
        let codes: Option<Vec<u32>> = (0..bits.len()).map(|at| code(member.value(place), at)).collect();
        if let Some(codes) = codes {
            words[member.path] =
                Some(Word(codes.iter().zip(&bits).fold(0, |word, (code, bits)| word << bits | code)));
            keys[member.path] = Some(StateKey::Codes(codes));
        }
    }
    let distinct = words.iter().flatten().collect::<BTreeSet<_>>().len();
    let likelihood = if distinct == 1 << all_bits { Likelihood::Complete } else { Likelihood::Doubtful };
    Some(Candidate {
        style: NameStyle::TwoDigitWords,
        words,
        keys: Some(keys),
        bits: Some(all_bits),
        likelihood,
        with_folders: false,
        from_end: shape.texts.len() - place,
        sentence: format!(
            "Each name holds {} two-digit decimal codes in a row, the first the most significant.",
            digits / 2
        ),
        otherwise: "Read as two-digit codes in a row, the first gives the most significant bits.".to_owned(),
        too_large: None,
        marks: Vec::new(),
    })
}
