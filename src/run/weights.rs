//! Bit weights: what each bit of the control word does to the transmission, averaged over all the other bits.

use crate::control::Word;
use num_complex::Complex64;
use serde::{Deserialize, Serialize};

/// What one bit does to the transmission at one frequency.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct BitWeight {
    /// Mean change of gain when the bit is set, in dB.
    pub gain_db: f64,
    /// Mean change of phase when the bit is set, in degrees within (−180°, +180°].
    pub phase_deg: f64,
    /// How many pairs of words it was taken from; 0 where none exists, and the values are then 0.
    pub pairs: usize,
}

/// The weight of every bit from 0 to `bits - 1` at one frequency, from all pairs of words that differ in that bit
/// alone.
///
/// Pairwise, so that phase wrapping does no harm: the phase is the argument of the sum over pairs of
/// T(with)·T*(without) normalised to unit magnitude, the gain is the mean of 20·log10 |T(with)|/|T(without)|
/// (METRICS of the project: "bit weights").
/// `words` and `transmission` run in parallel; words are distinct, in any order.
pub fn bit_weights(words: &[Word], transmission: &[Complex64], bits: usize) -> Vec<BitWeight> {
    let size = 1_usize << bits;
    // One logarithm and one root a word, since each word is in as many pairs as there are bits.
    let mut states = vec![Polar::ABSENT; size];
    for (word, value) in words.iter().zip(transmission) {
        if let Some(state) = states.get_mut(word.0 as usize) {
            *state = Polar::of(*value);
        }
    }
    (0..bits).map(|bit| weight(&states, bit)).collect()
}

/// A transmission as a turn of unit length and the logarithm of its squared magnitude.
#[derive(Clone, Copy)]
struct Polar {
    turn: Complex64,
    /// Not a number where the word is absent or transmits nothing.
    log_square: f64,
}

impl Polar {
    const ABSENT: Self = Self { turn: Complex64::ZERO, log_square: f64::NAN };

    fn of(value: Complex64) -> Self {
        let square = value.norm_sqr();
        if square > 0.0 && square.is_finite() {
            Self { turn: value / square.sqrt(), log_square: square.ln() }
        } else {
            Self::ABSENT
        }
    }
}

/// The weight of a bit; `states` by word.
fn weight(states: &[Polar], bit: usize) -> BitWeight {
    let mut turn = Complex64::ZERO;
    let mut log_ratio = 0.0;
    let mut pairs = 0_usize;
    for block in states.chunks_exact(2 << bit) {
        let (without, with) = block.split_at(1 << bit);
        for (without, with) in without.iter().zip(with) {
            let difference = with.log_square - without.log_square;
            if !difference.is_nan() {
                turn += with.turn * without.turn.conj();
                log_ratio += difference;
                pairs += 1;
            }
        }
    }
    if pairs == 0 {
        return BitWeight { gain_db: 0.0, phase_deg: 0.0, pairs };
    }
    let gain_db = 10.0 / std::f64::consts::LN_10 * log_ratio / pairs as f64;
    BitWeight { gain_db, phase_deg: turn.arg().to_degrees(), pairs }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// An ideal part's weights are its own bits, phases beyond 180° wrapped; drop half of the words and they stay.
    #[test]
    fn an_ideal_part_gives_back_its_bits() {
        let weight = [(-0.5, -180.0), (-1.0, 90.0), (-8.0, -22.5)];
        let transmission = |word: u32| {
            (0..3).filter(|bit| word >> bit & 1 == 1).fold(Complex64::new(0.1, 0.2), |t, bit| {
                let (gain_db, phase_deg): (f64, f64) = weight[bit];
                t * Complex64::from_polar(10_f64.powf(gain_db / 20.0), phase_deg.to_radians())
            })
        };
        for words in [vec![0, 1, 2, 3, 4, 5, 6, 7], vec![7, 0, 4, 1, 2, 5]] {
            let values: Vec<Complex64> = words.iter().map(|&word| transmission(word)).collect();
            let words: Vec<Word> = words.into_iter().map(Word).collect();
            for (bit, measured) in bit_weights(&words, &values, 3).iter().enumerate() {
                assert!((measured.gain_db - weight[bit].0).abs() < 1e-12);
                assert!(crate::plane::wrap_deg(measured.phase_deg - weight[bit].1).abs() < 1e-10);
            }
        }
    }

    /// Attenuations 0, 0.48, 1.05, … dB of three bits: the main effects of a least-squares fit of an offset and three bits, with
    /// numpy's lstsq. A bit set alone attenuates 0.48, 1.05 and 2.10 dB, which is not the same.
    #[test]
    fn weights_are_the_main_effects_of_a_least_squares_fit() {
        let transmission = [0.0, 0.48, 1.05, 1.40, 2.10, 2.55, 3.02, 3.49]
            .map(|attenuation_db: f64| Complex64::new(10_f64.powf(-attenuation_db / 20.0), 0.0));
        let words: Vec<Word> = (0..8).map(Word).collect();
        let weights = bit_weights(&words, &transmission, 3);
        for (weight, expected_db) in weights.iter().zip([-0.4375, -0.9575, -2.0575]) {
            assert!((weight.gain_db - expected_db).abs() < 1e-12, "{weight:?}");
            assert_eq!((weight.phase_deg, weight.pairs), (0.0, 4));
        }
    }

    #[test]
    fn a_bit_without_pairs_says_so() {
        let weights = bit_weights(&[Word(0), Word(1)], &[Complex64::ONE, Complex64::I], 2);
        assert_eq!(weights[0].pairs, 1);
        assert_eq!(weights[1].pairs, 0);
    }
}
