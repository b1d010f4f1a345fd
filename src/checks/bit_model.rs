//! What the bits of the word explain of the transmission of all states at one frequency.
//!
//! The bit weights alone leave out what bits do to each other: sections reflect, and a reflection between two sections
//! depends on both of their bits. A capture fault of one percent hides below that. So the logarithm of what the weights
//! leave is fitted once more, by least squares, with one term for every set of up to [`BitModel::order`] bits; the terms
//! are Walsh functions, a product of ±1 for every bit of the set (the full factorial design of the textbooks on
//! experiments), and the design matrix is never made: it is the fast Walsh-Hadamard transform.

use crate::control::Word;
use crate::plane::wrap_deg;
use crate::run::BitWeight;
use num_complex::Complex64;

/// The most bits that a term has.
const HIGHEST_ORDER: u32 = 3;
/// There are at most so many terms for each state; the others tell how well they fit.
const TERMS_PER_STATE: f64 = 0.36;
/// A state so far below the strongest one counts half: its logarithm is noisy, and how noisy is not known yet.
const HALF_WEIGHT_BELOW_DB: f64 = 20.0;
/// States farther from the fit than so many times the robust spread are left out of it, and it is made again.
const FAR: f64 = 5.0;
/// At most this share of the states is left out of a fit.
const MOST_LEFT_OUT: f64 = 0.2;
/// How often a fit is made, the states to leave out chosen anew each time; less often where there are so many states
/// that a few at fault hardly move it.
const ROUNDS: usize = 3;
const ROUNDS_OF_MANY: usize = 2;
const MANY: usize = 1000;
/// Conjugate gradients stop when the square of the remainder has fallen this far, or after so many steps.
const CONVERGED: f64 = 1e-8;
const MOST_STEPS: usize = 60;

/// The terms that explain a run of given words; what is the same at all frequencies.
#[derive(Clone, Debug)]
pub struct BitModel {
    /// Where each state stands among all 2^bits words.
    positions: Vec<usize>,
    /// Whether the set of bits with this index is a term.
    is_term: Vec<bool>,
    order: u32,
}

/// A fit at one frequency.
#[derive(Clone, Debug)]
pub struct BitFit {
    /// The transmission of every state that all states together suggest; zero where nothing can be said.
    pub modelled: Vec<Complex64>,
    /// How much each state counted; 0 for one that lies far from the others' fit or has no transmission.
    pub weight: Vec<f64>,
    /// The magnitude that the model gives word 0.
    pub word_zero: f64,
    /// The bit weights again, states counted by their weight: pairs of deep states blur the plain ones.
    pub bit_weights: Vec<BitWeight>,
}

impl BitModel {
    /// The model for a run with these words of `bits` bits. `None` where the states are too few to tell terms from
    /// errors, or a word has more bits.
    pub fn new(words: &[Word], bits: usize) -> Option<Self> {
        let size = 1_usize << bits;
        let positions: Vec<usize> = words.iter().map(|word| word.0 as usize).collect();
        if bits == 0 || positions.iter().any(|&position| position >= size) {
            return None;
        }
        let terms = |order: u32| (0..size).filter(|set| set.count_ones() <= order).count() as f64;
        let order =
            (1..=HIGHEST_ORDER).rev().find(|&order| terms(order) <= TERMS_PER_STATE * words.len() as f64)?;
        let is_term = (0..size).map(|set| set.count_ones() <= order).collect();
        Some(Self { positions, is_term, order })
    }

    /// The same with single bits only.
    #[must_use]
    pub fn of_single_bits(&self) -> Self {
        let is_term = (0..self.is_term.len()).map(|set| set.count_ones() <= 1).collect();
        Self { positions: self.positions.clone(), is_term, order: 1 }
    }

    /// Where each state stands among all words.
    pub(super) fn positions(&self) -> &[usize] {
        &self.positions
    }

    /// The most bits that a term has.
    pub fn order(&self) -> u32 {
        self.order
    }

    /// Fits the states of one frequency, `weights` being their bit weights.
    pub fn fit(&self, weights: &[BitWeight], transmission: &[Complex64]) -> BitFit {
        let Some(plain) = ByWeights::of(weights, &self.positions, transmission) else {
            let states = transmission.len();
            return BitFit {
                modelled: vec![Complex64::ZERO; states],
                weight: vec![0.0; states],
                word_zero: 0.0,
                bit_weights: weights.to_vec(),
            };
        };
        let weight = plain_weights(transmission);
        let mut used = weight.clone();
        let (mut explained, mut terms) = self.least_squares(&used, &plain.residual);
        let rounds = if transmission.len() < MANY { ROUNDS } else { ROUNDS_OF_MANY };
        for _ in 1..rounds {
            let again = self.without_far(&weight, &plain.residual, &explained);
            if again == used {
                break;
            }
            used = again;
            (explained, terms) = self.least_squares_from(terms, &used, &plain.residual);
        }
        let modelled =
            |position: usize| plain.products[position] * (plain.centre + explained[position]).exp();
        BitFit {
            modelled: self.positions.iter().map(|&position| modelled(position)).collect(),
            weight: used,
            word_zero: modelled(0).norm(),
            bit_weights: weights
                .iter()
                .enumerate()
                .map(|(bit, weight)| {
                    // The term is +1 where the bit is clear and −1 where it is set.
                    let change = terms[1 << bit] * -2.0;
                    BitWeight {
                        gain_db: weight.gain_db + 20.0 * std::f64::consts::LOG10_E * change.re,
                        phase_deg: wrap_deg(weight.phase_deg + change.im.to_degrees()),
                        pairs: weight.pairs,
                    }
                })
                .collect(),
        }
    }

    /// What of `values`, one for each state, no term explains.
    pub fn unexplained(&self, weight: &[f64], values: &[Complex64]) -> Vec<Complex64> {
        let (explained, _) = self.least_squares(weight, values);
        self.positions.iter().zip(values).map(|(&position, value)| value - explained[position]).collect()
    }

    /// The weights without the states that lie far from a fit. The spread is taken of residuals as long as they would
    /// be if all states counted alike.
    fn without_far(&self, weight: &[f64], values: &[Complex64], explained: &[Complex64]) -> Vec<f64> {
        let lengths: Vec<f64> = self
            .positions
            .iter()
            .zip(values)
            .zip(weight)
            .map(|((&position, value), weight)| (weight * (value - explained[position]).norm_sqr()).sqrt())
            .collect();
        let mut sorted = lengths.clone();
        sorted.sort_unstable_by(f64::total_cmp);
        let count = sorted.len();
        // The length of a complex Gaussian of unit mean square has the median √(ln 2) = 0.83.
        let far = FAR * sorted[count / 2] / std::f64::consts::LN_2.sqrt();
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a share of a count")]
        let most = (MOST_LEFT_OUT * count as f64) as usize;
        let bound = far.max(sorted[count - 1 - most.min(count - 1)]);
        weight
            .iter()
            .zip(&lengths)
            .map(|(&weight, &length)| if length > bound { 0.0 } else { weight })
            .collect()
    }

    /// What the terms explain of `values`, for every word, and the terms' coefficients, by weighted least squares:
    /// conjugate gradients on the normal equations. Words that were not measured have no weight.
    fn least_squares(&self, weight: &[f64], values: &[Complex64]) -> (Vec<Complex64>, Vec<Complex64>) {
        self.least_squares_from(vec![Complex64::ZERO; self.is_term.len()], weight, values)
    }

    /// The same from coefficients that are near.
    fn least_squares_from(
        &self,
        mut coefficients: Vec<Complex64>,
        weight: &[f64],
        values: &[Complex64],
    ) -> (Vec<Complex64>, Vec<Complex64>) {
        let size = self.is_term.len();
        let mut full_weight = vec![0.0; size];
        let mut weighted = vec![Complex64::ZERO; size];
        for ((&position, &weight), &value) in self.positions.iter().zip(weight).zip(values) {
            full_weight[position] = weight;
            weighted[position] = value * weight;
        }
        let wanted = self.onto_terms(weighted);
        let enough = CONVERGED * square_sum(&wanted);
        let weighed = |terms: &[Complex64]| {
            let mut image = terms.to_vec();
            walsh_hadamard(&mut image);
            for (value, weight) in image.iter_mut().zip(&full_weight) {
                *value *= *weight;
            }
            self.onto_terms(image)
        };
        let start = weighed(&coefficients);
        let mut remainder: Vec<Complex64> = wanted.iter().zip(&start).map(|(a, b)| a - b).collect();
        let mut direction = remainder.clone();
        let mut square = square_sum(&remainder);
        for _ in 0..MOST_STEPS {
            if square <= enough {
                break;
            }
            let image = weighed(&direction);
            let curvature: f64 = direction.iter().zip(&image).map(|(a, b)| (a.conj() * b).re).sum();
            if curvature <= 0.0 {
                break;
            }
            let step = square / curvature;
            for index in 0..size {
                coefficients[index] += direction[index] * step;
                remainder[index] -= image[index] * step;
            }
            let next = square_sum(&remainder);
            let keep = next / square;
            for (direction, remainder) in direction.iter_mut().zip(&remainder) {
                *direction = *remainder + *direction * keep;
            }
            square = next;
        }
        let mut explained = coefficients.clone();
        walsh_hadamard(&mut explained);
        (explained, coefficients)
    }

    fn onto_terms(&self, mut values: Vec<Complex64>) -> Vec<Complex64> {
        walsh_hadamard(&mut values);
        for (value, &is_term) in values.iter_mut().zip(&self.is_term) {
            if !is_term {
                *value = Complex64::ZERO;
            }
        }
        values
    }
}

/// The states explained by bit weights alone: T = centre · `exp Σ m_b`, its phase branch the nearest.
pub(super) struct ByWeights {
    /// `exp Σ m_b` of every word.
    products: Vec<Complex64>,
    /// The logarithm of what all words share: the mean of the magnitudes, the direction of the mean of unit vectors.
    centre: Complex64,
    /// ln(T/model) of every state, its imaginary part within half a turn; zero for a state without transmission.
    pub(super) residual: Vec<Complex64>,
}

impl ByWeights {
    /// `positions` are the words as indices. `None` where no state has any transmission.
    pub(super) fn of(weights: &[BitWeight], positions: &[usize], transmission: &[Complex64]) -> Option<Self> {
        let products = products(weights);
        let logarithm = |(&position, &value): (&usize, &Complex64)| {
            let logarithm = (value / products[position]).ln();
            logarithm.is_finite().then_some(logarithm)
        };
        let logarithms: Vec<Option<Complex64>> = positions.iter().zip(transmission).map(logarithm).collect();
        let count = logarithms.iter().flatten().count();
        if count == 0 {
            return None;
        }
        let magnitude = logarithms.iter().flatten().map(|value| value.re).sum::<f64>() / count as f64;
        let turn: Complex64 = logarithms.iter().flatten().map(|value| Complex64::cis(value.im)).sum();
        let centre = Complex64::new(magnitude, turn.arg());
        let residual =
            |value: &Option<Complex64>| value.map_or(Complex64::ZERO, |value| wrapped(value - centre));
        let residual = logarithms.iter().map(residual).collect();
        Some(Self { products, centre, residual })
    }
}

/// `exp Σ m_b` of every word, relative to word 0.
fn products(weights: &[BitWeight]) -> Vec<Complex64> {
    let mut products = Vec::with_capacity(1 << weights.len());
    products.push(Complex64::ONE);
    for weight in weights {
        let factor = Complex64::from_polar(10_f64.powf(weight.gain_db / 20.0), weight.phase_deg.to_radians());
        for word in 0..products.len() {
            products.push(products[word] * factor);
        }
    }
    products
}

/// How much each state counts by its power; nothing where it has none.
fn plain_weights(transmission: &[Complex64]) -> Vec<f64> {
    let strongest = transmission.iter().map(Complex64::norm_sqr).filter(|square| square.is_finite());
    let half = strongest.fold(0.0, f64::max) * 10_f64.powf(-HALF_WEIGHT_BELOW_DB / 10.0);
    transmission
        .iter()
        .map(|state| {
            let square = state.norm_sqr();
            if square > 0.0 && square.is_finite() { square / (square + half) } else { 0.0 }
        })
        .collect()
}

fn wrapped(logarithm: Complex64) -> Complex64 {
    let turn = std::f64::consts::TAU;
    Complex64::new(logarithm.re, logarithm.im - turn * (logarithm.im / turn).round())
}

fn square_sum(values: &[Complex64]) -> f64 {
    values.iter().map(Complex64::norm_sqr).sum()
}

/// The Walsh-Hadamard transform in natural order, without a factor: its own inverse but for the length.
fn walsh_hadamard(values: &mut [Complex64]) {
    let mut half = 1;
    while half < values.len() {
        for block in values.chunks_exact_mut(2 * half) {
            let (low, high) = block.split_at_mut(half);
            for (a, b) in low.iter_mut().zip(high) {
                (*a, *b) = (*a + *b, *a - *b);
            }
        }
        half *= 2;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::run::bit_weights;

    /// 64 states whose logarithm is a sum of single bits and of pairs of them, which the model explains wholly by its
    /// definition; one state is spoiled and one was not measured. The spoiled one is left out of the fit, so the model
    /// gives its true value, as closely as the conjugate gradients go on: to 1e-4 of some percent.
    #[test]
    fn singles_and_pairs_of_bits_are_explained_whatever_one_state_does() {
        let truth = |word: u32| {
            let single = |bit: u32| Complex64::new(-0.05, -0.03) * f64::from(1_u32 << bit);
            let pair = |a: u32, b: u32| Complex64::new(0.002, -0.001) * f64::from(a + 2 * b);
            let on = |bit: u32| word >> bit & 1 == 1;
            let mut sum = Complex64::new(-0.3, 1.0);
            for a in (0..6).filter(|&bit| on(bit)) {
                sum += single(a);
                sum += (0..a).filter(|&bit| on(bit)).map(|b| pair(a, b)).sum::<Complex64>();
            }
            sum.exp()
        };
        let words: Vec<Word> = (0..64).filter(|&word| word != 9).map(Word).collect();
        let mut states: Vec<Complex64> = words.iter().map(|word| truth(word.0)).collect();
        states[40] *= Complex64::new(1.1, 0.1);
        let model = BitModel::new(&words, 6).unwrap();
        let fit = model.fit(&bit_weights(&words, &states, 6), &states);
        assert_eq!(model.order(), 2);
        assert_eq!(fit.weight[40], 0.0);
        for (word, modelled) in words.iter().zip(&fit.modelled) {
            let off = (modelled / truth(word.0) - 1.0).norm();
            assert!(off < 1e-5, "{word:?}: {off}");
        }
    }

    /// 1 + 6 + 15 terms fit 64 states, 1 + 4 terms fit 16; eight states are too few for four terms.
    #[test]
    fn terms_are_fewer_than_states() {
        let order = |bits: usize| {
            BitModel::new(&(0..1 << bits).map(Word).collect::<Vec<_>>(), bits).map(|m| m.order())
        };
        assert_eq!([3, 4, 6, 7, 12].map(order), [None, Some(1), Some(2), Some(2), Some(3)]);
    }
}
