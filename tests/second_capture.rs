//! A table chosen from noisy data flatters itself, by how much follows from the noise.

mod reach_and_signal;

use num_complex::Complex64;
use reach_and_signal::{Sequence, two_fields};
use sweepfold::control::{Setting, Target, Word};
use sweepfold::plane::{PreparedTargets, StateIndex, Tolerance, target_gain};
use sweepfold::table::on_second_capture;

const TOLERANCE: Tolerance = Tolerance { gain_db: 0.02, gain_pct_of_setting: 0.0, phase_deg: 0.15 };

fn prepared(settings: impl IntoIterator<Item = Setting>) -> PreparedTargets {
    let target = |setting| Target { setting, nominal_word: None };
    PreparedTargets::new(settings.into_iter().map(target).collect(), &StateIndex::new(&[]))
}

fn words(count: usize) -> Vec<Word> {
    (0..).take(count).map(Word).collect()
}

fn near(found: f64, expected: f64, part: f64) {
    assert!((found / expected - 1.0).abs() < part, "{found} is not {expected}");
}

/// Sixteen words for every setting, all exactly right but for noise of σ in each part. Squared errors of one state are
/// exponential with mean 2σ²; the least of sixteen is exponential with a sixteenth of that. On another capture the
/// chosen word is like any other: 2σ². So the table promises a quarter of the error that it has.
#[test]
fn of_sixteen_equal_states_the_luckiest_is_chosen() {
    let sigma = 1e-3;
    let settings: Vec<Setting> =
        two_fields((4, 22.5), (4, 1.0)).targets().into_iter().map(|target| target.setting).collect();
    let true_states: Vec<Complex64> =
        settings.iter().flat_map(|&setting| [target_gain(setting); 16]).collect();
    let (targets, words) = (prepared(settings), words(true_states.len()));
    let mut sequence = Sequence(31);
    let mut capture = || -> Vec<Complex64> {
        true_states.iter().map(|state| state * (1.0 + sequence.normal() * sigma)).collect()
    };
    let captures = 20;
    let (mut own, mut other) = (0.0, 0.0);
    for _ in 0..captures {
        let found =
            on_second_capture(&targets, &words, &capture(), &capture(), &TOLERANCE).expect("two captures");
        own += found.own.rms_vector_error.powi(2) / f64::from(captures);
        other += found.other.rms_vector_error.powi(2) / f64::from(captures);
        assert!(found.rms_vector_error_gained > 0.5 * sigma && found.within_both_lost_pct > 0.0, "{found:?}");
    }
    // 5,120 exponentials: their mean is known to 1.4 %.
    near(own, 2.0 * sigma * sigma / 16.0, 0.05);
    near(other, 2.0 * sigma * sigma, 0.05);
}

/// States strewn evenly, λ to the unit square: the nearest one's squared distance is exponential with mean 1/(πλ), with
/// noise or without. Where a state was seen says nothing of its noise, so on another capture it lies off by both
/// captures' noise, 4σ² more in the mean square, and in truth by one's, 2σ².
#[test]
fn among_dense_states_the_error_grows_by_the_noise_of_both_captures() {
    let (count, sigma) = (4096, 0.004);
    let mut sequence = Sequence(32);
    let (mut own, mut other, mut in_truth, mut weight) = (0.0, 0.0, 0.0, 0.0);
    for _ in 0..10 {
        let middle = Complex64::new(0.8, 0.8);
        let true_states: Vec<Complex64> = (0..count).map(|_| middle + sequence.point(0.5)).collect();
        // Far enough from the edge for states beyond it not to be missed.
        let places: Vec<Complex64> = (0..1000).map(|_| middle + sequence.point(0.4)).collect();
        let setting = |place: &Complex64| Setting {
            gain_db: 20.0 * place.norm().log10(),
            phase_deg: place.arg().to_degrees(),
        };
        let targets = prepared(places.iter().map(setting));
        let mut capture = || -> Vec<Complex64> {
            true_states.iter().map(|state| state + sequence.normal() * sigma).collect()
        };
        let (first, second) = (capture(), capture());
        let words = words(count);
        let look = |on: &[Complex64]| {
            on_second_capture(&targets, &words, &first, on, &TOLERANCE).expect("two captures")
        };
        own += look(&second).own.rms_vector_error.powi(2);
        other += look(&second).other.rms_vector_error.powi(2);
        in_truth += look(&true_states).other.rms_vector_error.powi(2);
        // Errors are relative to each target's own magnitude.
        weight += places.iter().map(|place| 1.0 / place.norm_sqr()).sum::<f64>() / places.len() as f64;
    }
    let nearest = 1.0 / (std::f64::consts::PI * f64::from(u32::try_from(count).expect("small")));
    near(own, weight * nearest, 0.05);
    near(other, weight * (nearest + 4.0 * sigma * sigma), 0.05);
    near(in_truth, weight * (nearest + 2.0 * sigma * sigma), 0.05);
    near(other - own, weight * 4.0 * sigma * sigma, 0.08);
}

#[test]
fn the_same_capture_again_shows_no_flattery() {
    let layout = two_fields((4, 22.5), (3, 1.0));
    let states = reach_and_signal::measured_part(&layout, 0.03, &mut Sequence(33));
    let targets = PreparedTargets::new(layout.targets(), &StateIndex::new(&words(states.len())));
    let found = on_second_capture(&targets, &words(states.len()), &states, &states, &TOLERANCE);
    let found = found.expect("two captures");
    assert_eq!(found.own, found.other);
    assert_eq!((found.rms_vector_error_gained, found.within_both_lost_pct), (0.0, 0.0));
}

#[test]
fn captures_of_other_words_are_not_compared() {
    let targets = prepared([Setting { gain_db: 0.0, phase_deg: 0.0 }]);
    let two = [Complex64::ONE, Complex64::I];
    assert!(on_second_capture(&targets, &words(2), &two, &two[..1], &TOLERANCE).is_none());
    assert!(on_second_capture(&targets, &words(1), &two, &two, &TOLERANCE).is_none());
    assert!(on_second_capture(&targets, &[], &[], &[], &TOLERANCE).is_none());
    let nowhere = [Complex64::new(f64::NAN, 0.0); 2];
    assert!(on_second_capture(&targets, &words(2), &nowhere, &two, &TOLERANCE).is_none());
}
