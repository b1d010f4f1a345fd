//! How the files of a run got their words: every reading of their names, of an index beside them, and of their
//! comments, and which of these is in use.

use super::assemble::Offer;
use super::intake::FileReport;
use crate::control::Word;
use crate::control::naming::{self, MarkName, NameReading, NameStyle, StateKey};
use serde::{Deserialize, Serialize};

/// Where the words come from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum NamingSource {
    /// An index beside the files.
    Index,
    /// The files' names.
    Names,
    /// The comments in the files.
    Comments,
}

/// One way of giving the files their words, under a name that means the same in every run.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Naming {
    /// Where the words come from.
    pub source: NamingSource,
    /// In what manner they are written there.
    pub style: NameStyle,
    /// Of several readings of this source and style, the likeliest is 0.
    #[serde(default)]
    pub nth: u8,
}

/// A way of giving the files their words that the user may choose.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct NamingChoice {
    /// Which one.
    pub naming: Naming,
    /// How the names would be read.
    pub sentence: String,
    /// The number of distinct words that it gives.
    pub words: usize,
    /// Bits of the word; `None` where the words are ranks of listed settings.
    pub bits: Option<usize>,
    /// Whether the run is read so.
    pub in_use: bool,
}

/// What the words of a run without bits stand for.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Listed {
    /// Per word from 0 up: what its files' names say.
    pub keys: Vec<StateKey>,
    /// What the numbers of marks are called; empty for settings.
    pub marks: Vec<MarkName>,
}

/// An index that was found beside the files.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct IndexFile {
    /// Its path below the dropped folder.
    pub path: String,
    /// The files in the order of its rows, which is taken for the order of capture: indices of the run's files.
    pub capture_order: Vec<usize>,
    /// Rows whose file was not offered: line and name.
    pub absent: Vec<(usize, String)>,
}

/// A table beside the files that is not used as the index.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum OtherTable {
    /// It is meant as an index but has a fault.
    Faulty(String),
    /// Another one was found first.
    Second,
}

/// Every way of giving the files of a run their words, the proposed one first.
#[derive(Clone, Debug, Default)]
pub struct Names {
    readings: Vec<(Naming, NameReading)>,
    /// Why names give no words, where they give none.
    refusal: String,
    index: Option<IndexFile>,
    other_tables: Vec<(usize, OtherTable)>,
}

impl Names {
    /// Reads the index and the names of the files offered. An index that can be used comes before what names say.
    pub fn of(offers: &[Offer]) -> Self {
        let mut names = Self::default();
        names.read_tables(offers);
        let named: Vec<usize> = (0..offers.len()).filter(|&file| offers[file].is_s_parameter_file).collect();
        let paths: Vec<String> = named.iter().map(|&file| offers[file].path.clone()).collect();
        match naming::readings(&paths) {
            Ok(readings) => names.add(NamingSource::Names, readings, &named, offers.len()),
            Err(reason) => names.refusal = reason.to_string(),
        }
        names
    }

    /// The names of files whose words are known, `words` beside `offers`; `sentence` says from where.
    pub fn given(offers: &[Offer], words: &[Word], sentence: &str) -> Self {
        let read = Self::of(offers);
        let says_the_same =
            (0..offers.len()).all(|file| read.in_use(None).word(file) == words.get(file).copied());
        if says_the_same && !read.readings.is_empty() {
            return read;
        }
        let largest = words.iter().map(|word| word.0).max().unwrap_or(0);
        let reading = NameReading {
            style: NameStyle::Decimal,
            words: words.iter().copied().map(Some).collect(),
            keys: words.iter().copied().map(|word| Some(StateKey::Word(word))).collect(),
            bits: Some((u32::BITS - largest.leading_zeros()).max(1) as usize),
            marks: Vec::new(),
            meaning: sentence.to_owned(),
            sentence: sentence.to_owned(),
        };
        let files: Vec<usize> = (0..offers.len()).collect();
        let mut names = Self::default();
        names.add(NamingSource::Index, vec![reading], &files, offers.len());
        names
    }

    /// Takes every small table that is meant as an index: the first that can be used is the index.
    fn read_tables(&mut self, offers: &[Offer]) {
        let paths: Vec<String> = offers.iter().map(|offer| offer.path.clone()).collect();
        for (file, offer) in offers.iter().enumerate() {
            let Some(text) = offer.contents.as_ref().filter(|text| naming::looks_like_index(text)) else {
                continue;
            };
            match naming::read_index(text, &paths) {
                Err(error) => self.other_tables.push((file, OtherTable::Faulty(error.to_string()))),
                Ok(_) if self.index.is_some() => self.other_tables.push((file, OtherTable::Second)),
                Ok(index) => {
                    let all: Vec<usize> = (0..offers.len()).collect();
                    self.add(NamingSource::Index, vec![index.reading], &all, offers.len());
                    self.index = Some(IndexFile {
                        path: offer.path.clone(),
                        capture_order: index.order,
                        absent: index.absent,
                    });
                }
            }
        }
    }

    /// Where neither an index nor names give words, reads the comments of the files that have been read.
    pub fn read_comments(&mut self, reports: &[Option<FileReport>]) {
        self.readings.retain(|(naming, _)| naming.source != NamingSource::Comments);
        if !self.readings.is_empty() {
            return;
        }
        let comments = reports.iter().enumerate().filter_map(|(file, report)| {
            let facts = report.as_ref()?.outcome.as_ref().ok()?;
            Some((file, facts.settings_in_comments.clone()))
        });
        let (files, comments): (Vec<usize>, Vec<Vec<String>>) = comments.unzip();
        if let Ok(readings) = naming::settings_in_comments(&comments) {
            self.add(NamingSource::Comments, readings, &files, reports.len());
        }
    }

    /// Adds readings of some of the run's files: `files[k]` is the run's index of the reading's file k.
    fn add(&mut self, source: NamingSource, readings: Vec<NameReading>, files: &[usize], all: usize) {
        for mut reading in readings {
            let (mut words, mut keys) = (vec![None; all], vec![None; all]);
            for ((&file, word), key) in files.iter().zip(reading.words).zip(reading.keys) {
                words[file] = word;
                keys[file] = key;
            }
            (reading.words, reading.keys) = (words, keys);
            let alike = self
                .readings
                .iter()
                .filter(|(naming, _)| naming.source == source && naming.style == reading.style)
                .count();
            let nth = u8::try_from(alike).unwrap_or(u8::MAX);
            self.readings.push((Naming { source, style: reading.style, nth }, reading));
        }
    }

    /// The reading that the user wants where this run has it, else the proposed one.
    fn position(&self, wanted: Option<Naming>) -> usize {
        self.readings.iter().position(|(naming, _)| Some(*naming) == wanted).unwrap_or(0)
    }

    /// What one reading makes of the files.
    pub(super) fn in_use(&self, wanted: Option<Naming>) -> InUse<'_> {
        let Some((naming, reading)) = self.readings.get(self.position(wanted)) else {
            return InUse { source: NamingSource::Names, sentence: &self.refusal, words: &[], listed: None };
        };
        InUse {
            source: naming.source,
            sentence: &reading.sentence,
            words: &reading.words,
            listed: listed(reading),
        }
    }

    /// Every reading for the user to choose from; fewer than two leave no choice.
    pub fn choices(&self, wanted: Option<Naming>) -> Vec<NamingChoice> {
        let in_use = self.position(wanted);
        let choice = |(position, (naming, reading)): (usize, &(Naming, NameReading))| NamingChoice {
            naming: *naming,
            sentence: reading.meaning.clone(),
            words: reading.words.iter().flatten().collect::<std::collections::BTreeSet<_>>().len(),
            bits: reading.bits,
            in_use: position == in_use,
        };
        self.readings.iter().enumerate().map(choice).collect()
    }

    /// How the names are read, as a sentence.
    pub fn sentence(&self, wanted: Option<Naming>) -> &str {
        self.in_use(wanted).sentence
    }

    pub(super) fn index(&self) -> Option<&IndexFile> {
        self.index.as_ref()
    }

    pub(super) fn other_table(&self, file: usize) -> Option<&OtherTable> {
        self.other_tables.iter().find(|(at, _)| *at == file).map(|(_, table)| table)
    }
}

/// What the reading in use makes of the files.
pub(super) struct InUse<'a> {
    pub(super) source: NamingSource,
    pub(super) sentence: &'a str,
    words: &'a [Option<Word>],
    pub(super) listed: Option<Listed>,
}

impl InUse<'_> {
    pub(super) fn word(&self, file: usize) -> Option<Word> {
        self.words.get(file).copied().flatten()
    }
}

/// What the ranks of a reading without bits stand for.
fn listed(reading: &NameReading) -> Option<Listed> {
    if reading.bits.is_some() {
        return None;
    }
    let mut keys: Vec<(Word, &StateKey)> = reading
        .words
        .iter()
        .zip(&reading.keys)
        .filter_map(|(word, key)| Some(((*word)?, key.as_ref()?)))
        .collect();
    keys.sort_by_key(|(word, _)| *word);
    keys.dedup_by_key(|(word, _)| *word);
    Some(Listed {
        keys: keys.into_iter().map(|(_, key)| key.clone()).collect(),
        marks: reading.marks.clone(),
    })
}
