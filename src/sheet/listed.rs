//! Listed settings and marks in words.

use super::wording::{counted, exact, joined, named, whole};
use crate::control::Word;
use crate::control::naming::StateKey;
use crate::run::{Intake, Listed};

/// A series is told from a list by at least so many settings.
const SHORTEST_SERIES: usize = 5;

/// Where at most this part of a series' settings is absent, they were meant to be there.
const MOST_ABSENT: f64 = 0.1;

/// "word 7", or "word 7 (3.5 V)" where words are ranks of listed settings.
pub(super) fn word_name(intake: &Intake, word: Word) -> String {
    match listed_in_use(intake).and_then(|listed| setting_name(listed, word)) {
        Some(setting) => format!("word {} ({setting})", word.0),
        None => format!("word {}", word.0),
    }
}

/// What a state goes by where there is little room: its setting, "3.5 V", where words are ranks of listed settings, which nobody
/// was told; else "word 7".
pub fn state_name(intake: &Intake, word: Word) -> String {
    let setting = listed_in_use(intake).and_then(|listed| setting_name(listed, word));
    setting.unwrap_or_else(|| format!("word {}", word.0))
}

/// The word that is meant by what somebody typed: a setting, "−3", "7.5 V" or "7,5", where words are ranks of listed settings
/// that are single numbers; else the word's own number.
pub fn word_meant(intake: &Intake, typed: &str) -> Option<Word> {
    meant(single_values(intake).as_deref(), typed.trim())
}

fn meant(values: Option<&[f64]>, typed: &str) -> Option<Word> {
    let Some(values) = values else { return typed.parse().ok().map(Word) };
    let figures = typed.replace(',', ".").replace('\u{2212}', "-");
    // A unit may stand behind it.
    let end = figures.find(|c: char| !matches!(c, '0'..='9' | '.' | '+' | '-')).unwrap_or(figures.len());
    let number: f64 = figures[..end].parse().ok()?;
    let rank = values.iter().position(|value| *value == number)?;
    u32::try_from(rank).ok().map(Word)
}

/// What is written of a word where one is asked for: its setting where words are ranks of settings that are single numbers,
/// else its number. [`word_meant`] reads it.
pub fn word_typed(intake: &Intake, word: Word) -> String {
    typed_as(single_values(intake).as_deref(), word)
}

fn typed_as(values: Option<&[f64]>, word: Word) -> String {
    let value = values.and_then(|values| values.get(word.0 as usize));
    value.map_or_else(|| word.0.to_string(), ToString::to_string)
}

/// The numbers that name the states of a listing, rank by rank; `None` where words are bits or some state has more than one.
fn single_values(intake: &Intake) -> Option<Vec<f64>> {
    let single = |key: &StateKey| match numbers(key)[..] {
        [(_, value)] => Some(value),
        _ => None,
    };
    listed_in_use(intake)?.keys.iter().map(single).collect()
}

/// What is missing of a run, in words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Missing {
    /// "1 missing word", "2 missing settings", "2 missing states".
    pub summary: String,
    /// "Words 3 and 7", "−3 dB and −3.5 dB".
    pub names: String,
}

/// The missing words, up to `most` of them by name, the rest counted; `None` where none is missing. Words that are ranks
/// of listed settings go by the settings' names.
pub fn missing(intake: &Intake, most: usize) -> Option<Missing> {
    if intake.missing.is_empty() {
        return None;
    }
    let count = intake.missing.len();
    let Some(listed) = listed_in_use(intake) else {
        let words: Vec<u32> = intake.missing.iter().map(|word| word.0).collect();
        let summary = counted(count, "missing word", "missing words");
        return Some(Missing { summary, names: named("Word", "Words", &words, most) });
    };
    let name = |&word: &Word| setting_name(listed, word).unwrap_or_else(|| format!("word {}", word.0));
    let mut names: Vec<String> = intake.missing.iter().take(most).map(name).collect();
    if count > most {
        names.push(format!("{} more", whole(count - most)));
    }
    let (one, many) = kind(listed);
    let summary = counted(count, &format!("missing {one}"), &format!("missing {many}"));
    Some(Missing { summary, names: joined(&names) })
}

/// The listing where the words are its ranks; `None` where they are bits.
pub(super) fn listed_in_use(intake: &Intake) -> Option<&Listed> {
    intake.listed.as_ref().filter(|_| intake.bits == 0)
}

/// What the entries of a listing are, one and several: wanted gains and phases are settings, a control voltage or a mark
/// of a dial is only the name of a state.
pub(super) fn kind(listed: &Listed) -> (&'static str, &'static str) {
    if listed.keys.iter().all(|key| matches!(key, StateKey::Setting { .. })) {
        ("setting", "settings")
    } else {
        ("state", "states")
    }
}

/// "−16.5 dB", "−3 dB and 45°", "7.5 V", "dial 3".
pub(super) fn setting_name(listed: &Listed, word: Word) -> Option<String> {
    let key = listed.keys.get(word.0 as usize)?;
    let numbers = numbers(key);
    let parts: Vec<String> =
        numbers.iter().map(|&(place, value)| with_unit(listed, key, place, value)).collect();
    Some(joined(&parts))
}

/// The numbers of a key, each with its place.
fn numbers(key: &StateKey) -> Vec<(usize, f64)> {
    match key {
        StateKey::Setting { gain_db, phase_deg } => [*gain_db, *phase_deg]
            .into_iter()
            .enumerate()
            .filter_map(|(at, value)| Some((at, value?)))
            .collect(),
        StateKey::Marks(marks) => marks.iter().copied().enumerate().collect(),
        StateKey::Word(word) => vec![(0, f64::from(word.0))],
        StateKey::Codes(codes) => codes.iter().map(|&code| f64::from(code)).enumerate().collect(),
    }
}

fn with_unit(listed: &Listed, key: &StateKey, place: usize, value: f64) -> String {
    let number = exact(value);
    match (key, listed.marks.get(place)) {
        (StateKey::Setting { .. }, _) if place == 0 => format!("{number} dB"),
        (StateKey::Setting { .. }, _) => format!("{number}°"),
        (_, Some(mark)) if mark.unit == "°" => format!("{number}°"),
        (_, Some(mark)) if !mark.unit.is_empty() => format!("{number} {}", mark.unit),
        (_, Some(mark)) if !mark.label.is_empty() => format!("{} {number}", mark.label),
        _ => number,
    }
}

/// Settings that an otherwise evenly spaced list leaves out.
pub(super) struct SeriesGaps {
    /// The spacing, as a reader sees it.
    pub(super) step: String,
    /// What is absent, as a reader sees it.
    pub(super) absent: Vec<String>,
}

/// What seems to be absent from a list of single numbers: all of their distances are whole multiples of the smallest,
/// and few numbers fill the gaps. `None` where nothing is, or where the list is no such series.
pub(super) fn series_gaps(listed: &Listed) -> Option<SeriesGaps> {
    let all: Vec<Vec<(usize, f64)>> = listed.keys.iter().map(numbers).collect();
    let first_key = listed.keys.first()?;
    let place = all.first()?.first()?.0;
    if all.len() < SHORTEST_SERIES || all.iter().any(|numbers| numbers.len() != 1 || numbers[0].0 != place) {
        return None;
    }
    let mut values: Vec<f64> = all.iter().map(|numbers| numbers[0].1).collect();
    values.sort_by(f64::total_cmp);
    let differences = || values.windows(2).map(|pair| pair[1] - pair[0]);
    let step = differences().min_by(f64::total_cmp).filter(|&step| step > 0.0)?;
    let whole = |difference: f64| (difference / step - (difference / step).round()).abs() < 1e-6;
    let filled: f64 = differences().map(|difference| (difference / step).round() - 1.0).sum();
    if filled < 1.0 || filled > MOST_ABSENT * values.len() as f64 || !differences().all(whole) {
        return None;
    }
    let mut absent = Vec::new();
    for pair in values.windows(2) {
        let mut value = pair[0] + step;
        while value < pair[1] - 0.5 * step {
            absent.push(with_unit(listed, first_key, place, value));
            value += step;
        }
    }
    Some(SeriesGaps { step: with_unit(listed, first_key, place, step), absent })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::control::naming::MarkName;

    fn volts(values: &[f64]) -> Listed {
        Listed {
            keys: values.iter().map(|&value| StateKey::Marks(vec![value])).collect(),
            marks: vec![MarkName { label: "v".to_owned(), unit: "V".to_owned() }],
        }
    }

    #[test]
    fn a_word_may_be_meant_by_its_setting() {
        assert_eq!(meant(None, "12"), Some(Word(12)));
        assert_eq!(meant(None, "1.5"), None);
        let values = [-3.0, 0.0, 7.5];
        for typed in ["7.5", "7,5", "7.5 V", "7.5V", "7.50"] {
            assert_eq!(meant(Some(&values), typed), Some(Word(2)), "{typed}");
        }
        assert_eq!(meant(Some(&values), "−3"), Some(Word(0)));
        // Not the rank: nobody was told it.
        for typed in ["2", "", "V"] {
            assert_eq!(meant(Some(&values), typed), None, "{typed}");
        }
        for word in [0, 1, 2].map(Word) {
            assert_eq!(meant(Some(&values), &typed_as(Some(&values), word)), Some(word));
        }
    }

    #[test]
    fn a_setting_is_named_with_its_unit() {
        assert_eq!(setting_name(&volts(&[0.0, 7.5]), Word(1)).as_deref(), Some("7.5 V"));
        assert_eq!(setting_name(&volts(&[0.0]), Word(1)), None);
        let key = |gain_db, phase_deg| StateKey::Setting { gain_db, phase_deg };
        let listed = Listed { keys: vec![key(Some(-3.0), Some(45.0)), key(None, Some(90.0))], marks: vec![] };
        assert_eq!(setting_name(&listed, Word(0)).as_deref(), Some("−3 dB and 45°"));
        assert_eq!(setting_name(&listed, Word(1)).as_deref(), Some("90°"));
    }

    #[test]
    fn what_only_names_a_state_is_no_setting() {
        assert_eq!(kind(&volts(&[0.0, 7.5])), ("state", "states"));
        let gain = StateKey::Setting { gain_db: Some(-3.0), phase_deg: None };
        assert_eq!(kind(&Listed { keys: vec![gain], marks: vec![] }), ("setting", "settings"));
    }

    #[test]
    fn what_a_series_leaves_out_is_found() {
        let with_gap: Vec<f64> = (0..45).filter(|k| *k != 15).map(|k| 0.5 * f64::from(k)).collect();
        let gaps = series_gaps(&volts(&with_gap)).expect("a gap");
        assert_eq!((gaps.step.as_str(), gaps.absent), ("0.5 V", vec!["7.5 V".to_owned()]));
        for no_gap in
            [vec![0.0, 1.0, 2.0, 3.0, 4.0], vec![0.0, 1.0, 3.0, 7.0, 15.0], vec![0.0, 1.0, 2.3, 3.0, 4.0]]
        {
            assert!(series_gaps(&volts(&no_gap)).is_none(), "{no_gap:?}");
        }
    }
}
