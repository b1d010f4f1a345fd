//! What every reference policy makes of every frequency, and where the best fit is not the best of them.

use crate::control::{ControlModel, Target};
use crate::pipeline::protocol::{Reference, ReferenceScores};
use crate::plane::{ReferencePolicy, Tolerance};
use crate::table::SelectionRule;
use num_complex::Complex64;

/// What scores rest on.
pub(super) type Under = (ControlModel, Vec<Target>, Tolerance, SelectionRule);

/// Errors agree within this part of the larger, as in the search for a best fit.
const AGREE: f64 = 1e-9;

/// What every policy makes of every frequency.
#[derive(Default)]
pub(super) struct Compared {
    /// The policies with their references.
    pub(super) references: Vec<(ReferencePolicy, Reference)>,
    pub(super) under: Option<Under>,
    /// Per frequency of the grid, per policy.
    pub(super) scores: Vec<Option<Vec<Option<ReferenceScores>>>>,
}

impl Compared {
    /// Gives the best fit at each frequency, whose search is shortened where targets are many, the reference of any policy
    /// that makes the error of the chosen words smaller there, and tells its references. `None` where it is not compared.
    pub(super) fn better(&mut self) -> Option<Vec<Complex64>> {
        let best = self
            .references
            .iter()
            .position(|(policy, _)| *policy == ReferencePolicy::BestFitEachFrequency)?;
        let Reference::EachFrequency(references) = &mut self.references[best].1 else { return None };
        for (reference, scores) in references.iter_mut().zip(&mut self.scores) {
            let scores = scores.as_mut()?;
            let error = |at: &ReferenceScores| at.chosen.rms_vector_error;
            let others = scores.iter().flatten().copied().min_by(|a, b| error(a).total_cmp(&error(b)));
            let Some((lowest, own)) = others.zip(scores[best]) else { continue };
            if error(&lowest) < error(&own) * (1.0 - AGREE) {
                scores[best] = Some(lowest);
                *reference = lowest.reference;
            }
        }
        Some(references.clone())
    }
}
