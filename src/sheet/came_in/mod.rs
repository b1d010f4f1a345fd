//! Question 1: what came in?

mod notes;

pub use notes::naming_note;

use super::Provenance;
use super::answer::{Answer, Figure, Verdict};
use super::left_out::{counted_by_reason, may_be_a_state};
use super::listed::{kind, listed_in_use, missing, series_gaps, setting_name};
use super::wording::{
    as_sentence, bytes, clipped, counted, frequency, frequency_range, joined, named, whole,
};
use crate::control::Word;
use crate::pipeline::Report;
use crate::run::{Intake, LeftOutReason, Listed};

/// How many missing words a sentence names before it counts the rest.
const NAMED_WORDS: usize = 5;

pub(super) fn answer(report: &Report, _provenance: &Provenance) -> Answer {
    let intake = &report.intake;
    let verdict = if intake.states.is_empty() {
        None
    } else if intake.missing.is_empty() && listed_in_use(intake).and_then(series_gaps).is_some() {
        // Only whoever made the list knows whether the series was meant to be whole.
        Some(Verdict::NotDecidable)
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
        notes: notes::notes(report),
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
    if let Some(listed) = listed_in_use(intake) {
        return listed_clause(intake, listed);
    }
    let here = intake.states.len();
    let bits = counted(intake.bits, "bit", "bits");
    let came = |count| if count == 1 { "word" } else { "words" };
    if intake.missing.is_empty() {
        return format!("{} of {bits} came in, none missing", counted(here, "word", "words"));
    }
    let all = here + intake.missing.len();
    let words: Vec<u32> = intake.missing.iter().map(|word| word.0).collect();
    format!(
        "{} of {} {} of {bits} came in{}",
        whole(here),
        whole(all),
        came(all),
        missing_clause(intake, &named("word", "words", &words, NAMED_WORDS))
    )
}

/// ", word 17 is missing"; "; for word 17 no usable file came" where one came that may be its own and was left out.
fn missing_clause(intake: &Intake, names: &str) -> String {
    if intake.left_out.iter().any(|file| may_be_a_state(&file.reason)) {
        return format!("; for {names} no usable file came");
    }
    format!(", {names} {} missing", if intake.missing.len() == 1 { "is" } else { "are" })
}

/// "44 states from 0 V to 22 V came in, none missing", "63 of 64 listed settings came in, −3 dB is missing".
fn listed_clause(intake: &Intake, listed: &Listed) -> String {
    let here = intake.states.len();
    let name = |word: Word| setting_name(listed, word).unwrap_or_default();
    if !intake.missing.is_empty() {
        let names = missing(intake, NAMED_WORDS).map(|missing| missing.names).unwrap_or_default();
        let (one, many) = kind(listed);
        let all = counted(listed.keys.len(), &format!("listed {one}"), &format!("listed {many}"));
        return format!("{} of {all} came in{}", whole(here), missing_clause(intake, &names));
    }
    let last = Word(u32::try_from(listed.keys.len().saturating_sub(1)).unwrap_or(u32::MAX));
    let (one, many) = kind(listed);
    let came = format!("{} from {} to {} came in", counted(here, one, many), name(Word(0)), name(last));
    match series_gaps(listed) {
        None => format!("{came}, none missing"),
        Some(gaps) => {
            let verb = if gaps.absent.len() == 1 { "is" } else { "are" };
            format!(
                "{came}; {} {verb} missing from the series in steps of {}",
                joined(&gaps.absent),
                gaps.step
            )
        }
    }
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
