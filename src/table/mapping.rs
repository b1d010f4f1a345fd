//! Which state serves which target at one frequency, and what each mapping errs.

use super::{Cells, Spot};
use crate::control::{Target, Word};
use crate::plane::{Place, PreparedTargets, StateError};
use num_complex::Complex64;

/// How many bits of the word change from one to the other.
pub fn bits_changed(from: Word, to: Word) -> u32 {
    (from.0 ^ to.0).count_ones()
}

/// The nearest state for each target, as positions in the run; empty where there are no states, or where the distance to
/// some target is no number. Ties go to fewer bits changed from the target's nominal word, then to the lower word.
pub fn choose(targets: &PreparedTargets, relative: &[Complex64], words: &[Word]) -> Vec<u32> {
    choose_under(targets, &Cells::new(relative, words), Complex64::ONE, &[])
}

/// The same for states that are not divided by the reference yet. A reference only turns and scales the plane, so
/// the targets are turned and scaled instead, and the states of a frequency are sorted once for all references.
///
/// `likely` holds a state thought to be near for each target, such as what served it at the frequency before; it may be empty
/// and changes no answer.
pub fn choose_under(
    targets: &PreparedTargets,
    cells: &Cells,
    reference: Complex64,
    likely: &[u32],
) -> Vec<u32> {
    let origin = Spot::of(reference);
    let mut before = None;
    let mut likely = likely.iter().copied();
    let serve = |(prepared, target): (_, &Target)| {
        // Targets are listed in rows, so what serves one is near the next: far from all states it mostly serves both.
        let beside = [before, likely.next()].into_iter().flatten();
        before = cells.nearest(&Spot::under(prepared, &origin), target.nominal_word, beside);
        before
    };
    let all = targets.prepared.iter().zip(&targets.targets).map(serve);
    all.collect::<Option<_>>().unwrap_or_default()
}

/// Errors of the nominal mapping: each target against its own word's state, `None` where the run has no such state.
pub fn nominal_errors(targets: &PreparedTargets, places: &[Place]) -> Vec<Option<StateError>> {
    let error = |(target, state): (_, &Option<u32>)| {
        state.map(|state| StateError::between(&places[state as usize], target))
    };
    targets.prepared.iter().zip(&targets.nominal_state).map(error).collect()
}

/// The phase errors of the nominal mapping as turns, `None` where the run has no such state.
pub fn nominal_turns(targets: &PreparedTargets, places: &[Place]) -> Vec<Option<Complex64>> {
    let turn = |(target, state): (_, &Option<u32>)| {
        state.map(|state| StateError::turn_between(&places[state as usize], target))
    };
    targets.prepared.iter().zip(&targets.nominal_state).map(turn).collect()
}

/// Errors of a mapping that serves `targets[t]` with the state at position `states[t]`: chosen at this frequency, or
/// chosen elsewhere and held.
pub fn errors_of_states(
    targets: &PreparedTargets,
    places: &[Place],
    states: &[u32],
) -> Vec<Option<StateError>> {
    let error = |(target, &state): (_, &u32)| Some(StateError::between(&places[state as usize], target));
    targets.prepared.iter().zip(states).map(error).collect()
}

/// How a mapping uses the run's states.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Usage {
    /// States that serve no target.
    pub unused: usize,
    /// States that serve more than one target.
    pub shared: usize,
}

impl Usage {
    /// Counts over a mapping of a run of `state_count` states.
    pub fn of(states: &[u32], state_count: usize) -> Self {
        let mut served = vec![0_u32; state_count];
        for &state in states {
            served[state as usize] += 1;
        }
        let count = |holds: fn(u32) -> bool| served.iter().filter(|&&targets| holds(targets)).count();
        Self { unused: count(|targets| targets == 0), shared: count(|targets| targets > 1) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// How many bits toggle between neighbouring codes; follows from the definition. A Gray sequence changes one.
    #[test]
    fn toggled_bits_are_counted() {
        assert_eq!(bits_changed(Word(0x1F), Word(0x20)), 6);
        assert_eq!(bits_changed(Word(0x0F), Word(0x10)), 5);
        let gray = [0b000, 0b001, 0b011, 0b010, 0b110, 0b111, 0b101, 0b100];
        assert!(gray.windows(2).all(|pair| bits_changed(Word(pair[0]), Word(pair[1])) == 1));
    }

    #[test]
    fn usage_counts_states_not_targets() {
        assert_eq!(Usage::of(&[3, 3, 3, 1, 1, 0], 6), Usage { unused: 3, shared: 2 });
        assert_eq!(Usage::of(&[], 2), Usage { unused: 2, shared: 0 });
    }
}
