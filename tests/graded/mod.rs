//! Parts made of what their codes do, graded, for the tests of figures and verdicts.

#![allow(dead_code)]

#[path = "../sequence/mod.rs"]
mod sequence;

use num_complex::Complex64;
use sweepfold::control::{Direction, Field, Layout, Quantity};
use sweepfold::part::{FieldAt, FieldSlice, Figure, Judgement, Limits, Measured, SpecificationRow};

pub use sequence::Sequence;

pub fn close(a: f64, b: f64, tolerance: f64) {
    assert!((a - b).abs() <= tolerance, "{a} is not {b} within {tolerance}");
}

pub fn all_close(a: &[f64], b: &[f64], tolerance: f64) {
    assert_eq!(a.len(), b.len());
    for (a, b) in a.iter().zip(b) {
        close(*a, *b, tolerance);
    }
}

pub fn alone(quantity: Quantity, bits: u8, step: f64, direction: Direction) -> FieldSlice {
    let layout = Layout { fields: vec![Field::contiguous(quantity, 0, bits, step, direction)] };
    FieldSlice::of(&layout, 0, &[]).expect("a slice")
}

pub fn attenuator(bits: u8, step_db: f64) -> FieldSlice {
    alone(Quantity::Gain, bits, step_db, Direction::Down)
}

pub fn phase_shifter(bits: u8) -> FieldSlice {
    alone(Quantity::Phase, bits, 360.0 / f64::from(1_u32 << bits), Direction::Down)
}

pub fn from_db_deg(gain_db: f64, phase_deg: f64) -> Complex64 {
    Complex64::from_polar(10_f64.powf(gain_db / 20.0), phase_deg.to_radians())
}

/// A part whose codes do so much in their own quantity, in their field's direction, and so much in the other.
pub fn part(slice: &FieldSlice, values: &[f64], other: &[f64]) -> Vec<Option<Complex64>> {
    let code = |(value, other): (&f64, &f64)| {
        Some(match slice.quantity {
            Quantity::Gain => from_db_deg(slice.sign * value - 3.0, other + 100.0),
            Quantity::Phase => from_db_deg(other - 3.0, slice.sign * value + 100.0),
        })
    };
    values.iter().zip(other).map(code).collect()
}

pub fn graded(slice: &FieldSlice, values: &[f64]) -> FieldAt {
    FieldAt::of(slice, &part(slice, values, &vec![0.0; values.len()]))
}

/// What bits of their own errors do together: the step times the code, and the errors of the bits that are on.
pub fn of_bits(step: f64, bit_errors: &[f64]) -> Vec<f64> {
    let on = |code: usize| {
        let errors = bit_errors.iter().enumerate().filter(|(bit, _)| code >> bit & 1 == 1);
        errors.map(|(_, error)| error).sum::<f64>()
    };
    (0..1_usize << bit_errors.len()).map(|code| step * code as f64 + on(code)).collect()
}

pub fn row(figure: Figure, limits: Limits) -> SpecificationRow {
    SpecificationRow { figure, from_hz: None, to_hz: None, limits, note: String::new() }
}

pub fn judged(
    slice: &FieldSlice,
    at: &[FieldAt],
    sigma: Option<f64>,
    row: &SpecificationRow,
) -> Option<Judgement> {
    let grid: Vec<f64> = (0..at.len()).map(|index| 1e9 * (index + 1) as f64).collect();
    let sigma = sigma.map(|sigma| vec![sigma; at.len()]);
    Measured { slice, frequency_hz: &grid, at, sigma: sigma.as_deref(), reflections: None }.judge(row)
}
