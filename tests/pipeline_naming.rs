//! How the files of a run get their words: the user's choice among readings, an index beside them, their comments.

mod folder;

use folder::{Folder, path, report, sweep, told, whole};
use std::fmt::Write;
use sweepfold::control::naming::{NameStyle, StateKey};
use sweepfold::control::{Setting, Word};
use sweepfold::pipeline::in_turn::{self, Source};
use sweepfold::pipeline::{Report, Settings};
use sweepfold::run::{Intake, LeftOutReason, Naming, NamingSource, Offer};

fn words(intake: &Intake) -> Vec<u32> {
    intake.words().iter().map(|word| word.0).collect()
}

fn in_use(report: &Report) -> Naming {
    let mut chosen = report.intake.naming_choices.iter().filter(|choice| choice.in_use);
    let only = chosen.next().expect("one is in use").naming;
    assert!(chosen.next().is_none(), "only one is in use");
    only
}

/// A folder whose files can be listed but not read.
struct Sealed(Folder);

impl Source for Sealed {
    fn offers(&self) -> Vec<Offer> {
        self.0.offers()
    }

    fn bytes(&self, path: &str) -> Vec<u8> {
        panic!("{path} is read again")
    }
}

fn two_digits() -> Folder {
    (0..16).fold(Folder::default(), |folder, word| folder.with(&format!("{word:02}.s2p"), sweep(word)))
}

#[test]
fn the_user_chooses_among_readings_without_reading_files_again() {
    let folder = two_digits();
    let (mut conductor, mut shares) = in_turn::run("folder", &folder, Settings::default(), 3);
    let first = in_turn::report(&conductor).expect("complete").clone();
    assert_eq!(words(&first.intake), (0..16).collect::<Vec<_>>());
    assert_eq!(in_use(&first).style, NameStyle::Decimal);
    let choices = &first.intake.naming_choices;
    assert!(choices.iter().all(|choice| choice.sentence.ends_with('.')));

    let hexadecimal = Naming { source: NamingSource::Names, style: NameStyle::Hexadecimal, nth: 0 };
    let choice = choices.iter().find(|choice| choice.naming == hexadecimal).expect("offered");
    assert_eq!((choice.words, choice.bits, choice.in_use), (16, Some(5), false));
    let settings = Settings { naming: Some(hexadecimal), ..Settings::default() };
    conductor.set_settings(settings.clone());
    in_turn::drive(&mut conductor, &mut shares, &Sealed(folder.clone()));
    let changed = in_turn::report(&conductor).expect("complete");
    // Two hexadecimal digits: "10" to "15" are 16 to 21.
    assert_eq!(words(&changed.intake), (0..10).chain(16..22).collect::<Vec<_>>());
    assert_eq!(in_use(changed), hexadecimal);
    assert_eq!(told(changed), told(&report(&folder, settings, 3)));

    conductor.set_settings(Settings::default());
    in_turn::drive(&mut conductor, &mut shares, &Sealed(folder));
    assert_eq!(told(in_turn::report(&conductor).expect("complete")), told(&first));
}

/// Settings of another run may name a reading that this one does not have.
#[test]
fn a_reading_that_a_run_does_not_have_is_not_taken() {
    let naming = Naming { source: NamingSource::Index, style: NameStyle::Settings, nth: 2 };
    let settings = Settings { naming: Some(naming), ..Settings::default() };
    let report = report(&whole(), settings, 1);
    assert_eq!(in_use(&report).style, NameStyle::Binary);
    assert_eq!(report.intake.states.len(), 32);
}

#[test]
fn the_choice_is_kept_in_the_settings_file() {
    let naming = Naming { source: NamingSource::Comments, style: NameStyle::TwoDigitWords, nth: 1 };
    let settings = Settings { naming: Some(naming), ..Settings::default() };
    assert_eq!(Settings::read(&settings.write().expect("writes")), Ok(settings));
    let brief = r#"{"settings_version": 1, "naming": {"source": "names", "style": "code_per_field"}}"#;
    let read = Settings::read(brief).expect("reads").naming.expect("a naming");
    assert_eq!((read.style, read.nth), (NameStyle::CodePerField, 0));
    let wrong = r#"{"settings_version": 1, "naming": {"source": "names", "style": "runes"}}"#;
    assert!(Settings::read(wrong).is_err());
}

/// Names say one thing, the index another: word k in a file named by its place in the order of capture.
fn captured_backwards() -> (Folder, String) {
    let mut index = "file,word\n".to_owned();
    let folder = (0..32).fold(Folder::default(), |folder, place| {
        let word = 31 - place;
        writeln!(index, "capture{place}.s2p,{word}").expect("a string takes it");
        folder.with(&format!("capture{place}.s2p"), sweep(word))
    });
    (folder, index)
}

#[test]
fn an_index_comes_before_names_and_its_rows_give_the_order_of_capture() {
    let (folder, index) = captured_backwards();
    let report = report(&folder.with("index.csv", index.clone()), Settings::default(), 2);
    assert_eq!(in_use(&report).source, NamingSource::Index);
    assert!(report.intake.left_out.is_empty(), "{:?}", report.intake.left_out);
    // The sweep in each file says what its word does: word 0 is the one without attenuation.
    let analysis = report.analysis.as_ref().expect("analysed");
    assert_eq!(analysis.frequencies[0].chosen.within_both_pct, 100.0);
    assert_eq!(analysis.model.nominal(Word(0)), Some(Setting { gain_db: 0.0, phase_deg: 0.0 }));
    let found = report.intake.index.as_ref().expect("an index");
    assert_eq!(found.path, "index.csv");
    let order: Vec<&str> =
        found.capture_order.iter().map(|&file| report.intake.paths[file].as_str()).collect();
    let rows: Vec<&str> = index.lines().skip(1).filter_map(|row| row.split(',').next()).collect();
    assert_eq!(order, rows);
    // The names stay on offer.
    assert!(report.intake.naming_choices.iter().any(|choice| choice.naming.source == NamingSource::Names));
}

#[test]
fn files_and_rows_without_each_other_are_told() {
    let (folder, index) = captured_backwards();
    let index = index.replace("capture7.s2p,", "capture99.s2p,");
    let report =
        report(&folder.with("index.txt", index).with("notes.txt", "warm day"), Settings::default(), 2);
    let absent = &report.intake.index.as_ref().expect("an index").absent;
    assert_eq!(absent, &[(9, "capture99.s2p".to_owned())]);
    let reasons: Vec<_> =
        report.intake.left_out.iter().map(|file| (file.path.as_str(), file.reason.clone())).collect();
    assert_eq!(
        reasons,
        [("capture7.s2p", LeftOutReason::NotInIndex), ("notes.txt", LeftOutReason::NotSParameters)]
    );
    assert_eq!(report.intake.missing, [Word(24)]);
}

#[test]
fn a_faulty_index_is_left_out_with_its_line_and_names_are_read() {
    let index = format!("file,word\n{},0\n{},one\n", path(0), path(1));
    let second = format!("file,word\n{},0\n{},1\n", path(0), path(1));
    let report = report(&whole().with("a.csv", index), Settings::default(), 2);
    assert_eq!(report.intake.states.len(), 32);
    assert_eq!(report.intake.index, None);
    let [file] = report.intake.left_out.as_slice() else { panic!("{:?}", report.intake.left_out) };
    assert_eq!(file.path, "a.csv");
    let LeftOutReason::FaultyIndex(fault) = &file.reason else { panic!("{file:?}") };
    assert!(fault.starts_with("Line 3:") && fault.contains("“one”"), "{fault}");

    let report =
        folder::report(&whole().with("a.csv", second.clone()).with("b.csv", second), Settings::default(), 2);
    let other: Vec<_> = report.intake.left_out.iter().filter(|file| file.path == "b.csv").collect();
    assert_eq!(other[0].reason, LeftOutReason::OtherIndex { used: "a.csv".to_owned() });
    assert_eq!(report.intake.states.len(), 2);
}

/// Names that say nothing of the state; the first comment does.
fn told_in_comments(comment: impl Fn(u32) -> String) -> Folder {
    ["red", "green", "blue", "white"].iter().zip(0..).fold(Folder::default(), |folder, (name, word)| {
        folder.with(&format!("{name}.s2p"), format!("! {}\n{}", comment(word), sweep(word)))
    })
}

#[test]
fn comments_are_read_where_names_say_nothing() {
    let report = report(&told_in_comments(|word| format!("word = {word}")), Settings::default(), 2);
    assert_eq!(in_use(&report).source, NamingSource::Comments);
    assert_eq!(words(&report.intake), [0, 1, 2, 3]);
    assert_eq!(report.intake.listed, None);
    let first = &report.intake.states[0];
    assert_eq!(report.intake.paths[first.file], "red.s2p");
    assert!(report.analysis.is_ok());

    let report = folder::report(&told_in_comments(|w| format!("Att: {w} dB")), Settings::default(), 2);
    let listed = report.intake.listed.as_ref().expect("settings");
    let key = |db| StateKey::Setting { gain_db: Some(db), phase_deg: None };
    assert_eq!(listed.keys, [0.0, -1.0, -2.0, -3.0].map(key));
    assert_eq!((report.intake.bits, report.intake.missing.len()), (0, 0));
}

/// Comments of a worker that died are read again with its files.
#[test]
fn comments_survive_the_death_of_a_worker() {
    let folder = told_in_comments(|word| format!("word = {word}"));
    let expected = told(&report(&folder, Settings::default(), 2));
    let (mut conductor, mut shares) = in_turn::run("folder", &folder, Settings::default(), 2);
    conductor.worker_died(1);
    shares[1] = sweepfold::pipeline::Share::default();
    in_turn::drive(&mut conductor, &mut shares, &folder);
    assert_eq!(told(in_turn::report(&conductor).expect("complete")), expected);
}
