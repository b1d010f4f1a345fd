//! What the bits of the word explain of the transmission of all states at one frequency.
//!
//! The bit weights alone leave out what bits do to each other: sections reflect, and a reflection between two sections
//! depends on both of their bits. A capture fault of one percent hides below that. So the logarithm of what the weights
//! leave is fitted once more, by least squares, with one term for every set of up to [`BitModel::order`] bits; the terms
//! are Walsh functions, a product of ±1 for every bit of the set (the full factorial design of the textbooks on
//! experiments), and the design matrix is never made: it is the fast Walsh-Hadamard transform.

use super::by_weights::{ByWeights, exp_of_small};
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
/// Conjugate gradients stop when the square of the remainder has fallen this far, or after so many steps; earlier where
/// the fit only has to tell which states lie far from it.
const CONVERGED: f64 = 1e-8;
const ROUGHLY: f64 = 1e-4;
const MOST_STEPS: usize = 60;

/// The terms that explain a run of given words; what is the same at all frequencies.
#[derive(Clone, Debug)]
pub struct BitModel {
    /// Where each state stands among all 2^bits words.
    positions: Vec<usize>,
    /// The sets of bits that are terms, as masks, ascending.
    sets: Vec<usize>,
    /// How many words the bits can make.
    words: usize,
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
        Some(Self { positions, sets: sets_of(size, order), words: size, order })
    }

    /// The same with single bits only.
    #[must_use]
    pub fn of_single_bits(&self) -> Self {
        let Self { ref positions, words, .. } = *self;
        Self { positions: positions.clone(), sets: sets_of(words, 1), words, order: 1 }
    }

    /// The sets of bits that are terms of at most so many bits, as masks, ascending.
    pub(super) fn terms(&self, order: u32) -> Vec<usize> {
        sets_of(self.words, order.min(self.order))
    }

    /// How many words the bits can make.
    pub(super) fn words(&self) -> usize {
        self.words
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
        let mut work = Work::of(self);
        self.solve(&mut work, &used, &plain.residual, ROUGHLY);
        let rounds = if transmission.len() < MANY { ROUNDS } else { ROUNDS_OF_MANY };
        for round in 1..rounds {
            self.expand(&mut work);
            let again = self.without_far(&weight, &plain.residual, &work.image);
            let is_last = round + 1 == rounds || again == used;
            used = again;
            self.solve(&mut work, &used, &plain.residual, if is_last { CONVERGED } else { ROUGHLY });
            if is_last {
                break;
            }
        }
        self.expand(&mut work);
        let centre = plain.centre.exp();
        let modelled =
            |position: usize| plain.products[position] * centre * exp_of_small(work.image[position]);
        BitFit {
            modelled: self.positions.iter().map(|&position| modelled(position)).collect(),
            weight: used,
            word_zero: modelled(0).norm(),
            bit_weights: weights
                .iter()
                .enumerate()
                .map(|(bit, weight)| {
                    // The term is +1 where the bit is clear and −1 where it is set.
                    let place = self.sets.binary_search(&(1 << bit)).unwrap_or(0);
                    let change = work.coefficients[place] * -2.0;
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
        let mut work = Work::of(self);
        self.solve(&mut work, weight, values, CONVERGED);
        self.expand(&mut work);
        self.positions.iter().zip(values).map(|(&position, value)| value - work.image[position]).collect()
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
        let mut partly_sorted = lengths.clone();
        let count = partly_sorted.len();
        let (_, &mut middle, _) = partly_sorted.select_nth_unstable_by(count / 2, f64::total_cmp);
        // The length of a complex Gaussian of unit mean square has the median √(ln 2) = 0.83.
        let far = FAR * middle / std::f64::consts::LN_2.sqrt();
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a share of a count")]
        let most = (MOST_LEFT_OUT * count as f64) as usize;
        let last = count - 1 - most.min(count - 1);
        let (_, &mut counted, _) = partly_sorted.select_nth_unstable_by(last, f64::total_cmp);
        let bound = far.max(counted);
        weight
            .iter()
            .zip(&lengths)
            .map(|(&weight, &length)| if length > bound { 0.0 } else { weight })
            .collect()
    }

    /// The terms' coefficients that explain `values` by weighted least squares: conjugate gradients on the normal
    /// equations, from the coefficients that are there. Words that were not measured have no weight.
    fn solve(&self, work: &mut Work, weight: &[f64], values: &[Complex64], enough: f64) {
        work.full_weight.fill(0.0);
        work.image.fill(Complex64::ZERO);
        for ((&position, &weight), &value) in self.positions.iter().zip(weight).zip(values) {
            work.full_weight[position] = weight;
            work.image[position] = value * weight;
        }
        let wanted = self.onto_terms(&mut work.image);
        let enough = enough * square_sum(&wanted);
        let start = self.weighed(&mut work.image, &work.full_weight, &work.coefficients);
        let mut remainder: Vec<Complex64> = wanted.iter().zip(&start).map(|(a, b)| a - b).collect();
        let mut direction = remainder.clone();
        let mut square = square_sum(&remainder);
        for _ in 0..MOST_STEPS {
            if square <= enough {
                break;
            }
            let image = self.weighed(&mut work.image, &work.full_weight, &direction);
            let curvature: f64 = direction.iter().zip(&image).map(|(a, b)| (a.conj() * b).re).sum();
            if curvature <= 0.0 {
                break;
            }
            let step = square / curvature;
            for (index, &image) in image.iter().enumerate() {
                work.coefficients[index] += direction[index] * step;
                remainder[index] -= image * step;
            }
            let next = square_sum(&remainder);
            let keep = next / square;
            for (direction, remainder) in direction.iter_mut().zip(&remainder) {
                *direction = *remainder + *direction * keep;
            }
            square = next;
        }
    }

    /// Puts what the coefficients explain, for every word, into the image.
    fn expand(&self, work: &mut Work) {
        self.of_terms(&mut work.image, &work.coefficients);
    }

    /// The normal equations' left side.
    fn weighed(&self, image: &mut [Complex64], full_weight: &[f64], terms: &[Complex64]) -> Vec<Complex64> {
        self.of_terms(image, terms);
        for (value, weight) in image.iter_mut().zip(full_weight) {
            *value *= *weight;
        }
        self.onto_terms(image)
    }

    /// The sum of terms for every word: the Walsh-Hadamard transform of coefficients that are zero for more bits than
    /// the order. In a block of words that share their upper bits all is zero where those are more, and where they are as
    /// many all is one number. Two bits are taken at a time, because moving the numbers costs more than adding them.
    fn of_terms(&self, image: &mut [Complex64], terms: &[Complex64]) {
        image.fill(Complex64::ZERO);
        for (&set, &term) in self.sets.iter().zip(terms) {
            image[set] = term;
        }
        let mut quarter = 1;
        while 4 * quarter <= image.len() {
            for (upper, block) in image.chunks_exact_mut(4 * quarter).enumerate() {
                match Sets::above(upper, self.order) {
                    Sets::More => butterflies_of_two(block),
                    Sets::OneMore => each(block, |[a, b, c, _]| {
                        let (sum, difference) = (a + b, a - b);
                        [sum + c, difference + c, sum - c, difference - c]
                    }),
                    Sets::OnlyItself => each(block, |[a, ..]| [a; 4]),
                    Sets::None => {}
                }
            }
            quarter *= 4;
        }
        if quarter < image.len() {
            let (low, high) = image.split_at_mut(quarter);
            butterflies(low, high);
        }
    }

    /// The products of values for every word with every term; the values are spent. The transform from the highest bit
    /// down, so that blocks that no term needs are left alone.
    fn onto_terms(&self, image: &mut [Complex64]) -> Vec<Complex64> {
        let mut quarter = image.len() / 4;
        if self.words.trailing_zeros() % 2 == 1 {
            let (low, high) = image.split_at_mut(self.words / 2);
            butterflies(low, high);
            quarter = image.len() / 8;
        }
        while quarter > 0 {
            for (upper, block) in image.chunks_exact_mut(4 * quarter).enumerate() {
                match Sets::above(upper, self.order) {
                    Sets::More => butterflies_of_two(block),
                    Sets::OneMore => each(block, |[a, b, c, d]| {
                        let (sum, other_sum) = (a + c, b + d);
                        [sum + other_sum, sum - other_sum, a - c + b - d, d]
                    }),
                    Sets::OnlyItself => each(block, |[a, b, c, d]| [a + b + c + d, b, c, d]),
                    Sets::None => {}
                }
            }
            quarter /= 4;
        }
        self.sets.iter().map(|&set| image[set]).collect()
    }
}

/// How many more bits a term can have than those of a set.
enum Sets {
    More,
    OneMore,
    OnlyItself,
    None,
}

impl Sets {
    fn above(set: usize, order: u32) -> Self {
        match order.checked_sub(set.count_ones()) {
            None => Self::None,
            Some(0) => Self::OnlyItself,
            Some(1) => Self::OneMore,
            Some(_) => Self::More,
        }
    }
}

/// Does something to the four values that stand at the same place in each quarter.
fn each(block: &mut [Complex64], of: impl Fn([Complex64; 4]) -> [Complex64; 4]) {
    let quarter = block.len() / 4;
    let (low, high) = block.split_at_mut(2 * quarter);
    let (first, second) = low.split_at_mut(quarter);
    let (third, fourth) = high.split_at_mut(quarter);
    for (((a, b), c), d) in first.iter_mut().zip(second).zip(third).zip(fourth) {
        [*a, *b, *c, *d] = of([*a, *b, *c, *d]);
    }
}

/// The transform of two bits.
fn butterflies_of_two(block: &mut [Complex64]) {
    each(block, |[a, b, c, d]| {
        let (low, low_off, high, high_off) = (a + b, a - b, c + d, c - d);
        [low + high, low_off + high_off, low - high, low_off - high_off]
    });
}

/// What one fit works in.
struct Work {
    /// Of every term.
    coefficients: Vec<Complex64>,
    /// Of every word.
    image: Vec<Complex64>,
    full_weight: Vec<f64>,
}

impl Work {
    fn of(model: &BitModel) -> Self {
        Self {
            coefficients: vec![Complex64::ZERO; model.sets.len()],
            image: vec![Complex64::ZERO; model.words],
            full_weight: vec![0.0; model.words],
        }
    }
}

fn sets_of(words: usize, order: u32) -> Vec<usize> {
    (0..words).filter(|set| set.count_ones() <= order).collect()
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

fn square_sum(values: &[Complex64]) -> f64 {
    values.iter().map(Complex64::norm_sqr).sum()
}

/// The Walsh-Hadamard transform in natural order, without a factor: its own inverse but for the length.
pub(super) fn walsh_hadamard(values: &mut [Complex64]) {
    let mut half = 1;
    while half < values.len() {
        for block in values.chunks_exact_mut(2 * half) {
            let (low, high) = block.split_at_mut(half);
            butterflies(low, high);
        }
        half *= 2;
    }
}

fn butterflies(low: &mut [Complex64], high: &mut [Complex64]) {
    for (a, b) in low.iter_mut().zip(high) {
        (*a, *b) = (*a + *b, *a - *b);
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

    /// By the definition of Walsh functions: the sum over sets of ± their coefficient, and the sums over words of ± their
    /// values, for an even and an odd number of bits and every order.
    #[test]
    fn transforms_that_leave_terms_out_are_the_definition() {
        for bits in [4, 5, 6, 7] {
            let words: Vec<Word> = (0..1 << bits).map(Word).collect();
            let size = words.len();
            for order in 1..=3 {
                let positions = (0..size).collect();
                let model = BitModel { positions, sets: sets_of(size, order), words: size, order };
                let sign =
                    |set: usize, word: usize| if (set & word).count_ones() % 2 == 1 { -1.0 } else { 1.0 };
                let value = |place: usize| Complex64::new((place * place % 17) as f64, (place % 5) as f64);
                let terms: Vec<Complex64> = (0..model.sets.len()).map(value).collect();
                let mut image = vec![Complex64::ONE; size];
                model.of_terms(&mut image, &terms);
                for (word, found) in image.iter().enumerate() {
                    let sum = model.sets.iter().zip(&terms).map(|(&set, term)| term * sign(set, word));
                    assert!((found - sum.sum::<Complex64>()).norm() < 1e-9);
                }
                let mut image: Vec<Complex64> = (0..size).map(value).collect();
                for (&set, found) in model.sets.iter().zip(model.onto_terms(&mut image)) {
                    let sum: Complex64 = (0..size).map(|word| value(word) * sign(set, word)).sum();
                    assert!((found - sum).norm() < 1e-9, "{bits} bits, order {order}, set {set}");
                }
            }
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
