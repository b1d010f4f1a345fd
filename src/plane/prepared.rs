//! What is worked out once so that the loops over frequencies repeat neither searches nor trigonometry: where each
//! word's state stands, what each target is in the plane, and where each state lies.

use super::error::wrap_difference_deg;
use super::{target_gain, wrap_deg};
use crate::control::{Layout, Setting, Target, Word};
use num_complex::Complex64;

/// From a word to its state's position in the run. Built once for a run.
#[derive(Clone, Debug)]
pub struct StateIndex {
    position: Vec<u32>,
}

impl StateIndex {
    const NONE: u32 = u32::MAX;

    /// `words[p]` is the word of the state at position `p`; words are distinct, in any order. Words that need more
    /// bits than a layout may have ([`Layout::MAX_BITS`]) are in no layout and are not found.
    pub fn new(words: &[Word]) -> Self {
        let in_reach = |word: &Word| word.0 >> Layout::MAX_BITS == 0;
        let size = words.iter().filter(|word| in_reach(word)).map(|word| word.0 as usize + 1).max();
        let mut position = vec![Self::NONE; size.unwrap_or(0)];
        for (state, word) in (0_u32..).zip(words) {
            if let Some(slot) = position.get_mut(word.0 as usize) {
                *slot = state;
            }
        }
        Self { position }
    }

    /// The position of a word's state; `None` where the run has none.
    pub fn position(&self, word: Word) -> Option<usize> {
        self.position
            .get(word.0 as usize)
            .copied()
            .filter(|&state| state != Self::NONE)
            .map(|state| state as usize)
    }
}

/// A target as the plane needs it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PreparedTarget {
    /// z = 10^(g/20)·e^(jφ).
    pub gain: Complex64,
    /// 1/|z|.
    pub inverse_magnitude: f64,
    /// Wanted gain, dB.
    pub gain_db: f64,
    /// Wanted phase, degrees, wrapped into (−180°, +180°].
    pub phase_deg: f64,
}

impl PreparedTarget {
    /// A wanted setting's place in the plane.
    pub fn of(setting: Setting) -> Self {
        Self {
            gain: target_gain(setting),
            inverse_magnitude: 10_f64.powf(-setting.gain_db / 20.0),
            gain_db: setting.gain_db,
            phase_deg: wrap_deg(setting.phase_deg),
        }
    }
}

/// All targets of a run, with the state of each one's nominal word. Built once for a run.
#[derive(Clone, Debug)]
pub struct PreparedTargets {
    /// The targets as they were given.
    pub targets: Vec<Target>,
    /// The same in the plane, in the same order.
    pub prepared: Vec<PreparedTarget>,
    /// Per target the state position of its nominal word; `None` where the run has no such state.
    pub nominal_state: Vec<Option<u32>>,
}

impl PreparedTargets {
    /// Prepares targets for a run whose states `index` knows.
    pub fn new(targets: Vec<Target>, index: &StateIndex) -> Self {
        let prepared = targets.iter().map(|target| PreparedTarget::of(target.setting)).collect();
        let state =
            |target: &Target| index.position(target.nominal_word?).and_then(|at| u32::try_from(at).ok());
        let nominal_state = targets.iter().map(state).collect();
        Self { targets, prepared, nominal_state }
    }

    /// The number of targets.
    pub fn len(&self) -> usize {
        self.targets.len()
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.targets.is_empty()
    }
}

/// Where a state lies in the plane at one frequency.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Place {
    /// Relative gain G = T/R, linear.
    pub relative: Complex64,
    /// 20·log10|G|.
    pub gain_db: f64,
    /// arg G in degrees, within (−180°, +180°].
    pub phase_deg: f64,
}

impl Place {
    /// The place of a relative gain.
    pub fn of(relative: Complex64) -> Self {
        // The squared magnitude is safe here: a measured |G| is nowhere near the square root of the smallest or
        // largest double.
        let gain_db = 10.0 * relative.norm_sqr().log10();
        let phase_deg = relative.arg().to_degrees();
        // An imaginary part of −0 puts the argument on the excluded end.
        Self { relative, gain_db, phase_deg: if phase_deg <= -180.0 { 180.0 } else { phase_deg } }
    }

    /// The places of all states: their transmission divided by the reference.
    pub fn all(transmission: &[Complex64], reference: Complex64) -> Vec<Self> {
        let scale = reference.inv();
        transmission.iter().map(|&value| Self::of(value * scale)).collect()
    }

    /// These places under a reference, where they were taken without one: a logarithm and an angle of each state
    /// serve all references.
    pub fn under(places: &[Self], reference: Complex64) -> Vec<Self> {
        let (scale, origin) = (reference.inv(), Self::of(reference));
        let moved = |place: &Self| Self {
            relative: place.relative * scale,
            gain_db: place.gain_db - origin.gain_db,
            phase_deg: wrap_difference_deg(place.phase_deg - origin.phase_deg),
        };
        places.iter().map(moved).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn states_are_found_by_word_and_absent_ones_are_not() {
        let index = StateIndex::new(&[Word(0), Word(3), Word(9), Word(u32::MAX)]);
        assert_eq!(index.position(Word(0)), Some(0));
        assert_eq!(index.position(Word(9)), Some(2));
        for absent in [1, 8, 10, 1 << 20, u32::MAX] {
            assert_eq!(index.position(Word(absent)), None);
        }
        assert_eq!(StateIndex::new(&[]).position(Word(0)), None);
    }

    #[test]
    fn places_move_under_a_reference_as_their_quotients_do() {
        let states: Vec<Complex64> = (0..360)
            .map(|k| Complex64::from_polar(10_f64.powf(-f64::from(k) / 120.0), f64::from(k)))
            .collect();
        let plain = Place::all(&states, Complex64::ONE);
        for reference in [Complex64::new(0.3, -0.4), Complex64::new(-2.0, -0.0), Complex64::I] {
            for (moved, direct) in Place::under(&plain, reference).iter().zip(Place::all(&states, reference))
            {
                assert_eq!(moved.relative, direct.relative);
                assert!((moved.gain_db - direct.gain_db).abs() < 1e-12);
                assert!(wrap_deg(moved.phase_deg - direct.phase_deg).abs() < 1e-11);
                assert!(moved.phase_deg > -180.0 && moved.phase_deg <= 180.0);
            }
        }
    }

    #[test]
    fn half_a_turn_is_plus_180_whatever_the_sign_of_zero() {
        for imaginary in [0.0, -0.0] {
            assert_eq!(Place::of(Complex64::new(-1.0, imaginary)).phase_deg, 180.0);
        }
    }
}
