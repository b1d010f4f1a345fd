//! The whole path from files to the report, in turn and without a browser.

mod folder;

use folder::{Folder, POINTS, path, report, sweep, sweep_of, told, whole};
use std::fmt::Write;
use sweepfold::chart::DensityRaster;
use sweepfold::control::{Layout, Quantity, Word};
use sweepfold::pipeline::in_turn::{self, Source};
use sweepfold::pipeline::protocol::{DensityFrame, Reply, Request, TraceQuantity};
use sweepfold::pipeline::{Conductor, LayoutOrigin, NoAnalysis, Settings, Share, Stage};
use sweepfold::plane::ReferencePolicy;
use sweepfold::run::LeftOutReason;

#[test]
fn an_ideal_part_is_understood_from_its_folder_alone() {
    let report = report(&whole(), Settings::default(), 2);
    let analysis = report.analysis.as_ref().expect("analysed");
    assert_eq!(report.intake.states.len(), 32);
    assert!(report.intake.missing.is_empty() && report.intake.left_out.is_empty());
    assert!(matches!(analysis.layout_origin, LayoutOrigin::Guessed(_)));
    assert_eq!(analysis.model.finest_step(Quantity::Gain), Some(1.0));
    assert_eq!(analysis.model.finest_step(Quantity::Phase), Some(45.0));
    for (target, served) in analysis.targets.iter().zip(&analysis.service.chosen) {
        assert_eq!(Some(report.intake.states[served.state].word), target.nominal_word);
    }
    for at in &analysis.frequencies {
        for score in [&at.nominal.expect("scored"), &at.chosen, &at.held.expect("scored")] {
            assert!(score.rms_vector_error < 1e-9, "an ideal part has no error: {score:?}");
            assert_eq!(score.within_both_pct, 100.0);
        }
        // The zero word transmits −6 dB, and it is the reference: nothing is given up.
        assert!((20.0 * at.reference.norm().log10() + 6.0).abs() < 1e-9);
        assert!(at.gain_given_up_db.expect("zero word is there").abs() < 1e-12);
        // Three ideal phase bits and two ideal gain bits (follows from the definition of effective bits).
        assert!((at.phase_effective_bits.expect("phases are there") - 3.0).abs() < 1e-9);
        assert!((at.gain_effective_bits.expect("gains are there") - 2.0).abs() < 1e-9);
    }
}

#[test]
fn any_number_of_workers_gives_the_same_report() {
    let one = told(&report(&whole(), Settings::default(), 1));
    for workers in [2, 3, 5, 12] {
        assert_eq!(one, told(&report(&whole(), Settings::default(), workers)), "{workers} workers");
    }
}

#[test]
fn new_settings_give_what_a_fresh_run_would() {
    let mut settings = Settings { frequency_hz: Some(8.6e9), ..Settings::default() };
    let (mut conductor, mut shares) = in_turn::run("folder", &whole(), Settings::default(), 2);
    let steps: [fn(&mut Settings); 5] = [
        |_| {},
        |settings| settings.reference = ReferencePolicy::FullRing,
        |settings| settings.design_band_hz = Some((9.0e9, 10.0e9)),
        |settings| settings.transmission = sweepfold::pipeline::TransmissionParameter::S12,
        |settings| settings.part_name = "ours".to_owned(),
    ];
    for step in steps {
        step(&mut settings);
        conductor.set_settings(settings.clone());
        in_turn::drive(&mut conductor, &mut shares, &whole());
        let changed = in_turn::report(&conductor).expect("complete");
        assert_eq!(told(changed), told(&report(&whole(), settings.clone(), 2)));
    }
}

#[test]
fn settings_that_change_while_work_is_under_way_are_taken_in_the_end() {
    let settings =
        Settings { reference: ReferencePolicy::RingMedian, frequency_hz: Some(9.0e9), ..Settings::default() };
    for steps in 0..60 {
        let folder = whole();
        let mut conductor = Conductor::new("folder", folder.offers(), Settings::default(), 1);
        let mut shares = vec![Share::default()];
        for _ in 0..steps {
            step(&mut conductor, &mut shares[0], &folder);
        }
        conductor.set_settings(settings.clone());
        in_turn::drive(&mut conductor, &mut shares, &folder);
        assert_eq!(
            told(in_turn::report(&conductor).expect("complete")),
            told(&report(&folder, settings.clone(), 1))
        );
    }
}

/// The states at a frequency that was moved to are told before the words chosen there are scored everywhere, and nothing
/// is told of the frequency left behind.
#[test]
fn a_moved_frequency_is_told_before_what_follows_from_it() {
    let settings = Settings { frequency_hz: Some(9.0e9), ..Settings::default() };
    let (mut conductor, mut shares) = in_turn::run("folder", &whole(), Settings::default(), 1);
    let fresh = report(&whole(), settings.clone(), 1);
    let fresh = fresh.analysis.as_ref().expect("analysed");
    let before = conductor.revision();
    conductor.set_settings(settings.clone());
    assert!(conductor.follows_frequency());
    let service = conductor.next(0).expect("the service is asked for");
    assert!(matches!(service.request, Request::ServiceAt { .. }));
    conductor.accept(service.id, shares[0].answer(service.request));
    assert!(conductor.follows_frequency() && conductor.revision() > before);
    let moved = conductor.report().expect("told");
    let analysis = moved.analysis.as_ref().expect("analysed");
    assert_eq!(analysis.service, fresh.service);
    assert_ne!(analysis.service.index, analysis.centre);
    assert!(analysis.frequencies.iter().all(|at| at.held.is_none()));
    assert_eq!((&moved.reach.here, &moved.signal), (&None, &None));
    assert_eq!(moved.settings, settings);
    in_turn::drive(&mut conductor, &mut shares, &whole());
    assert!(!conductor.follows_frequency());
    assert_eq!(told(in_turn::report(&conductor).expect("complete")), told(&report(&whole(), settings, 1)));
}

/// One request of the only worker.
fn step(conductor: &mut Conductor, share: &mut Share, folder: &Folder) -> bool {
    let Some(assignment) = conductor.next(0) else { return false };
    let reply = match assignment.request {
        Request::Read(tickets) => Reply::Read(
            tickets
                .iter()
                .map(|ticket| {
                    let bytes = folder.bytes(conductor.path(ticket.file));
                    share.read_file(ticket, &bytes, in_turn::digest(&bytes))
                })
                .collect(),
        ),
        request => share.answer(request),
    };
    conductor.accept(assignment.id, reply);
    true
}

#[test]
fn a_worker_that_dies_at_any_point_costs_time_and_nothing_else() {
    let expected = told(&report(&whole(), Settings::default(), 1));
    for steps in 0..60 {
        let folder = whole();
        let mut conductor = Conductor::new("folder", folder.offers(), Settings::default(), 1);
        let mut share = Share::default();
        for _ in 0..steps {
            step(&mut conductor, &mut share, &folder);
        }
        // It dies with one request in hand, where there is one.
        let _ = conductor.next(0);
        conductor.worker_died(0);
        let mut shares = vec![Share::default()];
        in_turn::drive(&mut conductor, &mut shares, &folder);
        assert_eq!(expected, told(in_turn::report(&conductor).expect("complete")), "after {steps} steps");
    }
}

#[test]
fn a_file_that_kills_its_worker_twice_is_left_out_with_the_reason() {
    let folder = whole();
    let poison = path(5);
    let mut conductor = Conductor::new("folder", folder.offers(), Settings::default(), 1);
    let mut share = Share::default();
    while let Some(assignment) = conductor.next(0) {
        let kills = matches!(&assignment.request, Request::Read(t) if t.iter().any(|t| t.name == poison));
        if kills {
            conductor.worker_died(0);
            share = Share::default();
            continue;
        }
        let reply = match assignment.request {
            Request::Read(tickets) => Reply::Read(
                tickets
                    .iter()
                    .map(|t| {
                        let bytes = folder.bytes(conductor.path(t.file));
                        share.read_file(t, &bytes, in_turn::digest(&bytes))
                    })
                    .collect(),
            ),
            request => share.answer(request),
        };
        conductor.accept(assignment.id, reply);
    }
    in_turn::drive(&mut conductor, &mut [share], &folder);
    let report = in_turn::report(&conductor).expect("complete");
    assert_eq!(report.intake.missing, [Word(5)]);
    assert_eq!(report.intake.left_out.len(), 1);
    assert_eq!(report.intake.left_out[0].path, poison);
    let counted = report.analysis.as_ref().expect("the rest goes on").frequencies[0]
        .nominal
        .map(|nominal| nominal.missing);
    assert_eq!(counted, Some(1));
}

#[test]
fn workers_that_keep_dying_end_the_run_with_a_sentence() {
    let folder = whole();
    let mut conductor = Conductor::new("folder", folder.offers(), Settings::default(), 1);
    for _ in 0..200 {
        if conductor.stage() == Stage::Failed {
            break;
        }
        let _ = conductor.next(0);
        conductor.worker_died(0);
    }
    assert_eq!(conductor.stage(), Stage::Failed);
    assert!(conductor.failure().ends_with('.'), "{}", conductor.failure());
}

#[test]
fn what_cannot_be_used_is_listed_with_its_reason_and_the_rest_goes_on() {
    let folder = whole()
        .with("notes.txt", "torque 0.9 Nm")
        .with("sub/state_00011.s2p", sweep(3))
        .with(&path(4), &sweep(4).as_bytes()[..150])
        .with(&path(6), sweep_of(6, POINTS - 1, 50.0))
        .with(&path(7), sweep_of(7, POINTS, 75.0))
        .with(&path(8), "# GHz S DB R 50\n8 -20 10\n8.5 -20 11\n9 -20 12\n");
    let folder = Folder(
        folder
            .0
            .into_iter()
            .map(|(path, bytes)| {
                if path == "state_01000.s2p" { ("state_01000.s1p".to_owned(), bytes) } else { (path, bytes) }
            })
            .collect(),
    );
    let report = report(&folder, Settings::default(), 2);
    let reason = |path: &str| {
        let found = report.intake.left_out.iter().find(|left_out| left_out.path == path);
        found.map(|left_out| left_out.reason.clone())
    };
    assert_eq!(reason("notes.txt"), Some(LeftOutReason::NotSParameters));
    assert!(
        matches!(reason("state_00100.s2p"), Some(LeftOutReason::Unreadable(fault)) if fault.line.is_some())
    );
    assert!(matches!(reason("state_00110.s2p"), Some(LeftOutReason::OtherGrid { points: 6, .. })));
    assert_eq!(reason("state_00111.s2p"), None, "another reference impedance is renormalised");
    assert_eq!(reason("state_01000.s1p"), Some(LeftOutReason::Ports(1)));
    assert!(matches!(
        (reason("sub/state_00011.s2p"), reason("state_00011.s2p")),
        (Some(LeftOutReason::Doubled { word: Word(3), .. }), None)
            | (None, Some(LeftOutReason::Doubled { word: Word(3), .. }))
    ));
    assert_eq!(report.intake.missing, [4, 6, 8].map(Word));
    assert_eq!(report.intake.states.len() + report.intake.left_out.len(), folder.0.len());
    assert!(report.analysis.is_ok(), "the rest goes on");
}

#[test]
fn folders_that_say_nothing_end_with_the_reason() {
    let nothing = Folder::default();
    let stray = Folder::default().with("readme.txt", "hello").with("picture.png", [137, 80, 78, 71]);
    let alone = Folder::default().with(&path(0), sweep(0));
    for (folder, expected) in
        [(nothing, NoAnalysis::NoStates), (stray, NoAnalysis::NoStates), (alone, NoAnalysis::OneState)]
    {
        let report = report(&folder, Settings::default(), 2);
        assert_eq!(report.analysis.expect_err("nothing to analyse"), expected);
    }
}

#[test]
fn words_that_need_more_bits_than_the_layout_has_are_refused() {
    let layout = Layout { fields: vec![] };
    let mut settings = Settings { layout: Some(layout), ..Settings::default() };
    let refused = report(&whole(), settings.clone(), 1).analysis.expect_err("too small");
    assert_eq!(refused, NoAnalysis::LayoutTooSmall { layout_bits: 0, word_bits: 5 });
    settings.layout = None;
    assert!(report(&whole(), settings, 1).analysis.is_ok());
}

#[test]
fn without_the_zero_word_another_reference_is_taken() {
    let folder = whole().without(&path(0));
    let report = report(&folder, Settings::default(), 1);
    let analysis = report.analysis.expect("analysed");
    let ladder = &report.comparison.expect("compared").ladder;
    assert_eq!(analysis.reference, ReferencePolicy::RingMedian);
    assert!(analysis.frequencies.iter().all(|at| at.gain_given_up_db.is_none()));
    let compared: Vec<ReferencePolicy> = ladder.iter().map(|rung| rung.reference).collect();
    let without_zero_word = ReferencePolicy::OFFERED
        .into_iter()
        .filter(|policy| !matches!(policy, ReferencePolicy::ZeroWord | ReferencePolicy::FullRing));
    let expected: Vec<ReferencePolicy> =
        std::iter::once(ReferencePolicy::RingMedian).chain(without_zero_word).collect();
    assert_eq!(compared, expected);
}

/// Names and folders play no part in the digest; contents do.
#[test]
fn the_digest_follows_contents_alone() {
    let renamed =
        Folder(whole().0.into_iter().map(|(path, bytes)| (format!("deep/er/{path}"), bytes)).collect());
    let digest = |folder: &Folder| report(folder, Settings::default(), 1).intake.digest.clone();
    assert_eq!(digest(&whole()), digest(&renamed));
    let changed = whole().with(&path(9), sweep(9).replace("! word", "!  word"));
    assert_ne!(digest(&whole()), digest(&changed));
}

/// Two attenuators in cascade, 1 and 2 dB each: sixteen words for seven settings.
#[test]
fn two_parts_of_one_kind_in_cascade_are_understood() {
    let sweep = |word: u32| {
        let gain_db = -6.0 - f64::from((word & 3) + (word >> 2));
        let rows = (0..4).map(|point| format!("{point}e9 -20 0 {gain_db} 0 {gain_db} 0 -20 0\n"));
        format!("# Hz S DB R 50\n{}", rows.collect::<String>())
    };
    let folder =
        (0..16).fold(Folder::default(), |folder, word| folder.with(&format!("{word:04b}.s2p"), sweep(word)));
    let report = report(&folder, Settings::default(), 2);
    let analysis = report.analysis.expect("analysed");
    let layout = analysis.layout().expect("bits");
    assert_eq!(
        layout.fields.iter().map(|field| (field.step, field.bits.len())).collect::<Vec<_>>(),
        [(1.0, 2); 2]
    );
    let gains: Vec<f64> = analysis.targets.iter().map(|target| target.setting.gain_db).collect();
    assert_eq!(gains, [0.0, -1.0, -2.0, -3.0, -4.0, -5.0, -6.0]);
    assert_eq!(analysis.frequencies[0].chosen.within_both_pct, 100.0);
    assert!(analysis.frequencies[0].nominal.expect("scored").rms_gain_error_db < 1e-9);
}

/// What workers count of the traces adds up to what one worker counts, at every width: where two of them meet, a column of
/// pixels seldom begins at a frequency. The grid is logarithmic, so that many points share the first columns.
#[test]
fn density_is_the_same_for_any_number_of_workers() {
    let grid_ghz: Vec<f64> = (0..60).map(|point| 0.1 * 400_f64.powf(f64::from(point) / 59.0)).collect();
    let folder = (0..4_u32).fold(Folder::default(), |folder, word| {
        let mut text = "# GHz S DB R 50\n".to_owned();
        for ghz in &grid_ghz {
            let gain = -f64::from(word) * (1.0 + ghz / 20.0);
            writeln!(text, "{ghz} -20 0 {gain} 0 {gain} 0 -20 0").expect("a string takes it");
        }
        folder.with(&format!("x_{word:02b}.s2p"), text)
    });
    let counted = |workers: usize, width: usize| {
        let (_, mut shares) = in_turn::run("folder", &folder, Settings::default(), workers);
        let frame = DensityFrame {
            quantity: TraceQuantity::RelativeGainDb,
            width,
            height: 50,
            frequency_ghz: (grid_ghz[0], grid_ghz[59]),
            values: (-10.0, 1.0),
        };
        let mut sum = DensityRaster::new(width, 50);
        for share in &mut shares {
            match share.answer(Request::Density(frame)) {
                Reply::Density(part) => sum.add(&part).expect("the same size"),
                other => panic!("{workers} workers, {width} pixels: {other:?}"),
            }
        }
        sum
    };
    for width in [64, 97, 100, 131, 500] {
        let one = counted(1, width);
        assert!(one.counts().iter().sum::<u32>() >= 4 * 64, "four traces cross the picture");
        for workers in 2..=4 {
            assert!(counted(workers, width) == one, "{workers} workers, {width} pixels");
        }
    }
}
