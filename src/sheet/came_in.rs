//! Question 1: what came in?

use super::Provenance;
use super::answer::{Answer, Figure, Note, Verdict};
use super::left_out::counted_by_reason;
use super::no_analysis::no_analysis_sentence;
use super::provenance::layout_text;
use super::wording::{as_sentence, bytes, clipped, counted, frequency, frequency_range, named, whole};
use crate::pipeline::{LayoutOrigin, Report};
use crate::run::{Intake, LeftOutReason};

/// How many missing words a sentence names before it counts the rest.
const NAMED_WORDS: usize = 5;

pub(super) fn answer(report: &Report, _provenance: &Provenance) -> Answer {
    let intake = &report.intake;
    let verdict = if intake.states.is_empty() {
        None
    } else if intake.missing.is_empty() {
        Some(Verdict::Holds)
    } else {
        Some(Verdict::Fails)
    };
    Answer {
        key: "came-in",
        number: 1,
        question: "What came in?",
        sentence: sentence(intake),
        verdict,
        figures: figures(intake),
        notes: notes(report),
    }
}

fn sentence(intake: &Intake) -> String {
    if intake.states.is_empty() {
        return nothing_usable(intake);
    }
    let points = intake.frequency_hz.len();
    let range = match intake.frequency_hz.as_slice() {
        [] => String::new(),
        [only] => format!(", {}", frequency(*only)),
        [first, .., last] => format!(" {}", frequency_range(*first, *last)),
    };
    format!("{}: {}{range}.", words_clause(intake), counted(points, "frequency", "frequencies"))
}

/// "4,096 words of 12 bits came in, none missing", "63 of 64 words of 6 bits came in, word 17 is missing".
fn words_clause(intake: &Intake) -> String {
    let here = intake.states.len();
    let bits = counted(intake.bits, "bit", "bits");
    let came = |count| if count == 1 { "word" } else { "words" };
    if intake.missing.is_empty() {
        return format!("{} of {bits} came in, none missing", counted(here, "word", "words"));
    }
    let all = here + intake.missing.len();
    let words: Vec<u32> = intake.missing.iter().map(|word| word.0).collect();
    let verb = if words.len() == 1 { "is" } else { "are" };
    format!(
        "{} of {} {} of {bits} came in, {} {verb} missing",
        whole(here),
        whole(all),
        came(all),
        named("word", "words", &words, NAMED_WORDS)
    )
}

/// No file became a state: says why, from the worst case (an empty folder) on.
fn nothing_usable(intake: &Intake) -> String {
    let offered = intake.paths.len();
    if offered == 0 {
        return "Nothing came in: the folder is empty. Drop the folder that holds one S-parameter file per \
                control word."
            .to_owned();
    }
    if intake.left_out.iter().all(|file| file.reason == LeftOutReason::NotSParameters) {
        return format!(
            "No S-parameter files came in: {} named like one (.s2p or .ts). Drop the folder that holds one such \
             file per control word.",
            if offered == 1 {
                "the one file is not".to_owned()
            } else {
                format!("none of the {} is", counted(offered, "file", "files"))
            }
        );
    }
    let reasons = counted_by_reason(&intake.left_out).unwrap_or_default();
    let nameless = intake.left_out.iter().any(|file| file.reason == LeftOutReason::NoWord);
    let naming = if nameless { as_sentence(&clipped(&intake.naming, 400)) + " " } else { String::new() };
    format!("No words came in. {naming}{reasons} The list below says what to do about each.")
}

fn notes(report: &Report) -> Vec<Note> {
    let intake = &report.intake;
    let mut notes = Vec::new();
    if !intake.states.is_empty() {
        if let Some(counted) = counted_by_reason(&intake.left_out) {
            notes.push(Note::attention(format!("{counted} The rest went on.")));
        }
        if !intake.naming.is_empty() {
            notes.push(Note::guess(clipped(&intake.naming, 1_000)));
        }
    }
    match &report.analysis {
        Ok(analysis) => notes.push(match &analysis.layout_origin {
            LayoutOrigin::Guessed(reason) => Note::guess(format!(
                "The layout of the control word is a guess: {}. Reason: {} Correct it if the part is built otherwise.",
                readable(&layout_text(&analysis.layout)),
                as_sentence(&clipped(reason, 1_000))
            )),
            LayoutOrigin::Given => {
                Note::remark(format!("The layout as given: {}.", readable(&layout_text(&analysis.layout))))
            }
        }),
        Err(reason) if !intake.states.is_empty() => notes.push(Note::attention(no_analysis_sentence(reason))),
        Err(_) => {}
    }
    if intake.one_path && !intake.states.is_empty() {
        notes.push(Note::remark(
            "S12 and S22 are zero in every file: the analyser measured one direction only. Nothing is said of \
             reciprocity, passivity or the output's match.",
        ));
    }
    for (sentence, files) in &intake.warnings {
        let text = as_sentence(&clipped(sentence, 240));
        notes.push(Note::remark(format!("{}: {text}", counted(*files, "file", "files"))));
    }
    notes
}

/// The ASCII of the exports turned into the signs of the page.
fn readable(layout: &str) -> String {
    layout.replace(" deg,", "°,")
}

fn figures(intake: &Intake) -> Vec<Figure> {
    let mut figures = vec![
        Figure::count("files_offered", "Files offered", intake.paths.len()),
        Figure::count("files_left_out", "Files left out", intake.left_out.len()),
        Figure::new("bytes_read", "Bytes read", bytes_value(intake), "", bytes(intake.bytes)),
        Figure::count("words", "Words", intake.states.len()),
        Figure::count("words_missing", "Words missing", intake.missing.len()),
        Figure::count("word_bits", "Bits of the word", intake.bits),
        Figure::count("frequencies", "Frequencies", intake.frequency_hz.len()),
    ];
    if let (Some(first), Some(last)) = (intake.frequency_hz.first(), intake.frequency_hz.last()) {
        figures.push(Figure::hertz("frequency_first_hz", "First frequency", *first));
        figures.push(Figure::hertz("frequency_last_hz", "Last frequency", *last));
    }
    figures
}

fn bytes_value(intake: &Intake) -> f64 {
    // Exact below 2^53 bytes.
    #[allow(clippy::cast_precision_loss)]
    let value = intake.bytes as f64;
    value
}
