//! What the best fit of one frequency costs, against choosing the nearest state of every target there once; 4,096 states and
//! targets, on one core.
//!
//! `cargo run --release --example fit_speed`

#[path = "part.rs"]
mod part;

use num_complex::Complex64;
use part::{FREQUENCIES, layout, transmission};
use std::time::Duration;
use sweepfold::control::{ControlModel, Word};
use sweepfold::plane::{Anchor, PreparedTargets, ReferencePolicy, StateIndex};
use sweepfold::table::{Cells, best_fit, choose_under, starts};

const ROUNDS: usize = 5;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let layout = layout();
    let words: Vec<Word> = (0..1 << layout.bits()).map(Word).collect();
    let index = StateIndex::new(&words);
    let targets = PreparedTargets::new(layout.targets(), &index);
    let sweeps: Vec<Vec<Complex64>> =
        (0..FREQUENCIES).step_by(20).map(|f| transmission(&layout, &words, f)).collect();
    let model = ControlModel::Bits(layout);
    let anchor = ReferencePolicy::RingMedian.anchor(&model, &words, &sweeps[sweeps.len() / 2]);
    let anchor = anchor.ok_or("no anchor")?.resolve(&model, &words, &index).ok_or("no reference")?;
    let zero = index.position(model.zero_word()).ok_or("no zero word")?;
    let median = Anchor::RingMedian.resolve(&model, &words, &index).ok_or("no ring")?;
    let full_ring = Anchor::FullRing.resolve(&model, &words, &index).ok_or("no ring")?;
    // What the page begins at beside its grid of starts.
    let fixed = |transmission: &[Complex64], ring: Complex64| -> Vec<Complex64> {
        let by_rule = [&median, &full_ring].into_iter().filter_map(|anchor| anchor.reference(transmission));
        std::iter::once(transmission[zero]).chain(by_rule).map(|reference| reference / ring).collect()
    };
    let mut ratios = Vec::new();
    for _ in 0..ROUNDS {
        let (mut choosing, mut fitting) = (Duration::ZERO, Duration::ZERO);
        let mut after = 0.0;
        for transmission in &sweeps {
            let ring = anchor.reference(transmission).ok_or("no reference")?;
            let start = on_core()?;
            let chosen = choose_under(&targets, &Cells::new(transmission, &words), ring, &[]);
            choosing += on_core()?.saturating_sub(start);
            assert_eq!(chosen.len(), targets.len());

            let start = on_core()?;
            let cells = Cells::new(transmission, &words);
            let starts = starts(&model, &fixed(transmission, ring));
            let fit = best_fit(&targets, &cells, ring, &starts).ok_or("no fit")?;
            fitting += on_core()?.saturating_sub(start);
            after += fit.rms_vector_error;
        }
        let ratio = fitting.as_secs_f64() / choosing.as_secs_f64();
        println!(
            "{} frequencies: choosing {choosing:?}, fitting {fitting:?}, ratio {ratio:.2}; fitted {:.4} %",
            sweeps.len(),
            100.0 * after / sweeps.len() as f64
        );
        ratios.push(ratio);
    }
    ratios.sort_by(f64::total_cmp);
    println!("median ratio {:.2} of {ROUNDS} rounds", ratios[ROUNDS / 2]);
    Ok(())
}

/// How long this thread has had a core, so that what else the machine does counts for nothing.
fn on_core() -> Result<Duration, Box<dyn std::error::Error>> {
    let text = std::fs::read_to_string("/proc/thread-self/schedstat")?;
    Ok(Duration::from_nanos(text.split_whitespace().next().ok_or("no time")?.parse()?))
}
