//! `findings.csv`: what was found wrong with the run, one row per finding and word: what the checks found, then what
//! intake knows (files left out, words missing, what the reader warned of).

use super::csv::text_cell;
use super::refused::ExportRefused;
use crate::checks::Severity;
use crate::control::Word;
use crate::pipeline::Report;
use crate::run::LeftOutReason;
use crate::sheet::{FindingLine, Sheet, trust::severity_word};
use std::fmt::Write;

/// One row.
struct Finding<'a> {
    name: &'static str,
    severity: Severity,
    word: Option<Word>,
    file: &'a str,
    /// The first frequency at which it shows; `None` where it shows at all of them, or belongs to none.
    frequency_hz: Option<f64>,
    detail: &'a str,
}

impl<'a> Finding<'a> {
    /// What intake finds belongs to no frequency.
    fn of_intake(
        name: &'static str,
        severity: Severity,
        word: Option<Word>,
        file: &'a str,
        detail: &'a str,
    ) -> Self {
        Self { name, severity, word, file, frequency_hz: None, detail }
    }
}

#[expect(clippy::unnecessary_wraps, reason = "the signature of every exporter")]
pub(super) fn make(report: &Report, sheet: &Sheet) -> Result<Vec<u8>, ExportRefused> {
    let mut text = "finding,severity,word,file,frequency_hz,detail\n".to_owned();
    for line in &sheet.findings {
        push_line(&mut text, line, report);
    }
    for (file, line) in report.intake.left_out.iter().zip(&sheet.left_out) {
        let (name, severity, word) = left_out(&file.reason);
        push(&mut text, &Finding::of_intake(name, severity, word, &file.path, &line.sentence));
    }
    for &word in &report.intake.missing {
        let (name, severity) = ("missing word", Severity::Care);
        let detail = "No usable file gives this word.";
        push(&mut text, &Finding::of_intake(name, severity, Some(word), "", detail));
    }
    for adapted in &report.intake.adapted {
        let file = report.intake.paths.get(adapted.file).map_or("", String::as_str);
        let state = report.intake.states.iter().find(|state| state.file == adapted.file);
        let word = state.map(|state| state.word);
        if adapted.interpolated {
            let (name, severity) = ("interpolated", Severity::Care);
            let detail = "Measured at other frequencies; its complex values are interpolated to the run's.";
            push(&mut text, &Finding::of_intake(name, severity, word, file, detail));
        }
        if adapted.renormalised_from.is_some() {
            let (name, severity) = ("renormalised", Severity::Note);
            let detail = "Measured at another reference impedance; it is renormalised to the run's.";
            push(&mut text, &Finding::of_intake(name, severity, word, file, detail));
        }
    }
    for (message, files) in &report.intake.warnings {
        let (name, severity) = ("reader's warning", Severity::Note);
        let files = if *files == 1 { "1 file".to_owned() } else { format!("{files} files") };
        let detail = format!("In {files}: {message}");
        push(&mut text, &Finding::of_intake(name, severity, None, "", &detail));
    }
    Ok(text.into_bytes())
}

fn left_out(reason: &LeftOutReason) -> (&'static str, Severity, Option<Word>) {
    match reason {
        LeftOutReason::NotSParameters => ("no S-parameter file", Severity::Note, None),
        LeftOutReason::Unreadable(_) => ("unreadable file", Severity::Care, None),
        LeftOutReason::Ports(_) => ("other number of ports", Severity::Care, None),
        LeftOutReason::NoSuchPath { .. } => ("ports of the path missing", Severity::Care, None),
        LeftOutReason::NotInIndex => ("not in the index", Severity::Care, None),
        LeftOutReason::FaultyIndex(_) => ("faulty index", Severity::Care, None),
        LeftOutReason::OtherIndex { .. } => ("second index", Severity::Note, None),
        LeftOutReason::NoWord => ("no word in the name", Severity::Care, None),
        LeftOutReason::Doubled { word, .. } => ("doubled word", Severity::Care, Some(*word)),
        LeftOutReason::OtherGrid { .. } => ("other frequencies", Severity::Care, None),
        LeftOutReason::OtherReference { .. } => ("other reference impedance", Severity::Care, None),
    }
}

/// A row for each word that a finding concerns; one without a word where it concerns the run as a whole.
fn push_line(text: &mut String, line: &FindingLine, report: &Report) {
    let frequency_hz = line.band_hz.map(|(first, _)| first);
    let detail = match line.certainty.as_str() {
        "" => line.sentence.clone(),
        certainty => format!("{} ({certainty})", line.sentence),
    };
    let of = |word, file| Finding {
        name: line.name,
        severity: line.severity,
        word,
        file,
        frequency_hz,
        detail: &detail,
    };
    if line.words.is_empty() {
        push(text, &of(None, ""));
    }
    for &word in &line.words {
        let state = report.intake.states.binary_search_by_key(&word, |state| state.word);
        let file = state.ok().and_then(|at| report.intake.paths.get(report.intake.states[at].file));
        push(text, &of(Some(word), file.map_or("", String::as_str)));
    }
}

fn push(text: &mut String, finding: &Finding) {
    let word = finding.word.map_or_else(String::new, |word| word.0.to_string());
    let (file, detail) = (text_cell(finding.file), text_cell(finding.detail));
    let frequency = finding.frequency_hz.map_or_else(String::new, |hertz| hertz.to_string());
    let severity = severity_word(finding.severity);
    let written = writeln!(text, "{},{severity},{word},{file},{frequency},{detail}", finding.name);
    debug_assert!(written.is_ok(), "writing to a String cannot fail");
}
