//! The constellations that the states of one frequency form, worked out where they lie.

use super::protocol::Plan;
use crate::control::{ControlModel, Word};
use crate::plane::StateIndex;
use crate::signal::{Constellation, Constellations, NoConstellation};
use crate::table::Finder;
use num_complex::Complex64;
use serde::{Deserialize, Serialize};

/// What the states of one frequency do to a signal.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct SignalAt {
    /// Grid index of the frequency.
    pub index: usize,
    /// The constellations by ascending order, or why there is none.
    pub constellations: Result<Vec<Constellation>, NoConstellation>,
}

/// The largest clean constellations over frequency.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LargestClean {
    /// Grid indices of the frequencies looked at, ascending.
    pub looked_at: Vec<usize>,
    /// The highest clean order at each of them; `None` where there is none.
    pub orders: Vec<Option<u16>>,
}

impl LargestClean {
    /// The points of the largest one at a frequency of the grid, 0 where none is clean; `None` where it was not looked at.
    pub fn points_at(&self, index: usize) -> Option<u16> {
        let place = self.looked_at.binary_search(&index).ok()?;
        self.orders.get(place).map(|order| order.unwrap_or(0))
    }
}

/// So many frequencies are looked at first, or one more. With 4,096 states one took 0.03 to 0.08 s of one core natively,
/// which over a grid of 401 would keep what comes after it waiting.
const MOST_FREQUENCIES: usize = 51;

/// The frequencies of a grid at which the largest clean constellation is looked for first: every one, or of a long grid
/// every second, third, … and the last.
pub fn frequencies_looked_at_first(points: usize) -> Vec<usize> {
    let every = points.saturating_sub(1).div_ceil(MOST_FREQUENCIES - 1).max(1);
    let mut indices: Vec<usize> = (0..points).step_by(every).collect();
    if let Some(last) = points.checked_sub(1)
        && indices.last() != Some(&last)
    {
        indices.push(last);
    }
    indices
}

/// A worker's preparation, made when it is first asked under a model.
#[derive(Debug, Default)]
pub struct Signalling {
    model: Option<ControlModel>,
    prepared: Option<Result<Constellations, NoConstellation>>,
}

impl Signalling {
    /// Takes a plan; what was prepared for another model is forgotten.
    pub fn follow(&mut self, plan: &Plan) {
        *self = Self { model: Some(plan.model.clone()), prepared: None };
    }

    /// The highest clean order at one frequency; `None` where no order is clean, and before a plan.
    pub fn largest_clean_at(&mut self, words: &[Word], transmission: &[Complex64]) -> Option<u16> {
        let prepared = self.prepared(words)?.as_ref().ok()?;
        prepared.largest_clean_at(transmission, &Finder::new(transmission, words))
    }

    fn prepared(&mut self, words: &[Word]) -> Option<&Result<Constellations, NoConstellation>> {
        let model = self.model.as_ref()?;
        let prepare = || Constellations::new(model, words, &StateIndex::new(words));
        Some(self.prepared.get_or_insert_with(prepare))
    }

    /// All constellations at one frequency; `None` before a plan.
    pub fn at(&mut self, index: usize, words: &[Word], transmission: &[Complex64]) -> Option<SignalAt> {
        let prepared = self.prepared(words)?;
        let constellations = prepared.as_ref().map_err(|why| *why).and_then(|prepared| {
            prepared.at(transmission, &Finder::new(transmission, words)).ok_or(NoConstellation::NoGain)
        });
        Some(SignalAt { index, constellations })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_long_grid_is_looked_at_evenly_and_to_its_end() {
        assert_eq!(frequencies_looked_at_first(0), Vec::<usize>::new());
        assert_eq!(frequencies_looked_at_first(1), [0]);
        assert_eq!(frequencies_looked_at_first(51), (0..51).collect::<Vec<_>>());
        assert_eq!(frequencies_looked_at_first(52), (0..51).step_by(2).chain([51]).collect::<Vec<_>>());
        assert_eq!(frequencies_looked_at_first(401), (0..=400).step_by(8).collect::<Vec<_>>());
        assert!((1..3000).all(|points| frequencies_looked_at_first(points).len() <= MOST_FREQUENCIES + 1));
    }

    #[test]
    fn what_was_not_looked_at_is_not_known() {
        let found = LargestClean { looked_at: vec![0, 10], orders: vec![Some(64), None] };
        assert_eq!([0, 5, 10].map(|index| found.points_at(index)), [Some(64), None, Some(0)]);
    }
}
