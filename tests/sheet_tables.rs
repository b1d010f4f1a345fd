//! What question 5 says of tables for the band, and the files that hold them: literal texts of a report made by hand.

mod sheet_fixture;

use sheet_fixture::{DIGEST, analysis, make_score, phase_shifter, tool};
use std::sync::Arc;
use sweepfold::control::Word;
use sweepfold::export::{self, ExportRefused, WhichTable, make_table, read_c_array, read_memory_image};
use sweepfold::pipeline::{
    Along, BandError, FewestForBand, HeldError, Report, TableForBand, TableForPiece, Tables,
};
use sweepfold::plane::LargestError;
use sweepfold::sheet::{Answer, NoteKind, Sheet, tables};
use sweepfold::table::{BandOnSecondCapture, BandTable, OnSecondCapture, OutOfReach};

const HELD: HeldError = HeldError::Given { pct: 7.0 };

fn along(transmission_db: [f64; 4], transmission_index: usize) -> Vec<Along> {
    let of = |transmission_db| Along {
        gain_error_db: -0.25,
        phase_error_deg: 3.5,
        transmission_db,
        transmission_index,
    };
    transmission_db.map(of).to_vec()
}

fn piece(piece: std::ops::RangeInclusive<usize>, states: [u32; 4], worst: f64) -> TableForPiece {
    TableForPiece {
        piece,
        states: states.to_vec(),
        errors: vec![0.0, 0.0, worst, 0.0],
        along: along([-6.0, -6.0, -6.0, -6.5], 1),
    }
}

/// The two-bit phase shifter at 9, 10 and 11 GHz with one table for all of it, and two.
fn with_tables() -> Report {
    let mut report = phase_shifter();
    report.tables = Tables {
        band: Some(Arc::new(TableForBand {
            band: 0..=2,
            error: BandError::Worst,
            table: BandTable {
                states: vec![0, 1, 2, 2],
                errors: vec![0.0, 0.05, 0.0625, 0.125],
                per_frequency: vec![0.0, 0.05, 0.05, 0.0625],
            },
            along: along([-6.0, -6.0, -5.5, -5.5], 2),
        })),
        fewest: Some(Arc::new(FewestForBand {
            band: 0..=2,
            limit: HELD,
            tables: Ok(vec![piece(0..=1, [0, 1, 2, 3], 0.0625), piece(2..=2, [0, 1, 3, 3], 0.03125)]),
        })),
        second_capture: None,
        band_on_second_capture: None,
    };
    report
}

fn fewest(report: &mut Report, limit: HeldError, tables: Result<Vec<TableForPiece>, OutOfReach>) {
    report.tables.fewest = Some(Arc::new(FewestForBand { band: 0..=2, limit, tables }));
}

fn answer(report: &Report) -> Answer {
    Sheet::of(report, &tool()).answer("words").expect("the question").clone()
}

/// What is said of the tables: the sentence after what is said of one frequency.
fn said(report: &Report) -> String {
    let sentence = answer(report).sentence;
    sentence.split_once("One table ").map(|(_, said)| said.to_owned()).expect("it is said")
}

fn notes(report: &Report) -> Vec<(NoteKind, String)> {
    // The first three are those of one frequency.
    answer(report).notes.into_iter().skip(3).map(|note| (note.kind, note.text)).collect()
}

/// One of four settings errs by 1.75 of its own magnitude somewhere even with each frequency's own words, at the centre by 0.1.
#[test]
fn where_even_a_table_per_frequency_fails_the_settings_that_it_misses_are_counted() {
    let mut report = with_tables();
    let of_bad = |report: &mut Report, per_frequency: f64| {
        let band = report.tables.band.as_mut().map(Arc::make_mut).expect("a table");
        band.table.per_frequency = vec![0.0, 0.05, 0.05, per_frequency];
        band.table.errors = vec![0.0, 0.05, 0.0625, 2.5];
    };
    of_bad(&mut report, 1.75);
    let centre = analysis(&mut report).centre;
    let at_centre = |report: &mut Report, error: f64| {
        let at = &mut analysis(report).frequencies[centre];
        at.chosen.largest_vector_error = Some(LargestError { target: 3, error });
    };
    at_centre(&mut report, 0.1);
    let missed = "from 9 to 11 GHz has a vector error of 250.0 % at worst; even a table per frequency misses 1 of 4 settings \
                  by 100 % or more somewhere, 175.0 % at worst.";
    assert_eq!(said(&report), format!("{missed} A narrower design band would do better."));
    // What fails at the centre too fails in any band about it.
    at_centre(&mut report, 1.2);
    assert_eq!(said(&report), missed);
    of_bad(&mut report, 0.999);
    assert!(
        said(&report).starts_with("from 9 to 11 GHz has a vector error of 250.0 % at worst, a table per")
    );
}

#[test]
fn the_cost_of_one_table_and_the_fewest_are_said_in_a_sentence() {
    let mut report = with_tables();
    assert_eq!(
        said(&report),
        "from 9 to 11 GHz has a vector error of 12.5 % at worst, a table per frequency 6.2 %; 2 tables hold 7 %."
    );
    assert_eq!(
        notes(&report),
        [(NoteKind::Remark, "2 tables hold 7 %: from 9 to 10 GHz and at 11 GHz.".to_owned())]
    );
    let figures = answer(&report).figures;
    let value = |name: &str| figures.iter().find(|figure| figure.name == name).expect("the figure").value;
    assert_eq!(value("band_table_worst_vector_error_pct"), 12.5);
    assert_eq!(value("per_frequency_worst_vector_error_pct"), 6.25);
    assert_eq!((value("held_error_pct"), value("fewest_tables")), (7.0, 2.0));

    fewest(&mut report, HeldError::Corner { pct: 13.0 }, Ok(vec![piece(0..=2, [0, 1, 2, 2], 0.125)]));
    assert!(said(&report).ends_with("; 1 table holds 13 %."), "{}", said(&report));
    assert_eq!(
        notes(&report),
        [
            (
                NoteKind::Guess,
                "A guess: 13 % is the error to hold. Why: it is how far the corner of the tolerance cell is, and over \
                 the band a table per frequency keeps it. To correct it: give another at “The fewest tables hold a \
                 vector error of”."
                    .to_owned()
            ),
            (NoteKind::Remark, "1 table holds 13 %: from 9 to 11 GHz.".to_owned())
        ]
    );

    fewest(&mut report, HeldError::Margin { pct: 2.5 }, Err(OutOfReach { frequency: 1, targets: vec![3] }));
    assert!(
        said(&report)
            .ends_with("; no number of tables holds 2.5 %, since 1 setting is out of reach at 10 GHz."),
        "{}",
        said(&report)
    );
    assert_eq!(
        notes(&report)[1],
        (
            NoteKind::Attention,
            "At 10 GHz no state comes within 2.5 % of 1 setting: 0 dB, 270°. From there on no table is looked for."
                .to_owned()
        )
    );
    fewest(&mut report, HELD, Err(OutOfReach { frequency: 0, targets: vec![0, 1, 2, 3] }));
    assert!(said(&report).ends_with("since 4 settings are out of reach at 9 GHz."), "{}", said(&report));
    assert_eq!(
        notes(&report)[0].1,
        "At 9 GHz no state comes within 7 % of 4 settings: 0 dB, 0°; 0 dB, 90°; 0 dB, 180° and 1 more. From there on \
         no table is looked for."
    );

    report.tables.fewest = None;
    assert!(said(&report).ends_with("a table per frequency 6.2 %."), "{}", said(&report));
    assert_eq!(
        notes(&report)[0].1,
        "No error to be held by the fewest tables is proposed, since even a table per frequency errs more than 40 % \
         somewhere."
    );
}

#[test]
fn the_root_mean_square_is_named_and_one_frequency_has_but_one_table() {
    let mut report = with_tables();
    let one = TableForBand { error: BandError::Rms, ..(**report.tables.band.as_ref().expect("one")).clone() };
    report.tables.band = Some(Arc::new(one));
    // √((0.05² + 0.0625² + 0.125²)/4) = 0.0742 and √((2·0.05² + 0.0625²)/4) = 0.0472, by hand.
    assert!(
        said(&report)
            .starts_with("from 9 to 11 GHz has a vector error of 7.4 % RMS, a table per frequency 4.7 %;"),
        "{}",
        said(&report)
    );
    let one = TableForBand { band: 1..=1, ..(**report.tables.band.as_ref().expect("one")).clone() };
    report.tables.band = Some(Arc::new(one));
    assert!(!answer(&report).sentence.contains("One table"));
    assert_eq!(notes(&report), []);
}

#[test]
fn the_tables_are_listed_with_their_edges() {
    let (head, rows) = tables::rows(&with_tables()).expect("tables");
    assert_eq!(head[..4], ["Table", "From", "To", "Vector error"]);
    let all = ["0.25 dB", "3.5°", "−5.5 dB"];
    assert_eq!(rows[0], [&["One for the band", "9 GHz", "11 GHz", "12.5 % at worst"][..], &all].concat());
    assert_eq!(rows[1][..4], ["1 of 2", "9 GHz", "10 GHz", "6.2 % at worst"]);
    assert_eq!(rows[2][..4], ["2 of 2", "11 GHz", "11 GHz", "3.1 % at worst"]);
    assert_eq!(tables::rows(&phase_shifter()), None);
}

#[test]
fn a_second_capture_is_said_only_where_there_is_one() {
    let mut report = phase_shifter();
    let capture = |targets| OnSecondCapture {
        targets,
        own: make_score(0.0, 0.0, 0.022, 100.0),
        other: make_score(0.0, 0.0, 0.031, 66.666_667),
        rms_vector_error_gained: 0.009,
        within_both_lost_pct: 33.333_333,
    };
    assert_eq!(notes(&report), []);
    report.tables.second_capture = Some(capture(3));
    assert_eq!(
        notes(&report)[0].1,
        "On a second capture, which did not choose them, the words of 3 of 4 settings err 3.1 % RMS instead of 2.2 %, \
         and 66.7 % of these settings are within tolerance instead of 100 %."
    );
    let one = |own, other| OnSecondCapture {
        own: make_score(0.0, 0.0, 0.022, own),
        other: make_score(0.0, 0.0, 0.031, other),
        ..capture(1)
    };
    for (own, other, tolerance) in [
        (100.0, 100.0, "within tolerance on both captures"),
        (100.0, 0.0, "within tolerance on the first capture only"),
        (0.0, 100.0, "within tolerance on the second capture only"),
        (0.0, 0.0, "outside tolerance on both captures"),
    ] {
        report.tables.second_capture = Some(one(own, other));
        assert_eq!(
            notes(&report)[0].1,
            format!(
                "On a second capture, which did not choose it, the word of 1 of 4 settings errs 3.1 % instead of 2.2 %, and is \
                 {tolerance}."
            )
        );
    }
}

#[test]
fn the_band_s_table_on_a_second_capture_is_said_beside_what_chose_it() {
    let mut report = with_tables();
    let before = notes(&report).len();
    for (error, kind) in [(BandError::Worst, "at worst"), (BandError::Rms, "RMS")] {
        let again = BandOnSecondCapture { targets: 3, error, own: 0.125, other: 0.141 };
        report.tables.band_on_second_capture = Some(again);
        let notes = notes(&report);
        assert_eq!(notes.len(), before + 1);
        assert_eq!(
            notes[before].1,
            format!(
                "On a second capture, which did not choose it, the one table for the band errs 14.1 % {kind} over 3 of 4 \
                 settings instead of 12.5 %."
            )
        );
    }
}

fn file(name: &str, which: WhichTable, report: &Report) -> Result<String, ExportRefused> {
    let made = make_table(name, which, report, &Sheet::of(report, &tool()));
    made.map(|bytes| String::from_utf8(bytes).expect("text"))
}

#[test]
fn the_word_table_holds_one_row_a_setting_and_table() {
    let report = with_tables();
    assert_eq!(
        file("word-table.csv", WhichTable::ForBand, &report).expect("a table"),
        format!(
            "first_frequency_hz,last_frequency_hz,target_gain_db,target_phase_deg,nominal_word,chosen_word,\
             largest_gain_error_db,largest_phase_error_deg,worst_vector_error_pct,\
             per_frequency_worst_vector_error_pct,highest_transmission_db,run_verdict,input_digest\n\
             9000000000,11000000000,0,0,0,0,-0.25,3.5,0,0,-6,unchecked,{DIGEST}\n\
             9000000000,11000000000,0,90,1,1,-0.25,3.5,5,5,-6,unchecked,{DIGEST}\n\
             9000000000,11000000000,0,180,2,2,-0.25,3.5,6.25,5,-5.5,unchecked,{DIGEST}\n\
             9000000000,11000000000,0,270,3,2,-0.25,3.5,12.5,6.25,-5.5,unchecked,{DIGEST}\n"
        )
    );
    let fewest = file("word-table.csv", WhichTable::Fewest, &report).expect("a table");
    let lines: Vec<&str> = fewest.lines().collect();
    assert!(
        lines[0].contains(",worst_vector_error_pct,held_error_pct,highest_transmission_db,"),
        "{}",
        lines[0]
    );
    assert_eq!(lines.len(), 9);
    assert_eq!(lines[3], format!("9000000000,10000000000,0,180,2,2,-0.25,3.5,6.25,7,-6,unchecked,{DIGEST}"));
    assert_eq!(
        lines[7],
        format!("11000000000,11000000000,0,180,2,3,-0.25,3.5,3.125,7,-6,unchecked,{DIGEST}")
    );
    // Without a choice the files hold what they always did.
    let sheet = Sheet::of(&report, &tool());
    assert_eq!(
        file("word-table.hex", WhichTable::AtFrequency, &report).expect("a table").into_bytes(),
        export::make("word-table.hex", &report, &sheet).expect("a table")
    );
}

#[test]
fn memory_images_say_which_band_they_serve_and_hold_tables_one_after_the_other() {
    let report = with_tables();
    let one = file("word-table.hex", WhichTable::ForBand, &report).expect("an image");
    for line in [
        "// mapping: one word per setting for the band, of the smallest worst relative vector error\n",
        "// frequency: 9000000000 Hz to 11000000000 Hz\n",
        "// worst relative vector error over band and settings: 12.5 %, of a table per frequency 6.25 %\n",
        "// address: gain index * 4 + phase index;",
    ] {
        assert!(one.contains(line), "{line} is not in {one}");
    }
    assert!(one.is_ascii() && one.ends_with("\n0\n1\n2\n2\n"), "{one}");

    let fewest = file("word-table.hex", WhichTable::Fewest, &report).expect("an image");
    for line in [
        "// mapping: the fewest tables of one word per setting that hold a relative vector error of 7 % at every frequency\n",
        "// table 0: 9000000000 Hz to 10000000000 Hz, worst relative vector error 6.25 %\n",
        "// table 1: 11000000000 Hz to 11000000000 Hz, worst relative vector error 3.125 %\n",
        "// address: table * 4 + gain index * 4 + phase index;",
    ] {
        assert!(fewest.contains(line), "{line} is not in {fewest}");
    }
    assert_eq!(read_memory_image(&fewest), Ok(vec![0, 1, 2, 3, 0, 1, 3, 3]));

    let header = file("word-table.h", WhichTable::Fewest, &report).expect("a header");
    assert!(header.contains("#define WORD_TABLE_TABLES 2\n#define WORD_TABLE_GAIN_CODES 1\n"), "{header}");
    assert!(header.contains("static const uint16_t word_table[8] = {"), "{header}");
    assert_eq!(read_c_array(&header), Ok(vec![0, 1, 2, 3, 0, 1, 3, 3]));
}

#[test]
fn a_band_table_keeps_the_ceiling_at_every_frequency() {
    let mut report = with_tables();
    // At the chosen frequency every state has −6.02 dB; along the band word 2 reaches −5.5 dB.
    report.settings.gain_ceiling_db = Some(-5.8);
    for name in ["word-table.csv", "word-table.hex", "word-table.h"] {
        assert!(file(name, WhichTable::AtFrequency, &report).is_ok());
        assert!(file(name, WhichTable::Fewest, &report).is_ok());
        let refused = file(name, WhichTable::ForBand, &report).expect_err("above the ceiling");
        assert_eq!(
            refused,
            ExportRefused::GainAboveCeiling {
                ceiling_db: -5.8,
                frequency_hz: 11e9,
                band_hz: Some((9e9, 11e9)),
                words: vec![Word(2)],
                largest_db: -5.5,
            }
        );
        assert!(
            refused.to_string().starts_with(
                "The table is refused: from 9 to 11 GHz 1 word has more gain than the ceiling of −5.8 dB, up to −5.5 dB at \
                 11 GHz (word 2)."
            ),
            "{refused}"
        );
    }
    // One of the fewest alone is enough.
    report.settings.gain_ceiling_db = Some(-6.2);
    assert!(matches!(
        file("word-table.hex", WhichTable::Fewest, &report),
        Err(ExportRefused::GainAboveCeiling { words, .. }) if words == [Word(0), Word(1), Word(2)]
    ));
}

#[test]
fn what_is_not_there_is_refused_with_the_reason() {
    let mut report = phase_shifter();
    assert_eq!(file("word-table.csv", WhichTable::ForBand, &report), Err(ExportRefused::NoBandTable));
    assert_eq!(file("word-table.csv", WhichTable::Fewest, &report), Err(ExportRefused::NoHeldError));
    fewest(&mut report, HELD, Err(OutOfReach { frequency: 1, targets: vec![2, 3] }));
    let refused = file("word-table.h", WhichTable::Fewest, &report).expect_err("out of reach");
    assert_eq!(
        refused.to_string(),
        "No number of tables holds 7 %: at 10 GHz 2 settings are out of reach. Allow a larger error, or choose a narrower \
         band."
    );
    // Tables of another run.
    let mut report = with_tables();
    analysis(&mut report).targets.pop();
    assert_eq!(file("word-table.csv", WhichTable::ForBand, &report), Err(ExportRefused::OtherRun));
}

#[test]
fn the_summary_has_the_tables() {
    let report = with_tables();
    let bytes = export::make("summary.json", &report, &Sheet::of(&report, &tool())).expect("a summary");
    let summary: serde_json::Value = serde_json::from_slice(&bytes).expect("JSON");
    assert_eq!(
        summary["band_table"],
        serde_json::json!({
            "first_hz": 9e9,
            "last_hz": 11e9,
            "error": "worst",
            "vector_error_pct": 12.5,
            "per_frequency_vector_error_pct": 6.25,
            "fewest": {
                "held_error_pct": 7.0,
                "proposed": false,
                "tables": [
                    {"first_hz": 9e9, "last_hz": 10e9, "worst_vector_error_pct": 6.25},
                    {"first_hz": 11e9, "last_hz": 11e9, "worst_vector_error_pct": 3.125},
                ],
                "out_of_reach": null,
            },
        })
    );
}
