//! A run written as `NumPy` arrays and read back.

use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::ops::Range;
use std::pin::pin;
use std::task::{Context, Poll, Waker};
use sweepfold::control::Word;
use sweepfold::demo::{Part, attenuator};
use sweepfold::export::{ExportRefused, RunArchive};
use sweepfold::npz::{NpzError, ReadAt, RunFile, RunWriter, open};
use sweepfold::pipeline::in_turn::{self, Source};
use sweepfold::pipeline::{Conductor, Report, Settings, Share};
use sweepfold::run::Offer;

/// Files in memory.
#[derive(Default)]
struct Folder(BTreeMap<String, Vec<u8>>);

impl Source for Folder {
    fn offers(&self) -> Vec<Offer> {
        let offer = |(path, bytes): (&String, &Vec<u8>)| Offer {
            path: path.clone(),
            bytes: Some(bytes.len() as u64),
            is_s_parameter_file: true,
            contents: None,
        };
        self.0.iter().map(offer).collect()
    }

    fn bytes(&self, path: &str) -> Vec<u8> {
        self.0[path].clone()
    }
}

/// A file in memory, read in pieces.
struct Memory(Vec<u8>);

impl ReadAt for Memory {
    fn bytes(&self) -> u64 {
        self.0.len() as u64
    }

    async fn read_at(&self, range: Range<u64>) -> Result<Vec<u8>, NpzError> {
        let clip = |at: u64| usize::try_from(at).expect("small").min(self.0.len());
        Ok(self.0[clip(range.start)..clip(range.end)].to_vec())
    }
}

/// Runs a future that never waits.
fn at_once<T>(future: impl Future<Output = T>) -> T {
    match pin!(future).poll(&mut Context::from_waker(Waker::noop())) {
        Poll::Ready(value) => value,
        Poll::Pending => panic!("memory does not keep one waiting"),
    }
}

fn part_files() -> Folder {
    let mut plan = attenuator(3).expect("a plan");
    plan.sweep.points = 5;
    let part = Part::new(plan).expect("a part");
    Folder((0..8).map(|word| (part.file_name(Word(word)), part.file(Word(word)))).collect())
}

/// The run's file, as the page makes it from what its workers hold.
fn archive(conductor: &Conductor, shares: &mut [Share]) -> Vec<u8> {
    RunArchive::in_turn(conductor, shares).expect("a file")
}

/// The run that a file holds, taken through the whole path.
fn reread(bytes: &[u8], workers: usize) -> (RunFile, Report) {
    let file = at_once(open(&Memory(bytes.to_vec()))).expect("a run");
    let mut folder = Folder::default();
    let mut offers = Vec::new();
    for (index, path) in file.files.iter().enumerate() {
        let range = file.word_bytes(index);
        let range = usize::try_from(range.start).expect("small")..usize::try_from(range.end).expect("small");
        folder.0.insert(path.clone(), [&file.packed_head(), &bytes[range]].concat());
        let bytes = folder.0[path].len() as u64;
        offers.push((
            Offer { path: path.clone(), bytes: Some(bytes), is_s_parameter_file: true, contents: None },
            file.words[index],
        ));
    }
    let naming = "The file run.npz gives the words.";
    let mut conductor = Conductor::with_words("run.npz", offers, naming, Settings::default(), workers);
    let mut shares: Vec<Share> = (0..workers).map(|_| Share::default()).collect();
    in_turn::drive(&mut conductor, &mut shares, &folder);
    let report = in_turn::report(&conductor).expect("complete").clone();
    (file, report)
}

/// Everything that enters a score went through unchanged, so the analysis is the same to the last bit.
#[test]
fn a_run_comes_back_as_it_went() {
    for workers in [1, 3] {
        let folder = part_files();
        let (conductor, mut shares) = in_turn::run("folder", &folder, Settings::default(), workers);
        let report = in_turn::report(&conductor).expect("complete");
        let bytes = archive(&conductor, &mut shares);
        let (file, again) = reread(&bytes, workers);
        assert_eq!(format!("{:?}", again.analysis), format!("{:?}", report.analysis));
        assert!(report.analysis.is_ok());
        assert_eq!(again.intake.states, report.intake.states);
        assert_eq!(again.intake.paths, report.intake.paths);
        assert_eq!(again.intake.frequency_hz, report.intake.frequency_hz);
        assert_eq!(again.intake.reference_ohm, report.intake.reference_ohm);
        assert_eq!(again.intake.one_path, report.intake.one_path);
        // Reflections pass through single precision: 24 bits of significance.
        let near = |a: f64, b: f64| assert!((a / b - 1.0).abs() < 1e-7, "{a} {b}");
        near(again.intake.largest_s11, report.intake.largest_s11);
        near(again.intake.largest_s22, report.intake.largest_s22);
        // The names say the same words as the file, and so they are followed.
        assert_eq!(again.intake.naming, report.intake.naming);
        assert_eq!(file.words, report.intake.words());
    }
}

/// The digest of what was read back is over the packed states, by the same rule as for files.
#[test]
fn the_digest_is_of_the_bytes_that_were_read() {
    let folder = part_files();
    let (conductor, mut shares) = in_turn::run("folder", &folder, Settings::default(), 2);
    let bytes = archive(&conductor, &mut shares);
    let (file, report) = reread(&bytes, 2);
    let hexadecimal =
        |bytes: &[u8]| bytes.iter().fold(String::new(), |text, byte| text + &format!("{byte:02x}"));
    let mut lines: Vec<String> = (0..8)
        .map(|index| {
            let range = file.word_bytes(index);
            let range =
                usize::try_from(range.start).expect("small")..usize::try_from(range.end).expect("small");
            hexadecimal(&Sha256::digest([&file.packed_head(), &bytes[range]].concat())) + "\n"
        })
        .collect();
    lines.sort();
    assert_eq!(report.intake.digest, hexadecimal(&Sha256::digest(lines.concat())));
}

/// Whatever byte is changed, the file is refused or reads as before (a date, an attribute, the padding of a name).
#[test]
fn no_damage_passes_unseen() {
    let folder = part_files();
    let (conductor, mut shares) = in_turn::run("folder", &folder, Settings::default(), 1);
    let bytes = archive(&conductor, &mut shares);
    let whole = at_once(open(&Memory(bytes.clone()))).expect("a run");
    let data = whole.word_bytes(0).start..whole.word_bytes(7).end;
    let mut refused = 0;
    for at in 0..bytes.len() {
        let mut damaged = bytes.clone();
        damaged[at] ^= 0x10;
        let outcome = at_once(open(&Memory(damaged)));
        if data.contains(&(at as u64)) {
            assert_eq!(outcome, Err(NpzError::Checksum("s".to_owned())), "byte {at}");
        }
        match outcome {
            Ok(file) => assert!(file == whole || !file.files.is_empty(), "byte {at}"),
            Err(_) => refused += 1,
        }
    }
    assert!(refused > bytes.len() * 9 / 10, "{refused} of {}", bytes.len());
    for cut in 0..bytes.len() {
        assert!(at_once(open(&Memory(bytes[..cut].to_vec()))).is_err(), "{cut} bytes");
    }
}

#[test]
fn what_is_no_run_is_refused_with_the_reason() {
    let said = |bytes: &[u8]| at_once(open(&Memory(bytes.to_vec()))).expect_err("refused").to_string();
    assert_eq!(said(b""), "This is no .npz file: it has no zip directory at its end.");
    assert_eq!(said(&[0; 4000]), "This is no .npz file: it has no zip directory at its end.");
    let write = |frequency_hz: &[f64], words: &[u32], ohm| {
        let words: Vec<Word> = words.iter().map(|&word| Word(word)).collect();
        let files = vec!["a"; words.len()];
        let mut writer = RunWriter::new(frequency_hz, &words, &files, ohm).expect("small");
        let point = [num_complex::Complex64::ONE; 4];
        let mut middle = Vec::new();
        for _ in &words {
            middle.extend(writer.push(frequency_hz.iter().map(|_| point)).expect("a word"));
        }
        let parts = writer.finish().expect("whole");
        [parts.head, middle, parts.tail].concat()
    };
    assert!(at_once(open(&Memory(write(&[1e9, 2e9], &[0, 1], 50.0)))).is_ok());
    assert!(said(&write(&[2e9, 1e9], &[0, 1], 50.0)).contains("frequencies ascend"));
    assert!(said(&write(&[], &[0, 1], 50.0)).contains("frequencies ascend"));
    assert!(said(&write(&[1e9], &[3, 3], 50.0)).contains("a word is there twice"));
    assert!(said(&write(&[1e9], &[3], 0.0)).contains("positive number"));
    let mut writer = RunWriter::new(&[1e9], &[Word(0)], &["a"], 50.0).expect("small");
    assert!(writer.push([[num_complex::Complex64::ONE; 4]; 2].into_iter()).is_err());
    assert!(writer.finish().is_err());
    let words: Vec<Word> = (0..65_536).map(Word).collect();
    let files = vec!["a"; words.len()];
    let large = RunWriter::new(&vec![1.0; 1024], &words, &files, 50.0).err();
    assert_eq!(large, Some(NpzError::TooLarge));
}

#[test]
fn a_run_without_states_has_no_file() {
    let (conductor, _) = in_turn::run("folder", &Folder::default(), Settings::default(), 1);
    let report = conductor.report().expect("complete");
    assert_eq!(RunArchive::new(report).err(), Some(ExportRefused::NoStates));
}
