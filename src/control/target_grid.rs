//! Fewer targets than a layout has nominal settings: a coarser grid, a smaller gain range.

use super::{Layout, Target};
use serde::{Deserialize, Serialize};

/// Which of the nominal settings are wanted.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TargetGrid {
    /// Every so manieth gain, counted from 0 dB both ways; at least 1.
    pub every_gain: usize,
    /// Every so manieth phase, counted from 0°; at least 1. Where the phases fill the circle, a number that divides theirs
    /// spaces them evenly all around.
    pub every_phase: usize,
    /// Lowest and highest gain in dB, both inclusive; without, the whole range.
    pub gain_range_db: Option<(f64, f64)>,
}

impl Default for TargetGrid {
    /// All nominal settings.
    fn default() -> Self {
        Self { every_gain: 1, every_phase: 1, gain_range_db: None }
    }
}

impl TargetGrid {
    /// Checks that the numbers can be used. The error is a sentence.
    pub fn check(&self) -> Result<(), String> {
        if self.every_gain == 0 || self.every_phase == 0 {
            return Err("Every 0th setting is none: the least is 1, which wants all.".to_owned());
        }
        match self.gain_range_db {
            Some((low, high)) if !(low <= high && low.is_finite() && high.is_finite()) => Err(format!(
                "A gain range goes from a lower to a higher number, not from {low} to {high} dB."
            )),
            _ => Ok(()),
        }
    }

    /// Whether a gain is within the range.
    pub(super) fn holds_gain(&self, gain_db: f64) -> bool {
        // Inclusive with the slack of all bounds, and for sums of steps that are no binary fractions.
        let slack = |limit: f64| 1e-9 * limit.abs().max(1.0);
        self.gain_range_db
            .is_none_or(|(low, high)| gain_db >= low - slack(low) && gain_db <= high + slack(high))
    }
}

impl Layout {
    /// The nominal settings that a grid wants, in the order of [`Layout::targets`], which gives all. Gains and phases are
    /// counted as that list has them: each value once, however many words make it.
    pub fn targets_on(&self, grid: &TargetGrid) -> Vec<Target> {
        let all = self.targets();
        // Every gain comes with the same phases, one row after the other.
        let phases = all.iter().take_while(|target| target.setting.gain_db == all[0].setting.gain_db).count();
        let rows: Vec<&[Target]> = all.chunks(phases.max(1)).collect();
        let size = |row: &[Target]| row[0].setting.gain_db.abs();
        let zero = (0..rows.len()).min_by(|&a, &b| size(rows[a]).total_cmp(&size(rows[b]))).unwrap_or(0);
        rows.iter()
            .enumerate()
            .filter(|(row, _)| row.abs_diff(zero).is_multiple_of(grid.every_gain.max(1)))
            .filter(|(_, targets)| grid.holds_gain(targets[0].setting.gain_db))
            .flat_map(|(_, targets)| targets.iter().step_by(grid.every_phase.max(1)))
            .copied()
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::control::{Direction, Field, Quantity, Setting};

    fn layout(gain: Direction) -> Layout {
        Layout {
            fields: vec![
                Field::contiguous(Quantity::Phase, 0, 3, 45.0, Direction::Down),
                Field::contiguous(Quantity::Gain, 3, 4, 0.1, gain),
            ],
        }
    }

    fn settings(layout: &Layout, grid: &TargetGrid) -> Vec<(f64, f64)> {
        let targets = layout.targets_on(grid);
        for target in &targets {
            let nominal = target.nominal_word.map(|word| layout.nominal(word));
            assert_eq!(nominal, Some(target.setting));
        }
        let round = |value: f64| (value * 1e6).round() / 1e6;
        targets
            .iter()
            .map(|Target { setting: Setting { gain_db, phase_deg }, .. }| {
                (round(*gain_db), round(*phase_deg))
            })
            .collect()
    }

    /// Of 16 gains every fifth is 0, −0.5, −1.0, −1.5 dB; of 8 phases every fourth is 0° and −180°.
    #[test]
    fn a_coarser_grid_keeps_every_so_manieth_value() {
        let grid = TargetGrid { every_gain: 5, every_phase: 4, gain_range_db: None };
        let expected: Vec<(f64, f64)> =
            [0.0, -0.5, -1.0, -1.5].iter().flat_map(|&gain| [(gain, 0.0), (gain, -180.0)]).collect();
        assert_eq!(settings(&layout(Direction::Down), &grid), expected);
        // Upwards the highest comes first, and 0 dB is still one of them.
        let gains: Vec<f64> =
            settings(&layout(Direction::Up), &TargetGrid { every_gain: 4, every_phase: 8, ..grid })
                .iter()
                .map(|setting| setting.0)
                .collect();
        assert_eq!(gains, [1.2, 0.8, 0.4, 0.0]);
    }

    /// 0.1 dB steps are no binary fractions: −0.3 dB is 3·0.1 = 0.30000000000000004 dB down, and still inside.
    #[test]
    fn a_smaller_range_is_inclusive() {
        let grid = TargetGrid { every_phase: 8, gain_range_db: Some((-0.3, -0.1)), ..TargetGrid::default() };
        assert_eq!(settings(&layout(Direction::Down), &grid), [(-0.1, 0.0), (-0.2, 0.0), (-0.3, 0.0)]);
        let none = TargetGrid { gain_range_db: Some((1.0, 2.0)), ..TargetGrid::default() };
        assert!(settings(&layout(Direction::Down), &none).is_empty());
    }

    #[test]
    fn without_wishes_all_nominal_settings_are_wanted() {
        let one_field =
            |quantity| Layout { fields: vec![Field::contiguous(quantity, 0, 3, 1.0, Direction::Down)] };
        let mut two_gains = layout(Direction::Down);
        two_gains.fields.push(Field::contiguous(Quantity::Gain, 7, 2, 0.4, Direction::Up));
        for layout in
            [layout(Direction::Up), one_field(Quantity::Gain), one_field(Quantity::Phase), two_gains]
        {
            assert_eq!(layout.targets_on(&TargetGrid::default()), layout.targets());
        }
    }

    #[test]
    fn grids_are_checked() {
        assert_eq!(TargetGrid::default().check(), Ok(()));
        assert!(TargetGrid { every_gain: 0, ..TargetGrid::default() }.check().is_err());
        for range in [(0.0, -1.0), (f64::NAN, 1.0), (f64::NEG_INFINITY, 0.0)] {
            assert!(TargetGrid { gain_range_db: Some(range), ..TargetGrid::default() }.check().is_err());
        }
    }
}
