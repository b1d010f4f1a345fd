//! What "0 dB, 0°" is: the reference that all states are divided by.

use crate::control::{Layout, Word};
use num_complex::Complex64;
use serde::{Deserialize, Serialize};

/// The rule that picks the reference.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ReferencePolicy {
    /// The transmission of the word whose nominal gain and phase are both zero.
    ZeroWord,
    /// Of the words of zero nominal gain, the one of median magnitude at the centre of the design band, its
    /// nominal phase turned back.
    RingMedian,
    /// The smallest magnitude among the words of zero nominal gain at each frequency (a gain that every phase
    /// reaches), with the zero word's phase.
    FullRing,
}

/// A policy whose band-wide choices have been made, ready to be evaluated at any frequency.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub enum Anchor {
    /// A word's transmission with its nominal setting taken out.
    Word {
        /// The word.
        word: Word,
    },
    /// The smallest magnitude of the zero-gain ring with the zero word's phase.
    FullRing,
}

impl ReferencePolicy {
    /// Makes the choices that the policy makes once for the band, from the states at its centre.
    ///
    /// `words` ascend; `transmission` runs beside them. `None` where a word that the policy needs is missing.
    pub fn anchor(self, layout: &Layout, words: &[Word], transmission: &[Complex64]) -> Option<Anchor> {
        let _ = (layout, words, transmission);
        None
    }
}

impl Anchor {
    /// The reference at one frequency. `None` where a word that it needs is missing.
    pub fn reference(
        &self,
        layout: &Layout,
        words: &[Word],
        transmission: &[Complex64],
    ) -> Option<Complex64> {
        let _ = (layout, words, transmission);
        None
    }
}
