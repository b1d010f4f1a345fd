//! Names with settings instead of codes: decibels, degrees, volts, marks of a dial.
//!
//! Such a run has no bits: its words are the ranks of the settings, ascending by the numbers as they are written. The
//! rules:
//!
//! * A number with a unit after it (`-16.5db`, `ATT_0p00dB`, `45deg`, `3V`) is a setting. A number without one is a mark
//!   where it has decimals; whole numbers are codes, read elsewhere, but may be marks behind a V (`V10`).
//! * Point, comma, and a `p` between digits are decimal marks, but not in a row of them (`2026.03.01`). A sign counts at
//!   the start of a name and after a separator; after a letter (`x-5dB`) a hyphen only separates.
//! * Decibels with a minus sign anywhere are gains as written. Without one they are attenuations where the text
//!   before says so (`att`, `loss`), gains where it says `gain`; where it says neither, attenuation is likelier and
//!   gain is offered.
//! * Numbers that are not needed to tell the files apart are left out, those without a unit first.

use super::shape::{Name, Shape};
use super::{Candidate, Likelihood, MarkName, NameStyle, StateKey, sentence};
use crate::control::Word;
use std::collections::BTreeSet;
use std::ops::Range;

/// A name with more numbers than this that all matter is not understood.
const MOST_COLUMNS: usize = 3;

/// What a number counts.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Unit {
    Decibel,
    Degree,
    /// Any other, by its name: what it does to gain or phase is not known.
    Mark(String),
}

/// One number of every file.
pub(super) struct Column {
    /// The text before the number, in lower case.
    pub(super) label: String,
    /// Its unit, where one is written.
    pub(super) unit: Option<Unit>,
    /// The unit is written as such, not just as a letter before the number.
    pub(super) marked: bool,
    /// Per path: the number.
    pub(super) values: Vec<Option<f64>>,
    /// Every number is whole.
    pub(super) whole: bool,
}

/// The readings of the names as settings.
pub(super) fn candidates(names: &[Name], paths: usize) -> Vec<Candidate> {
    let Some(shape) = Shape::commonest(names, decimal_numbers) else { return Vec::new() };
    let columns = shape.varying().into_iter().map(|place| {
        let mut values = vec![None; paths];
        for member in &shape.members {
            values[member.path] = number(member.value(place));
        }
        let before = &shape.texts[place];
        let marked_unit = unit_at_start(&shape.texts[place + 1]);
        Column {
            label: sentence::label(before).to_owned(),
            marked: marked_unit.is_some(),
            unit: marked_unit.or_else(|| volts_at_end(before)),
            whole: values.iter().flatten().all(|value| value.fract() == 0.0),
            values,
        }
    });
    from_columns(columns.collect(), paths, "Each name holds")
}

/// The readings of columns of numbers, from names or elsewhere, as settings; `source` begins their sentences.
pub(super) fn from_columns(mut columns: Vec<Column>, paths: usize, source: &str) -> Vec<Candidate> {
    columns.sort_by_key(|column| column.unit.is_some());
    drop_needless(&mut columns, paths);
    let says_nothing = columns.iter().all(|column| column.unit.is_none() && column.whole);
    if columns.is_empty() || columns.len() > MOST_COLUMNS || says_nothing {
        return Vec::new();
    }
    let is_setting = |column: &Column| matches!(column.unit, Some(Unit::Decibel | Unit::Degree));
    if !columns.iter().all(is_setting) {
        let likelihood = if columns.iter().all(|column| column.marked) {
            Likelihood::Marked
        } else if columns.iter().all(|column| column.whole) {
            Likelihood::Doubtful
        } else {
            Likelihood::Plausible
        };
        return vec![marks(&columns, paths, source, likelihood)];
    }
    let (likelier, other) = gain_signs(&columns);
    let mut found = vec![settings(&columns, paths, source, likelier, Likelihood::Marked)];
    found.extend(other.map(|sign| settings(&columns, paths, source, sign, Likelihood::Doubtful)));
    found
}

/// Whether decibels are gains as written, or attenuations.
#[derive(Clone, Copy, PartialEq, Eq)]
enum GainSign {
    AsWritten,
    Attenuation,
}

fn gain_signs(columns: &[Column]) -> (GainSign, Option<GainSign>) {
    let decibels: Vec<&Column> = columns.iter().filter(|column| column.unit == Some(Unit::Decibel)).collect();
    let says = |word: &str| decibels.iter().any(|column| column.label.contains(word));
    let negative =
        decibels.iter().flat_map(|column| column.values.iter().flatten()).any(|value| *value < 0.0);
    if decibels.is_empty() || negative || says("gain") {
        (GainSign::AsWritten, None)
    } else if says("att") || says("loss") {
        (GainSign::Attenuation, None)
    } else {
        (GainSign::Attenuation, Some(GainSign::AsWritten))
    }
}

fn settings(
    columns: &[Column],
    paths: usize,
    source: &str,
    sign: GainSign,
    likelihood: Likelihood,
) -> Candidate {
    let sum = |path: usize, unit: &Unit| {
        let values: Vec<f64> = columns
            .iter()
            .filter(|column| column.unit.as_ref() == Some(unit))
            .filter_map(|column| column.values[path])
            .collect();
        (!values.is_empty()).then(|| values.iter().sum::<f64>())
    };
    let key = |path: usize| StateKey::Setting {
        gain_db: sum(path, &Unit::Decibel).map(|value| match sign {
            GainSign::AsWritten => value,
            // Subtracted, so that no attenuation is 0 dB rather than −0 dB.
            GainSign::Attenuation => 0.0 - value,
        }),
        phase_deg: sum(path, &Unit::Degree),
    };
    let gain = match sign {
        GainSign::AsWritten => "a gain",
        GainSign::Attenuation => "an attenuation",
    };
    let named = |column: &Column| match column.unit {
        Some(Unit::Decibel) => format!("{gain} in dB"),
        _ => "a phase in degrees".to_owned(),
    };
    let kinds = columns.iter().map(named).collect::<Vec<_>>().join(" and ");
    Candidate {
        style: NameStyle::Settings,
        sentence: format!("{source} {kinds}; the words are the ranks of the settings, ascending."),
        otherwise: format!("The number can also be read as {kinds}."),
        ..ranked(columns, paths, key, likelihood)
    }
}

fn marks(columns: &[Column], paths: usize, source: &str, likelihood: Likelihood) -> Candidate {
    let key = |path: usize| {
        StateKey::Marks(columns.iter().map(|column| column.values[path].unwrap_or(f64::NAN)).collect())
    };
    let named = |column: &Column| match &column.unit {
        Some(Unit::Decibel) => "a value in dB".to_owned(),
        Some(Unit::Degree) => "a value in degrees".to_owned(),
        Some(Unit::Mark(unit)) => format!("a value in {unit}"),
        None if column.label.is_empty() => "a mark".to_owned(),
        None => format!("a mark “{}”", column.label),
    };
    let kinds = columns.iter().map(named).collect::<Vec<_>>().join(" and ");
    let called = |column: &Column| {
        let unit = match &column.unit {
            Some(Unit::Decibel) => "dB",
            Some(Unit::Degree) => "°",
            Some(Unit::Mark(unit)) => unit,
            None => "",
        };
        MarkName { label: column.label.clone(), unit: unit.to_owned() }
    };
    Candidate {
        style: NameStyle::Marks,
        marks: columns.iter().map(called).collect(),
        sentence: format!(
            "{source} {kinds}, which says nothing of gain or phase; the words are the ranks of the marks, ascending."
        ),
        otherwise: "Read as marks of a dial, the words would be ranks without bits.".to_owned(),
        ..ranked(columns, paths, key, likelihood)
    }
}

/// A candidate whose words are the ranks of the columns' numbers, ascending, the first column first.
fn ranked(
    columns: &[Column],
    paths: usize,
    key: impl Fn(usize) -> StateKey,
    likelihood: Likelihood,
) -> Candidate {
    let numbers = |path: usize| -> Option<Vec<Ordered>> {
        columns.iter().map(|column| column.values[path].map(Ordered)).collect()
    };
    let all: BTreeSet<Vec<Ordered>> = (0..paths).filter_map(numbers).collect();
    let all: Vec<Vec<Ordered>> = all.into_iter().collect();
    let rank = |path: usize| {
        let rank = all.binary_search(&numbers(path)?).ok()?;
        u32::try_from(rank).ok().map(Word)
    };
    let words: Vec<Option<Word>> = (0..paths).map(rank).collect();
    let keys = (0..paths).map(|path| words[path].map(|_| key(path))).collect();
    Candidate {
        style: NameStyle::Marks,
        words,
        keys: Some(keys),
        bits: None,
        likelihood,
        with_folders: false,
        from_end: 0,
        sentence: String::new(),
        otherwise: String::new(),
        too_large: None,
        marks: Vec::new(),
    }
}

/// A finite number, in order.
#[derive(Clone, Copy)]
struct Ordered(f64);

impl PartialEq for Ordered {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other).is_eq()
    }
}

impl Eq for Ordered {}

impl PartialOrd for Ordered {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Ordered {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        // Adding zero makes `-0` and `0` one setting.
        (self.0 + 0.0).total_cmp(&(other.0 + 0.0))
    }
}

/// Takes out every column without which as many files are told apart.
fn drop_needless(columns: &mut Vec<Column>, paths: usize) {
    let told_apart = |without: Option<usize>, columns: &[Column]| {
        let seen: BTreeSet<Vec<Option<Ordered>>> = (0..paths)
            .map(|path| {
                let kept = columns.iter().enumerate().filter(|(index, _)| Some(*index) != without);
                kept.map(|(_, column)| column.values[path].map(Ordered)).collect()
            })
            .collect();
        seen.len()
    };
    let mut at = 0;
    while at < columns.len() && columns.len() > 1 {
        if told_apart(Some(at), columns) == told_apart(None, columns) {
            columns.remove(at);
        } else {
            at += 1;
        }
    }
}

/// Finds numbers with their signs and decimals.
pub(super) fn decimal_numbers(text: &str) -> Vec<Range<usize>> {
    let bytes = text.as_bytes();
    let digits_from = |at: usize| bytes[at..].iter().take_while(|byte| byte.is_ascii_digit()).count();
    let mut found: Vec<Range<usize>> = Vec::new();
    let mut at = 0;
    while at < bytes.len() {
        let whole = digits_from(at);
        if whole == 0 {
            at += 1;
            continue;
        }
        let mut end = at + whole;
        if let Some(&mark @ (b'.' | b',' | b'p')) = bytes.get(end) {
            let decimals = digits_from(end + 1);
            let last = end + 1 + decimals;
            let goes_on =
                bytes.get(last) == Some(&mark) && last + 1 < bytes.len() && digits_from(last + 1) > 0;
            let in_a_row = at > 1 && bytes[at - 1] == mark && bytes[at - 2].is_ascii_digit();
            if decimals > 0 && !goes_on && !in_a_row {
                end = last;
            }
        }
        let signed = at > 0
            && matches!(bytes[at - 1], b'-' | b'+')
            && (at == 1 || matches!(bytes[at - 2], b'_' | b' ' | b'=' | b'/' | b'(' | b'[' | b';' | b':'));
        found.push(if signed { at - 1..end } else { at..end });
        at = end;
    }
    found
}

/// A number with any of the decimal marks.
pub(super) fn number(text: &str) -> Option<f64> {
    text.replace([',', 'p'], ".").parse().ok()
}

/// The unit with which a text begins, one space or underscore aside.
pub(super) fn unit_at_start(text: &str) -> Option<Unit> {
    let text = text.strip_prefix([' ', '_']).unwrap_or(text);
    if text.starts_with('°') {
        return Some(Unit::Degree);
    }
    let letters: String = text.chars().take_while(|c| c.is_alphabetic()).collect();
    match letters.to_lowercase().as_str() {
        "db" => Some(Unit::Decibel),
        "deg" | "degree" | "degrees" => Some(Unit::Degree),
        "v" | "volt" | "volts" => Some(Unit::Mark("V".to_owned())),
        "mv" => Some(Unit::Mark("mV".to_owned())),
        "ma" => Some(Unit::Mark("mA".to_owned())),
        "ua" | "µa" => Some(Unit::Mark("µA".to_owned())),
        _ => None,
    }
}

/// Volts are often written in front (`V0.5`, `Vc=3`): the unit where a text ends so.
fn volts_at_end(text: &str) -> Option<Unit> {
    let text = text.strip_suffix('=').unwrap_or(text);
    let start = text.rfind(|c: char| !c.is_alphabetic()).map_or(0, |at| at + 1);
    let letters = text.get(start..)?;
    matches!(letters, "v" | "vc" | "vctrl" | "vtune").then(|| Unit::Mark("V".to_owned()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_keep_signs_and_decimals_but_not_dates() {
        let found = |text: &'static str| -> Vec<&str> {
            decimal_numbers(text).into_iter().map(|range| &text[range]).collect()
        };
        assert_eq!(found("-16.5db"), ["-16.5"]);
        assert_eq!(found("V0.5"), ["0.5"]);
        assert_eq!(found("x_ATT_0p00dB_y"), ["0p00"]);
        assert_eq!(found("BWL=0,00_GC=-1,50"), ["0,00", "-1,50"]);
        assert_eq!(found("x-5dB"), ["5"]);
        assert_eq!(found("2026.03.01_7"), ["2026", "03", "01", "7"]);
        assert_eq!(found("3."), ["3"]);
        assert_eq!(found("ohne"), [""; 0]);
    }

    #[test]
    fn units_end_where_their_letters_end() {
        assert_eq!(unit_at_start("dB_x"), Some(Unit::Decibel));
        assert_eq!(unit_at_start(" deg"), Some(Unit::Degree));
        assert_eq!(unit_at_start("° hot"), Some(Unit::Degree));
        assert_eq!(unit_at_start("dbm"), None);
        assert_eq!(unit_at_start("vector"), None);
    }
}
