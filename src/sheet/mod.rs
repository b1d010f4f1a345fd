//! The questions and their answers: the one model of everything that is shown, printed and exported.
//!
//! A [`Sheet`] is made from a [`Report`] in one go. Page, print and exports read it, so they cannot disagree.
//! A question is one file with an `answer` function, entered in `QUESTIONS`.

mod answer;
pub mod band;
mod came_in;
pub mod captions;
mod cautions;
pub mod changed;
pub mod glossary;
mod ladder;
mod left_out;
mod listed;
mod no_analysis;
pub mod parts;
pub mod picked;
mod plane;
mod provenance;
pub mod reach;
mod references;
pub mod signal;
pub mod tables;
mod the_sheet;
pub mod trust;
mod values;
pub mod wording;
mod words;

pub use answer::{Answer, Figure, Note, NoteKind, Verdict};
pub use came_in::naming_note;
pub use cautions::{CAUTIONS, CAUTIONS_IN_BRIEF};
pub use ladder::LadderRow;
pub use left_out::LeftOutLine;
pub use listed::{Missing, missing, state_name, word_meant, word_typed};
pub use no_analysis::no_analysis_sentence;
pub use parts::SpecificationLine;
pub use provenance::{
    CHECK_LINE, Provenance, RunVerdict, ToolFacts, layout_text, model_text, reference_name,
    reference_name_in, rule_name,
};
pub use trust::FindingLine;
pub use values::{read_values, write_values};

use crate::pipeline::Report;

/// Everything that is shown, printed and exported of one run.
#[derive(Clone, Debug, PartialEq)]
pub struct Sheet {
    /// The part's name as the user gave it, else the name of what was dropped, else "Unnamed part".
    pub title: String,
    /// The tool and the day.
    pub tool: ToolFacts,
    /// The answers in the order of the page.
    pub answers: Vec<Answer>,
    /// What each step from the nominal words on gained; empty without analysis.
    pub ladder: Vec<LadderRow>,
    /// What the checks of the run found, the gravest first; empty until they are complete.
    pub findings: Vec<FindingLine>,
    /// The table at the chosen frequency in one line; empty without analysis.
    pub table_statistics: String,
    /// Every row of the specification with what became of it; empty where none was given.
    pub specification: Vec<SpecificationLine>,
    /// Every file that is no state, with the reason.
    pub left_out: Vec<LeftOutLine>,
    /// Where the numbers came from.
    pub provenance: Provenance,
    /// Short reminders, printed on every sheet.
    pub cautions: &'static [&'static str],
}

/// What answers a question: a pure function of the report and of where its numbers came from.
type Question = fn(&Report, &Provenance) -> Answer;

/// The questions in the order of the page.
const QUESTIONS: &[Question] = &[
    came_in::answer,
    trust::answer,
    parts::answer,
    plane::answer,
    words::answer,
    reach::answer,
    signal::answer,
    the_sheet::answer,
];

/// Those about the states at the chosen frequency.
const QUESTIONS_HERE: &[Question] = &[plane::answer, words::answer];

/// The answers that a sheet gives about the states at the chosen frequency, without all others: what follows the pointer
/// may not wait for those.
///
/// # Panics
/// As [`Sheet::of`].
pub fn answers_here(report: &Report, tool: &ToolFacts) -> Vec<Answer> {
    let provenance = Provenance::of(report, tool);
    QUESTIONS_HERE.iter().map(|answer| answer(report, &provenance)).collect()
}

impl Sheet {
    /// The sheet of a report.
    ///
    /// # Panics
    /// If the report contradicts itself: a grid index beyond the grid, or a state beyond the states.
    pub fn of(report: &Report, tool: &ToolFacts) -> Self {
        let provenance = Provenance::of(report, tool);
        Self {
            title: the_sheet::title(report),
            tool: tool.clone(),
            answers: QUESTIONS.iter().map(|answer| answer(report, &provenance)).collect(),
            ladder: ladder::rows(report),
            findings: trust::lines(report),
            table_statistics: words::table_statistics(report),
            specification: parts::lines(report),
            left_out: left_out::lines(&report.intake),
            provenance,
            cautions: &CAUTIONS,
        }
    }

    /// The answer with a key, if that question is on the sheet.
    pub fn answer(&self, key: &str) -> Option<&Answer> {
        self.answers.iter().find(|answer| answer.key == key)
    }
}
