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

    /// All constellations at one frequency; `None` before a plan.
    pub fn at(&mut self, index: usize, words: &[Word], transmission: &[Complex64]) -> Option<SignalAt> {
        let model = self.model.as_ref()?;
        let prepare = || Constellations::new(model, words, &StateIndex::new(words));
        let prepared = self.prepared.get_or_insert_with(prepare);
        let constellations = prepared.as_ref().map_err(|why| *why).and_then(|prepared| {
            prepared.at(transmission, &Finder::new(transmission, words)).ok_or(NoConstellation::NoGain)
        });
        Some(SignalAt { index, constellations })
    }
}
