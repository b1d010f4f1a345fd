//! What is worked out at one frequency, from the transmission of all states there and the plan.

use super::protocol::{FrequencyScores, Plan, Reference, ReferenceScores};
use super::report::{Served, Service};
use crate::control::Word;
use crate::plane::{
    EffectiveBits, Place, PreparedTargets, ResolvedAnchor, Score, StateError, StateIndex, Tolerance, score,
    spread,
};
use crate::reach::{EvenSteps, NoResolution};
use crate::table::{
    Cells, SelectionRule, Usage, choose_by, choose_under, errors_of_states, nominal_errors, nominal_turns,
};
use num_complex::Complex64;

/// A plan with everything that the loop over frequencies would otherwise look up again.
pub struct FrequencyWork {
    plan: Plan,
    words: Vec<Word>,
    index: StateIndex,
    pub(super) targets: PreparedTargets,
    /// Whether there is a nominal mapping to score.
    has_nominal: bool,
    pub(super) tolerance: Tolerance,
    rule: SelectionRule,
    /// The steps that a resolution map counts in, or why there is none.
    pub(super) steps: Result<EvenSteps, NoResolution>,
    reference: Option<ResolvedReference>,
    zero_word: Option<usize>,
    effective_bits: EffectiveBits,
}

/// A reference whose states have been found in the run.
pub(super) enum ResolvedReference {
    Anchor(ResolvedAnchor),
    EachFrequency(Vec<Complex64>),
}

impl ResolvedReference {
    /// The reference at a grid frequency, from the transmission of all states there; `None` where it cannot be told.
    pub(super) fn at(&self, index: usize, transmission: &[Complex64]) -> Option<Complex64> {
        match self {
            Self::Anchor(anchor) => anchor.reference(transmission),
            Self::EachFrequency(references) => {
                references.get(index).copied().filter(|reference| reference.norm() > 0.0)
            }
        }
    }
}

impl FrequencyWork {
    /// Prepares a plan for a run with these words, ascending.
    pub fn new(plan: &Plan, words: &[Word]) -> Self {
        let index = StateIndex::new(words);
        let mut work = Self {
            plan: plan.clone(),
            targets: PreparedTargets::new(plan.targets.clone(), &index),
            has_nominal: plan.model.has_nominal(),
            tolerance: plan.tolerance,
            rule: plan.rule,
            steps: EvenSteps::new(&plan.model),
            reference: None,
            zero_word: index.position(plan.model.zero_word()),
            effective_bits: EffectiveBits::new(&plan.model, &index),
            words: words.to_vec(),
            index,
        };
        work.reference = work.resolve(&plan.reference);
        work
    }

    /// Takes another reference; all else stays.
    pub(super) fn refer(&mut self, reference: &Reference) {
        self.reference = self.resolve(reference);
    }

    /// Finds the states that a reference is made of. `None` where a word that it needs is missing.
    pub(super) fn resolve(&self, reference: &Reference) -> Option<ResolvedReference> {
        match reference {
            Reference::Anchor(anchor) => {
                anchor.resolve(&self.plan.model, &self.words, &self.index).map(ResolvedReference::Anchor)
            }
            Reference::EachFrequency(references) => {
                Some(ResolvedReference::EachFrequency(references.clone()))
            }
        }
    }

    pub(super) fn plan(&self) -> &Plan {
        &self.plan
    }

    pub(super) fn words(&self) -> &[Word] {
        &self.words
    }

    /// The zero word's transmission, where it was measured.
    pub(super) fn zero_word_of(&self, transmission: &[Complex64]) -> Option<Complex64> {
        self.zero_word.map(|state| transmission[state])
    }

    fn score(&self, errors: &[Option<StateError>]) -> Score {
        score(&self.targets.targets, errors, &self.tolerance)
    }

    /// Nominal and chosen words under one reference, the errors of the nominal ones, and the state chosen for every target.
    /// `None` where there are no states. `likely` is as for [`choose_under`].
    fn under(&self, reference: Complex64, here: &Here, likely: &[u32]) -> Option<Under> {
        let places = Place::under(&here.places, reference);
        let chosen = match self.rule {
            SelectionRule::Nearest => choose_under(&self.targets, &here.cells, reference, likely),
            SelectionRule::ToleranceFirst | SelectionRule::Weighted => {
                choose_by(self.rule, &self.targets, &self.tolerance, &here.cells, reference, &places)?
            }
        };
        let nominal_errors = self.has_nominal.then(|| nominal_errors(&self.targets, &places));
        let scores = ReferenceScores {
            reference,
            nominal: nominal_errors.as_ref().map(|errors| self.score(errors)),
            chosen: self.score(&errors_of_states(&self.targets, &places, &chosen)),
        };
        Some(Under { scores, places, nominal_errors, chosen })
    }
}

/// What one reference makes of a frequency.
struct Under {
    scores: ReferenceScores,
    places: Vec<Place>,
    nominal_errors: Option<Vec<Option<StateError>>>,
    chosen: Vec<u32>,
}

/// One frequency's states, with what all references need of them.
struct Here<'a> {
    places: Vec<Place>,
    cells: Cells<'a>,
}

impl<'a> Here<'a> {
    fn new(work: &'a FrequencyWork, transmission: &'a [Complex64]) -> Self {
        let places = Place::all(transmission, Complex64::ONE);
        Self { cells: Cells::placed(transmission, &work.words, &places), places }
    }
}

/// Scores one grid frequency and chooses its states: the second of what it gives. `None` where the reference cannot be told.
/// `likely` are the states chosen at a frequency nearby, if any; they change no answer.
pub fn score_frequency(
    work: &FrequencyWork,
    index: usize,
    transmission: &[Complex64],
    likely: &[u32],
) -> Option<(FrequencyScores, Vec<u32>)> {
    let here = Here::new(work, transmission);
    let reference = reference_at(work, index, transmission)?;
    let under = work.under(reference, &here, likely)?;
    let relative = |state: usize| transmission[state] / reference;
    let spread_of = |errors: &Vec<_>| spread(errors, &nominal_turns(&work.targets, &under.places));
    let scores = FrequencyScores {
        reference,
        zero_word: work.zero_word_of(transmission),
        gain_range_db: gain_range_db(transmission, reference),
        nominal: under.scores.nominal,
        nominal_spread: under.nominal_errors.as_ref().map(spread_of),
        chosen: under.scores.chosen,
        gain_effective_bits: work.effective_bits.gain(relative),
        phase_effective_bits: work.effective_bits.phase(relative),
    };
    Some((scores, under.chosen))
}

/// Scores one grid frequency under each of some references; `None` for a reference that cannot be told.
pub(super) fn compare(
    work: &FrequencyWork,
    index: usize,
    transmission: &[Complex64],
    references: &[Option<ResolvedReference>],
) -> Vec<Option<ReferenceScores>> {
    let here = Here::new(work, transmission);
    let scores = |reference: &Option<ResolvedReference>| {
        let reference = reference.as_ref()?.at(index, transmission)?;
        Some(work.under(reference, &here, &[])?.scores)
    };
    references.iter().map(scores).collect()
}

/// Lowest and highest relative gain of the states that transmit, dB.
fn gain_range_db(transmission: &[Complex64], reference: Complex64) -> Option<(f64, f64)> {
    let magnitudes = transmission.iter().map(Complex64::norm_sqr);
    let usable = magnitudes.filter(|magnitude| magnitude.is_finite() && *magnitude > 0.0);
    let (low, high) = usable.fold((f64::INFINITY, 0.0_f64), |(low, high), m| (low.min(m), high.max(m)));
    let gain_db = |magnitude: f64| 10.0 * (magnitude / reference.norm_sqr()).log10();
    Some((gain_db(low), gain_db(high))).filter(|(low, high)| low.is_finite() && high.is_finite())
}

/// The reference in use at one grid frequency; `None` where it cannot be told.
pub fn reference_at(work: &FrequencyWork, index: usize, transmission: &[Complex64]) -> Option<Complex64> {
    work.reference.as_ref()?.at(index, transmission)
}

/// The places of all states, worked out as [`score_frequency`] does, so that one state has one error to the last bit.
pub fn places_under(transmission: &[Complex64], reference: Complex64) -> Vec<Place> {
    Place::under(&Place::all(transmission, Complex64::ONE), reference)
}

/// Scores fixed states, one a target, under a known reference.
pub fn score_held(
    work: &FrequencyWork,
    reference: Complex64,
    transmission: &[Complex64],
    states: &[u32],
) -> Score {
    let places = places_under(transmission, reference);
    work.score(&errors_of_states(&work.targets, &places, states))
}

/// How every target is served at one frequency.
pub fn service_at(
    work: &FrequencyWork,
    index: usize,
    reference: Complex64,
    transmission: &[Complex64],
    chosen: &[u32],
) -> Service {
    let places = places_under(transmission, reference);
    let served = |(&state, error): (&u32, Option<StateError>)| {
        error.map(|error| Served { state: state as usize, error })
    };
    let chosen_errors = errors_of_states(&work.targets, &places, chosen);
    let nominal_errors = nominal_errors(&work.targets, &places);
    let usage = Usage::of(chosen, transmission.len());
    Service {
        index,
        reference,
        transmission: transmission.to_vec(),
        nominal: work
            .targets
            .nominal_state
            .iter()
            .zip(nominal_errors)
            .map(|(state, error)| state.as_ref().and_then(|state| served((state, error))))
            .collect(),
        chosen: chosen.iter().zip(chosen_errors).filter_map(served).collect(),
        unused_states: usage.unused,
        shared_states: usage.shared,
    }
}
