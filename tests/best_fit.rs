//! The best fit against looking everywhere, against the definition followed turn by turn, and against the fixed references.

mod seeded;

use num_complex::Complex64;
use seeded::{Sequence, layout, part, words};
use sweepfold::control::{ControlModel, Layout, Quantity, Word};
use sweepfold::plane::{Anchor, PreparedTargets, ReferencePolicy, StateIndex};
use sweepfold::table::{BandFit, Cells, Finder, Fit, FitSums, best_fit, better_fit, fit_sums, starts};

/// A part at one frequency with all that a fit needs.
struct Plane {
    model: ControlModel,
    words: Vec<Word>,
    targets: PreparedTargets,
    transmission: Vec<Complex64>,
}

impl Plane {
    fn new(layout: Layout, transmission: Vec<Complex64>) -> Self {
        let words = words(&layout);
        let targets = PreparedTargets::new(layout.targets(), &StateIndex::new(&words));
        Self { model: ControlModel::Bits(layout), words, targets, transmission }
    }

    fn reference(&self, policy: ReferencePolicy) -> Complex64 {
        let anchor = policy.anchor(&self.model, &self.words, &self.transmission).expect("an anchor");
        anchor.reference(&self.model, &self.words, &self.transmission).expect("a reference")
    }

    fn starts(&self) -> Vec<Complex64> {
        let ring = self.reference(ReferencePolicy::RingMedian);
        let fixed =
            [ReferencePolicy::ZeroWord, ReferencePolicy::RingMedianEachFrequency, ReferencePolicy::FullRing];
        starts(&self.model, &fixed.map(|policy| self.reference(policy) / ring))
    }

    fn fit(&self) -> Fit {
        let cells = Cells::new(&self.transmission, &self.words);
        let ring = self.reference(ReferencePolicy::RingMedian);
        best_fit(&self.targets, &cells, ring, &self.starts()).expect("a fit")
    }

    /// The nearest states under a reference by the other search, and their RMS relative vector error.
    fn nearest(&self, finder: &Finder, reference: Complex64) -> (Vec<u32>, f64) {
        let wanted = self.targets.prepared.iter().zip(&self.targets.targets);
        let states: Vec<u32> = wanted
            .map(|(prepared, target)| {
                finder.nearest(prepared.gain * reference, target.nominal_word).expect("a state")
            })
            .collect();
        let squared = states.iter().zip(&self.targets.prepared).map(|(&state, target)| {
            ((self.transmission[state as usize] / reference - target.gain).norm() * target.inverse_magnitude)
                .powi(2)
        });
        let rms = (squared.sum::<f64>() / states.len() as f64).sqrt();
        (states, rms)
    }

    fn error_under(&self, reference: Complex64) -> f64 {
        self.nearest(&Finder::new(&self.transmission, &self.words), reference).1
    }

    /// The definition word for word: from every start, states and reference in turn until neither changes.
    fn turn_by_turn(&self) -> f64 {
        let finder = Finder::new(&self.transmission, &self.words);
        let ring = self.reference(ReferencePolicy::RingMedian);
        let clamp = |ratio: Complex64| {
            ratio * (ratio.norm().clamp(10_f64.powf(-0.3), 10_f64.powf(0.3)) / ratio.norm())
        };
        let mut smallest = f64::INFINITY;
        for start in self.starts() {
            let mut ratio = clamp(start);
            let (mut states, _) = self.nearest(&finder, ratio * ring);
            let error = loop {
                let (mut above, mut below) = (Complex64::ZERO, 0.0);
                for (&state, target) in states.iter().zip(&self.targets.prepared) {
                    let weight = target.gain.norm_sqr().recip();
                    above += weight * target.gain * self.transmission[state as usize].conj();
                    below += weight * self.transmission[state as usize].norm_sqr();
                }
                ratio = clamp((below / above) / ring);
                let before = std::mem::take(&mut states);
                let (after, error) = self.nearest(&finder, ratio * ring);
                if after == before {
                    break error;
                }
                states = after;
            };
            smallest = smallest.min(error);
        }
        smallest
    }
}

fn small_plane(seed: u64) -> Plane {
    let mut sequence = Sequence(seed);
    let layout = match seed % 4 {
        0 => layout(3, 2, 2.0),
        1 => layout(2, 3, 1.0),
        2 => layout(4, 0, 0.0),
        _ => layout(0, 4, 0.5),
    };
    let transmission = part(&layout, 1, 0.05, 0.03, &mut sequence).remove(0);
    Plane::new(layout, transmission)
}

/// The smallest error on a grid of 0.1 dB and 1° over all that is allowed: 6 dB to either side of the ring median, and a whole
/// turn. For codes that fill the circle with equal steps, turning by a step maps the targets onto themselves, so one step holds
/// all that a turn does.
fn smallest_of_all_allowed(plane: &Plane) -> f64 {
    let ring = plane.reference(ReferencePolicy::RingMedian);
    let finder = Finder::new(&plane.transmission, &plane.words);
    let turn_deg = plane.model.finest_step(Quantity::Phase).unwrap_or(360.0);
    let mut smallest = f64::INFINITY;
    for gain in -60..=60 {
        for phase in (0..360).take_while(|&phase| f64::from(phase) < turn_deg) {
            let ratio =
                Complex64::from_polar(10_f64.powf(f64::from(gain) / 200.0), f64::from(phase).to_radians());
            smallest = smallest.min(plane.nearest(&finder, ratio * ring).1);
        }
    }
    smallest
}

/// Small runs are followed turn by turn from every start, and a grid over everything allowed finds nothing better than what
/// that leads to.
///
/// No error lies below the grid's by more than that changes to the nearest grid point: half a cell's diagonal of the targets,
/// 0.05 dB and 0.5°, that is √(0.00576² + 0.00873²) = 0.01046 to first order.
#[test]
fn on_small_planes_it_is_what_looking_everywhere_finds() {
    for seed in 0..120 {
        let plane = small_plane(seed);
        let fit = plane.fit();
        let ring = plane.reference(ReferencePolicy::RingMedian);
        assert!((plane.error_under(fit.ratio * ring) - fit.rms_vector_error).abs() < 1e-12);
        assert!((fit.rms_vector_error - plane.turn_by_turn()).abs() < 1e-12, "{seed}");
        let smallest = smallest_of_all_allowed(&plane);
        assert!(smallest <= fit.rms_vector_error + 0.0107 * (1.0 + fit.rms_vector_error), "{seed}");
        assert!(
            fit.rms_vector_error <= smallest * (1.0 + 1e-12),
            "{seed}: {} {smallest}",
            fit.rms_vector_error
        );
    }
}

#[test]
fn on_dense_planes_it_is_what_the_definition_finds_turn_by_turn() {
    for seed in 0..12 {
        let mut sequence = Sequence(100 + seed);
        let layout = if seed % 3 == 0 { layout(6, 6, 0.5) } else { layout(6, 4, 0.5) };
        let transmission = part(&layout, 1, 0.02, 0.005 * (seed % 4) as f64, &mut sequence).remove(0);
        let plane = Plane::new(layout, transmission);
        let (fit, by_turns) = (plane.fit(), plane.turn_by_turn());
        assert!(fit.rms_vector_error <= by_turns * 1.0002, "{seed}: {} {by_turns}", fit.rms_vector_error);
    }
}

/// What is known ends the ways that lead to it; what is known and poor is bettered as far as by a search from nothing.
#[test]
fn other_starts_better_only_what_is_not_best_already() {
    let mut has_bettered = false;
    for (seed, layout) in (0_u64..).zip([layout(6, 4, 0.5), layout(6, 6, 0.5), layout(3, 3, 0.5)]) {
        let transmission = part(&layout, 1, 0.02, 0.01, &mut Sequence(400 + seed)).remove(0);
        let plane = Plane::new(layout, transmission);
        let cells = Cells::new(&plane.transmission, &plane.words);
        let ring = plane.reference(ReferencePolicy::RingMedian);
        let better =
            |known: Complex64, starts: &[Complex64]| better_fit(&plane.targets, &cells, ring, known, starts);
        let fit = plane.fit();
        let beside = [fit.ratio * Complex64::from_polar(1.0005, 0.0005), fit.ratio];
        let again = better(fit.ratio, &beside);
        assert!(
            again.is_none_or(|again| again.rms_vector_error <= fit.rms_vector_error),
            "{again:?} {fit:?}"
        );
        if plane.targets.len() > 800 {
            assert_eq!(better(fit.ratio, &[fit.ratio]), None);
        }
        let one_start = best_fit(&plane.targets, &cells, ring, &[Complex64::new(1.9, 0.0)]).expect("a fit");
        let bettered = better(one_start.ratio, &plane.starts());
        let lowest = bettered.map_or(f64::INFINITY, |fit| fit.rms_vector_error);
        assert!(
            lowest.min(one_start.rms_vector_error) <= fit.rms_vector_error * 1.005,
            "{bettered:?} {fit:?}"
        );
        has_bettered |= lowest < one_start.rms_vector_error;
    }
    assert!(has_bettered);
}

#[test]
fn no_fixed_reference_is_better() {
    for seed in 0..200 {
        let plane = if seed < 160 {
            small_plane(seed)
        } else {
            let layout = layout(6, 4, 0.5);
            let transmission = part(&layout, 1, 0.02, 0.01, &mut Sequence(seed)).remove(0);
            Plane::new(layout, transmission)
        };
        let fit = plane.fit();
        let fixed = [
            ReferencePolicy::ZeroWord,
            ReferencePolicy::RingMedian,
            ReferencePolicy::RingMedianEachFrequency,
            ReferencePolicy::FullRing,
            ReferencePolicy::Word(Word(3)),
        ];
        for policy in fixed {
            let error = plane.error_under(plane.reference(policy));
            assert!(
                fit.rms_vector_error <= error * (1.0 + 1e-12),
                "{seed} {policy:?}: {} {error}",
                fit.rms_vector_error
            );
        }
    }
}

/// One turn and scale is never worse than none, from which it sets out, also where the search begins on a share of the
/// targets.
#[test]
fn over_large_bands_the_ring_median_alone_is_not_better() {
    for seed in 0..4 {
        let mut sequence = Sequence(7 * seed + 3);
        let layout = if seed % 2 == 0 { layout(6, 4, 0.5) } else { layout(5, 6, 0.5) };
        let sweeps = part(&layout, 33, if seed % 4 < 2 { 0.02 } else { 0.1 }, 0.02, &mut sequence);
        let planes: Vec<Plane> =
            sweeps.into_iter().map(|states| Plane::new(layout.clone(), states)).collect();
        let centre = &planes[16];
        let anchor = ReferencePolicy::RingMedian.anchor(&centre.model, &centre.words, &centre.transmission);
        let anchor = anchor.expect("an anchor");
        let ring = |plane: &Plane| anchor.reference(&plane.model, &plane.words, &plane.transmission);
        let rings: Vec<Complex64> = planes.iter().map(|plane| ring(plane).expect("a reference")).collect();
        let zero = centre.reference(ReferencePolicy::ZeroWord) / rings[16];
        let fit = fit_band(&planes, &rings, &starts(&centre.model, &[zero]));
        let squared = planes.iter().zip(&rings).map(|(plane, &ring)| plane.error_under(ring).powi(2));
        let unturned = (squared.sum::<f64>() / planes.len() as f64).sqrt();
        assert!(
            fit.rms_vector_error <= unturned * (1.0 + 1e-12),
            "{seed}: {} {unturned}",
            fit.rms_vector_error
        );
    }
}

/// A common factor of all transmissions is a factor of the reference, and of nothing else.
#[test]
fn turning_and_scaling_every_transmission_changes_no_relative_result() {
    for seed in 0..40 {
        let plane = small_plane(seed);
        let factor = Complex64::from_polar(0.003 + seed as f64, 0.7 * seed as f64);
        let turned: Vec<Complex64> = plane.transmission.iter().map(|value| value * factor).collect();
        let turned = Plane::new(plane.model.layout().expect("a layout").clone(), turned);
        let (fit, again) = (plane.fit(), turned.fit());
        assert!((fit.rms_vector_error - again.rms_vector_error).abs() < 1e-12, "{seed}");
        assert!((fit.ratio - again.ratio).norm() < 1e-9, "{seed}");
        for policy in [
            ReferencePolicy::RingMedianEachFrequency,
            ReferencePolicy::FullRing,
            ReferencePolicy::Word(Word(1)),
        ] {
            let (before, after) = (plane.reference(policy), turned.reference(policy));
            assert!((after / before / factor - 1.0).norm() < 1e-12);
            let choose = |plane: &Plane, reference| {
                plane.nearest(&Finder::new(&plane.transmission, &plane.words), reference)
            };
            let (before, after) = (choose(&plane, before), choose(&turned, after));
            assert_eq!(before.0, after.0);
            assert!((before.1 - after.1).abs() < 1e-12);
        }
    }
}

/// An ideal part that is read 30° off and 1 dB weak: the fit takes both out and is nearest to the ring median, which here is
/// exactly right, though a turn by any whole phase step is as good.
#[test]
fn an_ideal_part_has_no_error_left() {
    let layout = layout(4, 3, 1.0);
    let ideal = |word: &Word| sweepfold::plane::target_gain(layout.nominal(*word));
    let factor = Complex64::from_polar(10_f64.powf(-0.05), 30_f64.to_radians());
    let transmission: Vec<Complex64> = words(&layout).iter().map(|word| factor * ideal(word)).collect();
    let plane = Plane::new(layout.clone(), transmission);
    let fit = plane.fit();
    assert!(fit.rms_vector_error < 1e-14 && (fit.ratio - 1.0).norm() < 1e-12, "{fit:?}");
}

/// Five states of one magnitude served by targets 20 dB below want a reference 20 dB up; it stops at 6 dB.
#[test]
fn the_reference_keeps_within_6_db() {
    let layout = layout(0, 1, 20.0);
    let plane = Plane::new(layout, vec![Complex64::new(0.5, 0.0), Complex64::new(0.5, 0.001)]);
    let cells = Cells::new(&plane.transmission, &plane.words);
    let far = PreparedTargets::new(plane.model.targets().split_off(1), &StateIndex::new(&plane.words));
    let ring = Complex64::new(0.5, 0.0);
    let fit = best_fit(&far, &cells, ring, &[Complex64::ONE]).expect("a fit");
    assert!((20.0 * fit.ratio.norm().log10() - 6.0).abs() < 1e-9, "{fit:?}");
    // Without states, starts or a reference there is nothing to fit.
    assert_eq!(best_fit(&far, &cells, ring, &[]), None);
    assert_eq!(best_fit(&far, &cells, Complex64::ZERO, &[Complex64::ONE]), None);
    assert_eq!(best_fit(&far, &Cells::new(&[], &[]), ring, &[Complex64::ONE]), None);
}

#[test]
fn of_fits_that_agree_the_one_nearest_the_ring_median_wins() {
    let fit = |degrees: f64, error: f64| Fit {
        ratio: Complex64::from_polar(1.0, degrees.to_radians()),
        rms_vector_error: error,
    };
    let fits = [fit(20.0, 0.03), fit(-10.0, 0.03 * (1.0 + 5e-10)), fit(1.0, 0.03 * (1.0 + 3e-9))];
    assert_eq!(Fit::best(&fits), Some(fits[1]));
    assert_eq!(Fit::best(&[]), None);
}

/// The search over a band in turn; how the frequencies are shared does not matter, since sums are added.
fn fit_band(planes: &[Plane], rings: &[Complex64], starts: &[Complex64]) -> Fit {
    let mut search = BandFit::new(starts, planes[0].targets.len(), planes.len());
    while let Some(asked) = search.asks() {
        let mut sums = vec![FitSums::default(); asked.ratios.len()];
        let all = planes.iter().zip(rings).enumerate();
        for (index, (plane, &ring)) in all.filter(|(index, _)| asked.are_at(*index)) {
            let cells = Cells::new(&plane.transmission, &plane.words);
            let here = fit_sums(&plane.targets, &cells, ring, index, &asked).expect("sums");
            sums = sums.iter().zip(&here).map(|(sums, here)| sums.and(here)).collect();
        }
        search.take(&sums);
    }
    search.fit().expect("a fit")
}

/// Small bands and one whose starts are compared on a share of the targets, against a grid over what the starts span, the
/// ring median and the zero word at the centre.
#[test]
fn one_turn_and_scale_for_a_band() {
    for seed in 0..30 {
        let mut sequence = Sequence(500 + seed);
        let (layout, points) = match seed % 3 {
            0 => (layout(3, 2, 2.0), 5),
            1 => (layout(0, 4, 0.5), 9),
            _ => (layout(6, 4, 0.5), 21),
        };
        let sweeps = part(&layout, points, 0.04, 0.02, &mut sequence);
        let planes: Vec<Plane> =
            sweeps.into_iter().map(|states| Plane::new(layout.clone(), states)).collect();
        let centre = &planes[points / 2];
        let anchor = ReferencePolicy::RingMedian.anchor(&centre.model, &centre.words, &centre.transmission);
        let anchor = anchor.expect("an anchor");
        let under = |anchor: &Anchor, plane: &Plane| {
            anchor.reference(&plane.model, &plane.words, &plane.transmission).expect("a reference")
        };
        let rings: Vec<Complex64> = planes.iter().map(|plane| under(&anchor, plane)).collect();
        let error_under = |references: &[Complex64]| {
            let squared = planes.iter().zip(references).map(|(plane, &at)| plane.error_under(at).powi(2));
            (squared.sum::<f64>() / planes.len() as f64).sqrt()
        };
        let zero = centre.reference(ReferencePolicy::ZeroWord) / rings[points / 2];
        let fit = fit_band(&planes, &rings, &starts(&centre.model, &[zero]));

        let Anchor::Word { word } = anchor else { panic!("the ring median is a word") };
        let turned = Anchor::Turned { word, scale: fit.ratio.inv() };
        let references: Vec<Complex64> = planes.iter().map(|plane| under(&turned, plane)).collect();
        assert!((error_under(&references) - fit.rms_vector_error).abs() < 1e-9, "{seed}");

        let ours = fit.rms_vector_error;
        let fixed =
            |ratio: Complex64| error_under(&rings.iter().map(|ring| ring * ratio).collect::<Vec<_>>());
        assert!(ours <= fixed(Complex64::ONE) && ours <= fixed(zero) * (1.0 + 1e-12), "{seed}");
        if layout.word_count() <= 32 {
            let step_deg = if layout.word_count() == 32 { 45.0 } else { 0.0 };
            let step_db: f64 = if layout.word_count() == 32 { 2.0 } else { 0.5 };
            let smallest = (0..=40)
                .flat_map(|gain| {
                    (0..=20).map(move |phase| (f64::from(gain - 20) / 10.0, f64::from(phase) / 20.0))
                })
                .map(|(gain, phase)| {
                    let gain_db = gain * step_db;
                    let turn = (0.75 * phase * step_deg).to_radians();
                    fixed(Complex64::from_polar(10_f64.powf(gain_db / 20.0), turn))
                })
                .fold(f64::INFINITY, f64::min);
            assert!(ours <= smallest * 1.01, "{seed}: {ours} {smallest}");
        }
    }
}
