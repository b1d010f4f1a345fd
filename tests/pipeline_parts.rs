//! Fields graded in a run, from files to verdicts. Errors are planted, and the figures worked by hand from METRICS'
//! definitions (numbers as in `part.rs`, where a reference library gave the lines).

mod folder;
mod planted;

use folder::Folder;
use planted::Bench;
use std::fmt::Write;
use std::sync::Arc;
use sweepfold::control::{Direction, Field, Layout, Quantity, Word};
use sweepfold::part::{Deciding, Judgement, RmsVariant, SliceError, Undecided, Verdict, read_specification};
use sweepfold::pipeline::{Graded, Parts, Report, Settings, in_turn};
use sweepfold::sheet::parts::{broken_sentence, is_broken_at, specified_bands};

/// Errors 0, −0.02, 0.05, −0.10, 0.10, 0.05, 0.02, −0.01 dB: their root mean square over seven is 0.060828 dB.
const ATTENUATION_DB: [f64; 8] = [0.0, 0.48, 1.05, 1.40, 2.10, 2.55, 3.02, 3.49];
const RMS_GAIN_ERROR_DB: f64 = 0.060_828;
/// Errors 0, 2, −3, 4°: about their mean their root mean square over four is 2.586020°.
const LAG_DEG: [f64; 4] = [0.0, 92.0, 177.0, 274.0];
const RMS_PHASE_ERROR_DEG: f64 = 2.586_020;

const POINTS: usize = 9;

fn layout() -> Layout {
    Layout {
        fields: vec![
            Field::contiguous(Quantity::Gain, 0, 3, 0.5, Direction::Down),
            Field::contiguous(Quantity::Phase, 3, 2, 90.0, Direction::Down),
        ],
    }
}

/// Bits 0 to 2 attenuate and bits 3 and 4 shift the phase; at phase code 2 the attenuator's errors are twice as large.
/// Word 5 reflects 0.2 at 9.5 GHz, all else 0.1 at the input, and all 0.05 at the output.
fn files() -> Folder {
    let text = |word: usize| {
        let (gain, phase) = (word & 7, word >> 3);
        let errs = if phase == 2 { 2.0 } else { 1.0 };
        let nominal_db = 0.5 * gain as f64;
        let loss_db = 3.0 + nominal_db + errs * (ATTENUATION_DB[gain] - nominal_db);
        let mut text = "# GHz S MA R 50\n".to_owned();
        for point in 0..POINTS {
            let ghz = 8.0 + 0.5 * point as f64;
            let magnitude = 10_f64.powf(-loss_db / 20.0);
            let turn = -50.0 * ghz - LAG_DEG[phase];
            let s11 = if word == 5 && point == 3 { 0.2 } else { 0.1 };
            writeln!(text, "{ghz} {s11} 20 {magnitude} {turn} {magnitude} {turn} 0.05 -40").unwrap();
        }
        text
    };
    (0..32).fold(Folder::default(), |folder, word| folder.with(&format!("w_{word}.s2p"), text(word)))
}

fn settings(rows: &str) -> Settings {
    let table = format!("figure,from_ghz,to_ghz,at_least,at_most,plus_minus\n{rows}");
    Settings {
        layout: Some(layout()),
        specification: read_specification(&table).expect("a specification"),
        ..Settings::default()
    }
}

fn parts(report: &Report) -> &Arc<Parts> {
    report.parts.as_ref().expect("graded")
}

fn graded(report: &Report, field: usize) -> &Graded {
    parts(report).fields[field].graded.as_ref().expect("a field")
}

fn rms(report: &Report, field: usize, index: usize) -> f64 {
    let graded = graded(report, field);
    RmsVariant::trade(graded.slice.quantity).of(&graded.slice, &graded.at[index].state_errors)
}

/// The verdicts of a row, field by field.
fn judged(report: &Report, row: usize) -> Vec<Option<&Judgement>> {
    parts(report).fields.iter().map(|field| field.judgements[row].as_ref()).collect()
}

fn decides(judgement: Option<&Judgement>) -> (Verdict, Deciding) {
    let judgement = judgement.expect("about this field");
    (judgement.verdict, judgement.deciding.expect("a value decides"))
}

#[test]
fn every_field_is_graded_at_every_frequency_whoever_holds_it() {
    let expected = folder::report(&files(), settings("rms gain error,,,,0.1,\n"), 1);
    assert_eq!(graded(&expected, 0).at.len(), POINTS);
    for index in 0..POINTS {
        assert!((rms(&expected, 0, index) - RMS_GAIN_ERROR_DB).abs() < 1e-6);
        // The mean is taken out on the circle, which is off the arithmetic one by less than 1e-3°.
        assert!((rms(&expected, 1, index) - RMS_PHASE_ERROR_DEG).abs() < 2e-6);
    }
    for workers in [2, 3, 7] {
        let report = folder::report(&files(), settings("rms gain error,,,,0.1,\n"), workers);
        assert_eq!(parts(&report), parts(&expected), "{workers} workers");
    }
}

#[test]
fn a_field_is_graded_with_the_other_held_where_the_user_says() {
    let held = Settings { held_codes: vec![0, 2], ..settings("") };
    let report = folder::report(&files(), held.clone(), 2);
    assert!((rms(&report, 0, 4) - 2.0 * RMS_GAIN_ERROR_DB).abs() < 1e-6);
    assert_eq!(graded(&report, 0).slice.words[1], Word(0b10_001));
    // Asked for later it is the same, and taken back it is as before.
    let (mut conductor, mut shares) = in_turn::run("folder", &files(), settings(""), 2);
    let before = in_turn::report(&conductor).unwrap().clone();
    conductor.set_settings(held);
    in_turn::drive(&mut conductor, &mut shares, &files());
    assert_eq!(parts(in_turn::report(&conductor).unwrap()), parts(&report));
    conductor.set_settings(settings(""));
    in_turn::drive(&mut conductor, &mut shares, &files());
    assert_eq!(parts(in_turn::report(&conductor).unwrap()), parts(&before));
}

#[test]
fn each_row_is_judged_where_it_applies() {
    let rows = "gain state error,,,,,0.08\nphase state error,,,,,10\ninput return loss,,,15,,\n\
                output return loss,,,25,,\ninput return loss,11,,15,,\ninsertion loss,20,30,,4,\n";
    let report = folder::report(&files(), settings(rows), 3);
    let [gain, phase] = judged(&report, 0)[..] else { panic!("two fields") };
    let (verdict, deciding) = decides(gain);
    assert_eq!((verdict, phase), (Verdict::Fails, None));
    // Codes 3 and 4 are 0.1 dB off; rounding decides between them.
    assert!((deciding.value.abs() - 0.1).abs() < 1e-9 && [3, 4].contains(&deciding.word.unwrap().0));

    let (verdict, deciding) = decides(judged(&report, 1)[1]);
    assert_eq!(verdict, Verdict::Holds);
    assert!((deciding.value - 4.0).abs() < 1e-9 && deciding.word == Some(Word(3 << 3)));

    // Word 5 is a code of the gain field alone: −20·log10 0.2 = 13.979 dB.
    let [gain, phase] = judged(&report, 2)[..] else { panic!("two fields") };
    let (verdict, deciding) = decides(gain);
    assert_eq!((verdict, deciding.word, deciding.frequency_hz), (Verdict::Fails, Some(Word(5)), 9.5e9));
    assert!((deciding.value - 13.979_400).abs() < 1e-5);
    assert_eq!(decides(phase).0, Verdict::Holds);
    // −20·log10 0.05 = 26.021 dB.
    let (verdict, deciding) = decides(judged(&report, 3)[0]);
    assert!(verdict == Verdict::Holds && (deciding.value - 26.020_600).abs() < 1e-5);
    assert_eq!(decides(judged(&report, 4)[0]).0, Verdict::Holds);
    assert_eq!(judged(&report, 5)[0].map(|judgement| judgement.verdict), Some(Verdict::NotMeasured));
}

/// Only word 5 at 9.5 GHz, the fourth frequency, reflects more than 15 dB allow; no phase is off by more than 4°.
#[test]
fn a_specification_is_told_along_the_frequency_axis() {
    let rows = "input return loss,9,10,15,,\nphase state error,10,30,,,10\ninsertion loss,10,,,30,\n\
                insertion loss,20,30,,4,\n";
    let report = folder::report(&files(), settings(rows), 3);
    let mut expected = vec![false; POINTS];
    expected[3] = true;
    assert_eq!(is_broken_at(&report), expected);
    let bands = specified_bands(&report);
    let told: Vec<_> = bands.iter().map(|band| (band.from_hz, band.to_hz, &band.labels[0][..])).collect();
    // What lies beyond the grid, which ends at 12 GHz, is not drawn.
    assert_eq!(told, [(9e9, 10e9, "Input return loss at least 15 dB, broken"), (10e9, 12e9, "2 limits")]);
    assert_eq!(bands[0].labels[1], "1 limit, broken");
    assert_eq!(
        broken_sentence(&report).as_deref(),
        Some(
            "Of the 4 limits specified 1 is broken, at 1 of 9 frequencies, drawn thick; 1 could not be decided or was not \
             measured."
        )
    );
    let kept = folder::report(&files(), settings("phase state error,10,30,,,10\n"), 1);
    assert_eq!(broken_sentence(&kept).as_deref(), Some("The limit specified is broken nowhere."));
    assert_eq!(is_broken_at(&kept), [false; POINTS]);
    // Nothing was measured from 20 GHz on, and no field of a gain is there for a phase.
    let open = folder::report(&files(), settings("insertion loss,20,30,,4,\n"), 1);
    let untold = "The limit specified could not be decided or was not measured.";
    assert_eq!(broken_sentence(&open).as_deref(), Some(untold));
    assert_eq!(broken_sentence(&folder::report(&files(), settings(""), 1)), None);
}

/// The limit is set about the measured value itself: four deviations of its noise away decide, one does not.
#[test]
fn the_noise_that_the_checks_find_decides_what_can_be_decided() {
    let bench = Bench::attenuator(41);
    let run = bench.run().with_noise(&bench, -60.0, 1);
    let mut folder = Folder::default();
    for (word, trace) in run.words.iter().zip(&run.traces) {
        let mut text = "# Hz S RI R 50\n".to_owned();
        for (hz, s) in run.frequency_hz.iter().zip(trace) {
            writeln!(text, "{hz} 0.1 0.02 {} {} {} {} -0.05 0.08", s.re, s.im, s.re, s.im).unwrap();
        }
        folder = folder.with(&format!("unit_{:02}.s2p", word.0), text);
    }
    let specified = |at_most: f64| Settings {
        specification: read_specification(&format!("figure,at_most\nrms gain error,{at_most}\n")).unwrap(),
        ..Settings::default()
    };
    let (mut conductor, mut shares) = in_turn::run("folder", &folder, specified(1000.0), 2);
    let report = in_turn::report(&conductor).unwrap();
    let field = (0..parts(report).fields.len()).find(|&field| judged(report, 0)[field].is_some());
    let worst = decides(judged(report, 0)[field.expect("a gain field")]).1;
    let noise = worst.noise.expect("a noise");
    assert!(noise > 0.0);
    for (deviations, expected) in [
        (4.0, Verdict::Holds),
        (1.0, Verdict::NotDecidable(Undecided::Noise)),
        (-1.0, Verdict::NotDecidable(Undecided::Noise)),
        (-4.0, Verdict::Fails),
    ] {
        conductor.set_settings(specified(worst.value + deviations * noise));
        in_turn::drive(&mut conductor, &mut shares, &folder);
        let report = in_turn::report(&conductor).unwrap();
        let judgement = judged(report, 0)[field.unwrap()];
        assert_eq!(decides(judgement).0, expected, "{deviations} deviations");
    }
}

#[test]
fn what_is_missing_is_told() {
    let specified = settings("phase state error,,,,,10\n");
    let without =
        |word: u32| folder::report(&files().without(&format!("w_{word}.s2p")), specified.clone(), 2);
    let report = without(3 << 3);
    assert_eq!(graded(&report, 1).missing, [Word(3 << 3)]);
    assert_eq!(
        judged(&report, 0)[1].map(|judgement| judgement.verdict),
        Some(Verdict::NotDecidable(Undecided::Unmeasured(1)))
    );
    let report = without(0);
    for field in &parts(&report).fields {
        assert_eq!(field.graded, Err(SliceError::NoCodeZero(Word(0))));
        assert!(field.judgements.is_empty());
    }
    let beyond = Settings { layout: None, held_codes: vec![0, 9], ..specified };
    let report = folder::report(&files(), beyond, 2);
    assert!(parts(&report).fields.iter().any(|field| field.graded.is_err()), "there is no code 9");
}

/// 0, 1, 2.05 and 3 dB, listed by name: a gain field of an even step of 1 dB, and no phase field.
#[test]
fn listed_settings_are_graded_by_quantity() {
    let mut folder = Folder::default();
    for (nominal_db, loss_db) in [(0, 3.0), (1, 4.0), (2, 5.05), (3, 6.0)] {
        let magnitude = 10_f64.powf(-loss_db / 20.0);
        let text = format!(
            "# GHz S MA R 50\n8 0.1 0 {magnitude} 0 {magnitude} 0 0.1 0\n9 0.1 0 {magnitude} 0 {magnitude} 0 0.1 0\n"
        );
        folder = folder.with(&format!("att_-{nominal_db}dB.s2p"), text);
    }
    let report = folder::report(&folder, Settings::default(), 2);
    assert!(report.intake.listed.is_some());
    assert_eq!(parts(&report).fields.len(), 1);
    let errors = &graded(&report, 0).at[1].state_errors;
    for (error, expected) in errors.iter().zip([0.0, 0.0, 0.05, 0.0]) {
        assert!((error - expected).abs() < 1e-9, "{errors:?}");
    }
    assert_eq!(graded(&report, 0).slice.even_step, Some(1.0));
}
