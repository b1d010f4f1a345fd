//! What the words of a run mean: the bits of a control word, or a list of settings.

use super::{Layout, Quantity, Setting, Target, TargetGrid, Word};
use serde::{Deserialize, Serialize};

/// What the words of a run mean.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub enum ControlModel {
    /// The bits of the word belong to fields.
    Bits(Layout),
    /// The word is the rank of a listed setting.
    Listed(Listing),
}

/// The settings of a run without bits, at least one.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub enum Listing {
    /// Nominal settings by word, as they were listed.
    Settings(Vec<Setting>),
    /// So many volts or dial marks, which are names only; and the settings that are wanted of them.
    Marks(usize, WantedSettings),
}

/// Settings that the user wants where names say nothing of gain or phase: every gain with every phase.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WantedSettings {
    /// Gains in dB, relative to the reference.
    pub gains_db: Vec<f64>,
    /// Phases in degrees, relative to the reference.
    pub phases_deg: Vec<f64>,
}

impl WantedSettings {
    /// The most settings that may be wanted.
    pub const MOST: usize = 1 << Layout::MAX_BITS;

    /// Checks that there are settings, not too many, all of them finite numbers. The error is a sentence.
    pub fn check(&self) -> Result<(), String> {
        let settings = self.gains_db.len().saturating_mul(self.phases_deg.len());
        if settings == 0 || settings > Self::MOST {
            return Err(format!("Between 1 and {} settings may be wanted, not {settings}.", Self::MOST));
        }
        match self.gains_db.iter().chain(&self.phases_deg).find(|value| !value.is_finite()) {
            Some(value) => Err(format!("A wanted setting must be a number, not {value}.")),
            None => Ok(()),
        }
    }

    fn targets(&self) -> Vec<Target> {
        let at = |&gain_db: &f64| {
            self.phases_deg
                .iter()
                .map(move |&phase_deg| Target { setting: Setting { gain_db, phase_deg }, nominal_word: None })
        };
        self.gains_db.iter().flat_map(at).collect()
    }
}

impl From<Layout> for ControlModel {
    fn from(layout: Layout) -> Self {
        Self::Bits(layout)
    }
}

impl ControlModel {
    /// The layout of the bits; `None` in a run without.
    pub fn layout(&self) -> Option<&Layout> {
        match self {
            Self::Bits(layout) => Some(layout),
            Self::Listed(_) => None,
        }
    }

    /// Whether words have nominal settings, so that there is a nominal mapping.
    pub fn has_nominal(&self) -> bool {
        !matches!(self, Self::Listed(Listing::Marks(..)))
    }

    /// The nominal setting of a word, relative to the zero word; `None` where a word is the name of a mark, or beyond
    /// the list.
    pub fn nominal(&self, word: Word) -> Option<Setting> {
        match self {
            Self::Bits(layout) => Some(layout.nominal(word)),
            Self::Listed(listing) => listing.nominal(word),
        }
    }

    /// The word whose nominal gain and phase are both zero. Of listed settings it is the one nearest to 0 dB, of these
    /// the one nearest to 0°, of these the first; of marks, the lowest, which is where 0 dB and 0° are for want of any
    /// other meaning.
    pub fn zero_word(&self) -> Word {
        match self {
            Self::Bits(layout) => layout.zero_word(),
            Self::Listed(listing) => listing.zero_word(),
        }
    }

    /// All nominal settings, or those that are wanted of marks: the highest gain first, and for each gain the phases by
    /// size. A listed setting is a target once, however often it is listed.
    pub fn targets(&self) -> Vec<Target> {
        match self {
            Self::Bits(layout) => layout.targets(),
            Self::Listed(Listing::Marks(_, wanted)) => wanted.targets(),
            Self::Listed(listing @ Listing::Settings(settings)) => listed_targets(listing, settings.len()),
        }
    }

    /// Those of [`Self::targets`] that a grid wants. Without bits there are no steps to count: only its gain range does.
    pub fn targets_on(&self, grid: &TargetGrid) -> Vec<Target> {
        match self {
            Self::Bits(layout) => layout.targets_on(grid),
            Self::Listed(_) => {
                self.targets().into_iter().filter(|target| grid.holds_gain(target.setting.gain_db)).collect()
            }
        }
    }

    /// The smallest step of one quantity, in dB or degrees; `None` where nothing sets it.
    pub fn finest_step(&self, quantity: Quantity) -> Option<f64> {
        match self {
            Self::Bits(layout) => layout.finest_step(quantity),
            Self::Listed(Listing::Settings(settings)) => smallest_difference(
                settings.iter().map(|setting| value(*setting, quantity)).collect(),
                quantity,
            ),
            Self::Listed(Listing::Marks(_, wanted)) => {
                let values = match quantity {
                    Quantity::Gain => &wanted.gains_db,
                    Quantity::Phase => &wanted.phases_deg,
                };
                smallest_difference(values.clone(), quantity)
            }
        }
    }
}

impl Listing {
    /// The number of words.
    pub fn words(&self) -> usize {
        match self {
            Self::Settings(settings) => settings.len(),
            Self::Marks(marks, _) => *marks,
        }
    }

    fn nominal(&self, word: Word) -> Option<Setting> {
        let Self::Settings(settings) = self else { return None };
        let (here, zero) = (settings.get(word.0 as usize)?, settings.get(self.zero_word().0 as usize)?);
        Some(Setting { gain_db: here.gain_db - zero.gain_db, phase_deg: here.phase_deg - zero.phase_deg })
    }

    fn zero_word(&self) -> Word {
        let Self::Settings(settings) = self else { return Word(0) };
        let nearest = (0_u32..).zip(settings).min_by(|(_, a), (_, b)| {
            let gain = a.gain_db.abs().total_cmp(&b.gain_db.abs());
            gain.then(a.phase_deg.abs().total_cmp(&b.phase_deg.abs()))
        });
        Word(nearest.map_or(0, |(word, _)| word))
    }
}

fn listed_targets(listing: &Listing, words: usize) -> Vec<Target> {
    let words = (0_u32..).take(words).map(Word);
    let target = |word| Some(Target { setting: listing.nominal(word)?, nominal_word: Some(word) });
    let mut targets: Vec<Target> = words.filter_map(target).collect();
    targets.sort_by(|a, b| {
        let (a, b) = (a.setting, b.setting);
        let gain = b.gain_db.total_cmp(&a.gain_db);
        gain.then(a.phase_deg.abs().total_cmp(&b.phase_deg.abs())).then(a.phase_deg.total_cmp(&b.phase_deg))
    });
    targets.dedup_by(|a, b| a.setting == b.setting);
    targets
}

fn value(setting: Setting, quantity: Quantity) -> f64 {
    match quantity {
        Quantity::Gain => setting.gain_db,
        Quantity::Phase => setting.phase_deg,
    }
}

/// The smallest difference between distinct values, phases on the circle; `None` where all are one. What differs by
/// less than 1e-9 is one value.
pub(super) fn smallest_difference(mut values: Vec<f64>, quantity: Quantity) -> Option<f64> {
    if quantity == Quantity::Phase {
        for phase in &mut values {
            *phase = phase.rem_euclid(360.0);
        }
    }
    values.sort_by(f64::total_cmp);
    let closing = match (quantity, values.first(), values.last()) {
        (Quantity::Phase, Some(first), Some(last)) => Some(first + 360.0 - last),
        _ => None,
    };
    let differences = values.windows(2).map(|pair| pair[1] - pair[0]).chain(closing);
    differences.filter(|&difference| difference > 1e-9 && difference < 360.0).min_by(f64::total_cmp)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn listed(settings: &[(f64, f64)]) -> ControlModel {
        let setting = |&(gain_db, phase_deg): &(f64, f64)| Setting { gain_db, phase_deg };
        ControlModel::Listed(Listing::Settings(settings.iter().map(setting).collect()))
    }

    #[test]
    fn listed_settings_are_relative_to_the_one_nearest_to_none() {
        let model = listed(&[(-16.0, 0.0), (-4.0, 0.0), (-4.0, -90.0), (-0.5, 90.0), (-0.5, -45.0)]);
        assert_eq!(model.zero_word(), Word(4));
        assert_eq!(model.nominal(Word(0)), Some(Setting { gain_db: -15.5, phase_deg: 45.0 }));
        assert_eq!(model.nominal(Word(5)), None);
        let order: Vec<u32> =
            model.targets().iter().filter_map(|target| Some(target.nominal_word?.0)).collect();
        assert_eq!(order, [4, 3, 2, 1, 0]);
        assert_eq!(model.finest_step(Quantity::Gain), Some(3.5));
        assert_eq!(model.finest_step(Quantity::Phase), Some(45.0));
    }

    #[test]
    fn phases_step_round_the_circle() {
        let model = listed(&[(0.0, 0.0), (0.0, 120.0), (0.0, 350.0)]);
        assert_eq!(model.finest_step(Quantity::Phase), Some(10.0));
        assert_eq!(model.finest_step(Quantity::Gain), None);
    }

    #[test]
    fn marks_have_wanted_settings_and_no_nominal_ones() {
        let wanted = WantedSettings { gains_db: vec![0.0, -3.0], phases_deg: vec![0.0, 90.0, 180.0] };
        let model = ControlModel::Listed(Listing::Marks(44, wanted));
        assert_eq!((model.nominal(Word(3)), model.zero_word(), model.has_nominal()), (None, Word(0), false));
        let targets = model.targets();
        assert_eq!(targets.len(), 6);
        assert!(targets.iter().all(|target| target.nominal_word.is_none()));
        assert_eq!(targets[3].setting, Setting { gain_db: -3.0, phase_deg: 0.0 });
        assert_eq!(model.finest_step(Quantity::Gain), Some(3.0));
    }

    #[test]
    fn wanted_settings_are_checked() {
        let check = |gains_db: &[f64], phases: usize| {
            WantedSettings { gains_db: gains_db.to_vec(), phases_deg: vec![0.0; phases] }.check()
        };
        assert_eq!(check(&[0.0], 16), Ok(()));
        assert!(
            check(&[], 16).is_err() && check(&[f64::NAN], 1).is_err() && check(&[0.0, 1.0], 40_000).is_err()
        );
    }
}
