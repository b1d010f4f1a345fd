//! Reports made by hand, so that what the sheet and the exports say of them can be worked out with pencil and paper.

#![allow(dead_code)]

use num_complex::Complex64;
use std::sync::Arc;
use sweepfold::control::{Direction, Field, Layout, Quantity, Word};
use sweepfold::pipeline::protocol::Reference;
use sweepfold::pipeline::{
    Analysis, AtFrequency, Comparison, LayoutOrigin, Mapping, NoAnalysis, PolicyScores, Reach, Report, Rung,
    Served, Service, Settings, Tables,
};
use sweepfold::plane::{Anchor, BandScore, ReferencePolicy, Score, Spread, StateError, Tolerance};
use sweepfold::run::{BitWeight, Intake, LeftOut, PortPath, State};
use sweepfold::sheet::ToolFacts;
use sweepfold::table::SelectionRule;

pub const DIGEST: &str = "0123456789abcdef0123456789abcdef0123456789abcdef0123456789abcdef";

pub fn tool() -> ToolFacts {
    ToolFacts::on("2026-01-31")
}

/// What came in: `words` of `bits` bits, one file each, on a grid.
pub fn intake(bits: usize, words: impl Iterator<Item = u32>, frequency_hz: Vec<f64>) -> Intake {
    let words: Vec<Word> = words.map(Word).collect();
    Intake {
        source: "run 7".to_owned(),
        paths: words.iter().map(|word| format!("x_{:04}.s2p", word.0)).collect(),
        bytes: 1_234_567,
        digest: DIGEST.to_owned(),
        naming: "The four digits before the dot are the word, in decimal.".to_owned(),
        naming_choices: Vec::new(),
        listed: None,
        index: None,
        frequency_hz,
        reference_ohm: 50.0,
        most_ports: 2,
        path: PortPath::default(),
        adapted: Vec::new(),
        states: words.iter().enumerate().map(|(file, &word)| State { word, file }).collect(),
        bits,
        missing: (0..1 << bits).map(Word).filter(|word| !words.contains(word)).collect(),
        file_order: None,
        repeats: Vec::new(),
        left_out: Vec::new(),
        warnings: Vec::new(),
        one_path: false,
        largest_s11: 0.1,
        largest_s22: 0.2,
    }
}

/// A report of files that gave no analysis.
pub fn failed(intake: Intake, reason: NoAnalysis) -> Report {
    Report {
        settings: Settings::default(),
        intake: Arc::new(intake),
        analysis: Err(reason),
        checks: None,
        reach: Reach::default(),
        comparison: None,
        signal: None,
        largest_clean: None,
        tables: Tables::default(),
        parts: None,
    }
}

/// A report in which nothing but left-out files came in.
pub fn nothing_but(left_out: Vec<LeftOut>) -> Report {
    let mut intake = intake(0, 0..0, Vec::new());
    intake.missing.clear();
    intake.paths = left_out.iter().map(|file| file.path.clone()).collect();
    intake.left_out = left_out;
    failed(intake, NoAnalysis::NoStates)
}

/// A phase error alone: the relative vector error is the chord 2·sin(|e|/2).
pub fn phase_error(phase_deg: f64) -> StateError {
    StateError { gain_db: 0.0, phase_deg, vector: 2.0 * (phase_deg.abs() / 2.0).to_radians().sin() }
}

/// The phase errors of the two-bit phase shifter at 9, 10 and 11 GHz. At 10 GHz its phases are 0, 92, 177 and 274
/// degrees, so that the root mean square of its errors is √(29/4) = 2.692582 degrees.
pub const PHASE_ERRORS_DEG: [[f64; 4]; 3] =
    [[0.0, 0.0, 0.0, 0.0], [0.0, 2.0, -3.0, 4.0], [0.0, 5.0, -10.0, 10.0]];

/// By hand, with a tolerance of 3.5 degrees: RMS phase error and share within it at each frequency.
pub const RMS_AND_SHARE: [(f64, f64); 3] = [(0.0, 100.0), (2.692_582_403_567_252, 75.0), (7.5, 25.0)];

fn score(index: usize) -> Score {
    let vectors = PHASE_ERRORS_DEG[index].map(|error| phase_error(error).vector);
    let (rms_phase_error_deg, share) = RMS_AND_SHARE[index];
    let rms_vector_error = (vectors.iter().map(|v| v * v).sum::<f64>() / 4.0).sqrt();
    make_score(0.0, rms_phase_error_deg, rms_vector_error, share)
}

/// A score whose share within the gain tolerance is 100 %.
pub fn make_score(
    rms_gain_error_db: f64,
    rms_phase_error_deg: f64,
    rms_vector_error: f64,
    share: f64,
) -> Score {
    Score {
        rms_gain_error_db,
        rms_phase_error_deg,
        rms_vector_error,
        largest_gain_error_db: None,
        largest_phase_error_deg: None,
        largest_vector_error: None,
        within_gain_pct: 100.0,
        within_phase_pct: share,
        within_both_pct: share,
        missing: 0,
    }
}

pub fn phase_layout() -> Layout {
    Layout { fields: vec![Field::contiguous(Quantity::Phase, 0, 2, 90.0, Direction::Up)] }
}

/// A two-bit phase shifter with 6 dB of loss, its four words all nearest to their own targets.
pub fn phase_shifter() -> Report {
    let layout = phase_layout();
    let reference = Complex64::new(0.5, 0.0);
    let transmission: Vec<Complex64> = [0.0, 92.0, 177.0, 274.0_f64]
        .iter()
        .map(|phase_deg| Complex64::from_polar(0.5, phase_deg.to_radians()))
        .collect();
    let served: Vec<Served> = PHASE_ERRORS_DEG[1]
        .iter()
        .enumerate()
        .map(|(state, &error)| Served { state, error: phase_error(error) })
        .collect();
    let frequencies: Vec<AtFrequency> = (0..3)
        .map(|index| AtFrequency {
            reference,
            gain_given_up_db: Some(0.0),
            gain_range_db: Some((0.0, 0.0)),
            nominal: Some(score(index)),
            // √(29/4 − (3/4)²): by hand, as circular and plain mean agree to a thousandth for errors this small.
            nominal_spread: Some(Spread { gain_error_db: 0.0, phase_error_deg: 2.586_020 }),
            chosen: score(index),
            held: Some(score(index)),
            gain_effective_bits: None,
            phase_effective_bits: Some([2.0, 1.993_709, 1.96][index]),
        })
        .collect();
    let rung = |mapping| Rung {
        mapping,
        reference: ReferencePolicy::ZeroWord,
        divisor: reference,
        gain_given_up_db: Some(0.0),
        at_frequency: score(1),
        band: BandScore {
            score: score(1),
            worst_vector_index: 2,
            worst_vector_error: score(2).rms_vector_error,
            worst_share_index: 2,
            worst_share_pct: 25.0,
        },
    };
    Report {
        checks: None,
        reach: Reach::default(),
        comparison: Some(comparison(vec![rung(Mapping::Nominal), rung(Mapping::Chosen)], 3)),
        signal: None,
        largest_clean: None,
        tables: Tables::default(),
        parts: None,
        settings: Settings::default(),
        intake: Arc::new(intake(2, 0..4, vec![9e9, 10e9, 11e9])),
        analysis: Ok(Analysis {
            targets: layout.targets(),
            model: layout.into(),
            layout_origin: LayoutOrigin::Guessed(
                "the two bits turn the phase by 92 and 177 degrees".to_owned(),
            ),
            bit_weights: [92.0, 177.0]
                .map(|phase_deg| BitWeight { gain_db: 0.0, phase_deg, pairs: 2 })
                .to_vec(),
            tolerance: Tolerance { gain_db: 0.5, gain_pct_of_setting: 0.0, phase_deg: 3.5 },
            reference: ReferencePolicy::ZeroWord,
            anchor: Reference::Anchor(Anchor::Word { word: Word(0) }),
            rule: SelectionRule::Nearest,
            design_band: 0..=2,
            centre: 1,
            frequencies,
            service: Service {
                index: 1,
                reference,
                transmission,
                nominal: served.iter().copied().map(Some).collect(),
                chosen: served,
                unused_states: 0,
                shared_states: 0,
            },
        }),
    }
}

pub fn analysis(report: &mut Report) -> &mut Analysis {
    report.analysis.as_mut().expect("an analysis")
}

/// A gain-phase cascade of 12 bits whose states are ideal but for a common 0.1 dB and 0.5 degrees, at 10 GHz the
/// words swapped in pairs (the chosen word is the nominal one with its lowest bit turned over).
pub fn cascade(points: usize) -> Report {
    let layout = Layout {
        fields: vec![
            Field::contiguous(Quantity::Phase, 0, 7, 2.8125, Direction::Down),
            Field::contiguous(Quantity::Gain, 7, 5, 0.5, Direction::Down),
        ],
    };
    let targets = layout.targets();
    let reference = Complex64::new(0.25, 0.0);
    let error = StateError { gain_db: 0.1, phase_deg: 0.5, vector: 0.014_5 };
    let chosen: Vec<Served> = targets
        .iter()
        .map(|target| Served { state: (target.nominal_word.expect("a word").0 ^ 1) as usize, error })
        .collect();
    let transmission = (0..4096)
        .map(|word| {
            let setting = layout.nominal(Word(word ^ 1));
            let gain = 10_f64.powf((setting.gain_db + 0.1) / 20.0);
            reference * Complex64::from_polar(gain, (setting.phase_deg + 0.5).to_radians())
        })
        .collect();
    let at = AtFrequency {
        reference,
        gain_given_up_db: Some(-1.2),
        gain_range_db: Some((-15.4, 0.1)),
        nominal: Some(make_score(1.4, 5.2, 0.182, 12.0)),
        nominal_spread: Some(Spread { gain_error_db: 1.4, phase_error_deg: 5.2 }),
        chosen: make_score(0.1, 0.5, 0.034, 99.1),
        held: Some(make_score(0.6, 2.2, 0.08, 45.0)),
        gain_effective_bits: Some(4.62),
        phase_effective_bits: Some(6.93),
    };
    let rung = |mapping, reference, gain_given_up_db, at_frequency| Rung {
        mapping,
        reference,
        divisor: Complex64::new(0.25, 0.0),
        gain_given_up_db: Some(gain_given_up_db),
        at_frequency,
        band: BandScore {
            score: at_frequency,
            worst_vector_index: 0,
            worst_vector_error: at_frequency.rms_vector_error,
            worst_share_index: 0,
            worst_share_pct: at_frequency.within_both_pct,
        },
    };
    let step = 8e9 / (points - 1) as f64;
    Report {
        checks: None,
        reach: Reach::default(),
        comparison: Some(comparison(
            vec![
                rung(Mapping::Nominal, ReferencePolicy::ZeroWord, 0.0, make_score(1.4, 5.2, 0.182, 12.0)),
                rung(Mapping::Chosen, ReferencePolicy::ZeroWord, 0.0, make_score(0.3, 1.5, 0.05, 80.0)),
                rung(Mapping::Chosen, ReferencePolicy::FullRing, -1.2, make_score(0.1, 0.5, 0.034, 99.1)),
            ],
            points,
        )),
        signal: None,
        largest_clean: None,
        tables: Tables::default(),
        parts: None,
        settings: Settings { reference: ReferencePolicy::FullRing, ..Settings::default() },
        intake: Arc::new(intake(12, 0..4096, (0..points).map(|index| 6e9 + step * index as f64).collect())),
        analysis: Ok(Analysis {
            targets,
            model: layout.into(),
            layout_origin: LayoutOrigin::Given,
            bit_weights: Vec::new(),
            tolerance: Tolerance { gain_db: 0.25, gain_pct_of_setting: 0.0, phase_deg: 1.406_25 },
            reference: ReferencePolicy::FullRing,
            anchor: Reference::Anchor(Anchor::FullRing),
            rule: SelectionRule::Nearest,
            design_band: 0..=points - 1,
            centre: (points - 1) / 2,
            frequencies: vec![at; points],
            service: Service {
                index: (points - 1) / 2,
                reference,
                transmission,
                nominal: chosen.iter().copied().map(Some).collect(),
                chosen,
                unused_states: 312,
                shared_states: 280,
            },
        }),
    }
}

/// A comparison of the references on the rungs of a ladder, each the same at every one of some frequencies.
fn comparison(ladder: Vec<Rung>, points: usize) -> Arc<Comparison> {
    let chosen = ladder.iter().filter(|rung| rung.mapping == Mapping::Chosen);
    let policies = chosen.map(|rung| PolicyScores {
        policy: rung.reference,
        chosen: vec![Some(rung.at_frequency); points],
        gain_given_up_db: vec![rung.gain_given_up_db; points],
        band: rung.band,
    });
    let policies = policies.collect();
    Arc::new(Comparison { ladder, policies })
}

pub fn ladder(report: &mut Report) -> &mut Vec<Rung> {
    &mut Arc::make_mut(report.comparison.as_mut().expect("a comparison")).ladder
}
