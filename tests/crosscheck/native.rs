//! Makes the exports that the comparison needs without a browser, straight from the reader, the plane and the table.
//!
//! `crosscheck_native STATES LAYOUT SETTINGS EXPORTS`: every file of STATES is a state whose word stands before
//! `.s2p` in hexadecimal; LAYOUT and SETTINGS are JSON. Lets the comparison prove itself wherever there is no page.

use num_complex::Complex64;
use serde_json::{Value, json};
use std::fmt::Write;
use std::path::Path;
use sweepfold::control::{ControlModel, Layout, Quantity, Word};
use sweepfold::pipeline::{Settings, TransmissionParameter};
use sweepfold::plane::{
    BandScore, EffectiveBits, Place, PreparedTargets, ReferencePolicy, ResolvedAnchor, Score, StateIndex,
    Tolerance, band_summary, gain_given_up_db, score,
};
use sweepfold::table::{choose, errors_of_states, nominal_errors};

type Failure = Box<dyn std::error::Error>;

fn main() -> Result<(), Failure> {
    let arguments: Vec<String> = std::env::args().collect();
    let [_, states, layout, settings, exports] = arguments.as_slice() else {
        return Err("usage: STATES LAYOUT SETTINGS EXPORTS".into());
    };
    let layout: Layout = serde_json::from_slice(&std::fs::read(layout)?)?;
    let settings: Settings = serde_json::from_slice(&std::fs::read(settings)?)?;
    let run = Run::read(Path::new(states), settings.transmission)?;
    let exports = Path::new(exports);
    std::fs::create_dir_all(exports)?;
    write_exports(&run, &layout, &settings, exports)
}

struct Run {
    frequency_hz: Vec<f64>,
    words: Vec<Word>,
    /// One vector per frequency, the states in the order of their words.
    transmission: Vec<Vec<Complex64>>,
}

impl Run {
    fn read(folder: &Path, parameter: TransmissionParameter) -> Result<Self, Failure> {
        let (row, column) = match parameter {
            TransmissionParameter::S21 => (2, 1),
            TransmissionParameter::S12 => (1, 2),
        };
        let mut networks = Vec::new();
        for entry in std::fs::read_dir(folder)? {
            let path = entry?.path();
            let name = path.file_stem().and_then(|name| name.to_str()).ok_or("a file without a name")?;
            let word = u32::from_str_radix(name.rsplit("0x").next().unwrap_or_default(), 16)?;
            let full_name = path.to_string_lossy().into_owned();
            networks.push((Word(word), sweepfold::touchstone::read(&full_name, &std::fs::read(&path)?)?));
        }
        networks.sort_by_key(|(word, _)| *word);
        let frequency_hz = networks.first().ok_or("no files")?.1.frequency_hz.clone();
        let at = |f| networks.iter().map(|(_, network)| network.s(f, row, column)).collect();
        let transmission = (0..frequency_hz.len()).map(at).collect();
        Ok(Self { frequency_hz, words: networks.iter().map(|(word, _)| *word).collect(), transmission })
    }

    fn nearest(&self, hertz: f64) -> usize {
        let off = |&index: &usize| (self.frequency_hz[index] - hertz).abs();
        (0..self.frequency_hz.len()).min_by(|a, b| off(a).total_cmp(&off(b))).unwrap_or(0)
    }
}

/// The three mappings' scores at every frequency under one reference, and the chosen states.
struct UnderReference {
    references: Vec<Complex64>,
    places: Vec<Vec<Place>>,
    chosen: Vec<Vec<u32>>,
    scores: [Vec<Score>; 3],
}

fn under(
    run: &Run,
    anchor: &ResolvedAnchor,
    targets: &PreparedTargets,
    tolerance: &Tolerance,
    at: usize,
) -> Result<UnderReference, Failure> {
    let (mut references, mut places, mut chosen) = (Vec::new(), Vec::new(), Vec::new());
    for transmission in &run.transmission {
        let reference = anchor.reference(transmission).ok_or("a reference without transmission")?;
        let here = Place::all(transmission, reference);
        let relative: Vec<Complex64> = here.iter().map(|place| place.relative).collect();
        chosen.push(choose(targets, &relative, &run.words));
        references.push(reference);
        places.push(here);
    }
    let scores_of = |errors: Vec<_>| score(&targets.targets, &errors, tolerance);
    let scores = [
        places.iter().map(|places| scores_of(nominal_errors(targets, places))).collect(),
        places
            .iter()
            .zip(&chosen)
            .map(|(places, states)| scores_of(errors_of_states(targets, places, states)))
            .collect(),
        places.iter().map(|places| scores_of(errors_of_states(targets, places, &chosen[at]))).collect(),
    ];
    Ok(UnderReference { references, places, chosen, scores })
}

fn write_exports(run: &Run, layout: &Layout, settings: &Settings, folder: &Path) -> Result<(), Failure> {
    let index = StateIndex::new(&run.words);
    let targets = PreparedTargets::new(layout.targets(), &index);
    let half = |quantity| layout.finest_step(quantity).map(|step| step / 2.0);
    let tolerance = match settings.tolerance {
        Some(tolerance) => tolerance,
        None => Tolerance {
            gain_db: half(Quantity::Gain).ok_or("no gain field")?,
            gain_pct_of_setting: 0.0,
            phase_deg: half(Quantity::Phase).ok_or("no phase field")?,
        },
    };
    let last = run.frequency_hz.len() - 1;
    let band = settings.design_band_hz.unwrap_or((run.frequency_hz[0], run.frequency_hz[last]));
    let inside = |index: &usize| (band.0..=band.1).contains(&run.frequency_hz[*index]);
    let first = (0..=last).find(inside).ok_or("an empty band")?;
    let end = (0..=last).rfind(inside).ok_or("an empty band")?;
    let centre = run.nearest(f64::midpoint(band.0, band.1)).clamp(first, end);
    let at = settings.frequency_hz.map_or(centre, |hertz| run.nearest(hertz));
    let model = ControlModel::Bits(layout.clone());
    let resolve = |policy: ReferencePolicy| {
        let anchor = policy.anchor(&model, &run.words, &run.transmission[centre]);
        anchor.and_then(|anchor| anchor.resolve(&model, &run.words, &index)).ok_or("a word is missing")
    };

    let own = under(run, &resolve(settings.reference)?, &targets, &tolerance, at)?;
    let zero = index.position(layout.zero_word()).ok_or("no zero word")?;
    let given_up =
        |references: &[Complex64], f: usize| gain_given_up_db(references[f], run.transmission[f][zero]);
    let bits = EffectiveBits::new(&model, &index);
    std::fs::write(folder.join("per-frequency.csv"), per_frequency(run, &own, &bits, given_up))?;
    std::fs::write(folder.join("word-table.csv"), word_table(run, &own, &targets))?;

    let summed = |scores: &[Score]| band_summary(first, &scores[first..=end]).ok_or("an empty band");
    let mut ladder = Vec::new();
    for policy in [ReferencePolicy::ZeroWord, ReferencePolicy::RingMedian, ReferencePolicy::FullRing] {
        let found = under(run, &resolve(policy)?, &targets, &tolerance, at)?;
        for (mapping, scores) in ["nominal", "chosen"].into_iter().zip(&found.scores) {
            ladder.push(json!({
                "mapping": mapping, "reference": policy, "gain_given_up_db": given_up(&found.references, at),
                "at_frequency": score_json(&scores[at]), "design_band": band_json(&summed(scores)?, run),
            }));
        }
    }
    let [nominal, chosen, held] = &own.scores;
    let summary = json!({
        "layout": layout, "settings": settings, "ladder": ladder,
        "scores": {
            "at_frequency": {
                "frequency_hz": run.frequency_hz[at], "nominal": score_json(&nominal[at]),
                "chosen": score_json(&chosen[at]), "held": score_json(&held[at]),
            },
            "design_band": {
                "nominal": band_json(&summed(nominal)?, run), "chosen": band_json(&summed(chosen)?, run),
                "held": band_json(&summed(held)?, run),
            },
        },
    });
    Ok(std::fs::write(folder.join("summary.json"), serde_json::to_vec_pretty(&summary)?)?)
}

fn values(score: &Score) -> [(&'static str, f64); 6] {
    [
        ("rms_gain_error_db", score.rms_gain_error_db),
        ("rms_phase_error_deg", score.rms_phase_error_deg),
        ("rms_vector_error_pct", 100.0 * score.rms_vector_error),
        ("within_gain_pct", score.within_gain_pct),
        ("within_phase_pct", score.within_phase_pct),
        ("within_both_pct", score.within_both_pct),
    ]
}

fn score_json(score: &Score) -> Value {
    values(score).into_iter().map(|(name, value)| (name.to_owned(), Value::from(value))).collect()
}

fn band_json(band: &BandScore, run: &Run) -> Value {
    let mut json = score_json(&band.score);
    json["worst_vector_error_hz"] = run.frequency_hz[band.worst_vector_index].into();
    json["worst_vector_error_pct"] = (100.0 * band.worst_vector_error).into();
    json["worst_within_both_hz"] = run.frequency_hz[band.worst_share_index].into();
    json["worst_within_both_pct"] = band.worst_share_pct.into();
    json
}

fn per_frequency(
    run: &Run,
    own: &UnderReference,
    bits: &EffectiveBits,
    given_up: impl Fn(&[Complex64], usize) -> f64,
) -> String {
    let mut header = vec!["frequency_hz,reference_re,reference_im,gain_given_up_db".to_owned()];
    for (mapping, scores) in ["nominal", "chosen", "held"].into_iter().zip(&own.scores) {
        let names = scores.first().map(values).into_iter().flatten();
        header.extend(names.map(|(name, _)| format!("{mapping}_{name}")));
    }
    header.push("gain_effective_bits,phase_effective_bits".to_owned());
    let mut rows = vec![header.join(",")];
    for (f, (hertz, reference)) in run.frequency_hz.iter().zip(&own.references).enumerate() {
        let relative = |state: usize| own.places[f][state].relative;
        let mut cells = vec![*hertz, reference.re, reference.im, given_up(&own.references, f)];
        cells.extend(own.scores.iter().flat_map(|scores| values(&scores[f])).map(|(_, value)| value));
        cells.extend([bits.gain(relative), bits.phase(relative)].map(|value| value.unwrap_or(f64::NAN)));
        let cell = |value: f64| if value.is_nan() { String::new() } else { value.to_string() };
        rows.push(cells.into_iter().map(cell).collect::<Vec<_>>().join(","));
    }
    rows.join("\n") + "\n"
}

fn word_table(run: &Run, own: &UnderReference, targets: &PreparedTargets) -> String {
    let mut text = "frequency_hz,target_gain_db,target_phase_deg,nominal_word,chosen_word,gain_error_db,\
                    phase_error_deg,vector_error_pct\n"
        .to_owned();
    for ((hertz, states), places) in run.frequency_hz.iter().zip(&own.chosen).zip(&own.places) {
        let errors = errors_of_states(targets, places, states);
        for ((target, &state), error) in targets.targets.iter().zip(states).zip(errors.into_iter().flatten())
        {
            let (setting, nominal) = (target.setting, target.nominal_word.map_or(0, |word| word.0));
            let chosen = run.words[state as usize].0;
            let written = writeln!(
                text,
                "{hertz},{},{},{nominal},{chosen},{},{},{}",
                setting.gain_db,
                setting.phase_deg,
                error.gain_db,
                error.phase_deg,
                100.0 * error.vector
            );
            debug_assert!(written.is_ok(), "writing to a String cannot fail");
        }
    }
    text
}
