//! A whole run measured through another cable, which turns and scales every transmission by one complex number: all that is
//! relative stays, from files to the report. Words, shares and verdicts are the same, and numbers agree to 1e-9.

mod folder;
mod seeded;

use folder::{Folder, report};
use num_complex::Complex64;
use seeded::{Sequence, layout, part};
use std::fmt::{Debug, Write};
use sweepfold::control::Layout;
use sweepfold::part::{Figure, Limits, SpecificationRow, Verdict};
use sweepfold::pipeline::{
    Along, AtFrequency, BandError, GradedField, Report, Service, Settings, TableForPiece,
};
use sweepfold::plane::{ReferencePolicy, Score, Tolerance};
use sweepfold::reach::usable_band;
use sweepfold::table::SelectionRule;

const POINTS: usize = 9;
const USABLE_SHARE_PCT: f64 = 60.0;

fn of_part() -> Layout {
    layout(4, 3, 1.0)
}

/// By capture: the word, and its transmission along the frequencies. Every second word is captured again at the end, with
/// noise of its own each time.
fn captures(seed: u64) -> Vec<(usize, Vec<Complex64>)> {
    let mut sequence = Sequence(seed);
    let sweeps = part(&of_part(), POINTS, 0.03, 0.04, &mut sequence);
    let words = sweeps[0].len();
    let mut noise = || 2e-4 * Complex64::new(sequence.signed(), sequence.signed());
    let all = (0..words).chain((0..words).step_by(2));
    all.map(|word| (word, sweeps.iter().map(|states| states[word] + noise()).collect())).collect()
}

fn files(captures: &[(usize, Vec<Complex64>)], factor: Complex64) -> Folder {
    let mut rows = "file,word\n".to_owned();
    let mut folder = Folder::default();
    for (place, (word, transmission)) in captures.iter().enumerate() {
        let mut text = "# GHz S RI R 50\n".to_owned();
        for (point, value) in transmission.iter().enumerate() {
            let (ghz, s) = (8.0 + 0.5 * point as f64, value * factor);
            writeln!(text, "{ghz} 0.1 0 {} {} {} {} 0.1 0", s.re, s.im, s.re, s.im).expect("room");
        }
        let name = format!("capture_{place:03}.s2p");
        writeln!(rows, "{name},{word}").expect("room");
        folder = folder.with(&name, text);
    }
    folder.with("index.csv", rows)
}

/// All figures that a common factor leaves alone, with limits that some of them keep.
fn specification() -> Vec<SpecificationRow> {
    let is_relative = |figure: &Figure| !matches!(figure, Figure::InsertionLoss | Figure::ReturnLoss(_));
    let row = |figure: Figure| SpecificationRow {
        figure,
        from_hz: None,
        to_hz: Some(11e9),
        limits: Limits::plus_minus(1.3, 2.0),
        note: String::new(),
    };
    Figure::all().filter(is_relative).map(row).collect()
}

/// Two values as they are written out: numbers with a fraction agree to 1e-9, of themselves where they exceed 1, and all else
/// to the letter, so that words and counts are the same.
fn same(what: &str, plain: &impl Debug, turned: &impl Debug) {
    let (plain, turned) = (format!("{plain:?}"), format!("{turned:?}"));
    let is_between = |c: char| c != '.' && c != '-' && c != '_' && !c.is_alphanumeric();
    let tokens = |text: &str| text.split(is_between).map(str::to_owned).collect::<Vec<String>>();
    let number = |token: &str| token.parse::<f64>().ok().filter(|_| token.contains(['.', 'e']));
    let (plain, turned) = (tokens(&plain), tokens(&turned));
    assert_eq!(plain.len(), turned.len(), "{what}");
    for (at, (one, other)) in plain.iter().zip(&turned).enumerate() {
        let agree = match (number(one), number(other)) {
            (Some(one), Some(other)) => (one - other).abs() <= 1e-9 * one.abs().max(1.0),
            _ => one == other,
        };
        assert!(agree, "{what}: {one} is not {other} in {:?}", &plain[at.saturating_sub(8)..=at]);
    }
}

fn frequencies_are_the_same<'a>(plain: &'a Report, turned: &'a Report, factor: Complex64) {
    let (plain, turned) = {
        let of = |report: &'a Report| report.analysis.as_ref().expect("analysed");
        (of(plain), of(turned))
    };
    same("bit weights", &plain.bit_weights, &turned.bit_weights);
    for (one, other) in plain.frequencies.iter().zip(&turned.frequencies) {
        let ratio = other.reference / (one.reference * factor);
        assert!((ratio - 1.0).norm() < 1e-9, "{ratio}");
        let all = |at: &AtFrequency| {
            let bits = (at.gain_effective_bits, at.phase_effective_bits);
            (at.gain_given_up_db, at.gain_range_db, at.nominal, at.nominal_spread, at.chosen, at.held, bits)
        };
        assert!(one.nominal.is_some() && one.held.is_some() && one.gain_effective_bits.is_some());
        same("a frequency", &all(one), &all(other));
    }
    let served = |service: &Service| {
        let uses = (service.unused_states, service.shared_states);
        (service.index, service.nominal.clone(), service.chosen.clone(), uses)
    };
    same("the chosen frequency", &served(&plain.service), &served(&turned.service));
}

/// Returns how many holes there are.
fn reach_is_the_same(plain: &Report, turned: &Report) -> usize {
    let here = plain.reach.here.as_ref().expect("worked out");
    assert!(here.resolution.is_ok() && plain.reach.clean_bits.is_some());
    same("reach", &plain.reach, &turned.reach);
    let usable = |report: &Report| {
        let analysis = report.analysis.as_ref().expect("analysed");
        let share = |of: fn(&Score) -> f64| -> Vec<f64> {
            analysis.frequencies.iter().map(|at| of(&at.chosen)).collect()
        };
        let grid = &report.intake.frequency_hz;
        let within =
            usable_band(grid, &share(|score| score.within_both_pct), USABLE_SHARE_PCT, analysis.centre);
        let gain = usable_band(grid, &share(|score| score.within_gain_pct), 95.0, analysis.centre);
        (within, gain)
    };
    assert!(usable(plain).0.is_some());
    same("the usable band", &usable(plain), &usable(turned));
    here.holes.len()
}

fn references_compare_the_same(plain: &Report, turned: &Report) {
    let compared = |report: &Report| {
        let comparison = report.comparison.as_deref().expect("compared").clone();
        assert_eq!(comparison.policies.len(), ReferencePolicy::OFFERED.len());
        let rungs: Vec<_> = comparison
            .ladder
            .iter()
            .map(|rung| (rung.mapping, rung.reference, rung.gain_given_up_db, rung.at_frequency, rung.band))
            .collect();
        (rungs, comparison.policies)
    };
    same("the ladder and the references", &compared(plain), &compared(turned));
}

/// Returns how many the fewest tables are.
fn tables_are_the_same(plain: &Report, turned: &Report) -> usize {
    // The transmission itself, which the gain ceiling is held against, is not relative.
    let along = |along: &[Along]| -> Vec<_> {
        along.iter().map(|at| (at.gain_error_db, at.phase_error_deg, at.transmission_index)).collect()
    };
    let tables = |report: &Report| {
        let band = report.tables.band.as_deref().expect("a table");
        let fewest = report.tables.fewest.as_deref().expect("tables");
        let piece = |piece: &TableForPiece| {
            (piece.piece.clone(), piece.states.clone(), piece.errors.clone(), along(&piece.along))
        };
        let pieces = fewest.tables.as_ref().map(|pieces| pieces.iter().map(piece).collect::<Vec<_>>());
        let again = report.tables.second_capture.expect("captured twice");
        let band_again = report.tables.band_on_second_capture.expect("captured twice");
        (
            (band.band.clone(), band.table.clone(), along(&band.along)),
            (fewest.limit, pieces.map_err(Clone::clone)),
            (again, band_again.targets, band_again.own, band_again.other),
        )
    };
    same("tables", &tables(plain), &tables(turned));
    tables(plain).1.1.map_or(0, |tables| tables.len())
}

/// Noise is a median over the real and imaginary parts of what two captures differ by, which a turn mixes anew: it is the same
/// within what so few values tell, here less than 15 %. No verdict hangs on that.
fn parts_are_graded_the_same(plain: &Report, turned: &Report) {
    let noises = |report: &Report| -> Vec<f64> {
        let parts = report.parts.as_ref().expect("graded");
        let judged = parts.fields.iter().flat_map(|field| field.judgements.iter().flatten());
        judged.map(|row| row.deciding.expect("a value").noise.expect("noise is known")).collect()
    };
    for (plain, turned) in noises(plain).iter().zip(noises(turned)) {
        assert!((turned / plain - 1.0).abs() < 0.15, "{plain} {turned}");
    }
    let graded = |report: &Report| -> Vec<_> {
        let parts = report.parts.as_ref().expect("graded");
        assert!(parts.is_judged);
        let field = |field: &GradedField| {
            let graded = field.graded.as_ref().expect("a field");
            let mut judgements = field.judgements.clone();
            for row in judgements.iter_mut().flatten() {
                // Which frequencies break a row by three times the noise hangs on it where a value is as near as that.
                row.broken_at.clear();
                if let Some(deciding) = &mut row.deciding {
                    deciding.noise = None;
                }
            }
            let at: Vec<_> = graded.at.iter().map(|at| (at.state_errors.clone(), at.other.clone())).collect();
            (judgements, at)
        };
        parts.fields.iter().map(field).collect()
    };
    let verdicts: Vec<Verdict> =
        graded(plain).iter().flat_map(|(rows, _)| rows.iter().flatten().map(|row| row.verdict)).collect();
    for verdict in [Verdict::Holds, Verdict::Fails] {
        assert!(verdicts.contains(&verdict), "{verdicts:?}");
    }
    same("parts", &graded(plain), &graded(turned));
}

fn constellations_are_the_same(plain: &Report, turned: &Report, factor: Complex64) {
    let formed = |report: &Report, factor: Complex64| {
        let mut all = report.signal.clone().expect("formed").constellations.expect("constellations");
        for one in &mut all {
            one.scale /= factor;
        }
        (all, report.largest_clean.clone().expect("looked for"))
    };
    same("constellations", &formed(plain, Complex64::ONE), &formed(turned, factor));
}

#[test]
fn turning_and_scaling_every_transmission_changes_nothing_relative() {
    let cases = [
        (SelectionRule::Nearest, ReferencePolicy::BestFitEachFrequency, BandError::Worst),
        (SelectionRule::ToleranceFirst, ReferencePolicy::RingMedian, BandError::Rms),
        (SelectionRule::Weighted, ReferencePolicy::BestFitOneTurn, BandError::Worst),
        (SelectionRule::Nearest, ReferencePolicy::FullRing, BandError::Rms),
        (SelectionRule::Weighted, ReferencePolicy::ZeroWord, BandError::Rms),
        (SelectionRule::ToleranceFirst, ReferencePolicy::RingMedianEachFrequency, BandError::Worst),
    ];
    let (mut sequence, mut most_tables, mut most_holes) = (Sequence(77), 0, 0);
    for (seed, (rule, reference, band_error)) in (600_u64..).zip(cases) {
        let settings = Settings {
            layout: Some(of_part()),
            rule,
            reference,
            band_error,
            held_error_pct: Some(14.0),
            tolerance: Some(Tolerance { gain_db: 0.5, gain_pct_of_setting: 2.0, phase_deg: 4.0 }),
            specification: specification(),
            held_codes: vec![3, 2],
            frequency_hz: Some(9.5e9),
            ..Settings::default()
        };
        let captures = captures(seed);
        let plain = report(&files(&captures, Complex64::ONE), settings.clone(), 2);
        for size in [0.02, 30.0] {
            let factor = Complex64::from_polar(size * (1.0 + sequence.next()), 7.0 * sequence.signed());
            let turned = report(&files(&captures, factor), settings.clone(), 2);
            frequencies_are_the_same(&plain, &turned, factor);
            most_holes = most_holes.max(reach_is_the_same(&plain, &turned));
            references_compare_the_same(&plain, &turned);
            most_tables = most_tables.max(tables_are_the_same(&plain, &turned));
            parts_are_graded_the_same(&plain, &turned);
            constellations_are_the_same(&plain, &turned, factor);
        }
    }
    assert!(most_tables > 1 && most_holes > 0, "{most_tables} {most_holes}");
}
