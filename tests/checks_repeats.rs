//! Words that were captured again while the run went on.

mod planted;

use num_complex::Complex64;
use planted::{Bench, accusations, evidence, facts};
use sweepfold::checks::{
    Capture, Certainty, Estimate, Facts, Fault, Finding, Noise, Repeats, Severity, WhyUntold, findings_with,
};
use sweepfold::control::Word;
use sweepfold::demo;

/// Seconds from one capture to the next: 4096 of them in five hours.
const PACE_S: f64 = 5.0 * 3600.0 / 4096.0;

/// A run in counting order in which the zero word is captured again after every few words, and at the end.
struct WithRepeats {
    run: planted::Run,
    captures: Vec<Capture>,
    run_captures: usize,
    /// Of the words' own captures.
    times_s: Vec<f64>,
}

/// Everything drifts by this much from the first capture to the last, evenly; `jitter_db` is by how much each capture's
/// gain is off by itself.
fn drifting(
    bench: &Bench,
    every: usize,
    (gain_db, phase_deg): (f64, f64),
    jitter_db: f64,
    noise_db: f64,
    seed: u64,
) -> WithRepeats {
    let mut run = bench.run();
    let count = run.words.len();
    let run_captures = count + count / every;
    let level = 10_f64.powf(noise_db / 20.0);
    let mut off = demo::Noise::new(seed, 77);
    let mut captured = |trace: &[Complex64], place: usize, noise: &mut demo::Noise| -> Vec<Complex64> {
        let share = place as f64 / (run_captures - 1) as f64;
        let gain_db = share * gain_db + jitter_db * 2_f64.sqrt() * off.next_complex().re;
        let points = trace.iter().zip(&bench.frequency_hz).zip(&bench.clean[0]);
        let value = |((value, hz), zero): ((&Complex64, &f64), &Complex64)| {
            let turn = (share * phase_deg).to_radians() * hz / 1e10;
            value * Complex64::from_polar(10_f64.powf(gain_db / 20.0), turn)
                + noise.next_complex() * level * zero.norm()
        };
        points.map(value).collect()
    };
    let (mut place, mut captures, mut times_s) = (0, Vec::new(), Vec::new());
    for state in 0..count {
        let mut noise = demo::Noise::new(seed, u32::try_from(state).unwrap());
        run.traces[state] = captured(&bench.clean[state], place, &mut noise);
        times_s.push(place as f64 * PACE_S);
        if state == 0 {
            captures.push(Capture {
                word: Word(0),
                place,
                time_s: Some(times_s[0]),
                transmission: run.traces[0].clone(),
            });
        }
        place += 1;
        if (state + 1) % every == 0 {
            let mut noise = demo::Noise::new(seed, u32::try_from(10_000 + place).unwrap());
            let transmission = captured(&bench.clean[0], place, &mut noise);
            let time_s = Some(place as f64 * PACE_S);
            captures.push(Capture { word: Word(0), place, time_s, transmission });
            place += 1;
        }
    }
    assert_eq!(place, run_captures);
    WithRepeats { run, captures, run_captures, times_s }
}

impl WithRepeats {
    fn repeats(&self) -> Repeats<'_> {
        Repeats { captures: &self.captures, run_captures: self.run_captures }
    }

    fn found(&self) -> Vec<Finding> {
        let facts = Facts { capture_times_s: Some(&self.times_s), ..facts(&self.run) };
        findings_with(&evidence(&self.run, &[]), &facts, &self.repeats())
    }

    /// Gain and phase over the run, and by the hour; whether drift is claimed.
    fn drift(&self) -> (bool, [Estimate; 2], Option<[Estimate; 2]>) {
        let all = self.found();
        let untold = |finding: &Finding| matches!(finding.fault, Fault::DriftUntold(_) | Fault::Drift { .. });
        assert!(!all.iter().any(untold), "{all:?}");
        let told = all.iter().find_map(|finding| match &finding.fault {
            Fault::DriftInRepeats {
                of, gain_db, phase_deg, gain_db_per_hour, phase_deg_per_hour, ..
            } => {
                assert_eq!(*of, [Word(0)]);
                let by_hour = gain_db_per_hour.zip(*phase_deg_per_hour).map(|(gain, phase)| [gain, phase]);
                Some((true, [*gain_db, *phase_deg], by_hour))
            }
            Fault::NoDriftInRepeats { gain_db, phase_deg, .. } => Some((false, [*gain_db, *phase_deg], None)),
            _ => None,
        });
        told.unwrap_or_else(|| panic!("{all:?}"))
    }
}

/// Counting order hides this drift from everything else. 0.1 to 0.3 dB and −3° over the run, the zero word captured again
/// after every eighth word: found within four of the deviations that are told, and two in three within one, as a
/// deviation means. The rate by the hour is the same over the run's length, 71 intervals of 4.39 s.
#[test]
fn a_drift_in_counting_order_is_told_by_repeated_captures() {
    let bench = Bench::attenuator(41);
    let hours = 71.0 * PACE_S / 3600.0;
    let (mut within_one, mut planted) = (0_usize, 0_u32);
    for seed in 0..60_u32 {
        let gain_db = 0.1 + 0.2 * f64::from(seed) / 60.0;
        let noise_db = if seed % 2 == 0 { -60.0 } else { -40.0 };
        let run = drifting(&bench, 8, (gain_db, -3.0), 0.0, noise_db, u64::from(seed));
        let (claimed, [gain, phase], by_hour) = run.drift();
        assert!(claimed, "{noise_db} dB: {gain:?}, {phase:?}");
        for (estimate, truth) in [(gain, gain_db), (phase, -3.0)] {
            let off = (estimate.value - truth).abs() / estimate.sigma;
            assert!(off < 4.0, "{noise_db} dB: {estimate:?} for {truth}");
            within_one += usize::from(off < 1.0);
            planted += 1;
        }
        let [gain_by_hour, _] = by_hour.unwrap();
        assert!((gain_by_hour.value * hours / gain.value - 1.0).abs() < 1e-9);
    }
    println!("{within_one} of {planted} within one deviation");
    assert!((0.60..0.85).contains(&(within_one as f64 / f64::from(planted))), "{within_one} of {planted}");
}

/// Without drift none is claimed in 200 runs, whether the captures differ by noise alone or each is 0.03 dB off by itself;
/// the scatter between them is then what is uncertain.
#[test]
fn no_drift_is_claimed_where_there_is_none() {
    let bench = Bench::phase_shifter(6, 41);
    let mut claims = 0;
    for seed in 0..200 {
        let jitter_db = if seed % 2 == 0 { 0.0 } else { 0.03 };
        let run = drifting(&bench, 16, (0.0, 0.0), jitter_db, -50.0, seed);
        let (claimed, [gain, _], _) = run.drift();
        claims += usize::from(claimed);
        // Five captures over the run, at 0, ¼, ½, ¾ and 1 nearly: Σ(x − ½)² = 0.625, so that 0.03 dB of scatter is
        // 0.038 dB of slope; estimated from three degrees of freedom, hardly ever less than a tenth of that.
        if jitter_db > 0.0 {
            assert!(gain.sigma > 0.003, "{gain:?}");
        }
    }
    println!("{claims} of 200 runs without drift claimed to drift");
    assert!(claims <= 1, "{claims}");
}

/// Captures of unlike words share the drift and nothing else. Without times there are no hours.
#[test]
fn several_words_and_no_times() {
    let bench = Bench::attenuator(41);
    let mut run = drifting(&bench, 8, (-0.2, 0.0), 0.0, -60.0, 5);
    for (index, capture) in run.captures.iter_mut().enumerate() {
        capture.time_s = None;
        if index % 2 == 1 {
            capture.word = Word(9);
            for (value, (own, zero)) in
                capture.transmission.iter_mut().zip(bench.clean[9].iter().zip(&bench.clean[0]))
            {
                *value *= own / zero;
            }
        }
    }
    let all = findings_with(&evidence(&run.run, &[]), &facts(&run.run), &run.repeats());
    let told = all.iter().find_map(|finding| match &finding.fault {
        Fault::DriftInRepeats { of, captures, gain_db, gain_db_per_hour, .. } => {
            Some((of.clone(), *captures, *gain_db, *gain_db_per_hour))
        }
        _ => None,
    });
    let (of, captures, gain_db, by_hour) = told.unwrap();
    assert_eq!((of, captures, by_hour), (vec![Word(0), Word(9)], 9, None));
    assert!((gain_db.value + 0.2).abs() < 4.0 * gain_db.sigma && gain_db.sigma < 0.01, "{gain_db:?}");
}

/// Two captures of a word leave nothing to scatter; one capture of each is no repeat.
#[test]
fn too_few_captures_tell_no_drift() {
    let bench = Bench::attenuator(41);
    let run = drifting(&bench, 64, (0.3, 0.0), 0.0, -60.0, 1);
    assert_eq!(run.captures.len(), 2);
    let why = |findings: &[Finding]| -> Vec<WhyUntold> {
        let untold = findings.iter().filter_map(|finding| match finding.fault {
            Fault::DriftUntold(why) => Some(why),
            _ => None,
        });
        untold.collect()
    };
    assert_eq!(why(&run.found()), [WhyUntold::LooksLikeBitWeights, WhyUntold::TooFewRepeats]);
    let single = Repeats { captures: &run.captures[..1], run_captures: 64 };
    let all = findings_with(&evidence(&run.run, &[]), &facts(&run.run), &single);
    assert_eq!(why(&all), [WhyUntold::LooksLikeBitWeights]);
}

/// 41 points of an 8 GHz sweep curve by more than noise of −80 dB, so that second differences call that noise; the
/// difference of two captures knows better, whatever drift lies between them. Its figure is within a decibel.
#[test]
fn repeated_captures_tell_the_noise_that_a_curve_hides() {
    let bench = Bench::attenuator(41);
    for (noise_db, drift) in [(-80.0, (0.0, 0.0)), (-80.0, (0.4, 6.0)), (-50.0, (0.4, 6.0))] {
        let run = drifting(&bench, 8, drift, 0.0, noise_db, 3);
        let evidence = evidence(&run.run, &[]);
        let mut ratios: Vec<f64> = evidence
            .frequencies
            .iter()
            .zip(&bench.clean[0])
            .map(|(at, zero)| zero.norm() / at.common)
            .collect();
        ratios.sort_by(f64::total_cmp);
        let planted = 10_f64.powf(noise_db / 20.0) * ratios[ratios.len() / 2] / 2_f64.sqrt();
        let off_db = |noise: Option<Noise>| 20.0 * (noise.unwrap().sigma / planted).log10();
        let of_repeats = off_db(Noise::of_repeats(&evidence, &run.repeats()));
        assert!(of_repeats.abs() < 1.0, "{noise_db} dB: off by {of_repeats} dB");
        if noise_db < -60.0 {
            let bound = off_db(Noise::of(&evidence));
            assert!(bound > 3.0, "{bound} dB");
        }
    }
    let alone = Noise::of_repeats(&evidence(&bench.run(), &[]), &Repeats::default());
    assert_eq!(alone, None);
}

/// 0.05 dB is a note, 0.2 dB asks for care; a scatter that could hide 0.06 dB asks for care as well.
#[test]
fn a_drift_is_graded_by_its_size() {
    let bench = Bench::attenuator(41);
    let severity = |run: &WithRepeats| {
        let of = |finding: &Finding| {
            matches!(finding.fault, Fault::DriftInRepeats { .. } | Fault::NoDriftInRepeats { .. })
        };
        run.found().iter().find(|finding| of(finding)).map(Finding::severity)
    };
    assert_eq!(severity(&drifting(&bench, 8, (0.04, 0.0), 0.0, -60.0, 1)), Some(Severity::Note));
    assert_eq!(severity(&drifting(&bench, 8, (0.2, 0.0), 0.0, -60.0, 1)), Some(Severity::Care));
    assert_eq!(severity(&drifting(&bench, 8, (0.0, 0.0), 0.1, -60.0, 1)), Some(Severity::Care));
    let clean = drifting(&bench, 8, (0.0, 0.0), 0.0, -60.0, 1);
    assert_eq!(severity(&clean), Some(Severity::Note));
    let accused = accusations(clean.found());
    assert!(
        accused.iter().all(|finding| matches!(finding.fault, Fault::NoDriftInRepeats { .. })),
        "{accused:?}"
    );
    assert!(
        accused.iter().all(|finding| matches!(finding.certainty, Certainty::Sigmas(sigmas) if sigmas < 5.0))
    );
}
