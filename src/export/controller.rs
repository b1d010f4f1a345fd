//! What stands between a table and the hardware: the gain ceiling, and the way of a word's bits onto the bus.

use super::refused::ExportRefused;
use super::word_table::ChosenAt;
use crate::control::{Target, Word};
use crate::pipeline::{ControllerMap, Report};
use crate::plane::Tolerance;

/// Refuses a table in which a chosen state has more gain than the user's ceiling.
///
/// The gain of a state is that of its own transmission, here its relative gain times the reference: in decibels
/// target + gain error + 20·log10|R|.
pub(super) fn refuse_above_ceiling(
    report: &Report,
    targets: &[Target],
    chosen: ChosenAt<'_>,
    frequency_hz: f64,
) -> Result<(), ExportRefused> {
    let Some(ceiling_db) = report.settings.gain_ceiling_db else { return Ok(()) };
    let reference_db = 20.0 * chosen.reference.norm().log10();
    let mut words: Vec<Word> = Vec::new();
    let mut largest_db = f64::NEG_INFINITY;
    for (target, served) in targets.iter().zip(chosen.served) {
        let gain_db = target.setting.gain_db + served.error.gain_db + reference_db;
        // Not known to be below counts as above: what cannot be told may not drive hardware.
        if !(gain_db <= ceiling_db || Tolerance::holds(gain_db - ceiling_db, 1e-9)) {
            words.push(report.intake.states[served.state].word);
            largest_db = largest_db.max(gain_db);
        }
    }
    words.sort_unstable();
    words.dedup();
    if words.is_empty() {
        Ok(())
    } else {
        Err(ExportRefused::GainAboveCeiling { ceiling_db, frequency_hz, words, largest_db })
    }
}

/// The bus bit that each measured bit drives, serial order included.
pub(super) fn bus_positions(map: &ControllerMap, bits: usize) -> Result<Vec<u32>, ExportRefused> {
    let refuse = |detail: String| Err(ExportRefused::ControllerMap(detail));
    let count = u32::try_from(bits).unwrap_or(u32::MAX);
    let positions: Vec<u32> = if map.bus_bit.is_empty() {
        (0..count).collect()
    } else {
        map.bus_bit.iter().map(|&bit| u32::from(bit)).collect()
    };
    if positions.len() != bits {
        return refuse(format!("It maps {} bits, the word has {bits}.", positions.len()));
    }
    let mut used = 0_u32;
    for &position in &positions {
        if position >= count {
            return refuse(format!("Bus bit {position} is beyond the {bits} bits of the word."));
        }
        if used >> position & 1 == 1 {
            return refuse(format!("Bus bit {position} is driven by two bits."));
        }
        used |= 1 << position;
    }
    if map.inverted >> count != 0 {
        return refuse("It inverts a bit that the word does not have.".to_owned());
    }
    Ok(positions.into_iter().map(|bit| if map.reversed { count - 1 - bit } else { bit }).collect())
}

/// A measured word as it is written to the bus: inverted first, then every bit moved to its bus bit.
pub(super) fn to_bus(word: Word, map: &ControllerMap, positions: &[u32]) -> u32 {
    let driven = word.0 ^ map.inverted;
    positions.iter().enumerate().fold(0, |bus, (bit, position)| bus | (driven >> bit & 1) << position)
}

/// The measured word behind a bus word: the inverse of [`to_bus`].
pub(super) fn from_bus(bus: u32, map: &ControllerMap, positions: &[u32]) -> Word {
    let driven =
        positions.iter().enumerate().fold(0, |word, (bit, position)| word | (bus >> position & 1) << bit);
    Word(driven ^ map.inverted)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand, four bits: word 0b0011, bit 0 inverted gives 0b0010; bit 1 drives bus bit 3: 0b1000; shifted out
    /// from the other end: 0b0001.
    #[test]
    fn a_word_travels_to_the_bus_and_back() {
        let mut map = ControllerMap { bus_bit: vec![2, 3, 0, 1], inverted: 0b0001, reversed: false };
        let positions = bus_positions(&map, 4).expect("a sound map");
        assert_eq!(to_bus(Word(0b0011), &map, &positions), 0b1000);
        map.reversed = true;
        let positions = bus_positions(&map, 4).expect("a sound map");
        assert_eq!(to_bus(Word(0b0011), &map, &positions), 0b0001);
        for word in (0..16).map(Word) {
            assert_eq!(from_bus(to_bus(word, &map, &positions), &map, &positions), word);
        }
        let identity = ControllerMap::default();
        let positions = bus_positions(&identity, 12).expect("the identity");
        assert_eq!(to_bus(Word(0xABC), &identity, &positions), 0xABC);
    }

    #[test]
    fn a_map_that_loses_bits_is_refused() {
        for map in [
            ControllerMap { bus_bit: vec![0, 1], ..ControllerMap::default() },
            ControllerMap { bus_bit: vec![0, 1, 1], ..ControllerMap::default() },
            ControllerMap { bus_bit: vec![0, 1, 3], ..ControllerMap::default() },
            ControllerMap { inverted: 0b1000, ..ControllerMap::default() },
        ] {
            assert!(matches!(bus_positions(&map, 3), Err(ExportRefused::ControllerMap(_))), "{map:?}");
        }
    }
}
