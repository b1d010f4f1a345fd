//! Scores over all targets at one frequency.

use super::error::wrap_difference_deg;
use super::{StateError, Tolerance};
use crate::control::Target;
use num_complex::Complex64;
use serde::{Deserialize, Serialize};

/// How well a mapping serves its targets at one frequency.
///
/// Root mean squares are NaN where no target is served.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Score {
    /// Root mean square of the gain errors, dB, no mean removed.
    pub rms_gain_error_db: f64,
    /// Root mean square of the phase errors, degrees, no mean removed.
    pub rms_phase_error_deg: f64,
    /// Root mean square of the relative vector errors, linear.
    pub rms_vector_error: f64,
    /// The gain error of largest magnitude, dB; of equal ones the first target's.
    pub largest_gain_error_db: Option<LargestError>,
    /// The phase error of largest magnitude, degrees.
    pub largest_phase_error_deg: Option<LargestError>,
    /// The largest relative vector error, linear.
    pub largest_vector_error: Option<LargestError>,
    /// Percent of targets within the gain tolerance.
    pub within_gain_pct: f64,
    /// Percent of targets within the phase tolerance.
    pub within_phase_pct: f64,
    /// Percent of targets within both.
    pub within_both_pct: f64,
    /// Targets that no state serves: outside tolerance, left out of the root mean squares.
    pub missing: usize,
}

/// An error and the target that has it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct LargestError {
    /// Index into the targets.
    pub target: usize,
    /// The error with its sign, in the unit of the field that holds it.
    pub error: f64,
}

impl LargestError {
    fn keep_larger(largest: &mut Option<Self>, target: usize, error: f64) {
        if largest.is_none_or(|held| error.abs() > held.error.abs()) {
            *largest = Some(Self { target, error });
        }
    }
}

/// Scores a mapping; `errors[t]` is the error of the state that serves `targets[t]`, `None` where there is none.
///
/// Shares are percent of all targets; root mean squares are over the targets that are served, the reference state
/// included.
pub fn score(targets: &[Target], errors: &[Option<StateError>], tolerance: &Tolerance) -> Score {
    let mut sums = Sums::default();
    for (index, (target, error)) in targets.iter().zip(errors).enumerate() {
        if let Some(error) = error {
            sums.add(index, error, tolerance.gain_db_at(target.setting.gain_db), tolerance.phase_deg);
        }
    }
    let served = sums.served as f64;
    let percent = |count: usize| 100.0 * count as f64 / targets.len() as f64;
    Score {
        rms_gain_error_db: (sums.gain_squared / served).sqrt(),
        rms_phase_error_deg: (sums.phase_squared / served).sqrt(),
        rms_vector_error: (sums.vector_squared / served).sqrt(),
        largest_gain_error_db: sums.largest_gain,
        largest_phase_error_deg: sums.largest_phase,
        largest_vector_error: sums.largest_vector,
        within_gain_pct: percent(sums.within_gain),
        within_phase_pct: percent(sums.within_phase),
        within_both_pct: percent(sums.within_both),
        missing: targets.len() - sums.served,
    }
}

/// How far errors scatter about their own mean: what is left of them when what all have in common is taken out.
///
/// NaN where no target is served.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Spread {
    /// Root mean square of the gain errors about their mean, dB.
    pub gain_error_db: f64,
    /// Root mean square of the phase errors about their circular mean, degrees.
    pub phase_error_deg: f64,
}

/// The spread of a mapping's errors, unserved targets left out; `turns` are their phases as [`StateError::turn_between`]
/// gives them. Apart from [`score`], which is asked for more often.
pub fn spread(errors: &[Option<StateError>], turns: &[Option<Complex64>]) -> Spread {
    let served = || errors.iter().flatten();
    let count = served().count() as f64;
    let mean_gain_db = served().map(|error| error.gain_db).sum::<f64>() / count;
    let mean_phase_deg = turns.iter().flatten().sum::<Complex64>().arg().to_degrees();
    let (mut gain_about_mean, mut phase_about_mean) = (0.0, 0.0);
    for error in served() {
        gain_about_mean += (error.gain_db - mean_gain_db).powi(2);
        phase_about_mean += wrap_difference_deg(error.phase_deg - mean_phase_deg).powi(2);
    }
    Spread {
        gain_error_db: (gain_about_mean / count).sqrt(),
        phase_error_deg: (phase_about_mean / count).sqrt(),
    }
}

#[derive(Default)]
struct Sums {
    served: usize,
    gain_squared: f64,
    phase_squared: f64,
    vector_squared: f64,
    within_gain: usize,
    within_phase: usize,
    within_both: usize,
    largest_gain: Option<LargestError>,
    largest_phase: Option<LargestError>,
    largest_vector: Option<LargestError>,
}

impl Sums {
    fn add(&mut self, target: usize, error: &StateError, gain_limit_db: f64, phase_limit_deg: f64) {
        self.served += 1;
        self.gain_squared += error.gain_db * error.gain_db;
        self.phase_squared += error.phase_deg * error.phase_deg;
        self.vector_squared += error.vector * error.vector;
        let within_gain = Tolerance::holds(error.gain_db, gain_limit_db);
        let within_phase = Tolerance::holds(error.phase_deg, phase_limit_deg);
        self.within_gain += usize::from(within_gain);
        self.within_phase += usize::from(within_phase);
        self.within_both += usize::from(within_gain && within_phase);
        LargestError::keep_larger(&mut self.largest_gain, target, error.gain_db);
        LargestError::keep_larger(&mut self.largest_phase, target, error.phase_deg);
        LargestError::keep_larger(&mut self.largest_vector, target, error.vector);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::control::{Setting, Word};
    use crate::plane::target_gain;

    const HALF_STEP: Tolerance = Tolerance { gain_db: 0.25, gain_pct_of_setting: 0.0, phase_deg: 45.0 };

    fn close(a: f64, b: f64, tolerance: f64) {
        assert!((a - b).abs() <= tolerance, "{a} is not {b} within {tolerance}");
    }

    fn targets(settings: &[(f64, f64)]) -> Vec<Target> {
        let target = |(word, &(gain_db, phase_deg))| Target {
            setting: Setting { gain_db, phase_deg },
            nominal_word: Some(Word(word)),
        };
        (0..).zip(settings).map(target).collect()
    }

    /// Errors of measured settings (dB, degrees) against wanted ones, through the plane.
    fn errors(wanted: &[(f64, f64)], measured: &[(f64, f64)]) -> Vec<Option<StateError>> {
        let error = |(wanted, measured): (&(f64, f64), &(f64, f64))| {
            let landed = target_gain(Setting { gain_db: measured.0, phase_deg: measured.1 });
            Some(StateError::of(landed, Setting { gain_db: wanted.0, phase_deg: wanted.1 }))
        };
        wanted.iter().zip(measured).map(error).collect()
    }

    fn spread_of(errors: &[Option<StateError>]) -> Spread {
        let turn = |error: &StateError| Complex64::cis(error.phase_deg.to_radians());
        let turns: Vec<Option<Complex64>> = errors.iter().map(|error| error.as_ref().map(turn)).collect();
        spread(errors, &turns)
    }

    /// A two-bit phase shifter at 0, 92, 177 and 274°: errors 0, 2, −3, 4. RMS without and with the mean taken out
    /// follow from the definition by hand: √(29/4) and √(29/4 − 0.75²); the circular mean differs from the
    /// arithmetic one by less than the tolerance shows.
    #[test]
    fn phase_errors_of_a_two_bit_part() {
        let wanted = [(0.0, 0.0), (0.0, 90.0), (0.0, 180.0), (0.0, 270.0)];
        let measured = [(0.0, 0.0), (0.0, 92.0), (0.0, 177.0), (0.0, 274.0)];
        let score = score(&targets(&wanted), &errors(&wanted, &measured), &HALF_STEP);
        close(score.rms_phase_error_deg, 2.692_582, 1e-6);
        close(spread_of(&errors(&wanted, &measured)).phase_error_deg, 2.586_020, 1e-6);
        let largest = score.largest_phase_error_deg.expect("an error");
        assert_eq!(largest.target, 3);
        close(largest.error, 4.0, 1e-12);
        close(score.rms_gain_error_db, 0.0, 1e-12);
    }

    /// Six bits off by 0.2, −0.3, 0.5, −1, 1.5 and −2°: about the mean ½·√Σδ² = 1.381123°, and with the mean Σδ/2 = −0.55°
    /// left in 1.486607°; the closed form for independent bits, by hand. Largest −3.3°, all negative bits on.
    #[test]
    fn phase_errors_of_six_bits_that_are_off() {
        let bit_error = [0.2, -0.3, 0.5, -1.0, 1.5, -2.0];
        let wanted: Vec<(f64, f64)> = (0..64).map(|code| (0.0, 5.625 * f64::from(code))).collect();
        let measured: Vec<(f64, f64)> = (0..64_usize)
            .map(|code| {
                let extra: f64 = (0..6).filter(|bit| code >> bit & 1 == 1).map(|bit| bit_error[bit]).sum();
                (0.0, 5.625 * code as f64 + extra)
            })
            .collect();
        let score = score(&targets(&wanted), &errors(&wanted, &measured), &HALF_STEP);
        close(spread_of(&errors(&wanted, &measured)).phase_error_deg, 1.381_123, 1e-6);
        close(score.rms_phase_error_deg, 1.486_607, 1e-6);
        let largest = score.largest_phase_error_deg.expect("an error");
        assert_eq!(largest.target, 0b10_1010);
        close(largest.error, -3.3, 1e-9);
    }

    /// Gains of −10, −10.4, −9.7 and −10.3 dB that should be equal: 0.273861 dB about their mean, 0.291548 dB
    /// against the first. Follows from the definition by hand.
    #[test]
    fn gain_errors_against_the_first_state_and_about_the_mean() {
        let wanted = [(0.0, 0.0); 4];
        let measured = [(0.0, 0.0), (-0.4, 0.0), (0.3, 0.0), (-0.3, 0.0)];
        let score = score(&targets(&wanted), &errors(&wanted, &measured), &HALF_STEP);
        close(score.rms_gain_error_db, 0.291_548, 1e-6);
        close(spread_of(&errors(&wanted, &measured)).gain_error_db, 0.273_861, 1e-6);
        assert_eq!(score.within_gain_pct, 25.0);
        assert_eq!(score.largest_gain_error_db.map(|largest| largest.target), Some(1));
    }

    /// A six-bit 0.5 dB attenuator whose bits are off by 0.02, −0.03, 0.05, 0.1, −0.15 and −0.8 dB (as attenuation):
    /// RMS over all 64 states 0.577148 dB, from the closed form for independent bits √((Σδ/2)² + Σδ²/4); against
    /// ±(0.3 dB + 3 % of the setting) the codes 32 and 34 fail.
    #[test]
    fn attenuation_errors_against_a_limit_that_grows() {
        let bit_error = [0.02, -0.03, 0.05, 0.1, -0.15, -0.8];
        let wanted: Vec<(f64, f64)> = (0..64).map(|code| (-0.5 * f64::from(code), 0.0)).collect();
        let measured: Vec<(f64, f64)> = (0..64_usize)
            .map(|code| {
                let extra: f64 = (0..6).filter(|bit| code >> bit & 1 == 1).map(|bit| bit_error[bit]).sum();
                (-0.5 * code as f64 - extra, 0.0)
            })
            .collect();
        let tolerance = Tolerance { gain_db: 0.3, gain_pct_of_setting: 3.0, phase_deg: 1.0 };
        let all = score(&targets(&wanted), &errors(&wanted, &measured), &tolerance);
        close(all.rms_gain_error_db, 0.577_148, 1e-6);
        assert_eq!(all.within_gain_pct, 100.0 * 62.0 / 64.0);
        for code in [32, 34] {
            let one = score(
                &targets(&wanted[code..=code]),
                &errors(&wanted[code..=code], &measured[code..=code]),
                &tolerance,
            );
            assert_eq!(one.within_both_pct, 0.0);
        }
    }

    #[test]
    fn an_unserved_target_counts_outside_and_not_in_the_rms() {
        let wanted = [(0.0, 0.0), (-0.5, 0.0)];
        let mut some = errors(&wanted, &[(0.1, 3.0), (-0.5, 0.0)]);
        some[1] = None;
        let one = score(&targets(&wanted), &some, &HALF_STEP);
        close(one.rms_gain_error_db, 0.1, 1e-12);
        close(one.rms_phase_error_deg, 3.0, 1e-12);
        assert_eq!((one.within_both_pct, one.missing), (50.0, 1));
        let none = score(&targets(&wanted), &[None, None], &HALF_STEP);
        assert!(none.rms_vector_error.is_nan() && spread_of(&[None, None]).phase_error_deg.is_nan());
        assert_eq!((none.within_gain_pct, none.missing, none.largest_gain_error_db), (0.0, 2, None));
    }

    /// Errors of +179 and −179 lie 2° apart across the wrap: their spread about the circular mean is 1°.
    #[test]
    fn the_phase_spread_is_circular() {
        let wanted = [(0.0, 0.0), (0.0, 0.0)];
        let errors = errors(&wanted, &[(0.0, 179.0), (0.0, -179.0)]);
        close(score(&targets(&wanted), &errors, &HALF_STEP).rms_phase_error_deg, 179.0, 1e-9);
        close(spread_of(&errors).phase_error_deg, 1.0, 1e-9);
    }
}
