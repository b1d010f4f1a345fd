//! What the sheet says of a run whose fields are graded: planted errors, figures worked by hand from METRICS'
//! definitions.

mod folder;

use folder::Folder;
use std::fmt::Write;
use sweepfold::control::{Direction, Field, Layout, Quantity};
use sweepfold::part::read_specification;
use sweepfold::pipeline::{Report, Settings};
use sweepfold::sheet::parts::LineVerdict;
use sweepfold::sheet::{Answer, Sheet, ToolFacts, Verdict};

/// Phases of 0, 92, 177 and 274° lag (errors 0, 2, −3, 4°) and attenuations of 0, 0.6, 0.9 and 1.5 dB (errors 0, 0.1,
/// −0.1, 0 dB), without noise, so that the noise found is that of rounding. The loss of code 0 is 3 dB.
fn files() -> Folder {
    let (attenuation_db, lag_deg) = ([0.0, 0.6, 0.9, 1.5], [0.0, 92.0, 177.0, 274.0]);
    let text = |word: usize| {
        let mut text = "# GHz S MA R 50\n".to_owned();
        for point in 0..9 {
            let ghz = 8.0 + 0.5 * f64::from(point);
            let magnitude = 10_f64.powf(-(3.0 + attenuation_db[word & 3]) / 20.0);
            let turn = -lag_deg[word >> 2];
            writeln!(text, "{ghz} 0.1 20 {magnitude} {turn} {magnitude} {turn} 0.1 -40").unwrap();
        }
        text
    };
    (0..16).fold(Folder::default(), |folder, word| folder.with(&format!("w_{word}.s2p"), text(word)))
}

fn report(rows: &str) -> Report {
    let layout = Layout {
        fields: vec![
            Field::contiguous(Quantity::Gain, 0, 2, 0.5, Direction::Down),
            Field::contiguous(Quantity::Phase, 2, 2, 90.0, Direction::Down),
        ],
    };
    let table = format!("figure,from_ghz,to_ghz,at_least,at_most,plus_minus\n{rows}");
    let specification = read_specification(&table).expect("a specification");
    folder::report(&files(), Settings { layout: Some(layout), specification, ..Settings::default() }, 2)
}

fn sheet(report: &Report) -> Sheet {
    Sheet::of(report, &ToolFacts::on("2026-01-31"))
}

fn answer(report: &Report) -> Answer {
    sheet(report).answer("parts").expect("the question").clone()
}

/// √((0.01 + 0.01)/3) = 0.0816 dB; 2.586° is worked by hand in `part.rs`.
#[test]
fn without_limits_the_errors_stand_for_themselves() {
    let answer = answer(&report(""));
    assert_eq!(
        answer.sentence,
        "From 8 to 12 GHz, the RMS state error is at most 0.082 dB of the gain field at 8 GHz and 2.6° of the phase \
         field at 8 GHz; no limits were given to hold that against."
    );
    assert_eq!((answer.number, answer.verdict), (3, None));
    let figure =
        |name: &str| answer.figures.iter().find(|figure| figure.name == name).map(|figure| figure.value);
    assert!((figure("field_rms_gain_error_db").unwrap() - (0.02_f64 / 3.0).sqrt()).abs() < 1e-9);
    assert!((figure("field_rms_phase_error_deg").unwrap() - 2.586_020).abs() < 2e-6);
    assert!((figure("code_zero_loss_db").unwrap() - 3.0).abs() < 1e-9);
    // √(29/4), √(29/3) and √(26.75/3): the handbook's ways of counting, each with its name.
    let counted = answer.notes.iter().find(|note| note.text.contains("of the phase field at 10 GHz"));
    assert_eq!(
        counted.expect("the ways of counting").text,
        "RMS phase error of the phase field at 10 GHz: 2.6° with the mean taken out, all codes counted. Counted \
         otherwise: 2.7° with the mean kept, 3.1° with the mean kept and code 0 not counted and 3.0° as the sample \
         deviation."
    );
    // The part was made without cross-effects.
    let counted =
        answer.notes.iter().find(|note| note.text.starts_with("RMS gain over the codes of the phase field"));
    assert_eq!(
        counted.expect("the ways of counting").text,
        "RMS gain over the codes of the phase field at 10 GHz: 0 dB from the mean of all codes. Counted otherwise: 0 dB \
         from code 0 with all codes counted, 0 dB from code 0 without counting it, 0 dB from the mean of the voltage ratios \
         and 0 dB from the mean of the power ratios."
    );
}

#[test]
fn rows_that_all_hold_are_told_with_the_tightest() {
    let report = report("rms phase error,,,,3,\ngain state error,,,,,0.4\ninsertion loss,,,,4,\n");
    let answer = answer(&report);
    // 0.414 of 3° are left, 0.3 of 0.4 dB and 1 of 4 dB.
    assert_eq!(
        answer.sentence,
        "All 3 rows of the specification hold; nearest to its limit, rms phase error is 2.6° at 8 GHz, inside its \
         limit of at most 3° by 0.41°."
    );
    assert_eq!(answer.verdict, Some(Verdict::Holds));
    let lines = sheet(&report).specification;
    assert_eq!(
        lines.iter().map(|line| line.limits.as_str()).collect::<Vec<_>>(),
        ["at most 3°", "within ±0.4 dB", "at most 4 dB"]
    );
    assert!(lines.iter().all(|line| line.verdict == Some(LineVerdict::Holds)));
    assert_eq!(lines[0].word, None);
}

#[test]
fn rows_that_fail_are_told_with_the_word_and_the_frequency() {
    let report = report("rms phase error,,,,3,\nphase state error,,,,,3.5\nphase state error,20,30,,,3.5\n");
    let answer = answer(&report);
    assert_eq!(
        answer.sentence,
        "1 of 3 rows of the specification fails: phase state error is 4.0° at word 12 at 8 GHz, outside its limit \
         of at most 3.5° by 0.50°; 1 cannot be decided."
    );
    assert_eq!(answer.verdict, Some(Verdict::Fails));
    let lines = sheet(&report).specification;
    assert_eq!(lines[1].word, Some(12));
    assert_eq!(lines[2].verdict, Some(LineVerdict::NotMeasured));
    assert_eq!(lines[2].sentence, "Nothing was measured of phase state error in that band.");
}

/// 4.0° are 0.5 of 3.5° too much, a seventh; 3 dB are 5 of 8 dB too little.
#[test]
fn of_rows_that_fail_the_one_farthest_outside_is_told() {
    let report = report("phase state error,,,,,3.5\ninsertion loss,,,8,,\n");
    assert_eq!(
        answer(&report).sentence,
        "Both rows of the specification fail: insertion loss is 3.0 dB at word 0 at 8 GHz, outside its limit of at least \
         8 dB by 5.0 dB, and 1 row more."
    );
}

#[test]
fn what_cannot_be_decided_is_no_success() {
    let mut report = report("rms phase error,,,,3,\n");
    let parts = report.parts.as_ref().expect("graded");
    let mut waiting = (**parts).clone();
    waiting.is_judged = false;
    report.parts = Some(waiting.into());
    let unjudged = answer(&report);
    assert_eq!(unjudged.verdict, None);
    assert_eq!(
        unjudged.sentence,
        "The fields are graded; 1 row of the specification is judged once the checks of the run have told its noise."
    );
    report.parts = None;
    assert_eq!(answer(&report).sentence, "The fields are being graded.");
}

#[test]
fn the_summary_has_the_verdicts() {
    let report = report("rms phase error,,,,3,\nphase state error,,,,,3.5\n");
    let json = sweepfold::export::make("summary.json", &report, &sheet(&report)).expect("a file");
    let summary: serde_json::Value = serde_json::from_slice(&json).expect("JSON");
    let rows = &summary["specification"];
    assert_eq!((&rows[0]["figure"], &rows[0]["verdict"]), (&"rms phase error".into(), &"holds".into()));
    assert_eq!((&rows[1]["word"], &rows[1]["verdict"]), (&12.into(), &"fails".into()));
    assert!((rows[1]["margin"].as_f64().expect("a number") + 0.5).abs() < 1e-9);
}
