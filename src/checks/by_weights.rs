//! The states of one frequency explained by bit weights alone, in logarithms: where the model of sets of bits begins, and
//! what tells one order of files from another.

use crate::run::BitWeight;
use num_complex::Complex64;

/// The states explained by bit weights alone: T = centre · `exp Σ m_b`, its phase branch the nearest.
pub(super) struct ByWeights {
    /// `exp Σ m_b` of every word.
    pub(super) products: Vec<Complex64>,
    /// The logarithm of what all words share: the mean of the magnitudes, the direction of the mean of unit vectors.
    pub(super) centre: Complex64,
    /// ln(T/model) of every state, its imaginary part within half a turn; zero for a state without transmission.
    pub(super) residual: Vec<Complex64>,
}

impl ByWeights {
    /// `positions` are the words as indices. `None` where no state has any transmission.
    pub(super) fn of(weights: &[BitWeight], positions: &[usize], transmission: &[Complex64]) -> Option<Self> {
        let products = products(weights);
        let ratios: Vec<Complex64> = positions
            .iter()
            .zip(transmission)
            .map(|(&position, &value)| value * products[position].conj() / products[position].norm_sqr())
            .collect();
        let (mut turn, mut count) = (Complex64::ZERO, 0_usize);
        // One logarithm of a product of many.
        let (mut magnitude, mut product) = (0.0, 1.0);
        for ratio in &ratios {
            let square = ratio.norm_sqr();
            if square > 0.0 && square.is_finite() {
                turn += ratio / square.sqrt();
                if (1e-100..1e100).contains(&square) {
                    product *= square;
                } else {
                    magnitude += square.ln();
                }
                if !(1e-100..1e100).contains(&product) {
                    magnitude += f64::ln(product);
                    product = 1.0;
                }
                count += 1;
            }
        }
        magnitude += product.ln();
        if count == 0 {
            return None;
        }
        let centre = Complex64::new(magnitude / 2.0 / count as f64, turn.arg());
        let back = (-centre).exp();
        let residual = ratios.iter().map(|ratio| ln_near_one(ratio * back)).collect();
        Some(Self { products, centre, residual })
    }
}

/// The logarithm, its imaginary part within half a turn; zero of zero and of what is not finite. Near 1, where nearly
/// all values are, ln z = 2·artanh w with w = (z − 1)/(z + 1), to 3e-12 by four terms.
fn ln_near_one(value: Complex64) -> Complex64 {
    let off = value - 1.0;
    if off.norm_sqr() < 1.0 / 64.0 {
        let sum = value + 1.0;
        let ratio = off * sum.conj() / sum.norm_sqr();
        let square = ratio * ratio;
        let series = square * (square * (square / 7.0 + 1.0 / 5.0) + 1.0 / 3.0) + 1.0;
        return ratio * series * 2.0;
    }
    let square = value.norm_sqr();
    if square > 0.0 && square.is_finite() {
        Complex64::new(square.ln() / 2.0, value.arg())
    } else {
        Complex64::ZERO
    }
}

/// The exponential; of small values, as nearly all are, by its series to 1e-10.
pub(super) fn exp_of_small(value: Complex64) -> Complex64 {
    if value.norm_sqr() < 1.0 / 64.0 {
        let places = [1.0 / 6.0, 1.0 / 5.0, 1.0 / 4.0, 1.0 / 3.0, 1.0 / 2.0, 1.0];
        return places.into_iter().fold(Complex64::ONE, |series, inverse| series * value * inverse + 1.0);
    }
    value.exp()
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::control::Word;
    use crate::run::bit_weights;

    const NEPERS_PER_DB: f64 = std::f64::consts::LN_10 / 20.0;

    /// Attenuations 0, 0.48, 1.05, … dB of three bits: numpy's lstsq of an offset and three bits leaves the offset 0.035 dB and
    /// residuals of a root mean square of 0.0292617 dB.
    #[test]
    fn what_weights_leave_is_what_a_least_squares_fit_leaves() {
        let transmission = [0.0, 0.48, 1.05, 1.40, 2.10, 2.55, 3.02, 3.49]
            .map(|attenuation_db: f64| Complex64::new((-attenuation_db * NEPERS_PER_DB).exp(), 0.0));
        let words: Vec<Word> = (0..8).map(Word).collect();
        let weights = bit_weights(&words, &transmission, 3);
        let explained = ByWeights::of(&weights, &[0, 1, 2, 3, 4, 5, 6, 7], &transmission).expect("states");
        assert!((explained.centre.re / NEPERS_PER_DB + 0.035).abs() < 1e-10, "{}", explained.centre);
        let expected_db = [0.035, -0.0075, -0.0575, 0.03, -0.0075, -0.02, 0.03, -0.0025];
        for (residual, expected_db) in explained.residual.iter().zip(expected_db) {
            assert!((residual / NEPERS_PER_DB - expected_db).norm() < 1e-9, "{residual} {expected_db}");
        }
        let squared: f64 = explained.residual.iter().map(Complex64::norm_sqr).sum();
        assert!(((squared / 8.0).sqrt() / NEPERS_PER_DB - 0.029_261_7).abs() < 1e-7);
    }
}
