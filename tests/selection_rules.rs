//! The rules of choosing a state, word for word over all states.

mod seeded;

use num_complex::Complex64;
use seeded::{Sequence, layout, part, words};
use sweepfold::control::{Setting, Target, Word};
use sweepfold::plane::{Place, PreparedTargets, StateError, StateIndex, Tolerance};
use sweepfold::table::{Cells, SelectionRule, choose_by};

/// The smallest of `value` over the states for which there is one; ties by the rule.
fn smallest(words: &[Word], nominal: Option<Word>, value: impl Fn(usize) -> Option<f64>) -> Option<u32> {
    let values: Vec<(usize, f64)> =
        (0..words.len()).filter_map(|state| Some((state, value(state)?))).collect();
    let least = values.iter().map(|(_, value)| *value).fold(f64::INFINITY, f64::min);
    let tied = values.iter().filter(|(_, value)| value - least <= 1e-12 * value);
    let changed = |word: Word| nominal.map_or(0, |nominal| (word.0 ^ nominal.0).count_ones());
    let best = tied.min_by_key(|(state, _)| (changed(words[*state]), words[*state]))?;
    u32::try_from(best.0).ok()
}

fn by_looking_at_all(
    rule: SelectionRule,
    targets: &PreparedTargets,
    tolerance: &Tolerance,
    words: &[Word],
    places: &[Place],
) -> Vec<u32> {
    let serve = |target: &Target| {
        let gain_limit =
            tolerance.gain_db + tolerance.gain_pct_of_setting / 100.0 * target.setting.gain_db.abs();
        let error = |state: usize| StateError::of(places[state].relative, target.setting);
        let all = |state: usize| Some(error(state).vector.powi(2)).filter(|squared| squared.is_finite());
        let nearest = smallest(words, target.nominal_word, all);
        let ruled = match rule {
            SelectionRule::Nearest => nearest,
            SelectionRule::ToleranceFirst => smallest(words, target.nominal_word, |state| {
                let error = error(state);
                let inside = error.gain_db.abs() <= gain_limit * (1.0 + 1e-9)
                    && error.phase_deg.abs() <= tolerance.phase_deg * (1.0 + 1e-9)
                    && error.gain_db.is_finite();
                inside.then(|| error.vector.powi(2))
            }),
            SelectionRule::Weighted => smallest(words, target.nominal_word, |state| {
                let error = error(state);
                let squared =
                    (error.gain_db / gain_limit).powi(2) + (error.phase_deg / tolerance.phase_deg).powi(2);
                Some(squared).filter(|squared| squared.is_finite())
            }),
        };
        ruled.or(nearest).expect("a state")
    };
    targets.targets.iter().map(serve).collect()
}

#[test]
fn every_rule_is_what_looking_at_all_states_finds() {
    let mut differ = [0; 2];
    for seed in 0..60 {
        let mut sequence = Sequence(seed);
        let layout = match seed % 4 {
            0 => layout(4, 4, 0.5),
            1 => layout(0, 5, 0.5),
            2 => layout(6, 0, 0.0),
            _ => layout(3, 3, 2.0),
        };
        let scatter = [0.0, 0.02, 0.1][(seed % 3) as usize];
        let mut states = part(&layout, 1, 0.06, scatter, &mut sequence).remove(0);
        if seed % 6 == 5 {
            states[3] = Complex64::ZERO;
            states[5] = Complex64::new(f64::NAN, 0.0);
        }
        let words = words(&layout);
        let mut wanted = layout.targets();
        // Some that no word means, on the seam of the circle and beyond the states.
        for (gain_db, phase_deg) in [(-1.1, 180.0), (-3.0, -179.9), (6.0, 10.0), (-60.0, 90.0)] {
            wanted.push(Target { setting: Setting { gain_db, phase_deg }, nominal_word: None });
        }
        let targets = PreparedTargets::new(wanted, &StateIndex::new(&words));
        let reference = states[0] * Complex64::from_polar(1.0, 0.02);
        let places = Place::under(&Place::all(&states, Complex64::ONE), reference);
        let cells = Cells::new(&states, &words);
        for (gain_db, pct, phase_deg) in [
            (0.25, 0.0, 2.8),
            (0.3, 3.0, 11.0),
            (2.0, 0.0, 1.0),
            (f64::INFINITY, 0.0, 5.0),
            (1.0, 0.0, f64::INFINITY),
            (1e-6, 0.0, 1e-6),
        ] {
            let tolerance = Tolerance { gain_db, gain_pct_of_setting: pct, phase_deg };
            let [nearest, first, weighted] =
                [SelectionRule::Nearest, SelectionRule::ToleranceFirst, SelectionRule::Weighted].map(
                    |rule| {
                        let found = choose_by(rule, &targets, &tolerance, &cells, reference, &places)
                            .expect("states");
                        let expected = by_looking_at_all(rule, &targets, &tolerance, &words, &places);
                        assert_eq!(found, expected, "{seed} {rule:?} {tolerance:?}");
                        found
                    },
                );
            differ[0] += nearest.iter().zip(&first).filter(|(a, b)| a != b).count();
            differ[1] += nearest.iter().zip(&weighted).filter(|(a, b)| a != b).count();
        }
    }
    // The rules are not one rule.
    assert!(differ[0] > 100 && differ[1] > 1000, "{differ:?}");
}

/// By hand. Target 0 dB, 0°. States: A 0.2 dB and 3°, B 0.8 dB and 0°, C 0.4 dB and 2°, D 0 dB and 3.5°. In the plane B is
/// 0.0965 away, A 0.0578, C 0.0591 and D 0.0611. Within 0.5 dB and 2.5° is only C; within 0.5 dB and 1° none, so A. Over
/// 0.1 dB and 10° the sums of squares are 4.09, 64, 16.04 and 0.1225: D.
#[test]
fn the_rules_by_hand() {
    let settings = [(0.2, 3.0), (0.8, 0.0), (0.4, 2.0), (0.0, 3.5)];
    let states: Vec<Complex64> = settings
        .iter()
        .map(|&(gain_db, phase_deg): &(f64, f64)| {
            Complex64::from_polar(10_f64.powf(gain_db / 20.0), phase_deg.to_radians())
        })
        .collect();
    let words: Vec<Word> = (0..4).map(Word).collect();
    let target = Target { setting: Setting { gain_db: 0.0, phase_deg: 0.0 }, nominal_word: Some(Word(1)) };
    let targets = PreparedTargets::new(vec![target], &StateIndex::new(&words));
    let (cells, places) = (Cells::new(&states, &words), Place::all(&states, Complex64::ONE));
    for (rule, gain_db, phase_deg, expected) in [
        (SelectionRule::Nearest, 0.5, 2.5, 0),
        (SelectionRule::ToleranceFirst, 0.5, 2.5, 2),
        (SelectionRule::ToleranceFirst, 0.5, 1.0, 0),
        (SelectionRule::Weighted, 0.1, 10.0, 3),
        // No tolerance at all: no sum is finite.
        (SelectionRule::Weighted, 0.0, 0.0, 0),
    ] {
        let tolerance = Tolerance { gain_db, gain_pct_of_setting: 0.0, phase_deg };
        let found = choose_by(rule, &targets, &tolerance, &cells, Complex64::ONE, &places);
        assert_eq!(found, Some(vec![expected]), "{rule:?} {tolerance:?}");
    }
    let none = choose_by(
        SelectionRule::Weighted,
        &targets,
        &Tolerance { gain_db: 1.0, gain_pct_of_setting: 0.0, phase_deg: 1.0 },
        &Cells::new(&[], &[]),
        Complex64::ONE,
        &[],
    );
    assert_eq!(none, None);
}
