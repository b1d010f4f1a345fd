//! The tables that serve a whole band or a piece of it, as every table file holds them: one for the design band, or the fewest
//! that keep an error.

use super::csv::{push_number_cell, text_cell};
use super::refused::{ExportRefused, analysis_of};
use crate::control::Word;
use crate::pipeline::{Along, Analysis, BandError, Report};
use crate::sheet::Sheet;
use crate::table::exceeding;
use std::fmt::Write;
use std::ops::RangeInclusive;

/// Which table a file holds.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum WhichTable {
    /// The words chosen at the chosen frequency.
    #[default]
    AtFrequency,
    /// One table for the design band.
    ForBand,
    /// The fewest tables for the design band, one after the other.
    Fewest,
}

/// One word a target over some frequencies.
pub(super) struct SpanTable<'a> {
    pub(super) frequencies: RangeInclusive<usize>,
    pub(super) states: &'a [u32],
    /// Relative vector errors, linear, of the kind of [`SpanTables::error`].
    errors: &'a [f64],
    along: &'a [Along],
}

/// Tables that have been found fit to be handed out.
pub(super) struct SpanTables<'a> {
    report: &'a Report,
    analysis: &'a Analysis,
    band: &'a RangeInclusive<usize>,
    pub(super) tables: Vec<SpanTable<'a>>,
    error: BandError,
    /// Per target, linear; only beside one table for the band.
    per_frequency: Option<&'a [f64]>,
    /// Only of the fewest.
    held_error_pct: Option<f64>,
}

impl<'a> SpanTables<'a> {
    /// The tables of a report. Refused where they are not worked out, where there are none, and where a state of any of them
    /// has more gain than the user's ceiling at any frequency that it serves.
    pub(super) fn of(report: &'a Report, which: WhichTable) -> Result<Self, ExportRefused> {
        let analysis = analysis_of(report)?;
        let tables = match which {
            WhichTable::AtFrequency => return Err(ExportRefused::NotFetched),
            WhichTable::ForBand => {
                let one = report.tables.band.as_deref().ok_or(ExportRefused::NoBandTable)?;
                Self {
                    report,
                    analysis,
                    band: &one.band,
                    tables: vec![SpanTable {
                        frequencies: one.band.clone(),
                        states: &one.table.states,
                        errors: &one.table.errors,
                        along: &one.along,
                    }],
                    error: one.error,
                    per_frequency: Some(&one.table.per_frequency),
                    held_error_pct: None,
                }
            }
            WhichTable::Fewest => {
                let fewest = report.tables.fewest.as_deref().ok_or(ExportRefused::NoHeldError)?;
                let held_error_pct = fewest.limit.pct();
                let pieces = fewest.tables.as_ref().map_err(|out| ExportRefused::OutOfReach {
                    held_error_pct,
                    frequency_hz: report.intake.frequency_hz.get(out.frequency).copied().unwrap_or(f64::NAN),
                    settings: out.targets.len(),
                })?;
                let table = pieces.iter().map(|table| SpanTable {
                    frequencies: table.piece.clone(),
                    states: &table.states,
                    errors: &table.errors,
                    along: &table.along,
                });
                Self {
                    report,
                    analysis,
                    band: &fewest.band,
                    tables: table.collect(),
                    error: BandError::Worst,
                    per_frequency: None,
                    held_error_pct: Some(held_error_pct),
                }
            }
        };
        tables.check()?;
        Ok(tables)
    }

    fn check(&self) -> Result<(), ExportRefused> {
        let (targets, states) = (self.analysis.targets.len(), self.report.intake.states.len());
        let points = self.report.intake.frequency_hz.len();
        let fits = |table: &SpanTable| {
            [table.states.len(), table.errors.len(), table.along.len()] == [targets; 3]
                && *table.frequencies.end() < points
                && table.states.iter().all(|&state| (state as usize) < states)
                && table.along.iter().all(|along| along.transmission_index < points)
        };
        if !self.tables.iter().all(fits) {
            return Err(ExportRefused::OtherRun);
        }
        self.tables.iter().try_for_each(|table| self.refuse_above_ceiling(table))
    }

    /// Holds the largest transmission of every word over all frequencies of its table against the user's ceiling.
    fn refuse_above_ceiling(&self, table: &SpanTable) -> Result<(), ExportRefused> {
        let Some(ceiling_db) = self.report.settings.gain_ceiling_db else { return Ok(()) };
        let gains_db: Vec<f64> = table.along.iter().map(|along| along.transmission_db).collect();
        let words = exceeding(&self.words(table), &gains_db, ceiling_db);
        let highest = table.along.iter().max_by(|a, b| a.transmission_db.total_cmp(&b.transmission_db));
        match highest {
            Some(highest) if !words.is_empty() => Err(ExportRefused::GainAboveCeiling {
                ceiling_db,
                frequency_hz: self.hertz(highest.transmission_index),
                band_hz: Some(self.edges_hz(&table.frequencies)),
                words,
                largest_db: highest.transmission_db,
            }),
            _ => Ok(()),
        }
    }

    /// The measured word that serves each target.
    pub(super) fn words(&self, table: &SpanTable) -> Vec<Word> {
        table.states.iter().map(|&state| self.report.intake.states[state as usize].word).collect()
    }

    fn hertz(&self, index: usize) -> f64 {
        self.report.intake.frequency_hz[index]
    }

    fn edges_hz(&self, frequencies: &RangeInclusive<usize>) -> (f64, f64) {
        (self.hertz(*frequencies.start()), self.hertz(*frequencies.end()))
    }

    /// The error over all targets, in percent.
    fn over_targets_pct(&self, errors: &[f64]) -> f64 {
        100.0
            * match self.error {
                BandError::Worst => errors.iter().copied().fold(0.0, f64::max),
                BandError::Rms => {
                    (errors.iter().map(|error| error * error).sum::<f64>() / errors.len() as f64).sqrt()
                }
            }
    }

    /// Where the tables come from, one fact a line, in ASCII: in place of mapping rule and frequency of one frequency's table.
    pub(super) fn comment_lines(&self, sheet: &Sheet) -> Vec<String> {
        let kind = kind(self.error);
        let mapping = match self.held_error_pct {
            None => {
                format!("one word per setting for the band, of the smallest {kind} relative vector error")
            }
            Some(pct) => format!(
                "the fewest tables of one word per setting that hold a relative vector error of {pct} % at every frequency"
            ),
        };
        let (first, last) = self.edges_hz(self.band);
        let mut lines = sheet.provenance.comment_lines_of(&mapping, &format!("{first} Hz to {last} Hz"));
        match (self.tables.as_slice(), self.per_frequency) {
            ([one], Some(per_frequency)) => lines.push(format!(
                "{kind} relative vector error over band and settings: {} %, of a table per frequency {} %",
                self.over_targets_pct(one.errors),
                self.over_targets_pct(per_frequency)
            )),
            _ => lines.extend(self.tables.iter().enumerate().map(|(number, table)| {
                let (first, last) = self.edges_hz(&table.frequencies);
                let error = self.over_targets_pct(table.errors);
                format!("table {number}: {first} Hz to {last} Hz, {kind} relative vector error {error} %")
            })),
        }
        lines
    }

    /// One row per table and target.
    pub(super) fn csv(&self, sheet: &Sheet) -> Vec<u8> {
        let kind = kind(self.error);
        let beside = match self.held_error_pct {
            None => format!("per_frequency_{kind}_vector_error_pct"),
            Some(_) => "held_error_pct".to_owned(),
        };
        let mut text = format!(
            "first_frequency_hz,last_frequency_hz,target_gain_db,target_phase_deg,nominal_word,chosen_word,\
             largest_gain_error_db,largest_phase_error_deg,{kind}_vector_error_pct,{beside},\
             highest_transmission_db,run_verdict,input_digest\n"
        );
        let provenance = &sheet.provenance;
        let tail = format!(
            "{},{}\n",
            text_cell(&provenance.verdict.to_string()),
            text_cell(&provenance.input_digest)
        );
        for table in &self.tables {
            let (first, last) = self.edges_hz(&table.frequencies);
            let words = self.words(table);
            let rows = self.analysis.targets.iter().zip(words).zip(table.errors.iter().zip(table.along));
            for (target, ((wanted, word), (error, along))) in rows.enumerate() {
                for value in [first, last, wanted.setting.gain_db, wanted.setting.phase_deg] {
                    push_number_cell(&mut text, value);
                }
                text.push_str(&wanted.nominal_word.map_or_else(String::new, |word| word.0.to_string()));
                // Writing to a string cannot fail.
                let _ = write!(text, ",{},", word.0);
                let beside = match self.per_frequency {
                    Some(per_frequency) => 100.0 * per_frequency[target],
                    None => self.held_error_pct.unwrap_or(f64::NAN),
                };
                for value in
                    [along.gain_error_db, along.phase_error_deg, 100.0 * error, beside, along.transmission_db]
                {
                    push_number_cell(&mut text, value);
                }
                text.push_str(&tail);
            }
        }
        text.into_bytes()
    }
}

/// The kind of error in names and in ASCII.
fn kind(error: BandError) -> &'static str {
    match error {
        BandError::Worst => "worst",
        BandError::Rms => "rms",
    }
}
