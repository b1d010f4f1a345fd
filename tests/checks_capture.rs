//! Captures that hold something else than their word.

mod planted;

use planted::{Bench, Dice, Tally, accusations, found};
use sweepfold::checks::{Certainty, Fault, Finding};
use sweepfold::control::Word;

fn benches() -> [Bench; 4] {
    [
        Bench::attenuator(101),
        Bench::phase_shifter(6, 101),
        Bench::gain_phase(3, 101),
        Bench::gain_phase(4, 61),
    ]
}

fn words(states: &[usize]) -> Vec<Word> {
    states.iter().map(|&state| Word(u32::try_from(state).unwrap())).collect()
}

/// Two to four captures that are the capture before, byte for byte.
#[test]
fn a_buffer_read_twice() {
    let mut tally = Tally::default();
    for bench in &benches() {
        for seed in 0..14 {
            let noise_db = if seed % 2 == 0 { -60.0 } else { -40.0 };
            let mut run = bench.run().with_noise(bench, noise_db, seed);
            let mut dice = Dice::new(seed);
            let count = 2 + dice.below(3);
            let states = dice.apart(count, 1, run.words.len());
            for &state in &states {
                run.missed(state);
            }
            let findings = accusations(found(&run));
            assert!(
                findings
                    .iter()
                    .all(|f| f.fault != Fault::RepeatedBuffer || f.certainty == Certainty::Certain)
            );
            tally.count(&words(&states), &[], &findings, |fault| *fault == Fault::RepeatedBuffer);
        }
    }
    tally.check("repeated buffer");
}

/// One to three words that the part did not take. Detectable: the change that did not come is more than six times the
/// noise, both root mean square over the sweep.
#[test]
fn a_word_not_taken() {
    let mut tally = Tally::default();
    for bench in &benches() {
        for seed in 0..60 {
            let noise_db = if seed % 2 == 0 { -60.0 } else { -40.0 };
            let noise = 10_f64.powf(noise_db / 20.0);
            let mut run = bench.run();
            let mut dice = Dice::new(seed);
            let count = 1 + dice.below(3);
            let states = dice.apart(count, 1, run.words.len());
            let (must, may): (Vec<usize>, Vec<usize>) =
                states.iter().partition(|&&state| run.jump(bench, state) > 6.0 * noise);
            for &state in &states {
                run.missed(state);
            }
            let findings = accusations(found(&run.with_noise(bench, noise_db, seed)));
            tally.count(&words(&must), &words(&may), &findings, |fault| *fault == Fault::MissedWord);
        }
    }
    tally.check("missed word");
}

/// One to four sweeps that began early, 5 to 30 % of the capture before at the first point, gone with a time constant of 8
/// points to half the sweep. Detectable: the share of the change that did not come is, over the first eight points,
/// more than six times the noise and more than 3 % of the state itself.
#[test]
fn a_sweep_that_began_early() {
    let mut tally = Tally::default();
    for bench in &benches() {
        for seed in 0..60 {
            let noise_db = if seed % 2 == 0 { -60.0 } else { -40.0 };
            let noise = 10_f64.powf(noise_db / 20.0);
            let clean = bench.run();
            let mut run = clean.clone();
            let mut dice = Dice::new(seed);
            let count = 1 + dice.below(4);
            let states = dice.apart(count, 1, run.words.len());
            let (mut must, mut may) = (Vec::new(), Vec::new());
            for &state in &states {
                let share = dice.between(0.05, 0.3);
                let time_constant = dice.between(8.0, 0.5 * bench.frequency_hz.len() as f64);
                run.unsettled(state, share, time_constant);
                let zero = &bench.clean[0];
                let rms = |relative_to: &[num_complex::Complex64]| {
                    let squares = (0..8).map(|point| {
                        ((run.traces[state][point] - clean.traces[state][point]) / relative_to[point])
                            .norm_sqr()
                    });
                    (squares.sum::<f64>() / 8.0).sqrt()
                };
                let detectable = rms(zero) > 6.0 * noise && rms(&clean.traces[state]) > 0.03;
                if detectable { must.push(state) } else { may.push(state) }
            }
            let findings = accusations(found(&run.with_noise(bench, noise_db, seed)));
            tally.count(&words(&must), &words(&may), &findings, |fault| {
                matches!(fault, Fault::Unsettled { .. })
            });
        }
    }
    tally.check("unsettled");
}

/// One capture that stands out by 5 to 30 % in some direction. Detectable: by more than four times the noise, root mean
/// square over the sweep.
#[test]
fn a_capture_that_stands_out() {
    let mut tally = Tally::default();
    for bench in &benches() {
        for seed in 0..60 {
            let noise_db = if seed % 2 == 0 { -60.0 } else { -40.0 };
            let noise = 10_f64.powf(noise_db / 20.0);
            let mut run = bench.run();
            let mut dice = Dice::new(seed);
            let state = dice.below(run.words.len());
            let size = dice.between(0.05, 0.3);
            let factor = 1.0 + num_complex::Complex64::from_polar(size, dice.between(-3.0, 3.0));
            for value in &mut run.traces[state] {
                *value *= factor;
            }
            let zero = &bench.clean[0];
            let squares = run.traces[state].iter().zip(zero).map(|(a, zero)| (a / zero).norm_sqr());
            let depth = (squares.sum::<f64>() / zero.len() as f64).sqrt();
            let (must, may) =
                if size * depth > 4.0 * noise { (vec![state], vec![]) } else { (vec![], vec![state]) };
            let findings = accusations(found(&run.with_noise(bench, noise_db, seed)));
            tally.count(&words(&must), &words(&may), &findings, |fault| {
                matches!(fault, Fault::Outlier { .. })
            });
        }
    }
    tally.check("outlier");
}

/// How fast a part settles is told: time constants of 10, 20 and 40 points, as e^(−i/τ) with a share of 25 % of the largest
/// jump in the run, to a quarter of themselves, and the share to three points.
#[test]
fn the_time_constant_of_settling() {
    let bench = Bench::phase_shifter(6, 101);
    for time_constant in [10.0, 20.0, 40.0] {
        let mut run = bench.run();
        run.unsettled(32, 0.25, time_constant);
        let findings = accusations(found(&run.with_noise(&bench, -60.0, 6)));
        let [Finding { fault: Fault::Unsettled { share, time_constant_points: Some(points) }, words, .. }] =
            findings.as_slice()
        else {
            panic!("{findings:?}");
        };
        assert_eq!(*words, [Word(32)]);
        assert!(
            (share - 0.25).abs() < 0.03 && (points / time_constant - 1.0).abs() < 0.25,
            "{share}, {points}"
        );
    }
}

/// A bit that does nothing makes captures equal; none is called missed.
#[test]
fn an_idle_bit_is_no_missed_word() {
    let bench = Bench::attenuator(41);
    let mut run = bench.run();
    for word in 0..64_usize {
        run.traces[word].clone_from(&bench.clean[word & !1]);
    }
    let findings = accusations(found(&run.with_noise(&bench, -60.0, 6)));
    assert!(
        matches!(findings.as_slice(), [Finding { fault: Fault::IdleBit { bit: 0, .. }, .. }]),
        "{findings:?}"
    );
}
