//! Worked values of noise, leakage, pace, drift, wiring, order and delay, each against what the checks make of a part
//! for which they were worked: an attenuator of 31.5 dB in steps of 0.5 dB whose bits are ideal.
//!
//! The values follow from the definitions in a line each, which stands beside them.

mod planted;

use num_complex::Complex64;
use planted::{Run, evidence, facts, found, found_with};
use sweepfold::checks::{Facts, Fault, Noise, OrderOfFiles, Windows};
use sweepfold::control::{Direction, Field, Layout, Quantity, Word};
use sweepfold::demo;

const POINTS: usize = 201;

/// The ideal attenuator behind a line of 0 dB, `seen(word)` in place of each word.
fn ideal(points: usize, seen: impl Fn(u32) -> u32) -> Run {
    let trace = |word: u32| vec![Complex64::from(10_f64.powf(-0.5 * f64::from(seen(word)) / 20.0)); points];
    Run {
        layout: Layout { fields: vec![Field::contiguous(Quantity::Gain, 0, 6, 0.5, Direction::Down)] },
        frequency_hz: (0..points).map(|point| 9.5e9 + 5e6 * point as f64).collect(),
        words: (0..64).map(Word).collect(),
        traces: (0..64).map(trace).collect(),
        capture_order: (0..64).collect(),
    }
}

/// Noise of this root mean square in dB relative to 1, both parts together.
fn noisy(mut run: Run, noise_db: f64, seed: u64) -> Run {
    let level = 10_f64.powf(noise_db / 20.0);
    for (word, trace) in run.words.iter().zip(&mut run.traces) {
        let mut noise = demo::Noise::new(seed, word.0);
        for value in trace {
            *value += noise.next_complex() * level;
        }
    }
    run
}

/// The ratio that the floor's check makes of one state, over the whole sweep.
fn snr_db(run: &Run, state: usize) -> f64 {
    let evidence = evidence(run, &[]);
    let noise = Noise::of(&evidence).unwrap();
    let windows = Windows::of(evidence.points);
    let of = |window: usize| {
        let points = windows.points(window).len();
        let ratio_db = noise.snr_db(window, points, &evidence.windows[window][state]);
        points as f64 * 10_f64.powf(ratio_db / 10.0)
    };
    10.0 * ((0..windows.count()).map(of).sum::<f64>() / evidence.points as f64).log10()
}

/// At a signal-to-noise ratio of 20, 30, 40 and 50 dB a trace scatters by 0.614, 0.194, 0.0614 and 0.0194 dB and by 4.05,
/// 1.281, 0.405 and 0.128°: 8.6859/√2 and 57.296/√2 times 10^(−SNR/20), to first order. The state 20 dB down is
/// measured with noise of −40 to −70 dB.
#[test]
fn trace_noise_of_a_ratio() {
    for (ratio_db, gain_db, phase_deg) in [
        (20.0, 0.614_185, 4.051_423),
        (30.0, 0.194_222, 1.281_173),
        (40.0, 0.061_419, 0.405_142),
        (50.0, 0.019_422, 0.128_117),
    ] {
        let (mut told_db, mut square_db, mut square_deg, mut count) = (0.0, 0.0, 0.0, 0.0);
        for seed in 0..5 {
            let run = noisy(ideal(POINTS, |word| word), -20.0 - ratio_db, seed);
            told_db += snr_db(&run, 40) / 5.0;
            for value in &run.traces[40] {
                square_db += (20.0 * value.norm().log10() + 20.0).powi(2);
                square_deg += value.arg().to_degrees().powi(2);
                count += 1.0;
            }
        }
        assert!((told_db - ratio_db).abs() < 0.3, "{told_db} dB for {ratio_db}");
        // A thousand values tell a deviation to 2 %.
        assert!(((square_db / count).sqrt() / gain_db - 1.0).abs() < 0.08);
        assert!(((square_deg / count).sqrt() / phase_deg - 1.0).abs() < 0.08);
    }
}

/// The noise in a state's own power makes it read 10·log10(1 + 1/SNR) too much: 0.0432 dB at 20 dB, and a state as
/// strong as the noise reads 3.01 dB too much (60 dB down, 56.99). The ratio that is told is free of that.
#[test]
fn power_of_the_noise_does_not_count_as_signal() {
    for (noise_db, state, ratio_db, bias_db) in
        [(-40.0, 40, 20.0, 0.043_214), (-31.5, 63, 0.0, 10.0 * 2_f64.log10())]
    {
        let (mut told, mut read) = (0.0, 0.0);
        for seed in 0..10 {
            let run = noisy(ideal(POINTS, |word| word), noise_db, seed);
            told += 10_f64.powf(snr_db(&run, state) / 10.0) / 10.0;
            let power: f64 = run.traces[state].iter().map(Complex64::norm_sqr).sum();
            read += power / POINTS as f64 / 10.0;
        }
        let read_db = 10.0 * read.log10() + 0.5 * state as f64;
        assert!((read_db - bias_db).abs() < 0.12, "{read_db} dB too much for {bias_db}");
        let told_db = 10.0 * told.log10();
        // 2,000 values tell the ratio at 0 dB to 0.2 dB, and the noise is known to as much again.
        assert!((told_db - ratio_db).abs() < 0.6, "{told_db} dB for {ratio_db}");
    }
}

/// Something 60 dB below the zero word adds 0.3205 dB to the state 31.5 dB down where it is in phase and takes 0.3327 dB
/// away where it is opposed, and turns it by up to 2.154° (20·log10(1 ± 10^(−28.5/20)), asin). The constant that
/// the check fits is that one.
#[test]
fn leakage_bends_the_deepest_state() {
    for (turn_deg, gain_db, phase_deg) in
        [(0.0, Some(0.3205), 0.0), (180.0, Some(-0.3327), 0.0), (92.1539, None, 2.1539)]
    {
        let mut run = ideal(41, |word| word);
        let constant = Complex64::from_polar(1e-3, f64::to_radians(turn_deg));
        run.traces.iter_mut().flatten().for_each(|value| *value += constant);
        let deepest = run.traces[63][0];
        if let Some(gain_db) = gain_db {
            assert!((20.0 * deepest.norm().log10() + 31.5 - gain_db).abs() < 5e-5);
        }
        assert!((deepest.arg().to_degrees() - phase_deg).abs() < 5e-4);
        let fitted = evidence(&run, &[]).frequencies.iter().find_map(|at| at.leakage).unwrap();
        // The fit is of first order: a bend of 4 % leaves some percent of itself.
        assert!((fitted.relative - constant).norm() < 0.1 * constant.norm(), "{fitted:?}");
        let relative_db = found(&run).into_iter().find_map(|finding| match finding.fault {
            Fault::Leakage { relative_db } => Some(relative_db),
            _ => None,
        });
        assert!((relative_db.unwrap() + 60.0).abs() < 1.0, "{relative_db:?}");
    }
}

/// 4,096 captures in five hours are 4.3945 s each.
#[test]
fn pace_of_a_long_run() {
    let run = noisy(ideal(41, |word| word), -60.0, 1);
    let times: Vec<f64> = (0..64).map(|place| f64::from(place) * 5.0 * 3600.0 / 4096.0).collect();
    let findings = found_with(&run, &Facts { capture_times_s: Some(&times), ..facts(&run) });
    let pace = findings.iter().find_map(|finding| match finding.fault {
        Fault::Pace { median_s, .. } => Some(median_s),
        _ => None,
    });
    assert!((pace.unwrap() - 4.3945).abs() < 5e-5);
}

fn gains_db(run: &Run) -> Vec<f64> {
    evidence(run, &[]).frequencies[0].weights.iter().map(|weight| -weight.gain_db).collect()
}

fn assert_close(found: &[f64], expected: &[f64]) {
    assert_eq!(found.len(), expected.len());
    assert!(found.iter().zip(expected).all(|(a, b)| (a - b).abs() < 1e-3), "{found:?}");
}

/// Bits 0 and 3 exchanged are fitted as 4, 1, 2, 0.5, 8 and 16 dB; bit 2 stuck as 0 with the zero word where it was or 2 dB
/// down; active low all are negative and the zero word has all 31.5 dB.
#[test]
fn bits_that_are_wired_wrongly() {
    let swapped = ideal(41, |word| word & !9 | (word & 1) << 3 | word >> 3 & 1);
    assert_close(&gains_db(&swapped), &[4.0, 1.0, 2.0, 0.5, 8.0, 16.0]);
    for (seen, zero_word_db) in [(0, 0.0), (4, 2.0)] {
        let stuck = ideal(41, |word| word & !4 | seen);
        assert_close(&gains_db(&stuck), &[0.5, 1.0, 0.0, 4.0, 8.0, 16.0]);
        let word_zero = evidence(&stuck, &[]).frequencies[0].word_zero;
        assert!((-20.0 * word_zero.log10() - zero_word_db).abs() < 1e-3);
    }
    let active_low = ideal(41, |word| !word & 63);
    assert_close(&gains_db(&active_low), &[-0.5, -1.0, -2.0, -4.0, -8.0, -16.0]);
    let word_zero = evidence(&active_low, &[]).frequencies[0].word_zero;
    assert!((-20.0 * word_zero.log10() - 31.5).abs() < 1e-3);
}

/// A drift of 0.2 dB over 64 captures in counting order is in the bits to the last digit, 0.2 dB·2^k/63 each, and leaves
/// nothing in the states.
#[test]
fn drift_is_wholly_in_the_bits() {
    let mut run = ideal(41, |word| word);
    for (state, trace) in run.traces.iter_mut().enumerate() {
        for value in trace {
            *value *= 10_f64.powf(-0.2 * state as f64 / 63.0 / 20.0);
        }
    }
    let added = [0.003_174_6, 0.006_349_2, 0.012_698_4, 0.025_396_8, 0.050_793_7, 0.101_587_3];
    let found: Vec<f64> =
        gains_db(&run).iter().zip(0..6).map(|(db, bit)| db - 0.5 * 2_f64.powi(bit)).collect();
    assert!(found.iter().zip(added).all(|(a, b)| (a - b).abs() < 1e-6), "{found:?}");
    let evidence = evidence(&run, &[]);
    assert!(evidence.windows.iter().flatten().all(|sums| sums.residual_square / sums.points < 1e-18));
}

/// 64 numbers sorted as text leave 0 and 1 in place, and an ideal part's states are then off by 46.6824° (wrapped) or by
/// 7.951 02 dB, root mean square.
#[test]
fn errors_of_numbers_sorted_as_text() {
    let words: Vec<Word> = (0..64).map(Word).collect();
    let made = OrderOfFiles::Lexicographic.words(&words, 6).unwrap();
    let in_place: Vec<Word> =
        words.iter().zip(&made).filter(|(a, b)| a == b).map(|(word, _)| *word).collect();
    assert_eq!(in_place, [Word(0), Word(1)]);
    let off = |step: f64, wrap: fn(f64) -> f64| {
        let squares =
            words.iter().zip(&made).map(|(a, b)| wrap(step * (f64::from(a.0) - f64::from(b.0))).powi(2));
        (squares.sum::<f64>() / 64.0).sqrt()
    };
    assert!((off(5.625, sweepfold::plane::wrap_deg) - 46.6824).abs() < 5e-5);
    assert!((off(0.5, |value| value) - 7.951_02).abs() < 5e-6);
}

/// A delay of 1 ns is 3.6° in 10 MHz, so 1 ps is 3.6° at 10 GHz: a step by so much line is told as that.
#[test]
fn a_step_of_a_picosecond() {
    let mut run = noisy(ideal(POINTS, |word| word), -70.0, 3);
    run.capture_order = planted::Dice::new(8).shuffled(64);
    for place in 23..64 {
        run.multiply(run.capture_order[place], |hz| Complex64::cis(-std::f64::consts::TAU * hz * 1e-12));
    }
    let phase_deg = found(&run).into_iter().find_map(|finding| match finding.fault {
        Fault::StepInTime { phase_deg, .. } => Some(phase_deg),
        _ => None,
    });
    assert!((phase_deg.unwrap() + 3.6).abs() < 0.05, "{phase_deg:?}");
}
