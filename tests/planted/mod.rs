//! Runs of the made-up parts with faults planted into them, as a bench would make them.
//!
//! The states come from the chain of mismatched, dispersive sections and never from the bit weights that the detectors
//! fit. Noise is added after the fault, as a receiver does.
#![allow(dead_code, reason = "each test uses a part of it")]

use num_complex::Complex64;
use sweepfold::checks::{Evidence, Sweeps, examine};
use sweepfold::control::{Direction, Field, Layout, Quantity, Word};
use sweepfold::demo::{Noise, Part, PartPlan, attenuator, phase_shifter, rain_radar};
use sweepfold::run::{BitWeight, bit_weights};

/// A part worked out over its grid, without noise.
pub struct Bench {
    pub layout: Layout,
    pub frequency_hz: Vec<f64>,
    /// By word, then by frequency.
    pub clean: Vec<Vec<Complex64>>,
}

/// A run as it was captured: what the product would read.
#[derive(Clone)]
pub struct Run {
    pub layout: Layout,
    pub frequency_hz: Vec<f64>,
    pub words: Vec<Word>,
    /// By state, then by frequency.
    pub traces: Vec<Vec<Complex64>>,
    /// States in the order of their capture.
    pub capture_order: Vec<usize>,
}

/// Phase bits below gain bits, each field the coarse end of the demo's: `bits` of each.
pub fn gain_phase(bits: u8) -> PartPlan {
    let plan = rain_radar();
    let step_deg = 360.0 / f64::from(1_u32 << bits);
    let sections = plan.sections.iter().filter_map(|section| {
        // The demo's phase bits are 0 to 6, its gain bits 7 to 11, the coarsest highest.
        let bit = match section.bit {
            bit @ 0..=6 => (bit + bits).checked_sub(7)?,
            bit => (bit < 7 + bits).then_some(bit - 7 + bits)?,
        };
        Some(sweepfold::demo::Section { bit, ..*section })
    });
    PartPlan {
        sections: sections.collect(),
        layout: Layout {
            fields: vec![
                Field::contiguous(Quantity::Phase, 0, bits, step_deg, Direction::Down),
                Field::contiguous(Quantity::Gain, bits, bits, 0.5, Direction::Down),
            ],
        },
        ..plan
    }
}

impl Bench {
    pub fn of(mut plan: PartPlan, points: usize) -> Self {
        plan.sweep.points = points;
        let layout = plan.layout.clone();
        let frequency_hz = plan.sweep.frequencies_hz().iter().map(|&hz| hz as f64).collect();
        let part = Part::new(plan).unwrap();
        let words = u32::try_from(layout.word_count()).unwrap();
        let clean = (0..words)
            .map(|word| part.two_ports(Word(word)).map(|two_port| two_port.s21).collect())
            .collect();
        Self { layout, frequency_hz, clean }
    }

    pub fn attenuator(points: usize) -> Self {
        Self::of(attenuator(6).unwrap(), points)
    }

    pub fn phase_shifter(bits: u8, points: usize) -> Self {
        Self::of(phase_shifter(bits).unwrap(), points)
    }

    pub fn gain_phase(bits: u8, points: usize) -> Self {
        Self::of(gain_phase(bits), points)
    }

    /// All words in counting order, without noise.
    pub fn run(&self) -> Run {
        let count = self.clean.len();
        Run {
            layout: self.layout.clone(),
            frequency_hz: self.frequency_hz.clone(),
            words: (0..u32::try_from(count).unwrap()).map(Word).collect(),
            traces: self.clean.clone(),
            capture_order: (0..count).collect(),
        }
    }
}

impl Run {
    /// Adds noise of this root mean square in dB relative to the zero word as the part makes it.
    pub fn with_noise(mut self, bench: &Bench, noise_db: f64, seed: u64) -> Self {
        let level = 10_f64.powf(noise_db / 20.0);
        let zero = &bench.clean[self.layout.zero_word().0 as usize];
        for (word, trace) in self.words.iter().zip(&mut self.traces) {
            let mut noise = Noise::new(seed, word.0);
            for (value, zero) in trace.iter_mut().zip(zero) {
                *value += noise.next_complex() * level * zero.norm();
            }
        }
        self
    }

    /// The transmission as a worker holds it: the states of one frequency contiguous.
    pub fn by_frequency(&self) -> Vec<Complex64> {
        (0..self.frequency_hz.len())
            .flat_map(|index| self.traces.iter().map(move |trace| trace[index]))
            .collect()
    }
}

/// The evidence of a run, cut into shares at these points.
pub fn evidence(run: &Run, cuts: &[usize]) -> Evidence {
    let states = run.words.len();
    let points = run.frequency_hz.len();
    let transmission = run.by_frequency();
    let bits = run.layout.bits();
    let weights: Vec<Vec<BitWeight>> =
        transmission.chunks_exact(states).map(|slice| bit_weights(&run.words, slice, bits)).collect();
    let bounds: Vec<usize> = [&[0], cuts, &[points]].concat();
    let shares = bounds.windows(2).map(|bound| {
        let end = (bound[1] + 1).min(points);
        examine(&Sweeps {
            points,
            range: bound[0]..bound[1],
            words: &run.words,
            transmission: &transmission[bound[0] * states..end * states],
            weights: &weights[bound[0]..end],
            capture_order: &run.capture_order,
        })
    });
    shares.reduce(Evidence::merge).unwrap()
}
