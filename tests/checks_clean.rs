//! Runs in which nothing is wrong.

mod planted;

use planted::{Bench, Dice, accusations, found};

/// 420 runs of several parts, with noise of −60 and of −40 dB, captured in counting order and in a random one: fewer than
/// one in a hundred is accused of anything.
#[test]
fn clean_runs_are_not_accused() {
    let benches = [
        Bench::attenuator(41),
        Bench::attenuator(101),
        Bench::phase_shifter(6, 41),
        Bench::phase_shifter(7, 101),
        Bench::gain_phase(3, 41),
        Bench::gain_phase(3, 101),
        Bench::gain_phase(4, 41),
    ];
    let (mut runs, mut accused) = (0, 0);
    for (number, bench) in benches.iter().enumerate() {
        for noise_db in [-60.0, -40.0] {
            for seed in 0..30 {
                let mut run = bench.run().with_noise(bench, noise_db, 1000 + seed);
                if seed % 2 == 1 {
                    run.capture_order = Dice::new(seed).shuffled(run.words.len());
                }
                let accusations = accusations(found(&run));
                runs += 1;
                if !accusations.is_empty() {
                    accused += 1;
                    println!("part {number}, {noise_db} dB, seed {seed}: {accusations:?}");
                }
            }
        }
    }
    println!("{accused} of {runs} clean runs accused");
    assert!(runs >= 200 && 100 * accused < runs, "{accused} of {runs}");
}
