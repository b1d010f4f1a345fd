//! Captures that hold something else than their word.

mod planted;

use planted::{Bench, Planted, accusations, count_over, found};
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

/// Two to four captures that are the capture before, byte for byte.
#[test]
fn a_buffer_read_twice() {
    count_over(
        "repeated buffer",
        &benches(),
        14,
        |fault| *fault == Fault::RepeatedBuffer,
        |case| {
            let mut run = case.noisy(case.bench.run());
            let count = 2 + case.dice.below(3);
            let must = case.dice.apart(count, 1, run.words.len());
            for &state in &must {
                run.missed(state);
            }
            Planted { run, must, may: Vec::new() }
        },
    );
}

/// Equal bytes leave no doubt.
#[test]
fn a_buffer_read_twice_is_certain() {
    let bench = Bench::attenuator(41);
    let mut run = bench.run().with_noise(&bench, -40.0, 3);
    run.missed(17);
    let findings = accusations(found(&run));
    let [Finding { fault: Fault::RepeatedBuffer, certainty, .. }] = findings.as_slice() else {
        panic!("{findings:?}");
    };
    assert_eq!(*certainty, Certainty::Certain);
}

/// One to three words that the part did not take. Detectable: the change that did not come is more than six times the
/// noise, both root mean square over the sweep.
#[test]
fn a_word_not_taken() {
    count_over(
        "missed word",
        &benches(),
        60,
        |fault| *fault == Fault::MissedWord,
        |case| {
            let mut run = case.bench.run();
            let count = 1 + case.dice.below(3);
            let states = case.dice.apart(count, 1, run.words.len());
            let (must, may) =
                states.iter().partition(|&&state| run.jump(case.bench, state) > 6.0 * case.noise);
            for &state in &states {
                run.missed(state);
            }
            Planted { run: case.noisy(run), must, may }
        },
    );
}

/// One to four sweeps that began early, 5 to 30 % of the capture before at the first point, gone with a time constant of 8
/// points to half the sweep. Detectable: the share of the change that did not come is, over the first eight points,
/// more than six times the noise and more than 3 % of the state itself.
#[test]
fn a_sweep_that_began_early() {
    let is_it = |fault: &Fault| matches!(fault, Fault::Unsettled { .. });
    count_over("unsettled", &benches(), 60, is_it, |case| {
        let clean = case.bench.run();
        let mut run = clean.clone();
        let count = 1 + case.dice.below(4);
        let states = case.dice.apart(count, 1, run.words.len());
        let (mut must, mut may) = (Vec::new(), Vec::new());
        for &state in &states {
            let share = case.dice.between(0.05, 0.3);
            let time_constant = case.dice.between(8.0, 0.5 * case.bench.frequency_hz.len() as f64);
            run.unsettled(state, share, time_constant);
            let zero = &case.bench.clean[0];
            let rms = |relative_to: &[num_complex::Complex64]| {
                let moved = run.traces[state].iter().zip(&clean.traces[state]).zip(relative_to).take(8);
                (moved.map(|((a, b), to)| ((a - b) / to).norm_sqr()).sum::<f64>() / 8.0).sqrt()
            };
            let detectable = rms(zero) > 6.0 * case.noise && rms(&clean.traces[state]) > 0.03;
            if detectable { must.push(state) } else { may.push(state) }
        }
        Planted { run: case.noisy(run), must, may }
    });
}

/// One capture that stands out by 5 to 30 % in some direction. Detectable: by more than four times the noise, root mean
/// square over the sweep.
#[test]
fn a_capture_that_stands_out() {
    let is_it = |fault: &Fault| matches!(fault, Fault::Outlier { .. });
    count_over("outlier", &benches(), 60, is_it, |case| {
        let mut run = case.bench.run();
        let state = case.dice.below(run.words.len());
        let size = case.dice.between(0.05, 0.3);
        let factor = 1.0 + num_complex::Complex64::from_polar(size, case.dice.between(-3.0, 3.0));
        run.multiply(state, |_| factor);
        let zero = &case.bench.clean[0];
        let squares = run.traces[state].iter().zip(zero).map(|(a, zero)| (a / zero).norm_sqr());
        let depth = (squares.sum::<f64>() / zero.len() as f64).sqrt();
        let (must, may) =
            if size * depth > 4.0 * case.noise { (vec![state], vec![]) } else { (vec![], vec![state]) };
        Planted { run: case.noisy(run), must, may }
    });
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
