//! From readings of single files to what came in: which become states, and why the others do not.

use super::file_order::OrderOfFiles;
use super::intake::{
    Adapted, FileFacts, FileReport, Intake, Interpolation, LeftOut, LeftOutReason, PortPath, State,
};
use super::names::{IndexFile, Names, Naming, NamingSource, OtherTable};
use crate::control::Word;
use crate::network::chord_error;
use sha2::{Digest, Sha256};
use std::collections::{BTreeMap, HashMap};
use std::fmt::Write;

/// A file as it was offered, in natural order of the paths.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Offer {
    /// Path below the dropped folder.
    pub path: String,
    /// Size in bytes; `None` where it was not asked for. Asking takes a browser as long as reading a small file.
    pub bytes: Option<u64>,
    /// Whether its name ends like an S-parameter file's; if not it is not read.
    pub is_s_parameter_file: bool,
    /// The text of a small file that may be an index beside the files ([`Offer::may_be_index`]); `None` for others.
    pub contents: Option<String>,
}

impl Offer {
    /// The largest index that is read: 65,536 rows of 64 bytes.
    const LARGEST_INDEX_BYTES: u64 = 1 << 22;

    /// Whether a file may be an index beside the files, by its name and size, so that its text is to be offered too.
    pub fn may_be_index(path: &str, bytes: u64) -> bool {
        let ending = path.rsplit_once('.').map_or("", |(_, ending)| ending);
        let is_table = ["csv", "txt"].iter().any(|table| ending.eq_ignore_ascii_case(table));
        bytes <= Self::LARGEST_INDEX_BYTES && is_table
    }
}

/// How the user wants files to be taken.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct IntakeRules {
    /// How their names are read; as proposed where `None`.
    pub naming: Option<Naming>,
    /// The path through files of more than two ports.
    pub path: PortPath,
    /// Files on another grid are interpolated to the run's.
    pub interpolate: bool,
    /// Files of another reference impedance are left out rather than renormalised.
    pub leave_out_other_references: bool,
    /// The files have their words in another order than their names say.
    pub file_order: Option<OrderOfFiles>,
}

/// Makes the intake of a run whose files `names` gives their words. `reports` runs beside `offers`; a file that has
/// not been read (yet) has no report and is not mentioned.
///
/// The grid and the reference impedance are those that most usable files share (ties: the earliest file's; of unlike
/// impedances at the two ports the input's); a word that two usable files give is taken from the first of them.
pub fn assemble(
    source: &str,
    offers: &[Offer],
    names: &Names,
    rules: IntakeRules,
    reports: &[Option<FileReport>],
) -> Intake {
    let naming = names.in_use(rules.naming);
    let without_word = || match naming.source {
        NamingSource::Index => LeftOutReason::NotInIndex,
        NamingSource::Names | NamingSource::Comments => LeftOutReason::NoWord,
    };
    let mut left_out: Vec<(usize, LeftOutReason)> = Vec::new();
    let mut usable: Vec<(usize, Word, &FileFacts)> = Vec::new();
    for (file, offer) in offers.iter().enumerate() {
        if !offer.is_s_parameter_file {
            left_out.extend(table_reason(names, file, offer).map(|reason| (file, reason)));
            continue;
        }
        let Some(report) = &reports[file] else { continue };
        match (&report.outcome, naming.word(file)) {
            (Err(fault), _) => left_out.push((file, LeftOutReason::Unreadable(fault.clone()))),
            (Ok(facts), _) if facts.ports < 2 => left_out.push((file, LeftOutReason::Ports(facts.ports))),
            (Ok(facts), _) if facts.path.is_none() => {
                let reason = LeftOutReason::NoSuchPath { ports: facts.ports, path: rules.path };
                left_out.push((file, reason));
            }
            (Ok(_), None) => left_out.push((file, without_word())),
            (Ok(facts), Some(word)) => usable.push((file, word, facts)),
        }
    }

    let grids = usable.iter().map(|&(_, _, facts)| facts.frequency_hz.as_slice());
    let grid = most_common(grids, same_grid);
    let ohms = usable.iter().map(|(_, _, facts)| &facts.reference_ohm);
    let reference_ohm = most_common(ohms, |a, b| a == b).map_or(50.0, |ohms| ohms[0]);
    let run = Wanted { grid: grid.unwrap_or_default(), reference_ohm, rules };
    let usable = keep(usable, &mut left_out, |facts| run.refuses(facts));

    let mut by_word: BTreeMap<Word, (usize, &FileFacts)> = BTreeMap::new();
    let mut repeats: Vec<State> = Vec::new();
    for (file, word, facts) in usable {
        if let Some(&(kept, _)) = by_word.get(&word) {
            left_out.push((file, LeftOutReason::Doubled { word, kept: offers[kept].path.clone() }));
            if run.adapts(file, facts).is_none() {
                repeats.push(State { word, file });
            }
        } else {
            by_word.insert(word, (file, facts));
        }
    }
    left_out.sort_by_key(|(file, _)| *file);

    let facts = || by_word.values().map(|(_, facts)| *facts);
    let largest = |of: fn(&FileFacts) -> f64| facts().map(of).fold(0.0, f64::max);
    let adapted = by_word.values().filter_map(|&(file, facts)| run.adapts(file, facts)).collect();
    let read = reports.iter().flatten().filter_map(|report| report.outcome.as_ref().ok());
    let mut states: Vec<State> = by_word.iter().map(|(&word, &(file, _))| State { word, file }).collect();
    let file_order = rules
        .file_order
        .filter(|order| naming.listed.is_none() && reorder(&mut states, &mut repeats, *order));
    let mut intake = Intake {
        source: source.to_owned(),
        paths: offers.iter().map(|offer| offer.path.clone()).collect(),
        bytes: reports.iter().flatten().map(|report| report.bytes).sum(),
        digest: input_digest(
            states.iter().filter_map(|state| reports[state.file].as_ref()).map(|r| &r.digest),
        ),
        naming: naming.sentence.to_owned(),
        naming_choices: names.choices(rules.naming),
        index: names.index().cloned(),
        frequency_hz: grid.map(<[f64]>::to_vec).unwrap_or_default(),
        reference_ohm,
        most_ports: read.map(|facts| facts.ports).max().unwrap_or(0),
        path: rules.path,
        adapted,
        repeats,
        bits: 0,
        missing: Vec::new(),
        file_order,
        left_out: left_out
            .into_iter()
            .map(|(file, reason)| LeftOut { path: offers[file].path.clone(), reason })
            .collect(),
        warnings: count_warnings(facts()),
        one_path: !by_word.is_empty() && facts().all(|facts| facts.one_path),
        largest_s11: largest(|facts| facts.largest_s11),
        largest_s22: largest(|facts| facts.largest_s22),
        states,
        listed: naming.listed,
    };
    intake.expect_what_names_say();
    intake
}

/// Gives the states the words that they have if their files were captured in this order; whether that can be done.
fn reorder(states: &mut [State], repeats: &mut [State], order: OrderOfFiles) -> bool {
    let words: Vec<Word> = states.iter().map(|state| state.word).collect();
    let Some(made) = order.words(&words, bits_of(words.last())) else { return false };
    for repeat in repeats {
        if let Ok(at) = words.binary_search(&repeat.word) {
            repeat.word = made[at];
        }
    }
    for (state, word) in states.iter_mut().zip(made) {
        state.word = word;
    }
    states.sort_unstable_by_key(|state| state.word);
    true
}

/// As many bits as the largest word needs, at least one.
fn bits_of(largest: Option<&Word>) -> usize {
    let largest = largest.map_or(0, |word| word.0);
    (u32::BITS - largest.leading_zeros()).max(1) as usize
}

/// What the run wants of every file.
struct Wanted<'a> {
    grid: &'a [f64],
    reference_ohm: f64,
    rules: IntakeRules,
}

impl Wanted<'_> {
    fn refuses(&self, facts: &FileFacts) -> Option<LeftOutReason> {
        let other_grid = |interpolation| LeftOutReason::OtherGrid {
            points: facts.frequency_hz.len(),
            first_hz: facts.frequency_hz.first().copied().unwrap_or(0.0),
            last_hz: facts.frequency_hz.last().copied().unwrap_or(0.0),
            interpolation,
        };
        if !same_grid(&facts.frequency_hz, self.grid) {
            if !covers(&facts.frequency_hz, self.grid) {
                return Some(other_grid(Interpolation::Outside));
            }
            if !self.rules.interpolate {
                let largest_error = chord_error(facts.largest_turn_deg);
                return Some(other_grid(Interpolation::Offered { largest_error }));
            }
        }
        let stays_out = facts.one_path || self.rules.leave_out_other_references;
        (self.has_other_reference(facts) && stays_out).then_some(LeftOutReason::OtherReference {
            reference_ohm: facts.reference_ohm,
            one_path: facts.one_path,
        })
    }

    fn has_other_reference(&self, facts: &FileFacts) -> bool {
        facts.reference_ohm != [self.reference_ohm; 2]
    }

    fn adapts(&self, file: usize, facts: &FileFacts) -> Option<Adapted> {
        let interpolated = !same_grid(&facts.frequency_hz, self.grid);
        let renormalised_from = self.has_other_reference(facts).then_some(facts.reference_ohm);
        (interpolated || renormalised_from.is_some()).then_some(Adapted {
            file,
            interpolated,
            renormalised_from,
        })
    }
}

/// Why a file that holds no S-parameters is none of the run's; `None` for the index, which is.
fn table_reason(names: &Names, file: usize, offer: &Offer) -> Option<LeftOutReason> {
    let used = |index: &IndexFile| index.path.clone();
    match names.other_table(file) {
        Some(OtherTable::Faulty(fault)) => Some(LeftOutReason::FaultyIndex(fault.clone())),
        Some(OtherTable::Second) => {
            Some(LeftOutReason::OtherIndex { used: names.index().map(used).unwrap_or_default() })
        }
        None if names.index().is_some_and(|index| index.path == offer.path) => None,
        None => Some(LeftOutReason::NotSParameters),
    }
}

impl Intake {
    /// Bits that the largest word needs, at least 1.
    pub fn word_bits(&self) -> usize {
        let largest = self.states.last().map_or(0, |state| state.word.0);
        (u32::BITS - largest.leading_zeros()).max(1) as usize
    }

    /// Expects the listed settings, or as many bits as the largest word needs.
    pub fn expect_what_names_say(&mut self) {
        match &self.listed {
            Some(listed) => {
                let words = listed.keys.len();
                self.bits = 0;
                self.expect_words(u32::try_from(words).unwrap_or(u32::MAX));
            }
            None => self.expect_bits(self.word_bits()),
        }
    }

    /// Sets the number of bits of the word, and with it which words are missing.
    pub fn expect_bits(&mut self, bits: usize) {
        self.bits = bits;
        self.expect_words(1 << bits.min(31));
    }

    fn expect_words(&mut self, words: u32) {
        self.missing.clear();
        let mut present = self.states.iter().map(|state| state.word.0).peekable();
        for word in 0..words {
            if present.next_if_eq(&word).is_none() {
                self.missing.push(Word(word));
            }
        }
    }

    /// The words of the states, ascending.
    pub fn words(&self) -> Vec<Word> {
        self.states.iter().map(|state| state.word).collect()
    }
}

type Usable<'a> = (usize, Word, &'a FileFacts);

/// Splits off the files for which `refuse` has a reason.
fn keep<'a>(
    usable: Vec<Usable<'a>>,
    left_out: &mut Vec<(usize, LeftOutReason)>,
    refuse: impl Fn(&FileFacts) -> Option<LeftOutReason>,
) -> Vec<Usable<'a>> {
    let mut kept = Vec::with_capacity(usable.len());
    for entry in usable {
        match refuse(entry.2) {
            Some(reason) => left_out.push((entry.0, reason)),
            None => kept.push(entry),
        }
    }
    kept
}

/// Grids are the same when every frequency agrees to 1e-9 of itself: analysers and text conversions round.
fn same_grid(a: &[f64], b: &[f64]) -> bool {
    a.len() == b.len() && a.iter().zip(b).all(|(a, b)| (a - b).abs() <= 1e-9 * a.abs().max(b.abs()))
}

/// Whether every frequency of `grid` lies between the ends of `own`, to the rounding that [`same_grid`] allows.
fn covers(own: &[f64], grid: &[f64]) -> bool {
    let ends = |of: &[f64]| of.first().copied().zip(of.last().copied());
    match (ends(own), ends(grid)) {
        (Some((own_low, own_high)), Some((low, high))) => {
            low >= own_low * (1.0 - 1e-9) && high <= own_high * (1.0 + 1e-9)
        }
        _ => false,
    }
}

/// The item that most others equal; the earliest of equals.
fn most_common<'a, T: ?Sized>(
    items: impl Iterator<Item = &'a T>,
    same: impl Fn(&'a T, &'a T) -> bool,
) -> Option<&'a T> {
    let mut kinds: Vec<(&T, usize)> = Vec::new();
    for item in items {
        match kinds.iter_mut().find(|(kind, _)| same(kind, item)) {
            Some((_, count)) => *count += 1,
            None => kinds.push((item, 1)),
        }
    }
    let most = kinds.iter().map(|(_, count)| *count).max()?;
    kinds.into_iter().find(|(_, count)| *count == most).map(|(kind, _)| kind)
}

fn count_warnings<'a>(facts: impl Iterator<Item = &'a FileFacts>) -> Vec<(String, usize)> {
    let mut counts: HashMap<&str, usize> = HashMap::new();
    let mut order: Vec<&str> = Vec::new();
    for (_, message) in facts.flat_map(|facts| &facts.warnings) {
        let count = counts.entry(message).or_insert(0);
        if *count == 0 {
            order.push(message);
        }
        *count += 1;
    }
    order.into_iter().map(|message| (message.to_owned(), counts[message])).collect()
}

/// SHA-256 over the contents' SHA-256 in lower-case hexadecimal, sorted, each followed by a line feed.
fn input_digest<'a>(digests: impl Iterator<Item = &'a [u8; 32]>) -> String {
    let mut lines: Vec<String> = digests.map(|digest| hexadecimal(digest)).collect();
    lines.sort_unstable();
    let mut hasher = Sha256::new();
    for line in &lines {
        hasher.update(line.as_bytes());
        hasher.update(b"\n");
    }
    hexadecimal(&hasher.finalize())
}

fn hexadecimal(bytes: &[u8]) -> String {
    bytes.iter().fold(String::with_capacity(2 * bytes.len()), |mut text, byte| {
        let _ = write!(text, "{byte:02x}");
        text
    })
}
