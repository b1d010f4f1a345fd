//! What came in: the facts of every file, and what became of it.

use super::file_order::OrderOfFiles;
use super::names::{IndexFile, Listed, NamingChoice};
use crate::control::Word;
use serde::{Deserialize, Serialize};

/// One measured state of the run.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct State {
    /// The control word.
    pub word: Word,
    /// The file it came from, an index into [`Intake::paths`].
    pub file: usize,
}

/// What reading one file gave.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FileReport {
    /// Index into the run's files.
    pub file: usize,
    /// Size in bytes.
    pub bytes: u64,
    /// SHA-256 of the contents.
    pub digest: [u8; 32],
    /// The facts, or why there are none.
    pub outcome: Result<FileFacts, FileFault>,
}

/// The path through a part of more than two ports, counted from 1.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PortPath {
    /// Where the signal goes in; port 1 of the two-port that is kept.
    pub input: u8,
    /// Where it comes out; port 2.
    pub output: u8,
}

impl Default for PortPath {
    fn default() -> Self {
        Self { input: 1, output: 2 }
    }
}

/// What makes a file fit the run that does not as it is.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Adapted {
    /// The file, an index into [`Intake::paths`].
    pub file: usize,
    /// Its values are interpolated to the run's frequencies.
    pub interpolated: bool,
    /// The reference impedances in ohms from which it is renormalised to the run's.
    pub renormalised_from: Option<[f64; 2]>,
}

/// Whether the values of a file on another grid can be interpolated to the run's frequencies.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub enum Interpolation {
    /// They can; the user has not asked for it.
    Offered {
        /// What a straight line between two of its points may miss, relative: see
        /// [`chord_error`](crate::network::chord_error).
        largest_error: f64,
    },
    /// The run has frequencies outside the file's.
    Outside,
}

/// What is known of one readable S-parameter file, small enough to travel.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FileFacts {
    /// Number of ports.
    pub ports: usize,
    /// The path whose S-parameters were kept; `None` where the file has no such ports.
    pub path: Option<PortPath>,
    /// Frequencies in hertz.
    pub frequency_hz: Vec<f64>,
    /// Reference impedance in ohms at the path's input and output.
    pub reference_ohm: [f64; 2],
    /// The largest turn of S21 from one frequency to the next, degrees: what a straight line between them has to bridge.
    pub largest_turn_deg: f64,
    /// S12 and S22 are zero throughout: a one-path analyser did not measure them.
    pub one_path: bool,
    /// Largest |S11| over frequency.
    pub largest_s11: f64,
    /// Largest |S22| over frequency; meaningless where `one_path`.
    pub largest_s22: f64,
    /// Noise rows read past.
    pub noise_rows: usize,
    /// Comments that give a name a number, so that they may hold the setting; long ones are left out.
    pub settings_in_comments: Vec<String>,
    /// Sentences of warning from the reader, each with its line.
    pub warnings: Vec<(usize, String)>,
}

/// Why a file could not be read.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct FileFault {
    /// Line from 1, where it applies.
    pub line: Option<usize>,
    /// Column from 1, where it applies.
    pub column: Option<usize>,
    /// One sentence for the user: what happened and what to do, without the file's name.
    pub message: String,
}

/// Why a file is not a state of the run.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub enum LeftOutReason {
    /// Its name does not end like an S-parameter file's.
    NotSParameters,
    /// It could not be read.
    Unreadable(FileFault),
    /// It has fewer than two ports.
    Ports(usize),
    /// It has more than two ports, but not those of the path.
    NoSuchPath {
        /// Its ports.
        ports: usize,
        /// The path asked for.
        path: PortPath,
    },
    /// Its name gives no control word.
    NoWord,
    /// The index in use has no row for it.
    NotInIndex,
    /// It is meant as an index beside the files but has this fault, a sentence with its line.
    FaultyIndex(String),
    /// It is an index, but another one is used.
    OtherIndex {
        /// The index that is used.
        used: String,
    },
    /// Another file, read first, already gives this word.
    Doubled {
        /// The word.
        word: Word,
        /// The file that is used instead.
        kept: String,
    },
    /// Its frequencies are not the run's.
    OtherGrid {
        /// Points in this file.
        points: usize,
        /// First frequency in hertz.
        first_hz: f64,
        /// Last frequency in hertz.
        last_hz: f64,
        /// Whether it could be interpolated.
        interpolation: Interpolation,
    },
    /// Its reference impedance is not the run's.
    OtherReference {
        /// Ohms in this file, at the input and at the output.
        reference_ohm: [f64; 2],
        /// S12 and S22 were not measured, without which it cannot be renormalised.
        one_path: bool,
    },
}

/// A file that is not a state of the run, with the reason.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct LeftOut {
    /// Path below the dropped folder.
    pub path: String,
    /// Why.
    pub reason: LeftOutReason,
}

/// What came in.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Intake {
    /// Name of the dropped folder, or of the demo; empty where none is known.
    pub source: String,
    /// Paths of all files offered, in natural order (numbers compared as numbers).
    pub paths: Vec<String>,
    /// Bytes of all files read.
    pub bytes: u64,
    /// Input digest in lower-case hexadecimal: SHA-256 over the sorted SHA-256 of the states' files, each in
    /// lower-case hexadecimal followed by a line feed. Names and folders play no part.
    pub digest: String,
    /// How the names were read, as a sentence ("The last four characters of each name are …").
    pub naming: String,
    /// Every way of reading them that was found, the proposed one first.
    pub naming_choices: Vec<NamingChoice>,
    /// What the words stand for in a run without bits; `None` where they are control words.
    pub listed: Option<Listed>,
    /// The index beside the files, if there is one that can be used.
    pub index: Option<IndexFile>,
    /// The run's frequencies in hertz, strictly ascending.
    pub frequency_hz: Vec<f64>,
    /// Reference impedance in ohms, the same at both ports.
    pub reference_ohm: f64,
    /// The most ports that a readable file has; above two, a path through them is analysed.
    pub most_ports: usize,
    /// That path.
    pub path: PortPath,
    /// States whose files were made to fit.
    pub adapted: Vec<Adapted>,
    /// The states, ascending by word.
    pub states: Vec<State>,
    /// Further captures of words that have a state, which show what changed meanwhile: files that would be states if
    /// they were the only ones of their words, and fit the run as they are.
    pub repeats: Vec<State>,
    /// Number of bits of the word: the layout's, or as many as the largest word needs; 0 where the words are ranks of
    /// listed settings.
    pub bits: usize,
    /// Words that have no state, ascending.
    pub missing: Vec<Word>,
    /// The order of the files by which the words were given, where the user said that it is not that of the names and
    /// the words allow it.
    pub file_order: Option<OrderOfFiles>,
    /// Files that are no states.
    pub left_out: Vec<LeftOut>,
    /// Sentences of warning that some files share, with how many files say so.
    pub warnings: Vec<(String, usize)>,
    /// S12 and S22 are zero in all states: not measured.
    pub one_path: bool,
    /// Worst |S11| over states and frequencies.
    pub largest_s11: f64,
    /// Worst |S22| over states and frequencies.
    pub largest_s22: f64,
}
