//! What the captions add of the state that is picked out.

use crate::control::{Setting, Word};
use crate::pipeline::Analysis;
use crate::plane::target_gain;
use crate::sheet::signal::name;
use crate::sheet::wording::{exact, joined, ratio_percent};
use crate::signal::Constellation;

/// Of the line of its error against frequency.
pub fn picked_error(analysis: &Analysis, state: usize, word: Word, setting: Setting) -> String {
    let service = &analysis.service;
    let wanted = target_gain(setting);
    let error = service
        .transmission
        .get(state)
        .map(|transmission| (transmission / service.reference - wanted).norm() / wanted.norm())
        .filter(|error| error.is_finite());
    let here = error.map_or_else(String::new, |error| format!(", {} here", ratio_percent(error)));
    format!(" The line of word {} is its error from {}{here}.", word.0, told(setting))
}

/// Of the bar where it is within tolerance.
pub fn picked_within(word: Word, setting: Setting) -> String {
    format!(" The bar at the foot is where word {} is within tolerance of {}.", word.0, told(setting))
}

/// Of the bits that are set in it.
pub fn picked_bits(word: Word) -> String {
    if word.0 == 0 {
        return " No bit is set in word 0.".to_owned();
    }
    format!(" Framed are the bits that are set in word {}.", word.0)
}

/// Of the cells of the resolution map that have its setting.
pub fn picked_resolution(word: Word, setting: Setting) -> String {
    format!(" A disc marks the cells that have the setting of word {}, {}.", word.0, told(setting))
}

/// Of the constellations of which it makes a point.
pub fn picked_points(word: Word, state: usize, formed: &[Constellation]) -> String {
    let makes = |one: &&Constellation| one.states.iter().any(|&made| made as usize == state);
    let names: Vec<String> = formed.iter().filter(makes).map(|one| name(one.order)).collect();
    match names.len() {
        0 => format!(" Word {} makes no point of them.", word.0),
        _ => format!(" Word {} makes a point of {}, framed.", word.0, joined(&names)),
    }
}

fn told(setting: Setting) -> String {
    format!("{} dB and {}°", exact(setting.gain_db), exact(setting.phase_deg))
}

#[cfg(test)]
mod tests {
    use super::*;
    use num_complex::Complex64;

    #[test]
    fn points_are_named_by_their_constellations() {
        let one = |order: u16, states: &[u32]| Constellation {
            order,
            scale: Complex64::new(1.0, 0.0),
            corner_gain_db: 0.0,
            turn_deg: 0.0,
            evm: 0.0,
            evm_of_peak: 0.0,
            states: states.to_vec(),
            sharing: 0,
            misread: 0,
        };
        let formed = [one(4, &[1, 2, 3, 5]), one(16, &[5, 6])];
        assert_eq!(picked_points(Word(7), 5, &formed), " Word 7 makes a point of QPSK and 16-QAM, framed.");
        assert_eq!(picked_points(Word(9), 9, &formed), " Word 9 makes no point of them.");
    }
}
