//! The checks of a run at a worker: frequencies are searched where they lie, and anyone can judge.

use super::protocol::{Case, Judgement, Known, Parameters};
use crate::checks::{
    Evidence, Expected, Facts, FilePhysics, Noise, Repeats, Sweeps, Windows, examine, file_physics,
    findings_with,
};
use crate::control::Word;
use crate::network::TwoPort;
use crate::run::{BitWeight, CaptureRecord, bit_weights};
use num_complex::{Complex32, Complex64};
use std::ops::Range;

/// A worker's part in the search for faults.
#[derive(Debug, Default)]
pub struct Examination {
    capture_order: Vec<usize>,
    has_bits: bool,
    found: Evidence,
}

impl Examination {
    /// Begins, the states having been captured in this order. Without bits a word is a mere rank, and its weights mean
    /// nothing.
    pub fn new(capture_order: Vec<usize>, has_bits: bool) -> Self {
        Self { capture_order, has_bits, found: Evidence::default() }
    }

    /// Searches some frequencies. `transmission` holds all states at each of `range` and, where the grid of `points`
    /// frequencies goes on, at the next one; `weights` are the bit weights at the frequencies of `range`.
    pub fn examine(
        &mut self,
        points: usize,
        range: Range<usize>,
        words: &[Word],
        transmission: &[Complex64],
        weights: &[Vec<BitWeight>],
    ) {
        let mut weights = if self.has_bits { weights.to_vec() } else { vec![Vec::new(); weights.len()] };
        let bits = weights.first().map_or(0, Vec::len);
        let beyond = transmission.chunks_exact(words.len().max(1)).skip(weights.len());
        weights.extend(beyond.map(|states| bit_weights(words, states, bits)));
        let found = examine(&Sweeps {
            points,
            range,
            words,
            transmission,
            weights: &weights,
            capture_order: &self.capture_order,
        });
        self.found = std::mem::take(&mut self.found).merge(found);
    }

    /// What was found so far.
    pub fn found(&self) -> &Evidence {
        &self.found
    }
}

/// Judges a run.
pub fn judge(case: &Case) -> Judgement {
    let facts = facts(&case.known);
    let repeats = Repeats { captures: &case.repeats, run_captures: case.known.capture.captures };
    // What the traces themselves curve does not come into the noise of repeated captures.
    let noise = Noise::of_repeats(&case.evidence, &repeats).or_else(|| Noise::of(&case.evidence));
    let windows = Windows::of(case.evidence.points);
    let snr_db = noise.as_ref().map_or_else(Vec::new, |noise| {
        let of_window = |(window, states): (usize, &Vec<_>)| {
            let points = windows.points(window).len();
            #[expect(clippy::cast_possible_truncation, reason = "shown with three digits")]
            states.iter().map(|state| noise.snr_db(window, points, state) as f32).collect()
        };
        case.evidence.windows.iter().enumerate().map(of_window).collect()
    });
    Judgement {
        findings: findings_with(&case.evidence, &facts, &repeats),
        noise_at: noise.as_ref().map_or_else(Vec::new, |noise| noise.absolute(&case.evidence)),
        noise,
        snr_db,
    }
}

/// What is known of a run beside its transmission.
pub fn facts(known: &Known) -> Facts<'_> {
    Facts {
        words: &known.words,
        frequency_hz: &known.frequency_hz,
        design_band_hz: Some(known.design_band_hz),
        capture_order: &known.capture.order,
        order_on_record: known.capture.record != CaptureRecord::Assumed,
        capture_times_s: known.capture.times_s.as_deref(),
        expected: known.layout.as_ref().map(|(layout, guessed)| Expected { layout, guessed: *guessed }),
        zero_word_loss_db: known.zero_word_loss_db,
    }
}

/// What one file's own S-parameters say.
pub fn physics(parameters: &Parameters, noise_at: &[f64]) -> FilePhysics {
    let wide = |s: &Complex32| Complex64::new(s.re.into(), s.im.into());
    let Parameters { s11, s12, s21, s22 } = parameters;
    let reflections = s11.iter().map(wide).zip(s22.iter().map(wide));
    let transmissions = s12.iter().zip(s21);
    let two_ports =
        reflections.zip(transmissions).map(|((s11, s22), (&s12, &s21))| TwoPort { s11, s12, s21, s22 });
    file_physics(two_ports, noise_at)
}
