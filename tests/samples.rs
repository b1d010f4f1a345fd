//! The small runs kept in `samples/`, taken through the whole path.

use std::path::{Path, PathBuf};
use sweepfold::control::{Quantity, Word, naming};
use sweepfold::export::make;
use sweepfold::pipeline::in_turn::{self, Source};
use sweepfold::pipeline::{Report, Settings};
use sweepfold::run::{LeftOutReason, Offer};
use sweepfold::sheet::{Sheet, ToolFacts};

/// A folder on disk.
struct Folder(PathBuf);

impl Source for Folder {
    fn offers(&self) -> Vec<Offer> {
        let mut offers = Vec::new();
        list(&self.0, "", &mut offers);
        offers
    }

    fn bytes(&self, path: &str) -> Vec<u8> {
        std::fs::read(self.0.join(path)).expect("a file")
    }
}

fn list(folder: &Path, prefix: &str, offers: &mut Vec<Offer>) {
    for entry in std::fs::read_dir(folder).expect("a folder") {
        let entry = entry.expect("an entry");
        let path = format!("{prefix}{}", entry.file_name().to_string_lossy());
        if entry.file_type().expect("a type").is_dir() {
            list(&entry.path(), &format!("{path}/"), offers);
        } else {
            let bytes = entry.metadata().expect("its size").len();
            let is_s_parameter_file = naming::is_s_parameter_name(&path).is_some();
            offers.push(Offer { path, bytes: Some(bytes), is_s_parameter_file, contents: None });
        }
    }
}

fn report(folder: &str) -> Report {
    let folder = Folder(Path::new(env!("CARGO_MANIFEST_DIR")).join("samples").join(folder));
    let (conductor, _) = in_turn::run("sample", &folder, Settings::default(), 2);
    in_turn::report(&conductor).expect("complete").clone()
}

/// The steps are those that the plans give the parts: 0.5 dB, and a circle in 128 steps.
#[test]
fn the_whole_runs_are_understood_alone() {
    for (folder, words, quantity, step) in
        [("attenuator-5-bit", 32, Quantity::Gain, 0.5), ("phase-shifter-7-bit", 128, Quantity::Phase, 2.8125)]
    {
        let report = report(folder);
        assert_eq!(report.intake.states.len(), words);
        assert!(report.intake.missing.is_empty() && report.intake.left_out.is_empty(), "{folder}");
        let analysis = report.analysis.expect("analysed");
        assert_eq!(analysis.model.finest_step(quantity), Some(step), "{folder}");
        assert_eq!(analysis.layout().map(sweepfold::control::Layout::bits), Some(words.ilog2() as usize));
    }
}

/// What was planted is what is found, and nothing else.
#[test]
fn the_planted_faults_are_found() {
    let report = report("planted-faults");
    let intake = &report.intake;
    assert_eq!(intake.missing, [5, 9, 12].map(Word));
    assert_eq!(intake.states.len(), 13);
    let reason = |end: &str| {
        let found = intake.left_out.iter().find(|file| file.path.ends_with(end));
        &found.unwrap_or_else(|| panic!("{end} is left out")).reason
    };
    assert_eq!(intake.left_out.len(), 4, "{:?}", intake.left_out);
    assert_eq!(*reason("notes.txt"), LeftOutReason::NotSParameters);
    assert!(matches!(reason("0x5.s2p"), LeftOutReason::Unreadable(_)));
    assert!(matches!(reason("0xC.s2p"), LeftOutReason::OtherGrid { points: 31, .. }));
    assert!(matches!(reason("0x2.s2p"), LeftOutReason::Doubled { word: Word(2), .. }));
    let sheet = Sheet::of(&report, &ToolFacts::on("2026-01-31"));
    let findings = String::from_utf8(make("findings.csv", &report, &sheet).expect("a file")).expect("UTF-8");
    // Of the bench nothing was planted; one word twice does not tell drift.
    assert!(findings.lines().nth(1).is_some_and(|line| line.starts_with("drift untold,note")), "{findings}");
    assert_eq!(findings.lines().count(), 1 + 1 + 4 + 3, "{findings}");
}
