//! How well the part is matched, the worst of its states.

use crate::control::Word;
use crate::network::return_loss_db;
use num_complex::{Complex32, Complex64};
use serde::{Deserialize, Serialize};
use std::ops::Range;

/// A port of the part.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Port {
    /// Port 1, S11.
    Input,
    /// Port 2, S22.
    Output,
}

/// The largest reflection among some states at one frequency.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Reflection {
    /// |S11| or |S22|, linear.
    pub magnitude: f64,
    /// The state that has it; of equal ones the lowest word.
    pub word: Word,
}

impl Reflection {
    /// −20·log10 of the magnitude, dB.
    pub fn return_loss_db(&self) -> f64 {
        return_loss_db(Complex64::new(self.magnitude, 0.0))
    }

    fn keep_worse(&mut self, other: &Self) {
        let (ours, theirs) = (self.magnitude, other.magnitude);
        if theirs > ours || ours.is_nan() || (theirs == ours && other.word < self.word) {
            *self = *other;
        }
    }
}

/// The largest reflection at each frequency among the states seen. A worker folds its own files into one, and the page
/// those of all workers.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct WorstReflections {
    input: Vec<Reflection>,
    output: Option<Vec<Reflection>>,
}

impl WorstReflections {
    /// One state's reflections over frequency; `s22` is `None` where it was not measured.
    pub fn of_state(word: Word, s11: &[Complex32], s22: Option<&[Complex32]>) -> Self {
        let magnitude = |s: &Complex32| f64::from(s.re).hypot(s.im.into());
        let all = |values: &[Complex32]| {
            values.iter().map(|value| Reflection { magnitude: magnitude(value), word }).collect()
        };
        Self { input: all(s11), output: s22.map(all) }
    }

    /// Takes other states in. Where the output of one of them was not measured, the worst of all is not known.
    pub fn merge(&mut self, other: &Self) {
        for (ours, theirs) in self.input.iter_mut().zip(&other.input) {
            ours.keep_worse(theirs);
        }
        match (&mut self.output, &other.output) {
            (Some(ours), Some(theirs)) => {
                for (ours, theirs) in ours.iter_mut().zip(theirs) {
                    ours.keep_worse(theirs);
                }
            }
            (output, _) => *output = None,
        }
    }

    /// At one frequency; `None` where the port was not measured.
    pub fn at(&self, port: Port, index: usize) -> Option<Reflection> {
        self.port(port)?.get(index).copied()
    }

    /// The worst over a range of the grid, with its index; of equal ones the lowest.
    pub fn worst(&self, port: Port, range: Range<usize>) -> Option<(usize, Reflection)> {
        let points = self.port(port)?.iter().copied().enumerate().take(range.end).skip(range.start);
        points.reduce(|a, b| if b.1.magnitude > a.1.magnitude { b } else { a })
    }

    fn port(&self, port: Port) -> Option<&[Reflection]> {
        match port {
            Port::Input => Some(&self.input),
            Port::Output => self.output.as_deref(),
        }
    }
}
