//! How the bits of a measured word travel to the controller that will hold the table.

use crate::control::Word;
use serde::{Deserialize, Serialize};

/// From measured words to the words on the controller's bus. A word is inverted first, then its bits are moved to
/// their bus bits, then the whole is reversed. The default changes nothing.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct ControllerMap {
    /// `bus_bit[b]` is the bus bit that measured bit `b` drives; empty is the identity.
    pub bus_bit: Vec<u8>,
    /// Measured bits that the bus carries inverted, as a mask over measured bits.
    pub inverted: u32,
    /// Written words have their bus bits in reverse order (for a shift register filled from the other end).
    pub reversed: bool,
}

/// Why a controller map cannot be used.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ControllerMapError {
    /// The list of bus bits has another length than the word has bits.
    Length {
        /// Entries in the list.
        entries: usize,
        /// Bits of the word.
        bits: usize,
    },
    /// A bus bit beyond the word.
    BeyondWord {
        /// The bus bit.
        bus_bit: u8,
        /// Bits of the word.
        bits: usize,
    },
    /// Two measured bits drive one bus bit.
    DrivenTwice(u8),
    /// An inverted bit that the word does not have.
    InvertsBeyondWord {
        /// Bits of the word.
        bits: usize,
    },
}

impl std::fmt::Display for ControllerMapError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Length { entries, bits } => {
                write!(
                    f,
                    "The controller map has {entries} entries for a word of {bits} bits; give one for each bit."
                )
            }
            Self::BeyondWord { bus_bit, bits } => {
                write!(
                    f,
                    "The controller map names bus bit {bus_bit}, but a word of {bits} bits ends at bit {}.",
                    bits.saturating_sub(1)
                )
            }
            Self::DrivenTwice(bus_bit) => {
                write!(f, "In the controller map two measured bits drive bus bit {bus_bit}.")
            }
            Self::InvertsBeyondWord { bits } => {
                write!(f, "The controller map inverts a bit that a word of {bits} bits does not have.")
            }
        }
    }
}

impl std::error::Error for ControllerMapError {}

impl ControllerMap {
    /// Checks that the map takes words of `bits` bits to distinct words of as many: that it is a permutation of the
    /// bits, some of them inverted.
    pub fn check(&self, bits: usize) -> Result<(), ControllerMapError> {
        if !self.bus_bit.is_empty() && self.bus_bit.len() != bits {
            return Err(ControllerMapError::Length { entries: self.bus_bit.len(), bits });
        }
        let mut driven = 0_u64;
        for &bus_bit in &self.bus_bit {
            if usize::from(bus_bit) >= bits {
                return Err(ControllerMapError::BeyondWord { bus_bit, bits });
            }
            if driven >> bus_bit & 1 == 1 {
                return Err(ControllerMapError::DrivenTwice(bus_bit));
            }
            driven |= 1 << bus_bit;
        }
        if u64::from(self.inverted) >> bits != 0 {
            return Err(ControllerMapError::InvertsBeyondWord { bits });
        }
        Ok(())
    }

    /// The word on the bus for a measured word of `bits` bits. The map must have passed [`Self::check`].
    pub fn bus_word(&self, word: Word, bits: usize) -> u32 {
        let driven = word.0 ^ self.inverted;
        (0..bits).fold(0, |bus, bit| bus | (driven >> bit & 1) << self.written_bit(bit, bits))
    }

    /// The measured word that [`Self::bus_word`] sends as `bus_word`.
    pub fn measured_word(&self, bus_word: u32, bits: usize) -> Word {
        let driven =
            (0..bits).fold(0, |word, bit| word | (bus_word >> self.written_bit(bit, bits) & 1) << bit);
        Word(driven ^ self.inverted)
    }

    fn written_bit(&self, bit: usize, bits: usize) -> usize {
        let bus_bit = self.bus_bit.get(bit).map_or(bit, |&bus_bit| usize::from(bus_bit));
        if self.reversed { bits - 1 - bus_bit } else { bus_bit }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_default_changes_nothing() {
        let map = ControllerMap::default();
        assert_eq!(map.check(12), Ok(()));
        assert!((0..4096).all(|word| map.bus_word(Word(word), 12) == word));
    }

    /// Worked by hand: 0b0011 with bit 0 inverted is 0b0010; its bit 1 drives bus bit 3, 0b1000; reversed, 0b0001.
    #[test]
    fn inversion_then_permutation_then_reversal() {
        let mut map = ControllerMap { bus_bit: vec![2, 3, 0, 1], inverted: 0b0001, reversed: false };
        assert_eq!(map.check(4), Ok(()));
        assert_eq!(map.bus_word(Word(0b0011), 4), 0b1000);
        map.reversed = true;
        assert_eq!(map.bus_word(Word(0b0011), 4), 0b0001);
    }

    #[test]
    fn every_word_comes_back() {
        let map = ControllerMap { bus_bit: vec![5, 0, 4, 1, 3, 2], inverted: 0b10_0110, reversed: true };
        let mut sent: Vec<u32> = (0..64).map(|word| map.bus_word(Word(word), 6)).collect();
        assert!((0..64).all(|word| map.measured_word(sent[word as usize], 6) == Word(word)));
        sent.sort_unstable();
        assert!(sent.into_iter().eq(0..64));
    }

    #[test]
    fn unusable_maps_are_refused_with_the_reason() {
        let map =
            |bus_bit: &[u8], inverted| ControllerMap { bus_bit: bus_bit.to_vec(), inverted, reversed: false };
        let length = ControllerMapError::Length { entries: 2, bits: 3 };
        assert_eq!(map(&[0, 1], 0).check(3), Err(length));
        let beyond = ControllerMapError::BeyondWord { bus_bit: 3, bits: 3 };
        assert_eq!(map(&[0, 3, 1], 0).check(3), Err(beyond));
        assert_eq!(map(&[0, 1, 1], 0).check(3), Err(ControllerMapError::DrivenTwice(1)));
        assert_eq!(map(&[], 8).check(3), Err(ControllerMapError::InvertsBeyondWord { bits: 3 }));
    }
}
