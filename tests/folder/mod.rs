//! Runs in memory: folders of files, made by hand.

#![allow(dead_code)]

use std::collections::BTreeMap;
use std::fmt::Write;
use sweepfold::pipeline::in_turn::{self, Source};
use sweepfold::pipeline::{Report, Settings};
use sweepfold::run::Offer;

/// Files in memory.
#[derive(Clone, Default)]
pub struct Folder(pub BTreeMap<String, Vec<u8>>);

impl Source for Folder {
    fn offers(&self) -> Vec<Offer> {
        let offer = |(path, bytes): (&String, &Vec<u8>)| Offer {
            path: path.clone(),
            bytes: Some(bytes.len() as u64),
            is_s_parameter_file: sweepfold::control::naming::is_s_parameter_name(path).is_some(),
            contents: Offer::may_be_index(path, bytes.len() as u64)
                .then(|| String::from_utf8_lossy(bytes).into_owned()),
        };
        self.0.iter().map(offer).collect()
    }

    fn bytes(&self, path: &str) -> Vec<u8> {
        self.0[path].clone()
    }
}

impl Folder {
    pub fn with(mut self, path: &str, bytes: impl Into<Vec<u8>>) -> Self {
        self.0.insert(path.to_owned(), bytes.into());
        self
    }

    pub fn without(mut self, path: &str) -> Self {
        assert!(self.0.remove(path).is_some());
        self
    }
}

pub const POINTS: usize = 7;

/// A sweep of an ideal part with two gain bits of 1 dB (bits 0 and 1) and three phase bits of 45° lagging (bits 2 to
/// 4), behind a line whose delay turns the phase along the sweep.
pub fn sweep(word: u32) -> String {
    sweep_of(word, POINTS, 50.0)
}

pub fn sweep_of(word: u32, points: usize, ohm: f64) -> String {
    let (gain_code, phase_code) = (word & 3, word >> 2 & 7);
    let mut text = format!("! word {word}\n# GHz S DB R {ohm}\n");
    for point in 0..points {
        let frequency_ghz = 8.0 + point as f64 * 0.5;
        let gain_db = -6.0 - f64::from(gain_code);
        let phase_deg = -40.0 * frequency_ghz - 45.0 * f64::from(phase_code);
        let transmission = format!("{gain_db} {phase_deg}");
        writeln!(text, "{frequency_ghz} -20 10 {transmission} {transmission} -18 -30")
            .expect("a string takes it");
    }
    text
}

pub fn path(word: u32) -> String {
    format!("state_{word:05b}.s2p")
}

pub fn whole() -> Folder {
    (0..32).fold(Folder::default(), |folder, word| folder.with(&path(word), sweep(word)))
}

pub fn report(folder: &Folder, settings: Settings, workers: usize) -> Report {
    let (conductor, _) = in_turn::run("folder", folder, settings, workers);
    in_turn::report(&conductor).expect("complete").clone()
}

/// Everything that a report says, as text, to compare two.
pub fn told(report: &Report) -> String {
    format!("{report:?}")
}
