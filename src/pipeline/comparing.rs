//! What every reference policy makes of a run, side by side.

use super::planning::Band;
use super::protocol::ReferenceScores;
use super::report::{Mapping, Rung};
use crate::control::ControlModel;
use crate::plane::{BandScore, ReferencePolicy, Score, band_summary, gain_given_up_db};
use num_complex::Complex64;

/// The references compared.
#[derive(Clone, Debug, PartialEq)]
pub struct Comparison {
    /// What each step gained: nominal words under the first policy, where there are any, then chosen words under each.
    pub ladder: Vec<Rung>,
    /// Every policy that the words allow.
    pub policies: Vec<PolicyScores>,
}

/// What the words chosen under one policy score.
#[derive(Clone, Debug, PartialEq)]
pub struct PolicyScores {
    /// The policy.
    pub policy: ReferencePolicy,
    /// At every frequency of the grid; `None` where its reference cannot be told.
    pub chosen: Vec<Option<Score>>,
    /// `20·log10(|R|/|T_zero|)` at every frequency; `None` where either cannot be told.
    pub gain_given_up_db: Vec<Option<f64>>,
    /// Over the design band.
    pub band: BandScore,
}

/// Puts the comparison together from the scores of every frequency under every policy, the first of which is the zero
/// word's where it exists. A policy whose reference cannot be told at a frequency of the band is left out. `None` where all
/// are.
pub(super) fn comparison(
    model: &ControlModel,
    band: &Band,
    policies: &[ReferencePolicy],
    scores: &[Vec<Option<ReferenceScores>>],
    zero_word: &[Option<Complex64>],
) -> Option<Comparison> {
    let mut ladder = Vec::new();
    let mut compared = Vec::new();
    for (place, &policy) in policies.iter().enumerate() {
        let at = |index: usize| scores[index].get(place).copied().flatten();
        let given_up =
            |index: usize| Some(gain_given_up_db(at(index)?.reference, zero_word.get(index).copied()??));
        let rung = |mapping: Mapping, of: fn(&ReferenceScores) -> Option<Score>| {
            let in_band: Option<Vec<Score>> = band.design.clone().map(|index| of(&at(index)?)).collect();
            Some(Rung {
                mapping,
                reference: policy,
                divisor: at(band.chosen)?.reference,
                gain_given_up_db: given_up(band.chosen),
                at_frequency: of(&at(band.chosen)?)?,
                band: band_summary(*band.design.start(), &in_band?)?,
            })
        };
        if ladder.is_empty() && model.has_nominal() {
            ladder.extend(rung(Mapping::Nominal, |at| at.nominal));
        }
        let Some(chosen) = rung(Mapping::Chosen, |at| Some(at.chosen)) else { continue };
        ladder.push(chosen);
        compared.push(PolicyScores {
            policy,
            chosen: (0..scores.len()).map(|index| Some(at(index)?.chosen)).collect(),
            gain_given_up_db: (0..scores.len()).map(given_up).collect(),
            band: chosen.band,
        });
    }
    (!compared.is_empty()).then_some(Comparison { ladder, policies: compared })
}
