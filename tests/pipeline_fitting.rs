//! Files that do not fit the run as they are: other frequencies, another reference impedance, more than two ports.

mod folder;

use folder::{Folder, POINTS, path, report, sweep, told, whole};
use num_complex::Complex64;
use std::fmt::Write;
use sweepfold::control::{Direction, Field, Layout, Quantity};
use sweepfold::pipeline::{Report, Settings, in_turn};
use sweepfold::run::{Interpolation, LeftOutReason, PortPath};
use sweepfold::sheet::{NoteKind, Sheet, ToolFacts};

fn reason(report: &Report, path: &str) -> Option<LeftOutReason> {
    let found = report.intake.left_out.iter().find(|file| file.path == path);
    found.map(|file| file.reason.clone())
}

/// The transmission of a word at the chosen frequency, the middle one.
fn transmission(report: &Report, word: u32) -> Complex64 {
    let at = report.intake.states.iter().position(|state| state.word.0 == word).expect("a state");
    report.analysis.as_ref().expect("analysed").service.transmission[at]
}

/// The fixture's sweep of a word at other frequencies.
fn sweep_at(word: u32, frequencies_ghz: &[f64]) -> String {
    let mut text = "# GHz S DB R 50\n".to_owned();
    for frequency_ghz in frequencies_ghz {
        let gain_db = -6.0 - f64::from(word & 3);
        let phase_deg = -40.0 * frequency_ghz - 45.0 * f64::from(word >> 2 & 7);
        writeln!(text, "{frequency_ghz} -20 10 {gain_db} {phase_deg} {gain_db} {phase_deg} -18 -30")
            .expect("a string takes it");
    }
    text
}

#[test]
fn another_grid_is_interpolated_only_when_asked_for() {
    // The run has 8, 8.5, … 11 GHz; the middle is 9.5 GHz.
    let denser: Vec<f64> = (0..13).map(|k| 8.0 + 0.25 * f64::from(k)).collect();
    let sparser = [7.5, 9.0, 10.0, 11.5];
    let folder = whole()
        .with(&path(5), sweep_at(5, &denser))
        .with(&path(6), sweep_at(6, &sparser))
        .with(&path(9), sweep_at(9, &[8.5, 9.0, 9.5, 10.0, 11.0]));
    let silent = report(&folder, Settings::default(), 2);
    let offered = |path: &str| match reason(&silent, path) {
        Some(LeftOutReason::OtherGrid {
            interpolation: Interpolation::Offered { largest_error }, ..
        }) => largest_error,
        other => panic!("{path}: {other:?}"),
    };
    // 40 degrees a gigahertz: 10 degrees between the denser points, 60 between the sparser ones; 1 − cos of half.
    assert!((offered(&path(5)) - 0.003_805_301_9).abs() < 1e-9);
    assert!((offered(&path(6)) - 0.133_974_596_2).abs() < 1e-9);
    assert_eq!(silent.intake.missing.len(), 3);

    let settings = Settings { interpolate: true, ..Settings::default() };
    let asked = report(&folder, settings.clone(), 2);
    assert_eq!((asked.intake.missing.len(), asked.intake.adapted.len()), (1, 2));
    assert!(matches!(
        reason(&asked, &path(9)),
        Some(LeftOutReason::OtherGrid { interpolation: Interpolation::Outside, .. })
    ));
    // On a denser grid every frequency of the run was measured.
    let plain = report(&whole(), Settings::default(), 2);
    assert!((transmission(&asked, 5) - transmission(&plain, 5)).norm() < 1e-15);
    // 9.5 GHz lies in the middle between 9 and 10 GHz.
    let at = |frequency_ghz: f64| {
        Complex64::from_polar(10_f64.powf(-8.0 / 20.0), (-40.0 * frequency_ghz - 45.0).to_radians())
    };
    assert!((transmission(&asked, 6) - (at(9.0) + at(10.0)) / 2.0).norm() < 1e-15);
    let sheet = Sheet::of(&asked, &ToolFacts::on("2026-01-31"));
    let notes = &sheet.answer("came-in").expect("answered").notes;
    assert!(notes.iter().any(|note| note.kind == NoteKind::Attention && note.text.contains("2 states were")));

    // Asked for later, and taken back.
    let (mut conductor, mut shares) = in_turn::run("folder", &folder, Settings::default(), 2);
    for wanted in [settings, Settings::default()] {
        conductor.set_settings(wanted.clone());
        in_turn::drive(&mut conductor, &mut shares, &folder);
        let now = in_turn::report(&conductor).expect("complete");
        assert_eq!(told(now), told(&report(&folder, wanted, 2)));
    }
}

/// A series impedance Z has S21 = 2·Z0/(2·Z0 + Z) and S11 = Z/(2·Z0 + Z) at any reference Z0 (the voltage divider).
fn series(word: u32, reference_ohm: f64, one_path: bool) -> String {
    let impedance = Complex64::new(20.0, 15.0 * f64::from(word));
    let total = 2.0 * reference_ohm + impedance;
    let (s21, s11) = (2.0 * reference_ohm / total, impedance / total);
    let (s12, s22) = if one_path { (Complex64::ZERO, Complex64::ZERO) } else { (s21, s11) };
    let mut text = format!("# GHz S RI R {reference_ohm}\n");
    for point in 0..POINTS {
        let values = [s11, s21, s12, s22].map(|s| format!("{} {}", s.re, s.im)).join(" ");
        writeln!(text, "{} {values}", 8 + point).expect("a string takes it");
    }
    text
}

#[test]
fn another_reference_impedance_is_renormalised_or_left_out_and_said_either_way() {
    let name = |word: u32| format!("word_{word}.s2p");
    // The part is none of ours: its steps follow from no bits, so the layout is given.
    let field = Field::contiguous(Quantity::Gain, 0, 3, 1.0, Direction::Down);
    let settings = Settings { layout: Some(Layout { fields: vec![field] }), ..Settings::default() };
    let folder = (0..8)
        .fold(Folder::default(), |folder, word| folder.with(&name(word), series(word, 50.0, false)))
        .with(&name(3), series(3, 75.0, false))
        .with(&name(6), series(6, 75.0, true));
    let fitted = report(&folder, settings.clone(), 2);
    assert_eq!(fitted.intake.missing.len(), 1);
    assert_eq!(
        reason(&fitted, &name(6)),
        Some(LeftOutReason::OtherReference { reference_ohm: [75.0; 2], one_path: true })
    );
    let expected = 100.0 / (100.0 + Complex64::new(20.0, 45.0));
    // The reflections are kept in single precision, which is seen in a seventh digit.
    let found = transmission(&fitted, 3);
    assert!((found - expected).norm() < 1e-7, "{found} is not {expected}");
    let sheet = Sheet::of(&fitted, &ToolFacts::on("2026-01-31"));
    let said = &sheet.answer("came-in").expect("answered").notes;
    assert!(said.iter().any(|note| note.text == "1 state was renormalised from 75 Ω to the run's 50 Ω."));

    let strict = Settings { leave_out_other_references: true, ..settings };
    let left = report(&folder, strict, 2);
    assert_eq!(
        reason(&left, &name(3)),
        Some(LeftOutReason::OtherReference { reference_ohm: [75.0; 2], one_path: false })
    );
}

/// A three-port whose path from 1 to 2 is the fixture's, and from 1 to 3 the same 3 dB down.
fn three_port(word: u32) -> String {
    let mut text = "# GHz S DB R 50\n".to_owned();
    for line in sweep(word).lines().filter(|line| !line.starts_with(['!', '#'])) {
        let values: Vec<f64> = line.split(' ').map(|value| value.parse().expect("a number")).collect();
        let (frequency_ghz, gain_db, phase_deg) = (values[0], values[3], values[4]);
        let near = format!("{gain_db} {phase_deg}");
        let far = format!("{} {phase_deg}", gain_db - 3.0);
        writeln!(text, "{frequency_ghz} -20 10 {near} {far}\n{near} -18 -30 -40 0\n{far} -40 0 -15 60")
            .expect("a string takes it");
    }
    text
}

#[test]
fn the_user_picks_the_path_through_more_than_two_ports() {
    let name = |word: u32| path(word).replace(".s2p", ".s3p");
    let folder = (0..32).fold(Folder::default(), |folder, word| folder.with(&name(word), three_port(word)));
    let plain = transmission(&report(&whole(), Settings::default(), 2), 13);
    let to = |output| Settings { path: Some(PortPath { input: 1, output }), ..Settings::default() };

    let proposed = report(&folder, Settings::default(), 2);
    assert_eq!((proposed.intake.most_ports, proposed.intake.states.len()), (3, 32));
    assert!((transmission(&proposed, 13) - plain).norm() < 1e-15);
    let sheet = Sheet::of(&proposed, &ToolFacts::on("2026-01-31"));
    let notes = &sheet.answer("came-in").expect("answered").notes;
    assert!(
        notes.iter().any(|note| note.kind == NoteKind::Guess && note.text.contains("from port 1 to port 2"))
    );

    let (mut conductor, mut shares) = in_turn::run("folder", &folder, Settings::default(), 2);
    conductor.set_settings(to(3));
    in_turn::drive(&mut conductor, &mut shares, &folder);
    let picked = in_turn::report(&conductor).expect("complete");
    assert!((transmission(picked, 13) - plain * 10_f64.powf(-3.0 / 20.0)).norm() < 1e-15);
    // −15 dB at port 3 instead of −18 dB at port 2.
    assert!((picked.intake.largest_s22 - 10_f64.powf(-15.0 / 20.0)).abs() < 1e-12);
    assert_eq!(told(picked), told(&report(&folder, to(3), 2)));

    let absent = report(&folder, to(4), 2);
    assert_eq!(
        reason(&absent, &name(0)),
        Some(LeftOutReason::NoSuchPath { ports: 3, path: PortPath { input: 1, output: 4 } })
    );
}
