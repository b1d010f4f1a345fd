//! Runs without bits: listed settings in dB or degrees, and marks that are names only.

mod folder;

use folder::{Folder, report};
use std::fmt::Write;
use sweepfold::control::{Direction, Field, Layout, Quantity, Setting, WantedSettings, Word};
use sweepfold::export::traces::GainSpan;
use sweepfold::export::{self, ExportRefused};
use sweepfold::pipeline::{LayoutOrigin, ListedPhases, Mapping, Report, Settings, UnsignedPhases};
use sweepfold::plane::ReferencePolicy;
use sweepfold::sheet::{Sheet, ToolFacts, Verdict};

/// A sweep of five frequencies at which the part does exactly this, behind a line.
fn sweep(gain_db: f64, phase_deg: f64) -> String {
    let mut text = "# GHz S DB R 50\n".to_owned();
    for point in 0..5 {
        let frequency_ghz = 2.0 + 0.1 * f64::from(point);
        let (gain, phase) = (gain_db - 3.0, phase_deg - 200.0 * frequency_ghz);
        writeln!(text, "{frequency_ghz} -20 0 {gain} {phase} {gain} {phase} -20 0")
            .expect("a string takes it");
    }
    text
}

fn sheet(report: &Report) -> Sheet {
    Sheet::of(report, &ToolFacts::on("2026-01-31"))
}

fn sentence(report: &Report, key: &str) -> String {
    sheet(report).answer(key).expect("answered").sentence.clone()
}

/// An attenuator named by its settings, each 0.1 dB too lossy.
fn attenuator() -> Folder {
    (0..16).fold(Folder::default(), |folder, step| {
        let nominal_db = -0.5 * f64::from(step);
        let error_db = if step == 0 { 0.0 } else { -0.1 };
        folder.with(&format!("{nominal_db}dB.s2p"), sweep(nominal_db + error_db, 0.0))
    })
}

#[test]
fn settings_in_decibels_are_nominal_values() {
    let report = report(&attenuator(), Settings::default(), 2);
    let analysis = report.analysis.as_ref().expect("analysed");
    assert_eq!(analysis.layout_origin, LayoutOrigin::Listed(ListedPhases::AsWritten));
    assert_eq!((report.intake.bits, report.intake.states.len()), (0, 16));
    // Ranks ascend with the numbers as they are written: −7.5 dB is word 0 and 0 dB word 15.
    assert_eq!(analysis.model.zero_word(), Word(15));
    assert_eq!(analysis.model.nominal(Word(0)), Some(Setting { gain_db: -7.5, phase_deg: 0.0 }));
    assert_eq!((analysis.tolerance.gain_db, analysis.tolerance.phase_deg), (0.25, f64::INFINITY));
    let nominal = analysis.frequencies[2].nominal.expect("there is a nominal mapping");
    // 15 of 16 settings off by 0.1 dB.
    assert!((nominal.rms_gain_error_db - 0.1 * (15.0_f64 / 16.0).sqrt()).abs() < 1e-9);
    assert_eq!(nominal.within_both_pct, 100.0);
    assert_eq!(report.comparison.as_ref().expect("compared").ladder[0].mapping, Mapping::Nominal);
    assert!(analysis.bit_weights.is_empty());
    assert_eq!(
        sentence(&report, "came-in"),
        "16 settings from −7.5 dB to 0 dB came in, none missing: 5 frequencies from 2.0 to 2.4 GHz."
    );
    let refused = export::make("word-table.hex", &report, &sheet(&report)).expect_err("no bits");
    assert_eq!(refused, ExportRefused::NoBits);
    assert!(export::make("word-table.csv", &report, &sheet(&report)).is_ok());
}

#[test]
fn a_listed_setting_whose_file_cannot_be_used_is_missing() {
    let folder = attenuator().with("-3dB.s2p", "# GHz S DB R 50\n2 -20 0 oops");
    let report = report(&folder, Settings::default(), 2);
    assert!(
        sentence(&report, "came-in")
            .starts_with("15 of 16 listed settings came in; for −3 dB no usable file came: ")
    );
    assert_eq!(sheet(&report).answer("came-in").expect("answered").verdict, Some(Verdict::Fails));
    let missing = sweepfold::sheet::missing(&report.intake, 200).expect("one is missing");
    assert_eq!((missing.summary.as_str(), missing.names.as_str()), ("1 missing setting", "−3 dB"));
    let analysis = report.analysis.as_ref().expect("the rest goes on");
    assert_eq!(analysis.frequencies[0].nominal.map(|nominal| nominal.missing), Some(1));
}

/// Phases from 0 to 330 degrees, written without a sign, of a part that lags.
#[test]
fn phases_without_a_sign_are_taken_as_the_measurements_say() {
    let folder = |sign: f64| {
        (0..12).fold(Folder::default(), |folder, step| {
            let phase = 30.0 * f64::from(step);
            folder.with(&format!("ps_{phase}deg.s2p"), sweep(0.0, sign * phase))
        })
    };
    for (sign, lags) in [(1.0, false), (-1.0, true)] {
        let report = report(&folder(sign), Settings::default(), 1);
        let analysis = report.analysis.as_ref().expect("analysed");
        assert_eq!(analysis.layout_origin, LayoutOrigin::Listed(ListedPhases::Guessed { lags }));
        let nominal = analysis.frequencies[0].nominal.expect("scored");
        assert!(nominal.rms_phase_error_deg < 1e-9, "{nominal:?}");
        let saved = export::make("settings.json", &report, &sheet(&report)).expect("made");
        let saved = Settings::read(std::str::from_utf8(&saved).expect("UTF-8")).expect("settings");
        let right = if lags { UnsignedPhases::Lags } else { UnsignedPhases::Leads };
        assert_eq!(saved.unsigned_phases, right, "the guess is written down");
    }
}

/// The user knows better than the measurements, while they run and from the start. By hand: twelve phases of a lagging
/// part, taken as leads, are off by twice 0, 30 … 330 degrees, wrapped: 0, 60, 120, 180, 120 and 60 twice over, whose
/// root mean square is √((0 + 4·60² + 4·120² + 2·180²)/12) with the two zeros.
#[test]
fn the_user_says_whether_phases_without_a_sign_lag_or_lead() {
    let folder = (0..12).fold(Folder::default(), |folder, step| {
        let phase = 30.0 * f64::from(step);
        folder.with(&format!("ps_{phase}deg.s2p"), sweep(0.0, -phase))
    });
    let leads = Settings { unsigned_phases: UnsignedPhases::Leads, ..Settings::default() };
    let given = report(&folder, leads.clone(), 1);
    let analysis = given.analysis.as_ref().expect("analysed");
    assert_eq!(analysis.layout_origin, LayoutOrigin::Listed(ListedPhases::Given { lags: false }));
    let rms_deg =
        ((4.0 * 60.0_f64.powi(2) + 4.0 * 120.0_f64.powi(2) + 2.0 * 180.0_f64.powi(2)) / 12.0).sqrt();
    let nominal = analysis.frequencies[0].nominal.expect("scored");
    assert!((nominal.rms_phase_error_deg - rms_deg).abs() < 1e-6, "{nominal:?} is not {rms_deg}");
    let said = sheet(&given).answer("came-in").expect("answered").notes.clone();
    assert!(said.iter().any(|note| note.text.contains("They are leads, as you gave it.")), "{said:?}");

    let (mut conductor, mut shares) =
        sweepfold::pipeline::in_turn::run("folder", &folder, Settings::default(), 2);
    conductor.set_settings(leads);
    sweepfold::pipeline::in_turn::drive(&mut conductor, &mut shares, &folder);
    let changed = sweepfold::pipeline::in_turn::report(&conductor).expect("complete");
    assert_eq!(folder::told(changed), folder::told(&given));

    // A sign that is written is not overruled: −90 is a lag whatever is said of the others.
    let signed = (0..4).fold(Folder::default(), |folder, step| {
        let phase = -30.0 * f64::from(step);
        folder.with(&format!("ps_{phase}deg.s2p"), sweep(0.0, phase))
    });
    let lags = Settings { unsigned_phases: UnsignedPhases::Lags, ..Settings::default() };
    let origin = report(&signed, lags, 1).analysis.expect("analysed").layout_origin;
    assert_eq!(origin, LayoutOrigin::Listed(ListedPhases::AsWritten));
}

/// Ranks that are control words after all: the user's layout turns the listing into bits, and taking it back restores
/// the listing.
#[test]
fn a_layout_given_for_a_listing_makes_its_ranks_words() {
    let layout = Layout { fields: vec![Field::contiguous(Quantity::Gain, 0, 4, 0.5, Direction::Up)] };
    let settings = Settings { layout: Some(layout), ..Settings::default() };
    let (mut conductor, mut shares) = sweepfold::pipeline::in_turn::run("folder", &attenuator(), settings, 2);
    let given = sweepfold::pipeline::in_turn::report(&conductor).expect("complete").clone();
    assert_eq!(given.intake.bits, 4);
    assert!(given.analysis.as_ref().expect("analysed").layout().is_some());
    assert!(sentence(&given, "came-in").starts_with("16 words of 4 bits came in, none missing"));
    conductor.set_settings(Settings::default());
    sweepfold::pipeline::in_turn::drive(&mut conductor, &mut shares, &attenuator());
    let back = sweepfold::pipeline::in_turn::report(&conductor).expect("complete");
    assert_eq!(folder::told(back), folder::told(&report(&attenuator(), Settings::default(), 2)));
}

/// A tuned phase shifter from 0 to 10 V, 300 degrees in all, with 7.5 V left out.
fn tuned() -> Folder {
    (0..41).filter(|step| *step != 30).fold(Folder::default(), |folder, step| {
        let volts = 0.25 * f64::from(step);
        folder.with(&format!("V{volts}.s2p"), sweep(-0.02 * f64::from(step), -7.5 * f64::from(step)))
    })
}

#[test]
fn marks_have_no_nominal_words_and_are_scored_against_what_is_wanted() {
    let first = report(&tuned(), Settings::default(), 2);
    let analysis = first.analysis.as_ref().expect("analysed");
    assert_eq!(analysis.layout_origin, LayoutOrigin::Marks { proposed: true });
    // The arc from 0 back to −300 degrees holds 14 of the 16 phases, by hand.
    assert_eq!(analysis.targets.len(), 14);
    assert!(analysis.frequencies.iter().all(|at| at.nominal.is_none()));
    assert!(analysis.service.nominal.iter().all(Option::is_none));
    let ladder = &first.comparison.as_ref().expect("compared").ladder;
    assert!(ladder.iter().all(|rung| rung.mapping == Mapping::Chosen));
    assert_eq!(ladder.len(), ReferencePolicy::OFFERED.len());
    // Marks have no zero word: what stands for it goes by its own name.
    let sheet = sheet(&first);
    assert_eq!(sheet.ladder[0].label, "Chosen words, lowest mark as reference");
    assert_eq!(sheet.provenance.reference_rule.as_deref(), Some("lowest mark"));
    let said = [sheet.ladder.iter().map(|row| row.sentence.clone()).collect(), sentence(&first, "plane")];
    let said: String = said.concat();
    assert!(said.contains("lowest mark") && !said.contains("zero word"), "{said}");
    // Phases 7.5 degrees apart serve phases 22.5 degrees apart exactly, but for 7.5 V: 225 degrees. Its neighbours
    // are off by 7.5 degrees, within half of 22.5.
    assert_eq!(analysis.frequencies[0].chosen.within_both_pct, 100.0);
    assert!((analysis.frequencies[0].chosen.rms_phase_error_deg - 7.5 / 14.0_f64.sqrt()).abs() < 1e-6);
    assert!(
        sentence(&first, "came-in").starts_with(
            "40 states from 0 V to 10 V came in; 7.5 V is missing from the series in steps of 0.25 V: "
        ),
        "{}",
        sentence(&first, "came-in")
    );
    assert!(
        sentence(&first, "words").contains("There are no nominal words"),
        "{}",
        sentence(&first, "words")
    );

    let wanted = WantedSettings { gains_db: vec![0.0], phases_deg: vec![0.0, -90.0, -180.0, -270.0] };
    let settings = Settings { wanted: Some(wanted), ..Settings::default() };
    let second = report(&tuned(), settings, 2);
    let analysis = second.analysis.as_ref().expect("analysed");
    assert_eq!(analysis.layout_origin, LayoutOrigin::Marks { proposed: false });
    assert_eq!(analysis.targets.len(), 4);
    assert_eq!(analysis.tolerance.phase_deg, 45.0);
}

#[test]
fn exports_leave_what_marks_do_not_have_empty() {
    let report = report(&tuned(), Settings::default(), 2);
    let text = |name: &str| {
        let bytes =
            export::make(name, &report, &sheet(&report)).unwrap_or_else(|refused| panic!("{refused}"));
        String::from_utf8(bytes).expect("text")
    };
    for (name, empty) in
        [("word-table.csv", "nominal_word"), ("per-frequency.csv", "nominal_rms_gain_error_db")]
    {
        let table = text(name);
        let mut rows = table.lines().map(|line| line.split(',').collect::<Vec<_>>());
        let header = rows.next().expect("a header");
        let column = header.iter().position(|name| *name == empty).expect("the column");
        let chosen = header.iter().position(|name| name.starts_with("chosen")).expect("the column");
        for row in rows {
            assert_eq!((row.len(), row[column]), (header.len(), ""), "{name}");
            assert!(!row[chosen].is_empty(), "{name}");
        }
    }
    let summary: serde_json::Value = serde_json::from_str(&text("summary.json")).expect("JSON");
    assert!(summary["scores"]["at_frequency"]["nominal"].is_null());
    assert!(summary["scores"]["at_frequency"]["chosen"]["within_both_pct"].is_number());
    // The proposal is written down, so that the file restores what the answers stand on.
    let settings = Settings::read(&text("settings.json")).expect("settings");
    assert_eq!(settings.wanted.expect("wanted").phases_deg.len(), 14);
    assert_eq!(export::make("word-table.hex", &report, &sheet(&report)), Err(ExportRefused::NoBits));
}

/// Every gain of every state is within the axis of the density plot, over the whole grid and not at one frequency only:
/// the gains are those that the files state, relative to the lowest mark. By hand, a part whose last mark falls to
/// −30.5 dB at the grid's end.
#[test]
fn the_gain_axis_of_the_density_spans_what_the_states_do() {
    let gain_db =
        |mark: u32, point: u32| -0.5 * f64::from(mark) - if mark == 5 { 7.0 * f64::from(point) } else { 0.0 };
    let folder = |deepest_db: f64| {
        (0..6).fold(Folder::default(), |folder, mark| {
            let mut text = "# GHz S DB R 50\n".to_owned();
            for point in 0..5 {
                let gain = if mark == 3 { deepest_db } else { gain_db(mark, point) } - 4.0;
                writeln!(text, "{} -20 0 {gain} {} {gain} 0 -20 0", 2.0 + 0.1 * f64::from(point), 40 * mark)
                    .expect("a string takes it");
            }
            folder.with(&format!("V{mark}.s2p"), text)
        })
    };
    let span = |folder: &Folder| {
        GainSpan::of(&report(folder, Settings::default(), 2).analysis.expect("analysed").frequencies)
    };
    // From −2.5 − 28 dB to 0 dB; 4 % of 30.5 dB is 1.22 dB.
    let whole = span(&folder(-1.5));
    assert!(!whole.is_cut);
    assert!((whole.low_db + 31.72).abs() < 1e-6 && (whole.high_db - 1.22).abs() < 1e-6, "{whole:?}");
    // A state at −300 dB is no trace that an axis can hold: it is cut, and the page says so.
    let cut = span(&folder(-300.0));
    assert!(cut.is_cut && (cut.low_db + 100.0).abs() < 1e-6, "{cut:?}");
    // A phase shifter that changes no gain gets 1 dB all the same.
    let level = (0..6).fold(Folder::default(), |folder, mark| {
        folder.with(&format!("V{mark}.s2p"), sweep(0.0, 30.0 * f64::from(mark)))
    });
    let level = span(&level);
    assert!((level.low_db + 0.5).abs() < 1e-6 && (level.high_db - 0.5).abs() < 1e-6, "{level:?}");
}
