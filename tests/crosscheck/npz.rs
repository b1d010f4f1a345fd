//! Writes a folder's run as `NumPy` arrays, and says what one holds, for the comparison with numpy.
//!
//! `crosscheck_npz write STATES RUN.npz`, `crosscheck_npz read RUN.npz`: the second prints the words, the frequencies,
//! the reference impedance, and each file's name with the SHA-256 of its word's bytes.

use sha2::{Digest, Sha256};
use std::fs;
use std::ops::Range;
use std::path::{Path, PathBuf};
use std::pin::pin;
use std::task::{Context, Poll, Waker};
use sweepfold::control::naming;
use sweepfold::export::RunArchive;
use sweepfold::npz::{NpzError, ReadAt, open};
use sweepfold::pipeline::Settings;
use sweepfold::pipeline::in_turn::{self, Source};
use sweepfold::run::Offer;

type Failure = Box<dyn std::error::Error>;

fn main() -> Result<(), Failure> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    match arguments.iter().map(String::as_str).collect::<Vec<_>>()[..] {
        ["write", states, out] => write(Path::new(states), Path::new(out)),
        ["read", archive] => read(Path::new(archive)),
        _ => Err("usage: write STATES RUN.npz, or read RUN.npz".into()),
    }
}

/// The S-parameter files of one folder.
struct Folder {
    path: PathBuf,
    offers: Vec<Offer>,
}

impl Source for Folder {
    fn offers(&self) -> Vec<Offer> {
        self.offers.clone()
    }

    fn bytes(&self, path: &str) -> Vec<u8> {
        fs::read(self.path.join(path)).unwrap_or_default()
    }
}

fn write(states: &Path, out: &Path) -> Result<(), Failure> {
    let mut offers = Vec::new();
    for entry in fs::read_dir(states)? {
        let entry = entry?;
        let path = entry.file_name().to_string_lossy().into_owned();
        let is_s_parameter_file = naming::is_s_parameter_name(&path).is_some();
        offers.push(Offer {
            path,
            bytes: Some(entry.metadata()?.len()),
            is_s_parameter_file,
            contents: None,
        });
    }
    let folder = Folder { path: states.to_owned(), offers };
    let (conductor, mut shares) = in_turn::run("states", &folder, Settings::default(), 3);
    fs::write(out, RunArchive::in_turn(&conductor, &mut shares)?)?;
    Ok(())
}

/// A file in memory.
struct Memory(Vec<u8>);

impl ReadAt for Memory {
    fn bytes(&self) -> u64 {
        self.0.len() as u64
    }

    async fn read_at(&self, range: Range<u64>) -> Result<Vec<u8>, NpzError> {
        Ok(self.piece(range))
    }
}

impl Memory {
    fn piece(&self, range: Range<u64>) -> Vec<u8> {
        let clip = |at: u64| usize::try_from(at).unwrap_or(usize::MAX).min(self.0.len());
        self.0[clip(range.start)..clip(range.end)].to_vec()
    }
}

fn read(archive: &Path) -> Result<(), Failure> {
    let memory = Memory(fs::read(archive)?);
    let opened = pin!(open(&memory)).poll(&mut Context::from_waker(Waker::noop()));
    let Poll::Ready(run) = opened else { return Err("memory does not keep one waiting".into()) };
    let run = run?;
    println!("{:?}", run.words.iter().map(|word| word.0).collect::<Vec<_>>());
    println!("{:?}", run.frequency_hz);
    println!("{}", run.reference_ohm);
    for (index, file) in run.files.iter().enumerate() {
        let digest = Sha256::digest(memory.piece(run.word_bytes(index)));
        for byte in digest {
            print!("{byte:02x}");
        }
        println!(" {file}");
    }
    Ok(())
}
