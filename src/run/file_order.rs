//! Orders in which the files of a run may have been given their words.

use crate::control::Word;
use serde::{Deserialize, Serialize};

/// In which order files may have been given their words.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum OrderOfFiles {
    /// Numbers sorted as text: 0, 1, 10, 11, …
    Lexicographic,
    /// The last word first.
    Reversed,
    /// Every bit inverted.
    Complemented,
    /// The least significant bit first.
    BitReversed,
    /// Gray code: neighbours differ in one bit.
    Gray,
}

impl OrderOfFiles {
    /// Every order, in the order in which ties are settled.
    pub const ALL: [Self; 5] =
        [Self::Reversed, Self::Complemented, Self::BitReversed, Self::Gray, Self::Lexicographic];

    /// The words that the states truly have if their files, ascending by the word that they were given, were captured
    /// in this order. `None` where that makes a word that is none of the run's.
    pub fn words(self, words: &[Word], bits: usize) -> Option<Vec<Word>> {
        let all = (1_u32 << bits) - 1;
        let mapped = |map: fn(u32, u32) -> u32| words.iter().map(|word| Word(map(word.0, all))).collect();
        let made: Vec<Word> = match self {
            Self::Reversed => words.iter().rev().copied().collect(),
            Self::Complemented => mapped(|word, all| !word & all),
            Self::BitReversed => mapped(|word, all| word.reverse_bits() >> all.leading_zeros()),
            Self::Gray => mapped(|word, _| word ^ word >> 1),
            Self::Lexicographic => {
                let mut sorted = words.to_vec();
                sorted.sort_by_cached_key(|word| word.0.to_string());
                sorted
            }
        };
        let mut sorted = made.clone();
        sorted.sort_unstable();
        (sorted == words).then_some(made)
    }
}
