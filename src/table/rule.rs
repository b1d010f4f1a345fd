//! The rules by which a state is chosen for a target.

use super::band_table::best_of;
use super::cells::Cells;
use super::spot::{NEPERS_PER_DB, Spot};
use crate::plane::{Place, PreparedTarget, PreparedTargets, StateError, Tolerance};
use num_complex::Complex64;
use serde::{Deserialize, Serialize};

/// Which state serves a target best. Ties under each (squares that agree to 1e-12 of the larger) go to fewer bits changed
/// from the nominal word, then to the lower word.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SelectionRule {
    /// The nearest in the plane.
    #[default]
    Nearest,
    /// The nearest of the states inside both tolerances; where none is, the nearest of all.
    ToleranceFirst,
    /// The smallest sum of squares of gain error and phase error, each over its tolerance. A quantity without limit does not
    /// count; where no state has a finite sum, the nearest.
    Weighted,
}

/// The state that serves each target under a rule, as positions in the run; `None` where there are no states. `cells` holds
/// the undivided states and `places` where they lie under the reference.
///
/// A tolerance is a rectangle of gain and phase, so only states in the cells that it touches are looked at. The smallest
/// weighted sum is no larger than that of the nearest state, which bounds both errors and so is a rectangle too.
pub fn choose_by(
    rule: SelectionRule,
    targets: &PreparedTargets,
    tolerance: &Tolerance,
    cells: &Cells,
    reference: Complex64,
    places: &[Place],
) -> Option<Vec<u32>> {
    let origin = Spot::of(reference);
    let mut beside = None;
    let serve = |(target, wanted): (&PreparedTarget, &crate::control::Target)| {
        let spot = Spot::under(target, &origin);
        let nearest = cells.nearest(&spot, wanted.nominal_word, beside)?;
        beside = Some(nearest);
        let limits = (tolerance.gain_db_at(target.gain_db), tolerance.phase_deg);
        let error = |state: u32| StateError::between(&places[state as usize], target);
        let mut candidates = Vec::new();
        match rule {
            SelectionRule::Nearest => return Some(nearest),
            SelectionRule::ToleranceFirst => {
                around(cells, &spot, limits, 1.0, |state| {
                    let error = error(state);
                    if inside(&error, limits) {
                        candidates.push((state, error.vector * error.vector));
                    }
                });
            }
            SelectionRule::Weighted => {
                let bound = weighted(&error(nearest), limits);
                around(cells, &spot, limits, bound.sqrt(), |state| {
                    let squared = weighted(&error(state), limits);
                    if squared.is_finite() {
                        candidates.push((state, squared));
                    }
                });
            }
        }
        Some(best_of(&candidates, cells.words(), wanted.nominal_word).map_or(nearest, |(state, _)| state))
    };
    targets.prepared.iter().zip(&targets.targets).map(serve).collect()
}

/// Shows `meet` all states whose errors are within so many tolerances, and some more.
fn around(cells: &Cells, spot: &Spot, limits: (f64, f64), times: f64, mut meet: impl FnMut(u32)) {
    let wide =
        |limit: f64| if limit.is_finite() { limit * times * (1.0 + 2e-9) + 1e-9 } else { f64::INFINITY };
    let reach = |limit: f64| if wide(limit).is_nan() { f64::INFINITY } else { wide(limit) };
    let phase = reach(limits.1).min(360.0).to_radians();
    cells.visit_around(spot, reach(limits.0) * NEPERS_PER_DB, phase, |state, _| meet(state));
}

/// A state without transmission has no phase and is inside nothing.
fn inside(error: &StateError, limits: (f64, f64)) -> bool {
    error.gain_db.is_finite()
        && Tolerance::holds(error.gain_db, limits.0)
        && Tolerance::holds(error.phase_deg, limits.1)
}

fn weighted(error: &StateError, limits: (f64, f64)) -> f64 {
    // No error is none, whatever the limit.
    let part = |error: f64, limit: f64| if error == 0.0 { 0.0 } else { (error / limit).powi(2) };
    let sum = part(error.gain_db, limits.0) + part(error.phase_deg, limits.1);
    if sum.is_nan() { f64::INFINITY } else { sum }
}
