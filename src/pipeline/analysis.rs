//! What is worked out at one frequency, from the transmission of all states there and the plan.

use super::protocol::{FrequencyScores, LadderScores, Plan};
use super::report::{Served, Service};
use crate::control::Word;
use crate::plane::{
    EffectiveBits, Place, PreparedTargets, ResolvedAnchor, Score, StateError, StateIndex, Tolerance, score,
    spread,
};
use crate::reach::{EvenSteps, NoResolution};
use crate::table::{Finder, Usage, choose_under, errors_of_states, nominal_errors};
use num_complex::Complex64;

/// A plan with everything that the loop over frequencies would otherwise look up again.
pub struct FrequencyWork {
    words: Vec<Word>,
    pub(super) targets: PreparedTargets,
    /// Whether there is a nominal mapping to score.
    has_nominal: bool,
    pub(super) tolerance: Tolerance,
    /// The steps that a resolution map counts in, or why there is none.
    pub(super) steps: Result<EvenSteps, NoResolution>,
    reference: Option<ResolvedAnchor>,
    /// The references of the ladder; the one in use is scored once.
    ladder: Vec<ResolvedAnchor>,
    zero_word: Option<usize>,
    effective_bits: EffectiveBits,
}

impl FrequencyWork {
    /// Prepares a plan for a run with these words, ascending.
    pub fn new(plan: &Plan, words: &[Word]) -> Self {
        let index = StateIndex::new(words);
        let resolve = |anchor: &crate::plane::Anchor| anchor.resolve(&plan.model, words, &index);
        Self {
            targets: PreparedTargets::new(plan.model.targets(), &index),
            has_nominal: plan.model.has_nominal(),
            tolerance: plan.tolerance,
            steps: EvenSteps::new(&plan.model),
            reference: resolve(&plan.reference),
            ladder: plan.ladder.iter().filter_map(|(_, anchor)| resolve(anchor)).collect(),
            zero_word: index.position(plan.model.zero_word()),
            effective_bits: EffectiveBits::new(&plan.model, &index),
            words: words.to_vec(),
        }
    }

    fn score(&self, errors: &[Option<StateError>]) -> Score {
        score(&self.targets.targets, errors, &self.tolerance)
    }

    /// Nominal and chosen words under one reference, and the errors of the nominal ones. `chosen` holds the states
    /// chosen at the frequency before, or nothing, and afterwards those chosen here.
    fn under(
        &self,
        anchor: &ResolvedAnchor,
        here: &Here,
        chosen: &mut Vec<u32>,
    ) -> Option<(LadderScores, Option<Vec<Option<StateError>>>)> {
        let reference = anchor.reference(here.transmission)?;
        let places = Place::under(&here.places, reference);
        *chosen = choose_under(&self.targets, &here.finder, reference, chosen);
        let nominal_errors = self.has_nominal.then(|| nominal_errors(&self.targets, &places));
        let scores = LadderScores {
            reference,
            nominal: nominal_errors.as_ref().map(|errors| self.score(errors)),
            chosen: self.score(&errors_of_states(&self.targets, &places, chosen)),
        };
        Some((scores, nominal_errors))
    }
}

/// One frequency's states, with what all references need of them.
struct Here<'a> {
    transmission: &'a [Complex64],
    places: Vec<Place>,
    finder: Finder<'a>,
}

/// The states chosen under each reference, kept from one frequency to the next, where they are mostly the same.
#[derive(Debug, Default)]
pub struct Chosen {
    /// Under the reference in use: the state of every target.
    pub in_use: Vec<u32>,
    ladder: Vec<Vec<u32>>,
}

/// Scores one frequency and chooses its states into `chosen`. `None` where the reference cannot be told.
pub fn score_frequency(
    work: &FrequencyWork,
    transmission: &[Complex64],
    chosen: &mut Chosen,
) -> Option<FrequencyScores> {
    let here = Here {
        transmission,
        places: Place::all(transmission, Complex64::ONE),
        finder: Finder::new(transmission, &work.words),
    };
    let in_use = work.reference.as_ref()?;
    let (scores, nominal_errors) = work.under(in_use, &here, &mut chosen.in_use)?;
    chosen.ladder.resize(work.ladder.len(), Vec::new());
    let ladder = work.ladder.iter().zip(&mut chosen.ladder).map(|(anchor, chosen)| {
        if anchor == in_use { Some(scores) } else { Some(work.under(anchor, &here, chosen)?.0) }
    });
    let relative = |state: usize| transmission[state] / scores.reference;
    Some(FrequencyScores {
        reference: scores.reference,
        zero_word: work.zero_word.map(|state| transmission[state]),
        gain_range_db: gain_range_db(transmission, scores.reference),
        nominal: scores.nominal,
        nominal_spread: nominal_errors.map(|errors| spread(&errors)),
        chosen: scores.chosen,
        gain_effective_bits: work.effective_bits.gain(relative),
        phase_effective_bits: work.effective_bits.phase(relative),
        ladder: ladder.collect::<Option<_>>()?,
    })
}

/// Lowest and highest relative gain of the states that transmit, dB.
fn gain_range_db(transmission: &[Complex64], reference: Complex64) -> Option<(f64, f64)> {
    let magnitudes = transmission.iter().map(Complex64::norm_sqr);
    let usable = magnitudes.filter(|magnitude| magnitude.is_finite() && *magnitude > 0.0);
    let (low, high) = usable.fold((f64::INFINITY, 0.0_f64), |(low, high), m| (low.min(m), high.max(m)));
    let gain_db = |magnitude: f64| 10.0 * (magnitude / reference.norm_sqr()).log10();
    Some((gain_db(low), gain_db(high))).filter(|(low, high)| low.is_finite() && high.is_finite())
}

/// The reference in use at one frequency; `None` where it cannot be told.
pub fn reference_at(work: &FrequencyWork, transmission: &[Complex64]) -> Option<Complex64> {
    work.reference.as_ref()?.reference(transmission)
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
