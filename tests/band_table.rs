//! One table for a band and the fewest tables, against trying every word and every cut.

mod seeded;

use num_complex::Complex64;
use seeded::{Sequence, layout, part, words};
use sweepfold::control::{ControlModel, Layout, Word};
use sweepfold::plane::{PreparedTargets, ReferencePolicy, StateIndex};
use sweepfold::table::{
    AtFrequency, BandError, BandTable, Bounds, Candidates, Cells, FewestTables, OutOfReach, band_table,
    choose_under,
};

struct Band {
    words: Vec<Word>,
    targets: PreparedTargets,
    sweeps: Vec<Vec<Complex64>>,
    references: Vec<Complex64>,
}

impl Band {
    fn new(layout: &Layout, sweeps: Vec<Vec<Complex64>>) -> Self {
        let words = words(layout);
        let targets = PreparedTargets::new(layout.targets(), &StateIndex::new(&words));
        let model = ControlModel::Bits(layout.clone());
        let anchor =
            ReferencePolicy::RingMedian.anchor(&model, &words, &sweeps[sweeps.len() / 2]).expect("an anchor");
        let reference =
            |states: &Vec<Complex64>| anchor.reference(&model, &words, states).expect("a reference");
        let references = sweeps.iter().map(reference).collect();
        Self { words, targets, sweeps, references }
    }

    fn at(&self) -> Vec<AtFrequency<'_>> {
        let all = self.sweeps.iter().zip(&self.references);
        all.map(|(transmission, &reference)| AtFrequency { transmission, reference }).collect()
    }

    fn chosen(&self, point: usize) -> Vec<u32> {
        choose_under(
            &self.targets,
            &Cells::new(&self.sweeps[point], &self.words),
            self.references[point],
            &[],
        )
    }

    /// ε of a state against a target at a frequency, by its definition |T/R − z|/|z|.
    fn error(&self, point: usize, target: usize, state: usize) -> f64 {
        let wanted = self.targets.prepared[target].gain;
        let error = (self.sweeps[point][state] / self.references[point] - wanted).norm() / wanted.norm();
        if error.is_nan() { f64::INFINITY } else { error }
    }

    fn over(
        &self,
        kind: BandError,
        points: impl ExactSizeIterator<Item = usize>,
        target: usize,
        state: usize,
    ) -> f64 {
        let count = points.len() as f64;
        let errors = points.map(|point| self.error(point, target, state));
        match kind {
            BandError::Worst => errors.fold(0.0, f64::max),
            BandError::Rms => (errors.map(|error| error * error).sum::<f64>() / count).sqrt(),
        }
    }

    /// As so many workers would, each with its share of the frequencies.
    fn table(&self, kind: BandError, workers: usize, proposals: &[Vec<u32>]) -> BandTable {
        let at = self.at();
        let shares: Vec<&[AtFrequency]> = at.chunks(at.len().div_ceil(workers)).collect();
        let bounds: Vec<Bounds> = shares
            .iter()
            .map(|share| Bounds::of(kind, &self.targets, &self.words, share, proposals).expect("bounds"))
            .collect();
        let band = bounds.iter().skip(1).fold(bounds[0].clone(), |joined, own| joined.and(own));
        let listed: Vec<Candidates> = shares
            .iter()
            .zip(&bounds)
            .map(|(share, own)| Candidates::of(kind, &self.targets, &self.words, share, &band.limits(own)))
            .collect();
        let all = listed.iter().skip(1).fold(listed[0].clone(), |joined, own| joined.and(own));
        band_table(&self.targets, &self.words, &band, &all).expect("a table")
    }
}

fn bands() -> impl Iterator<Item = (u64, Band)> {
    (0..40).map(|seed| {
        let mut sequence = Sequence(900 + seed);
        let (layout, points) = match seed % 5 {
            0 => (layout(3, 2, 2.0), 7),
            1 => (layout(2, 3, 1.0), 12),
            2 => (layout(0, 4, 0.5), 9),
            3 => (layout(5, 0, 0.0), 5),
            _ => (layout(4, 4, 0.5), 6),
        };
        // Scattered from nearly ideal to worse than useless.
        let scatter = [0.01, 0.05, 0.3, 2.0][(seed / 5 % 4) as usize];
        let mut band = Band::new(&layout, part(&layout, points, 0.05, scatter, &mut sequence));
        if seed % 7 == 0 {
            band.sweeps[1][2] = Complex64::new(f64::NAN, 0.0);
            band.sweeps[0][1] = Complex64::ZERO;
        }
        (seed, band)
    })
}

#[test]
fn one_table_is_the_best_of_all_words_however_the_band_is_shared() {
    for (seed, band) in bands() {
        let points = band.sweeps.len();
        let few = [band.chosen(points / 2)];
        let more = [band.chosen(0), band.chosen(points - 1), band.chosen(points / 2)];
        for kind in [BandError::Worst, BandError::Rms] {
            let table = band.table(kind, 1, &more);
            for target in 0..band.targets.len() {
                let error = |state: usize| band.over(kind, 0..points, target, state);
                let usable = (0..band.words.len()).filter(|&state| error(state).is_finite());
                let best = usable.min_by(|&a, &b| error(a).total_cmp(&error(b))).expect("a state");
                assert_eq!(table.states[target] as usize, best, "{seed} {kind:?} {target}");
                assert!((table.errors[target] - error(best)).abs() < 1e-12 * (1.0 + error(best)));
                let nearest = |point: usize| {
                    let errors = (0..band.words.len()).map(|state| band.error(point, target, state));
                    errors.fold(f64::INFINITY, f64::min)
                };
                let per_frequency = match kind {
                    BandError::Worst => (0..points).map(nearest).fold(0.0, f64::max),
                    BandError::Rms => {
                        ((0..points).map(|p| nearest(p).powi(2)).sum::<f64>() / points as f64).sqrt()
                    }
                };
                assert!((table.per_frequency[target] - per_frequency).abs() < 1e-12, "{seed}");
            }
            for workers in [2, 3, points] {
                let shared = band.table(kind, workers, &few);
                assert_eq!(shared.states, table.states, "{seed} {kind:?} {workers}");
                let off = |(a, b): (&f64, &f64)| (a - b).abs() / (1.0 + b);
                assert!(shared.errors.iter().zip(&table.errors).map(off).all(|off| off < 1e-12));
            }
        }
    }
}

/// Two targets of errors 3 and 4 against 0 and 2 of a table per frequency: the largest are 4 and 2, the root mean squares
/// √12.5 and √2; by hand.
#[test]
fn the_penalty_stands_beside_a_table_per_frequency() {
    let table = BandTable { states: vec![0, 1], errors: vec![3.0, 4.0], per_frequency: vec![0.0, 2.0] };
    assert_eq!(table.penalty(BandError::Worst), Some((4.0, 2.0)));
    let (one, many) = table.penalty(BandError::Rms).expect("a penalty");
    assert!((one - 12.5_f64.sqrt()).abs() < 1e-15 && (many - 2_f64.sqrt()).abs() < 1e-15);
    let none = BandTable { states: vec![], errors: vec![], per_frequency: vec![] };
    assert_eq!(none.penalty(BandError::Worst), None);
}

/// Three states at one place: fewer bits changed, then the lower word, as in a mapping at one frequency.
#[test]
fn ties_over_a_band_are_settled_as_at_one_frequency() {
    let layout = layout(2, 0, 0.0);
    let same = Complex64::new(0.9, 0.1);
    let far = Complex64::new(-5.0, 0.0);
    let band = Band {
        words: words(&layout),
        targets: PreparedTargets::new(layout.targets(), &StateIndex::new(&words(&layout))),
        sweeps: vec![vec![far, same, same, same]; 3],
        references: vec![Complex64::ONE; 3],
    };
    for kind in [BandError::Worst, BandError::Rms] {
        // Nominal words 0, 1, 2, 3: from 0 both 1 and 2 change one bit.
        assert_eq!(band.table(kind, 2, &[vec![3; 4]]).states, [1, 1, 2, 3]);
    }
    assert_eq!(
        Bounds::of(
            BandError::Worst,
            &band.targets,
            &[],
            &[AtFrequency { transmission: &[], reference: Complex64::ONE }],
            &[]
        ),
        None
    );
}

/// The fewest pieces by trying every place of the last cut, from the definition; `None` where a frequency fails alone.
fn fewest_by_trying(band: &Band, limit: f64) -> Option<usize> {
    let points = band.sweeps.len();
    let good = |from: usize, to: usize| {
        (0..band.targets.len()).all(|target| {
            (0..band.words.len()).any(|state| {
                (from..=to).all(|point| band.error(point, target, state) <= limit * (1.0 + 1e-9))
            })
        })
    };
    let mut fewest: Vec<Option<usize>> = vec![Some(0)];
    for to in 0..points {
        let with_last = (0..=to).filter(|&from| good(from, to)).filter_map(|from| fewest[from]);
        fewest.push(with_last.min().map(|pieces| pieces + 1));
    }
    fewest[points]
}

#[test]
fn the_fewest_tables_are_the_fewest_of_all_cuts() {
    let (mut cut, mut failed) = (0, 0);
    for (seed, band) in bands() {
        // From where a frequency alone just keeps it.
        let table = band.table(BandError::Worst, 1, &[band.chosen(0)]);
        let least = table.per_frequency.iter().copied().fold(0.0, f64::max);
        for limit in [0.9, 1.0, 1.03, 1.1, 1.2, 1.4, 1.8].map(|factor| factor * least) {
            let mut search = FewestTables::new(limit, 10);
            let mut outcome = Ok(());
            for at in band.at() {
                outcome = outcome.and_then(|()| search.take(&band.targets, &band.words, &at));
                // Handed on as workers do.
                let text = serde_json::to_string(&search).expect("a text");
                search = serde_json::from_str(&text).expect("the same");
            }
            let expected = fewest_by_trying(&band, limit);
            if let Err(OutOfReach { frequency, targets }) = outcome {
                failed += 1;
                assert_eq!(expected, None, "{seed} {limit}");
                for target in 0..band.targets.len() {
                    let reached =
                        (0..band.words.len()).any(|state| band.error(frequency - 10, target, state) <= limit);
                    assert_eq!(reached, !targets.contains(&target));
                }
                continue;
            }
            let pieces = search.pieces(&band.targets, &band.words);
            assert_eq!(Some(pieces.len()), expected, "{seed} {limit}");
            cut += usize::from(pieces.len() > 1);
            let mut next = 10;
            for piece in &pieces {
                assert_eq!(*piece.frequencies.start(), next);
                next = piece.frequencies.end() + 1;
                for target in 0..band.targets.len() {
                    let points = *piece.frequencies.start() - 10..next - 10;
                    let worst = |state: usize| band.over(BandError::Worst, points.clone(), target, state);
                    let best = (0..band.words.len()).map(worst).fold(f64::INFINITY, f64::min);
                    let found = worst(piece.states[target] as usize);
                    assert!((found - best).abs() < 1e-12 && (piece.errors[target] - best).abs() < 1e-12);
                    assert!(found <= limit * (1.0 + 2e-9));
                }
            }
            assert_eq!(next, 10 + band.sweeps.len());
        }
    }
    assert!(cut > 20 && failed > 20, "{cut} {failed}");
}
