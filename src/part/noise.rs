//! What the noise of the transmission does to a figure, to first order.
//!
//! Independent noise of deviation σ on the real and on the imaginary part of T moves 20·log10|T| by 20/ln10 · σ/|T| and
//! arg T by σ/|T| radians. What is a difference of two states has the noise of both.

use super::{FieldAt, FieldSlice, Unit};
use std::f64::consts::LN_10;

/// σ/|T| of every code at one frequency; NaN for codes that were not measured.
pub(super) struct RelativeNoise(Vec<f64>);

impl RelativeNoise {
    /// `sigma` is the deviation of the real and of the imaginary part of T, linear.
    pub(super) fn of(at: &FieldAt, slice: &FieldSlice, sigma: f64) -> Self {
        let relative = sigma / at.zero.norm();
        Self(at.relative_gain_db(slice).iter().map(|db| relative * 10_f64.powf(-db / 20.0)).collect())
    }

    /// The noise of one code's own level or phase.
    pub(super) fn of_code(&self, code: usize, unit: Unit) -> f64 {
        per_radian(unit) * self.0[code]
    }

    /// The noise of the difference of two codes.
    pub(super) fn of_difference(&self, one: usize, other: usize, unit: Unit) -> f64 {
        per_radian(unit) * self.0[one].hypot(self.0[other])
    }

    /// The noise of a figure that moves with the differences of codes to code 0 by these weights.
    pub(super) fn of_weighted_differences(&self, weights: &[f64], unit: Unit) -> f64 {
        let others = || weights.iter().zip(&self.0).skip(1).filter(|(_, noise)| !noise.is_nan());
        let own: f64 = others().map(|(weight, noise)| (weight * noise).powi(2)).sum();
        let common = others().map(|(weight, _)| weight).sum::<f64>() * self.0[0];
        per_radian(unit) * (own + common * common).sqrt()
    }

    /// The noise of a code's distance from the line through codes 0 and `last`.
    pub(super) fn off_end_line(&self, code: usize, last: usize, unit: Unit) -> f64 {
        let along = code as f64 / last as f64;
        let ends = ((1.0 - along) * self.0[0]).hypot(along * self.0[last]);
        per_radian(unit) * self.0[code].hypot(ends)
    }

    /// The noise of every code's distance from the least-squares line through all measured codes.
    ///
    /// The distance is the code's own value less a share h(k, j) = 1/M + (k − k̄)(j − k̄)/S of every code's, S = Σ(j − k̄)²
    /// (the hat matrix of a straight line); its variance is summed in closed form.
    pub(super) fn off_least_squares_line(&self, unit: Unit) -> Vec<f64> {
        let measured = || self.0.iter().enumerate().filter(|(_, noise)| !noise.is_nan());
        let count = measured().count() as f64;
        let mean = measured().map(|(code, _)| code as f64).sum::<f64>() / count;
        let moment = |power: i32| -> f64 {
            measured().map(|(code, noise)| (code as f64 - mean).powi(power) * noise * noise).sum()
        };
        let spread: f64 = measured().map(|(code, _)| (code as f64 - mean).powi(2)).sum();
        let (plain, first, second) = (moment(0), moment(1), moment(2));
        let one = |(code, noise): (usize, &f64)| {
            let arm = (code as f64 - mean) / spread;
            let own_share = 1.0 / count + arm * (code as f64 - mean);
            let line = plain / (count * count) + 2.0 * arm / count * first + arm * arm * second;
            let variance = noise * noise * (1.0 - 2.0 * own_share) + line;
            per_radian(unit) * variance.max(0.0).sqrt()
        };
        self.0.iter().enumerate().map(one).collect()
    }
}

/// The noise of the decibels of a reflection of this magnitude, when the noise of its real and imaginary part is that of
/// the transmission's, the only one that a run tells.
pub(super) fn of_reflection_db(sigma: f64, magnitude: f64) -> f64 {
    per_radian(Unit::Decibel) * sigma / magnitude
}

fn per_radian(unit: Unit) -> f64 {
    match unit {
        Unit::Decibel => 20.0 / LN_10,
        _ => 1_f64.to_degrees(),
    }
}
