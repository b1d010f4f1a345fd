//! The resolution map and holes against looking at every state for every target, and laws that must hold.

mod reach_and_signal;

use num_complex::Complex64;
use reach_and_signal::{Sequence, measured_part, two_fields};
use sweepfold::control::{ControlModel, Layout, Quantity, Setting, Word};
use sweepfold::plane::{Place, PreparedTargets, ReferencePolicy, StateError, StateIndex, Tolerance};
use sweepfold::reach::{CleanBits, EvenSteps, ResolutionMap, cell_corner, holes};
use sweepfold::table::choose;

fn words_of(layout: &Layout) -> Vec<Word> {
    (0..1 << layout.bits()).map(Word).collect()
}

/// Yield in percent by the definition: every target against every state, through the errors of the plane.
fn yield_by_looking_at_all(steps: &EvenSteps, bits: CleanBits, places: &[Place]) -> f64 {
    let gains = steps.values(Quantity::Gain, bits.gain).unwrap_or_else(|| vec![0.0]);
    let phases = steps.values(Quantity::Phase, bits.phase).unwrap_or_else(|| vec![0.0]);
    let tolerance = steps.tolerance(bits.phase, bits.gain);
    let serves = |place: &Place, setting: Setting| {
        let error = StateError::of(place.relative, setting);
        place.gain_db.is_finite()
            && Tolerance::holds(error.gain_db, tolerance.gain_db)
            && Tolerance::holds(error.phase_deg, tolerance.phase_deg)
    };
    let settings =
        gains.iter().flat_map(|&gain_db| phases.iter().map(move |&phase_deg| Setting { gain_db, phase_deg }));
    let served = settings.filter(|&setting| places.iter().any(|place| serves(place, setting))).count();
    100.0 * served as f64 / (gains.len() * phases.len()) as f64
}

fn all_pairs(map: &ResolutionMap) -> Vec<CleanBits> {
    let gains = 0..=map.gain_bits();
    (0..=map.phase_bits())
        .flat_map(|phase| gains.clone().map(move |gain| CleanBits { phase, gain }))
        .collect()
}

fn agrees_with_looking_at_all(name: &str, model: &ControlModel, places: &[Place]) {
    let steps = EvenSteps::new(model).expect("even steps");
    let map = ResolutionMap::new(&steps, places);
    for bits in all_pairs(&map) {
        let expected = yield_by_looking_at_all(&steps, bits, places);
        assert_eq!(map.yield_pct(bits), Some(expected), "{name}: {bits:?}");
        assert_eq!(map.is_clean(bits), expected == 100.0, "{name}: {bits:?}");
    }
}

#[test]
fn the_map_is_what_every_state_says() {
    let mut sequence = Sequence(11);
    for (phase, gain) in
        [((4, 22.5), (3, 1.0)), ((3, 22.5), (2, 0.5)), ((6, 5.6), (0, 1.0)), ((0, 1.0), (5, 0.5))]
    {
        let layout = two_fields(phase, gain);
        for off in [0.0, 0.02, 0.1, 0.3] {
            let mut states = measured_part(&layout, off, &mut sequence);
            states[1] = Complex64::ZERO;
            let places = Place::all(&states, Complex64::ONE);
            agrees_with_looking_at_all(&format!("{phase:?} {gain:?} {off}"), &layout.clone().into(), &places);
        }
        let scattered: Vec<Complex64> = (0..40).map(|_| sequence.point(1.0)).collect();
        let places = Place::all(&scattered, Complex64::ONE);
        agrees_with_looking_at_all(&format!("{phase:?} {gain:?} scattered"), &layout.clone().into(), &places);
    }
}

/// An ideal part serves all of its own settings and, since coarser targets are some of these, all coarser ones. States
/// half a step away from all targets are on the cells' edges, which are inclusive.
#[test]
fn an_ideal_part_is_clean_in_all_its_bits() {
    let layout = two_fields((6, 5.625), (6, 0.5));
    let model: ControlModel = layout.clone().into();
    let steps = EvenSteps::new(&model).expect("even steps");
    let ideal = measured_part(&layout, 0.0, &mut Sequence(1));
    let half_a_step = Complex64::from_polar(10_f64.powf(0.25 / 20.0), 2.8125_f64.to_radians());
    for reference in [Complex64::ONE, half_a_step, half_a_step.inv()] {
        let map = ResolutionMap::new(&steps, &Place::all(&ideal, reference));
        assert!(all_pairs(&map).into_iter().all(|bits| map.is_clean(bits)));
        assert_eq!(map.clean_bits(), Some(CleanBits { phase: 6, gain: 6 }));
    }
    // Beyond the edge the lowest or the highest gains are out of reach with all bits, and within it with fewer.
    let beyond = ResolutionMap::new(&steps, &Place::all(&ideal, half_a_step * 1.001));
    assert_eq!(beyond.yield_pct(CleanBits { phase: 6, gain: 6 }), Some(100.0 * 63.0 / 64.0));
    assert_eq!(beyond.clean_bits(), Some(CleanBits { phase: 6, gain: 5 }));
}

/// Two phase bits and one gain bit of 2 dB; by hand. States at 0, 92, 177, 274° and 0 dB, and at −2.9 dB those of 0 and
/// 177° only: all of p = 2, q = 0; of p = 1, q = 1 all; of p = 2, q = 1 the targets −2 dB at 90 and 270° are missed.
#[test]
fn a_map_worked_by_hand() {
    let layout = two_fields((2, 90.0), (1, 2.0));
    let steps = EvenSteps::new(&layout.into()).expect("even steps");
    let state = |gain_db: f64, phase_deg: f64| {
        Place::of(Complex64::from_polar(10_f64.powf(gain_db / 20.0), phase_deg.to_radians()))
    };
    let places = [
        state(0.0, 0.0),
        state(0.0, 92.0),
        state(0.0, 177.0),
        state(0.0, 274.0),
        state(-2.9, 0.0),
        state(-2.9, 177.0),
    ];
    let map = ResolutionMap::new(&steps, &places);
    let yields: Vec<Option<f64>> = all_pairs(&map).into_iter().map(|bits| map.yield_pct(bits)).collect();
    assert_eq!(yields, [100.0, 100.0, 100.0, 100.0, 100.0, 75.0].map(Some));
    // Two bits either way: the tie goes to the phase.
    assert_eq!(map.clean_bits(), Some(CleanBits { phase: 2, gain: 0 }));
    assert_eq!(map.yield_pct(CleanBits { phase: 3, gain: 0 }), None);
    assert_eq!(map.yield_pct(CleanBits { phase: 0, gain: 2 }), None);
    // Without the strong states nothing is within 1 dB of 0 dB; with one bit less the tolerance is 2 dB.
    assert_eq!(ResolutionMap::new(&steps, &places[4..]).clean_bits(), None);
    assert_eq!(ResolutionMap::new(&steps, &[]).clean_bits(), None);
}

/// What is measured through another cable, longer and lossier, is the same part.
#[test]
fn turning_and_scaling_every_transmission_changes_nothing() {
    let mut sequence = Sequence(12);
    let layout = two_fields((5, 11.25), (4, 1.0));
    let (model, words): (ControlModel, _) = (layout.clone().into(), words_of(&layout));
    let steps = EvenSteps::new(&model).expect("even steps");
    let targets = PreparedTargets::new(model.targets(), &StateIndex::new(&words));
    let tolerance = steps.tolerance(5, 4);
    for off in [0.02, 0.06, 0.15] {
        let states = measured_part(&layout, off, &mut sequence);
        let seen = |factor: Complex64| {
            let states: Vec<Complex64> = states.iter().map(|state| state * factor).collect();
            let anchor = ReferencePolicy::FullRing.anchor(&model, &words, &states).expect("an anchor");
            let reference = anchor.reference(&model, &words, &states).expect("a reference");
            let places = Place::all(&states, reference);
            let relative: Vec<Complex64> = places.iter().map(|place| place.relative).collect();
            let nearest = choose(&targets, &relative, &words);
            let found: Vec<usize> =
                holes(&targets, &places, &nearest, &tolerance).iter().map(|hole| hole.target).collect();
            (ResolutionMap::new(&steps, &places), found)
        };
        let plain = seen(Complex64::ONE);
        for factor in [Complex64::new(0.02, -0.3), Complex64::new(-7.0, 4.0), Complex64::I] {
            assert_eq!(seen(factor), plain, "{off} {factor}");
        }
    }
}

/// The definition once more: no state at all within the corner of the cell.
#[test]
fn holes_are_where_no_state_is() {
    let mut sequence = Sequence(13);
    let layout = two_fields((5, 11.25), (4, 1.0));
    let words = words_of(&layout);
    let targets = PreparedTargets::new(layout.targets(), &StateIndex::new(&words));
    let tolerance = Tolerance { gain_db: 0.3, gain_pct_of_setting: 2.0, phase_deg: 4.0 };
    let mut counts = Vec::new();
    for off in [0.0, 0.05, 0.2] {
        let states = measured_part(&layout, off, &mut sequence);
        let places = Place::all(&states, Complex64::ONE);
        let nearest = choose(&targets, &states, &words);
        let found: Vec<usize> =
            holes(&targets, &places, &nearest, &tolerance).iter().map(|hole| hole.target).collect();
        let is_hole = |target: &usize| {
            let wanted = targets.targets[*target].setting;
            let corner = cell_corner(&tolerance, wanted.gain_db);
            states.iter().all(|&state| StateError::of(state, wanted).vector > corner * (1.0 + 1e-9))
        };
        assert_eq!(found, (0..targets.len()).filter(is_hole).collect::<Vec<_>>(), "{off}");
        counts.push(found.len());
    }
    assert!(counts[0] == 0 && counts[2] > 20, "{counts:?}");
}
