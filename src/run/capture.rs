//! In which order, and when, the states of a run were captured.

use super::intake::State;
use super::names::IndexFile;
use crate::control::Word;
use serde::{Deserialize, Serialize};
use std::collections::HashMap;

/// A sweep and its file take longer than this (common practice; the figure from memory): times that follow each other
/// faster are those of a copy.
const FASTEST_CAPTURE_S: f64 = 0.01;

/// In which order the user says that the files were captured.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum CaptureOrder {
    /// As an index, else the files' times, else counting order say.
    #[default]
    AsProposed,
    /// In the order of the times at which the files were last changed, where all are known.
    Times,
    /// The lowest word first.
    Counting,
}

/// How the order of the captures is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum CaptureRecord {
    /// The rows of an index beside the files.
    Index,
    /// The times at which the files were last changed.
    Times,
    /// The user says that it is counting order, the lowest word first.
    Given,
    /// Not known: counting order is assumed.
    Assumed,
}

/// In which order, and when, the states were captured.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Capture {
    /// Positions of the states in the order of their capture.
    pub order: Vec<usize>,
    /// How that order is known.
    pub record: CaptureRecord,
    /// When each was captured, in that order, in seconds from any start; `None` where it is not known.
    pub times_s: Option<Vec<f64>>,
    /// Every capture of the words that were captured more than once, the states' own included.
    pub repeats: Vec<Repeat>,
    /// How many captures the run has, repeated ones counted.
    pub captures: usize,
}

/// One capture of a word that was captured more than once.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Repeat {
    /// The word.
    pub word: Word,
    /// The run's index of the file that holds it.
    pub file: usize,
    /// Its place among all captures of the run, from 0.
    pub place: usize,
    /// When it was made, in seconds from the start of [`Capture::times_s`]; `None` where it is not known.
    pub time_s: Option<f64>,
}

impl Capture {
    /// Takes the order that the user gives; else the rows of an index that names every capture, else times that are all
    /// known and distinct and no faster than a sweep can be, else counting order. `repeats` are further captures of the states' words;
    /// `modified_s[file]` is when a file was last changed, in seconds.
    pub fn of(
        states: &[State],
        repeats: &[State],
        index: Option<&IndexFile>,
        modified_s: &[Option<f64>],
        given: CaptureOrder,
    ) -> Self {
        let all: Vec<State> = states.iter().chain(repeats).copied().collect();
        let times: Option<Vec<f64>> =
            all.iter().map(|capture| modified_s.get(capture.file).copied().flatten()).collect();
        let times = times.filter(|times| times.iter().all(|time| time.is_finite()));
        let by_rows = index.and_then(|index| order_of_rows(&all, index));
        let by_times = times.as_ref().and_then(|times| {
            let mut order = counting(&all);
            order.sort_by(|&a, &b| times[a].total_cmp(&times[b]));
            (given == CaptureOrder::Times || are_sweeps(&order, times)).then_some(order)
        });
        let asks_for_times = given == CaptureOrder::Times && by_times.is_some();
        let (order, record) = match (given, by_rows.filter(|_| !asks_for_times), by_times) {
            (CaptureOrder::Counting, ..) => (counting(&all), CaptureRecord::Given),
            (_, Some(order), _) => (order, CaptureRecord::Index),
            (_, None, Some(order)) => (order, CaptureRecord::Times),
            (_, None, None) => (counting(&all), CaptureRecord::Assumed),
        };
        let times = times.filter(|times| are_sweeps(&order, times));
        let of_states: Vec<usize> = order.iter().copied().filter(|&capture| capture < states.len()).collect();
        let repeated = |word: Word| repeats.iter().any(|repeat| repeat.word == word);
        let placed = order.iter().enumerate().filter(|(_, capture)| repeated(all[**capture].word));
        Self {
            times_s: times.as_ref().map(|times| of_states.iter().map(|&state| times[state]).collect()),
            repeats: placed
                .map(|(place, &capture)| Repeat {
                    word: all[capture].word,
                    file: all[capture].file,
                    place,
                    time_s: times.as_ref().map(|times| times[capture]),
                })
                .collect(),
            order: of_states,
            record,
            captures: all.len(),
        }
    }
}

/// Whether the times rise in this order, on the whole no faster than sweeps can be made.
fn are_sweeps(order: &[usize], times: &[f64]) -> bool {
    let ascending = order.windows(2).all(|pair| times[pair[0]] < times[pair[1]]);
    let span_s = order.last().zip(order.first()).map_or(0.0, |(&last, &first)| times[last] - times[first]);
    let pauses = order.len().saturating_sub(1) as f64;
    ascending && pauses > 0.0 && span_s >= FASTEST_CAPTURE_S * pauses
}

/// The captures by word, those of one word in the order of their files.
fn counting(all: &[State]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..all.len()).collect();
    order.sort_by_key(|&capture| (all[capture].word, all[capture].file));
    order
}

/// The captures in the order of the rows; `None` where some capture has no row.
fn order_of_rows(all: &[State], index: &IndexFile) -> Option<Vec<usize>> {
    let capture_of_file: HashMap<usize, usize> =
        all.iter().enumerate().map(|(position, capture)| (capture.file, position)).collect();
    let order: Vec<usize> =
        index.capture_order.iter().filter_map(|file| capture_of_file.get(file).copied()).collect();
    (order.len() == all.len()).then_some(order)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn states(files: &[usize]) -> Vec<State> {
        (0..).zip(files).map(|(word, &file)| State { word: Word(word), file }).collect()
    }

    fn index(capture_order: &[usize]) -> IndexFile {
        IndexFile { path: "index.csv".to_owned(), capture_order: capture_order.to_vec(), absent: Vec::new() }
    }

    #[test]
    fn the_index_comes_first_and_takes_times_that_agree_with_it() {
        let states = states(&[2, 0, 1]);
        let rising = [Some(5.0), Some(9.0), Some(1.0)];
        let capture = Capture::of(&states, &[], Some(&index(&[2, 0, 1])), &rising, CaptureOrder::AsProposed);
        assert_eq!((capture.order, capture.record), (vec![0, 1, 2], CaptureRecord::Index));
        assert_eq!(capture.times_s, Some(vec![1.0, 5.0, 9.0]));
        let capture = Capture::of(&states, &[], Some(&index(&[0, 1, 2])), &rising, CaptureOrder::AsProposed);
        assert_eq!((capture.order, capture.record), (vec![1, 2, 0], CaptureRecord::Index));
        assert_eq!(capture.times_s, None);
        let short = Capture::of(&states, &[], Some(&index(&[0, 1])), &[], CaptureOrder::AsProposed);
        assert_eq!((short.order, short.record), (vec![0, 1, 2], CaptureRecord::Assumed));
    }

    #[test]
    fn times_give_the_order_where_they_can_be_those_of_sweeps() {
        let states = states(&[0, 1, 2]);
        let capture =
            Capture::of(&states, &[], None, &[Some(30.0), Some(10.0), Some(20.0)], CaptureOrder::AsProposed);
        assert_eq!((capture.order, capture.record), (vec![1, 2, 0], CaptureRecord::Times));
        assert_eq!(capture.times_s, Some(vec![10.0, 20.0, 30.0]));
        // Two alike, one unknown, and a copy: three files in three milliseconds.
        for times in [
            [Some(1.0), Some(1.0), Some(2.0)],
            [Some(1.0), None, Some(2.0)],
            [Some(1.0), Some(1.002), Some(1.003)],
        ] {
            let capture = Capture::of(&states, &[], None, &times, CaptureOrder::AsProposed);
            assert_eq!((capture.order, capture.record), (vec![0, 1, 2], CaptureRecord::Assumed));
            assert_eq!(capture.times_s, None);
        }
    }

    /// Words 0 and 1, and word 0 once more after them.
    #[test]
    fn captures_of_one_word_have_their_places_among_all() {
        let repeats = [State { word: Word(0), file: 2 }];
        let capture = Capture::of(
            &states(&[0, 1]),
            &repeats,
            None,
            &[Some(10.0), Some(20.0), Some(30.0)],
            CaptureOrder::AsProposed,
        );
        assert_eq!((capture.order, capture.captures), (vec![0, 1], 3));
        assert_eq!(capture.times_s, Some(vec![10.0, 20.0]));
        let told: Vec<_> = capture.repeats.iter().map(|r| (r.word.0, r.file, r.place, r.time_s)).collect();
        assert_eq!(told, [(0, 0, 0, Some(10.0)), (0, 2, 2, Some(30.0))]);
    }
}
