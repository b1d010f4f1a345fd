//! Question 1: what came in?

use super::Provenance;
use super::answer::{Answer, Figure, Note, Verdict};
use super::left_out::{counted_by_reason, ohms};
use super::listed::{listed_in_use, missing, series_gaps, setting_name};
use super::no_analysis::no_analysis_sentence;
use super::provenance::model_text;
use super::wording::{
    as_sentence, bytes, clipped, counted, frequency, frequency_range, joined, limit, named, whole,
};
use crate::control::{ControlModel, Setting, Word};
use crate::pipeline::Analysis;
use crate::pipeline::{LayoutOrigin, ListedPhases, Report};
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
    let verb = if words.len() == 1 { "is" } else { "are" };
    format!(
        "{} of {} {} of {bits} came in, {} {verb} missing",
        whole(here),
        whole(all),
        came(all),
        named("word", "words", &words, NAMED_WORDS)
    )
}

/// "44 settings from 0 V to 22 V came in, none missing", "63 of 64 listed settings came in, −3 dB is missing".
fn listed_clause(intake: &Intake, listed: &Listed) -> String {
    let here = intake.states.len();
    let name = |word: Word| setting_name(listed, word).unwrap_or_default();
    if !intake.missing.is_empty() {
        let names = missing(intake, NAMED_WORDS).map(|missing| missing.names).unwrap_or_default();
        let verb = if intake.missing.len() == 1 { "is" } else { "are" };
        return format!(
            "{} of {} came in, {} {verb} missing",
            whole(here),
            counted(listed.keys.len(), "listed setting", "listed settings"),
            names
        );
    }
    let last = Word(u32::try_from(listed.keys.len().saturating_sub(1)).unwrap_or(u32::MAX));
    let came =
        format!("{} from {} to {} came in", counted(here, "setting", "settings"), name(Word(0)), name(last));
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
    notes.extend(naming_notes(report));
    match &report.analysis {
        Ok(analysis) => notes.extend(match &analysis.layout_origin {
            LayoutOrigin::Guessed(reason) => vec![Note::guess(format!(
                "The layout of the control word is a guess: {}. Reason: {} Correct it if the part is built otherwise.",
                readable(&model_text(&analysis.model)),
                as_sentence(&clipped(reason, 1_000))
            ))],
            LayoutOrigin::Given => {
                vec![Note::remark(format!("The layout as given: {}.", readable(&model_text(&analysis.model))))]
            }
            LayoutOrigin::Listed(phases) => listed_notes(intake, analysis, *phases),
            LayoutOrigin::Marks { proposed } => marks_notes(intake, analysis, *proposed),
        }),
        Err(reason) if !intake.states.is_empty() => notes.push(Note::attention(no_analysis_sentence(reason))),
        Err(_) => {}
    }
    notes.extend(fitting_notes(intake));
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

/// What was done to files so that they fit the run.
fn fitting_notes(intake: &Intake) -> Vec<Note> {
    let mut notes = Vec::new();
    if intake.most_ports > 2 && !intake.states.is_empty() {
        notes.push(Note::guess(format!(
            "The files have up to {}. The path from port {} to port {} is read, the others ending in their reference \
             impedances.",
            counted(intake.most_ports, "port", "ports"),
            intake.path.input,
            intake.path.output
        )));
    }
    let interpolated = intake.adapted.iter().filter(|adapted| adapted.interpolated).count();
    if interpolated > 0 {
        notes.push(Note::attention(format!(
            "{} measured at other frequencies, as you asked: their complex values are interpolated to the run's by \
             straight lines.",
            if interpolated == 1 { "1 state was".to_owned() } else { format!("{} states were", whole(interpolated)) }
        )));
    }
    let mut from: Vec<([f64; 2], usize)> = Vec::new();
    for ohms in intake.adapted.iter().filter_map(|adapted| adapted.renormalised_from) {
        match from.iter_mut().find(|(known, _)| *known == ohms) {
            Some((_, count)) => *count += 1,
            None => from.push((ohms, 1)),
        }
    }
    for (from_ohm, count) in from {
        notes.push(Note::remark(format!(
            "{} renormalised from {} to the run's {} Ω.",
            if count == 1 { "1 state was".to_owned() } else { format!("{} states were", whole(count)) },
            ohms(from_ohm),
            limit(intake.reference_ohm)
        )));
    }
    notes
}

/// What the user should know of how the files got their words.
fn naming_notes(report: &Report) -> Vec<Note> {
    let intake = &report.intake;
    let mut notes = Vec::new();
    let in_use = intake.naming_choices.iter().find(|choice| choice.in_use).map(|choice| choice.naming);
    if report.settings.naming.is_some() && report.settings.naming != in_use {
        notes.push(Note::attention(
            "The settings ask for a reading of the names that this run does not have; the likeliest is used instead.",
        ));
    }
    if let Some(index) = &intake.index {
        let path = clipped(&index.path, 120);
        notes.push(Note::remark(format!(
            "The order of the rows in “{path}” is taken for the order of capture."
        )));
        if let Some((line, name)) = index.absent.first() {
            let others = match index.absent.len() - 1 {
                0 => String::new(),
                others => format!(", and {} name others", counted(others, "further row", "further rows")),
            };
            notes.push(Note::attention(format!(
                "Line {line} of “{path}” names “{}”, which is not among the files{others}.",
                clipped(name, 120)
            )));
        }
    }
    notes
}

fn listed_notes(intake: &Intake, analysis: &Analysis, phases: ListedPhases) -> Vec<Note> {
    let zero = analysis.model.zero_word();
    let mut notes = vec![Note::remark(
        "The words are the ranks of the listed settings, which are taken as nominal values.",
    )];
    notes.extend(match phases {
        ListedPhases::AsWritten => None,
        ListedPhases::Guessed { lags: true } => Some(Note::guess(
            "The phases are written without a sign. They are taken as lags, which fits the measurements better.",
        )),
        ListedPhases::Guessed { lags: false } => Some(Note::guess(
            "The phases are written without a sign. They are taken as leads, as the measurements fit lags no better.",
        )),
        ListedPhases::Given { lags } => {
            let given = if lags { "lags" } else { "leads" };
            Some(Note::remark(format!("The phases are written without a sign. They are {given}, as you gave it.")))
        }
    });
    let listed = intake.listed.as_ref();
    if let ControlModel::Listed(crate::control::Listing::Settings(settings)) = &analysis.model
        && settings.get(zero.0 as usize) != Some(&Setting { gain_db: 0.0, phase_deg: 0.0 })
        && let Some(name) = listed.and_then(|listed| setting_name(listed, zero))
    {
        notes.push(Note::guess(format!(
            "No setting of 0 dB and 0° is listed; {name} takes its place, and the others count from there."
        )));
    }
    notes
}

fn marks_notes(intake: &Intake, analysis: &Analysis, proposed: bool) -> Vec<Note> {
    let listed = intake.listed.as_ref();
    let lowest =
        listed.and_then(|listed| setting_name(listed, analysis.model.zero_word())).unwrap_or_default();
    let text = readable(&model_text(&analysis.model));
    let wanted = text.split_once("wanted: ").map_or("", |(_, wanted)| wanted);
    let wanted = if proposed {
        Note::guess(format!(
            "The settings to serve are a proposal from what the states reach at the centre of the design band: \
             {wanted}. Give your own below."
        ))
    } else {
        Note::remark(format!("The settings to serve as given: {wanted}."))
    };
    vec![
        Note::remark(format!(
            "The names say nothing of gain or phase, so no word is nominal and only chosen words are scored. The \
             lowest, {lowest}, stands for the zero word."
        )),
        wanted,
    ]
}

/// The ASCII of the exports turned into the signs of the page.
fn readable(layout: &str) -> String {
    layout.replace(" deg", "°")
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
