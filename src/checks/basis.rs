//! The terms of the bit model as orthonormal vectors over the states, so that many shapes are freed of them quickly.
//!
//! With states counted by weights w, the normal equations of the terms χ have the matrix G, the sums of w·χ·χ' of every
//! two of them, and a product of two Walsh functions is the one of the sets' symmetric difference: all of G is one
//! transform of the weights. With G = L·Lᵀ (Cholesky) the rows L⁻¹χ of the states are orthonormal under the weights, and what the terms explain of
//! a vector is had from its products with them.

use super::bit_model::{BitModel, walsh_hadamard};
use num_complex::Complex64;
use std::ops::{Add, AddAssign, Mul, Sub};

/// A term that those before it leave less than this of its square is one of them again: words are missing.
const LEAST_PIVOT: f64 = 1e-7;
/// Terms of fewer bits where the rows would be longer than this all together.
const LONGEST: usize = 10_000_000;

/// The rows, one for each state.
#[derive(Clone, Debug)]
pub(super) struct Basis {
    terms: usize,
    rows: Vec<f64>,
}

/// Real or complex values.
pub(super) trait Value:
    Copy + Default + Add<Output = Self> + Sub<Output = Self> + Mul<f64, Output = Self> + AddAssign
{
}
impl Value for f64 {}
impl Value for Complex64 {}

impl Basis {
    /// The terms of a model, states counted by these weights.
    pub(super) fn of(model: &BitModel, weight: &[f64]) -> Self {
        let states = weight.len().max(1);
        let order = (1..=model.order()).rev().find(|&order| model.terms(order).len() * states <= LONGEST);
        let sets = model.terms(order.unwrap_or(1));
        let (columns, inverse_pivots) = cholesky(&gram_of(model, weight), &sets);
        let mut rows = Vec::with_capacity(sets.len() * states);
        for &position in model.positions() {
            let sign = |set: &usize| if (set & position).count_ones() & 1 == 1 { -1.0 } else { 1.0 };
            let mut row: Vec<f64> = sets.iter().map(sign).collect();
            for (place, (column, inverse)) in columns.iter().zip(&inverse_pivots).enumerate() {
                row[place] *= inverse;
                let value = row[place];
                for (below, factor) in row[place + 1..].iter_mut().zip(column) {
                    *below -= factor * value;
                }
            }
            rows.extend(row);
        }
        Self { terms: sets.len(), rows }
    }

    /// How many terms there are.
    pub(super) fn terms(&self) -> usize {
        self.terms
    }

    /// The row of a state.
    pub(super) fn row(&self, state: usize) -> &[f64] {
        &self.rows[state * self.terms..(state + 1) * self.terms]
    }

    /// What no term explains of a value for each state.
    pub(super) fn unexplained<V: Value>(&self, weight: &[f64], values: &[V]) -> Vec<V> {
        let mut products = vec![V::default(); self.terms];
        for (state, (&value, &weight)) in values.iter().zip(weight).enumerate() {
            let weighted = value * weight;
            for (product, &row) in products.iter_mut().zip(self.row(state)) {
                *product += weighted * row;
            }
        }
        let left = |(state, &value): (usize, &V)| {
            let explained = products.iter().zip(self.row(state));
            explained.fold(value, |left, (&product, &row)| left - product * row)
        };
        values.iter().enumerate().map(left).collect()
    }
}

/// The sum of w·χ for the Walsh function χ of every set.
fn gram_of(model: &BitModel, weight: &[f64]) -> Vec<f64> {
    let mut full = vec![Complex64::ZERO; model.words()];
    for (&position, &weight) in model.positions().iter().zip(weight) {
        full[position] = Complex64::from(weight);
    }
    walsh_hadamard(&mut full);
    full.iter().map(|value| value.re).collect()
}

/// The columns of L below its diagonal, and the inverse of the diagonal; 0 for a term that is none of its own.
fn cholesky(gram: &[f64], sets: &[usize]) -> (Vec<Vec<f64>>, Vec<f64>) {
    let count = sets.len();
    let mut columns: Vec<Vec<f64>> = (0..count)
        .map(|column| sets[column..].iter().map(|&set| gram[set ^ sets[column]]).collect())
        .collect();
    let mut inverse_pivots = vec![0.0; count];
    for place in 0..count {
        let (done, rest) = columns.split_at_mut(place + 1);
        let column = &mut done[place];
        let pivot = column.remove(0);
        if pivot > LEAST_PIVOT * gram[0] {
            inverse_pivots[place] = pivot.sqrt().recip();
        }
        for value in column.iter_mut() {
            *value *= inverse_pivots[place];
        }
        for (offset, other) in rest.iter_mut().enumerate() {
            let factor = column[offset];
            for (value, below) in other.iter_mut().zip(&column[offset..]) {
                *value -= factor * below;
            }
        }
    }
    (columns, inverse_pivots)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::control::Word;

    /// What is left has no product with any term, by the definition of least squares; and a sum of terms leaves
    /// nothing. Some words are missing, one has no weight.
    #[test]
    fn what_is_left_is_orthogonal_to_every_term() {
        let words: Vec<Word> = (0..64).filter(|word| word % 32 != 5).map(Word).collect();
        let model = BitModel::new(&words, 6).unwrap();
        let mut weight: Vec<f64> = words.iter().map(|word| 1.0 / (1.0 + f64::from(word.0 % 7))).collect();
        weight[20] = 0.0;
        let basis = Basis::of(&model, &weight);
        let sign = |set: usize, word: &Word| 1.0 - 2.0 * f64::from((set & word.0 as usize).count_ones() & 1);
        let values: Vec<f64> = words.iter().map(|word| f64::from(word.0 * word.0 % 29)).collect();
        let left = basis.unexplained(&weight, &values);
        for set in model.terms(model.order()) {
            let products = words.iter().zip(&weight).zip(&left);
            let product: f64 = products.map(|((word, weight), left)| sign(set, word) * weight * left).sum();
            assert!(product.abs() < 1e-9, "{set}: {product}");
        }
        let sum: Vec<f64> = words.iter().map(|word| 3.0 * sign(5, word) - sign(32, word) + 0.5).collect();
        assert!(basis.unexplained(&weight, &sum).iter().all(|left| left.abs() < 1e-9));
    }
}
