//! Question 2: can this run be trusted?

mod fault;
mod line;
mod table;

pub use line::FindingLine;
pub use table::{SeverityRow, severity_rows, severity_word};

use super::Provenance;
use super::answer::{Answer, Figure, Note, Verdict};
use super::wording::{counted, decibels, joined};
use crate::checks::{Fault, RunVerdict, Severity};
use crate::pipeline::{Checks, NoAnalysis, Report};
use crate::run::{CaptureOrder, CaptureRecord, OrderOfFiles};

pub(super) fn answer(report: &Report, _provenance: &Provenance) -> Answer {
    let checks = report.checks.as_ref();
    Answer {
        key: "trust",
        number: 2,
        question: "Can this run be trusted?",
        sentence: checks.map_or_else(|| not_checked(report), |checks| sentence(checks, report)),
        verdict: checks.map(|_| match verdict(report) {
            RunVerdict::Sound => Verdict::Holds,
            RunVerdict::NotToBeTrusted => Verdict::Fails,
            RunVerdict::WithCare | RunVerdict::Unchecked => Verdict::NotDecidable,
        }),
        figures: checks.map_or_else(Vec::new, figures),
        notes: checks.map_or_else(Vec::new, |checks| notes(report, checks)),
    }
}

/// Every finding as a line, the gravest first.
pub(super) fn lines(report: &Report) -> Vec<FindingLine> {
    let Some(checks) = &report.checks else { return Vec::new() };
    checks.findings.iter().map(|finding| line::of(finding, report)).collect()
}

fn not_checked(report: &Report) -> String {
    match report.analysis {
        Err(NoAnalysis::NoStates) => "There is no run to check.".to_owned(),
        Err(NoAnalysis::OneState) => "One state alone cannot be checked against others.".to_owned(),
        _ => "The run is being searched for faults of wiring and capture; until that is done, take nothing for granted."
            .to_owned(),
    }
}

fn sentence(checks: &Checks, report: &Report) -> String {
    let clause = |severity: Severity| {
        let of = checks.findings.iter().filter(|finding| finding.severity() == severity);
        let clauses: Vec<String> = of.map(|finding| fault::clause(finding, report)).collect();
        match clauses.as_slice() {
            [] => String::new(),
            [first] => first.clone(),
            [first, rest @ ..] => {
                format!(
                    "{first}, and {} of this weight",
                    counted(rest.len(), "more finding", "more findings")
                )
            }
        }
    };
    match checks.verdict {
        RunVerdict::NotToBeTrusted => {
            format!("The run is not to be trusted: {}.", clause(Severity::NotToBeTrusted))
        }
        RunVerdict::WithCare => format!("The run is usable with care: {}.", clause(Severity::Care)),
        RunVerdict::Sound | RunVerdict::Unchecked => {
            let (searched, not_searched) = searched(checks, report);
            let [searched, not] = [&searched, &not_searched].map(|fields| joined(fields));
            match (searched.is_empty(), not.is_empty()) {
                (_, true) => format!("The run is sound: nothing that matters was found in {searched}."),
                (true, false) => format!("Nothing was found, but nothing could be checked either: {not}."),
                (false, false) => format!(
                    "In what could be checked ({searched}), nothing that matters was found; {not} could not be checked."
                ),
            }
        }
    }
}

/// The verdict of the run: of one in which nothing could be searched, that it is unchecked, whatever was not found.
pub(super) fn verdict(report: &Report) -> RunVerdict {
    let Some(checks) = &report.checks else { return RunVerdict::Unchecked };
    match checks.verdict {
        RunVerdict::Sound if searched(checks, report).0.is_empty() => RunVerdict::Unchecked,
        other => other,
    }
}

/// Whether the checks are complete and could not search all that they were to.
pub(super) fn is_checked_in_part(report: &Report) -> bool {
    report.checks.as_ref().is_some_and(|checks| !searched(checks, report).1.is_empty())
}

/// What was searched and what could not be, for a sentence that says that nothing was found. What the user says that it does
/// not apply is neither.
fn searched(checks: &Checks, report: &Report) -> (Vec<String>, Vec<String>) {
    // Without the noise nothing can be told from it, whatever the words say.
    let has_noise = checks.noise.is_some();
    let has_bits = report.analysis.as_ref().is_ok_and(|analysis| analysis.layout().is_some());
    let finds = |is: fn(&Fault) -> bool| checks.findings.iter().any(|finding| is(&finding.fault));
    let untold = finds(|fault| matches!(fault, Fault::DriftUntold(_)));
    // Repeated captures show drift whether or not words have bits.
    let repeated =
        finds(|fault| matches!(fault, Fault::DriftInRepeats { .. } | Fault::NoDriftInRepeats { .. }));
    let both_ways = !report.intake.one_path;
    let is_passive = !report.settings.part_is_active;
    let fields = [
        (true, has_noise && has_bits, "wiring"),
        (true, has_noise, "capture"),
        (is_passive, both_ways, "passivity"),
        (is_passive, both_ways, "reciprocity"),
        (true, has_noise && !untold && (has_bits || repeated), "drift"),
    ];
    let of = |wanted: bool| {
        let asked = fields.iter().filter(move |(asked, told, _)| *asked && *told == wanted);
        asked.map(|(.., name)| (*name).to_owned()).collect()
    };
    (of(true), of(false))
}

fn figures(checks: &Checks) -> Vec<Figure> {
    let count = |severity| checks.findings.iter().filter(|finding| finding.severity() == severity).count();
    let mut figures = vec![
        Figure::count(
            "findings_not_to_be_trusted",
            "findings that make numbers worthless",
            count(Severity::NotToBeTrusted),
        ),
        Figure::count("findings_care", "findings to be had in mind", count(Severity::Care)),
        Figure::count("findings_note", "findings good to know", count(Severity::Note)),
    ];
    if let Some(noise) = &checks.noise {
        figures.push(Figure::decibels(
            "noise_db",
            "noise, relative to the mean of the states",
            noise_db(noise.sigma),
        ));
    }
    figures
}

/// Noise power of both parts over that of the common trace.
fn noise_db(sigma: f64) -> f64 {
    20.0 * (sigma * std::f64::consts::SQRT_2).log10()
}

fn notes(report: &Report, checks: &Checks) -> Vec<Note> {
    let mut notes = vec![capture_note(report, checks.capture.record)];
    if let Some(order) = report.settings.file_order {
        notes.push(match report.intake.file_order {
            Some(_) => Note::attention(format!(
                "The files have their words in {}, as you said, and not as their names say.",
                order_name(order)
            )),
            None => Note::attention(format!(
                "The settings ask for the words in {}, which these words cannot have; they stand as the names say.",
                order_name(order)
            )),
        });
    }
    if let Some(noise) = checks.noise.as_ref().filter(|noise| noise.sigma > 0.0) {
        notes.push(Note::remark(format!(
            "The noise is {} or less, relative to the mean of the states: what the traces themselves curve counts as \
             noise. Claims finer than that are not made.",
            decibels(noise_db(noise.sigma))
        )));
    }
    if !checks.capture.repeats.is_empty() {
        notes.push(Note::remark(format!(
            "{} are captures of words that were captured more than once; drift and noise are judged by them.",
            counted(checks.capture.repeats.len(), "file", "files")
        )));
    }
    let has_bits = report.analysis.as_ref().is_ok_and(|analysis| analysis.layout().is_some());
    if !has_bits {
        notes.push(Note::remark(
            "Without the bits of a control word nothing can be said of wiring, missed words or unsettled states.",
        ));
    }
    if report.settings.part_is_active {
        notes.push(Note::remark("The part is declared active: passivity and reciprocity are not asked for."));
    }
    notes
}

/// In which order the files were captured, which is a guess unless an index or the user said so.
fn capture_note(report: &Report, record: CaptureRecord) -> Note {
    const CORRECT: &str =
        "choose another at “Order of capture”, or drop an index with its rows in the right order.";
    let given = report.settings.capture_order;
    match (record, given) {
        (CaptureRecord::Given, _) => {
            Note::remark("The files were captured in counting order, the lowest word first, as you said.")
        }
        (CaptureRecord::Times, CaptureOrder::Times) => Note::remark(
            "The files were captured in the order of the times at which they were last changed, as you said.",
        ),
        (_, CaptureOrder::Times) => Note::attention(
            "The order of the files' times was asked for, but not every file has one; what would be proposed stands.",
        ),
        (CaptureRecord::Index, _) => Note::remark("The order of capture is that of the index's rows."),
        (CaptureRecord::Times, _) => Note::guess(
            "the files were captured in the order of the times at which they were last changed.",
            "no index tells it, and the times can be those of sweeps.",
            CORRECT,
        ),
        (CaptureRecord::Assumed, _) => Note::guess(
            "the files were captured in counting order.",
            "it is not on record: no index tells it, and the files' times are alike or those of a copy.",
            CORRECT,
        ),
    }
}

/// The order of files as a phrase: "Gray-code order".
pub fn order_name(order: OrderOfFiles) -> &'static str {
    match order {
        OrderOfFiles::Lexicographic => "the order of numbers sorted as text (0, 1, 10, 11, …)",
        OrderOfFiles::Reversed => "reverse order",
        OrderOfFiles::Complemented => "the order with every bit inverted",
        OrderOfFiles::BitReversed => "bit-reversed order",
        OrderOfFiles::Gray => "Gray-code order",
    }
}
