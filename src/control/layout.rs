//! The layout of a control word: which bits set gain or phase, in what steps and in which direction.

use super::model::smallest_difference;
use serde::{Deserialize, Serialize};
use std::collections::HashMap;

/// A control word: an unsigned integer whose bit 0 is the least significant.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Word(pub u32);

/// What a field sets.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Quantity {
    /// Gain, in decibels.
    Gain,
    /// Phase, in degrees.
    Phase,
}

/// What a larger code does to the quantity.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Direction {
    /// More gain, or phase lead.
    Up,
    /// Less gain (an attenuator), or phase lag.
    Down,
}

impl Direction {
    /// +1 or −1.
    pub fn sign(self) -> f64 {
        match self {
            Self::Up => 1.0,
            Self::Down => -1.0,
        }
    }
}

/// One bit of the control word in a field.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct FieldBit {
    /// Position in the word, 0 the least significant.
    pub position: u8,
    /// Active low: a 0 in the word counts as a 1 in the code.
    pub inverted: bool,
}

/// A set of bits that together set one quantity.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Field {
    /// What the field sets.
    pub quantity: Quantity,
    /// The bits, the least significant of the code first.
    pub bits: Vec<FieldBit>,
    /// The least significant bit's weight in dB or degrees, positive.
    pub step: f64,
    /// What a larger code does.
    pub direction: Direction,
    /// Where the codes are not evenly spaced: the value of every code in dB or degrees, code 0 first, counted in the
    /// field's direction. Only the differences to code 0 matter. The step then stands for nothing but itself.
    #[serde(default)]
    pub levels: Option<Vec<f64>>,
}

impl Field {
    /// A field on `count` neighbouring bits from `lowest_bit` upwards, none inverted.
    pub fn contiguous(
        quantity: Quantity,
        lowest_bit: u8,
        count: u8,
        step: f64,
        direction: Direction,
    ) -> Self {
        let bits = (lowest_bit..lowest_bit + count).map(|position| FieldBit { position, inverted: false });
        Self { quantity, bits: bits.collect(), step, direction, levels: None }
    }

    /// The number of codes, 2^bits.
    pub fn codes(&self) -> u32 {
        1 << self.bits.len()
    }

    /// The field's code in a word.
    pub fn code(&self, word: Word) -> u32 {
        self.bits.iter().enumerate().fold(0, |code, (weight, bit)| {
            let on = (word.0 >> bit.position & 1 == 1) != bit.inverted;
            code | u32::from(on) << weight
        })
    }

    /// The word bits that make `code`, the other fields' bits zero.
    pub fn word_bits(&self, code: u32) -> u32 {
        self.bits.iter().enumerate().fold(0, |word, (weight, bit)| {
            let on = (code >> weight & 1 == 1) != bit.inverted;
            word | u32::from(on) << bit.position
        })
    }

    /// The nominal value of a code in dB or degrees, relative to code 0.
    pub fn nominal(&self, code: u32) -> f64 {
        let Some(levels) = &self.levels else { return self.direction.sign() * self.step * f64::from(code) };
        let level = |code: usize| levels.get(code).copied().unwrap_or(f64::NAN);
        self.direction.sign() * (level(code as usize) - level(0))
    }

    /// The smallest difference between the values of two codes, in dB or degrees: the step, or less where the codes are
    /// not evenly spaced.
    fn finest_step(&self) -> f64 {
        let uneven =
            self.levels.as_ref().and_then(|levels| smallest_difference(levels.clone(), self.quantity));
        uneven.unwrap_or(self.step)
    }
}

/// A nominal gain and phase relative to the zero word; the phase is not wrapped.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Setting {
    /// Gain in dB; an attenuation is negative.
    pub gain_db: f64,
    /// Phase in degrees; a lag is negative.
    pub phase_deg: f64,
}

/// A wanted setting and the word that nominally makes it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Target {
    /// Where the setting should land, relative to the reference.
    pub setting: Setting,
    /// The word that nominally makes it; `None` where no word does.
    pub nominal_word: Option<Word>,
}

/// What all bits of a run's control word mean.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Layout {
    /// The fields; every bit of the word belongs to exactly one.
    pub fields: Vec<Field>,
}

/// Why a layout cannot be used.
#[derive(Clone, Debug, PartialEq)]
pub enum LayoutError {
    /// A bit position is used twice.
    BitUsedTwice(u8),
    /// A bit of the word belongs to no field.
    BitUnused(u8),
    /// A field without bits.
    EmptyField,
    /// A step that is not a positive finite number.
    BadStep(f64),
    /// A field's list of code values has not as many as it has codes.
    LevelCount {
        /// Values listed.
        levels: usize,
        /// Codes of the field.
        codes: u32,
    },
    /// A code's value is not a finite number.
    BadLevel(f64),
    /// More bits than the tool supports.
    TooManyBits(usize),
}

impl std::fmt::Display for LayoutError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::BitUsedTwice(bit) => write!(f, "Bit {bit} is given to two fields."),
            Self::BitUnused(bit) => write!(f, "Bit {bit} is given to no field."),
            Self::EmptyField => write!(f, "A field has no bits."),
            Self::BadStep(step) => write!(f, "A step must be a positive number, not {step}."),
            Self::LevelCount { levels, codes } => {
                write!(f, "A field of {codes} codes needs as many values, not {levels}.")
            }
            Self::BadLevel(level) => write!(f, "The value of a code must be a number, not {level}."),
            Self::TooManyBits(bits) => write!(f, "{bits} bits are more than the 16 that are supported."),
        }
    }
}

impl std::error::Error for LayoutError {}

impl Layout {
    /// The most bits that a control word may have.
    pub const MAX_BITS: usize = 16;

    /// Checks that every bit from 0 up belongs to exactly one field and every step is usable.
    pub fn check(&self) -> Result<(), LayoutError> {
        let bits = self.bits();
        if bits > Self::MAX_BITS {
            return Err(LayoutError::TooManyBits(bits));
        }
        let mut used = 0_u32;
        for field in &self.fields {
            if field.bits.is_empty() {
                return Err(LayoutError::EmptyField);
            }
            if !(field.step.is_finite() && field.step > 0.0) {
                return Err(LayoutError::BadStep(field.step));
            }
            if let Some(levels) = &field.levels {
                if levels.len() != field.codes() as usize {
                    return Err(LayoutError::LevelCount { levels: levels.len(), codes: field.codes() });
                }
                if let Some(&level) = levels.iter().find(|level| !level.is_finite()) {
                    return Err(LayoutError::BadLevel(level));
                }
            }
            for bit in &field.bits {
                if usize::from(bit.position) >= bits {
                    return Err(LayoutError::BitUnused(self.first_unused(bits)));
                }
                if used >> bit.position & 1 == 1 {
                    return Err(LayoutError::BitUsedTwice(bit.position));
                }
                used |= 1 << bit.position;
            }
        }
        Ok(())
    }

    fn first_unused(&self, bits: usize) -> u8 {
        let uses = |position: u8| self.fields.iter().flat_map(|f| &f.bits).any(|b| b.position == position);
        (0..u8::try_from(bits).unwrap_or(u8::MAX)).find(|&position| !uses(position)).unwrap_or(0)
    }

    /// The number of bits of the word.
    pub fn bits(&self) -> usize {
        self.fields.iter().map(|field| field.bits.len()).sum()
    }

    /// The number of words, 2^bits.
    pub fn word_count(&self) -> usize {
        1 << self.bits()
    }

    /// The nominal setting of a word, relative to the zero word.
    pub fn nominal(&self, word: Word) -> Setting {
        let sum = |quantity| self.of(quantity).map(|field| field.nominal(field.code(word))).sum::<f64>();
        Setting { gain_db: sum(Quantity::Gain), phase_deg: sum(Quantity::Phase) }
    }

    /// The word whose nominal gain and phase are both zero.
    pub fn zero_word(&self) -> Word {
        Word(self.fields.iter().fold(0, |word, field| word | field.word_bits(0)))
    }

    /// The fields that set one quantity, in layout order.
    pub fn of(&self, quantity: Quantity) -> impl Iterator<Item = &Field> {
        self.fields.iter().filter(move |field| field.quantity == quantity)
    }

    /// The smallest step of the fields of one quantity, in dB or degrees.
    pub fn finest_step(&self, quantity: Quantity) -> Option<f64> {
        self.of(quantity).map(Field::finest_step).min_by(f64::total_cmp)
    }

    /// Every nominal setting in address order: the highest gain first, and for each gain the phase codes
    /// ascending. With one gain and one phase field the index is gain index × phase codes + phase code, which is
    /// the address rule of the memory images. Where several fields set one quantity, a setting that several words make
    /// is a target once, and the lowest of these words is its nominal one.
    pub fn targets(&self) -> Vec<Target> {
        let gains = self.combinations(Quantity::Gain, |a, b| b.total_cmp(&a));
        let phases = self.combinations(Quantity::Phase, |a, b| a.abs().total_cmp(&b.abs()));
        let mut targets = Vec::with_capacity(gains.len() * phases.len());
        for &(gain_db, gain_bits) in &gains {
            for &(phase_deg, phase_bits) in &phases {
                let nominal_word = Some(Word(gain_bits | phase_bits));
                targets.push(Target { setting: Setting { gain_db, phase_deg }, nominal_word });
            }
        }
        targets
    }

    /// (nominal value, word bits) of every combination of the codes of one quantity's fields, sorted by value.
    fn combinations(
        &self,
        quantity: Quantity,
        order: impl Fn(f64, f64) -> std::cmp::Ordering,
    ) -> Vec<(f64, u32)> {
        let mut all = vec![(0.0, 0)];
        for field in self.of(quantity) {
            all = all
                .iter()
                .flat_map(|&(value, bits)| {
                    (0..field.codes())
                        .map(move |code| (value + field.nominal(code), bits | field.word_bits(code)))
                })
                .collect();
        }
        all.sort_by(|a, b| order(a.0, b.0).then(a.1.cmp(&b.1)));
        if self.of(quantity).count() < 2 {
            return all;
        }
        // Sums of steps that are no binary fractions differ in the last place, so they are compared in whole 1e-7.
        let place = |value: f64| match quantity {
            Quantity::Gain => (value * 1e7).round(),
            Quantity::Phase => (value.rem_euclid(360.0) * 1e7).round() % 3.6e9,
        };
        let mut distinct: Vec<(f64, u32)> = Vec::with_capacity(all.len());
        let mut seen: HashMap<u64, usize> = HashMap::new();
        for (value, bits) in all {
            // Adding zero makes −0 and 0 one place.
            let index = *seen.entry((place(value) + 0.0).to_bits()).or_insert(distinct.len());
            match distinct.get_mut(index) {
                Some(kept) => kept.1 = kept.1.min(bits),
                None => distinct.push((value, bits)),
            }
        }
        distinct
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn twelve_bits() -> Layout {
        Layout {
            fields: vec![
                Field::contiguous(Quantity::Phase, 0, 7, 2.8125, Direction::Down),
                Field::contiguous(Quantity::Gain, 7, 5, 0.5, Direction::Down),
            ],
        }
    }

    #[test]
    fn targets_follow_the_address_rule_and_name_their_own_word() {
        let layout = twelve_bits();
        let targets = layout.targets();
        assert_eq!(targets.len(), layout.word_count());
        for (address, target) in targets.iter().enumerate() {
            assert_eq!(target.nominal_word.map(|word| layout.nominal(word)), Some(target.setting));
            assert_eq!(target.setting.gain_db, -0.5 * (address / 128) as f64);
            assert_eq!(target.setting.phase_deg, -2.8125 * (address % 128) as f64);
        }
    }

    #[test]
    fn an_inverted_bit_is_on_when_the_word_bit_is_off() {
        let mut layout = twelve_bits();
        layout.fields[1].bits[4].inverted = true;
        assert_eq!(layout.zero_word(), Word(1 << 11));
        assert_eq!(layout.nominal(Word(0)).gain_db, -8.0);
        assert_eq!(layout.nominal(layout.zero_word()), Setting { gain_db: 0.0, phase_deg: 0.0 });
    }

    #[test]
    fn a_rising_gain_field_still_starts_at_the_highest_gain() {
        let layout = Layout { fields: vec![Field::contiguous(Quantity::Gain, 0, 3, 1.0, Direction::Up)] };
        let gains: Vec<f64> = layout.targets().iter().map(|target| target.setting.gain_db).collect();
        assert_eq!(gains, [7.0, 6.0, 5.0, 4.0, 3.0, 2.0, 1.0, 0.0]);
    }

    /// Two attenuators in cascade: 0 to 3 dB and 0 to 6 dB in whole steps make ten settings of sixteen words.
    #[test]
    fn a_setting_that_several_words_make_is_one_target() {
        let two = |second_step| Layout {
            fields: vec![
                Field::contiguous(Quantity::Gain, 0, 2, 1.0, Direction::Down),
                Field::contiguous(Quantity::Gain, 2, 2, second_step, Direction::Down),
            ],
        };
        let targets = two(2.0).targets();
        let gains: Vec<f64> = targets.iter().map(|target| target.setting.gain_db).collect();
        assert_eq!(gains, (0..10).map(|db| -f64::from(db)).collect::<Vec<_>>());
        // 2 dB is word 2 (2 + 0) and word 4 (0 + 2).
        assert_eq!(targets[2].nominal_word, Some(Word(2)));
        // Without overlap every word has its own.
        assert_eq!(two(4.0).targets().len(), 16);
    }

    #[test]
    fn codes_may_have_values_of_their_own() {
        let mut layout =
            Layout { fields: vec![Field::contiguous(Quantity::Gain, 0, 2, 1.0, Direction::Down)] };
        layout.fields[0].levels = Some(vec![1.0, 1.7, 4.0, 7.0]);
        assert_eq!(layout.check(), Ok(()));
        let gains: Vec<f64> = (0..4).map(|word| layout.nominal(Word(word)).gain_db).collect();
        for (gain, expected) in gains.iter().zip([0.0, -0.7, -3.0, -6.0]) {
            assert!((gain - expected).abs() < 1e-12);
        }
        assert!((layout.finest_step(Quantity::Gain).expect("a step") - 0.7).abs() < 1e-12);
        layout.fields[0].levels = Some(vec![0.0, 1.0, 2.0]);
        assert_eq!(layout.check(), Err(LayoutError::LevelCount { levels: 3, codes: 4 }));
        layout.fields[0].levels = Some(vec![0.0, f64::NAN, 1.0, 2.0]);
        assert!(matches!(layout.check(), Err(LayoutError::BadLevel(_))));
        let old =
            r#"{"quantity":"gain","bits":[{"position":0,"inverted":false}],"step":1.0,"direction":"down"}"#;
        assert_eq!(serde_json::from_str::<Field>(old).expect("an older file").levels, None);
    }

    #[test]
    fn unusable_layouts_are_refused_with_the_reason() {
        let mut layout = twelve_bits();
        layout.fields[0].bits[0].position = 1;
        assert_eq!(layout.check(), Err(LayoutError::BitUsedTwice(1)));
        layout.fields[0].bits[0].position = 12;
        assert_eq!(layout.check(), Err(LayoutError::BitUnused(0)));
        let mut layout = twelve_bits();
        layout.fields[1].step = f64::NAN;
        assert!(matches!(layout.check(), Err(LayoutError::BadStep(_))));
        assert_eq!(twelve_bits().check(), Ok(()));
    }
}
