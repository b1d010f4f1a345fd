//! `word-table.csv`: which word serves each setting, at one frequency, at every frequency of a band, or over a band.

use super::band_tables::{SpanTables, WhichTable};
use super::ceiling::refuse_above_ceiling;
use super::csv::{push_number, push_number_cell, text_cell};
use super::refused::{ExportRefused, analysis_of};
use crate::pipeline::{Analysis, Report, Served, Service};
use crate::sheet::Sheet;
use num_complex::Complex64;

/// The words chosen at one frequency.
#[derive(Clone, Copy, Debug)]
pub struct ChosenAt<'a> {
    /// Grid index of the frequency.
    pub index: usize,
    /// What all states are divided by there; the gain ceiling is checked with it.
    pub reference: Complex64,
    /// Per target: the chosen state and its error.
    pub served: &'a [Served],
}

impl<'a> From<&'a Service> for ChosenAt<'a> {
    fn from(service: &'a Service) -> Self {
        Self { index: service.index, reference: service.reference, served: &service.chosen }
    }
}

pub(super) fn make(report: &Report, sheet: &Sheet, which: WhichTable) -> Result<Vec<u8>, ExportRefused> {
    if which != WhichTable::AtFrequency {
        return Ok(SpanTables::of(report, which)?.csv(sheet));
    }
    let mut table = WordTable::new(report, sheet)?;
    table.push(ChosenAt::from(&analysis_of(report)?.service))?;
    Ok(table.into_bytes())
}

/// A word table that grows one frequency at a time, so that a whole band (millions of rows) never has to exist in
/// any other form than its text.
#[derive(Debug)]
pub struct WordTable<'a> {
    report: &'a Report,
    analysis: &'a Analysis,
    /// Per target, what every row begins with after the frequency: target gain, target phase, nominal word.
    heads: Vec<String>,
    /// Per state, its word.
    words: Vec<String>,
    /// What every row ends with.
    tail: String,
    text: String,
}

impl<'a> WordTable<'a> {
    /// A table with nothing but its header.
    pub fn new(report: &'a Report, sheet: &Sheet) -> Result<Self, ExportRefused> {
        let analysis = analysis_of(report)?;
        let head = |target: &crate::control::Target| {
            let mut head = String::from(",");
            push_number_cell(&mut head, target.setting.gain_db);
            push_number_cell(&mut head, target.setting.phase_deg);
            head + &target.nominal_word.map_or_else(String::new, |word| word.0.to_string()) + ","
        };
        Ok(Self {
            report,
            analysis,
            heads: analysis.targets.iter().map(head).collect(),
            words: report.intake.states.iter().map(|state| state.word.0.to_string()).collect(),
            tail: format!(
                ",{},{}\n",
                text_cell(&sheet.provenance.verdict.to_string()),
                text_cell(&sheet.provenance.input_digest)
            ),
            text: "frequency_hz,target_gain_db,target_phase_deg,nominal_word,chosen_word,gain_error_db,\
                   phase_error_deg,vector_error_pct,run_verdict,input_digest\n"
                .to_owned(),
        })
    }

    /// Adds the rows of one frequency; refused where a chosen state's gain is above the user's ceiling.
    pub fn push(&mut self, chosen: ChosenAt<'_>) -> Result<(), ExportRefused> {
        let hertz = *self.report.intake.frequency_hz.get(chosen.index).ok_or(ExportRefused::OtherRun)?;
        let in_run = |served: &Served| served.state < self.words.len();
        if chosen.served.len() != self.heads.len() || !chosen.served.iter().all(in_run) {
            return Err(ExportRefused::OtherRun);
        }
        refuse_above_ceiling(self.report, &self.analysis.targets, chosen, hertz)?;
        let mut frequency = String::new();
        push_number(&mut frequency, hertz);
        for (head, served) in self.heads.iter().zip(chosen.served) {
            self.text.push_str(&frequency);
            self.text.push_str(head);
            self.text.push_str(&self.words[served.state]);
            self.text.push(',');
            push_number_cell(&mut self.text, served.error.gain_db);
            push_number_cell(&mut self.text, served.error.phase_deg);
            push_number(&mut self.text, 100.0 * served.error.vector);
            self.text.push_str(&self.tail);
        }
        Ok(())
    }

    /// Takes the text written so far and leaves an empty buffer, so that a caller can pass it on in parts.
    pub fn take_bytes(&mut self) -> Vec<u8> {
        std::mem::take(&mut self.text).into_bytes()
    }

    /// The rest of the text.
    pub fn into_bytes(self) -> Vec<u8> {
        self.text.into_bytes()
    }
}
