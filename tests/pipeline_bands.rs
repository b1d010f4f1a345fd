//! Tables for the design band, from files to the report: against trying every word and every cut.

mod folder;
mod seeded;

use folder::{Folder, report};
use num_complex::Complex64;
use seeded::{Sequence, layout, part};
use std::fmt::Write;
use std::ops::RangeInclusive;
use sweepfold::control::{Layout, Target};
use sweepfold::pipeline::protocol::Request;
use sweepfold::pipeline::{
    Along, BandError, Conductor, HeldError, Report, Settings, Share, TableForPiece, TablesRequest, in_turn,
};
use sweepfold::plane::{ReferencePolicy, StateError, target_gain};

const POINTS: usize = 9;

/// By frequency, then by word.
type Sweeps = Vec<Vec<Complex64>>;

fn of_part() -> Layout {
    layout(3, 2, 0.5)
}

/// A part whose states wander along its nine frequencies, 8 to 12 GHz.
fn sweeps(seed: u64) -> Sweeps {
    part(&of_part(), POINTS, 0.05, 0.25, &mut Sequence(seed))
}

fn files(sweeps: &Sweeps) -> Folder {
    let file = |folder: Folder, word: usize| {
        let mut text = "# GHz S RI R 50\n".to_owned();
        for (point, states) in sweeps.iter().enumerate() {
            let (ghz, s) = (8.0 + 0.5 * point as f64, states[word]);
            writeln!(text, "{ghz} 0.1 0 {} {} {} {} 0.1 0", s.re, s.im, s.re, s.im).expect("room");
        }
        folder.with(&format!("unit_{word:02}.s2p"), text)
    };
    (0..sweeps[0].len()).fold(Folder::default(), file)
}

fn settings() -> Settings {
    Settings { layout: Some(of_part()), ..Settings::default() }
}

/// Relative vector error with the zero word as reference, from the definition.
fn vector_error(sweeps: &Sweeps, point: usize, target: &Target, state: usize) -> f64 {
    let z = target_gain(target.setting);
    (sweeps[point][state] / sweeps[point][0] - z).norm() / z.norm()
}

fn over(
    sweeps: &Sweeps,
    points: RangeInclusive<usize>,
    kind: BandError,
    target: &Target,
    state: usize,
) -> f64 {
    let count = points.clone().count() as f64;
    let errors = points.map(|point| vector_error(sweeps, point, target, state));
    match kind {
        BandError::Worst => errors.fold(0.0, f64::max),
        BandError::Rms => (errors.map(|error| error * error).sum::<f64>() / count).sqrt(),
    }
}

/// The smallest error that any state has.
fn least(sweeps: &Sweeps, points: &RangeInclusive<usize>, kind: BandError, target: &Target) -> f64 {
    let states = 0..sweeps[0].len();
    states.map(|state| over(sweeps, points.clone(), kind, target, state)).fold(f64::INFINITY, f64::min)
}

fn near(a: f64, b: f64) {
    assert!((a - b).abs() < 1e-12 * (1.0 + b.abs()), "{a} is not {b}");
}

/// What a word does along some frequencies, from the definitions.
fn check_along(sweeps: &Sweeps, points: &RangeInclusive<usize>, target: &Target, state: u32, along: &Along) {
    let at = |point: usize| {
        let transmission = sweeps[point][state as usize];
        (StateError::of(transmission / sweeps[point][0], target.setting), 20.0 * transmission.norm().log10())
    };
    let largest = |value: fn(&StateError) -> f64| {
        points.clone().map(|point| value(&at(point).0).abs()).fold(0.0, f64::max)
    };
    assert!((along.gain_error_db.abs() - largest(|error| error.gain_db)).abs() < 1e-9);
    assert!((along.phase_error_deg.abs() - largest(|error| error.phase_deg)).abs() < 1e-9);
    let highest = points.clone().map(|point| at(point).1).fold(f64::NEG_INFINITY, f64::max);
    near(along.transmission_db, highest);
    near(at(along.transmission_index).1, highest);
}

#[test]
fn one_table_is_the_best_of_all_words_whatever_the_number_of_workers() {
    for (seed, kind) in [(1, BandError::Worst), (2, BandError::Rms)] {
        let sweeps = sweeps(seed);
        let folder = files(&sweeps);
        // 8.5 to 11.5 GHz: the band is not the whole grid.
        let band = Some((8.5e9, 11.5e9));
        let settings = Settings { band_error: kind, design_band_hz: band, ..settings() };
        let reports: Vec<Report> =
            [1, 2, 3, 9].map(|workers| report(&folder, settings.clone(), workers)).into();
        let targets = of_part().targets();
        let first = reports[0].tables.band.as_ref().expect("a table");
        assert_eq!((first.band.clone(), first.error), (1..=7, kind));
        for (index, target) in targets.iter().enumerate() {
            let state = first.table.states[index];
            near(first.table.errors[index], least(&sweeps, &first.band, kind, target));
            near(over(&sweeps, first.band.clone(), kind, target, state as usize), first.table.errors[index]);
            let squares = first.band.clone().map(|p| least(&sweeps, &(p..=p), kind, target).powi(2));
            let per_frequency = match kind {
                BandError::Worst => squares.fold(0.0, f64::max),
                BandError::Rms => squares.sum::<f64>() / 7.0,
            };
            near(first.table.per_frequency[index], per_frequency.sqrt());
            check_along(&sweeps, &first.band, target, state, &first.along[index]);
        }
        for report in &reports[1..] {
            let other = report.tables.band.as_ref().expect("a table");
            assert_eq!((&other.table.states, &other.along), (&first.table.states, &first.along));
            other.table.errors.iter().zip(&first.table.errors).for_each(|(a, b)| near(*a, *b));
            assert_eq!(report.tables.fewest, reports[0].tables.fewest);
        }
    }
}

/// The fewest pieces by trying every place of the last cut.
fn fewest_by_trying(sweeps: &Sweeps, limit: f64) -> Option<usize> {
    let targets = of_part().targets();
    let good = |points: RangeInclusive<usize>| {
        targets.iter().all(|target| {
            let least = least(sweeps, &points, BandError::Worst, target);
            least <= limit * (1.0 + 1e-9)
        })
    };
    let mut fewest = vec![Some(0)];
    for to in 0..POINTS {
        let with_last = (0..=to).filter(|&from| good(from..=to)).filter_map(|from| fewest[from]);
        fewest.push(with_last.min().map(|pieces: usize| pieces + 1));
    }
    fewest[POINTS]
}

#[test]
fn the_fewest_tables_are_those_of_trying_every_cut_and_their_pieces_follow_each_other() {
    let (mut cut, mut refused) = (0, 0);
    for seed in 3..13 {
        let sweeps = sweeps(seed);
        let folder = files(&sweeps);
        // From where a frequency alone just keeps it.
        let alone = |target: &Target| {
            let at = |point: usize| least(&sweeps, &(point..=point), BandError::Worst, target);
            (0..POINTS).map(at).fold(0.0, f64::max)
        };
        let least = of_part().targets().iter().map(alone).fold(0.0, f64::max);
        for (factor, workers) in [(0.9, 1), (1.0, 2), (1.05, 3), (1.15, 4), (1.3, 9), (1.6, 2)] {
            let pct = (100.0 * factor * least).min(50.0);
            let settings = Settings { held_error_pct: Some(pct), ..settings() };
            let report = report(&folder, settings, workers);
            let fewest = report.tables.fewest.expect("a limit was given");
            assert_eq!((fewest.limit, &fewest.band), (HeldError::Given { pct }, &(0..=8)));
            let expected = fewest_by_trying(&sweeps, pct / 100.0);
            let tables: &[TableForPiece] = match &fewest.tables {
                Ok(tables) => tables,
                Err(out) => {
                    refused += 1;
                    assert_eq!(expected, None);
                    let misses = |(index, target): (usize, &Target)| {
                        let points = out.frequency..=out.frequency;
                        let least = self::least(&sweeps, &points, BandError::Worst, target);
                        (least > pct / 100.0).then_some(index)
                    };
                    let missed: Vec<usize> =
                        of_part().targets().iter().enumerate().filter_map(misses).collect();
                    assert_eq!(out.targets, missed);
                    continue;
                }
            };
            assert_eq!(Some(tables.len()), expected, "{seed} {pct}");
            cut += usize::from(tables.len() > 1);
            let mut next = 0;
            for table in tables {
                assert_eq!(*table.piece.start(), next);
                next = table.piece.end() + 1;
                for (index, target) in of_part().targets().iter().enumerate() {
                    near(table.errors[index], self::least(&sweeps, &table.piece, BandError::Worst, target));
                    check_along(&sweeps, &table.piece, target, table.states[index], &table.along[index]);
                }
            }
            assert_eq!(next, POINTS);
        }
    }
    assert!(cut > 5 && refused > 2, "{cut} {refused}");
}

/// The folder's ideal part misses nothing anywhere, so the corner of the cell of half a step is proposed:
/// √((0.5·ln10/20)² + (22.5·π/180)²) = 0.396896, by hand; upwards to two digits 40 %.
#[test]
fn an_ideal_part_needs_one_table_and_the_corner_is_proposed() {
    let tables = report(&folder::whole(), Settings::default(), 2).tables;
    let fewest = tables.fewest.expect("a proposal");
    assert_eq!(fewest.limit, HeldError::Corner { pct: 40.0 });
    assert_eq!(fewest.tables.as_ref().expect("in reach").len(), 1);
    let one = tables.band.expect("a table");
    let words: Vec<u32> = of_ideal(&one.table.states);
    assert_eq!(one.table.states, words);
    assert!(one.table.errors.iter().all(|error| *error < 1e-9));
}

/// The nominal words of the ideal part, which the folder's layout gives its targets.
fn of_ideal(states: &[u32]) -> Vec<u32> {
    // Two gain bits below three phase bits, targets by descending gain, then by phase steps.
    (0..states.len()).map(|index| u32::try_from(index / 8 + 4 * (index % 8)).expect("small")).collect()
}

/// Answers what is asked and counts the requests for tables, those that bound, narrow and cut.
fn drive_counting(conductor: &mut Conductor, shares: &mut [Share], folder: &Folder) -> (usize, usize, usize) {
    let mut counted = (0, 0, 0);
    in_turn::drive_until_waiting(conductor, shares, folder, |request| {
        let Request::Tables(asked) = request else { return };
        match &**asked {
            TablesRequest::Bound(range) => counted.0 += range.len(),
            TablesRequest::Narrow(indices) => counted.1 += indices.len(),
            TablesRequest::Cut(range) => counted.2 += range.len(),
            _ => {}
        }
    });
    counted
}

#[test]
fn tables_are_made_at_rest_and_again_only_where_what_they_rest_on_changed() {
    let sweeps = sweeps(7);
    let folder = files(&sweeps);
    let (mut conductor, mut shares) = in_turn::run("folder", &folder, settings(), 2);
    let made = conductor.report().expect("complete").tables.clone();
    assert!(made.band.is_some() && made.fewest.is_some());

    let mut change = |conductor: &mut Conductor, settings: Settings| {
        conductor.set_settings(settings);
        let moving = drive_counting(conductor, &mut shares, &folder);
        conductor.rest();
        let rested = drive_counting(conductor, &mut shares, &folder);
        (moving.0 + rested.0, moving.1 + rested.1, moving.2 + rested.2)
    };
    // Another frequency: the tables stand, and are shown all the time.
    let elsewhere = Settings { frequency_hz: Some(8.5e9), ..settings() };
    assert_eq!(change(&mut conductor, elsewhere.clone()), (0, 0, 0));
    assert_eq!(conductor.report().expect("complete").tables, made);
    // Another limit: only the cut.
    let limit = Settings { held_error_pct: Some(40.0), ..elsewhere.clone() };
    assert_eq!(change(&mut conductor, limit.clone()), (0, 0, POINTS));
    let tables = conductor.report().expect("complete").tables.clone();
    assert_eq!(tables.band, made.band);
    assert_eq!(tables.fewest.expect("made").limit, HeldError::Given { pct: 40.0 });
    assert!(conductor.report().expect("complete").signal.is_some());
    // The other error: the table, not the cut.
    let rms = Settings { band_error: BandError::Rms, ..limit.clone() };
    assert_eq!(change(&mut conductor, rms.clone()), (POINTS, POINTS, 0));
    assert_eq!(
        conductor.report().expect("complete").tables.band.as_ref().expect("made").error,
        BandError::Rms
    );
    // Another band: both, and nothing of the old one is shown meanwhile.
    let narrow = Settings { design_band_hz: Some((9e9, 11e9)), ..rms.clone() };
    conductor.set_settings(narrow.clone());
    drive_counting(&mut conductor, &mut shares, &folder);
    assert!(conductor.wants_rest());
    assert_eq!(conductor.report().expect("ready").tables.band, None);
    conductor.rest();
    assert_eq!(drive_counting(&mut conductor, &mut shares, &folder), (5, 5, 5));
    // A tolerance that leaves the given limit alone: neither.
    let tolerance = conductor.report().expect("complete").analysis.as_ref().expect("analysed").tolerance;
    let wider = sweepfold::plane::Tolerance { gain_db: 2.0 * tolerance.gain_db, ..tolerance };
    let settings = Settings { tolerance: Some(wider), ..narrow };
    conductor.set_settings(settings);
    drive_counting(&mut conductor, &mut shares, &folder);
    conductor.rest();
    assert_eq!(drive_counting(&mut conductor, &mut shares, &folder), (0, 0, 0));
    assert!(conductor.report().expect("complete").tables.band.is_some());
}

/// Interrupted in the middle of every step, the tables come out as if they had not been.
#[test]
fn an_interruption_anywhere_changes_no_table() {
    // Back to another reference, and on under the one whose tables are under way.
    for reference in [ReferencePolicy::ZeroWord, ReferencePolicy::FullRing] {
        interrupt_anywhere(&Settings { frequency_hz: Some(9e9), reference, ..settings() });
    }
}

fn interrupt_anywhere(other: &Settings) {
    let sweeps = sweeps(8);
    let folder = files(&sweeps);
    let expected = report(&folder, other.clone(), 2).tables;
    assert!(expected.band.is_some());
    let mut interrupted = 0;
    for after in 1.. {
        let (mut conductor, mut shares) = in_turn::run("folder", &folder, settings(), 2);
        conductor.set_settings(Settings { reference: ReferencePolicy::FullRing, ..settings() });
        conductor.rest();
        let mut asked = 0;
        'driven: loop {
            let mut idle = true;
            for (worker, share) in shares.iter_mut().enumerate() {
                let Some(assignment) = conductor.next(worker) else { continue };
                idle = false;
                asked += usize::from(matches!(assignment.request, Request::Tables(_)));
                let reply = share.answer(assignment.request);
                if asked == after {
                    conductor.set_settings(other.clone());
                }
                conductor.accept(assignment.id, reply);
                if asked == after {
                    break 'driven;
                }
            }
            if idle {
                assert!(interrupted > 15, "{interrupted}");
                return;
            }
        }
        interrupted += 1;
        in_turn::drive(&mut conductor, &mut shares, &folder);
        assert!(in_turn::report(&conductor).expect("complete").tables == expected, "after {after}");
    }
}

/// Words 0, 2, 4 … are captured once more at the end, with noise of its own each time: of the targets that they serve, and of
/// no other, the page says what they err on the capture that did not choose them.
#[test]
fn words_that_were_captured_twice_are_scored_on_the_second_capture() {
    let clean = sweeps(21);
    let mut sequence = Sequence(99);
    let mut noisy = || -> Sweeps {
        let mut noise = || Complex64::new(0.03 * sequence.signed(), 0.03 * sequence.signed());
        clean.iter().map(|states| states.iter().map(|state| state + noise()).collect()).collect()
    };
    let (first, second) = (noisy(), noisy());
    let once = files(&first);
    assert_eq!(report(&once, settings(), 2).tables.second_capture, None);

    let text_of = |folder: &Folder, word: usize| folder.0[&format!("unit_{word:02}.s2p")].clone();
    let (mut folder, mut rows, again) = (Folder::default(), "file,word\n".to_owned(), files(&second));
    let captures = (0..32).map(|word| (&once, word)).chain((0..32).step_by(2).map(|word| (&again, word)));
    for (place, (from, word)) in captures.enumerate() {
        let name = format!("capture_{place:02}.s2p");
        writeln!(rows, "{name},{word}").expect("room");
        folder = folder.with(&name, text_of(from, word));
    }
    let folder = folder.with("index.csv", rows);
    for (workers, point, band_error) in [(1, 4, BandError::Worst), (3, 2, BandError::Rms)] {
        let frequency_hz = Some(8e9 + 0.5e9 * point as f64);
        let report = report(&folder, Settings { frequency_hz, band_error, ..settings() }, workers);
        let again = report.tables.second_capture.expect("captured twice");
        let service = &report.analysis.as_ref().expect("analysed").service;
        assert_eq!(service.index, point);
        let (mut own, mut other, mut count) = (0.0, 0.0, 0);
        for (target, served) in of_part().targets().iter().zip(&service.chosen) {
            if served.state % 2 == 0 {
                let z = target_gain(target.setting);
                // The zero word's own capture stays the reference of both.
                own += ((first[point][served.state] / first[point][0] - z).norm() / z.norm()).powi(2);
                other += ((second[point][served.state] / first[point][0] - z).norm() / z.norm()).powi(2);
                count += 1;
            }
        }
        assert!((4..32).contains(&count), "{count}");
        assert_eq!(again.targets, count);
        let rms = |sum: f64| (sum / count as f64).sqrt();
        near(again.own.rms_vector_error, rms(own));
        near(again.other.rms_vector_error, rms(other));
        near(again.rms_vector_error_gained, rms(other) - rms(own));
        assert!(again.rms_vector_error_gained > 0.0, "{again:?}");
        band_table_is_scored_again(&report, &first, &second);
    }
}

/// The same of the one table for the band: all errors of its words at all its frequencies, on either capture.
fn band_table_is_scored_again(report: &Report, first: &Sweeps, second: &Sweeps) {
    let one = report.tables.band.as_deref().expect("a table");
    let again = report.tables.band_on_second_capture.expect("captured twice");
    let (mut own, mut other, mut count) = (0.0, 0.0, 0);
    for (target, &state) in of_part().targets().iter().zip(&one.table.states) {
        let state = state as usize;
        if state.is_multiple_of(2) {
            let z = target_gain(target.setting);
            for point in one.band.clone() {
                let err = |sweeps: &Sweeps| {
                    ((sweeps[point][state] / first[point][0] - z).norm() / z.norm()).powi(2)
                };
                (own, other) = match one.error {
                    BandError::Worst => (f64::max(own, err(first)), f64::max(other, err(second))),
                    BandError::Rms => (own + err(first), other + err(second)),
                };
            }
            count += 1;
        }
    }
    assert!((4..32).contains(&count), "{count}");
    assert_eq!((again.targets, again.error), (count, one.error));
    let all = match one.error {
        BandError::Worst => 1.0,
        BandError::Rms => (count * one.band.clone().count()) as f64,
    };
    near(again.own, (own / all).sqrt());
    near(again.other, (other / all).sqrt());
    assert!(again.other > again.own, "{again:?}");
}
