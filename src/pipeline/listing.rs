//! What the words of a run without bits mean, as far as names and measurements tell.

use super::report::{LayoutOrigin, ListedPhases};
use super::settings::{Settings, UnsignedPhases};
use crate::control::naming::StateKey;
use crate::control::{Listing, Setting, WantedSettings, Word};
use crate::run::Listed;
use num_complex::Complex64;

/// Phases proposed for marks are these apart: a sixteenth of a turn, four bits' worth.
const PROPOSED_PHASE_STEP_DEG: f64 = 22.5;

/// At most about so many gains are proposed for marks.
const PROPOSED_GAINS: f64 = 16.0;

/// Makes the listing of a run whose states transmit `states` at the band's centre; `words` runs beside them.
pub(super) fn listing(
    listed: &Listed,
    settings: &Settings,
    words: &[Word],
    states: &[Complex64],
) -> (Listing, LayoutOrigin) {
    let nominal: Option<Vec<Setting>> = listed.keys.iter().map(nominal).collect();
    match (nominal, &settings.wanted) {
        (Some(nominal), _) => {
            let phases = match settings.unsigned_phases {
                _ if !is_unsigned(&nominal) => ListedPhases::AsWritten,
                UnsignedPhases::AsProposed => {
                    ListedPhases::Guessed { lags: lag_fits_better(&nominal, words, states) }
                }
                UnsignedPhases::Lags => ListedPhases::Given { lags: true },
                UnsignedPhases::Leads => ListedPhases::Given { lags: false },
            };
            let sign = if phases.lag() { -1.0 } else { 1.0 };
            // Adding zero turns −0 into 0.
            let turned = nominal.into_iter().map(|s| Setting { phase_deg: sign * s.phase_deg + 0.0, ..s });
            (Listing::Settings(turned.collect()), LayoutOrigin::Listed(phases))
        }
        (None, Some(wanted)) => {
            (Listing::Marks(listed.keys.len(), wanted.clone()), LayoutOrigin::Marks { proposed: false })
        }
        (None, None) => {
            let wanted = proposed(states);
            (Listing::Marks(listed.keys.len(), wanted), LayoutOrigin::Marks { proposed: true })
        }
    }
}

/// What is not said of a setting counts as zero.
fn nominal(key: &StateKey) -> Option<Setting> {
    match key {
        StateKey::Setting { gain_db, phase_deg } => {
            Some(Setting { gain_db: gain_db.unwrap_or(0.0), phase_deg: phase_deg.unwrap_or(0.0) })
        }
        StateKey::Word(_) | StateKey::Codes(_) | StateKey::Marks(_) => None,
    }
}

/// Whether there are phases and none of them carries a sign.
fn is_unsigned(settings: &[Setting]) -> bool {
    let mut phases = settings.iter().map(|setting| setting.phase_deg);
    phases.clone().all(|phase| phase >= 0.0) && phases.any(|phase| phase > 0.0)
}

/// Whether phases without a sign are lags: the states, each turned back by its setting, add up to more when the
/// settings are taken as lags than as leads.
fn lag_fits_better(settings: &[Setting], words: &[Word], states: &[Complex64]) -> bool {
    let agreement = |sign: f64| {
        let turned = words.iter().zip(states).filter_map(|(word, state)| {
            let setting = settings.get(word.0 as usize)?;
            let direction = state / state.norm();
            direction.is_finite().then(|| direction * Complex64::cis(-sign * setting.phase_deg.to_radians()))
        });
        turned.sum::<Complex64>().norm()
    };
    agreement(-1.0) > agreement(1.0) * (1.0 + 1e-9)
}

/// Settings to want of marks, relative to the lowest mark: phases a sixteenth of a turn apart on the arc that the
/// states cover, or about sixteen round gains over the range that they cover, whichever the states change more.
fn proposed(states: &[Complex64]) -> WantedSettings {
    let usable = |state: &&Complex64| state.is_finite() && state.norm() > 0.0;
    let Some(first) = states.iter().find(usable) else {
        return WantedSettings { gains_db: vec![0.0], phases_deg: vec![0.0] };
    };
    let relative: Vec<Complex64> = states.iter().filter(usable).map(|state| state / first).collect();
    let gains_db = relative.iter().map(|g| 20.0 * g.norm().log10());
    let (low, high) = gains_db.fold((0.0_f64, 0.0_f64), |(low, high), gain| (low.min(gain), high.max(gain)));
    let gap = Gap::widest(relative.iter().map(|g| g.arg().to_degrees().rem_euclid(360.0)).collect());
    let (gain_span_neper, phase_span) =
        ((high - low) * std::f64::consts::LN_10 / 20.0, (360.0 - gap.width_deg).to_radians());
    if phase_span >= gain_span_neper {
        let phases = (0..16).map(|k| f64::from(k) * PROPOSED_PHASE_STEP_DEG);
        return WantedSettings {
            gains_db: vec![0.0],
            phases_deg: phases.filter(|&p| !gap.holds(p)).collect(),
        };
    }
    let step = round_step_from((high - low) / PROPOSED_GAINS);
    let mut gains_db = Vec::new();
    let mut steps = (high / step).floor();
    while steps * step >= low {
        gains_db.push(steps * step);
        steps -= 1.0;
    }
    WantedSettings { gains_db, phases_deg: vec![0.0] }
}

/// The widest arc between neighbouring phases.
struct Gap {
    from_deg: f64,
    width_deg: f64,
}

impl Gap {
    fn widest(mut phases_deg: Vec<f64>) -> Self {
        phases_deg.sort_by(f64::total_cmp);
        let first = phases_deg.first().copied().unwrap_or(0.0);
        let next = phases_deg.iter().skip(1).copied().chain([first + 360.0]);
        let gaps =
            phases_deg.iter().zip(next).map(|(&from_deg, to)| Self { from_deg, width_deg: to - from_deg });
        gaps.max_by(|a, b| a.width_deg.total_cmp(&b.width_deg))
            .unwrap_or(Self { from_deg: 0.0, width_deg: 360.0 })
    }

    /// Whether a phase lies in the gap and the gap is one: two steps or wider. Its ends are states.
    fn holds(&self, phase_deg: f64) -> bool {
        let into = (phase_deg - self.from_deg).rem_euclid(360.0);
        self.width_deg >= 2.0 * PROPOSED_PHASE_STEP_DEG && into > 1e-6 && into < self.width_deg - 1e-6
    }
}

/// The smallest of 1, 2, 5 and 10 times a power of ten that is no smaller than a positive value.
fn round_step_from(value: f64) -> f64 {
    let power = 10_f64.powf(value.log10().floor());
    [1.0, 2.0, 5.0].into_iter().map(|digit| digit * power).find(|step| *step >= value).unwrap_or(10.0 * power)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(gain_db: f64, phase_deg: f64) -> Complex64 {
        Complex64::from_polar(0.3 * 10_f64.powf(gain_db / 20.0), (phase_deg + 77.0).to_radians())
    }

    #[test]
    fn phases_are_proposed_on_the_arc_that_the_states_cover() {
        let half: Vec<Complex64> = (0..=40).map(|k| at(-0.05 * f64::from(k), -5.0 * f64::from(k))).collect();
        // The arc from 0 back to −200 degrees holds 0, −22.5 … −180, and 337.5 is −22.5.
        let expected = [0.0, 180.0, 202.5, 225.0, 247.5, 270.0, 292.5, 315.0, 337.5];
        assert_eq!(proposed(&half).phases_deg, expected);
        let whole: Vec<Complex64> = (0..40).map(|k| at(0.0, 9.0 * f64::from(k))).collect();
        assert_eq!(proposed(&whole).phases_deg.len(), 16);
        assert_eq!(proposed(&whole).gains_db, [0.0]);
    }

    #[test]
    fn round_gains_are_proposed_where_the_states_change_gain() {
        let states: Vec<Complex64> = (0..30).map(|k| at(-0.7 * f64::from(k), f64::from(k))).collect();
        // 20.3 dB in at most 16 steps: 2 dB.
        let expected: Vec<f64> = (0..=10).map(|k| -2.0 * f64::from(k)).collect();
        assert_eq!(proposed(&states), WantedSettings { gains_db: expected, phases_deg: vec![0.0] });
    }

    #[test]
    fn phases_without_a_sign_take_the_one_that_fits() {
        let settings: Vec<Setting> =
            (0..4).map(|k| Setting { gain_db: 0.0, phase_deg: 30.0 * f64::from(k) }).collect();
        let words: Vec<Word> = (0..4).map(Word).collect();
        let states =
            |sign: f64| -> Vec<Complex64> { settings.iter().map(|s| at(0.0, sign * s.phase_deg)).collect() };
        assert!(lag_fits_better(&settings, &words, &states(-1.0)));
        assert!(!lag_fits_better(&settings, &words, &states(1.0)));
        let signed: Vec<Setting> =
            settings.iter().map(|s| Setting { phase_deg: -s.phase_deg, ..*s }).collect();
        assert!(is_unsigned(&settings) && !is_unsigned(&signed), "a written sign is kept");
        assert!(!is_unsigned(&[Setting { gain_db: -3.0, phase_deg: 0.0 }]), "there is nothing to turn");
    }

    #[test]
    fn states_that_transmit_nothing_are_no_trouble() {
        for states in [vec![], vec![Complex64::ZERO; 3], vec![Complex64::new(f64::NAN, 0.0); 2]] {
            assert_eq!(proposed(&states).check(), Ok(()));
        }
        assert_eq!([0.9, 1.0, 1.3, 4.9, 6.0].map(round_step_from), [1.0, 1.0, 2.0, 5.0, 10.0]);
    }
}
