//! How fine a run reaches, from files to the report and its answer.

mod folder;
mod planted;

use folder::{Folder, path, report, whole};
use num_complex::Complex64;
use planted::Bench;
use std::fmt::Write;
use sweepfold::export::make;
use sweepfold::pipeline::protocol::Request;
use sweepfold::pipeline::{Conductor, Report, Settings, Share, in_turn};
use sweepfold::plane::Place;
use sweepfold::reach::{CleanBits, EvenSteps, ResolutionMap};
use sweepfold::sheet::reach::{hole_rows, resolution_rows};
use sweepfold::sheet::{Sheet, ToolFacts};

fn sentence(report: &Report) -> String {
    let sheet = Sheet::of(report, &ToolFacts::on("2026-01-31"));
    sheet.answer("reach").expect("answered").sentence.clone()
}

/// Answers what is asked and counts the frequencies asked for clean bits.
fn drive_counting(conductor: &mut Conductor, share: &mut Share, folder: &Folder) -> usize {
    let mut counted = 0;
    in_turn::drive_watched(conductor, std::slice::from_mut(share), folder, |request| {
        if let Request::CleanBits(range) = request {
            counted += range.len();
        }
    });
    counted
}

/// The files of a run.
fn files(run: &planted::Run) -> Folder {
    let file = |folder: Folder, (word, trace): (&sweepfold::control::Word, &Vec<Complex64>)| {
        let mut text = "# Hz S RI R 50\n".to_owned();
        for (hz, s) in run.frequency_hz.iter().zip(trace) {
            writeln!(text, "{hz} 0.1 0 {} {} {} {} 0.1 0", s.re, s.im, s.re, s.im).unwrap();
        }
        folder.with(&format!("unit_{:04}.s2p", word.0), text)
    };
    run.words.iter().zip(&run.traces).fold(Folder::default(), file)
}

/// Three phase bits of 45° and two gain bits of 1 dB, without error.
#[test]
fn an_ideal_part_resolves_all_its_bits_and_has_no_hole() {
    let report = report(&whole(), Settings::default(), 2);
    let said = sentence(&report);
    assert!(
        said.ends_with(
            " At 9.5 GHz it resolves 3 bits of phase and 2 of gain cleanly, and none of its 32 settings lies in a hole."
        ),
        "{said}"
    );
    let reach = report.reach;
    let here = reach.here.expect("analysed");
    assert_eq!(here.index, 3);
    assert_eq!(here.holes, []);
    let map = here.resolution.expect("even steps");
    assert_eq!((map.phase_bits(), map.gain_bits()), (3, 2));
    let all = Some(CleanBits { phase: 3, gain: 2 });
    assert_eq!(map.clean_bits(), all);
    assert_eq!(reach.clean_bits, Some(vec![all; folder::POINTS]));
}

/// Without the states at −45° the four settings there are 45° from the nearest states. By hand: a state that is 45° away
/// and n dB lower has the vector error √(1 + g² − √2·g), g = 10^(−n/20): 0.765367, 0.730691, 0.712466 and 0.707107 for
/// n = 0 … 3, and as many decibels as there are below a setting make its nearest state. The cell's corner is
/// √((0.5·ln10/20)² + (22.5·π/180)²) = 0.396896. With two bits every phase has a state within 45°.
#[test]
fn a_phase_that_no_state_has_makes_holes_and_costs_a_bit() {
    let folder = (4..8).fold(whole(), |folder, word| folder.without(&path(word)));
    let report = report(&folder, Settings::default(), 3);
    let said = sentence(&report);
    assert!(
        said.ends_with(
            " At 9.5 GHz it resolves 2 bits of phase and 2 of gain cleanly, and 4 of its 32 settings lie in holes, the \
             largest at −3 dB and −45°, 1.9 times as far from its nearest state as allowed."
        ),
        "{said}"
    );
    let rows = hole_rows(&report);
    assert_eq!(rows.iter().map(|row| row.gain_db).collect::<Vec<_>>(), [-3.0, -2.0, -1.0, 0.0]);
    let (head, served) = resolution_rows(&report).expect("a map");
    assert_eq!(head, ["Phase", "Gain: 0 bits (4 dB)", "Gain: 1 bit (2 dB)", "Gain: 2 bits (1 dB)"]);
    // Of eight phases one is missing, at every gain: 7 of 8.
    assert_eq!(served[3], ["3 bits (45°)", "87.5 %", "87.5 %", "87.5 %"]);
    assert_eq!(served[2][1..], ["100 %"; 3]);
    let here = report.reach.here.expect("analysed");
    let analysis = report.analysis.expect("analysed");
    let phases: Vec<f64> =
        here.holes.iter().map(|hole| analysis.targets[hole.target].setting.phase_deg).collect();
    assert_eq!(phases, [-45.0; 4]);
    for (hole, error) in here.holes.iter().zip([0.707_107_3, 0.712_466, 0.730_691, 0.765_367]) {
        assert!((hole.excess - error / 0.396_896).abs() < 1e-5, "{:?}", here.holes);
    }
    let two = Some(CleanBits { phase: 2, gain: 2 });
    assert_eq!(here.resolution.expect("even steps").clean_bits(), two);
    assert_eq!(report.reach.clean_bits, Some(vec![two; folder::POINTS]));
}

/// The same four holes in the picture of the plane: diamonds on the ray of −45°, a decibel apart. Where its origin is and how
/// long a unit is follow from the outermost two; the others have to fit.
#[test]
fn holes_of_a_report_are_drawn_in_its_plane() {
    let drawn = |folder: &Folder| {
        let report = report(folder, Settings::default(), 1);
        let svg =
            make("plane.svg", &report, &Sheet::of(&report, &ToolFacts::on("2026-01-31"))).expect("a plane");
        diamonds(&String::from_utf8(svg).expect("UTF-8"))
    };
    assert_eq!(drawn(&whole()), []);
    let mut holes = drawn(&(4..8).fold(whole(), |folder, word| folder.without(&path(word))));
    holes.sort_by(|a, b| b.0.total_cmp(&a.0));
    assert_eq!(holes.len(), 4);
    let ratio = |n: i32| 10_f64.powf(-f64::from(n) / 20.0);
    let unit = |of: fn(&(f64, f64)) -> f64| (of(&holes[0]) - of(&holes[3])) / (1.0 - ratio(3));
    let (right, down) = (unit(|at| at.0), unit(|at| at.1));
    assert!(
        right > 100.0 && (right - down).abs() < 0.05 * right,
        "−45° is as far right as down: {right} {down}"
    );
    for (n, hole) in (0..).zip(&holes) {
        let expected = (holes[0].0 - right * (1.0 - ratio(n)), holes[0].1 - down * (1.0 - ratio(n)));
        // Drawn in whole pixels.
        assert!((hole.0 - expected.0).hypot(hole.1 - expected.1) < 1.5, "{hole:?} {expected:?}");
    }
}

/// The middles of the closed lines of four equal sides standing on a corner.
fn diamonds(svg: &str) -> Vec<(f64, f64)> {
    let paths =
        svg.split("<polyline ").skip(1).filter_map(|line| line.split_once("points=\"")?.1.split_once('"'));
    let corners = paths.map(|(points, _)| {
        let pair = |pair: &str| -> Option<(f64, f64)> {
            let (x, y) = pair.split_once(',')?;
            Some((x.parse().ok()?, y.parse().ok()?))
        };
        points.split_whitespace().filter_map(pair).collect::<Vec<_>>()
    });
    let middle = |corners: Vec<(f64, f64)>| {
        let [top, right, bottom, left, end] = corners[..] else { return None };
        let arms = [bottom.1 - top.1, right.0 - left.0];
        let stands = top == end && (top.0 - bottom.0).abs() < 1.5 && (left.1 - right.1).abs() < 1.5;
        (stands && arms[0] > 0.0 && (arms[0] - arms[1]).abs() < 1.5).then_some((top.0, right.1))
    };
    corners.filter_map(middle).collect()
}

/// Every frequency's states give its own clean bits, however many workers share them, and moving the frequency counts
/// none of them again.
#[test]
fn clean_bits_are_those_of_each_frequency_and_stay() {
    let bench = Bench::gain_phase(3, 9);
    let run = bench.run().with_noise(&bench, -25.0, 5);
    let folder = files(&run);
    let settings = Settings { layout: Some(run.layout.clone()), ..Settings::default() };
    let first = report(&folder, settings.clone(), 1);
    let analysis = first.analysis.as_ref().expect("analysed");
    let steps = EvenSteps::new(&analysis.model).expect("even steps");
    let map_at = |index: usize| {
        let states: Vec<Complex64> = run.traces.iter().map(|trace| trace[index]).collect();
        ResolutionMap::new(&steps, &Place::all(&states, analysis.frequencies[index].reference))
    };
    let expected: Vec<Option<CleanBits>> = (0..9).map(|index| map_at(index).clean_bits()).collect();
    assert!(expected.iter().any(|bits| *bits != expected[0]), "the frequencies differ: {expected:?}");
    assert_eq!(first.reach.clean_bits.as_ref(), Some(&expected));
    for workers in [2, 4] {
        assert_eq!(report(&folder, settings.clone(), workers).reach, first.reach);
    }

    let mut conductor = Conductor::new("folder", in_turn::Source::offers(&folder), settings.clone(), 1);
    let mut share = Share::default();
    assert_eq!(drive_counting(&mut conductor, &mut share, &folder), 9);
    let moved = Settings { frequency_hz: Some(run.frequency_hz[7]), ..settings.clone() };
    conductor.set_settings(moved.clone());
    assert_eq!(drive_counting(&mut conductor, &mut share, &folder), 0);
    let reach = in_turn::report(&conductor).expect("complete").reach.clone();
    let here = reach.here.expect("analysed");
    assert_eq!((here.index, here.resolution), (7, Ok(map_at(7))));
    assert_eq!(reach.clean_bits, Some(expected));
    // Another reference turns and scales every state.
    conductor.set_settings(Settings { reference: sweepfold::plane::ReferencePolicy::FullRing, ..moved });
    let counted = drive_counting(&mut conductor, &mut share, &folder);
    let in_use = &in_turn::report(&conductor).expect("complete").analysis.as_ref().expect("analysed").anchor;
    assert_eq!(counted, if *in_use == analysis.anchor { 0 } else { 9 });
    assert_ne!(*in_use, analysis.anchor);
}

/// The answer to question 7 of a report.
fn said_of_signals(report: &Report) -> String {
    let sheet = Sheet::of(report, &ToolFacts::on("2026-01-31"));
    sheet.answer("use").expect("answered").sentence.clone()
}

/// Eight phases of 45° hold the four right angles of QPSK exactly. Of more points the two levels of a square 16-QAM's
/// corners are 9.5 dB apart, beyond gains of 0 to −3 dB, so that no larger one can be clean; by hand.
#[test]
fn an_ideal_part_of_few_bits_forms_nothing_beyond_four_points() {
    let report = report(&whole(), Settings::default(), 2);
    let said = said_of_signals(&report);
    assert_eq!(
        said,
        "QPSK is the largest square constellation that the states form cleanly at 9.5 GHz, with 0 % EVM (average power)."
    );
    let signal = report.signal.as_ref().expect("formed");
    assert_eq!(signal.index, 3);
    let (_, rows) = sweepfold::sheet::signal::constellation_rows(&report).expect("formed");
    assert_eq!(rows.len(), 6);
    assert_eq!((rows[0][0].as_str(), rows[0][7].as_str(), rows[0][8].as_str()), ("QPSK", "yes", "4"));
    assert!(rows[1][7].starts_with("no: "));
}

/// While the frequency moves nothing is formed; once it rests, the constellations are those of where it rests.
#[test]
fn constellations_wait_for_the_frequency_to_rest() {
    let (mut conductor, mut shares) = in_turn::run("folder", &whole(), Settings::default(), 1);
    let settings = Settings { frequency_hz: Some(11e9), ..Settings::default() };
    conductor.set_settings(settings);
    while let Some(assignment) = conductor.next(0) {
        assert!(!matches!(assignment.request, Request::SignalAt { .. }));
        conductor.accept(assignment.id, shares[0].answer(assignment.request));
    }
    assert!(conductor.wants_rest() && conductor.is_ready());
    let moved = conductor.report().expect("answers");
    assert_eq!(moved.signal, None);
    assert!(said_of_signals(moved).contains("not worked out yet"));
    in_turn::drive(&mut conductor, &mut shares, &whole());
    let rested = in_turn::report(&conductor).expect("complete");
    assert_eq!(rested.signal.as_ref().map(|signal| signal.index), Some(6));
    let formed = rested.signal.as_ref().expect("formed").constellations.as_ref().expect("formed");
    assert!(formed[0].is_clean() && formed[0].evm < 1e-9);
}

/// Gain bits alone turn nothing.
#[test]
fn without_phases_there_is_no_constellation() {
    let bench = Bench::attenuator(5);
    let run = bench.run();
    let folder = files(&run);
    let settings = Settings { layout: Some(run.layout.clone()), ..Settings::default() };
    assert_eq!(
        said_of_signals(&report(&folder, settings, 2)),
        "No constellation can be formed, since nothing sets the phase."
    );
}
