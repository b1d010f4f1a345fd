//! Seeded planes for the tests of tables: parts whose bits are off, and the steps that a fixed sequence takes.

#[path = "../sequence/mod.rs"]
mod sequence;

use num_complex::Complex64;
use sweepfold::control::{Direction, Field, Layout, Quantity, Word};
use sweepfold::plane::target_gain;

pub use sequence::Sequence;

/// Lagging phase bits that fill the circle, attenuating gain bits above them.
pub fn layout(phase_bits: u8, gain_bits: u8, step_db: f64) -> Layout {
    let step_deg = 360.0 / f64::from(1_u32 << phase_bits);
    let mut fields = Vec::new();
    if phase_bits > 0 {
        fields.push(Field::contiguous(Quantity::Phase, 0, phase_bits, step_deg, Direction::Down));
    }
    if gain_bits > 0 {
        fields.push(Field::contiguous(Quantity::Gain, phase_bits, gain_bits, step_db, Direction::Down));
    }
    Layout { fields }
}

pub fn words(layout: &Layout) -> Vec<Word> {
    (0_u32..).take(layout.word_count()).map(Word).collect()
}

/// A part at some frequencies: every bit off by up to `off` of its nepers and radians plus up to `off` of a step, and every
/// state by `scatter`, both drifting along the frequencies.
pub fn part(
    layout: &Layout,
    points: usize,
    off: f64,
    scatter: f64,
    sequence: &mut Sequence,
) -> Vec<Vec<Complex64>> {
    let mut pair = |size: f64| Complex64::new(size * sequence.signed(), size * sequence.signed());
    let words = words(layout);
    let through = Complex64::new(-1.0, 6.0) + pair(1.0);
    let bits: Vec<(Complex64, Complex64)> = (0..layout.bits()).map(|_| (pair(off), pair(off))).collect();
    let states: Vec<(Complex64, Complex64)> = words.iter().map(|_| (pair(scatter), pair(scatter))).collect();
    let at = |point: usize| {
        let x = if points > 1 { point as f64 / (points - 1) as f64 } else { 0.0 };
        let weight =
            |bit: usize| target_gain(layout.nominal(Word(1 << bit))).ln() + bits[bit].0 + x * bits[bit].1;
        let weights: Vec<Complex64> = (0..layout.bits()).map(weight).collect();
        let state = |(word, off): (&Word, &(Complex64, Complex64))| {
            let on = (0..weights.len()).filter(|bit| word.0 >> bit & 1 == 1).map(|bit| weights[bit]);
            (on.sum::<Complex64>() + off.0 + x * off.1 + (1.0 + x) * through).exp()
        };
        words.iter().zip(&states).map(state).collect()
    };
    (0..points).map(at).collect()
}
