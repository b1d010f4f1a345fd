//! Why a file is not made.

use crate::control::Word;
use crate::npz::NpzError;
use crate::pipeline::{NoAnalysis, Report, SettingsError};
use crate::sheet::no_analysis_sentence;
use crate::sheet::wording::{counted, exact, frequency, frequency_range, named};
use crate::table::ImageRefused;

/// Why a file is not made; each displays as a sentence with what to do.
#[derive(Clone, Debug, PartialEq)]
pub enum ExportRefused {
    /// No export has this name.
    UnknownFile(String),
    /// The run could not be analysed.
    NoAnalysis(NoAnalysis),
    /// Chosen states have more gain than the user's ceiling.
    GainAboveCeiling {
        /// The ceiling in dB.
        ceiling_db: f64,
        /// Where the gain is largest, in hertz.
        frequency_hz: f64,
        /// First and last frequency of a table that serves more than one.
        band_hz: Option<(f64, f64)>,
        /// The words concerned, ascending.
        words: Vec<Word>,
        /// The largest gain among them, dB.
        largest_db: f64,
    },
    /// There is no table for the band.
    NoBandTable,
    /// There is no error that the fewest tables should hold.
    NoHeldError,
    /// No number of tables holds the error.
    OutOfReach {
        /// The error, in percent.
        held_error_pct: f64,
        /// The lowest frequency at which settings are out of reach, in hertz.
        frequency_hz: f64,
        /// How many settings.
        settings: usize,
    },
    /// The words are ranks of listed settings: there are no bits to put into a memory.
    NoBits,
    /// The table has no memory image.
    Image(ImageRefused),
    /// What was written did not read back as what was meant: a defect of the tool.
    ReadBack(String),
    /// The settings hold a value that could not be read back.
    Settings(SettingsError),
    /// A value cannot be written as JSON.
    Json(String),
    /// The run has no states.
    NoStates,
    /// The run's file cannot be written.
    Npz(NpzError),
    /// A plot could not be drawn.
    Plot(String),
    /// The run has nothing to draw; the reason as a sentence.
    NoSuchPlot(&'static str),
    /// What the file needs beside the report was not there: a defect of the tool.
    NotFetched,
    /// A table was asked for at a frequency that is not on the grid, or with another number of settings than the
    /// run has.
    OtherRun,
}

impl std::fmt::Display for ExportRefused {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::UnknownFile(name) => write!(f, "There is no export called “{name}”."),
            Self::NoAnalysis(reason) => f.write_str(&no_analysis_sentence(reason)),
            Self::GainAboveCeiling { ceiling_db, frequency_hz, band_hz, words, largest_db } => {
                let numbers: Vec<u32> = words.iter().map(|word| word.0).collect();
                let (place, at) = match band_hz {
                    Some((first, last)) if first != last => {
                        (frequency_range(*first, *last), format!(" at {}", frequency(*frequency_hz)))
                    }
                    _ => (format!("at {}", frequency(*frequency_hz)), String::new()),
                };
                write!(
                    f,
                    "The table is refused: {place} {} more gain than the ceiling of {} dB, up to {} dB{at} ({}). Lower \
                     the reference or drop the settings that use them; raise the ceiling only if the hardware \
                     allows it.",
                    if words.len() == 1 {
                        "1 word has".to_owned()
                    } else {
                        format!("{} have", counted(words.len(), "word", "words"))
                    },
                    exact(*ceiling_db),
                    exact(*largest_db),
                    named("word", "words", &numbers, 12)
                )
            }
            Self::NoBandTable => f.write_str(
                "There is no table for the design band: at some frequency of it no state transmits. Choose a narrower band.",
            ),
            Self::NoHeldError => f.write_str(
                "No error is given that the fewest tables should hold, and none is proposed. Give one beside the tables, or \
                 take one table for the band.",
            ),
            Self::OutOfReach { held_error_pct, frequency_hz, settings } => write!(
                f,
                "No number of tables holds {} %: at {} {} out of reach. Allow a larger error, or choose a narrower band.",
                exact(*held_error_pct),
                frequency(*frequency_hz),
                if *settings == 1 {
                    "1 setting is".to_owned()
                } else {
                    format!("{} are", counted(*settings, "setting", "settings"))
                }
            ),
            Self::NoBits => f.write_str(
                "No memory image: this run has listed settings and no control word with bits. Take word-table.csv \
                 instead, or give a layout if the ranks of the settings are control words.",
            ),
            Self::Image(reason @ ImageRefused::Map(_)) => {
                write!(f, "{reason} Correct the map in the settings.")
            }
            Self::Image(reason) => {
                write!(f, "{reason} Take word-table.csv instead, which names every setting.")
            }
            Self::ReadBack(detail) => write!(
                f,
                "The file was made but did not read back as the table ({detail}), so it is not offered. This is a \
                 fault of the page; please report it."
            ),
            Self::Settings(error) => write!(f, "These settings could not be read back. {error}"),
            Self::Json(detail) => write!(f, "A value cannot be written as JSON ({detail})."),
            Self::NoStates => f.write_str("No file became a state of the run, so there is nothing to write."),
            Self::Npz(error) => error.fmt(f),
            Self::Plot(detail) => write!(f, "The plot could not be drawn ({detail})."),
            Self::NoSuchPlot(why) => f.write_str(why),
            Self::NotFetched => f.write_str(
                "What this file needs was not fetched first. This is a fault of the page; please report it.",
            ),
            Self::OtherRun => f.write_str(
                "The words given belong to another run or another frequency grid. Compute the table again.",
            ),
        }
    }
}

impl std::error::Error for ExportRefused {}

/// The analysis of a report, or the refusal that says why there is none.
pub(super) fn analysis_of(report: &Report) -> Result<&crate::pipeline::Analysis, ExportRefused> {
    report.analysis.as_ref().map_err(|reason| ExportRefused::NoAnalysis(reason.clone()))
}
