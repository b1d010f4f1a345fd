//! Which words of a run are the codes of one field.

use crate::control::{ControlModel, Layout, Quantity, Setting, Word};
use crate::plane::{StateIndex, wrap_deg};
use num_complex::Complex64;
use serde::{Deserialize, Serialize};

/// The codes of one field, every other field held at one code.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FieldSlice {
    /// What the field sets.
    pub quantity: Quantity,
    /// +1 where a larger code gives more gain or phase lead, −1 where it gives less.
    pub sign: f64,
    /// The word of each code, code 0 first.
    pub words: Vec<Word>,
    /// What each code should do beyond code 0, counted in the field's direction, dB or degrees.
    pub nominal: Vec<f64>,
    /// The step in dB or degrees; `None` where the codes are not evenly spaced.
    pub even_step: Option<f64>,
    /// The codes with a single bit set, ascending; none where there are no bits.
    pub single_bits: Vec<usize>,
}

/// Why a field cannot be graded.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum SliceError {
    /// The layout has no such field.
    NoSuchField {
        /// The field asked for, from 0.
        field: usize,
        /// Fields of the layout.
        fields: usize,
    },
    /// The held codes are not one for each field.
    HeldCount {
        /// Codes given.
        held: usize,
        /// Fields of the layout.
        fields: usize,
    },
    /// A field is to be held at a code that it has not.
    NoSuchCode {
        /// The field, from 0.
        field: usize,
        /// The code.
        code: u32,
        /// How many codes the field has.
        codes: u32,
    },
    /// Code 0, which all others are measured from, is missing.
    NoCodeZero(Word),
    /// No setting is listed whose own quantity is zero, with the other quantity held where it is asked for.
    NoZeroSetting,
    /// Fewer than two settings are listed with the other quantity held where it is asked for.
    NothingSwept,
    /// Settings are listed on both sides of zero, so that no direction is the field's own.
    BothDirections,
}

impl std::fmt::Display for SliceError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::NoSuchField { field, fields } => {
                write!(f, "There is no field {} among the {fields} of the layout.", field + 1)
            }
            Self::HeldCount { held, fields } => {
                write!(f, "{held} codes are given at which to hold the {fields} fields.")
            }
            Self::NoSuchCode { field, code, codes } => {
                write!(f, "Field {} cannot be held at code {code}: it has {codes} codes.", field + 1)
            }
            Self::NoCodeZero(word) => {
                write!(
                    f,
                    "The field's code 0 is word {}, which is missing, and all others are measured from it.",
                    word.0
                )
            }
            Self::NoZeroSetting => {
                write!(f, "No setting is listed that the others could be measured from.")
            }
            Self::NothingSwept => {
                write!(f, "Fewer than two settings are listed that differ in this quantity alone.")
            }
            Self::BothDirections => {
                write!(f, "Settings are listed on both sides of zero; a field is graded in one direction.")
            }
        }
    }
}

impl std::error::Error for SliceError {}

/// Why a figure does not exist for a field, or not at one frequency.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Refusal {
    /// The figure is counted in steps, and the codes are not evenly spaced.
    UnevenSteps,
    /// The codes are not listed in ascending order, so that increments need not be positive.
    NotAscending,
    /// The line goes through the end codes, and one of them was not measured.
    EndCodeMissing,
    /// The line does not rise, so it gives no step to count in.
    NoSlope,
    /// The settings are not made of bits.
    NoBits,
}

impl std::fmt::Display for Refusal {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::UnevenSteps => "The codes are not evenly spaced, so there is no step to count in.",
            Self::NotAscending => "The values of the codes do not ascend, so steps may go down.",
            Self::EndCodeMissing => {
                "The first or the last code was not measured, and the line goes through both."
            }
            Self::NoBits => "The settings are not evenly spaced, so none of them is a single bit.",
            Self::NoSlope => "The line through the codes does not rise, so it gives no step to count in.",
        })
    }
}

fn own(quantity: Quantity, setting: Setting) -> f64 {
    match quantity {
        Quantity::Gain => setting.gain_db,
        Quantity::Phase => setting.phase_deg,
    }
}

impl FieldSlice {
    /// The codes of the layout's field number `field` (from 0). `held` has the code of every field, of which the graded
    /// field's own is not looked at; where it is empty all others are held at code 0.
    pub fn of(layout: &Layout, field: usize, held: &[u32]) -> Result<Self, SliceError> {
        let fields = layout.fields.len();
        let graded = layout.fields.get(field).ok_or(SliceError::NoSuchField { field, fields })?;
        if !held.is_empty() && held.len() != fields {
            return Err(SliceError::HeldCount { held: held.len(), fields });
        }
        let mut others = 0;
        for (index, other) in layout.fields.iter().enumerate().filter(|(index, _)| *index != field) {
            let code = held.get(index).copied().unwrap_or(0);
            if code >= other.codes() {
                return Err(SliceError::NoSuchCode { field: index, code, codes: other.codes() });
            }
            others |= other.word_bits(code);
        }
        let sign = graded.direction.sign();
        let codes = 0..graded.codes();
        let nominal: Vec<f64> = codes.clone().map(|code| sign * graded.nominal(code)).collect();
        Ok(Self {
            quantity: graded.quantity,
            sign,
            words: codes.map(|code| Word(others | graded.word_bits(code))).collect(),
            even_step: if graded.levels.is_none() { Some(graded.step) } else { even_step(&nominal) },
            single_bits: single_bits(nominal.len()),
            nominal,
        })
    }

    /// All settings of a run that differ in `quantity` alone, the other held at so many dB or degrees from the zero word:
    /// of listed settings, which have no fields, or of a quantity that several fields set together.
    ///
    /// Codes are the settings in ascending order from none, whichever way they go. Of several words that nominally do the
    /// same the lowest is graded. A setting that is not listed is no code, so a gap makes the others unevenly spaced.
    pub fn of_settings(model: &ControlModel, quantity: Quantity, held: f64) -> Result<Self, SliceError> {
        let words = match model {
            ControlModel::Bits(layout) => layout.word_count(),
            ControlModel::Listed(listing) => listing.words(),
        };
        let is_held = |setting: Setting| match quantity {
            Quantity::Gain => wrap_deg(setting.phase_deg - held).abs() < SAME,
            Quantity::Phase => (setting.gain_db - held).abs() < SAME,
        };
        let settings = (0_u32..).take(words).map(Word).filter_map(|word| Some((word, model.nominal(word)?)));
        let mut swept: Vec<(f64, Word)> = settings
            .filter(|(_, setting)| is_held(*setting))
            .map(|(word, setting)| (own(quantity, setting), word))
            .collect();
        let goes = |sign: f64| swept.iter().any(|(value, _)| sign * value > SAME);
        let sign = match (goes(1.0), goes(-1.0)) {
            (true, true) => return Err(SliceError::BothDirections),
            (false, false) => return Err(SliceError::NothingSwept),
            (up, _) => {
                if up {
                    1.0
                } else {
                    -1.0
                }
            }
        };
        swept.sort_by(|a, b| (sign * a.0).total_cmp(&(sign * b.0)).then(a.1.cmp(&b.1)));
        swept.dedup_by(|later, kept| (later.0 - kept.0).abs() < SAME);
        let nominal: Vec<f64> = swept.iter().map(|(value, _)| sign * value).collect();
        if nominal.first().is_none_or(|first| first.abs() > SAME) {
            return Err(SliceError::NoZeroSetting);
        }
        let even_step = even_step(&nominal);
        Ok(Self {
            quantity,
            sign,
            words: swept.into_iter().map(|(_, word)| word).collect(),
            single_bits: if even_step.is_some() { single_bits(nominal.len()) } else { Vec::new() },
            nominal,
            even_step,
        })
    }

    /// The number of codes.
    pub fn codes(&self) -> usize {
        self.words.len()
    }

    /// The code of the settings whose own quantity is that of `setting`, whatever the other is.
    pub fn code_at(&self, setting: Setting) -> Option<usize> {
        let own = self.sign * own(self.quantity, setting);
        let same = |off: f64| {
            if self.quantity == Quantity::Phase { wrap_deg(off).abs() < SAME } else { off.abs() < SAME }
        };
        self.nominal.iter().position(|nominal| same(nominal - own))
    }

    /// The step in dB or degrees.
    pub fn step(&self) -> Result<f64, Refusal> {
        self.even_step.ok_or(Refusal::UnevenSteps)
    }

    /// Whether it is a phase field whose codes go once round the circle, so that a step leads from the last code back to
    /// code 0.
    pub fn fills_circle(&self) -> bool {
        let turn = self.even_step.map(|step| step * self.codes() as f64);
        self.quantity == Quantity::Phase && turn.is_some_and(|turn| (turn - 360.0).abs() <= 360.0 * 1e-6)
    }

    /// The position in the run of each code's state, `None` where it is missing. Without code 0 there is nothing to
    /// measure the others from.
    pub fn states(&self, index: &StateIndex) -> Result<Vec<Option<usize>>, SliceError> {
        let states: Vec<Option<usize>> = self.words.iter().map(|&word| index.position(word)).collect();
        match (states.first(), self.words.first()) {
            (Some(None), Some(&word)) => Err(SliceError::NoCodeZero(word)),
            _ => Ok(states),
        }
    }

    /// The words of the codes that are missing, code 0 first.
    pub fn missing(&self, index: &StateIndex) -> Vec<Word> {
        self.words.iter().copied().filter(|&word| index.position(word).is_none()).collect()
    }

    /// Each code's transmission out of that of all states at one frequency.
    pub fn pick(states: &[Option<usize>], transmission: &[Complex64]) -> Vec<Option<Complex64>> {
        states.iter().map(|state| transmission.get((*state)?).copied()).collect()
    }
}

/// Settings in dB or degrees that differ by less are one.
const SAME: f64 = 1e-9;

/// The common difference of ascending values, if they have one.
fn even_step(nominal: &[f64]) -> Option<f64> {
    let (first, last) = (nominal.first()?, nominal.last()?);
    let step = (last - first) / (nominal.len() - 1) as f64;
    let is_even = nominal.windows(2).all(|pair| (pair[1] - pair[0] - step).abs() <= 1e-9 * step);
    (is_even && step > 0.0).then_some(step)
}

/// The codes with a single bit set, of so many codes.
fn single_bits(codes: usize) -> Vec<usize> {
    let doubled = std::iter::successors(Some(1_usize), |code| code.checked_mul(2));
    doubled.take_while(|code| *code < codes).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::control::{Direction, Field};

    fn cascade() -> Layout {
        let mut gain = Field::contiguous(Quantity::Gain, 3, 2, 0.5, Direction::Down);
        gain.bits[0].inverted = true;
        Layout { fields: vec![Field::contiguous(Quantity::Phase, 0, 3, 45.0, Direction::Down), gain] }
    }

    fn words(slice: &FieldSlice) -> Vec<u32> {
        slice.words.iter().map(|word| word.0).collect()
    }

    /// By hand: the gain field's bits are 3 (active low) and 4, so its codes 0, 1, 2, 3 are 8, 0, 24, 16.
    #[test]
    fn a_field_is_cut_out_of_a_cascade() {
        let gain = FieldSlice::of(&cascade(), 1, &[]).unwrap();
        assert_eq!(words(&gain), [8, 0, 24, 16]);
        assert_eq!((gain.nominal.as_slice(), gain.sign), ([0.0, 0.5, 1.0, 1.5].as_slice(), -1.0));
        assert_eq!(words(&FieldSlice::of(&cascade(), 1, &[5, 99]).unwrap()), [13, 5, 29, 21]);
        let phase = FieldSlice::of(&cascade(), 0, &[99, 3]).unwrap();
        assert_eq!(words(&phase), [16, 17, 18, 19, 20, 21, 22, 23]);
        assert!(phase.fills_circle() && !gain.fills_circle());
    }

    #[test]
    fn what_cannot_be_cut_is_refused_with_the_reason() {
        let refused = |field, held: &[u32]| FieldSlice::of(&cascade(), field, held).unwrap_err();
        assert_eq!(refused(2, &[]), SliceError::NoSuchField { field: 2, fields: 2 });
        assert_eq!(refused(0, &[0]), SliceError::HeldCount { held: 1, fields: 2 });
        assert_eq!(refused(0, &[0, 4]), SliceError::NoSuchCode { field: 1, code: 4, codes: 4 });
    }

    #[test]
    fn missing_codes_are_told_and_without_code_zero_there_is_nothing() {
        let gain = FieldSlice::of(&cascade(), 1, &[]).unwrap();
        let index = StateIndex::new(&[Word(0), Word(8), Word(16)]);
        assert_eq!(gain.states(&index), Ok(vec![Some(1), Some(0), None, Some(2)]));
        assert_eq!(gain.missing(&index), [Word(24)]);
        let without = StateIndex::new(&[Word(0), Word(16)]);
        assert_eq!(gain.states(&without), Err(SliceError::NoCodeZero(Word(8))));
    }

    #[test]
    fn levels_that_are_even_after_all_have_a_step() {
        let mut layout = cascade();
        layout.fields[1].levels = Some(vec![1.0, 1.7, 4.0, 7.0]);
        let slice = FieldSlice::of(&layout, 1, &[]).unwrap();
        assert_eq!(slice.step(), Err(Refusal::UnevenSteps));
        for (nominal, expected) in slice.nominal.iter().zip([0.0, 0.7, 3.0, 6.0]) {
            assert!((nominal - expected).abs() < 1e-12);
        }
        layout.fields[1].levels = Some(vec![1.0, 1.1, 1.2, 1.3]);
        assert!((FieldSlice::of(&layout, 1, &[]).unwrap().step().unwrap() - 0.1).abs() < 1e-12);
        layout.fields[1].levels = Some(vec![3.0, 2.0, 1.0, 0.0]);
        assert_eq!(FieldSlice::of(&layout, 1, &[]).unwrap().step(), Err(Refusal::UnevenSteps));
    }

    fn listed(settings: &[(f64, f64)]) -> ControlModel {
        let setting = |&(gain_db, phase_deg): &(f64, f64)| Setting { gain_db, phase_deg };
        ControlModel::Listed(crate::control::Listing::Settings(settings.iter().map(setting).collect()))
    }

    /// By hand: the words are the places in the list.
    #[test]
    fn listed_settings_are_codes_in_ascending_order() {
        let model =
            listed(&[(-1.0, 0.0), (-3.0, 0.0), (-2.0, 0.0), (-2.0, -90.0), (-1.5, -90.0), (-1.0, 0.0)]);
        let slice = FieldSlice::of_settings(&model, Quantity::Gain, 0.0).unwrap();
        assert_eq!((words(&slice), slice.sign), (vec![0, 2, 1], -1.0));
        assert_eq!((slice.even_step, slice.single_bits.as_slice()), (Some(1.0), [1, 2].as_slice()));
        let turned = FieldSlice::of_settings(&model, Quantity::Phase, -1.0).unwrap();
        assert_eq!((words(&turned), turned.nominal), (vec![2, 3], vec![0.0, 90.0]));
        let refused = |quantity, held| FieldSlice::of_settings(&model, quantity, held).unwrap_err();
        assert_eq!(refused(Quantity::Gain, 270.0), SliceError::NoZeroSetting);
        assert_eq!(refused(Quantity::Phase, -2.0), SliceError::NothingSwept);
        let uneven = listed(&[(0.0, 0.0), (1.0, 0.0), (3.0, 0.0)]);
        let slice = FieldSlice::of_settings(&uneven, Quantity::Gain, 0.0).unwrap();
        assert_eq!((slice.sign, slice.even_step, slice.single_bits.len()), (1.0, None, 0));
        let both = listed(&[(0.0, 0.0), (1.0, 0.0), (-1.0, 0.0)]);
        let refused = FieldSlice::of_settings(&both, Quantity::Gain, 0.0);
        assert_eq!(refused, Err(SliceError::BothDirections));
    }

    /// Bits that set one quantity together, 1 dB and 2 dB in two fields, are one slice of 0 to 3 dB.
    #[test]
    fn fields_of_one_quantity_are_a_slice_together() {
        let field = |bit, step| Field::contiguous(Quantity::Gain, bit, 1, step, Direction::Down);
        let model = ControlModel::Bits(Layout { fields: vec![field(0, 2.0), field(1, 1.0)] });
        let slice = FieldSlice::of_settings(&model, Quantity::Gain, 0.0).unwrap();
        assert_eq!((words(&slice), slice.even_step), (vec![0, 2, 1, 3], Some(1.0)));
    }
}
