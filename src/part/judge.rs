//! A specification row against what was measured.

use super::{Measured, Reading, Refusal, SpecificationRow};
use crate::control::Word;
use serde::{Deserialize, Serialize};

/// How many deviations of its noise a value has to stay away from its limit to be told from it.
const DEVIATIONS: f64 = 3.0;

/// Whether a row is kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Verdict {
    /// Every value keeps the limit by at least three times its noise.
    Holds,
    /// A value breaks it by at least three times its noise.
    Fails,
    /// Neither can be said.
    NotDecidable(Undecided),
    /// Nothing was measured in the row's sub-band, or not what the row limits.
    NotMeasured,
}

/// Why a row is not decidable.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Undecided {
    /// A value lies nearer to its limit than three times its noise.
    Noise,
    /// The values that there are keep the limit, but at some frequency so many more have not been measured.
    Unmeasured(usize),
    /// The figure does not exist for this field, or not at some frequency.
    Refused(Refusal),
}

/// The value on which a verdict rests: of those that make it, the one with the smallest margin.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Deciding {
    /// The word; `None` for a figure over all codes.
    pub word: Option<Word>,
    /// Grid index.
    pub index: usize,
    /// Frequency in hertz.
    pub frequency_hz: f64,
    /// The value in the figure's unit.
    pub value: f64,
    /// The limit nearest to it, at its setting.
    pub limit: f64,
    /// How far inside the limit it lies; negative outside.
    pub margin: f64,
    /// One standard deviation of its noise, where that is known.
    pub noise: Option<f64>,
}

/// What became of a row.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Judgement {
    /// The verdict.
    pub verdict: Verdict,
    /// What it rests on; `None` where there is no value.
    pub deciding: Option<Deciding>,
    /// The first and the last frequency measured in the row's sub-band: nothing is said of what lies beyond.
    pub measured_hz: Option<(f64, f64)>,
    /// The most values that are missing at one frequency.
    pub unmeasured: usize,
    /// The grid indexes at which a value breaks the row by at least three times its noise, ascending.
    pub broken_at: Vec<usize>,
}

impl Measured<'_> {
    /// Judges a row at every measured frequency of its sub-band; `None` where the row is about a field of the other
    /// quantity.
    ///
    /// Where noise is not known a value decides by itself. A value onto its limit keeps it, up to a relative 1e-9. A
    /// value that breaks its limit is enough to fail; values that are missing only stand in the way of holding.
    pub fn judge(&self, row: &SpecificationRow) -> Option<Judgement> {
        if row.figure.quantity().is_some_and(|quantity| quantity != self.slice.quantity) {
            return None;
        }
        let mut found = Found::default();
        for (index, &frequency_hz) in self.frequency_hz.iter().enumerate().take(self.at.len()) {
            if row.covers(frequency_hz) {
                match self.readings(row.figure, index) {
                    Ok(readings) => found.add(row, index, frequency_hz, &readings),
                    Err(refusal) => found.refused = Some(refusal),
                }
            }
        }
        Some(found.judgement())
    }
}

/// The smallest margins so far.
#[derive(Default)]
struct Found {
    outside: Option<Deciding>,
    undecided: Option<Deciding>,
    inside: Option<Deciding>,
    refused: Option<Refusal>,
    measured_hz: Option<(f64, f64)>,
    unmeasured: usize,
    broken_at: Vec<usize>,
}

impl Found {
    fn add(&mut self, row: &SpecificationRow, index: usize, frequency_hz: f64, readings: &[Reading]) {
        if readings.is_empty() {
            return;
        }
        let first_hz = self.measured_hz.map_or(frequency_hz, |(first, _)| first);
        self.measured_hz = Some((first_hz, frequency_hz));
        let mut missing = 0;
        for reading in readings {
            if reading.value.is_nan() {
                missing += 1;
                continue;
            }
            for (limit, margin) in row.limits.margins(reading.value, reading.setting) {
                let noise = reading.noise.filter(|noise| !noise.is_nan());
                let deciding = Deciding {
                    word: reading.word,
                    index,
                    frequency_hz,
                    value: reading.value,
                    limit,
                    margin,
                    noise,
                };
                let kept = if noise.is_some_and(|noise| margin.abs() < DEVIATIONS * noise) {
                    &mut self.undecided
                } else if margin >= -1e-9 * limit.abs() {
                    &mut self.inside
                } else {
                    if self.broken_at.last() != Some(&index) {
                        self.broken_at.push(index);
                    }
                    &mut self.outside
                };
                if kept.is_none_or(|kept| margin < kept.margin) {
                    *kept = Some(deciding);
                }
            }
        }
        self.unmeasured = self.unmeasured.max(missing);
    }

    fn judgement(self) -> Judgement {
        let unmeasured = Some(self.unmeasured).filter(|&missing| missing > 0);
        let (verdict, deciding) = match (self.outside, self.refused, self.undecided, unmeasured, self.inside)
        {
            (Some(outside), ..) => (Verdict::Fails, Some(outside)),
            (_, Some(refusal), undecided, _, inside) => {
                (Verdict::NotDecidable(Undecided::Refused(refusal)), undecided.or(inside))
            }
            (_, _, Some(undecided), ..) => (Verdict::NotDecidable(Undecided::Noise), Some(undecided)),
            (_, _, _, Some(missing), inside) => {
                (Verdict::NotDecidable(Undecided::Unmeasured(missing)), inside)
            }
            (_, _, _, _, Some(inside)) => (Verdict::Holds, Some(inside)),
            _ => (Verdict::NotMeasured, None),
        };
        Judgement {
            verdict,
            deciding,
            measured_hz: self.measured_hz,
            unmeasured: self.unmeasured,
            broken_at: self.broken_at,
        }
    }
}
