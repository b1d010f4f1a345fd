//! Complex values on other frequencies.

use num_complex::Complex64;

/// Values at `to_hz`, by straight lines between the neighbouring values at `from_hz`, real and imaginary parts alike.
///
/// Both lists ascend. A frequency beyond an end of `from_hz` takes the value at that end: callers see to it that none
/// is beyond by more than rounding.
///
/// # Panics
/// If `values` has not as many entries as `from_hz`, or there are none.
pub fn interpolate(from_hz: &[f64], values: &[Complex64], to_hz: &[f64]) -> Vec<Complex64> {
    assert_eq!(from_hz.len(), values.len(), "one value for every frequency");
    let last = from_hz.len() - 1;
    let at = |&hertz: &f64| {
        let above = from_hz.partition_point(|&known| known < hertz);
        match above {
            0 => values[0],
            above if above > last => values[last],
            above => {
                let (low, high) = (from_hz[above - 1], from_hz[above]);
                values[above - 1] + (values[above] - values[above - 1]) * ((hertz - low) / (high - low))
            }
        }
    };
    to_hz.iter().map(at).collect()
}

/// How far a straight line between two values of equal size can miss the arc between them, relative to their size:
/// the rise of the arc over its chord, 1 − cos(Δ/2) for a turn of Δ (plane geometry). A transmission of constant
/// delay runs along such an arc.
pub fn chord_error(turn_deg: f64) -> f64 {
    1.0 - (turn_deg.to_radians() / 2.0).cos()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::network::check::{close, polar};

    /// Expected values from `numpy.interp` on the real and on the imaginary parts.
    #[test]
    fn between_points_on_them_and_at_the_ends() {
        let from_hz = [1e9, 2e9, 4e9];
        let values = [Complex64::new(1.0, 0.5), Complex64::new(-1.0, 0.25), Complex64::new(3.0, -0.75)];
        let found = interpolate(&from_hz, &values, &[1e9, 1.25e9, 2e9, 3.5e9, 4e9]);
        let expected = [(1.0, 0.5), (0.5, 0.4375), (-1.0, 0.25), (2.0, -0.5), (3.0, -0.75)];
        for (found, (re, im)) in found.into_iter().zip(expected) {
            close(found, Complex64::new(re, im), 1e-15);
        }
        assert_eq!(interpolate(&[5e9], &[Complex64::I], &[5e9 * (1.0 + 1e-12)]), [Complex64::I]);
    }

    /// A delay sampled every 40 degrees: in the middle the line is short by exactly 1 − cos 20°, and nowhere by more.
    #[test]
    fn a_delay_is_missed_by_no_more_than_the_chord() {
        let from_hz: Vec<f64> = (0..10).map(f64::from).collect();
        let values: Vec<Complex64> = from_hz.iter().map(|f| polar(1.0, -40.0 * f)).collect();
        let to_hz: Vec<f64> = (0..=90).map(|k| f64::from(k) / 10.0).collect();
        let found = interpolate(&from_hz, &values, &to_hz);
        let worst = found
            .iter()
            .zip(&to_hz)
            .map(|(found, f)| (found - polar(1.0, -40.0 * f)).norm())
            .fold(0.0, f64::max);
        assert!((worst - 0.060_307_379_214).abs() < 1e-9, "{worst}");
        assert!((chord_error(40.0) - 0.060_307_379_214).abs() < 1e-12);
    }
}
