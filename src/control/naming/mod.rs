//! File names to control words.
//!
//! People name the files of a run in many ways. [`readings`] compares the names with each other, keeps what varies,
//! and offers every way of reading it that gives most of the files a word of their own, the likelier first. What is
//! likelier is a matter of written rules, here and beside each style; the user picks another reading where they fail.

mod codes;
mod comments;
mod digits;
mod fields;
mod index;
mod order;
mod sentence;
mod settings;
mod shape;
mod suffix;

pub use comments::{looks_like_setting, settings_in_comments};
pub use index::{IndexError, IndexReading, looks_like_index, read_index};
pub use order::natural_order;
pub use suffix::{PortsHint, is_s_parameter_name};

use crate::control::{Layout, Word};
use serde::{Deserialize, Serialize};
use shape::Name;
use std::collections::BTreeSet;
use suffix::SplitPath;

/// In what manner names carry the state.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum NameStyle {
    /// A decimal code.
    Decimal,
    /// A decimal number that counts the words from one.
    DecimalFromOne,
    /// A thermometer word; the code is the number of its ones.
    Thermometer,
    /// A binary code, the most significant bit first.
    Binary,
    /// A hexadecimal code, with or without `0x`.
    Hexadecimal,
    /// One code for each of several fields; the first in the name becomes the most significant bits of the word.
    CodePerField,
    /// Several two-digit decimal codes without anything between them, the first the most significant.
    TwoDigitWords,
    /// Settings in decibels or degrees; the words are their ranks.
    Settings,
    /// Volts, or marks of a dial, whose effect is not known; the words are their ranks.
    Marks,
}

/// What one name says.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum StateKey {
    /// A control word.
    Word(Word),
    /// One code for each field, the most significant field first.
    Codes(Vec<u32>),
    /// A nominal setting; `None` for what the name does not say.
    Setting {
        /// Gain in dB; an attenuation is negative.
        gain_db: Option<f64>,
        /// Phase in degrees, with the sign that the name gives it.
        phase_deg: Option<f64>,
    },
    /// Numbers that are names only: volts, marks of a dial.
    Marks(Vec<f64>),
}

/// What the numbers of a mark are called.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct MarkName {
    /// The text before the number, such as `dial`; may be empty.
    pub label: String,
    /// The unit, such as `V`; empty where none is written.
    pub unit: String,
}

/// One way of reading the names of a run.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct NameReading {
    /// In what manner the names carry the state.
    pub style: NameStyle,
    /// Per path: its control word; `None` where the name says nothing in this style.
    pub words: Vec<Option<Word>>,
    /// Per path: what the name says of the state; `None` where the word is.
    pub keys: Vec<Option<StateKey>>,
    /// The number of bits that the names imply: the digits of a binary code, else what the largest code needs. `None`
    /// in a run without bits, whose words are ranks.
    pub bits: Option<usize>,
    /// What the numbers of [`StateKey::Marks`] are called; empty in other styles.
    pub marks: Vec<MarkName>,
    /// How the names were read, for the user.
    pub meaning: String,
    /// The same, and what the next likely reading would mean.
    pub sentence: String,
}

/// Why names give no words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NoReading {
    /// No name ends like an S-parameter file's.
    NoSParameterFiles,
    /// Nothing that could be a code differs between the names.
    NothingVaries {
        /// The number of S-parameter files.
        files: usize,
    },
    /// Codes were found, but too few of the files have one of their own.
    NotDistinct {
        /// The most files that any reading tells apart.
        distinct: usize,
        /// The number of S-parameter files.
        files: usize,
    },
    /// Most of the codes need more bits than a word may have.
    TooManyBits {
        /// One of them, as it stands in the name.
        code: String,
    },
}

impl std::fmt::Display for NoReading {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::NoSParameterFiles => {
                write!(f, "No file's name ends like an S-parameter file's (.s2p, .ts).")
            }
            Self::NothingVaries { files: 1 } => {
                write!(
                    f,
                    "There is only one S-parameter file, so nothing shows which part of its name is the code."
                )
            }
            Self::NothingVaries { files } => {
                write!(f, "No code or setting that differs between the {files} S-parameter files was found.")
            }
            Self::NotDistinct { distinct, files } => write!(
                f,
                "The codes or settings found tell only {distinct} of the {files} S-parameter files apart. \
                 Drop one run at a time."
            ),
            Self::TooManyBits { code } => write!(
                f,
                "The codes found, such as {code}, need more than the {} bits that are supported.",
                Layout::MAX_BITS
            ),
        }
    }
}

impl std::error::Error for NoReading {}

/// How well a reading explains the names. The order is from likely to unlikely.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Likelihood {
    /// The names mark the number system themselves (`0x3A7`).
    Marked,
    /// The words are all of those that their bits can make.
    Complete,
    /// Words are missing, but nothing speaks against it.
    Plausible,
    /// Another reading of the same characters is likelier by its own rule.
    Doubtful,
}

/// A reading before it is put in order with the others.
struct Candidate {
    style: NameStyle,
    words: Vec<Option<Word>>,
    /// What the names say, where it is not the word itself.
    keys: Option<Vec<Option<StateKey>>>,
    bits: Option<usize>,
    likelihood: Likelihood,
    /// It looks at the folders too.
    with_folders: bool,
    /// Values from the end of the name: a code tends to stand last.
    from_end: usize,
    /// How the names were read.
    sentence: String,
    /// What this reading would mean, said beside a likelier one.
    otherwise: String,
    /// A code that is too large for a word, where there is one.
    too_large: Option<String>,
    /// What the numbers of a mark are called.
    marks: Vec<MarkName>,
}

impl Candidate {
    fn distinct(&self) -> usize {
        self.words.iter().flatten().collect::<BTreeSet<_>>().len()
    }

    fn key(&self, path: usize) -> Option<StateKey> {
        match &self.keys {
            Some(keys) => keys[path].clone(),
            None => self.words[path].map(StateKey::Word),
        }
    }

    /// Whether it reads numbers with decimals, so that no digit of theirs is a code.
    fn has_decimals(&self) -> bool {
        let broken = |value: &f64| value.fract() != 0.0;
        self.keys.iter().flatten().flatten().any(|key| match key {
            StateKey::Setting { gain_db, phase_deg } => gain_db.iter().chain(phase_deg).any(broken),
            StateKey::Marks(marks) => marks.iter().any(broken),
            StateKey::Word(_) | StateKey::Codes(_) => false,
        })
    }
}

/// The ways of reading the S-parameter files' names among `paths`, the likelier first and at least one.
///
/// `paths` are relative to the dropped folder, with `/` between folders, in any order; other files may be among them
/// and get no word. The rules of what is likelier, in this order:
///
/// 1. marked codes (`0x3A7`) before complete sets of words before sets with gaps before doubtful readings
///    (see [`NameStyle`]'s readers: the style of a set of digits is doubtful where another explains them better);
/// 2. more distinct words; a reading that tells half of the files apart or fewer, or fewer than nine tenths of what
///    the best one does, is not offered;
/// 3. fewer bits;
/// 4. the order of the styles in [`NameStyle`];
/// 5. the file's own name before the path with its folders: a copy of a file in another folder then doubles its word;
/// 6. the code that stands later in the name.
///
/// Where the likeliest reading has numbers with decimals, their digits are not offered as codes. A reading that says
/// nothing else of any file than a likelier one is not offered.
pub fn readings(paths: &[String]) -> Result<Vec<NameReading>, NoReading> {
    let split: Vec<_> =
        paths.iter().enumerate().filter_map(|(path, text)| Some((path, suffix::split(text)?))).collect();
    let files = split.len();
    if files == 0 {
        return Err(NoReading::NoSParameterFiles);
    }
    let mut candidates = candidates(&named(&split, |parts| parts.stem), paths.len());
    if split.iter().any(|(_, parts)| parts.folder != split[0].1.folder) {
        let of_paths = self::candidates(&named(&split, |parts| parts.whole), paths.len());
        candidates
            .extend(of_paths.into_iter().map(|candidate| Candidate { with_folders: true, ..candidate }));
    }
    choose(&candidates, files)
}

/// The candidates as readings in order, or why there is none.
fn choose(candidates: &[Candidate], files: usize) -> Result<Vec<NameReading>, NoReading> {
    let best = usable(candidates, files);
    if best.is_empty() {
        return Err(refusal(candidates, files));
    }
    Ok(sentence::finish(&best, files))
}

fn named<'a>(split: &[(usize, SplitPath<'a>)], part: fn(&SplitPath<'a>) -> &'a str) -> Vec<Name<'a>> {
    split.iter().map(|(path, parts)| Name { path: *path, text: part(parts) }).collect()
}

fn candidates(names: &[Name], paths: usize) -> Vec<Candidate> {
    let mut found = codes::candidates(names, paths);
    found.extend(fields::candidates(names, paths));
    found.extend(digits::candidates(names, paths));
    found.extend(settings::candidates(names, paths));
    found
}

/// The candidates worth offering, likelier first.
fn usable(candidates: &[Candidate], files: usize) -> Vec<&Candidate> {
    let most = candidates.iter().map(Candidate::distinct).max().unwrap_or(0);
    let mut kept: Vec<(&Candidate, usize)> = candidates
        .iter()
        .map(|candidate| (candidate, candidate.distinct()))
        .filter(|&(_, distinct)| distinct > 1 && 2 * distinct > files && 10 * distinct >= 9 * most)
        .collect();
    kept.sort_by_key(|&(candidate, distinct)| {
        (
            candidate.likelihood,
            files - distinct,
            bits_or_more(candidate),
            candidate.style,
            candidate.with_folders,
            candidate.from_end,
        )
    });
    if kept.first().is_some_and(|(first, _)| first.has_decimals()) {
        kept.retain(|(candidate, _)| matches!(candidate.style, NameStyle::Settings | NameStyle::Marks));
    }
    let mut offered: Vec<&Candidate> = Vec::new();
    for (candidate, _) in kept {
        if !offered.iter().any(|other| says_nothing_else(candidate, other)) {
            offered.push(candidate);
        }
    }
    offered
}

/// A run without bits counts as more than any number of bits.
fn bits_or_more(candidate: &Candidate) -> usize {
    candidate.bits.unwrap_or(Layout::MAX_BITS + 1)
}

fn says_nothing_else(candidate: &Candidate, likelier: &Candidate) -> bool {
    (0..candidate.words.len())
        .all(|path| candidate.words[path].is_none() || candidate.key(path) == likelier.key(path))
}

fn refusal(candidates: &[Candidate], files: usize) -> NoReading {
    let distinct = candidates.iter().map(Candidate::distinct).max().unwrap_or(0);
    if let Some(code) = candidates.iter().find_map(|candidate| candidate.too_large.clone()) {
        return NoReading::TooManyBits { code };
    }
    if distinct > 1 {
        return NoReading::NotDistinct { distinct, files };
    }
    NoReading::NothingVaries { files }
}
