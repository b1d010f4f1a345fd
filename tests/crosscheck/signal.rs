//! Writes the states of made-up parts with their resolution maps and constellations, for the comparison with numpy.
//!
//! `crosscheck_signal OUT.json`

#[path = "../reach_and_signal/mod.rs"]
mod reach_and_signal;

use num_complex::Complex64;
use reach_and_signal::{Sequence, measured_part, two_fields};
use serde_json::{Value, json};
use sweepfold::control::{ControlModel, Word};
use sweepfold::plane::{Place, ReferencePolicy, StateIndex};
use sweepfold::reach::{CleanBits, EvenSteps, ResolutionMap};
use sweepfold::signal::{Constellation, Constellations};
use sweepfold::table::Finder;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let out = std::env::args().nth(1).ok_or("usage: OUT.json")?;
    let mut sequence = Sequence(51);
    let mut parts = Vec::new();
    for (phase, gain, off) in
        [((5, 11.25), (4, 1.0), 0.05), ((6, 5.625), (5, 0.5), 0.02), ((3, 45.0), (2, 3.0), 0.1)]
    {
        let layout = two_fields(phase, gain);
        let words: Vec<Word> = (0..1 << layout.bits()).map(Word).collect();
        let states = measured_part(&layout, off, &mut sequence);
        let model: ControlModel = layout.into();
        let anchor = ReferencePolicy::FullRing.anchor(&model, &words, &states).ok_or("no anchor")?;
        let reference = anchor.reference(&model, &words, &states).ok_or("no reference")?;
        let steps = EvenSteps::new(&model).map_err(|reason| format!("{reason:?}"))?;
        let map = ResolutionMap::new(&steps, &Place::all(&states, reference));
        let row = |phase| -> Vec<Option<f64>> {
            (0..=gain.0).map(|gain| map.yield_pct(CleanBits { phase, gain })).collect()
        };
        let prepared = Constellations::new(&model, &words, &StateIndex::new(&words))
            .map_err(|reason| format!("{reason:?}"))?;
        let found = prepared.at(&states, &Finder::new(&states, &words)).ok_or("no constellations")?;
        parts.push(json!({
            "phase": { "bits": phase.0, "step_deg": phase.1 },
            "gain": { "bits": gain.0, "step_db": gain.1 },
            "states": states.iter().copied().map(pair).collect::<Value>(),
            "reference": pair(reference),
            "yield_pct": (0..=phase.0).map(row).collect::<Vec<_>>(),
            "clean_bits": map.clean_bits().map(|bits| [bits.phase, bits.gain]),
            "constellations": found.iter().map(constellation).collect::<Value>(),
        }));
    }
    Ok(std::fs::write(out, serde_json::to_vec(&parts)?)?)
}

fn pair(value: Complex64) -> Value {
    json!([value.re, value.im])
}

fn constellation(one: &Constellation) -> Value {
    json!({
        "order": one.order,
        "scale": pair(one.scale),
        "corner_gain_db": one.corner_gain_db,
        "evm": one.evm,
        "evm_of_peak": one.evm_of_peak,
        "states": one.states,
        "sharing": one.sharing,
        "misread": one.misread,
        "clean": one.is_clean(),
    })
}
