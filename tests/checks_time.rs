//! What changes while a run goes on, and what goes around the part.

mod planted;

use num_complex::Complex64;
use planted::{Bench, Dice, Run, Tally, accusations, evidence, facts, found, found_with};
use sweepfold::checks::{Evidence, Facts, Fault, Finding, WhyUntold};
use sweepfold::control::Word;
use sweepfold::run::bit_weights;

fn benches() -> [Bench; 4] {
    [Bench::attenuator(41), Bench::phase_shifter(6, 41), Bench::gain_phase(3, 41), Bench::gain_phase(4, 41)]
}

/// A gain and a length of line, the phase given at 10 GHz.
fn factor(gain_db: f64, phase_deg: f64) -> impl Fn(f64) -> Complex64 {
    move |hz| Complex64::from_polar(10_f64.powf(gain_db / 20.0), phase_deg.to_radians() * hz / 1e10)
}

/// A connector that gave way: from the capture at `place` on, all is changed by a gain and some delay.
fn stepping(bench: &Bench, order: Vec<usize>, place: usize, gain_db: f64, phase_deg: f64) -> Run {
    let mut run = bench.run();
    run.capture_order = order;
    for later in place..run.capture_order.len() {
        run.multiply(run.capture_order[later], factor(gain_db, phase_deg));
    }
    run
}

/// Captures in a random order, and a step of 0.2 to 0.6 dB with noise of −60 dB or of 0.5 to 1 dB with noise of −40 dB, at
/// least four captures from either end. The first word after it is named, and its size is told.
#[test]
fn a_step_between_captures() {
    let mut tally = Tally::default();
    for bench in &benches() {
        for seed in 0..32 {
            let mut dice = Dice::new(seed);
            let (noise_db, gain_db) = if seed % 2 == 0 {
                (-60.0, dice.between(0.2, 0.6))
            } else {
                (-40.0, dice.between(-1.0, -0.5))
            };
            let phase_deg = dice.between(-4.0, 4.0);
            let count = bench.clean.len();
            let place = 4 + dice.below(count - 8);
            let run = stepping(bench, dice.shuffled(count), place, gain_db, phase_deg);
            let after = run.words[run.capture_order[place]];
            let findings = accusations(found(&run.with_noise(bench, noise_db, seed)));
            if let [
                Finding { fault: Fault::StepInTime { gain_db: found_db, phase_deg: found_deg, .. }, .. },
            ] = findings.as_slice()
            {
                assert!((found_db - gain_db).abs() < 0.1, "{found_db} dB for {gain_db}");
                assert!((found_deg - phase_deg).abs() < 1.0, "{found_deg} deg for {phase_deg}");
            }
            tally.count(&[after], &[], &findings, |fault| matches!(fault, Fault::StepInTime { .. }));
        }
    }
    tally.check("step in time");
}

/// Two or three steps of 0.3 to 0.8 dB, up and down, in a random order with noise of −60 dB, an eighth of the run at least
/// from each other and from the ends: each is named, with its size.
#[test]
fn several_steps_between_captures() {
    let mut tally = Tally::default();
    for bench in &benches() {
        for seed in 0..20 {
            let mut dice = Dice::new(500 + seed);
            let count = bench.clean.len();
            let (places, sizes) = several(&mut dice, 2 + usize::from(seed % 2 == 1), count);
            let mut run = bench.run();
            run.capture_order = dice.shuffled(count);
            for (&place, &gain_db) in places.iter().zip(&sizes) {
                for later in place..count {
                    run.multiply(run.capture_order[later], factor(gain_db, 3.0 * gain_db));
                }
            }
            let after: Vec<Word> = places.iter().map(|&place| run.words[run.capture_order[place]]).collect();
            let findings = accusations(found(&run.with_noise(bench, -60.0, seed)));
            for finding in &findings {
                let Fault::StepInTime { after: word, gain_db, .. } = &finding.fault else { continue };
                if let Some(planted) = after.iter().position(|after| after == word) {
                    assert!((gain_db - sizes[planted]).abs() < 0.1, "{gain_db} dB for {}", sizes[planted]);
                }
            }
            tally.count(&after, &[], &findings, |fault| matches!(fault, Fault::StepInTime { .. }));
        }
    }
    tally.check("several steps in time");
}

/// Places an eighth of the run apart, and sizes in dB.
fn several(dice: &mut Dice, steps: usize, count: usize) -> (Vec<usize>, Vec<f64>) {
    let apart = count / 8;
    let mut places: Vec<usize> = Vec::new();
    while places.len() < steps {
        let place = apart + dice.below(count - 2 * apart);
        if places.iter().all(|other| other.abs_diff(place) >= apart) {
            places.push(place);
        }
    }
    places.sort_unstable();
    let mut size = || dice.between(0.3, 0.8) * if dice.below(2) == 0 { 1.0 } else { -1.0 };
    let sizes = places.iter().map(|_| size()).collect();
    (places, sizes)
}

/// What is said of a step in counting order.
#[derive(Debug, Default)]
struct Said {
    runs: usize,
    named: usize,
    /// Among places that cannot be told apart.
    among: usize,
    /// Nothing is seen, and the place is among those where nothing would be.
    untold: usize,
    /// Another place is named, or another fault.
    wrong: usize,
    /// Nothing is said of the place.
    unseen: usize,
}

/// Steps of 0.2 to 0.6 dB and 2° in counting order with noise of −60 dB, at places that `place` chooses.
fn steps_in_counting_order(place: impl Fn(&mut Dice, usize) -> usize) -> Said {
    let mut said = Said::default();
    for bench in &benches() {
        for seed in 0..32 {
            let mut dice = Dice::new(seed);
            let count = bench.clean.len();
            let place = place(&mut dice, count);
            let run = stepping(bench, (0..count).collect(), place, dice.between(0.2, 0.6), 2.0);
            let after = run.words[place];
            let all = found(&run.with_noise(bench, -60.0, seed));
            let is_named = |finding: &Finding| {
                matches!(finding.fault, Fault::StepInTime { .. }) && finding.words == [after]
            };
            let is_among = |finding: &Finding| matches!(&finding.fault, Fault::StepSomewhere { after: words } if words.contains(&after));
            let is_untold = |finding: &Finding| matches!(&finding.fault, Fault::StepUntold { after: words } if words.contains(&after));
            let untold = all.iter().any(is_untold);
            let accused = accusations(all);
            said.runs += 1;
            match accused.as_slice() {
                [one] if is_named(one) => said.named += 1,
                [one] if is_among(one) => said.among += 1,
                [] if untold => said.untold += 1,
                [] => said.unseen += 1,
                others => {
                    said.wrong += 1;
                    println!("{count} words, step before {after:?}, untold {untold}: {others:?}");
                }
            }
        }
    }
    println!("{said:?}");
    said
}

/// In counting order bits explain most of a step. Away from the quarters of the run it is named in nine of ten, and what
/// is not named is told to be one of a few.
#[test]
fn a_step_in_counting_order() {
    let said = steps_in_counting_order(|dice, count| {
        let (quarter, away) = (count / 4, count / 16);
        quarter * dice.below(4) + away + dice.below(quarter - 2 * away + 1)
    });
    assert!(said.runs >= 100 && 10 * said.named > 9 * said.runs, "{said:?}");
    assert!(said.wrong + said.unseen == 0, "{said:?}");
}

/// Anywhere in the run the same, but that at some places nothing can be seen, and that is said of them.
#[test]
fn a_step_anywhere_in_counting_order() {
    let said = steps_in_counting_order(|dice, count| 4 + dice.below(count - 8));
    assert!(10 * said.named > 8 * said.runs, "{said:?}");
    assert!(20 * (said.wrong + said.unseen) < said.runs, "{said:?}");
}

/// Of 1,024 states a step leaves little power beside what sections reflect, and its place is told all the same: 0.25 to
/// 0.6 dB, noise of −60 dB, in counting order away from its eighths and in a random order. Nothing is said where nothing is.
#[test]
fn a_step_in_a_long_run() {
    let bench = Bench::gain_phase(5, 41);
    let count = bench.clean.len();
    let (mut named, mut wrong) = (0, 0);
    for seed in 0..24 {
        let mut dice = Dice::new(900 + seed);
        let is_random = seed % 2 == 0;
        let order = if is_random { dice.shuffled(count) } else { (0..count).collect() };
        let place = count / 8 * dice.below(8) + 8 + dice.below(count / 8 - 16);
        let run = stepping(&bench, order, place, dice.between(0.25, 0.6), 2.0);
        let after = run.words[run.capture_order[place]];
        let findings = accusations(found(&run.with_noise(&bench, -60.0, seed)));
        if matches!(findings.as_slice(), [Finding { fault: Fault::StepInTime { after: word, .. }, .. }] if *word == after)
        {
            named += 1;
        } else {
            wrong += 1;
            println!("step before {after:?}, random {is_random}: {findings:?}");
        }
    }
    println!("of {} steps in a long run {named} named", named + wrong);
    assert!(10 * named >= 9 * (named + wrong), "{named} named, {wrong} not");
    for seed in 0..8 {
        let mut run = bench.run().with_noise(&bench, if seed < 4 { -60.0 } else { -40.0 }, seed);
        if seed % 2 == 1 {
            run.capture_order = Dice::new(seed).shuffled(count);
        }
        assert_eq!(accusations(found(&run)), []);
    }
}

/// In counting order a step before word 32 of 64 looks wholly like bit 5, and those before 16 and 48 like bits 4 and 5 on
/// each other (an indicator of a quarter is a product of two bits). One capture beside them a step looks like one
/// capture at fault. In a random order no place is like that.
#[test]
fn places_where_no_step_can_be_seen() {
    let bench = Bench::phase_shifter(6, 41);
    let untold = |run: &Run| {
        let findings = found(&run.clone().with_noise(&bench, -60.0, 2));
        findings.into_iter().find_map(|finding| match finding.fault {
            Fault::StepUntold { after } => Some(after),
            _ => None,
        })
    };
    let hidden = untold(&bench.run()).unwrap();
    assert_eq!(hidden, [15, 16, 17, 31, 32, 33, 47, 48, 49].map(Word));
    let mut run = bench.run();
    run.capture_order = Dice::new(4).shuffled(64);
    assert_eq!(untold(&run), None);
}

fn drifting(bench: &Bench, order: Vec<usize>, gain_db: f64, phase_deg: f64) -> Run {
    let mut run = bench.run();
    run.capture_order = order;
    let last = run.words.len() - 1;
    for (place, state) in run.capture_order.clone().into_iter().enumerate() {
        let share = place as f64 / last as f64;
        run.multiply(state, factor(share * gain_db, share * phase_deg));
    }
    run
}

/// A steady drift over a run captured in a random order, of 0.1 to 0.5 dB with noise of −60 dB and of 0.4 to 1 dB with
/// noise of −40 dB: found as drift, with its size.
#[test]
fn a_drift_in_a_random_order() {
    let mut planted = 0;
    for bench in &benches() {
        for seed in 0..14 {
            let mut dice = Dice::new(seed);
            let (noise_db, gain_db) =
                if seed % 2 == 0 { (-60.0, dice.between(0.1, 0.5)) } else { (-40.0, dice.between(0.4, 1.0)) };
            let phase_deg = dice.between(-5.0, 5.0);
            let order = dice.shuffled(bench.clean.len());
            let run = drifting(bench, order, -gain_db, phase_deg).with_noise(bench, noise_db, seed);
            let findings = accusations(found(&run));
            let [Finding { fault: Fault::Drift { gain_db: found_db, phase_deg: found_deg }, .. }] =
                findings.as_slice()
            else {
                panic!("{noise_db} dB, seed {seed}, {gain_db} dB: {findings:?}");
            };
            assert!((found_db + gain_db).abs() < 0.15, "{found_db} dB for {gain_db}");
            assert!((found_deg - phase_deg).abs() < 1.0, "{found_deg} deg for {phase_deg}");
            planted += 1;
        }
    }
    assert!(planted >= 50);
}

/// In counting order the same drift is wholly inside the bit weights: bit k takes the drift times 2^k/63 (worked by hand:
/// words that differ in bit k alone lie 2^k captures apart), and the run is said to hide it.
#[test]
fn counting_order_hides_a_drift() {
    let bench = Bench::attenuator(41);
    let clean = evidence(&bench.run(), &[]);
    let drifted_run = drifting(&bench, (0..64).collect(), 0.2, 0.0);
    let drifted = evidence(&drifted_run, &[]);
    let (plain, plain_drifted) = (bench.run(), &drifted_run);
    for (clean, drifted) in plain.by_frequency().chunks(64).zip(plain_drifted.by_frequency().chunks(64)) {
        let expected = [0.003_174_6, 0.006_349_2, 0.012_698_4, 0.025_396_8, 0.050_793_7, 0.101_587_3];
        let of = |states: &[Complex64]| bit_weights(&plain.words, states, 6);
        for ((clean, drifted), expected) in of(clean).iter().zip(&of(drifted)).zip(expected) {
            assert!((drifted.gain_db - clean.gain_db - expected).abs() < 1e-7);
        }
    }
    let left =
        |evidence: &Evidence| evidence.windows.iter().flatten().map(|sums| sums.residual_square).sum::<f64>();
    assert!((left(&drifted) / left(&clean) - 1.0).abs() < 0.05);
    let findings = found(&drifted_run.with_noise(&bench, -60.0, 1));
    let untold = Fault::DriftUntold(WhyUntold::LooksLikeBitWeights);
    assert!(findings.iter().any(|finding| finding.fault == untold), "{findings:?}");
    assert_eq!(accusations(findings), []);
}

#[test]
fn an_order_that_is_not_on_record_tells_no_drift() {
    let bench = Bench::attenuator(41);
    let run = drifting(&bench, Dice::new(1).shuffled(64), 0.3, 0.0).with_noise(&bench, -60.0, 1);
    let mut counted = run.clone();
    counted.capture_order = (0..64).collect();
    let findings = found_with(&counted, &Facts { order_on_record: false, ..facts(&counted) });
    assert!(findings.iter().any(|finding| finding.fault == Fault::DriftUntold(WhyUntold::OrderNotRecorded)));
}

/// Captures every 4.4 s but for one pause of a minute before word 40: the pace, and where it paused.
#[test]
fn the_pace_of_a_run() {
    let bench = Bench::attenuator(41);
    let run = bench.run().with_noise(&bench, -60.0, 1);
    let times: Vec<f64> =
        (0..64).map(|place| 4.4 * f64::from(place) + if place < 40 { 0.0 } else { 60.0 }).collect();
    let findings = found_with(&run, &Facts { capture_times_s: Some(&times), ..facts(&run) });
    let pace = findings.iter().find_map(|finding| match finding.fault {
        Fault::Pace { median_s, longest_s, after } => Some((median_s, longest_s, after.0)),
        _ => None,
    });
    let (median_s, longest_s, after) = pace.unwrap();
    assert!((median_s - 4.4).abs() < 1e-9 && (longest_s - 64.4).abs() < 1e-9 && after == 40);
}

/// Something 48 to 35 dB below the zero word, of any phase, around an attenuator of 31.5 dB, with noise of −60 dB.
/// Detectable is what bends the deepest state by more than a decibel: at −50 dB it is 18.5 dB below that state, which is
/// 0.97 dB (20·log10(1 + 10^(−18.5/20))); noise of −40 dB hides it.
#[test]
fn something_around_the_part() {
    let mut planted = 0;
    for bench in [Bench::attenuator(41), Bench::attenuator(101)] {
        for seed in 0..25 {
            let mut dice = Dice::new(seed);
            let level_db = dice.between(-48.0, -35.0);
            let (phase, turn) = (dice.between(-3.0, 3.0), dice.between(-0.5, 0.5));
            let mut run = bench.run();
            for trace in &mut run.traces {
                for (index, (value, zero)) in trace.iter_mut().zip(&bench.clean[0]).enumerate() {
                    let size = 10_f64.powf(level_db / 20.0) * zero.norm();
                    *value += Complex64::from_polar(size, phase + turn * index as f64);
                }
            }
            let findings = accusations(found(&run.with_noise(&bench, -60.0, seed)));
            let [Finding { fault: Fault::Leakage { relative_db }, .. }] = findings.as_slice() else {
                panic!("{level_db} dB: {findings:?}");
            };
            assert!((relative_db - level_db).abs() < 2.0, "{relative_db} dB for {level_db} dB");
            planted += 1;
        }
    }
    assert!(planted >= 50);
}
