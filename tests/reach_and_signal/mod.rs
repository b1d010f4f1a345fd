//! Made-up states for the tests of reach and signal: a seeded sequence, and a part whose bits are off.

// Each test binary that includes this module uses a part of it.
#![allow(dead_code)]

#[path = "../sequence/mod.rs"]
mod sequence;

use num_complex::Complex64;
use sweepfold::control::{Direction, Field, Layout, Quantity, Word};
use sweepfold::plane::target_gain;

pub use sequence::Sequence;

/// Phase bits below, gain bits above, each (bits, step); a field of no bits is left out.
pub fn two_fields(phase: (u8, f64), gain: (u8, f64)) -> Layout {
    let fields = [(Quantity::Phase, 0, phase), (Quantity::Gain, phase.0, gain)];
    let fields = fields.into_iter().filter(|(_, _, (bits, _))| *bits > 0);
    let field =
        |(quantity, lowest, (bits, step))| Field::contiguous(quantity, lowest, bits, step, Direction::Down);
    Layout { fields: fields.map(field).collect() }
}

/// States of a part each of whose bits is off by a factor, and each state by a tenth of that, relative; the zero word's
/// nominal place is 1.
pub fn measured_part(layout: &Layout, off: f64, sequence: &mut Sequence) -> Vec<Complex64> {
    let bits = 0..layout.bits();
    let factors: Vec<Complex64> = bits
        .map(|bit| target_gain(layout.nominal(Word(1 << bit))) * (sequence.normal() * off).exp())
        .collect();
    (0..1_u32 << layout.bits())
        .map(|word| {
            let on = (0..factors.len()).filter(|bit| word >> bit & 1 == 1);
            let own = (sequence.normal() * (off / 10.0)).exp();
            on.fold(own, |product, bit| product * factors[bit])
        })
        .collect()
}
