//! Holes in the plane: targets that no state comes near.

use crate::plane::{Place, PreparedTargets, StateError, Tolerance, wrap_difference_deg};
use serde::{Deserialize, Serialize};
use std::f64::consts::LN_10;

/// A target that no state comes near.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Hole {
    /// Index into the targets.
    pub target: usize,
    /// How far the nearest state is, in units of what is allowed: over 1.
    pub excess: f64,
}

/// The relative distance of a tolerance cell's corner from its middle, linear:
/// √((gain tolerance·ln10/20)² + (phase tolerance·π/180)²), which is the vector error of a state there for small
/// tolerances. Infinite where either is not limited.
pub fn cell_corner(tolerance: &Tolerance, nominal_gain_db: f64) -> f64 {
    (tolerance.gain_db_at(nominal_gain_db) * LN_10 / 20.0).hypot(tolerance.phase_deg.to_radians())
}

/// The holes at one frequency: targets whose nearest state is farther than the corner of their tolerance cell.
/// `nearest[t]` is the position of the state nearest to `targets[t]`, as [`choose`](crate::table::choose) finds it.
///
/// Where only the gain or only the phase is limited the cell has no corner. A target is then a hole where no state is
/// within the limit of that quantity alone, whatever the other does. Where neither is, nothing is a hole.
pub fn holes(
    targets: &PreparedTargets,
    places: &[Place],
    nearest: &[u32],
    tolerance: &Tolerance,
) -> Vec<Hole> {
    let wanted = || targets.prepared.iter();
    let (gain_is_limited, phase_is_limited) =
        (tolerance.gain_db.is_finite(), tolerance.phase_deg.is_finite());
    // Per target how far the nearest state is and how far it may be.
    let distances: Vec<(f64, f64)> = if gain_is_limited && phase_is_limited {
        let errors = wanted().zip(nearest).map(|(wanted, &state)| {
            let error = StateError::between(&places[state as usize], wanted);
            (error.vector, cell_corner(tolerance, wanted.gain_db))
        });
        // Without states there are no nearest ones.
        errors.chain(std::iter::repeat((f64::INFINITY, 1.0))).take(targets.len()).collect()
    } else if gain_is_limited {
        let gains_db = sorted(places.iter().map(|place| place.gain_db));
        let distance = |gain_db| nearest_difference(&gains_db, gain_db);
        wanted().map(|wanted| (distance(wanted.gain_db), tolerance.gain_db_at(wanted.gain_db))).collect()
    } else if phase_is_limited {
        let transmitting = places.iter().filter(|place| place.gain_db.is_finite());
        let phases_deg = sorted(transmitting.map(|place| place.phase_deg));
        wanted().map(|wanted| (around(&phases_deg, wanted.phase_deg), tolerance.phase_deg)).collect()
    } else {
        return Vec::new();
    };
    let beyond =
        distances.into_iter().enumerate().filter(|(_, (far, limit))| !Tolerance::holds(*far, *limit));
    beyond.map(|(target, (far, limit))| Hole { target, excess: far / limit }).collect()
}

fn sorted(values: impl Iterator<Item = f64>) -> Vec<f64> {
    let mut values: Vec<f64> = values.filter(|value| value.is_finite()).collect();
    values.sort_by(f64::total_cmp);
    values
}

fn nearest_difference(ascending: &[f64], wanted: f64) -> f64 {
    let above = ascending.partition_point(|&value| value < wanted);
    let beside = [above.checked_sub(1), Some(above)].into_iter().flatten();
    let differences = beside.filter_map(|index| ascending.get(index)).map(|value| (value - wanted).abs());
    differences.fold(f64::INFINITY, f64::min)
}

/// The same on the circle: the first and the last are neighbours.
fn around(ascending_deg: &[f64], wanted_deg: f64) -> f64 {
    let ends = [ascending_deg.first(), ascending_deg.last()].into_iter().flatten();
    let over_the_end = ends.map(|phase| wrap_difference_deg(phase - wanted_deg).abs());
    over_the_end.fold(nearest_difference(ascending_deg, wanted_deg), f64::min)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::control::{Setting, Target};
    use crate::plane::{StateIndex, target_gain};

    const HALF_STEP: Tolerance = Tolerance { gain_db: 0.25, gain_pct_of_setting: 0.0, phase_deg: 2.8125 };

    fn place(gain_db: f64, phase_deg: f64) -> Place {
        Place::of(target_gain(Setting { gain_db, phase_deg }))
    }

    fn targets(settings: &[(f64, f64)]) -> PreparedTargets {
        let target =
            |&(gain_db, phase_deg)| Target { setting: Setting { gain_db, phase_deg }, nominal_word: None };
        PreparedTargets::new(settings.iter().map(target).collect(), &StateIndex::new(&[]))
    }

    fn found(wanted: &[(f64, f64)], places: &[Place], nearest: &[u32], tolerance: &Tolerance) -> Vec<usize> {
        holes(&targets(wanted), places, nearest, tolerance).iter().map(|hole| hole.target).collect()
    }

    /// √(0.25²·0.115129² + (2.8125·π/180)²) = √(0.0287823² + 0.0490874²) = 0.0569034, by hand.
    #[test]
    fn the_corner_of_the_cell_decides() {
        assert!((cell_corner(&HALF_STEP, -6.0) - 0.056_903_4).abs() < 5e-8);
        let grown = Tolerance { gain_pct_of_setting: 3.0, ..HALF_STEP };
        assert!((cell_corner(&grown, -16.0) - 0.097_329_5).abs() < 5e-8);
        // 0.48 dB is |10^(0.024) − 1| = 0.05682 away, 0.49 dB 0.05804; 3.25° is 2·sin(1.625°) = 0.05672, 3.27° 0.05706.
        let places = [place(-3.52, 10.0), place(-3.51, 10.0), place(-4.0, 13.25), place(-4.0, 13.27)];
        let wanted = [(-4.0, 10.0); 4];
        assert_eq!(found(&wanted, &places, &[0, 1, 2, 3], &HALF_STEP), [1, 3]);
        let far = holes(&targets(&wanted[..1]), &[place(2.0, 10.0)], &[0], &HALF_STEP);
        assert!((far[0].excess - 0.995_262_3 / 0.056_903_4).abs() < 1e-4, "{far:?}");
    }

    /// The small-error formula of 0.5 dB and 3°, and of step/√12 of 0.5 dB and of 5.625°; by hand.
    #[test]
    fn a_corner_is_the_small_error_formula() {
        for (gain_db, phase_deg, corner) in [(0.5, 3.0, 0.077_815_4), (0.144_337_6, 1.623_798, 0.032_853_17)]
        {
            let tolerance = Tolerance { gain_db, gain_pct_of_setting: 0.0, phase_deg };
            assert!((cell_corner(&tolerance, 0.0) - corner).abs() < 5e-8, "{gain_db} {phase_deg}");
        }
    }

    #[test]
    fn without_states_everything_is_a_hole() {
        let wanted = [(0.0, 0.0), (-1.0, 0.0)];
        for tolerance in [
            HALF_STEP,
            Tolerance { gain_db: f64::INFINITY, ..HALF_STEP },
            Tolerance { phase_deg: f64::INFINITY, ..HALF_STEP },
        ] {
            assert_eq!(found(&wanted, &[], &[], &tolerance), [0, 1]);
            assert_eq!(
                found(&wanted[..1], &[Place::of(num_complex::Complex64::ZERO)], &[0], &tolerance),
                [0]
            );
        }
    }

    #[test]
    fn one_quantity_alone_is_judged_alone() {
        let places = [place(-7.0, 178.0), place(0.0, -90.0), place(3.0, 0.0)];
        let phases = Tolerance { gain_db: f64::INFINITY, gain_pct_of_setting: 0.0, phase_deg: 5.0 };
        let wanted = [(0.0, -178.0), (0.0, -176.0), (0.0, 5.0), (0.0, 90.0), (0.0, -96.0)];
        assert_eq!(found(&wanted, &places, &[], &phases), [1, 3, 4]);
        let gains = Tolerance { gain_db: 0.5, gain_pct_of_setting: 10.0, phase_deg: f64::INFINITY };
        let wanted = [(-6.0, 0.0), (-5.6, 0.0), (0.4, 0.0), (1.0, 0.0), (9.0, 0.0)];
        assert_eq!(found(&wanted, &places, &[], &gains), [1, 3, 4]);
        let neither = Tolerance { gain_db: f64::INFINITY, ..gains };
        assert!(found(&wanted, &places, &[], &neither).is_empty());
    }
}
