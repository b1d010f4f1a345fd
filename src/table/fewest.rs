//! The fewest tables for a stated error: a band cut into the smallest number of pieces such that in each piece one word per
//! target keeps the relative vector error within a limit at every frequency.
//!
//! Taking the longest piece first is exact. Call a run of frequencies good if for every target some word keeps the limit at
//! all of them. A part of a good run is good, with the same words. Compare the longest-first cut with one of the fewest pieces:
//! its k-th piece ends no earlier than the other's k-th. For the first this is so because it is the longest good run from the
//! band's start. If it is so for the k-th, then what lies between its end and the end of the other's next piece is nothing, or
//! a part of that good piece and hence good, so the longest piece from there ends no earlier than it. So the longest-first
//! cut is through no later than the other, and has no more pieces.

use super::band_table::{AtFrequency, best_of};
use super::cells::Cells;
use crate::control::Word;
use crate::plane::PreparedTargets;
use serde::{Deserialize, Serialize};
use std::ops::RangeInclusive;

/// A piece of a band with its table.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Piece {
    /// Indices of its frequencies.
    pub frequencies: RangeInclusive<usize>,
    /// Position of the state that serves each target: of those that keep the limit, the one whose worst error is smallest.
    pub states: Vec<u32>,
    /// That worst relative vector error, linear.
    pub errors: Vec<f64>,
}

/// Some targets are out of reach at a frequency, so that no number of tables keeps the limit.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct OutOfReach {
    /// Index of the frequency.
    pub frequency: usize,
    /// Indices of the targets that no state serves within the limit there.
    pub targets: Vec<usize>,
}

/// Cuts a band, one frequency after the other. What is known so far can be handed on, so that the owners of the frequencies
/// take turns, lowest first.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FewestTables {
    /// Squared, its slack included.
    limit: f64,
    pieces: Vec<Piece>,
    first: usize,
    /// Index of the next frequency.
    next: usize,
    /// Per target the states that have kept the limit since `first`, with their largest squared error.
    live: Vec<Vec<(u32, f64)>>,
}

impl FewestTables {
    /// Begins at the frequency of index `first`; `limit` is the largest relative vector error, linear, inclusive with the slack
    /// that all bounds have.
    pub fn new(limit: f64, first: usize) -> Self {
        let limit = limit * (1.0 + 1e-9);
        Self { limit: limit * limit, pieces: Vec::new(), first, next: first, live: Vec::new() }
    }

    /// Takes the next frequency.
    pub fn take(
        &mut self,
        targets: &PreparedTargets,
        words: &[Word],
        at: &AtFrequency,
    ) -> Result<(), OutOfReach> {
        if self.next > self.first {
            let go_on: Option<Vec<_>> =
                (0..targets.len()).map(|target| self.still_live(targets, target, at)).collect();
            if let Some(live) = go_on {
                self.live = live;
                self.next += 1;
                return Ok(());
            }
            self.close(targets, words);
        }
        self.begin(targets, words, at)
    }

    /// A target's live states that keep the limit here too; `None` where there is none.
    fn still_live(
        &self,
        targets: &PreparedTargets,
        target: usize,
        at: &AtFrequency,
    ) -> Option<Vec<(u32, f64)>> {
        let here = |&(state, squared): &(u32, f64)| {
            let worst = squared.max(at.squared_error(targets, target, state as usize));
            (worst <= self.limit).then_some((state, worst))
        };
        let live: Vec<(u32, f64)> = self.live[target].iter().filter_map(here).collect();
        (!live.is_empty()).then_some(live)
    }

    fn begin(
        &mut self,
        targets: &PreparedTargets,
        words: &[Word],
        at: &AtFrequency,
    ) -> Result<(), OutOfReach> {
        let cells = Cells::new(at.transmission, words);
        let reached = |target: usize| {
            let mut live = Vec::new();
            at.within(&cells, targets, target, self.limit, &mut live);
            live
        };
        self.live = (0..targets.len()).map(reached).collect();
        let targets: Vec<usize> = (0..targets.len()).filter(|&target| self.live[target].is_empty()).collect();
        if !targets.is_empty() {
            return Err(OutOfReach { frequency: self.next, targets });
        }
        self.first = self.next;
        self.next += 1;
        Ok(())
    }

    fn close(&mut self, targets: &PreparedTargets, words: &[Word]) {
        let best = |(live, target): (&Vec<(u32, f64)>, &crate::control::Target)| {
            best_of(live, words, target.nominal_word)
        };
        let best: Vec<(u32, f64)> = self.live.iter().zip(&targets.targets).filter_map(best).collect();
        self.pieces.push(Piece {
            frequencies: self.first..=self.next - 1,
            states: best.iter().map(|(state, _)| *state).collect(),
            errors: best.iter().map(|(_, squared)| squared.sqrt()).collect(),
        });
        self.first = self.next;
    }

    /// The pieces, once every frequency has been taken.
    pub fn pieces(mut self, targets: &PreparedTargets, words: &[Word]) -> Vec<Piece> {
        if self.next > self.first {
            self.close(targets, words);
        }
        self.pieces
    }
}
