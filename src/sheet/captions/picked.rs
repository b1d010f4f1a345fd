//! What the captions add of the state that is picked out.

use crate::control::{Setting, Word};
use crate::sheet::picked::told;
use crate::sheet::signal::name as constellation_name;
use crate::sheet::wording::{capital, joined, ratio_percent};
use crate::signal::Constellation;

/// Of the line of its error against frequency, percent, at the grid index given.
pub fn picked_error(name: &str, setting: Setting, errors_pct: &[Option<f64>], index: usize) -> String {
    let is_drawn = |error: &Option<f64>| error.is_some_and(|error| error > ROUNDING_PCT);
    if !errors_pct.iter().any(is_drawn) {
        return format!(" {} has no error from {} that this scale could show.", capital(name), told(setting));
    }
    let here = errors_pct.get(index).copied().flatten();
    let here = here.map_or_else(String::new, |error| format!(", {} here", ratio_percent(error / 100.0)));
    format!(" The line of {name} is its error from {}{here}.", told(setting))
}

/// Errors of less than this are those of rounding, and not drawn.
pub const ROUNDING_PCT: f64 = 1e-9;

/// Of the bar where it is within tolerance.
pub fn picked_within(name: &str, setting: Setting) -> String {
    format!(" The bar at the foot is where {name} is within tolerance of {}.", told(setting))
}

/// Of the bits that are set in it.
pub fn picked_bits(word: Word) -> String {
    if word.0 == 0 {
        return " No bit is set in word 0.".to_owned();
    }
    format!(" Framed are the bits that are set in word {}.", word.0)
}

/// Of the cells of the resolution map that have its setting.
pub fn picked_resolution(name: &str, setting: Setting) -> String {
    format!(" A disc marks the cells that have the setting of {name}, {}.", told(setting))
}

/// Of the constellations of which it makes a point.
pub fn picked_points(name: &str, state: usize, formed: &[Constellation]) -> String {
    let makes = |one: &&Constellation| one.states.iter().any(|&made| made as usize == state);
    let names: Vec<String> = formed.iter().filter(makes).map(|one| constellation_name(one.order)).collect();
    match names.len() {
        0 => format!(" {} makes no point of them.", capital(name)),
        _ => format!(" {} makes a point of {}, framed.", capital(name), joined(&names)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use num_complex::Complex64;

    /// An error of nothing but rounding has no line on a scale of ratios, and none is told of.
    #[test]
    fn what_is_not_drawn_is_not_told_of_as_a_line() {
        let setting = Setting { gain_db: -1.0, phase_deg: 45.0 };
        assert_eq!(
            picked_error("word 7", setting, &[Some(0.0), Some(1e-14), None], 0),
            " Word 7 has no error from −1 dB and 45° that this scale could show."
        );
        assert_eq!(
            picked_error("7.5 V", setting, &[Some(0.0), Some(2.5)], 1),
            " The line of 7.5 V is its error from −1 dB and 45°, 2.5 % here."
        );
    }

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
        assert_eq!(picked_points("word 7", 5, &formed), " Word 7 makes a point of QPSK and 16-QAM, framed.");
        assert_eq!(picked_points("word 9", 9, &formed), " Word 9 makes no point of them.");
    }
}
