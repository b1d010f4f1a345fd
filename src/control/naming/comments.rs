//! Settings that stand only in the comments of the files: `! phase_shift = 20deg`.

use super::codes::bits_of_largest;
use super::settings::{Column, decimal_numbers, from_columns, number, unit_at_start};
use super::{Candidate, Likelihood, NameReading, NameStyle, NoReading, choose};
use crate::control::{Layout, Word};
use std::collections::BTreeMap;

/// The ways of reading the files' comments, the likelier first and at least one.
///
/// `comments[k]` are the comment lines of file k, with or without the exclamation mark. A setting is written as a
/// name, `=` or `:`, a number, and perhaps a unit; names are compared without regard to case. The names that most of
/// the files have count, and of these the ones whose numbers differ; of a name that a file gives twice, the first.
/// Words are the ranks of the settings, ascending, as for names with settings ([`super::readings`]).
pub fn settings_in_comments(comments: &[Vec<String>]) -> Result<Vec<NameReading>, NoReading> {
    let files = comments.len();
    if files == 0 {
        return Err(NoReading::NoSParameterFiles);
    }
    let mut columns: BTreeMap<String, Column> = BTreeMap::new();
    for (file, lines) in comments.iter().enumerate() {
        for pair in lines.iter().filter_map(|line| Pair::in_line(line)) {
            let column = columns.entry(pair.name.clone()).or_insert_with(|| Column {
                label: pair.name,
                unit: None,
                marked: true,
                whole: true,
                values: vec![None; files],
            });
            if column.values[file].is_none() {
                column.values[file] = Some(pair.value);
                column.whole &= pair.value.fract() == 0.0;
                column.unit = column.unit.take().or_else(|| unit_at_start(&pair.rest));
            }
        }
    }
    let kept = columns.into_values().filter(|column| {
        let mut known = column.values.iter().flatten();
        let first = known.next();
        2 * column.values.iter().flatten().count() > files && known.any(|value| Some(value) != first)
    });
    let kept: Vec<Column> = kept.map(|column| Column { marked: column.unit.is_some(), ..column }).collect();
    let mut candidates: Vec<Candidate> = kept.iter().filter_map(codes).collect();
    candidates.extend(from_columns(kept, files, "The comments in each file hold"));
    choose(&candidates, files)
}

/// Whether a comment line holds a name with a number, so that [`settings_in_comments`] can use it.
pub fn looks_like_setting(line: &str) -> bool {
    Pair::in_line(line).is_some()
}

/// Whole numbers without a unit are words.
fn codes(column: &Column) -> Option<Candidate> {
    let word = |value: f64| {
        // Whole, as checked below, so the text has neither decimals nor an exponent.
        value.to_string().parse().ok().filter(|word: &u32| *word < 1 << Layout::MAX_BITS).map(Word)
    };
    if column.unit.is_some() || !column.whole {
        return None;
    }
    let words: Vec<Option<Word>> = column.values.iter().map(|value| value.and_then(word)).collect();
    let largest = words.iter().flatten().max()?.0;
    Some(Candidate {
        style: NameStyle::Decimal,
        words,
        keys: None,
        bits: Some(bits_of_largest(largest as usize)),
        likelihood: Likelihood::Plausible,
        with_folders: false,
        from_end: 0,
        sentence: format!("The comments in each file hold a decimal code “{}”.", column.label),
        otherwise: format!(
            "“{}” in the comments, read as a decimal code, would give the word.",
            column.label
        ),
        too_large: None,
        marks: Vec::new(),
    })
}

/// A name and its number.
struct Pair {
    name: String,
    value: f64,
    /// What follows the number.
    rest: String,
}

impl Pair {
    fn in_line(line: &str) -> Option<Self> {
        let line = line.trim_start_matches('!').trim();
        let (name, text) = line.split_once(['=', ':'])?;
        let name = name.trim().to_lowercase();
        let text = text.trim();
        let range = decimal_numbers(text).into_iter().next().filter(|range| range.start == 0)?;
        let value = number(&text[range.clone()])?;
        (!name.is_empty()).then(|| Self { name, value, rest: text[range.end..].to_owned() })
    }
}

#[cfg(test)]
mod tests {
    use super::super::StateKey;
    use super::*;

    fn file(lines: &[&str]) -> Vec<String> {
        lines.iter().map(|line| (*line).to_owned()).collect()
    }

    #[test]
    fn the_setting_that_differs_is_read() {
        let comments: Vec<Vec<String>> = ["20deg", "0deg", "180 deg", "-45.5deg"]
            .iter()
            .map(|shift| {
                file(&["! IFBW: 1 kHz", "! taken on 2026-03-01 12:00", &format!("! Phase_Shift = {shift}")])
            })
            .chain([file(&["! a through line"])])
            .collect();
        let reading = &settings_in_comments(&comments).unwrap()[0];
        assert_eq!(reading.style, NameStyle::Settings, "{}", reading.sentence);
        let ranks: Vec<_> = reading.words.iter().map(|word| word.map(|word| word.0)).collect();
        assert_eq!(ranks, [Some(2), Some(1), Some(3), Some(0), None]);
        assert_eq!(reading.keys[0], Some(StateKey::Setting { gain_db: None, phase_deg: Some(20.0) }));
    }

    #[test]
    fn whole_numbers_are_words() {
        let comments: Vec<Vec<String>> = (0..8).map(|word| file(&[&format!("! word = {word}")])).collect();
        let reading = &settings_in_comments(&comments).unwrap()[0];
        assert_eq!((reading.style, reading.bits), (NameStyle::Decimal, Some(3)));
        assert_eq!(reading.words, (0..8).map(|word| Some(Word(word))).collect::<Vec<_>>());
    }

    #[test]
    fn comments_without_a_setting_say_so() {
        let comments = vec![file(&["! IFBW: 1 kHz"]), file(&["! IFBW: 1 kHz"])];
        assert_eq!(settings_in_comments(&comments), Err(NoReading::NothingVaries { files: 2 }));
    }
}
