//! However the files of a run are offered, split into folders and written, the report is the same.

mod folder;

use folder::{Folder, told};
use num_complex::Complex64;
use sweepfold::control::Word;
use sweepfold::pipeline::in_turn::{self, Source};
use sweepfold::pipeline::{Report, Settings};
use sweepfold::plane::Score;
use sweepfold::run::Offer;
use sweepfold::touchstone::{Digits, FrequencyUnit, Network, NumberFormat, WriteOptions, write};

/// A linear congruential sequence (Knuth's MMIX constants), good enough to shuffle with.
struct Sequence(u64);

impl Sequence {
    fn below(&mut self, end: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as usize % end
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.below(1 << 20) as f64 / f64::from(1 << 20)
    }
}

/// Files offered in some order.
struct Shuffled {
    folder: Folder,
    order: Vec<usize>,
}

impl Source for Shuffled {
    fn offers(&self) -> Vec<Offer> {
        let offers = self.folder.offers();
        self.order.iter().map(|&at| offers[at].clone()).collect()
    }

    fn bytes(&self, path: &str) -> Vec<u8> {
        self.folder.bytes(path)
    }
}

/// The states of an uneven part of two gain and three phase bits, two of them not measured.
fn networks() -> Vec<(u32, Network)> {
    let mut sequence = Sequence(7);
    let words = (0..32_u32).filter(|word| ![13, 22].contains(word));
    let state = |word: u32| {
        let error = (sequence.between(-0.2, 0.2), sequence.between(-8.0, 8.0));
        let transmission = |point: u32| {
            let gain_db = -7.0 - f64::from(word & 3) + error.0 * (1.0 + 0.1 * f64::from(point));
            let phase_deg = -30.0 * f64::from(point) - 45.0 * f64::from(word >> 2) + error.1;
            Complex64::from_polar(10_f64.powf(gain_db / 20.0), phase_deg.to_radians())
        };
        let matrix =
            |point| [Complex64::new(0.1, 0.02), transmission(point), transmission(point), Complex64::I / 9.0];
        Network {
            ports: 2,
            reference_ohm: vec![50.0; 2],
            frequency_hz: (0..6).map(|point| 3.1e9 + 0.37e9 * f64::from(point)).collect(),
            s: (0..6).flat_map(matrix).collect(),
            comments: vec![format!("taken at {word}:00")],
            noise_rows: 0,
            warnings: Vec::new(),
        }
    };
    words.clone().zip(words.map(state)).collect()
}

fn report(source: &impl Source, workers: usize) -> Report {
    let (conductor, _) = in_turn::run("folder", source, Settings::default(), workers);
    in_turn::report(&conductor).expect("complete").clone()
}

fn close(a: &Score, b: &Score) {
    for value in [
        |score: &Score| score.rms_gain_error_db,
        |score: &Score| score.rms_phase_error_deg,
        |score: &Score| score.rms_vector_error,
        |score: &Score| score.within_both_pct,
    ] {
        assert!((value(a) - value(b)).abs() <= 1e-9 * (1.0 + value(a).abs()), "{a:?} is not {b:?}");
    }
    assert_eq!(a.missing, b.missing);
}

#[test]
fn order_folders_formats_and_units_change_nothing() {
    let networks = networks();
    let plain = networks.iter().fold(Folder::default(), |folder, (word, network)| {
        folder.with(&format!("run_{word:02}.s2p"), write(network, &WriteOptions::default()))
    });
    let expected = report(&plain, 2);
    let wanted = expected.analysis.as_ref().expect("analysed");
    assert_eq!(expected.intake.missing, [13, 22].map(Word));

    for seed in 0..40 {
        let mut sequence = Sequence(seed);
        let mut shuffle = |folder: &Folder| {
            let mut order: Vec<usize> = (0..folder.0.len()).collect();
            (1..order.len()).rev().for_each(|last| order.swap(last, sequence.below(last + 1)));
            Shuffled { folder: folder.clone(), order }
        };
        assert_eq!(told(&report(&shuffle(&plain), 2)), told(&expected), "seed {seed}: another order");

        let mut written = Folder::default();
        for (word, network) in &networks {
            let options = WriteOptions {
                unit: [FrequencyUnit::Hertz, FrequencyUnit::Megahertz, FrequencyUnit::Gigahertz]
                    [sequence.below(3)],
                format: [
                    NumberFormat::RealImaginary,
                    NumberFormat::MagnitudeAngle,
                    NumberFormat::DecibelAngle,
                ][sequence.below(3)],
                digits: Digits::Shortest,
            };
            let place = ["", "a/", "b/", "b/deep er/"][sequence.below(4)];
            written = written.with(&format!("{place}run_{word:02}.s2p"), write(network, &options));
        }
        let mut order: Vec<usize> = (0..networks.len()).collect();
        (1..order.len()).rev().for_each(|last| order.swap(last, sequence.below(last + 1)));
        let found = report(&Shuffled { folder: written, order }, 1 + sequence.below(4));
        assert_eq!(found.intake.words(), expected.intake.words(), "seed {seed}");
        assert_eq!(found.intake.missing, expected.intake.missing);
        assert_eq!(found.intake.frequency_hz, expected.intake.frequency_hz);
        assert!(found.intake.left_out.is_empty());
        let analysis = found.analysis.as_ref().expect("analysed");
        assert_eq!((&analysis.model, &analysis.layout_origin), (&wanted.model, &wanted.layout_origin));
        assert_eq!((analysis.tolerance, analysis.reference), (wanted.tolerance, wanted.reference));
        for (at, wanted) in analysis.frequencies.iter().zip(&wanted.frequencies) {
            close(&at.nominal.expect("scored"), &wanted.nominal.expect("scored"));
            close(&at.chosen, &wanted.chosen);
            close(&at.held.expect("scored"), &wanted.held.expect("scored"));
        }
        let chosen = |report: &Report| -> Vec<Word> {
            let service = &report.analysis.as_ref().expect("analysed").service;
            service.chosen.iter().map(|served| report.intake.states[served.state].word).collect()
        };
        assert_eq!(chosen(&found), chosen(&expected), "seed {seed}");
    }
}
