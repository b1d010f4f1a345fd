//! The checks of a run from files to the answer: what is found, what cures it, and what it does to the verdict.
//!
//! Runs come from the made-up chain of mismatched sections with faults planted; what has to be found is what was planted.

mod folder;
mod planted;

use folder::{Folder, POINTS};
use planted::{Bench, Run};
use std::collections::HashMap;
use std::fmt::Write;
use sweepfold::checks::{Correction, Fault, RunVerdict};
use sweepfold::control::Word;
use sweepfold::pipeline::in_turn::{self, Source};
use sweepfold::pipeline::{Checks, Report, Settings};
use sweepfold::run::{CaptureOrder, CaptureRecord, Offer, OrderOfFiles};
use sweepfold::sheet::{FindingLine, Note, NoteKind, Sheet, ToolFacts, Verdict};

/// A folder whose files have times.
struct Timed {
    folder: Folder,
    modified_s: HashMap<String, f64>,
}

impl Source for Timed {
    fn offers(&self) -> Vec<Offer> {
        self.folder.offers()
    }

    fn bytes(&self, path: &str) -> Vec<u8> {
        self.folder.bytes(path)
    }

    fn modified_s(&self, path: &str) -> Option<f64> {
        self.modified_s.get(path).copied()
    }
}

fn path(word: u32) -> String {
    format!("unit_{word:04}.s2p")
}

/// The files of a run; `gain` multiplies what comes out, S21 alone.
fn files(run: &Run, gain: f64) -> Folder {
    let file = |(word, trace): (&Word, &Vec<num_complex::Complex64>)| {
        let mut text = "# Hz S RI R 50\n".to_owned();
        for (hz, s) in run.frequency_hz.iter().zip(trace) {
            let out = s * gain;
            writeln!(text, "{hz} 0.1 0.02 {} {} {} {} -0.05 0.08", out.re, out.im, s.re, s.im).unwrap();
        }
        (path(word.0), text)
    };
    run.words
        .iter()
        .zip(&run.traces)
        .map(file)
        .fold(Folder::default(), |folder, (path, text)| folder.with(&path, text))
}

fn noisy(bench: &Bench) -> Run {
    bench.run().with_noise(bench, -60.0, 1)
}

fn report(source: &impl Source, settings: Settings, workers: usize) -> Report {
    let (conductor, _) = in_turn::run("folder", source, settings, workers);
    in_turn::report(&conductor).expect("complete").clone()
}

fn checks(report: &Report) -> &Checks {
    report.checks.as_ref().expect("checked")
}

fn faults(report: &Report) -> Vec<&'static str> {
    let sheet = Sheet::of(report, &ToolFacts::on("2026-01-31"));
    sheet.findings.iter().map(|line: &FindingLine| line.name).collect()
}

fn trust(report: &Report) -> (String, Option<Verdict>) {
    let sheet = Sheet::of(report, &ToolFacts::on("2026-01-31"));
    let answer = sheet.answer("trust").expect("answered");
    (answer.sentence.clone(), answer.verdict)
}

#[test]
fn a_sound_run_is_called_sound_and_says_what_it_cannot_show() {
    let report = report(&files(&noisy(&Bench::attenuator(41)), 1.0), Settings::default(), 2);
    assert_eq!(checks(&report).verdict, RunVerdict::Sound);
    assert_eq!(checks(&report).capture.record, CaptureRecord::Assumed);
    assert_eq!(faults(&report), ["step untold", "drift untold"]);
    let (sentence, verdict) = trust(&report);
    assert_eq!(
        sentence,
        "In what could be checked (wiring, capture, passivity and reciprocity), nothing that matters was found; drift \
         could not be checked."
    );
    assert_eq!(verdict, Some(Verdict::Holds));
    let sheet = Sheet::of(&report, &ToolFacts::on("2026-01-31"));
    let told = sheet.answer("sheet").expect("the question").sentence.clone();
    assert!(told.ends_with("; verdict of the run: sound in what could be checked."), "{told}");
    let on_paper = "verdict of the run: sound in what could be checked".to_owned();
    assert!(sheet.provenance.lines_on_paper().contains(&on_paper));
    assert!(sheet.provenance.comment_lines().contains(&on_paper), "files say what the paper says");
    // −60 dB of the zero word in each file; the deep states pull the mean below it.
    let snr = &checks(&report).snr_db;
    let zero_word: f32 = snr.iter().map(|window| window[0]).sum::<f32>() / snr.len() as f32;
    assert!((zero_word - 60.0).abs() < 2.0, "{zero_word}");
}

#[test]
fn the_number_of_workers_changes_nothing_that_is_found() {
    let bench = Bench::gain_phase(3, 41);
    let mut run = bench.run();
    run.missed(21);
    run.unsettled(44, 0.4, 6.0);
    let folder = files(&run.with_noise(&bench, -60.0, 1), 1.0);
    let expected = report(&folder, Settings::default(), 1);
    assert!(faults(&expected).contains(&"missed word"), "{:?}", faults(&expected));
    for workers in [2, 3, 7] {
        let report = report(&folder, Settings::default(), workers);
        assert_eq!(faults(&report), faults(&expected), "{workers} workers");
        assert_eq!(trust(&report), trust(&expected));
    }
}

/// What is measured as one word is what the part does at another: bits 1 and 3 exchanged.
#[test]
fn exchanged_bits_are_told_cured_and_the_cure_taken_back() {
    let bench = Bench::attenuator(41);
    let mut run = noisy(&bench);
    let seen = |word: u32| {
        let differ = (word >> 1 ^ word >> 3) & 1;
        word ^ (differ << 1 | differ << 3)
    };
    let straight = run.traces.clone();
    for word in 0..64 {
        run.traces[word as usize].clone_from(&straight[seen(word) as usize]);
    }
    let folder = files(&run, 1.0);
    let (mut conductor, mut shares) = in_turn::run("folder", &folder, Settings::default(), 2);
    let wired = in_turn::report(&conductor).unwrap().clone();
    assert!(faults(&wired).contains(&"exchanged bits"), "{:?}", faults(&wired));
    assert_eq!(checks(&wired).verdict, RunVerdict::WithCare);
    assert!(trust(&wired).0.contains("bits 1 and 3 have each other's weight"), "{}", trust(&wired).0);

    let finding = checks(&wired).findings.iter().find(|f| matches!(f.fault, Fault::ExchangedBits { .. }));
    let Some(Correction::Layout(layout)) = finding.and_then(|finding| finding.correction.clone()) else {
        panic!("a layout cures it");
    };
    conductor.set_settings(Settings { layout: Some(layout), ..Settings::default() });
    in_turn::drive(&mut conductor, &mut shares, &folder);
    let cured = in_turn::report(&conductor).unwrap();
    assert_eq!(faults(cured), ["step untold", "drift untold"]);
    assert_eq!(checks(cured).verdict, RunVerdict::Sound);
    conductor.set_settings(Settings::default());
    in_turn::drive(&mut conductor, &mut shares, &folder);
    assert_eq!(faults(in_turn::report(&conductor).unwrap()), faults(&wired));
}

#[test]
fn files_in_gray_code_order_are_told_and_taken_so() {
    let bench = Bench::gain_phase(3, 41);
    let mut run = noisy(&bench);
    let straight = run.traces.clone();
    for word in 0..64_usize {
        run.traces[word].clone_from(&straight[word ^ word >> 1]);
    }
    let folder = files(&run, 1.0);
    let shuffled = report(&folder, Settings::default(), 2);
    let order = Correction::Order(OrderOfFiles::Gray);
    assert!(checks(&shuffled).findings.iter().any(|finding| finding.correction.as_ref() == Some(&order)));
    assert_eq!(checks(&shuffled).verdict, RunVerdict::NotToBeTrusted);

    let settings = Settings { file_order: Some(OrderOfFiles::Gray), ..Settings::default() };
    let cured = report(&folder, settings.clone(), 2);
    assert_eq!(cured.intake.file_order, Some(OrderOfFiles::Gray));
    assert_eq!(checks(&cured).verdict, RunVerdict::Sound, "{:?}", checks(&cured).findings);
    // The file named 3 was captured third after 0, 1, 3, that is as word 2.
    let state = cured.intake.states.iter().find(|state| state.word == Word(2)).unwrap();
    assert_eq!(cured.intake.paths[state.file], path(3));
    // Asked for later, and taken back, the run is as it was.
    let (mut conductor, mut shares) = in_turn::run("folder", &folder, Settings::default(), 2);
    for (settings, verdict) in
        [(settings, RunVerdict::Sound), (Settings::default(), RunVerdict::NotToBeTrusted)]
    {
        conductor.set_settings(settings);
        in_turn::drive(&mut conductor, &mut shares, &folder);
        assert_eq!(checks(in_turn::report(&conductor).unwrap()).verdict, verdict);
    }
    // A word that is missing makes the order impossible, which is said.
    let torn = report(
        &folder.without(&path(5)),
        Settings { file_order: Some(OrderOfFiles::Gray), ..Settings::default() },
        1,
    );
    assert_eq!(torn.intake.file_order, None);
    let sheet = Sheet::of(&torn, &ToolFacts::on("2026-01-31"));
    assert!(sheet.answer("trust").unwrap().notes.iter().any(|note| note.text.contains("cannot have")));
}

#[test]
fn a_part_that_amplifies_is_questioned_until_it_is_declared_active() {
    let folder = files(&noisy(&Bench::attenuator(41)), 4.0);
    let questioned = report(&folder, Settings::default(), 3);
    assert_eq!(checks(&questioned).verdict, RunVerdict::WithCare);
    let names = faults(&questioned);
    assert!(names.contains(&"not passive") && names.contains(&"not reciprocal"), "{names:?}");

    let (mut conductor, mut shares) = in_turn::run("folder", &folder, Settings::default(), 3);
    conductor.set_settings(Settings { part_is_active: true, ..Settings::default() });
    in_turn::drive(&mut conductor, &mut shares, &folder);
    let declared = in_turn::report(&conductor).unwrap();
    assert_eq!(faults(declared), ["step untold", "drift untold"]);
    assert!(trust(declared).0.contains("(wiring and capture)"), "{}", trust(declared).0);
}

/// Noise 40 dB below the zero word: a state 31.5 dB below it stands 8.5 dB above the noise, one at 8 dB 32 dB.
#[test]
fn states_near_the_floor_are_told_by_frequency() {
    let bench = Bench::attenuator(41);
    let report = report(&files(&bench.run().with_noise(&bench, -40.0, 3), 1.0), Settings::default(), 2);
    let near_floor = checks(&report).near_floor(41, 20);
    assert!(near_floor[63] && near_floor[62] && !near_floor[0] && !near_floor[16]);
    assert!(faults(&report).contains(&"near the noise floor"));
}

/// A capture every 2 s, and 60 s before word 40.
#[test]
fn times_of_the_files_tell_the_order_and_the_pace() {
    let run = noisy(&Bench::attenuator(41));
    // Captured from the last word down.
    let modified_s: HashMap<String, f64> = (0..64_u32)
        .map(|word| {
            let place = 63 - word;
            (path(word), 2.0 * f64::from(place) + if word <= 40 { 58.0 } else { 0.0 })
        })
        .collect();
    let report = report(&Timed { folder: files(&run, 1.0), modified_s }, Settings::default(), 2);
    let capture = &checks(&report).capture;
    assert_eq!(capture.record, CaptureRecord::Times);
    assert_eq!(capture.order, (0..64).rev().collect::<Vec<_>>());
    let pace = checks(&report).findings.iter().find_map(|finding| match finding.fault {
        Fault::Pace { median_s, longest_s, after } => Some((median_s, longest_s, after)),
        _ => None,
    });
    assert_eq!(pace, Some((2.0, 60.0, Word(40))));
}

/// What is said of the order of capture: the first note.
fn of_capture(report: &Report) -> Note {
    let sheet = Sheet::of(report, &ToolFacts::on("2026-01-31"));
    sheet.answer("trust").expect("answered").notes[0].clone()
}

/// A run captured from the last word down, a sweep a second: the times tell it, the user may know better, and what is
/// asked for later comes to the same as what was asked for at once.
#[test]
fn the_order_of_capture_is_a_guess_until_the_user_gives_it() {
    let run = noisy(&Bench::attenuator(41));
    let modified_s = (0..64_u32).map(|word| (path(word), f64::from(63 - word))).collect();
    let timed = Timed { folder: files(&run, 1.0), modified_s };
    let untimed = files(&run, 1.0);
    let asked = |capture_order| Settings { capture_order, ..Settings::default() };

    for (proposed, of) in [
        (report(&timed, Settings::default(), 2), "the order of the times"),
        (report(&untimed, Settings::default(), 2), "counting order"),
    ] {
        let note = of_capture(&proposed);
        assert_eq!(note.kind, NoteKind::Guess);
        assert!(note.text.contains(of) && note.text.contains("“Order of capture”"), "{}", note.text);
    }
    let counted = report(&timed, asked(CaptureOrder::Counting), 2);
    assert_eq!(checks(&counted).capture.record, CaptureRecord::Given);
    assert_eq!(checks(&counted).capture.order, (0..64).collect::<Vec<_>>());
    assert_eq!(of_capture(&counted).kind, NoteKind::Remark);
    assert!(of_capture(&counted).text.ends_with("as you said."), "{}", of_capture(&counted).text);
    let by_times = report(&timed, asked(CaptureOrder::Times), 2);
    assert_eq!(checks(&by_times).capture.order, (0..64).rev().collect::<Vec<_>>());
    assert_eq!(of_capture(&by_times).kind, NoteKind::Remark);
    let without = report(&untimed, asked(CaptureOrder::Times), 2);
    assert_eq!(checks(&without).capture.record, CaptureRecord::Assumed);
    assert_eq!(of_capture(&without).kind, NoteKind::Attention);

    let (mut conductor, mut shares) = in_turn::run("folder", &timed, Settings::default(), 2);
    for (order, at_once) in [(CaptureOrder::Counting, &counted), (CaptureOrder::Times, &by_times)] {
        conductor.set_settings(asked(order));
        in_turn::drive(&mut conductor, &mut shares, &timed);
        let now = in_turn::report(&conductor).expect("complete");
        assert_eq!(folder::told(now), folder::told(at_once));
    }
}

/// The zero word measured again after every 16 words, while the set-up drifts by −0.5 dB and −4° over the run of 2 hours.
#[test]
fn repeated_captures_tell_the_drift() {
    let bench = Bench::attenuator(41);
    let captures: Vec<u32> =
        (0..64).flat_map(|word| if word % 16 == 15 { vec![word, 0] } else { vec![word] }).collect();
    let last = (captures.len() - 1) as f64;
    let mut folder = Folder::default();
    let (mut rows, mut modified_s) = ("file,word\n".to_owned(), HashMap::new());
    let mut drifting = |drift: f64| {
        for (place, &word) in captures.iter().enumerate() {
            let share = place as f64 / last;
            let mut run = bench.run().with_noise(&bench, -60.0, 100 + place as u64);
            let factor = num_complex::Complex64::from_polar(
                10_f64.powf(-0.5 * drift * share / 20.0),
                (-4.0 * drift * share).to_radians(),
            );
            run.multiply(word as usize, |_| factor);
            run.words = vec![Word(word)];
            run.traces = vec![run.traces[word as usize].clone()];
            let name = format!("capture_{place:03}.s2p");
            let bytes = files(&run, 1.0).bytes(&path(word));
            folder = std::mem::take(&mut folder).with(&name, bytes);
            writeln!(rows, "{name},{word}").unwrap();
            modified_s.insert(name, 7200.0 * share);
        }
        let folder = folder.clone().with("index.csv", std::mem::replace(&mut rows, "file,word\n".to_owned()));
        report(&Timed { folder, modified_s: modified_s.clone() }, Settings::default(), 2)
    };
    let drifted = drifting(1.0);
    assert_eq!(checks(&drifted).capture.captures, 68);
    let told = checks(&drifted).findings.iter().find_map(|finding| match &finding.fault {
        Fault::DriftInRepeats { of, captures, gain_db, phase_deg, gain_db_per_hour, .. } => {
            Some((of.clone(), *captures, *gain_db, *phase_deg, *gain_db_per_hour))
        }
        _ => None,
    });
    let (of, count, gain_db, phase_deg, per_hour) = told.expect("a drift");
    assert_eq!((of, count), (vec![Word(0)], 5));
    assert!((gain_db.value + 0.5).abs() < 4.0 * gain_db.sigma + 0.01, "{gain_db:?}");
    assert!((phase_deg.value + 4.0).abs() < 4.0 * phase_deg.sigma + 0.1, "{phase_deg:?}");
    assert!((per_hour.expect("times are known").value + 0.25).abs() < 0.03);
    assert!(
        trust(&drifted).0.contains("word 0, captured 5 times in all, drifted by"),
        "{}",
        trust(&drifted).0
    );
    // Noise of −60 dB in the zero word, told without the curve of the traces.
    let noise = checks(&drifted).noise.as_ref().expect("noise");
    let curved =
        checks(&report(&files(&noisy(&bench), 1.0), Settings::default(), 1)).noise.clone().expect("noise");
    assert!(noise.sigma <= curved.sigma, "{} above {}", noise.sigma, curved.sigma);

    let steady = drifting(0.0);
    assert!(faults(&steady).contains(&"no drift in repeated captures"), "{:?}", faults(&steady));
    assert_eq!(checks(&steady).verdict, RunVerdict::Sound);
    assert_eq!(
        trust(&steady).0,
        "The run is sound: nothing that matters was found in wiring, capture, passivity, reciprocity and drift."
    );
}

/// A tuning voltage that turns the phase smoothly is no run of bits: nothing is said of wiring or of steps in time.
#[test]
fn a_run_without_bits_is_not_held_against_bits() {
    let mut folder = Folder::default();
    for step in 0..30_u32 {
        let volt = f64::from(step) * 0.5;
        let mut text = "# GHz S DB R 50\n".to_owned();
        for point in 0..POINTS {
            let ghz = 8.0 + 0.5 * point as f64;
            let phase_deg = -40.0 * ghz - 300.0 * (volt / 15.0).powf(0.6);
            let gain_db = -6.0 - 1.5 * (volt / 4.0 - 1.0).tanh();
            writeln!(text, "{ghz} -20 10 {gain_db} {phase_deg} {gain_db} {phase_deg} -18 -30").unwrap();
        }
        folder = folder.with(&format!("tune_{volt:.1}V.s2p"), text);
    }
    let report = report(&folder, Settings::default(), 2);
    assert!(report.intake.listed.is_some());
    assert_eq!(checks(&report).verdict, RunVerdict::Sound, "{:?}", checks(&report).findings);
    let searched = trust(&report).0;
    assert!(
        searched.starts_with("In what could be checked (capture, passivity and reciprocity), "),
        "{searched}"
    );
    assert!(searched.ends_with("; wiring and drift could not be checked."), "{searched}");
}

#[test]
fn the_answers_stand_before_the_checks_and_are_completed_by_them() {
    let folder = files(&noisy(&Bench::attenuator(41)), 1.0);
    let mut conductor =
        sweepfold::pipeline::Conductor::new("folder", folder.offers(), Settings::default(), 1);
    let mut share = sweepfold::pipeline::Share::default();
    while let Some(assignment) = conductor.next(0) {
        let reply = match assignment.request {
            sweepfold::pipeline::protocol::Request::Read(tickets) => {
                let read = tickets.iter().map(|ticket| {
                    let bytes = folder.bytes(conductor.path(ticket.file));
                    share.read_file(ticket, &bytes, in_turn::digest(&bytes))
                });
                sweepfold::pipeline::protocol::Reply::Read(read.collect())
            }
            request => share.answer(request),
        };
        conductor.accept(assignment.id, reply);
    }
    assert!(conductor.is_ready() && conductor.wants_times());
    let before = conductor.report().expect("answers").clone();
    assert!(before.analysis.is_ok() && before.checks.is_none());
    assert!(trust(&before).0.contains("take nothing for granted"));
    let provenance = Sheet::of(&before, &ToolFacts::on("2026-01-31")).provenance;
    assert_eq!(provenance.verdict, RunVerdict::Unchecked);

    in_turn::drive(&mut conductor, &mut [share], &folder);
    let after = in_turn::report(&conductor).expect("complete");
    assert_eq!(checks(after).verdict, RunVerdict::Sound);
    assert_eq!(Sheet::of(after, &ToolFacts::on("2026-01-31")).provenance.verdict, RunVerdict::Sound);
}

/// Noise 60 dB below the zero word; a state of 16 dB stands 44 dB above it. The file is that of the middle frequency.
#[test]
fn the_signal_to_noise_ratio_of_every_state_is_written_down() {
    let report = report(&files(&noisy(&Bench::attenuator(41)), 1.0), Settings::default(), 2);
    let reflections = vec![sweepfold::pipeline::protocol::Reflections { s11: 0.1, s22: 0.1 }; 64];
    let sheet = Sheet::of(&report, &ToolFacts::on("2026-01-31"));
    let made = sweepfold::export::make_with_reflections("states.csv", &report, &sheet, &reflections);
    let text = String::from_utf8(made.expect("a file")).expect("UTF-8");
    let snr_db: Vec<f64> =
        text.lines().skip(1).map(|line| line.rsplit(',').next().unwrap().parse().unwrap()).collect();
    assert_eq!(snr_db.len(), 64);
    assert!((snr_db[0] - 60.0).abs() < 2.0 && (snr_db[32] - 44.0).abs() < 2.0, "{snr_db:?}");
}
