//! Passivity, reciprocity and the floor, against the noise of the run.

mod planted;

use num_complex::Complex64;
use planted::{Bench, Dice, accusations, facts, found};
use sweepfold::checks::{Fault, FilePhysics, Finding, file_physics, physics_findings};
use sweepfold::control::Word;
use sweepfold::demo::{self, Part, attenuator};
use sweepfold::network::TwoPort;

const POINTS: usize = 101;
const SIGMA: f64 = 0.001;

/// All files of an attenuator with noise on all four parameters, `change` made to each point before the noise.
fn files(seed: u64, change: impl Fn(u32, usize, TwoPort) -> TwoPort) -> Vec<(Word, FilePhysics)> {
    let mut plan = attenuator(6).unwrap();
    plan.sweep.points = POINTS;
    let part = Part::new(plan).unwrap();
    (0..64)
        .map(|word| {
            let mut noise = demo::Noise::new(seed, word);
            let mut noisy = |value: Complex64| value + noise.next_complex() * SIGMA * 2_f64.sqrt();
            let two_ports: Vec<TwoPort> = part
                .two_ports(Word(word))
                .enumerate()
                .map(|(point, two_port)| change(word, point, two_port))
                .map(|t| TwoPort {
                    s11: noisy(t.s11),
                    s12: noisy(t.s12),
                    s21: noisy(t.s21),
                    s22: noisy(t.s22),
                })
                .collect();
            (Word(word), file_physics(two_ports.into_iter(), &[SIGMA; POINTS]))
        })
        .collect()
}

fn findings_of(files: &[(Word, FilePhysics)]) -> Vec<Finding> {
    let bench = Bench::attenuator(POINTS);
    let run = bench.run();
    physics_findings(files, &facts(&run))
}

/// A passive, reciprocal part is neither accused of gain nor of a direction, however its deep states scatter.
#[test]
fn a_clean_run_is_passive_and_reciprocal() {
    for seed in 0..60 {
        assert_eq!(findings_of(&files(seed, |_, _, two_port| two_port)), []);
    }
}

/// A calibration that reads 6 dB too much over part of the band makes the part amplify there: its loss is 3 to 5 dB.
#[test]
fn a_part_that_amplifies() {
    for seed in 0..50 {
        let findings = findings_of(&files(seed, |_, point, t| {
            let gain = if (50..70).contains(&point) { 2.0 } else { 1.0 };
            TwoPort { s11: t.s11, s12: t.s12 * gain, s21: t.s21 * gain, s22: t.s22 }
        }));
        let [Finding { fault: Fault::NotPassive { largest_singular_value }, words, band_hz, .. }] =
            findings.as_slice()
        else {
            panic!("{findings:?}");
        };
        assert!(*largest_singular_value > 1.15 && words.contains(&Word(0)) && !words.contains(&Word(63)));
        // The 50th and the 69th of 100 steps from 6 to 14 GHz.
        assert_eq!(*band_hz, Some((10.0e9, 11.52e9)));
    }
}

/// Some files whose S12 is 5 % off, among those of less than 10 dB, in which that is more than seven deviations.
#[test]
fn directions_that_differ() {
    let mut planted = 0;
    for seed in 0..50 {
        let mut dice = Dice::new(seed);
        let off: Vec<u32> =
            dice.apart(3, 0, 20).into_iter().map(|word| u32::try_from(word).unwrap()).collect();
        let findings = findings_of(&files(seed, |word, _, t| {
            if off.contains(&word) { TwoPort { s12: t.s12 * 1.05, ..t } } else { t }
        }));
        let [Finding { fault: Fault::NotReciprocal { largest }, words, .. }] = findings.as_slice() else {
            panic!("{findings:?}");
        };
        assert_eq!(*words, off.iter().copied().map(Word).collect::<Vec<_>>());
        assert!((*largest - 0.05).abs() < 0.03, "{largest}");
        planted += words.len();
    }
    assert!(planted >= 50);
}

/// 31.5 dB below the zero word with noise of −40 dB, a state has 8.5 dB of signal-to-noise ratio, and those 20 dB below
/// have 20 dB; with noise of −60 dB none is near the floor. A ratio of 20 dB is 0.61 dB and 4.05° of trace noise.
#[test]
fn states_near_the_floor() {
    let bench = Bench::attenuator(201);
    let run = bench.run().with_noise(&bench, -40.0, 2);
    let floor = found(&run).into_iter().find(|finding| matches!(finding.fault, Fault::NearFloor { .. }));
    let Some(Finding { fault: Fault::NearFloor { smallest_snr_db }, words, .. }) = floor else { panic!() };
    // The true ratio of the deepest state in the middle of the band, where it is deepest.
    let truth = |word: usize| {
        let middle = 90..110;
        let ratio = |point: usize| (bench.clean[word][point] / bench.clean[0][point]).norm_sqr();
        40.0 + 10.0 * (middle.clone().map(ratio).sum::<f64>() / middle.len() as f64).log10()
    };
    assert!((smallest_snr_db - truth(63)).abs() < 2.0, "{smallest_snr_db} dB for {} dB", truth(63));
    for word in 0..64 {
        if truth(word) < 18.0 {
            assert!(words.contains(&Word(u32::try_from(word).unwrap())), "{word}");
        }
        let deepest =
            bench.clean[word].iter().zip(&bench.clean[0]).map(|(a, b)| (a / b).norm()).fold(1.0, f64::min);
        if 40.0 + 20.0 * deepest.log10() > 22.0 {
            assert!(!words.contains(&Word(u32::try_from(word).unwrap())), "{word}");
        }
    }
    let quiet = found(&bench.run().with_noise(&bench, -60.0, 2));
    assert!(!quiet.iter().any(|finding| matches!(finding.fault, Fault::NearFloor { .. })));
    assert_eq!(accusations(quiet), []);
}
