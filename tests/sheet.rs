//! What the sheet says of reports made by hand.

mod sheet_fixture;

use sheet_fixture::{
    analysis, cascade, failed, intake, ladder, make_score, nothing_but, phase_shifter, tool,
};
use std::sync::Arc;
use sweepfold::control::Word;
use sweepfold::pipeline::{Mapping, NoAnalysis, Report};
use sweepfold::plane::ReferencePolicy;
use sweepfold::run::{FileFault, Interpolation, LeftOut, LeftOutReason, PortPath};
use sweepfold::sheet::{NoteKind, RunVerdict, Sheet, Verdict};

fn sentence(report: &Report, key: &str) -> String {
    Sheet::of(report, &tool()).answer(key).expect("the question").sentence.clone()
}

fn notes(report: &Report, key: &str) -> Vec<String> {
    let sheet = Sheet::of(report, &tool());
    sheet.answer(key).expect("the question").notes.iter().map(|note| note.text.clone()).collect()
}

fn left_out(path: &str, reason: LeftOutReason) -> LeftOut {
    LeftOut { path: path.to_owned(), reason }
}

#[test]
fn a_complete_cascade_reads_as_a_colleague_would_put_it() {
    let report = cascade(161);
    assert_eq!(
        sentence(&report, "came-in"),
        "4,096 words of 12 bits came in, none missing: 161 frequencies from 6 to 14 GHz."
    );
    // 3.4 % goes 5.35 times into 18.2 %.
    assert_eq!(
        sentence(&report, "words"),
        "At 10 GHz the chosen words serve 99.1 % of 4,096 settings within ±0.25 dB and ±1.40625°; the nominal \
         words serve 12.0 %. Choosing makes the RMS vector error 5.4 times smaller, from 18.2 % to 3.4 %."
    );
    // By hand: −15.5 + 0.1 dB, and a gap of one phase step, as a common turn changes no gap.
    assert_eq!(
        sentence(&report, "plane"),
        "At 10 GHz the 4,096 states reach from −15.40 to +0.10 dB (ideal −15.5 to 0 dB) and go round the circle \
         with no gap in phase wider than 2.8° (ideal 2.8125°); the reference, the full ring, gives up 1.2 dB of gain."
    );
    assert_eq!(
        notes(&report, "words"),
        [
            "Held from 6 to 14 GHz, the words chosen at 10 GHz serve 45.0 % of the settings on average and 45.0 % at \
             worst, at 6 GHz.",
            "No other reference lowers the chosen words' RMS vector error over the design band, 3.4 %.",
            "Worst served is −15.5 dB, −357.1875°: word 4094 misses it by 0.10 dB and 0.50°.",
            "312 states serve no setting, 280 serve more than one.",
        ]
    );
    assert_eq!(
        notes(&report, "came-in"),
        [
            "A guess: the four digits before the dot are the word, in decimal. Why: the names fit no other reading \
             that is known here. To correct it: drop an index with the files, a table of their names and words.",
            "The layout as given: phase: bits 0 to 6, step 2.8125°, larger code lags, no bit inverted; gain: bits \
             7 to 11, step 0.5 dB, larger code attenuates, no bit inverted.",
        ]
    );
    assert_eq!(
        sentence(&report, "sheet"),
        "run 7: 4,096 words from 6 to 14 GHz; verdict of the run: unchecked."
    );
}

/// The states 0, 92, 177 and 274 degrees: gaps 92, 85, 97, 86; errors 0, 2, −3, 4; one of four beyond 3.5 degrees.
#[test]
fn a_two_bit_phase_shifter_gets_its_handbook_numbers() {
    let report = phase_shifter();
    let sheet = Sheet::of(&report, &tool());
    assert_eq!(
        sentence(&report, "plane"),
        "At 10 GHz the 4 states spread over 0 dB in gain (ideal none) and go round the circle with no gap in phase \
         wider than 97.0° (ideal 90°); the reference, the zero word, gives up no gain."
    );
    assert_eq!(
        notes(&report, "plane"),
        [
            "Against their nominal places the states are off by 0 dB and 2.7° RMS (0 dB and 2.6° about their mean), 4.7 % of each setting's own \
             magnitude.",
            "With the other fields at code 0 the states resolve phase as finely as an ideal part of 1.99 bits.",
        ]
    );
    assert_eq!(
        sentence(&report, "words"),
        "At 10 GHz the chosen words serve 75.0 % of 4 settings within ±0.5 dB and ±3.5°; the nominal words serve \
         75.0 %. Choosing leaves the RMS vector error at 4.7 %."
    );
    // (100 + 75 + 25)/3.
    let words = sheet.answer("words").expect("the question");
    assert_eq!(
        words.notes[0].text,
        "Held from 9 to 11 GHz, the words chosen at 10 GHz serve 66.7 % of the settings \
                                     on average and 25.0 % at worst, at 11 GHz."
    );
    assert_eq!(words.notes[1].text, "Worst served is 0 dB, 270°: word 3 misses it by 0 dB and 4.0°.");
    assert_eq!(words.notes[2].text, "Every state serves exactly one setting.");
    let figure = |name| words.figures.iter().find(|figure| figure.name == name).expect("the figure");
    assert!((figure("chosen_rms_phase_error_deg").value - 2.692_582_403_567_252).abs() < 1e-15);
    assert_eq!(figure("chosen_rms_phase_error_deg").text, "2.7°");
    assert!((figure("held_band_within_both_pct").value - 200.0 / 3.0).abs() < 1e-12);
}

#[test]
fn a_guess_is_marked_as_one_with_its_reason() {
    let sheet = Sheet::of(&phase_shifter(), &tool());
    let guess = &sheet.answer("came-in").expect("the question").notes[1];
    assert_eq!(guess.kind, NoteKind::Guess);
    assert_eq!(
        guess.text,
        "A guess: the layout of the control word is phase: bits 0 and 1, step 90°, larger code leads, no bit \
         inverted. Why: the two bits turn the phase by 92 and 177 degrees. To correct it: change it under “Control \
         word”."
    );
}

#[test]
fn missing_words_are_named_and_then_counted() {
    let grid = || vec![10e9];
    let report = |bits, words: Vec<u32>| {
        failed(
            intake(bits, words.into_iter(), grid()),
            NoAnalysis::NoLayout("no two words differ".to_owned()),
        )
    };
    let one = report(6, (0..64).filter(|word| *word != 17).collect());
    assert_eq!(
        sentence(&one, "came-in"),
        "63 of 64 words of 6 bits came in, word 17 is missing: 1 frequency, 10 GHz."
    );
    let three = report(6, (0..64).filter(|word| ![3, 7, 12].contains(word)).collect());
    assert_eq!(
        sentence(&three, "came-in"),
        "61 of 64 words of 6 bits came in, words 3, 7 and 12 are missing: 1 frequency, 10 GHz."
    );
    let most = report(12, vec![0, 4095]);
    assert_eq!(
        sentence(&most, "came-in"),
        "2 of 4,096 words of 12 bits came in, words 1, 2, 3, 4, 5 and 4,089 more are missing: 1 frequency, 10 GHz."
    );
    let verdict = |report| Sheet::of(report, &tool()).answer("came-in").expect("the question").verdict;
    assert_eq!(verdict(&one), Some(Verdict::Fails));
    assert_eq!(verdict(&phase_shifter()), Some(Verdict::Holds));
}

#[test]
fn nothing_usable_says_what_happened_and_what_to_do() {
    assert_eq!(
        sentence(&nothing_but(Vec::new()), "came-in"),
        "Nothing came in: the folder is empty. Drop the folder that holds one S-parameter file per control word."
    );
    let notes = ["a.txt", "b.png"].map(|path| left_out(path, LeftOutReason::NotSParameters));
    assert_eq!(
        sentence(&nothing_but(notes.to_vec()), "came-in"),
        "No S-parameter files came in: none of the 2 files is named like one (.s2p or .ts). Drop the folder that \
         holds one such file per control word."
    );
    let mixed = vec![
        left_out("a.s4p", LeftOutReason::Ports(1)),
        left_out("b.s4p", LeftOutReason::Ports(1)),
        left_out("readme.txt", LeftOutReason::NotSParameters),
    ];
    let report = nothing_but(mixed);
    assert_eq!(
        sentence(&report, "came-in"),
        "No words came in. 3 files were left out: 2 have one port only and 1 is not named like \
         an S-parameter file. The list below says what to do about each."
    );
    assert_eq!(Sheet::of(&report, &tool()).answer("came-in").expect("the question").verdict, None);
    for key in ["plane", "words"] {
        assert!(sentence(&report, key).ends_with(
            "No file became a state, so there is nothing to analyse. Drop the folder that holds one two-port \
             S-parameter file per control word."
        ));
    }
}

#[test]
fn every_file_left_out_has_a_reason_and_a_remedy() {
    let fault = |line, column, message: &str| {
        LeftOutReason::Unreadable(FileFault { line, column, message: message.to_owned() })
    };
    let cases = [
        (
            LeftOutReason::NotSParameters,
            "Its name does not end like an S-parameter file's (.s2p or .ts). If it is one, give it that ending and \
             drop the folder again.",
        ),
        (
            fault(Some(1_204), None, "The last row is cut short, 5 of 9 values. Copy the file again."),
            "It could not be read. Line 1,204: The last row is cut short, 5 of 9 values. Copy the file again.",
        ),
        (
            fault(Some(3), Some(14), "“1,5” is no number. Write decimals with a point."),
            "It could not be read. Line 3, column 14: “1,5” is no number. Write decimals with a point.",
        ),
        (
            LeftOutReason::Ports(1),
            "It has 1 port; a state has two. Save the path from the part's input to its output as a two-port file.",
        ),
        (
            LeftOutReason::NoWord,
            "Its name gives no control word as the other names do. Name it like the others if it is a state; else \
             nothing needs doing.",
        ),
        (
            LeftOutReason::Doubled { word: Word(17), kept: "a/x_17.s2p".to_owned() },
            "Word 17 is already given by “a/x_17.s2p”, which was read first and is used. Remove whichever of the \
             two is wrong.",
        ),
        (
            LeftOutReason::OtherGrid {
                points: 201,
                first_hz: 6e9,
                last_hz: 12e9,
                interpolation: Interpolation::Outside,
            },
            "Its 201 frequencies from 6 to 12 GHz are not the run's. The run goes beyond them, so they cannot be \
             interpolated. Measure it again with the run's frequencies.",
        ),
        (
            LeftOutReason::OtherReference { reference_ohm: [75.0; 2], one_path: true },
            "Its reference impedance is 75 Ω, the run's is 50 Ω. It cannot be renormalised, since S12 and S22 were \
             not measured. Save it again with the run's.",
        ),
        (
            LeftOutReason::OtherReference { reference_ohm: [50.0, 75.0], one_path: false },
            "Its reference impedance is 50 Ω at the input and 75 Ω at the output, the run's is 50 Ω. It can be \
             renormalised: allow that above.",
        ),
        (
            LeftOutReason::NoSuchPath { ports: 3, path: PortPath { input: 1, output: 4 } },
            "It has 3 ports, so there is no path from port 1 to port 4 through it. Choose another path above.",
        ),
        (
            LeftOutReason::OtherGrid {
                points: 3,
                first_hz: 6e9,
                last_hz: 12e9,
                interpolation: Interpolation::Offered { largest_error: 0.015 },
            },
            "Its 3 frequencies from 6 to 12 GHz are not the run's. It can be interpolated if you ask for it above; \
             between two of its points a straight line may miss the transmission by 1.5 %.",
        ),
    ];
    let mut report = phase_shifter();
    Arc::make_mut(&mut report.intake).left_out =
        cases.iter().map(|(reason, _)| left_out("f", reason.clone())).collect();
    let sheet = Sheet::of(&report, &tool());
    for (line, (_, expected)) in sheet.left_out.iter().zip(&cases) {
        assert_eq!(line.sentence, *expected);
    }
    assert_eq!(sheet.left_out.len(), cases.len());
    assert_eq!(
        sheet.answer("came-in").expect("the question").notes[0].text,
        "11 files were left out: 1 is not named like an S-parameter file, 2 could not be read, 1 has one port only, \
         1 names no control word, 1 repeats the word of another file, 2 have other frequencies than the run, 2 have \
         another reference impedance than the run and 1 lacks a port of the path. The rest went on."
    );
}

#[test]
fn a_huge_text_is_quoted_in_part() {
    let message = format!("there is no option line before “{}”.", "x".repeat(1_000_000));
    let fault = FileFault { line: Some(1), column: None, message };
    let report = nothing_but(vec![left_out("notes.s2p", LeftOutReason::Unreadable(fault))]);
    let sheet = Sheet::of(&report, &tool());
    assert!(sheet.left_out[0].sentence.chars().count() < 220);
    assert!(sheet.left_out[0].sentence.ends_with("xx…"));
    assert_eq!(
        sheet.answers[0].sentence,
        "No words came in. 1 file was left out: it could not be read. The list below says what to do about each."
    );
}

#[test]
fn each_missing_analysis_says_what_to_do() {
    let cases = [
        (
            NoAnalysis::OneState,
            "Only one state came in, and there is nothing to compare it with. Drop the folder with all states, not \
             a single file.",
        ),
        (
            NoAnalysis::NoLayout("bits 3 and 4 do nothing".to_owned()),
            "The layout of the control word could not be told from the measurements. Bits 3 and 4 do nothing. Enter \
             it: which bits set gain or phase, the step of each field and its direction.",
        ),
        (
            NoAnalysis::LayoutTooSmall { layout_bits: 6, word_bits: 12 },
            "The layout has 6 bits, but the words need 12. Add the missing bits to the layout, or check how the \
             file names were read.",
        ),
        (
            NoAnalysis::NoReference(ReferencePolicy::ZeroWord),
            "The reference “zero word” needs the word of zero nominal gain and phase, which did not come in. \
             Measure it, or choose another reference.",
        ),
    ];
    for (reason, expected) in cases {
        let report = failed(intake(0, 0..1, vec![1e9, 2e9]), reason);
        assert_eq!(sentence(&report, "plane"), format!("No state can be placed. {expected}"));
        assert_eq!(sentence(&report, "words"), format!("No word can be given. {expected}"));
        assert!(notes(&report, "came-in").contains(&expected.to_owned()));
    }
}

/// By hand from the cascade's rungs: over the band 5 % under the zero word, which gives up nothing, and 3.4 % under the full ring,
/// which gives up 1.2 dB.
#[test]
fn a_better_reference_is_named_with_its_price() {
    let mut report = cascade(161);
    analysis(&mut report).reference = ReferencePolicy::ZeroWord;
    let said = "With the full ring as reference the chosen words' RMS vector error over the design band is 3.4 % instead of \
                5.0 %; it gives up 1.2 dB more gain at 10 GHz. It may jump from one frequency to the next, which \
                something common to all channels has to make good.";
    assert!(notes(&report, "words").contains(&said.to_owned()), "{:?}", notes(&report, "words"));
}

#[test]
fn the_ladder_tells_what_each_step_gained() {
    let sheet = Sheet::of(&cascade(161), &tool());
    let rows: Vec<(&str, &str)> =
        sheet.ladder.iter().map(|row| (row.label.as_str(), row.sentence.as_str())).collect();
    assert_eq!(
        rows,
        [
            (
                "Nominal words, zero word as reference",
                "Where it starts: RMS vector error 18.2 %, 12.0 % of the settings within tolerance."
            ),
            (
                "Chosen words, zero word as reference",
                "Choosing the nearest state makes the RMS vector error 3.6 times smaller, from 18.2 % to 5.0 %, and \
                 brings 80.0 % of the settings within tolerance, up from 12.0 %."
            ),
            (
                "Chosen words, full ring as reference",
                "Taking the full ring as reference makes the RMS vector error 1.5 times smaller, from 5.0 % to \
                 3.4 %, and brings 99.1 % of the settings within tolerance, up from 80.0 %; it gives up 1.2 dB of \
                 gain."
            ),
        ]
    );
    let mut worse = cascade(161);
    ladder(&mut worse)[2].at_frequency = make_score(1.0, 2.0, 0.06, 70.0);
    assert!(Sheet::of(&worse, &tool()).ladder[2].sentence.starts_with(
        "Taking the full ring as reference raises the RMS vector error from 5.0 % to 6.0 % and brings 70.0 % of the \
         settings within tolerance, down from 80.0 %"
    ));
}

#[test]
fn nothing_is_claimed_that_the_data_does_not_support() {
    let mut report = cascade(161);
    let index = analysis(&mut report).service.index;
    let at = &mut analysis(&mut report).frequencies[index];
    at.gain_given_up_db = None;
    at.nominal =
        Some(sweepfold::plane::Score { missing: 1, ..make_score(f64::NAN, f64::NAN, f64::NAN, 0.0) });
    report.settings.reference = ReferencePolicy::ZeroWord;
    assert!(sentence(&report, "plane").ends_with(
        "what gain the reference, the full ring, gives up cannot be told, as the zero word is missing."
    ));
    assert!(notes(&report, "plane").contains(
        &"The reference asked for, the zero word, needs a word that did not come in; the full ring is used instead.".to_owned()
    ));
    assert!(
        sentence(&report, "words")
            .ends_with("The RMS vector error cannot be compared, as no nominal word came in.")
    );
    assert!(notes(&report, "words").contains(
        &"1 setting has a nominal word that did not come in: counted as outside tolerance, and left out of the \
          nominal words' RMS."
            .to_owned()
    ));
}

#[test]
fn the_run_is_unchecked_and_the_cautions_are_there() {
    let sheet = Sheet::of(&phase_shifter(), &tool());
    assert_eq!(sheet.provenance.verdict, RunVerdict::Unchecked);
    assert_eq!(sheet.provenance.check, "check against the part's limits before driving hardware");
    assert_eq!(
        sheet.provenance.layout.as_deref(),
        Some("phase: bits 0 and 1, step 90 deg, larger code leads, no bit inverted (guessed)")
    );
    let paper = sheet.provenance.lines_on_paper();
    for line in [
        "layout: phase: bits 0 and 1, step 90°, larger code leads, no bit inverted (guessed)",
        "tolerance: ±0.5 dB and ±3.5°",
        "frequency: 10 GHz",
        "design band: 9 GHz to 11 GHz",
    ] {
        assert!(paper.iter().any(|on_paper| on_paper == line), "{line}: {paper:?}");
    }
    let cautions = sheet.cautions.join(" ").to_lowercase();
    for subject in [
        "part's own limits and local rules",
        "rf power",
        "static discharge",
        "supplies before",
        "radiated",
        "licence",
    ] {
        assert!(cautions.contains(subject), "{subject}");
    }
    let keys: Vec<(u8, &str)> = sheet.answers.iter().map(|answer| (answer.number, answer.key)).collect();
    assert_eq!(
        keys,
        [
            (1, "came-in"),
            (2, "trust"),
            (3, "parts"),
            (4, "plane"),
            (5, "words"),
            (6, "reach"),
            (7, "use"),
            (8, "sheet")
        ]
    );
}

/// RMS over the band of 0, 2.692582 and 7.5 degrees is √((29/4 + 225/4)/3), by hand.
#[test]
fn a_band_is_the_root_mean_square_of_its_errors_and_the_mean_of_its_shares() {
    let mut report = phase_shifter();
    let analysis = analysis(&mut report);
    let band = |range| {
        sweepfold::sheet::band::over_band(&analysis.frequencies, &range, Mapping::Held).expect("grid points")
    };
    let whole = band(0..=2);
    assert!((whole.score.rms_phase_error_deg - (63.5_f64 / 3.0).sqrt()).abs() < 1e-12);
    assert!((whole.score.within_both_pct - 200.0 / 3.0).abs() < 1e-12);
    assert_eq!((whole.worst_vector_index, whole.worst_share_index, whole.worst_share_pct), (2, 2, 25.0));
    assert_eq!(band(1..=1).score.within_both_pct, 75.0);
    assert!(sweepfold::sheet::band::over_band(&analysis.frequencies, &(2..=3), Mapping::Held).is_none());
}

/// What follows the pointer says the same as the sheet that is made when it rests.
#[test]
fn the_answers_about_the_chosen_frequency_are_those_of_the_sheet() {
    for report in [cascade(161), phase_shifter()] {
        let sheet = Sheet::of(&report, &tool());
        let here = sweepfold::sheet::answers_here(&report, &tool());
        assert_eq!(here.iter().map(|answer| answer.key).collect::<Vec<_>>(), ["plane", "words"]);
        for answer in &here {
            assert_eq!(Some(answer), sheet.answer(answer.key));
        }
    }
}

/// A phase shifter's words lie at 0, 92, 177 and 274 degrees; two places of one magnitude that are 2° apart are 2·sin 1° =
/// 3.5 % apart, at 3° 5.2 %, at 87° and 88° more than the magnitude itself.
#[test]
fn a_state_that_is_picked_out_is_told_in_a_sentence() {
    let mut report = phase_shifter();
    let said = |report: &Report, state| {
        let analysis = report.analysis.as_ref().expect("analysed");
        sweepfold::sheet::picked::sentence(report, analysis, state)
    };
    let told = "Word 1 (hexadecimal 1) at 10 GHz: 0 dB and 92.0° relative to the reference, 0 dB, 2.0° and 3.5 % from its \
                nominal 0 dB and 90°.";
    assert_eq!(said(&report, 1), Some(format!("{told} It is chosen for that setting.")));
    let beyond = said(&report, 3).expect("there is such a state");
    assert!(
        beyond.contains(": 0 dB and 274.0° (−86.0° in the plane) relative")
            && beyond.contains("nominal 0 dB and 270°."),
        "{beyond}"
    );
    assert_eq!(said(&report, 4), None);
    analysis(&mut report).service.chosen[2].state = 1;
    assert_eq!(said(&report, 1), Some(format!("{told} It is chosen for 2 settings, that one among them.")));
    let other = said(&report, 2).expect("there is such a state");
    assert!(other.ends_with("nominal 0 dB and 180°. It is chosen for no setting."), "{other}");
    analysis(&mut report).service.chosen[1].state = 0;
    let other = said(&report, 1).expect("there is such a state");
    assert!(
        other.ends_with(" It is chosen for 0 dB and 180°: 0 dB, −88.0° and 138.9 % from that."),
        "{other}"
    );
}

/// The states at 0, 10, 20 and 30° leave 330° of the circle, more than two of the 90° between the settings.
#[test]
fn a_circle_with_a_part_missing_is_not_praised() {
    let mut report = phase_shifter();
    let phases_deg = [0.0, 10.0, 20.0, 30.0_f64];
    analysis(&mut report).service.transmission =
        phases_deg.map(|phase_deg| num_complex::Complex64::from_polar(0.5, phase_deg.to_radians())).to_vec();
    assert!(
        sentence(&report, "plane").contains(" and leave a gap in phase of 330.0° (ideal step 90°); "),
        "{}",
        sentence(&report, "plane")
    );
}

#[test]
fn files_that_are_left_out_for_one_reason_share_a_sentence() {
    let missing = |reason: LeftOutReason| {
        let mut intake = intake(2, 0..3, vec![9e9, 10e9, 11e9]);
        intake.left_out = ["a", "b"].map(|path| left_out(path, reason.clone())).to_vec();
        let report = failed(intake, NoAnalysis::NoLayout("no two words differ".to_owned()));
        (sentence(&report, "came-in"), notes(&report, "came-in").remove(0))
    };
    let (said, note) = missing(LeftOutReason::NotSParameters);
    assert_eq!(said, "3 of 4 words of 2 bits came in, word 3 is missing: 3 frequencies from 9 to 11 GHz.");
    assert_eq!(note, "2 files were left out: they are not named like S-parameter files. The rest went on.");
    // A file with one port may have been word 3, so that the word is not plainly missing.
    let (said, note) = missing(LeftOutReason::Ports(1));
    assert_eq!(
        said,
        "3 of 4 words of 2 bits came in; for word 3 no usable file came: 3 frequencies from 9 to 11 GHz."
    );
    assert_eq!(note, "2 files were left out: they have one port only. The rest went on.");
}

/// The ends by hand: from 100 to 0 % the 90 % are crossed a tenth of the way, from 95 to 0 % a nineteenth.
#[test]
fn the_bands_of_the_nominal_words_are_counted() {
    let mut report = phase_shifter();
    let said = |report: &Report| {
        let notes = notes(report, "reach");
        notes.into_iter().find(|note| note.starts_with("The nominal words")).expect("there are nominal words")
    };
    let with = |report: &mut Report, shares: [f64; 3]| {
        for (at, share) in analysis(report).frequencies.iter_mut().zip(shares) {
            at.nominal = Some(make_score(0.0, 1.0, 0.02, share));
        }
    };
    with(&mut report, [50.0, 60.0, 70.0]);
    assert_eq!(said(&report), "The nominal words serve at least 90 % of the settings nowhere.");
    with(&mut report, [0.0, 100.0, 0.0]);
    let one = "The nominal words serve at least 90 % of the settings in one band, from 9.9 to 10.1 GHz.";
    assert_eq!(said(&report), one);
    with(&mut report, [100.0, 0.0, 95.0]);
    let two =
        "The nominal words serve at least 90 % of the settings in 2 bands, the widest from 9.0 to 9.1 GHz.";
    assert_eq!(said(&report), two);
}

#[test]
fn nominal_words_that_serve_more_are_explained() {
    let mut report = phase_shifter();
    let said = |report: &Report| {
        let notes = notes(report, "words");
        notes.into_iter().find(|note| note.starts_with("The nominal words serve more"))
    };
    assert_eq!(said(&report), None);
    let of = analysis(&mut report);
    of.frequencies[1].chosen = make_score(0.0, 1.0, 0.02, 56.25);
    of.tolerance.phase_deg = f64::INFINITY;
    assert_eq!(
        said(&report).as_deref(),
        Some(
            "The nominal words serve more: 75.0 % against 56.2 %. The nearest state is nearest in gain and phase together, \
             though the phase is not limited here; with the rule “tolerance first” what is within tolerance comes before \
             what is near."
        )
    );
    analysis(&mut report).rule = sweepfold::table::SelectionRule::ToleranceFirst;
    assert_eq!(said(&report), None);
}
