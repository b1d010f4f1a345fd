//! The memory image of one table: bus words by address, ready to be written out as text.

use super::{ControllerMap, ControllerMapError};
use crate::control::{Layout, Quantity, Target, Word};

/// One table as a controller's memory holds it.
///
/// Address = gain index × phase codes + phase index; gain index 0 is the highest gain, then downwards by one step;
/// phase index k is k nominal steps.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Image {
    /// Bus words by address.
    pub words: Vec<u32>,
    /// Bits of a word.
    pub bits: usize,
    /// Codes of the gain field; 1 without one.
    pub gain_codes: usize,
    /// Codes of the phase field; 1 without one.
    pub phase_codes: usize,
}

/// Why a table has no memory image.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ImageRefused {
    /// More than one field sets the same quantity, so that one setting has several codes and no address.
    SeveralFields(Quantity),
    /// The codes of a field have values of their own, so that no step leads from one address to the next.
    UnevenField(Quantity),
    /// The table does not serve every nominal setting exactly once.
    NotAllSettings {
        /// Settings that the layout has.
        settings: usize,
        /// Addresses that the table fills.
        filled: usize,
    },
    /// The controller map cannot be used.
    Map(ControllerMapError),
    /// States of the table have more gain than the ceiling, ascending by word.
    AboveCeiling(Vec<Word>),
}

impl std::fmt::Display for ImageRefused {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::SeveralFields(quantity) => {
                let name = match quantity {
                    Quantity::Gain => "gain",
                    Quantity::Phase => "phase",
                };
                write!(
                    f,
                    "No memory image: more than one field sets {name}, so a setting has no single address."
                )
            }
            Self::UnevenField(quantity) => {
                let name = match quantity {
                    Quantity::Gain => "gain",
                    Quantity::Phase => "phase",
                };
                write!(f, "No memory image: the codes of the {name} field are not evenly spaced.")
            }
            Self::NotAllSettings { settings, filled } => {
                write!(f, "No memory image: the table fills {filled} of the layout's {settings} settings.")
            }
            Self::Map(error) => write!(f, "No memory image: {error}"),
            Self::AboveCeiling(words) => {
                let shown: Vec<String> = words.iter().take(8).map(|word| word.0.to_string()).collect();
                let rest = if words.len() > shown.len() { " and more" } else { "" };
                write!(
                    f,
                    "No table: {} of its states have more gain than the ceiling (words {}{rest}).",
                    words.len(),
                    shown.join(", ")
                )
            }
        }
    }
}

impl std::error::Error for ImageRefused {}

/// Lays one table out by address: `chosen[t]` is the measured word that serves `targets[t]`, and the targets are all
/// nominal settings of the layout in any order. Words pass through the controller map.
pub fn image(
    layout: &Layout,
    targets: &[Target],
    chosen: &[Word],
    map: &ControllerMap,
) -> Result<Image, ImageRefused> {
    let bits = layout.bits();
    map.check(bits).map_err(ImageRefused::Map)?;
    let gain = Axis::of(layout, Quantity::Gain)?;
    let phase = Axis::of(layout, Quantity::Phase)?;
    let settings = gain.codes * phase.codes;
    let mut words: Vec<Option<u32>> = vec![None; settings];
    for (target, &word) in targets.iter().zip(chosen) {
        let address =
            gain.index_from_top(target.setting.gain_db).zip(phase.index_from_zero(target.setting.phase_deg));
        if let Some((gain_index, phase_index)) = address {
            words[gain_index * phase.codes + phase_index] = Some(map.bus_word(word, bits));
        }
    }
    let filled = words.iter().flatten().count();
    if filled != settings || targets.len() != settings || chosen.len() != settings {
        return Err(ImageRefused::NotAllSettings { settings, filled });
    }
    let words = words.into_iter().flatten().collect();
    Ok(Image { words, bits, gain_codes: gain.codes, phase_codes: phase.codes })
}

/// The words of a table whose states have more gain than the ceiling, ascending, each once. `transmission_db[t]` is
/// 20·log10|T| of the state `chosen[t]`, not relative to the reference: the ceiling protects what comes after.
pub fn exceeding(chosen: &[Word], transmission_db: &[f64], ceiling_db: f64) -> Vec<Word> {
    // A value computed onto the ceiling is not above it; one that is no number cannot be shown to be below.
    let above = |&(_, &gain_db): &(&Word, &f64)| gain_db.is_nan() || gain_db > ceiling_db + 1e-9;
    let mut words: Vec<Word> =
        chosen.iter().zip(transmission_db).filter(above).map(|(&word, _)| word).collect();
    words.sort_unstable();
    words.dedup();
    words
}

/// The one field of a quantity as an axis of the memory.
struct Axis {
    codes: usize,
    step: f64,
    highest: f64,
}

impl Axis {
    fn of(layout: &Layout, quantity: Quantity) -> Result<Self, ImageRefused> {
        let mut fields = layout.of(quantity);
        let Some(field) = fields.next() else {
            return Ok(Self { codes: 1, step: 1.0, highest: 0.0 });
        };
        if fields.next().is_some() {
            return Err(ImageRefused::SeveralFields(quantity));
        }
        if field.levels.is_some() {
            return Err(ImageRefused::UnevenField(quantity));
        }
        let codes = field.codes();
        Ok(Self { codes: codes as usize, step: field.step, highest: field.nominal(codes - 1).max(0.0) })
    }

    fn index_from_top(&self, value: f64) -> Option<usize> {
        self.index(self.highest - value)
    }

    fn index_from_zero(&self, value: f64) -> Option<usize> {
        self.index(value.abs())
    }

    /// The whole number of steps in a distance, if it is one.
    fn index(&self, distance: f64) -> Option<usize> {
        (0..self.codes).find(|&index| (distance - index as f64 * self.step).abs() < 1e-6 * self.step)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::control::{Direction, Field};

    fn layout(gain_direction: Direction, phase_direction: Direction) -> Layout {
        Layout {
            fields: vec![
                Field::contiguous(Quantity::Phase, 0, 2, 90.0, phase_direction),
                Field::contiguous(Quantity::Gain, 2, 1, 4.0, gain_direction),
            ],
        }
    }

    fn nominal(layout: &Layout) -> (Vec<Target>, Vec<Word>) {
        let targets = layout.targets();
        let words = targets.iter().filter_map(|target| target.nominal_word).collect();
        (targets, words)
    }

    /// Attenuator: address = word. Gain upwards: the higher code has the higher gain, so it comes first.
    #[test]
    fn the_highest_gain_comes_first_and_phase_counts_steps() {
        for phase in [Direction::Down, Direction::Up] {
            for (gain, expected) in
                [(Direction::Down, [0, 1, 2, 3, 4, 5, 6, 7]), (Direction::Up, [4, 5, 6, 7, 0, 1, 2, 3])]
            {
                let layout = layout(gain, phase);
                let (targets, words) = nominal(&layout);
                let image = image(&layout, &targets, &words, &ControllerMap::default()).expect("an image");
                assert_eq!(image, Image { words: expected.to_vec(), bits: 3, gain_codes: 2, phase_codes: 4 });
            }
        }
    }

    #[test]
    fn words_pass_through_the_controller_map_and_the_order_of_targets_does_not_matter() {
        let layout = layout(Direction::Down, Direction::Down);
        let (mut targets, mut words) = nominal(&layout);
        targets.reverse();
        words.reverse();
        let map = ControllerMap { bus_bit: vec![], inverted: 0b111, reversed: true };
        let image = image(&layout, &targets, &words, &map).expect("an image");
        assert_eq!(image.words, [0b111, 0b011, 0b101, 0b001, 0b110, 0b010, 0b100, 0b000]);
    }

    #[test]
    fn one_quantity_alone_has_one_row() {
        let layout = Layout { fields: vec![Field::contiguous(Quantity::Gain, 0, 3, 0.1, Direction::Down)] };
        let (targets, words) = nominal(&layout);
        let image = image(&layout, &targets, &words, &ControllerMap::default()).expect("an image");
        assert_eq!((image.gain_codes, image.phase_codes), (8, 1));
        assert_eq!(image.words, [0, 1, 2, 3, 4, 5, 6, 7]);
    }

    #[test]
    fn what_has_no_address_is_refused_with_the_reason() {
        let mut two_gains = layout(Direction::Down, Direction::Down);
        two_gains.fields.push(Field::contiguous(Quantity::Gain, 3, 1, 8.0, Direction::Down));
        let (targets, words) = nominal(&two_gains);
        let refused = image(&two_gains, &targets, &words, &ControllerMap::default());
        assert_eq!(refused, Err(ImageRefused::SeveralFields(Quantity::Gain)));

        let one_gain = layout(Direction::Down, Direction::Down);
        let (mut targets, words) = nominal(&one_gain);
        targets[3] = targets[2];
        let refused = image(&one_gain, &targets, &words, &ControllerMap::default());
        assert_eq!(refused, Err(ImageRefused::NotAllSettings { settings: 8, filled: 7 }));

        let (targets, words) = nominal(&one_gain);
        let map = ControllerMap { bus_bit: vec![0, 0, 1], ..ControllerMap::default() };
        let refused = image(&one_gain, &targets, &words, &map);
        assert_eq!(refused, Err(ImageRefused::Map(ControllerMapError::DrivenTwice(0))));
    }

    #[test]
    fn words_above_the_ceiling_are_named_once() {
        let chosen = [Word(9), Word(2), Word(9), Word(4)];
        assert_eq!(exceeding(&chosen, &[-3.0, -3.5, -3.0, 1.0], -3.5), [Word(4), Word(9)]);
        assert!(exceeding(&chosen, &[-3.0, -3.5, -3.0, 1.0], 1.0).is_empty());
        let sentence = ImageRefused::AboveCeiling((0..9).map(Word).collect()).to_string();
        assert!(sentence.ends_with("(words 0, 1, 2, 3, 4, 5, 6, 7 and more)."), "{sentence}");
    }
}
