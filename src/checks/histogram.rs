//! Medians that can be put together from parts.

use serde::{Deserialize, Serialize};

/// Counts of positive values over fixed logarithmic bins, so that the median over everything is had from parts.
///
/// Bins are a forty-eighth of a decade wide, 4.9 %; a median is interpolated inside its bin, and is off by half a bin,
/// 2.4 % or 0.2 dB, at the very most. Values from 1e-12 to 1e3 are told apart; others count in the outermost bins.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Histogram {
    counts: Vec<u32>,
}

const BINS_PER_DECADE: f64 = 48.0;
const LOWEST_DECADE: f64 = -12.0;
const BINS: usize = 15 * 48;

impl Histogram {
    /// Counts the magnitude of a value; what is not finite is passed over.
    pub fn count(&mut self, value: f64) {
        if !value.is_finite() {
            return;
        }
        if self.counts.is_empty() {
            self.counts = vec![0; BINS];
        }
        let place = (log10(value.abs()) - LOWEST_DECADE) * BINS_PER_DECADE;
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to the bins")]
        let bin = place.clamp(0.0, (BINS - 1) as f64) as usize;
        self.counts[bin] += 1;
    }

    /// Adds another's counts.
    pub fn merge(&mut self, other: &Self) {
        if self.counts.is_empty() {
            self.counts.clone_from(&other.counts);
            return;
        }
        for (count, more) in self.counts.iter_mut().zip(&other.counts) {
            *count += more;
        }
    }

    /// The median of the magnitudes; `None` of nothing, 0 where half of them are at or below the lowest bin.
    pub fn median(&self) -> Option<f64> {
        let total: u64 = self.counts.iter().map(|&count| u64::from(count)).sum();
        if total == 0 {
            return None;
        }
        let half = total as f64 / 2.0;
        let mut below = 0.0;
        for (bin, &count) in self.counts.iter().enumerate() {
            let count = f64::from(count);
            if below + count >= half {
                if bin == 0 {
                    return Some(0.0);
                }
                let inside = bin as f64 + (half - below) / count;
                return Some(10_f64.powf(inside / BINS_PER_DECADE + LOWEST_DECADE));
            }
            below += count;
        }
        None
    }
}

/// The logarithm to a millionth, which is far finer than a bin; of zero and of the smallest values −308. With the mantissa
/// m from 1 to 2 and w = (m − √2)/(m + √2), log2 m = ½ + 2/ln 2·(w + w³/3 + w⁵/5 + …).
fn log10(value: f64) -> f64 {
    let bits = value.to_bits();
    let exponent = (bits >> 52) as f64 - 1023.0;
    let mantissa = f64::from_bits(bits & ((1 << 52) - 1) | 1023 << 52);
    let w = (mantissa - std::f64::consts::SQRT_2) / (mantissa + std::f64::consts::SQRT_2);
    let square = w * w;
    let series = w * (1.0 + square * (1.0 / 3.0 + square / 5.0));
    (exponent + 0.5 + 2.0 * std::f64::consts::LOG2_E * series) * std::f64::consts::LOG10_2
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The median of 1, 2, …, 999 times a scale is 500 times the scale, by definition; half a bin is 2.4 %.
    #[test]
    fn medians_are_off_by_half_a_bin_at_most() {
        for scale in [1e-9, 3.7e-5, 0.11] {
            let mut parts = [Histogram::default(), Histogram::default()];
            for value in 1..1000 {
                parts[value % 2].count(-scale * value as f64);
            }
            let [mut whole, other] = parts;
            whole.merge(&other);
            let median = whole.median().unwrap();
            assert!((median / (500.0 * scale) - 1.0).abs() < 0.024, "{median}");
        }
        assert_eq!(Histogram::default().median(), None);
    }

    /// Against the library's.
    #[test]
    fn logarithms_are_right_to_a_millionth() {
        for place in -1200..300 {
            let value = 10_f64.powf(f64::from(place) / 100.0 + 1e-3);
            assert!((log10(value) - value.log10()).abs() < 1e-6, "{value}");
        }
        assert!(log10(0.0) < -300.0);
    }

    #[test]
    fn zeros_have_the_median_zero() {
        let mut histogram = Histogram::default();
        histogram.count(0.0);
        histogram.count(f64::NAN);
        assert_eq!(histogram.median(), Some(0.0));
    }
}
