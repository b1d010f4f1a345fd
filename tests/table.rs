//! The nearest state against looking at every state, and ideal parts against what is known of them.

use num_complex::Complex64;
use std::collections::HashSet;
use sweepfold::control::{Direction, Field, Layout, Quantity, Setting, Target, Word};
use sweepfold::plane::{Place, PreparedTargets, StateError, StateIndex, target_gain};
use sweepfold::table::{Cells, Finder, Spot, choose, errors_of_states};

/// A fixed sequence of even numbers in 0..1 (the 64-bit linear congruence of Knuth's MMIX).
struct Sequence(u64);

impl Sequence {
    fn step(&mut self) {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
    }

    fn next(&mut self) -> f64 {
        self.step();
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }

    fn below(&mut self, limit: u32) -> u32 {
        self.step();
        u32::try_from(self.0 >> 32).expect("32 bits") % limit
    }

    fn point(&mut self, size: f64) -> Complex64 {
        Complex64::new(size * (2.0 * self.next() - 1.0), size * (2.0 * self.next() - 1.0))
    }
}

/// The rule word for word: of all states whose squared distance agrees with the smallest to 1e-12 of the larger,
/// fewest bits changed, then the lowest word.
fn by_looking_at_all(relative: &[Complex64], words: &[Word], target: Complex64, nominal_word: Word) -> u32 {
    let squared: Vec<f64> = relative.iter().map(|state| (state - target).norm_sqr()).collect();
    let smallest = squared.iter().copied().fold(f64::INFINITY, f64::min);
    (0_u32..)
        .zip(words)
        .zip(&squared)
        .filter(|(_, squared)| **squared - smallest <= 1e-12 * **squared)
        .min_by_key(|((_, word), _)| ((word.0 ^ nominal_word.0).count_ones(), **word))
        .map(|((state, _), _)| state)
        .expect("a state")
}

fn agree(name: &str, relative: &[Complex64], targets: &[Complex64], sequence: &mut Sequence) {
    let mut words: Vec<Word> = (0_u32..).zip(relative).map(|(word, _)| Word(word * 3 % 4099)).collect();
    words.sort_unstable();
    let (finder, cells) = (Finder::new(relative, &words), Cells::new(relative, &words));
    let mut before = None;
    for &target in targets {
        let nominal_word = Word(sequence.below(4096));
        let expected = by_looking_at_all(relative, &words, target, nominal_word);
        assert_eq!(finder.nearest(target, nominal_word), Some(expected), "{name}: {target}");
        if target.norm() > 0.0 {
            for beside in [None, before] {
                let found = cells.nearest(&Spot::of(target), Some(nominal_word), beside);
                assert_eq!(found, Some(expected), "{name}: {target} beside {beside:?}");
            }
        }
        before = Some(expected);
    }
}

#[test]
fn the_nearest_state_is_the_nearest_state() {
    let mut sequence = Sequence(1);
    for count in [1, 2, 3, 10, 63, 64, 65, 500, 1500] {
        let even: Vec<Complex64> = (0..count).map(|_| sequence.point(1.0)).collect();
        let clustered: Vec<Complex64> = (0..count)
            .map(|_| Complex64::from_polar(10_f64.powf(-4.0 * sequence.next()), 6.3 * sequence.next()))
            .collect();
        let mut far_out = clustered.clone();
        far_out[0] = Complex64::new(1e9, -1e7);
        let mut with_gaps = even.clone();
        with_gaps.push(Complex64::new(f64::NAN, 0.0));
        let near: Vec<Complex64> = (0..300).map(|_| sequence.point(1.2)).collect();
        let small: Vec<Complex64> = (0..300).map(|_| sequence.point(1e-3)).collect();
        let outside: Vec<Complex64> = (0..300).map(|_| sequence.point(1e4)).collect();
        for targets in [&near, &small, &outside] {
            agree("even", &even, targets, &mut sequence);
            agree("clustered", &clustered, targets, &mut sequence);
            agree("far out", &far_out, targets, &mut sequence);
            let words: Vec<Word> = (0..=count).map(Word).collect();
            let finder = Finder::new(&with_gaps, &words);
            assert!(targets.iter().all(|&target| finder.nearest(target, Word(0)).is_some_and(|s| s < count)));
        }
    }
}

/// Points on a lattice of halves with targets between them: two- and fourfold ties that are exact in doubles, and
/// the same state several times over.
#[test]
fn exact_ties_go_to_fewer_bits_changed_then_the_lower_word() {
    let mut sequence = Sequence(2);
    for repeats in [1, 2, 5] {
        let mut lattice: Vec<Complex64> = (0..144 * repeats)
            .map(|index| Complex64::new(f64::from(index % 12) * 0.5, f64::from(index / 12 % 12) * 0.5))
            .collect();
        for (index, limit) in (1..lattice.len()).zip(1..) {
            lattice.swap(index, sequence.below(limit + 1) as usize);
        }
        let targets: Vec<Complex64> = (0..1000)
            .map(|_| Complex64::new(f64::from(sequence.below(30)), f64::from(sequence.below(30))) * 0.25)
            .collect();
        agree("lattice", &lattice, &targets, &mut sequence);
    }
    for line in [Complex64::ONE, Complex64::I, Complex64::ZERO] {
        let states: Vec<Complex64> = (0..400).map(|_| line * f64::from(sequence.below(50))).collect();
        let targets: Vec<Complex64> = (0..200).map(|_| line * f64::from(sequence.below(120)) * 0.5).collect();
        agree("line", &states, &targets, &mut sequence);
    }
}

/// Ties a little inside and outside of 1e-12 of the larger squared distance.
#[test]
fn the_tie_is_as_wide_as_it_says() {
    let words = [Word(0b011), Word(0b100)];
    let target = Complex64::ZERO;
    // Squared distances 1 and (1 + e)² ≈ 1 + 2e; the second word changes fewer bits from 0.
    for (e, expected) in [(0.0, 1), (4e-13, 1), (-4e-13, 1), (6e-13, 0), (-6e-13, 1)] {
        let relative = [Complex64::ONE, Complex64::new(0.0, 1.0 + e)];
        assert_eq!(Finder::new(&relative, &words).nearest(target, Word(0)), Some(expected), "{e}");
    }
}

#[test]
fn without_states_nothing_is_nearest() {
    assert_eq!(Finder::new(&[], &[]).nearest(Complex64::ONE, Word(0)), None);
}

/// The square of such a distance is no number that could be compared: nothing is nearest, and the search ends.
#[test]
fn states_farther_than_squares_reach_serve_nothing() {
    let (layout, words, _) = ideal(2, 2);
    let targets = PreparedTargets::new(layout.targets(), &StateIndex::new(&words));
    let far = vec![Complex64::new(1e200, 0.0); words.len()];
    assert_eq!(choose(&targets, &far, &words), Vec::<u32>::new());
}

fn ideal(gain_bits: u8, phase_bits: u8) -> (Layout, Vec<Word>, Vec<Complex64>) {
    let phase_step = 360.0 / f64::from(1_u32 << phase_bits);
    let layout = Layout {
        fields: vec![
            Field::contiguous(Quantity::Phase, 0, phase_bits, phase_step, Direction::Down),
            Field::contiguous(Quantity::Gain, phase_bits, gain_bits, 0.5, Direction::Down),
        ],
    };
    let words: Vec<Word> = (0..1 << layout.bits()).map(Word).collect();
    let relative = words.iter().map(|&word| target_gain(layout.nominal(word))).collect();
    (layout, words, relative)
}

fn targets(settings: impl IntoIterator<Item = Setting>) -> PreparedTargets {
    let target = |setting| Target { setting, nominal_word: Some(Word(0)) };
    PreparedTargets::new(settings.into_iter().map(target).collect(), &StateIndex::new(&[]))
}

fn errors(wanted: &PreparedTargets, words: &[Word], relative: &[Complex64]) -> Vec<StateError> {
    let states = choose(wanted, relative, words);
    let places: Vec<Place> = relative.iter().map(|&state| Place::of(state)).collect();
    errors_of_states(wanted, &places, &states).into_iter().flatten().collect()
}

fn rms(values: impl ExactSizeIterator<Item = f64>) -> f64 {
    let count = values.len() as f64;
    (values.map(|value| value * value).sum::<f64>() / count).sqrt()
}

/// An ideal part serves its own settings with its own words, exactly.
#[test]
fn an_ideal_part_chooses_its_nominal_words() {
    let (layout, words, relative) = ideal(5, 7);
    let wanted = PreparedTargets::new(layout.targets(), &StateIndex::new(&words));
    let chosen: Vec<Option<u32>> = choose(&wanted, &relative, &words).into_iter().map(Some).collect();
    assert_eq!(chosen, wanted.nominal_state);
}

/// Ten targets per step, in the middle of their cells: step·√((1 − 1/10²)/12) = 0.287228 steps. On a grid that holds
/// the states and the midpoints between them: step·√((1 + 2/10²)/12) = 0.291548 steps. Sums of squares by hand.
#[test]
fn a_finite_grid_of_targets_has_its_known_error() {
    let (_, words, relative) = ideal(1, 6);
    for (offset, expected) in [(0.5, 0.287_228), (0.0, 0.291_548)] {
        let wanted =
            targets((0..640).map(|index| Setting {
                gain_db: 0.0,
                phase_deg: 5.625 * (f64::from(index) + offset) / 10.0,
            }));
        let found = rms(errors(&wanted, &words, &relative).iter().map(|error| error.phase_deg)) / 5.625;
        assert!((found - expected).abs() < 1e-6, "{found}");
    }
}

/// 6 + 6 ideal bits (5.625°, 0.5 dB) against targets all over the plane. Step/√12 in both gives 3.285317 % in the
/// small-error formula. Rounding to the nearest code in dB and degrees errs 3.283 % by a simulation outside this code,
/// and at most |g·e^(jp) − 1| of the cell's corner, 0.25 dB and 2.8125°: 5.77244 %. The nearest state does no worse;
/// its largest error is where two rings are equally far: t = (1 + r)/(2·cos 2.8125°) with r one step down and the
/// error √(1 + t² − 2t·cos 2.8125°)/t = 5.686 %, by hand.
#[test]
fn an_ideal_part_serves_a_continuum_within_its_cell() {
    let (_, words, relative) = ideal(6, 6);
    let settings: Vec<Setting> = (0..200)
        .flat_map(|gain| {
            (0..200).map(move |phase| Setting {
                gain_db: -3.75 - 0.5 * (f64::from(gain) + 0.5) / 200.0,
                phase_deg: 5.625 * ((f64::from(phase) + 0.5) / 200.0 - 0.5),
            })
        })
        .collect();
    let largest = |errors: &[f64]| errors.iter().copied().fold(0.0, f64::max);

    let rounded: Vec<f64> = settings
        .iter()
        .map(|&setting| {
            let code = Setting { gain_db: -4.0, phase_deg: 0.0 };
            100.0 * StateError::of(target_gain(code), setting).vector
        })
        .collect();
    assert!((largest(&rounded) - 5.772_44).abs() < 0.06, "{}", largest(&rounded));
    let rounded_rms = rms(rounded.into_iter());
    assert!((rounded_rms - 3.283).abs() < 0.003, "{rounded_rms}");

    let nearest: Vec<f64> =
        errors(&targets(settings), &words, &relative).iter().map(|error| 100.0 * error.vector).collect();
    assert!((5.686 - largest(&nearest)).abs() < 0.06, "{}", largest(&nearest));
    let nearest_rms = rms(nearest.into_iter());
    assert!(nearest_rms <= rounded_rms && nearest_rms > 3.27, "{nearest_rms}");

    let small_error_formula =
        100.0 * (0.144_337_6 * std::f64::consts::LN_10 / 20.0).hypot(1.623_798_f64.to_radians());
    assert!((small_error_formula - 3.285_317).abs() < 5e-6);
}

/// Square constellations with their corner at 0 dB, each point the nearest state of 6 + 6 ideal bits, no scaling; the
/// error over the constellation's own mean power. Values computed outside this code, by another nearest-neighbour
/// search.
#[test]
fn an_ideal_part_as_a_modulator() {
    let (_, words, relative) = ideal(6, 6);
    let finder = Finder::new(&relative, &words);
    for (side, expected, distinct) in
        [(4, 1.981_420, None), (8, 3.380_061, None), (16, 3.114_765, None), (32, 3.327_297, Some(840))]
    {
        let level = |index: i32| f64::from(2 * index + 1 - side) / f64::from(side - 1) / 2_f64.sqrt();
        let (mut error, mut power, mut used) = (0.0, 0.0, HashSet::new());
        for point in (0..side).flat_map(|i| (0..side).map(move |q| Complex64::new(level(i), level(q)))) {
            let state = finder.nearest(point, Word(0)).expect("a state");
            error += (relative[state as usize] - point).norm_sqr();
            power += point.norm_sqr();
            used.insert(state);
        }
        let found = 100.0 * (error / power).sqrt();
        assert!((found - expected).abs() < 1e-6, "{side}: {found}");
        assert!(distinct.is_none_or(|distinct| distinct == used.len()), "{side}: {}", used.len());
    }
}
