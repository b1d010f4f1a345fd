//! Every guess says in words that it is one, why it was made, and where to correct it; what the user or the files said
//! is no guess.

mod folder;

use folder::{Folder, path, report, sweep, whole};
use std::fmt::Write;
use sweepfold::pipeline::{Report, Settings, UnsignedPhases};
use sweepfold::run::PortPath;
use sweepfold::sheet::{Note, NoteKind, Sheet, ToolFacts};

/// The notes of every question, each guess held to its form.
fn notes(report: &Report) -> Vec<Note> {
    let sheet = Sheet::of(report, &ToolFacts::on("2026-01-31"));
    let notes: Vec<Note> = sheet.answers.iter().flat_map(|answer| answer.notes.clone()).collect();
    for note in &notes {
        let parts = ["A guess: ", " Why: ", " To correct it: "].map(|part| note.text.find(part));
        if note.kind == NoteKind::Guess {
            assert!(parts[0] == Some(0) && parts[0] < parts[1] && parts[1] < parts[2], "{}", note.text);
        } else {
            assert_eq!(parts, [None; 3], "{}", note.text);
        }
    }
    notes
}

/// Of the one note that holds a text, what it is.
fn kind(report: &Report, holds: &str) -> Option<NoteKind> {
    let notes = notes(report);
    let found: Vec<&Note> = notes.iter().filter(|note| note.text.contains(holds)).collect();
    assert!(found.len() <= 1, "{found:?}");
    found.first().map(|note| note.kind)
}

fn defaults(folder: &Folder) -> Report {
    report(folder, Settings::default(), 2)
}

/// A two-port that does the same at every frequency.
fn flat(gain_db: f64, phase_deg: f64) -> String {
    let mut text = "# GHz S DB R 50\n".to_owned();
    for frequency_ghz in 2..7 {
        let through = format!("{gain_db} {phase_deg}");
        writeln!(text, "{frequency_ghz} -20 0 {through} {through} -20 0").expect("a string takes it");
    }
    text
}

fn named(files: impl IntoIterator<Item = (String, String)>) -> Folder {
    files.into_iter().fold(Folder::default(), |folder, (name, text)| folder.with(&name, text))
}

#[test]
fn the_reading_of_the_names_is_a_guess_until_it_is_chosen_or_given() {
    // Digits 0 and 1 alone: binary codes, or decimal ones with gaps.
    let folder = named((0..8).map(|word| (format!("w_{word:03b}.s2p"), sweep(word))));
    let proposed = defaults(&folder);
    let choices = &proposed.intake.naming_choices;
    assert!(choices.len() > 1, "{choices:?}");
    let said = |report: &Report| kind(report, report.intake.naming.split(' ').next_back().expect("a word"));
    assert_eq!(said(&proposed), Some(NoteKind::Guess));
    assert_eq!(kind(&proposed, "pick another reading below"), Some(NoteKind::Guess));

    let other = choices.iter().find(|choice| !choice.in_use).expect("another");
    let chosen = report(&folder, Settings { naming: Some(other.naming), ..Settings::default() }, 2);
    assert_eq!(kind(&chosen, "So you chose it."), Some(NoteKind::Remark));

    let rows: Vec<String> = (0..32).map(|word| format!("{},{word}", path(word))).collect();
    let indexed = defaults(&whole().with("index.csv", format!("file,word\n{}\n", rows.join("\n"))));
    assert_eq!(kind(&indexed, "The index gives each file its word."), Some(NoteKind::Remark));
}

#[test]
fn what_most_files_have_is_a_guess_where_files_differ_in_it() {
    assert_eq!(kind(&defaults(&whole()), "the run is meant to have"), None);
    let two_differ = whole().with(&path(5), flat(-6.0, 0.0)).with(&path(6), flat(-6.0, 0.0));
    let said = notes(&defaults(&two_differ));
    let of_grid = said.iter().find(|note| note.text.contains("the run is meant to have the 7 frequencies"));
    let of_grid = of_grid.expect("said");
    assert_eq!(of_grid.kind, NoteKind::Guess);
    assert!(of_grid.text.contains("2 files differ from them"), "{}", of_grid.text);

    let one_differs = whole().with(&path(5), sweep(5).replace("R 50", "R 75"));
    let of_ohms = "reference impedance is meant to be 50 Ω";
    assert_eq!(kind(&defaults(&one_differs), of_ohms), Some(NoteKind::Guess));
    assert_eq!(kind(&defaults(&whole()), of_ohms), None);
}

#[test]
fn the_path_through_more_ports_is_a_guess_until_it_is_given() {
    let three_port = |word: u32| {
        let text = format!("{}", -f64::from(word));
        let row = |a: &str, b: &str, c: &str| format!("{a} 0 {b} 0 {c} 0\n");
        (8..11).fold("# GHz S DB R 50\n".to_owned(), |file, ghz| {
            file + &format!("{ghz} ")
                + &row("-20", &text, &text)
                + &row(&text, "-20", "-40")
                + &row(&text, "-40", "-20")
        })
    };
    let folder = named((0..8).map(|word| (format!("w_{word:02}.s3p"), three_port(word))));
    let path = "the path from port 1 to port 2";
    assert_eq!(kind(&defaults(&folder), path), Some(NoteKind::Guess));
    let given = Settings { path: Some(PortPath { input: 1, output: 2 }), ..Settings::default() };
    assert_eq!(kind(&report(&folder, given, 2), path), Some(NoteKind::Remark));
}

#[test]
fn what_stands_for_a_setting_that_is_not_there_is_a_guess() {
    let attenuator =
        |from: u32| named((from..8).map(|step| (format!("a_{step}dB.s2p"), flat(-f64::from(step), 0.0))));
    assert_eq!(kind(&defaults(&attenuator(0)), "takes the place of 0 dB"), None);
    assert_eq!(kind(&defaults(&attenuator(3)), "3 dB takes the place of 0 dB"), Some(NoteKind::Guess));

    let tuned = named((0..21).map(|step| {
        (format!("V{}.s2p", 0.5 * f64::from(step)), flat(-0.02 * f64::from(step), -15.0 * f64::from(step)))
    }));
    let proposed = defaults(&tuned);
    assert_eq!(kind(&proposed, "the lowest, 0 V, stands for the zero word"), Some(NoteKind::Guess));
    assert_eq!(kind(&proposed, "the settings to serve are"), Some(NoteKind::Guess));
}

#[test]
fn whether_phases_lag_is_a_guess_until_it_is_said() {
    let folder =
        named((0..12).map(|step| (format!("ps_{}deg.s2p", 30 * step), flat(0.0, -30.0 * f64::from(step)))));
    assert_eq!(kind(&defaults(&folder), "are lags"), Some(NoteKind::Guess));
    let given = Settings { unsigned_phases: UnsignedPhases::Lags, ..Settings::default() };
    assert_eq!(kind(&report(&folder, given, 2), "are lags"), Some(NoteKind::Remark));
}
