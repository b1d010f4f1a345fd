//! What "0 dB, 0°" is: the reference that all states are divided by.

use super::StateIndex;
use crate::control::{ControlModel, Setting, Word};
use num_complex::Complex64;
use serde::{Deserialize, Serialize};

/// The rule that picks the reference.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ReferencePolicy {
    /// The transmission of the word whose nominal gain and phase are both zero.
    ZeroWord,
    /// Of the words of zero nominal gain, the one of median magnitude at the centre of the design band, its
    /// nominal phase turned back.
    RingMedian,
    /// The same, the word of median magnitude picked anew at each frequency.
    RingMedianEachFrequency,
    /// The smallest magnitude among the words of zero nominal gain at each frequency (a gain that every phase
    /// reaches), with the zero word's phase.
    FullRing,
    /// A word that the user names, its nominal gain and phase taken out.
    Word(Word),
    /// At each frequency the complex number that makes the RMS relative vector error of the nearest states smallest.
    BestFitEachFrequency,
    /// The ring median's, turned and scaled by one complex number that makes that error smallest over the design band.
    BestFitOneTurn,
}

/// A policy whose band-wide choices have been made, ready to be evaluated at any frequency.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub enum Anchor {
    /// A word's transmission with its nominal setting taken out.
    Word {
        /// The word.
        word: Word,
    },
    /// At each frequency the word of median magnitude of the zero-gain ring, its nominal phase taken out.
    RingMedian,
    /// The smallest magnitude of the zero-gain ring with the zero word's phase.
    FullRing,
    /// A word's transmission with its nominal setting taken out, divided by one complex number for the whole band.
    Turned {
        /// The word.
        word: Word,
        /// What multiplies every relative gain, beside the word alone as reference.
        scale: Complex64,
    },
}

impl ReferencePolicy {
    /// The policies that need no further choice, in the order in which they are compared.
    pub const OFFERED: [Self; 6] = [
        Self::ZeroWord,
        Self::RingMedian,
        Self::RingMedianEachFrequency,
        Self::FullRing,
        Self::BestFitOneTurn,
        Self::BestFitEachFrequency,
    ];

    /// Whether the reference is found by search (`table::best_fit`) and not by a rule.
    pub fn is_fitted(self) -> bool {
        matches!(self, Self::BestFitEachFrequency | Self::BestFitOneTurn)
    }

    /// Whether the reference may jump from one frequency to the next, which something common to all channels has to make good.
    pub fn follows_frequency(self) -> bool {
        matches!(self, Self::RingMedianEachFrequency | Self::FullRing | Self::BestFitEachFrequency)
    }

    /// Makes the choices that the policy makes once for the band, from the states at its centre.
    ///
    /// `words` ascend; `transmission` runs beside them. `None` where a word that the policy needs is missing, and for a best
    /// fit, which has to be searched for. Words of the ring that are missing are left out of the median.
    pub fn anchor(self, model: &ControlModel, words: &[Word], transmission: &[Complex64]) -> Option<Anchor> {
        let zero_word = model.zero_word();
        let has_zero_word = words.contains(&zero_word);
        match self {
            Self::ZeroWord => has_zero_word.then_some(Anchor::Word { word: zero_word }),
            Self::RingMedian => {
                let ring = ring(model, words);
                median_of_ring(&ring, words, transmission).map(|at| Anchor::Word { word: words[at] })
            }
            Self::RingMedianEachFrequency => {
                words.iter().any(|&word| has_zero_gain(model, word)).then_some(Anchor::RingMedian)
            }
            Self::Word(word) => words.contains(&word).then_some(Anchor::Word { word }),
            Self::FullRing => has_zero_word.then_some(Anchor::FullRing),
            Self::BestFitEachFrequency | Self::BestFitOneTurn => None,
        }
    }
}

/// Positions of the words of zero nominal gain.
fn ring(model: &ControlModel, words: &[Word]) -> Vec<usize> {
    (0..words.len()).filter(|&position| has_zero_gain(model, words[position])).collect()
}

/// Position of the ring's median: its words sorted by |T| ascending, the lower word first where magnitudes are equal; of n
/// words, the one at index ⌊(n − 1)/2⌋.
fn median_of_ring(ring: &[usize], words: &[Word], transmission: &[Complex64]) -> Option<usize> {
    let mut ring: Vec<(f64, Word, usize)> =
        ring.iter().map(|&at| (transmission[at].norm(), words[at], at)).collect();
    let middle = ring.len().checked_sub(1)? / 2;
    let order = |a: &(f64, Word, usize), b: &(f64, Word, usize)| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1));
    Some(ring.select_nth_unstable_by(middle, order).1.2)
}

/// The nominal setting. Where words are names of marks no state is known to change the gain, so all of them make up the
/// ring, and no phase is known that could be turned back.
fn meant(model: &ControlModel, word: Word) -> Setting {
    model.nominal(word).unwrap_or(Setting { gain_db: 0.0, phase_deg: 0.0 })
}

fn has_zero_gain(model: &ControlModel, word: Word) -> bool {
    // Two gain fields may cancel but for rounding.
    meant(model, word).gain_db.abs() < 1e-9
}

impl Anchor {
    /// The reference at one frequency. `None` where a word that it needs is missing or transmits nothing.
    ///
    /// Over many frequencies, [`Self::resolve`] once is faster.
    pub fn reference(
        &self,
        model: &ControlModel,
        words: &[Word],
        transmission: &[Complex64],
    ) -> Option<Complex64> {
        self.resolve(model, words, &StateIndex::new(words))?.reference(transmission)
    }

    /// Finds the states that the reference is made of. `None` where a word that it needs is missing.
    pub fn resolve(
        &self,
        model: &ControlModel,
        words: &[Word],
        index: &StateIndex,
    ) -> Option<ResolvedAnchor> {
        match self {
            Self::Word { word } => {
                let turned_back = turned_back(model, *word);
                Some(ResolvedAnchor::State { position: index.position(*word)?, turned_back })
            }
            Self::Turned { word, scale } => {
                let turned_back = turned_back(model, *word) / scale;
                Some(ResolvedAnchor::State { position: index.position(*word)?, turned_back })
            }
            Self::RingMedian => {
                let ring = ring(model, words);
                let turned_back = ring.iter().map(|&at| turned_back(model, words[at])).collect();
                let words = ring.iter().map(|&at| words[at]).collect();
                Some(ResolvedAnchor::Median { ring, words, turned_back })
            }
            Self::FullRing => {
                let zero = index.position(model.zero_word())?;
                Some(ResolvedAnchor::Ring { ring: ring(model, words), zero })
            }
        }
    }
}

/// Takes a word's nominal setting out: 10^(−g/20)·e^(−jφ).
fn turned_back(model: &ControlModel, word: Word) -> Complex64 {
    let setting = meant(model, word);
    Complex64::from_polar(10_f64.powf(-setting.gain_db / 20.0), -setting.phase_deg.to_radians())
}

/// An anchor whose states have been found in a run.
#[derive(Clone, Debug, PartialEq)]
pub enum ResolvedAnchor {
    /// One state times a constant.
    State {
        /// The state's position.
        position: usize,
        /// Takes the state's nominal setting out: 10^(−g/20)·e^(−jφ).
        turned_back: Complex64,
    },
    /// Of some states the one of median magnitude, each times a constant of its own.
    Median {
        /// Positions of the states of zero nominal gain.
        ring: Vec<usize>,
        /// Their words: of equal magnitudes the lower word comes first.
        words: Vec<Word>,
        /// Takes each one's nominal setting out.
        turned_back: Vec<Complex64>,
    },
    /// The smallest magnitude of some states with the phase of one of them.
    Ring {
        /// Positions of the states of zero nominal gain.
        ring: Vec<usize>,
        /// Position of the zero word's state.
        zero: usize,
    },
}

impl ResolvedAnchor {
    /// The reference at one frequency, from the transmission of all states there. `None` where it would be zero or
    /// not finite, since nothing can be divided by it.
    pub fn reference(&self, transmission: &[Complex64]) -> Option<Complex64> {
        let reference = match self {
            Self::State { position, turned_back } => transmission[*position] * turned_back,
            Self::Median { ring, words, turned_back } => {
                let values: Vec<Complex64> = ring.iter().map(|&at| transmission[at]).collect();
                let all: Vec<usize> = (0..values.len()).collect();
                let at = median_of_ring(&all, words, &values)?;
                values[at] * turned_back[at]
            }
            Self::Ring { ring, zero } => {
                let smallest = ring.iter().map(|&at| transmission[at].norm()).min_by(f64::total_cmp)?;
                transmission[*zero] * (smallest / transmission[*zero].norm())
            }
        };
        (reference.is_finite() && reference.norm() > 0.0).then_some(reference)
    }
}

/// What a reference gives away against the zero word: `20·log10(|R|/|T_zero|)` in dB, negative where the reference is
/// weaker.
pub fn gain_given_up_db(reference: Complex64, zero_word_transmission: Complex64) -> f64 {
    20.0 * (reference.norm() / zero_word_transmission.norm()).log10()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::control::{Direction, Field, Layout, Quantity};
    use crate::plane::{target_gain, wrap_deg};

    /// Two phase bits of −90° and −180°, one gain bit of −4 dB above them.
    fn model() -> ControlModel {
        ControlModel::Bits(Layout {
            fields: vec![
                Field::contiguous(Quantity::Phase, 0, 2, 90.0, Direction::Down),
                Field::contiguous(Quantity::Gain, 2, 1, 4.0, Direction::Down),
            ],
        })
    }

    /// Magnitudes in the ring 0.5, 0.4, 0.4, 0.3 with 1° too much per code; the attenuated words are stronger, which
    /// a ring of the wrong words would pick up.
    fn transmission(word: Word) -> Complex64 {
        let magnitude = [0.5, 0.4, 0.4, 0.3, 0.9, 0.1, 0.9, 0.1][word.0 as usize];
        let phase_deg = 30.0 - 91.0 * f64::from(word.0 % 4);
        Complex64::from_polar(magnitude, phase_deg.to_radians())
    }

    fn reference(policy: ReferencePolicy, words: &[u32]) -> Option<(f64, f64)> {
        let words: Vec<Word> = words.iter().map(|&word| Word(word)).collect();
        let values: Vec<Complex64> = words.iter().map(|&word| transmission(word)).collect();
        let anchor = policy.anchor(&model(), &words, &values)?;
        let reference = anchor.reference(&model(), &words, &values)?;
        Some((reference.norm(), reference.arg().to_degrees()))
    }

    fn expect(found: Option<(f64, f64)>, magnitude: f64, phase_deg: f64) {
        let found = found.expect("a reference");
        assert!((found.0 - magnitude).abs() < 1e-12, "{found:?}");
        assert!(wrap_deg(found.1 - phase_deg).abs() < 1e-9, "{found:?}");
    }

    #[test]
    fn each_policy_follows_its_definition() {
        let all = [0, 1, 2, 3, 4, 5, 6, 7];
        expect(reference(ReferencePolicy::ZeroWord, &all), 0.5, 30.0);
        // Sorted: word 3 (0.3), word 1 and word 2 (0.4 each, lower first), word 0: index ⌊3/2⌋ is word 1.
        // Its phase 30 − 91 turned back by −90 leaves 29.
        expect(reference(ReferencePolicy::RingMedian, &all), 0.4, 29.0);
        expect(reference(ReferencePolicy::FullRing, &all), 0.3, 30.0);
    }

    /// The median is word 1 at the centre. Where word 1 has become the strongest, a median that is picked anew is word 2:
    /// 0.4 at 30 − 182 + 180; one that is kept is 0.8 at 29.
    #[test]
    fn a_median_is_kept_or_picked_anew() {
        let words: Vec<Word> = (0..8).map(Word).collect();
        let centre: Vec<Complex64> = words.iter().map(|&word| transmission(word)).collect();
        let mut elsewhere = centre.clone();
        elsewhere[1] *= 2.0;
        let at = |policy: ReferencePolicy, here: &[Complex64]| {
            let reference = policy.anchor(&model(), &words, &centre)?.reference(&model(), &words, here)?;
            Some((reference.norm(), reference.arg().to_degrees()))
        };
        expect(at(ReferencePolicy::RingMedian, &elsewhere), 0.8, 29.0);
        expect(at(ReferencePolicy::RingMedianEachFrequency, &elsewhere), 0.4, 28.0);
        expect(at(ReferencePolicy::RingMedianEachFrequency, &centre), 0.4, 29.0);
        assert_eq!(reference(ReferencePolicy::RingMedianEachFrequency, &[4, 5]), None);
    }

    /// Word 6 is attenuated by 4 dB and turned by −180°: 0.9·10^(4/20) at 30 − 182 + 180.
    #[test]
    fn a_named_word_has_its_setting_taken_out() {
        let found = reference(ReferencePolicy::Word(Word(6)), &[0, 6]);
        expect(found, 0.9 * 1.584_893_192_461_113_5, 28.0);
        assert_eq!(reference(ReferencePolicy::Word(Word(5)), &[0, 6]), None);
    }

    /// Doubling and turning every relative gain by 10° is half the reference, turned back by 10°.
    #[test]
    fn a_turned_anchor_is_divided_by_its_scale() {
        let words = [Word(0), Word(6)];
        let values = words.map(transmission);
        let scale = Complex64::from_polar(2.0, 10_f64.to_radians());
        let found = Anchor::Turned { word: Word(0), scale }.reference(&model(), &words, &values);
        expect(found.map(|reference| (reference.norm(), reference.arg().to_degrees())), 0.25, 20.0);
    }

    #[test]
    fn missing_words_are_left_out_and_missing_needs_refused() {
        // Ring of 1, 2, 3: index 1 of (3, 1, 2) is word 1. Ring of 0 and 2: index 0 is word 2, 30 − 182 + 180.
        expect(reference(ReferencePolicy::RingMedian, &[1, 2, 3, 4]), 0.4, 29.0);
        expect(reference(ReferencePolicy::RingMedian, &[0, 2, 7]), 0.4, 28.0);
        expect(reference(ReferencePolicy::FullRing, &[0, 1, 5]), 0.4, 30.0);
        assert_eq!(reference(ReferencePolicy::ZeroWord, &[1, 2, 3]), None);
        assert_eq!(reference(ReferencePolicy::FullRing, &[1, 2, 3]), None);
        assert_eq!(reference(ReferencePolicy::RingMedian, &[4, 5]), None);
    }

    #[test]
    fn an_anchor_word_has_its_nominal_gain_taken_out() {
        let words = [Word(0), Word(6)];
        let values = [Complex64::ONE, target_gain(meant(&model(), Word(6))) * 0.25];
        let anchor = Anchor::Word { word: Word(6) };
        let reference = anchor.reference(&model(), &words, &values).expect("a reference");
        assert!((reference - Complex64::new(0.25, 0.0)).norm() < 1e-15);
        assert!((gain_given_up_db(reference, values[0]) + 12.041_199_826_559_248).abs() < 1e-12);
    }

    #[test]
    fn a_dead_zero_word_is_no_reference() {
        let words = [Word(0), Word(1)];
        let values = [Complex64::ZERO, Complex64::ONE];
        for anchor in [Anchor::Word { word: Word(0) }, Anchor::FullRing] {
            assert_eq!(anchor.reference(&model(), &words, &values), None);
        }
    }
}
