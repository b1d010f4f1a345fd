//! Numbers that are the same in every run of a test.

// Each test binary that includes this module uses a part of it.
#![allow(dead_code)]

use num_complex::Complex64;

/// A fixed sequence of even numbers in 0..1 (the 64-bit linear congruence of Knuth's MMIX).
pub struct Sequence(pub u64);

impl Sequence {
    pub fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }

    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.next()
    }

    /// Within ±1.
    pub fn signed(&mut self) -> f64 {
        2.0 * self.next() - 1.0
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
