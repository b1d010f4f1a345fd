//! The made-up part that the native speeds are taken from: 4,096 states.

use num_complex::Complex64;
use sweepfold::control::{Direction, Field, Layout, Quantity, Word};
use sweepfold::plane::target_gain;

/// Points of the whole sweep.
pub const FREQUENCIES: u32 = 401;

/// Six phase bits and six gain bits of 0.5 dB.
pub fn layout() -> Layout {
    Layout {
        fields: vec![
            Field::contiguous(Quantity::Phase, 0, 6, 5.625, Direction::Down),
            Field::contiguous(Quantity::Gain, 6, 6, 0.5, Direction::Down),
        ],
    }
}

/// Bits off by a few percent, each drifting over frequency.
pub fn transmission(layout: &Layout, words: &[Word], frequency: u32) -> Vec<Complex64> {
    let x = f64::from(frequency) / f64::from(FREQUENCIES - 1) - 0.5;
    let factor = |bit: usize| {
        let ideal = target_gain(layout.nominal(Word(1 << bit)));
        let off = 0.04 * (1.7 * bit as f64).sin() + 0.06 * x * (2.3 * bit as f64 + 1.0).cos();
        ideal * Complex64::new(1.0 + 0.5 * off, off)
    };
    let factors: Vec<Complex64> = (0..layout.bits()).map(factor).collect();
    words
        .iter()
        .map(|word| {
            let on = (0..factors.len()).filter(|bit| word.0 >> bit & 1 == 1);
            on.fold(Complex64::from_polar(0.5, 40.0 * x), |product, bit| product * factors[bit])
        })
        .collect()
}
