//! What an answer is made of.

use serde::Serialize;

/// The answer to one question.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Answer {
    /// Name in the page's markup and in the exports, such as `came-in`.
    pub key: &'static str,
    /// Its number in the order of the page, from 1.
    pub number: u8,
    /// The heading.
    pub question: &'static str,
    /// The answer, with the number that decides it.
    pub sentence: String,
    /// Whether it holds, where a limit was set against which that can be said.
    pub verdict: Option<Verdict>,
    /// The numbers behind the sentence, unrounded.
    pub figures: Vec<Figure>,
    /// What stands in the margin.
    pub notes: Vec<Note>,
}

/// Whether something that was asked for is so.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// It is.
    Holds,
    /// It is not.
    Fails,
    /// The data cannot tell.
    NotDecidable,
}

/// One number with its name, its unit and its reading.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Figure {
    /// Name with the unit, the same in code and exports: `chosen_within_both_pct`.
    pub name: &'static str,
    /// What it is, in words.
    pub label: &'static str,
    /// The value with all its digits.
    pub value: f64,
    /// "dB", "°", "%", "Hz"; empty for counts.
    pub unit: &'static str,
    /// Value and unit as a reader sees them.
    pub text: String,
}

impl Figure {
    pub(super) fn new(
        name: &'static str,
        label: &'static str,
        value: f64,
        unit: &'static str,
        text: String,
    ) -> Self {
        Self { name, label, value, unit, text }
    }

    pub(super) fn count(name: &'static str, label: &'static str, count: usize) -> Self {
        Self::new(name, label, count as f64, "", super::wording::whole(count))
    }

    pub(super) fn hertz(name: &'static str, label: &'static str, value: f64) -> Self {
        Self::new(name, label, value, "Hz", super::wording::frequency(value))
    }

    pub(super) fn decibels(name: &'static str, label: &'static str, value: f64) -> Self {
        Self::new(name, label, value, "dB", super::wording::decibels(value))
    }

    pub(super) fn degrees(name: &'static str, label: &'static str, value: f64) -> Self {
        Self::new(name, label, value, "°", super::wording::degrees(value))
    }

    /// A share, already in percent.
    pub(super) fn percent(name: &'static str, label: &'static str, value: f64) -> Self {
        Self::new(name, label, value, "%", super::wording::percent(value))
    }

    /// A linear relative error, given out in percent.
    pub(super) fn ratio(name: &'static str, label: &'static str, value: f64) -> Self {
        Self::new(name, label, 100.0 * value, "%", super::wording::ratio_percent(value))
    }
}

/// What a margin note is, so that a guess is never taken for a fact.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum NoteKind {
    /// Something worth knowing.
    Remark,
    /// Something that the tool guessed and the user can correct.
    Guess,
    /// Something that needs the user's attention.
    Attention,
}

/// One margin note.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Note {
    /// What it is.
    pub kind: NoteKind,
    /// One or two sentences.
    pub text: String,
    /// What paper says instead, where it says something else; empty where the note is for the page alone.
    #[serde(skip)]
    on_paper: Option<String>,
}

impl Note {
    pub(super) fn remark(text: impl Into<String>) -> Self {
        Self { kind: NoteKind::Remark, text: text.into(), on_paper: None }
    }

    /// The same, kept off the paper: what explains the page is of no use there.
    pub(super) fn for_page_alone(self) -> Self {
        Self { on_paper: Some(String::new()), ..self }
    }

    /// A guess says that it is one, why it was made, and where to correct it: three sentences, which begin small where
    /// they can.
    pub(super) fn guess(what: impl AsRef<str>, why: impl AsRef<str>, correct: impl AsRef<str>) -> Self {
        let [what, why, correct] = [what.as_ref(), why.as_ref(), correct.as_ref()].map(begun_small);
        let guess = format!("A guess: {what} Why: {why}");
        let text = format!("{guess} To correct it: {correct}");
        // There is nothing to press on paper.
        Self { kind: NoteKind::Guess, text, on_paper: Some(guess) }
    }

    /// What the sheet says of it, if anything.
    pub fn on_paper(&self) -> Option<&str> {
        let text = self.on_paper.as_deref().unwrap_or(&self.text);
        Some(text).filter(|text| !text.is_empty())
    }

    pub(super) fn attention(text: impl Into<String>) -> Self {
        Self { kind: NoteKind::Attention, text: text.into(), on_paper: None }
    }
}

/// A sentence as it stands behind a colon. A single capital or an abbreviation stays.
fn begun_small(sentence: &str) -> String {
    let mut characters = sentence.chars();
    match (characters.next(), characters.clone().next()) {
        (Some(first), Some(second)) if second.is_lowercase() => {
            first.to_lowercase().chain(characters).collect()
        }
        _ => sentence.to_owned(),
    }
}
