//! How long evidence takes for a run of 4,096 states and 401 frequencies on one core, as a ratio to the bit weights of
//! the same run, which are worked out beside it: `cargo run --release --example examine_speed`. The ratio tells one
//! revision from another whatever else the machine does. Beside it the findings of a run with faults.

use num_complex::Complex64;
use std::time::Instant;
use sweepfold::checks::{Facts, Finding, Sweeps, examine, findings};
use sweepfold::control::Word;
use sweepfold::demo::{Noise, Part, PartPlan, Path, rain_radar};
use sweepfold::run::bit_weights;

const POINTS: usize = 401;
const ROUNDS: usize = 5;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let plan = rain_radar();
    let mut deep = plan.clone();
    // The same part with each gain bit twice as deep: states are apart by 31 dB.
    for section in &mut deep.sections {
        if let Path::Pad { attenuation_db, .. } = &mut section.set {
            *attenuation_db *= 2.0;
        }
    }
    for (name, plan) in [("15.5 dB", plan), ("31 dB", deep)] {
        let (words, states) = run_of(plan)?;
        let mut transmission = states.concat();
        let order: Vec<usize> = (0..words.len()).collect();
        let mut ratios = Vec::new();
        for _ in 0..ROUNDS {
            let start = Instant::now();
            let weights: Vec<_> = states.iter().map(|states| bit_weights(&words, states, 12)).collect();
            let of_weights = start.elapsed().as_secs_f64();
            let start = Instant::now();
            let evidence = examine(&Sweeps {
                points: POINTS,
                range: 0..POINTS,
                words: &words,
                transmission: &transmission,
                weights: &weights,
                capture_order: &order,
            });
            let of_evidence = start.elapsed().as_secs_f64();
            if evidence.frequencies.len() != POINTS {
                return Err("evidence is missing".into());
            }
            ratios.push(of_evidence / of_weights);
        }
        ratios.sort_by(f64::total_cmp);
        println!(
            "{name}: evidence over bit weights {:.3} median ({:.3} to {:.3})",
            ratios[2], ratios[0], ratios[4]
        );
        let clean = all_findings(&words, &transmission, &order);
        // Much to be found: two steps, and single captures at fault.
        for states in transmission.chunks_exact_mut(words.len()) {
            states[1700..].iter_mut().for_each(|state| *state *= 0.96);
            states[3001..].iter_mut().for_each(|state| *state *= 1.05);
            for word in [77, 900, 2222] {
                states[word] *= 1.2;
            }
        }
        let faulty = all_findings(&words, &transmission, &order);
        for (which, (ratio, found)) in [("clean", clean), ("faulty", faulty)] {
            println!("{name}, {which}: findings over bit weights {ratio:.3}");
            for finding in &found {
                println!("  {:?}", finding.fault);
            }
        }
    }
    Ok(())
}

/// The findings, and how long they take relative to the bit weights.
fn all_findings(words: &[Word], transmission: &[Complex64], order: &[usize]) -> (f64, Vec<Finding>) {
    let start = Instant::now();
    let slices = transmission.chunks_exact(words.len());
    let weights: Vec<_> = slices.map(|states| bit_weights(words, states, 12)).collect();
    let of_weights = start.elapsed().as_secs_f64();
    let evidence = examine(&Sweeps {
        points: POINTS,
        range: 0..POINTS,
        words,
        transmission,
        weights: &weights,
        capture_order: order,
    });
    let plan = rain_radar();
    let frequency_hz: Vec<f64> =
        (0..POINTS).map(|point| plan.sweep.start_hz as f64 + 2e7 * point as f64).collect();
    let facts = Facts {
        words,
        frequency_hz: &frequency_hz,
        design_band_hz: None,
        capture_order: order,
        order_on_record: true,
        capture_times_s: None,
        expected: None,
        zero_word_loss_db: None,
    };
    let start = Instant::now();
    let found = findings(&evidence, &facts);
    (start.elapsed().as_secs_f64() / of_weights, found)
}

/// By frequency, then by state.
type States = Vec<Vec<Complex64>>;

/// The words, and the states of each frequency with noise of −60 dB.
fn run_of(mut plan: PartPlan) -> Result<(Vec<Word>, States), Box<dyn std::error::Error>> {
    plan.sweep.points = POINTS;
    let part = Part::new(plan)?;
    let words: Vec<Word> = (0..4096).map(Word).collect();
    let mut states = vec![Vec::new(); POINTS];
    for &word in &words {
        let mut noise = Noise::new(1, word.0);
        for (states, two_port) in states.iter_mut().zip(part.two_ports(word)) {
            states.push(two_port.s21 + noise.next_complex() * 1e-4);
        }
    }
    Ok((words, states))
}
