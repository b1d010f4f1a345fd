//! `findings.csv`: what was found wrong with the run, one row per finding.
//!
//! So far these are what intake knows: files left out, words missing, and what the reader warned of.

use super::csv::text_cell;
use super::refused::ExportRefused;
use crate::control::Word;
use crate::pipeline::Report;
use crate::run::LeftOutReason;
use crate::sheet::Sheet;
use std::fmt::Write;

/// How much a finding matters.
#[derive(Clone, Copy)]
enum Severity {
    /// Good to know.
    Note,
    /// To be had in mind when the numbers are used.
    Care,
}

impl Severity {
    fn text(self) -> &'static str {
        match self {
            Self::Note => "note",
            Self::Care => "care",
        }
    }
}

/// One row. Nothing that intake finds belongs to one frequency, so that cell stays empty.
struct Finding<'a> {
    name: &'static str,
    severity: Severity,
    word: Option<Word>,
    file: &'a str,
    detail: &'a str,
}

#[expect(clippy::unnecessary_wraps, reason = "the signature of every exporter")]
pub(super) fn make(report: &Report, sheet: &Sheet) -> Result<Vec<u8>, ExportRefused> {
    let mut text = "finding,severity,word,file,frequency_hz,detail\n".to_owned();
    for (file, line) in report.intake.left_out.iter().zip(&sheet.left_out) {
        let (name, severity, word) = left_out(&file.reason);
        push(&mut text, &Finding { name, severity, word, file: &file.path, detail: &line.sentence });
    }
    for &word in &report.intake.missing {
        let (name, severity) = ("missing word", Severity::Care);
        let detail = "No usable file gives this word.";
        push(&mut text, &Finding { name, severity, word: Some(word), file: "", detail });
    }
    for adapted in &report.intake.adapted {
        let file = report.intake.paths.get(adapted.file).map_or("", String::as_str);
        let state = report.intake.states.iter().find(|state| state.file == adapted.file);
        let word = state.map(|state| state.word);
        if adapted.interpolated {
            let (name, severity) = ("interpolated", Severity::Care);
            let detail = "Measured at other frequencies; its complex values are interpolated to the run's.";
            push(&mut text, &Finding { name, severity, word, file, detail });
        }
        if adapted.renormalised_from.is_some() {
            let (name, severity) = ("renormalised", Severity::Note);
            let detail = "Measured at another reference impedance; it is renormalised to the run's.";
            push(&mut text, &Finding { name, severity, word, file, detail });
        }
    }
    for (message, files) in &report.intake.warnings {
        let (name, severity) = ("reader's warning", Severity::Note);
        let files = if *files == 1 { "1 file".to_owned() } else { format!("{files} files") };
        let detail = format!("In {files}: {message}");
        push(&mut text, &Finding { name, severity, word: None, file: "", detail: &detail });
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

fn push(text: &mut String, finding: &Finding) {
    let word = finding.word.map_or_else(String::new, |word| word.0.to_string());
    let (file, detail) = (text_cell(finding.file), text_cell(finding.detail));
    let written = writeln!(text, "{},{},{word},{file},,{detail}", finding.name, finding.severity.text());
    debug_assert!(written.is_ok(), "writing to a String cannot fail");
}
