//! Effective bits: the ideal quantiser that would serve a continuum of targets as well as the states at hand do.
//!
//! An ideal quantiser of n bits over a span L has steps of L/2^n and an RMS error of step/√12 against targets
//! spread evenly, so a set of states with RMS error σ is worth log2(L/(√12·σ)) bits. σ follows from the gaps between
//! sorted states, since each target is served by the nearest. The RMS *state* error put into the same formula would
//! call a perfect part infinite and under-rate one that is dense but mis-stepped.

use super::StateIndex;
use crate::control::{ControlModel, Field, Layout, Quantity, Word};
use num_complex::Complex64;

/// Bits of an ideal quantiser over `span` whose RMS error is `sigma`: log2(span/(√12·σ)).
pub fn bits_of_sigma(span: f64, sigma: f64) -> f64 {
    (span / (12_f64.sqrt() * sigma)).log2()
}

/// Effective phase bits of states at the given phases in degrees (any turn, any order), against targets all around
/// the circle: log2(360/√(Σgap³/360)) with gaps that sum to 360°. 0 for a single state, `None` without states.
pub fn phase_effective_bits(phases_deg: &[f64]) -> Option<f64> {
    let mut sorted: Vec<f64> = phases_deg.iter().map(|phase| phase.rem_euclid(360.0)).collect();
    sorted.sort_by(f64::total_cmp);
    let closing = sorted.first()? + 360.0 - sorted.last()?;
    let gaps = sorted.windows(2).map(|pair| pair[1] - pair[0]).chain([closing]);
    let sigma = (gaps.map(|gap| gap.powi(3)).sum::<f64>() / (12.0 * 360.0)).sqrt();
    Some(bits_of_sigma(360.0, sigma))
}

/// Effective gain bits of states at the given gains in dB (any order), against targets spread evenly between
/// `lowest_db` and `highest_db`, the nominal span widened by half a step at each end. Not below 0; `None` without
/// states or span.
///
/// With every state inside the span, σ² = (Σgap³ + 4·Σh³)/(12·span), gaps between neighbours and h the two end
/// distances. The code integrates each state's own share of the span, which is the same and also holds where states
/// lie outside it.
pub fn gain_effective_bits(gains_db: &[f64], lowest_db: f64, highest_db: f64) -> Option<f64> {
    let mut sorted = gains_db.to_vec();
    sorted.sort_by(f64::total_cmp);
    let span = highest_db - lowest_db;
    if sorted.is_empty() || span <= 0.0 {
        return None;
    }
    let border = |index: usize| match index {
        0 => lowest_db,
        _ if index == sorted.len() => highest_db,
        _ => (0.5 * (sorted[index - 1] + sorted[index])).clamp(lowest_db, highest_db),
    };
    let squared: f64 = sorted
        .iter()
        .enumerate()
        .map(|(index, state)| ((border(index + 1) - state).powi(3) - (border(index) - state).powi(3)) / 3.0)
        .sum();
    Some(bits_of_sigma(span, (squared / span).sqrt()).max(0.0))
}

/// The states that effective bits are taken from, found once for a run: all codes of one quantity's fields, the
/// other quantity's fields at code 0.
#[derive(Clone, Debug)]
pub struct EffectiveBits {
    gain: Option<GainSweep>,
    phase: Option<Vec<usize>>,
}

#[derive(Clone, Debug)]
struct GainSweep {
    states: Vec<usize>,
    lowest_db: f64,
    highest_db: f64,
}

impl EffectiveBits {
    /// Finds the states of a layout. A quantity without fields, or with one of its states missing, has no figure; nor
    /// has a run without bits, whose settings need be neither evenly spaced nor all there.
    pub fn new(model: &ControlModel, index: &StateIndex) -> Self {
        let Some(layout) = model.layout() else { return Self { gain: None, phase: None } };
        let gain = layout.finest_step(Quantity::Gain).and_then(|step| {
            let swept = swept_words(layout, Quantity::Gain);
            let nominal = || swept.iter().map(|&word| layout.nominal(word).gain_db);
            let lowest_db = nominal().min_by(f64::total_cmp)? - 0.5 * step;
            let highest_db = nominal().max_by(f64::total_cmp)? + 0.5 * step;
            let states = swept.iter().map(|&word| index.position(word)).collect::<Option<_>>()?;
            Some(GainSweep { states, lowest_db, highest_db })
        });
        let phase = layout.of(Quantity::Phase).next().and_then(|_| {
            swept_words(layout, Quantity::Phase).into_iter().map(|word| index.position(word)).collect()
        });
        Self { gain, phase }
    }

    /// Effective gain bits at one frequency, from the relative gains of all states.
    pub fn gain(&self, relative: impl Fn(usize) -> Complex64) -> Option<f64> {
        let sweep = self.gain.as_ref()?;
        let gains: Vec<f64> = sweep.states.iter().map(|&at| 20.0 * relative(at).norm().log10()).collect();
        gain_effective_bits(&gains, sweep.lowest_db, sweep.highest_db)
    }

    /// Effective phase bits at one frequency, from the relative gains of all states.
    pub fn phase(&self, relative: impl Fn(usize) -> Complex64) -> Option<f64> {
        let phases: Vec<f64> =
            self.phase.as_ref()?.iter().map(|&at| relative(at).arg().to_degrees()).collect();
        phase_effective_bits(&phases)
    }
}

/// The words of all combinations of the codes of one quantity's fields, every other field at code 0.
fn swept_words(layout: &Layout, quantity: Quantity) -> Vec<Word> {
    let field_mask = |field: &Field| field.bits.iter().fold(0_u32, |mask, bit| mask | 1 << bit.position);
    layout.of(quantity).fold(vec![layout.zero_word()], |words, field| {
        let others = !field_mask(field);
        let codes =
            |word: Word| (0..field.codes()).map(move |code| Word(word.0 & others | field.word_bits(code)));
        words.into_iter().flat_map(codes).collect()
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::control::Direction;
    use crate::plane::target_gain;

    fn close(a: f64, b: f64, tolerance: f64) {
        assert!((a - b).abs() <= tolerance, "{a} is not {b} within {tolerance}");
    }

    /// Phases of all codes of a six-bit part whose bits are off by `bit_error_deg`.
    fn six_bit_phases(bit_error_deg: [f64; 6]) -> Vec<f64> {
        let bit_deg = |bit: usize| 5.625 * f64::from(1_u32 << bit) + bit_error_deg[bit];
        (0..64_u32).map(|code| (0..6).filter(|bit| code >> bit & 1 == 1).map(bit_deg).sum()).collect()
    }

    /// The step/√12 of 1 to 8 ideal bits around the circle; textbook quantisation noise.
    #[test]
    fn ideal_parts_have_exactly_their_bits() {
        let step_over_root_12_deg =
            [51.961_524, 25.980_762, 12.990_381, 6.495_191, 3.247_595, 1.623_798, 0.811_899, 0.405_949];
        for (bits, sigma) in (1_u32..).zip(step_over_root_12_deg) {
            close(bits_of_sigma(360.0, sigma), f64::from(bits), 2e-6);
            let codes = 1 << bits;
            let phases: Vec<f64> =
                (0..codes).map(|code| -360.0 / f64::from(codes) * f64::from(code)).collect();
            close(phase_effective_bits(&phases).expect("bits"), f64::from(bits), 1e-12);
            let gains: Vec<f64> = (0..codes).map(|code| -0.5 * f64::from(code)).collect();
            let lowest_db = -0.5 * f64::from(codes) + 0.25;
            close(gain_effective_bits(&gains, lowest_db, 0.25).expect("bits"), f64::from(bits), 1e-12);
        }
    }

    /// The step/√12 of attenuators of 1, 0.5 and 0.25 dB over their span, whatever their bits; textbook quantisation noise.
    #[test]
    fn ideal_attenuators_have_their_quantisation_noise() {
        for (step_db, sigma_db) in [(1.0, 0.288_675_1), (0.5, 0.144_337_6), (0.25, 0.072_168_8)] {
            for bits in [3_u32, 6] {
                let codes = 1 << bits;
                let gains: Vec<f64> = (0..codes).map(|code| -step_db * f64::from(code)).collect();
                let (highest_db, span_db) = (step_db / 2.0, step_db * f64::from(codes));
                let found = gain_effective_bits(&gains, highest_db - span_db, highest_db).expect("bits");
                close(bits_of_sigma(span_db, sigma_db), found, 2e-6);
            }
        }
    }

    /// 5.625°/√12 of the quantiser and 2° of the states add in squares to 2.576183°; that and its bits by hand.
    #[test]
    fn a_quantiser_and_errors_of_its_states_add_in_squares() {
        let sigma_deg = (5.625 / 12_f64.sqrt()).hypot(2.0);
        close(sigma_deg, 2.576_183, 1e-6);
        close(bits_of_sigma(360.0, sigma_deg), 5.334_137, 1e-6);
    }

    /// A given RMS error in bits of the circle; follows from the definition.
    #[test]
    fn bits_of_a_given_rms_error() {
        for (sigma, bits) in [
            (1.0, 6.699_372),
            (1.623_797_6, 6.000_000),
            (2.0, 5.699_372),
            (3.0, 5.114_409),
            (5.0, 4.377_444),
            (2.576_183, 5.334_137),
        ] {
            close(bits_of_sigma(360.0, sigma), bits, 1e-6);
        }
    }

    /// States at 0, 92, 177 and 274°, gaps 92, 85, 97 and 86: σ = 26.094300°, by hand from Σgap³/(12·360).
    #[test]
    fn four_uneven_states() {
        let bits = phase_effective_bits(&[0.0, 92.0, 177.0, 274.0]).expect("bits");
        close(bits, 1.993_709, 1e-6);
        close(bits, bits_of_sigma(360.0, 26.094_300), 1e-7);
    }

    /// Six bits with small errors lose little, and with large ones still keep far more than their RMS state error
    /// would suggest (4.73). Values by closed form from the carry steps, outside this code.
    #[test]
    fn six_uneven_bits() {
        let small = phase_effective_bits(&six_bit_phases([0.2, -0.3, 0.5, -1.0, 1.5, -2.0]));
        close(small.expect("bits"), 5.965_040, 1e-6);
        close(small.expect("bits"), bits_of_sigma(360.0, 1.663_627), 1e-6);
        let large = phase_effective_bits(&six_bit_phases([0.2, -0.3, 0.5, -3.0, 4.0, -6.0]));
        close(large.expect("bits"), 5.805_370, 1e-6);
    }

    /// Against the mean square over a fine grid of targets, with states inside, outside and doubled.
    #[test]
    fn gain_bits_agree_with_a_continuum_counted_out() {
        for gains in [vec![0.1, -0.4, -1.3, -1.3], vec![0.9, 0.3, -0.2, -4.0], vec![5.0], vec![-0.5, -0.5]] {
            let points = 400_000;
            let squared: f64 = (0..points)
                .map(|index| {
                    let target = -1.75 + 2.0 * (f64::from(index) + 0.5) / f64::from(points);
                    gains.iter().map(|gain| (target - gain).powi(2)).fold(f64::INFINITY, f64::min)
                })
                .sum();
            let expected = (2.0 / (12.0 * squared / f64::from(points)).sqrt()).log2().max(0.0);
            close(gain_effective_bits(&gains, -1.75, 0.25).expect("bits"), expected, 1e-9);
        }
    }

    #[test]
    fn a_layout_gives_the_states_of_each_quantity() {
        let mut gain = Field::contiguous(Quantity::Gain, 3, 2, 0.5, Direction::Down);
        gain.bits[0].inverted = true;
        let layout =
            Layout { fields: vec![Field::contiguous(Quantity::Phase, 0, 3, 45.0, Direction::Down), gain] };
        let words: Vec<Word> = (0..32).map(Word).collect();
        let ideal = |state: usize| target_gain(layout.nominal(words[state]));
        let bits = EffectiveBits::new(&layout.clone().into(), &StateIndex::new(&words));
        close(bits.gain(ideal).expect("bits"), 2.0, 1e-9);
        close(bits.phase(ideal).expect("bits"), 3.0, 1e-9);
        // Word 8 is the zero word; without it neither sweep is whole. Word 0 is in no sweep of the phase.
        let without =
            |absent: u32| -> Vec<Word> { words.iter().copied().filter(|word| word.0 != absent).collect() };
        let none = EffectiveBits::new(&layout.clone().into(), &StateIndex::new(&without(8)));
        assert_eq!((none.gain(ideal), none.phase(ideal)), (None, None));
        let some = EffectiveBits::new(&layout.clone().into(), &StateIndex::new(&without(0)));
        assert_eq!(some.gain(ideal), None);
        assert!(some.phase.is_some());
    }
}
