//! Group delay of one state over frequency.

use crate::plane::wrap_deg;
use num_complex::Complex64;
use std::f64::consts::SQRT_2;

/// Group delay at one frequency.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DelayPoint {
    /// −(1/360)·dφ/df, seconds, from the two neighbours; at the ends of the grid from the one.
    pub delay_s: f64,
    /// From the one neighbour to the other, hertz.
    pub aperture_hz: f64,
    /// The larger turn of the phase to a neighbour, degrees, absolute.
    pub turn_deg: f64,
}

impl DelayPoint {
    /// A phase that turns by more than half a turn from point to point is read a whole turn wrong, and by the phase alone
    /// nobody can tell. From half of that on the delay should not be believed (the half is ours).
    pub const DOUBTFUL_TURN_DEG: f64 = 90.0;

    /// Whether the grid may be too coarse for this delay.
    pub fn is_doubtful(&self) -> bool {
        self.turn_deg > Self::DOUBTFUL_TURN_DEG
    }
}

/// The group delay at every point of an ascending grid, by central differences, one-sided at the ends. NaN where there is
/// no neighbour, and beside a point without transmission.
pub fn group_delay(frequency_hz: &[f64], transmission: &[Complex64]) -> Vec<DelayPoint> {
    let points = frequency_hz.len().min(transmission.len());
    (0..points).map(|index| delay_at(frequency_hz, |at| transmission[at], index, points)).collect()
}

/// The delay at one of so many points.
pub(super) fn delay_at(
    frequency_hz: &[f64],
    transmission: impl Fn(usize) -> Complex64,
    index: usize,
    points: usize,
) -> DelayPoint {
    let (low, high) = (index.saturating_sub(1), (index + 1).min(points - 1));
    // Each turn is taken to its own neighbour, so that it is the smaller of the two that may be.
    let turns = (low..high).map(|at| turn_deg(transmission(at), transmission(at + 1)));
    let aperture_hz = frequency_hz[high] - frequency_hz[low];
    DelayPoint {
        delay_s: -turns.clone().sum::<f64>() / (360.0 * aperture_hz),
        aperture_hz,
        turn_deg: turns.map(f64::abs).fold(0.0, f64::max),
    }
}

fn turn_deg(from: Complex64, to: Complex64) -> f64 {
    if from == Complex64::ZERO || to == Complex64::ZERO {
        return f64::NAN;
    }
    wrap_deg((to / from).arg().to_degrees())
}

/// The noise of a group delay in seconds, from the noise of each phase in degrees: √2·σ/(360·aperture).
pub fn group_delay_noise_s(phase_noise_deg: f64, aperture_hz: f64) -> f64 {
    SQRT_2 * phase_noise_deg / (360.0 * aperture_hz)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 1 ns turns the phase by 3.6° in every 10 MHz; 0.1° of noise over an aperture of 10 MHz are 0.0392837 ns. Both by
    /// hand.
    #[test]
    fn a_nanosecond_is_a_nanosecond_on_any_grid() {
        let grid = [1.00e9, 1.01e9, 1.02e9, 1.05e9, 1.06e9];
        let line = |hz: &f64| Complex64::from_polar(0.5, -std::f64::consts::TAU * hz * 1e-9);
        let delay = group_delay(&grid, &grid.iter().map(line).collect::<Vec<_>>());
        for point in &delay {
            assert!((point.delay_s - 1e-9).abs() < 1e-20 && !point.is_doubtful());
        }
        assert!((delay[0].turn_deg - 3.6).abs() < 1e-6 && (delay[2].turn_deg - 10.8).abs() < 1e-6);
        assert!((delay[2].aperture_hz - 40e6).abs() < 1.0);
        assert!((group_delay_noise_s(0.1, 10e6) - 0.039_283_7e-9).abs() < 5e-17);
    }

    /// By hand: phases 0, −10, −40, −50° at 10 MHz spacing.
    #[test]
    fn differences_are_central_inside_and_one_sided_at_the_ends() {
        let grid = [1.00e9, 1.01e9, 1.02e9, 1.03e9];
        let phases = [0.0, -10.0, -40.0, -50.0_f64];
        let states: Vec<Complex64> =
            phases.iter().map(|deg| Complex64::cis((deg + 179.0).to_radians())).collect();
        let expected = [10.0 / 3.6, 20.0 / 3.6, 20.0 / 3.6, 10.0 / 3.6];
        for (point, expected_ns) in group_delay(&grid, &states).iter().zip(expected) {
            assert!((point.delay_s * 1e9 - expected_ns).abs() < 1e-9);
        }
    }

    #[test]
    fn a_coarse_grid_is_doubted_and_a_lone_point_has_no_delay() {
        let coarse = group_delay(&[1e9, 2e9], &[Complex64::ONE, Complex64::cis(-1.7)]);
        assert!(coarse.iter().all(DelayPoint::is_doubtful));
        assert!(group_delay(&[1e9], &[Complex64::ONE])[0].delay_s.is_nan());
        let dead = group_delay(&[1e9, 2e9, 3e9], &[Complex64::ONE, Complex64::ZERO, Complex64::ONE]);
        assert!(dead.iter().all(|point| point.delay_s.is_nan()));
    }
}
