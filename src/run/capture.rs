//! In which order, and when, the states of a run were captured.

use super::intake::State;
use super::names::IndexFile;
use serde::{Deserialize, Serialize};
use std::collections::HashMap;

/// A sweep and its file take longer than this (common practice; the figure from memory): times that follow each other
/// faster are those of a copy.
const FASTEST_CAPTURE_S: f64 = 0.01;

/// How the order of the captures is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum CaptureRecord {
    /// The rows of an index beside the files.
    Index,
    /// The times at which the files were last changed.
    Times,
    /// Not known: counting order, the lowest word first, is assumed.
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
}

impl Capture {
    /// Takes the rows of an index that names every state, else times that are all known and distinct and no faster than
    /// a sweep can be, else counting order. `modified_s[file]` is when a file was last changed, in seconds.
    pub fn of(states: &[State], index: Option<&IndexFile>, modified_s: &[Option<f64>]) -> Self {
        let times: Option<Vec<f64>> =
            states.iter().map(|state| modified_s.get(state.file).copied().flatten()).collect();
        let times = times.filter(|times| times.iter().all(|time| time.is_finite()));
        let timed = |order: &[usize]| {
            let in_order: Vec<f64> =
                order.iter().map(|&state| times.as_ref().map(|times| times[state])).collect::<Option<_>>()?;
            let ascending = in_order.windows(2).all(|pair| pair[0] < pair[1]);
            let span_s = in_order.last().zip(in_order.first()).map_or(0.0, |(last, first)| last - first);
            let captures = in_order.len().saturating_sub(1) as f64;
            (ascending && captures > 0.0 && span_s >= FASTEST_CAPTURE_S * captures).then_some(in_order)
        };
        if let Some(order) = index.and_then(|index| order_of_rows(states, index)) {
            return Self { times_s: timed(&order), order, record: CaptureRecord::Index };
        }
        let counting: Vec<usize> = (0..states.len()).collect();
        if let Some(times) = &times {
            let mut order = counting.clone();
            order.sort_by(|&a, &b| times[a].total_cmp(&times[b]));
            if let Some(times_s) = timed(&order) {
                return Self { order, record: CaptureRecord::Times, times_s: Some(times_s) };
            }
        }
        Self { order: counting, record: CaptureRecord::Assumed, times_s: None }
    }
}

/// The states in the order of the rows; `None` where some state has no row.
fn order_of_rows(states: &[State], index: &IndexFile) -> Option<Vec<usize>> {
    let state_of_file: HashMap<usize, usize> =
        states.iter().enumerate().map(|(position, state)| (state.file, position)).collect();
    let order: Vec<usize> =
        index.capture_order.iter().filter_map(|file| state_of_file.get(file).copied()).collect();
    (order.len() == states.len()).then_some(order)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::control::Word;

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
        let capture = Capture::of(&states, Some(&index(&[2, 0, 1])), &rising);
        assert_eq!((capture.order, capture.record), (vec![0, 1, 2], CaptureRecord::Index));
        assert_eq!(capture.times_s, Some(vec![1.0, 5.0, 9.0]));
        let capture = Capture::of(&states, Some(&index(&[0, 1, 2])), &rising);
        assert_eq!((capture.order, capture.record), (vec![1, 2, 0], CaptureRecord::Index));
        assert_eq!(capture.times_s, None);
        let short = Capture::of(&states, Some(&index(&[0, 1])), &[]);
        assert_eq!((short.order, short.record), (vec![0, 1, 2], CaptureRecord::Assumed));
    }

    #[test]
    fn times_give_the_order_where_they_can_be_those_of_sweeps() {
        let states = states(&[0, 1, 2]);
        let capture = Capture::of(&states, None, &[Some(30.0), Some(10.0), Some(20.0)]);
        assert_eq!((capture.order, capture.record), (vec![1, 2, 0], CaptureRecord::Times));
        assert_eq!(capture.times_s, Some(vec![10.0, 20.0, 30.0]));
        // Two alike, one unknown, and a copy: three files in three milliseconds.
        for times in [
            [Some(1.0), Some(1.0), Some(2.0)],
            [Some(1.0), None, Some(2.0)],
            [Some(1.0), Some(1.002), Some(1.003)],
        ] {
            let capture = Capture::of(&states, None, &times);
            assert_eq!((capture.order, capture.record), (vec![0, 1, 2], CaptureRecord::Assumed));
            assert_eq!(capture.times_s, None);
        }
    }
}
