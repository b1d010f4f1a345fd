//! How long the plane and the table take for a run of 4,096 states and 401 frequencies, on one core.
//!
//! `cargo run --release --example plane_speed`; with a folder as argument it also writes the states and targets
//! there, for the same search by another library (`tests/bench/nearest.py`).

#[path = "part.rs"]
mod part;

use num_complex::Complex64;
use part::{FREQUENCIES, layout, transmission};
use std::time::{Duration, Instant};
use sweepfold::control::{ControlModel, Word};
use sweepfold::plane::{
    EffectiveBits, Place, PreparedTargets, ReferencePolicy, StateIndex, Tolerance, band_summary, score,
};
use sweepfold::table::{choose, errors_of_states, nominal_errors};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let layout = layout();
    let words: Vec<Word> = (0..1 << layout.bits()).map(Word).collect();
    let sweeps: Vec<Vec<Complex64>> = (0..FREQUENCIES).map(|f| transmission(&layout, &words, f)).collect();

    let start = Instant::now();
    let index = StateIndex::new(&words);
    let targets = PreparedTargets::new(layout.targets(), &index);
    let model = ControlModel::Bits(layout);
    let bits = EffectiveBits::new(&model, &index);
    let anchor = ReferencePolicy::FullRing.anchor(&model, &words, &sweeps[200]).ok_or("no anchor")?;
    let anchor = anchor.resolve(&model, &words, &index).ok_or("no reference")?;
    let prepared = start.elapsed();

    let tolerance = Tolerance { gain_db: 0.25, gain_pct_of_setting: 0.0, phase_deg: 2.8125 };
    let (mut choosing, mut scoring) = (Duration::ZERO, Duration::ZERO);
    let mut held = Vec::new();
    let mut scores = Vec::new();
    let mut all_relative = Vec::new();
    for transmission in &sweeps {
        let start = Instant::now();
        let reference = anchor.reference(transmission).ok_or("no reference")?;
        let places = Place::all(transmission, reference);
        scoring += start.elapsed();

        let start = Instant::now();
        let relative: Vec<Complex64> = places.iter().map(|place| place.relative).collect();
        let chosen = choose(&targets, &relative, &words);
        choosing += start.elapsed();
        all_relative.push(relative);

        let start = Instant::now();
        if held.is_empty() {
            held.clone_from(&chosen);
        }
        let nominal = score(&targets.targets, &nominal_errors(&targets, &places), &tolerance);
        let best = score(&targets.targets, &errors_of_states(&targets, &places, &chosen), &tolerance);
        let kept = score(&targets.targets, &errors_of_states(&targets, &places, &held), &tolerance);
        let effective = (bits.gain(|at| places[at].relative), bits.phase(|at| places[at].relative));
        scores.push((nominal, best, kept, effective));
        scoring += start.elapsed();
    }
    let chosen: Vec<_> = scores.iter().map(|scores| scores.1).collect();
    let band = band_summary(0, &chosen).ok_or("no scores")?;
    println!(
        "prepared once {prepared:?}; {FREQUENCIES} frequencies: choosing {choosing:?}, references, places and three scores {scoring:?}"
    );
    println!("chosen over the band: {:.4} %", 100.0 * band.score.rms_vector_error);
    if let Some(folder) = std::env::args().nth(1) {
        let bytes = |values: &mut dyn Iterator<Item = Complex64>| -> Vec<u8> {
            values.flat_map(|value| [value.re.to_le_bytes(), value.im.to_le_bytes()].concat()).collect()
        };
        let folder = std::path::Path::new(&folder);
        std::fs::write(folder.join("states.bin"), bytes(&mut all_relative.iter().flatten().copied()))?;
        std::fs::write(folder.join("targets.bin"), bytes(&mut targets.prepared.iter().map(|t| t.gain)))?;
    }
    Ok(())
}
