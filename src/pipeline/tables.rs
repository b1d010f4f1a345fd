//! What is known of the tables of a run beyond those of one frequency: one for the design band, the fewest for it, and how
//! the words chosen do on a second capture.

use crate::table::{BandError, BandOnSecondCapture, BandTable, OnSecondCapture, OutOfReach};
use serde::{Deserialize, Serialize};
use std::ops::RangeInclusive;
use std::sync::Arc;

/// The tables of a run beyond those of one frequency, as far as they are worked out.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Tables {
    /// One table for the design band; `None` until it is worked out.
    pub band: Option<Arc<TableForBand>>,
    /// The fewest tables for the design band; `None` until they are worked out, and where no limit suggests itself.
    pub fewest: Option<Arc<FewestForBand>>,
    /// The words chosen at the chosen frequency on a second capture; `None` where none of them was captured twice, and until
    /// the captures are read.
    pub second_capture: Option<OnSecondCapture>,
    /// The one table for the design band on a second capture; `None` where none of its words was captured twice, and until it
    /// is worked out.
    pub band_on_second_capture: Option<BandOnSecondCapture>,
}

/// One table for the design band.
#[derive(Clone, Debug, PartialEq)]
pub struct TableForBand {
    /// Grid indices of the band.
    pub band: RangeInclusive<usize>,
    /// Which error of a word over the band was made smallest.
    pub error: BandError,
    /// The table.
    pub table: BandTable,
    /// Per target, what its word does along the band.
    pub along: Vec<Along>,
}

/// The smallest number of tables that keep an error over the design band.
#[derive(Clone, Debug, PartialEq)]
pub struct FewestForBand {
    /// Grid indices of the band.
    pub band: RangeInclusive<usize>,
    /// The largest relative vector error that they keep.
    pub limit: HeldError,
    /// The tables by ascending frequency, or where no table keeps it.
    pub tables: Result<Vec<TableForPiece>, OutOfReach>,
}

/// One of the fewest tables.
#[derive(Clone, Debug, PartialEq)]
pub struct TableForPiece {
    /// Grid indices of its piece of the band.
    pub piece: RangeInclusive<usize>,
    /// Position of the state that serves each target.
    pub states: Vec<u32>,
    /// Its largest relative vector error over the piece, linear.
    pub errors: Vec<f64>,
    /// Per target, what its word does along the piece.
    pub along: Vec<Along>,
}

/// A relative vector error that tables have to keep, and where it comes from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum HeldError {
    /// The user's.
    Given {
        /// In percent.
        pct: f64,
    },
    /// The corner of the tolerance cell, which is what makes a hole: proposed where no setting lies in one over the band.
    Corner {
        /// In percent.
        pct: f64,
    },
    /// A quarter more than a table per frequency errs at worst: proposed elsewhere, and where the corner is beyond the largest
    /// error that can be asked for.
    Margin {
        /// In percent.
        pct: f64,
    },
}

impl HeldError {
    /// The largest that can be asked for, in percent: beyond it a word no longer has anything to do with its setting.
    pub const LARGEST_PCT: f64 = 50.0;

    /// In percent.
    pub fn pct(self) -> f64 {
        match self {
            Self::Given { pct } | Self::Corner { pct } | Self::Margin { pct } => pct,
        }
    }

    /// The user's limit, else a proposal: `corner` is the relative distance of the tolerance cell's corner, `farthest` the
    /// largest relative vector error that a table per frequency has over the band, both linear. `None` where even a proposal
    /// would be beyond the largest.
    pub fn of(given_pct: Option<f64>, corner: f64, farthest: f64) -> Option<Self> {
        if let Some(pct) = given_pct {
            return Some(Self::Given { pct });
        }
        let proposal = if farthest <= corner && 100.0 * corner <= Self::LARGEST_PCT {
            Self::Corner { pct: rounded_up(100.0 * corner) }
        } else {
            Self::Margin { pct: rounded_up(125.0 * farthest) }
        };
        // A perfect part under no limit needs none.
        (proposal.pct() > 0.0 && proposal.pct() <= Self::LARGEST_PCT).then_some(proposal)
    }
}

/// Upwards to two significant digits, so that what is said of a proposal is all of it.
fn rounded_up(pct: f64) -> f64 {
    let near: f64 = format!("{pct:.1e}").parse().unwrap_or(pct);
    if near >= pct {
        return near;
    }
    let last_digit = 10_f64.powf(pct.log10().floor() - 1.0);
    format!("{:.1e}", near + last_digit).parse().unwrap_or(near)
}

/// What the word of one target does along some frequencies.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Along {
    /// The gain error of the largest magnitude, dB; of two equal ones the positive.
    pub gain_error_db: f64,
    /// The phase error of the largest magnitude, degrees.
    pub phase_error_deg: f64,
    /// The largest transmission, 20·log10|T|, dB; infinite where it is no number at some frequency.
    pub transmission_db: f64,
    /// Grid index of the lowest frequency where it is so large.
    pub transmission_index: usize,
}

impl Along {
    /// At one frequency.
    pub fn at(index: usize, error: &crate::plane::StateError, transmission_db: f64) -> Self {
        Self {
            gain_error_db: error.gain_db,
            phase_error_deg: error.phase_deg,
            transmission_db: if transmission_db.is_nan() { f64::INFINITY } else { transmission_db },
            transmission_index: index,
        }
    }

    /// Along the frequencies of both.
    #[must_use]
    pub fn and(self, other: Self) -> Self {
        let larger = |a: f64, b: f64| match a.abs().total_cmp(&b.abs()) {
            std::cmp::Ordering::Equal => a.max(b),
            order => {
                if order.is_gt() {
                    a
                } else {
                    b
                }
            }
        };
        let by_gain = self.transmission_db.total_cmp(&other.transmission_db);
        let where_largest = by_gain.then(other.transmission_index.cmp(&self.transmission_index));
        let highest = if where_largest.is_ge() { self } else { other };
        Self {
            gain_error_db: larger(self.gain_error_db, other.gain_error_db),
            phase_error_deg: larger(self.phase_error_deg, other.phase_error_deg),
            ..highest
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plane::StateError;

    #[test]
    fn a_limit_that_is_given_is_taken_and_else_the_corner_is_proposed_where_every_setting_reaches_it() {
        assert_eq!(HeldError::of(Some(5.0), 0.01, 0.9), Some(HeldError::Given { pct: 5.0 }));
        // √((0.25·ln10/20)² + (1.40625·π/180)²) = 0.0378…, by hand; upwards to two digits 3.8 %.
        let corner = 0.037_8;
        assert_eq!(HeldError::of(None, corner, 0.03), Some(HeldError::Corner { pct: 3.8 }));
        assert_eq!(HeldError::of(None, corner, 0.041), Some(HeldError::Margin { pct: 5.2 }));
        assert_eq!(HeldError::of(None, f64::INFINITY, 0.04), Some(HeldError::Margin { pct: 5.0 }));
        assert_eq!(HeldError::of(None, corner, 0.5), None);
        assert_eq!(HeldError::of(None, f64::INFINITY, 0.0), None);
        assert_eq!(HeldError::of(None, f64::INFINITY, f64::INFINITY), None);
    }

    #[test]
    fn proposals_are_rounded_upwards_to_two_digits() {
        for (pct, up) in [(3.78, 3.8), (3.8, 3.8), (3.81, 3.9), (9.91, 10.0), (12.01, 13.0), (0.031_2, 0.032)]
        {
            assert_eq!(rounded_up(pct), up, "{pct}");
        }
    }

    #[test]
    fn along_a_band_the_largest_of_either_sign_counts_and_the_highest_transmission_with_its_place() {
        let at = |index, gain_db, phase_deg, transmission_db| {
            Along::at(index, &StateError { gain_db, phase_deg, vector: 0.0 }, transmission_db)
        };
        let along = at(3, 0.1, -2.0, -5.0).and(at(4, -0.3, 1.0, -4.0)).and(at(5, 0.3, 2.0, -4.0));
        let expected =
            Along { gain_error_db: 0.3, phase_error_deg: 2.0, transmission_db: -4.0, transmission_index: 4 };
        assert_eq!(along, expected);
        // Workers answer in any order.
        assert_eq!(at(5, 0.3, 2.0, -4.0).and(at(4, -0.3, 1.0, -4.0)).and(at(3, 0.1, -2.0, -5.0)), expected);
        // What is no number cannot be shown to be below a ceiling.
        assert_eq!(at(3, 0.0, 0.0, 99.0).and(at(4, 0.0, 0.0, f64::NAN)).transmission_db, f64::INFINITY);
    }
}
