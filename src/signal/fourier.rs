//! The discrete Fourier transform of a power of two of values.

use num_complex::Complex64;
use std::f64::consts::TAU;

/// The transform of one length, prepared.
#[derive(Clone, Debug)]
pub(super) struct Fourier {
    /// e^(−j2πk/n).
    turns: Vec<Complex64>,
}

impl Fourier {
    /// `length` is a power of two.
    pub(super) fn new(length: usize) -> Self {
        debug_assert!(length.is_power_of_two());
        let turn = |k: usize| Complex64::cis(-TAU * k as f64 / length as f64);
        Self { turns: (0..length).map(turn).collect() }
    }

    /// `X[h] = Σ x[k]·e^(−j2πhk/n)`, in place: the values are brought into the order of their reversed indices, then
    /// halves, quarters and so on are joined (Cooley and Tukey, 1965).
    pub(super) fn forward(&self, values: &mut [Complex64]) {
        let length = self.turns.len();
        debug_assert_eq!(values.len(), length);
        if length > 1 {
            let unused = usize::BITS - length.trailing_zeros();
            for index in 0..length {
                let mirrored = index.reverse_bits() >> unused;
                if index < mirrored {
                    values.swap(index, mirrored);
                }
            }
        }
        let mut half = 1;
        while half < length {
            let stride = length / (2 * half);
            for block in values.chunks_exact_mut(2 * half) {
                let (low, high) = block.split_at_mut(half);
                for ((low, high), turn) in low.iter_mut().zip(high).zip(self.turns.iter().step_by(stride)) {
                    let turned = *high * turn;
                    *high = *low - turned;
                    *low += turned;
                }
            }
            half *= 2;
        }
    }

    /// `x[k] = Σ X[h]·e^(+j2πhk/n)/n`, in place.
    pub(super) fn inverse(&self, values: &mut [Complex64]) {
        let scale = 1.0 / self.turns.len() as f64;
        for value in &mut *values {
            *value = value.conj();
        }
        self.forward(values);
        for value in values {
            *value = value.conj() * scale;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against the sum itself.
    #[test]
    fn the_transform_is_its_definition() {
        for length in [1, 2, 8, 64] {
            let values: Vec<Complex64> = (0..length)
                .map(|k| Complex64::new((1.7 * k as f64).sin(), (0.3 * k as f64 * k as f64).cos()))
                .collect();
            let fourier = Fourier::new(length);
            let mut transformed = values.clone();
            fourier.forward(&mut transformed);
            for (h, found) in transformed.iter().enumerate() {
                let turned = |(k, value): (usize, &Complex64)| {
                    value * Complex64::cis(-TAU * (h * k) as f64 / length as f64)
                };
                let expected: Complex64 = values.iter().enumerate().map(turned).sum();
                assert!((found - expected).norm() < 1e-11, "{length} {h}");
            }
            fourier.inverse(&mut transformed);
            assert!(transformed.iter().zip(&values).all(|(a, b)| (a - b).norm() < 1e-14));
        }
    }
}
