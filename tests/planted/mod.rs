//! Runs of the made-up parts with faults planted into them, as a bench would make them.
//!
//! The states come from the chain of mismatched, dispersive sections and never from the bit weights that the detectors
//! fit. Noise is added after the fault, as a receiver does.
#![allow(dead_code, reason = "each test uses a part of it")]

use num_complex::Complex64;
use sweepfold::checks::{Evidence, Expected, Facts, Fault, Finding, Sweeps, examine, findings};
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

/// What the product would find in a run whose layout is given.
pub fn found(run: &Run) -> Vec<Finding> {
    found_with(run, &facts(run))
}

/// What is known of a run whose capture order is on record, and whose layout is given.
pub fn facts(run: &Run) -> Facts<'_> {
    Facts {
        words: &run.words,
        frequency_hz: &run.frequency_hz,
        design_band_hz: None,
        capture_order: &run.capture_order,
        order_on_record: true,
        capture_times_s: None,
        expected: Some(Expected { layout: &run.layout, guessed: false }),
        zero_word_loss_db: None,
    }
}

pub fn found_with(run: &Run, facts: &Facts) -> Vec<Finding> {
    findings(&evidence(run, &[]), facts)
}

/// Findings that accuse the run of something; deep states near the floor are there where the part is deep.
pub fn accusations(findings: Vec<Finding>) -> Vec<Finding> {
    let accuses = |finding: &Finding| {
        !matches!(
            finding.fault,
            Fault::NearFloor { .. } | Fault::DriftUntold(_) | Fault::StepUntold { .. } | Fault::Pace { .. }
        )
    };
    findings.into_iter().filter(accuses).collect()
}

/// Repeatable choices for planting.
pub struct Dice(Noise);

impl Dice {
    pub fn new(seed: u64) -> Self {
        Self(Noise::new(seed, 0xD1CE))
    }

    /// A whole number below `end`.
    pub fn below(&mut self, end: usize) -> usize {
        usize::try_from(self.0.next_bits() % end as u64).unwrap()
    }

    /// A number from `low` to `high`.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * (self.0.next_bits() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// Different whole numbers from `from` to below `end`, ascending, no two of them neighbours.
    pub fn apart(&mut self, count: usize, from: usize, end: usize) -> Vec<usize> {
        let mut chosen: Vec<usize> = Vec::new();
        while chosen.len() < count {
            let one = from + self.below(end - from);
            if chosen.iter().all(|&other| one.abs_diff(other) > 1) {
                chosen.push(one);
            }
        }
        chosen.sort_unstable();
        chosen
    }

    /// The numbers below `count` in a random order (Fisher and Yates).
    pub fn shuffled(&mut self, count: usize) -> Vec<usize> {
        let mut order: Vec<usize> = (0..count).collect();
        for last in (1..count).rev() {
            order.swap(last, self.below(last + 1));
        }
        order
    }
}

impl Run {
    /// The state captured before this one.
    pub fn before(&self, state: usize) -> Option<usize> {
        let place = self.capture_order.iter().position(|&other| other == state)?;
        place.checked_sub(1).map(|before| self.capture_order[before])
    }

    /// The sweep of a state began early: at point i it shows a share s·e^(−i/τ) of what was before.
    pub fn unsettled(&mut self, state: usize, share: f64, time_constant: f64) {
        let before = self.traces[self.before(state).unwrap()].clone();
        for (index, (value, before)) in self.traces[state].iter_mut().zip(before).enumerate() {
            let share = share * (-(index as f64) / time_constant).exp();
            *value = *value * (1.0 - share) + before * share;
        }
    }

    /// The part did not take the word of a state.
    pub fn missed(&mut self, state: usize) {
        self.traces[state] = self.traces[self.before(state).unwrap()].clone();
    }

    /// Multiplies the trace of a state by what `factor` says of each frequency in hertz.
    pub fn multiply(&mut self, state: usize, factor: impl Fn(f64) -> Complex64) {
        for (value, &hz) in self.traces[state].iter_mut().zip(&self.frequency_hz) {
            *value *= factor(hz);
        }
    }

    /// The root mean square over the sweep of how far a state is from the capture before, relative to the zero word.
    pub fn jump(&self, bench: &Bench, state: usize) -> f64 {
        let zero = &bench.clean[self.layout.zero_word().0 as usize];
        let before = &self.traces[self.before(state).unwrap()];
        let steps = self.traces[state].iter().zip(before).zip(zero);
        let squares = steps.map(|((a, b), zero)| ((a - b) / zero).norm_sqr());
        (squares.sum::<f64>() / zero.len() as f64).sqrt()
    }
}

/// One of many runs into which a fault is planted: its part, its noise and its dice.
pub struct Case<'a> {
    pub bench: &'a Bench,
    pub seed: u64,
    pub noise_db: f64,
    /// The same, linear.
    pub noise: f64,
    pub dice: Dice,
}

impl Case<'_> {
    pub fn noisy(&self, run: Run) -> Run {
        run.with_noise(self.bench, self.noise_db, self.seed)
    }
}

/// A run with faults, as it was captured; the states that must be found, and those at fault but too little for it.
pub struct Planted {
    pub run: Run,
    pub must: Vec<usize>,
    pub may: Vec<usize>,
}

/// Plants a fault into runs of all parts, with noise of −60 and of −40 dB in turn, and counts what is found.
pub fn count_over(
    what: &str,
    benches: &[Bench],
    seeds: u64,
    is_it: fn(&Fault) -> bool,
    plant: impl Fn(&mut Case) -> Planted,
) {
    let mut tally = Tally::default();
    for bench in benches {
        for seed in 0..seeds {
            let noise_db: f64 = if seed % 2 == 0 { -60.0 } else { -40.0 };
            let noise = 10_f64.powf(noise_db / 20.0);
            let mut case = Case { bench, seed, noise_db, noise, dice: Dice::new(seed) };
            let Planted { run, must, may } = plant(&mut case);
            let words = |states: &[usize]| states.iter().map(|&state| run.words[state]).collect::<Vec<_>>();
            tally.count(&words(&must), &words(&may), &accusations(found(&run)), is_it);
        }
    }
    tally.check(what);
}

/// What detectors of one fault did over many runs, counted by word.
#[derive(Debug, Default)]
pub struct Tally {
    pub planted: usize,
    pub recalled: usize,
    pub right: usize,
    pub wrong: usize,
}

impl Tally {
    /// Counts one run: the words that must be found, those that may be, and what was found of any kind but notes.
    pub fn count(&mut self, must: &[Word], may: &[Word], findings: &[Finding], is_it: fn(&Fault) -> bool) {
        self.planted += must.len();
        let words: Vec<Word> =
            findings.iter().filter(|f| is_it(&f.fault)).flat_map(|f| f.words.iter().copied()).collect();
        let recalled = must.iter().filter(|word| words.contains(word)).count();
        self.recalled += recalled;
        let right = words.iter().filter(|word| must.contains(word) || may.contains(word)).count();
        self.right += right;
        self.wrong += words.len() - right;
        let others: usize = findings.iter().filter(|f| !is_it(&f.fault)).map(|f| f.words.len().max(1)).sum();
        self.wrong += others;
        if recalled < must.len() || right < words.len() || others > 0 {
            println!("planted {must:?}, below detectability {may:?}, found {findings:?}");
        }
    }

    /// At least 50 planted, 99 % of them recalled, and 95 % of what was found right.
    pub fn check(&self, what: &str) {
        println!("{what}: {self:?}");
        let recall = self.recalled as f64 / self.planted as f64;
        let precision = self.right as f64 / (self.right + self.wrong) as f64;
        assert!(self.planted >= 50 && recall >= 0.99, "{what}: recall {recall}");
        assert!(precision >= 0.95, "{what}: precision {precision}");
    }
}
