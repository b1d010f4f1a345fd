//! Made-up states for the tests of reach and signal: a seeded sequence, and a part whose bits are off.

// Each test binary that includes this module uses a part of it.
#![allow(dead_code)]

use num_complex::Complex64;
use sweepfold::control::{Direction, Field, Layout, Quantity, Word};
use sweepfold::plane::target_gain;

/// A fixed sequence of even numbers in 0..1 (the 64-bit linear congruence of Knuth's MMIX).
pub struct Sequence(pub u64);

impl Sequence {
    pub fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// Even in a square.
    pub fn point(&mut self, size: f64) -> Complex64 {
        Complex64::new(size * (2.0 * self.next() - 1.0), size * (2.0 * self.next() - 1.0))
    }

    /// Normal in real and imaginary part, each with a variance of 1 (the transform of Box and Muller, 1958).
    pub fn normal(&mut self) -> Complex64 {
        let size = (-2.0 * (1.0 - self.next()).ln()).sqrt();
        Complex64::from_polar(size, std::f64::consts::TAU * self.next())
    }
}

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
