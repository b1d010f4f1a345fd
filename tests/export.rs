//! What is handed out, byte by byte.

mod sheet_fixture;

use num_complex::Complex64;
use serde_json::Value;
use sheet_fixture::{DIGEST, analysis, cascade, failed, intake, phase_error, phase_shifter, tool};
use std::sync::Arc;
use sweepfold::control::{Direction, Field, Layout, Quantity, Word};
use sweepfold::export::traces::{Trace, density_data, density_svg, drawing_density_frame};
use sweepfold::export::{
    ChosenAt, Export, ExportRefused, Needs, View, WordTable, exports, make, make_with_reflections,
    read_c_array, read_memory_image,
};
use sweepfold::part::{self, Limits, SpecificationRow};
use sweepfold::pipeline::protocol::{Reflections, TraceQuantity};
use sweepfold::pipeline::{ControllerMap, NoAnalysis, Report, Settings, SettingsError};
use sweepfold::plane::{Score, Tolerance};
use sweepfold::run::{FileFault, LeftOut, LeftOutReason};
use sweepfold::sheet::Sheet;
use sweepfold::table::ImageRefused;

fn text(file_name: &str, report: &Report) -> String {
    let bytes = make(file_name, report, &Sheet::of(report, &tool())).expect("a file");
    String::from_utf8(bytes).expect("UTF-8")
}

fn refusal(file_name: &str, report: &Report) -> ExportRefused {
    make(file_name, report, &Sheet::of(report, &tool())).expect_err("a refusal")
}

/// The phase shifter with numbers that are short in decimal, so that the expected text can be written by hand.
fn short_numbers() -> Report {
    let mut report = phase_shifter();
    let score = |gain, phase, vector, share| Score {
        within_gain_pct: 100.0,
        ..sheet_fixture::make_score(gain, phase, vector, share)
    };
    let analysis = analysis(&mut report);
    for (at, scale) in analysis.frequencies.iter_mut().zip([0.5, 1.0, 2.0]) {
        at.reference = Complex64::new(0.5, -0.25 * scale);
        at.nominal = Some(score(0.25, 2.0 * scale, 0.5, 75.0));
        at.chosen = score(0.125, scale, 0.25, 87.5);
        at.held = Some(score(0.125, 1.5, 0.25, 50.0));
        at.phase_effective_bits = Some(1.5);
    }
    analysis.frequencies[2].gain_given_up_db = None;
    analysis.frequencies[2].nominal.as_mut().expect("scored").rms_gain_error_db = f64::NAN;
    for (served, vector) in analysis.service.chosen.iter_mut().zip([0.0, 0.125, 0.25, 0.5]) {
        served.error.vector = vector;
    }
    report
}

#[test]
fn every_frequency_is_a_row() {
    assert_eq!(
        text("per-frequency.csv", &short_numbers()),
        "frequency_hz,reference_re,reference_im,gain_given_up_db,\
         nominal_rms_gain_error_db,nominal_rms_phase_error_deg,nominal_rms_vector_error_pct,nominal_within_gain_pct,\
         nominal_within_phase_pct,nominal_within_both_pct,\
         chosen_rms_gain_error_db,chosen_rms_phase_error_deg,chosen_rms_vector_error_pct,chosen_within_gain_pct,\
         chosen_within_phase_pct,chosen_within_both_pct,\
         held_rms_gain_error_db,held_rms_phase_error_deg,held_rms_vector_error_pct,held_within_gain_pct,\
         held_within_phase_pct,held_within_both_pct,gain_effective_bits,phase_effective_bits,clean_gain_bits,\
         clean_phase_bits,largest_clean_qam\n\
         9000000000,0.5,-0.125,0,0.25,1,50,100,75,75,0.125,0.5,25,100,87.5,87.5,0.125,1.5,25,100,50,50,,1.5,,,\n\
         10000000000,0.5,-0.25,0,0.25,2,50,100,75,75,0.125,1,25,100,87.5,87.5,0.125,1.5,25,100,50,50,,1.5,,,\n\
         11000000000,0.5,-0.5,,,4,50,100,75,75,0.125,2,25,100,87.5,87.5,0.125,1.5,25,100,50,50,,1.5,,,\n"
    );
}

#[test]
fn every_setting_is_a_row_with_verdict_and_digest() {
    let mut report = short_numbers();
    // The 180 degree setting is served by word 1 for once.
    analysis(&mut report).service.chosen[2].state = 1;
    assert_eq!(
        text("word-table.csv", &report),
        format!(
            "frequency_hz,target_gain_db,target_phase_deg,nominal_word,chosen_word,gain_error_db,phase_error_deg,\
             vector_error_pct,run_verdict,input_digest\n\
             10000000000,0,0,0,0,0,0,0,unchecked,{DIGEST}\n\
             10000000000,0,90,1,1,0,2,12.5,unchecked,{DIGEST}\n\
             10000000000,0,180,2,1,0,-3,25,unchecked,{DIGEST}\n\
             10000000000,0,270,3,3,0,4,50,unchecked,{DIGEST}\n"
        )
    );
}

#[test]
fn a_word_table_over_a_band_grows_one_frequency_at_a_time() {
    let report = phase_shifter();
    let sheet = Sheet::of(&report, &tool());
    let service = &report.analysis.as_ref().expect("an analysis").service;
    let mut table = WordTable::new(&report, &sheet).expect("a table");
    for index in 0..3 {
        table.push(ChosenAt { index, ..ChosenAt::from(service) }).expect("rows");
    }
    let written = String::from_utf8(table.take_bytes()).expect("UTF-8");
    let frequencies: Vec<&str> = written.lines().skip(1).filter_map(|line| line.split(',').next()).collect();
    let repeated = ["9000000000", "10000000000", "11000000000"].iter().flat_map(|hertz| [*hertz; 4]);
    assert_eq!(frequencies, repeated.collect::<Vec<_>>());
    assert_eq!(table.push(ChosenAt { index: 3, ..ChosenAt::from(service) }), Err(ExportRefused::OtherRun));
    let short = ChosenAt { served: &service.chosen[..3], ..ChosenAt::from(service) };
    assert_eq!(table.push(short), Err(ExportRefused::OtherRun));
    assert!(table.into_bytes().is_empty());
}

#[test]
fn a_memory_image_says_how_it_is_addressed() {
    assert_eq!(
        text("word-table.hex", &phase_shifter()),
        format!(
            "// tool: Sweepfold {}\n\
             // input digest: {DIGEST}\n\
             // transmission: S21\n\
             // layout: phase: bits 0 and 1, step 90 deg, larger code leads, no bit inverted (guessed)\n\
             // reference: zero word\n\
             // mapping: nearest state\n\
             // tolerance: +-0.5 dB and +-3.5 deg\n\
             // frequency: 10000000000 Hz\n\
             // verdict of the run: unchecked\n\
             // gain ceiling: none\n\
             // check against the part's limits before driving hardware\n\
             // address: gain index * 4 + phase index; gain index 0 to 0, 0 the highest gain, each next one step \
             down; phase index 0 to 3, index k at k nominal steps\n\
             // bit order: 2 bits, measured bit k drives bus bit k\n\
             // inverted on the bus: none\n\
             // serial order: as is, bus bit 0 is the least significant bit\n\
             0\n1\n2\n3\n",
            env!("CARGO_PKG_VERSION")
        )
    );
}

/// Bits 0 and 1 exchanged and bit 0 inverted: words 0, 1, 2, 3 drive 01, 00, 11, 10, which lie on the bus as 10, 00,
/// 11, 01; written from the other end they are 01, 00, 11, 10. By hand.
#[test]
fn the_controller_map_is_applied_and_stated() {
    let mut report = phase_shifter();
    report.settings.controller_map = ControllerMap { bus_bit: vec![1, 0], inverted: 1, reversed: false };
    let image = text("word-table.hex", &report);
    assert_eq!(read_memory_image(&image), Ok(vec![0b10, 0b00, 0b11, 0b01]));
    assert!(image.contains(
        "// bit order: 2 bits, measured bit 0 drives bus bit 1, measured bit 1 drives bus bit 0\n"
    ));
    assert!(image.contains("// inverted on the bus: measured bit 0\n"));
    report.settings.controller_map.reversed = true;
    let image = text("word-table.hex", &report);
    assert_eq!(read_memory_image(&image), Ok(vec![0b01, 0b00, 0b11, 0b10]));
    assert!(image.contains("// serial order: reversed, bus bit 0 is written as the most significant bit\n"));
}

#[test]
fn twelve_bits_take_three_digits_each() {
    let report = cascade(3);
    let image = text("word-table.hex", &report);
    let words: Vec<&str> = image.lines().filter(|line| !line.starts_with("//")).collect();
    assert_eq!(words.len(), 4096);
    // The address of a setting is its nominal word here, and the fixture serves it with the lowest bit turned over.
    assert_eq!((words[0], words[0xABC], words[0xFFF]), ("001", "ABD", "FFE"));
    assert!(image.is_ascii());
    let read = read_memory_image(&image).expect("an image");
    assert!(read.iter().enumerate().all(|(address, &word)| word as usize == address ^ 1));
}

/// The facts and the numbers of the memory image, in C.
#[test]
fn a_header_is_the_memory_image_in_c() {
    let report = phase_shifter();
    let hex = text("word-table.hex", &report);
    let facts: Vec<&str> = hex.lines().filter(|line| line.starts_with("//")).collect();
    assert_eq!(
        text("word-table.h", &report),
        format!(
            "{}\n\
             #ifndef WORD_TABLE_H\n\
             #define WORD_TABLE_H\n\
             \n\
             #include <stdint.h>\n\
             \n\
             #define WORD_TABLE_GAIN_CODES 1\n\
             #define WORD_TABLE_PHASE_CODES 4\n\
             \n\
             static const uint16_t word_table[4] = {{\n    0x0, 0x1, 0x2, 0x3,\n}};\n\
             \n\
             #endif\n",
            facts.join("\n")
        )
    );
}

/// A C compiler is the judge: it takes the header twice without a warning, and prints what the memory image holds.
#[test]
fn a_c_compiler_reads_the_header() {
    let mut report = cascade(3);
    report.settings.part_name = "Rain */ radar \\".to_owned();
    report.settings.controller_map = ControllerMap { bus_bit: Vec::new(), inverted: 0x801, reversed: true };
    let header = text("word-table.h", &report);
    let expected = read_memory_image(&text("word-table.hex", &report)).expect("an image");
    assert_eq!(read_c_array(&header).as_ref(), Ok(&expected));
    assert!(header.is_ascii());

    let folder = std::env::temp_dir().join(format!("word-table-{}", std::process::id()));
    std::fs::create_dir_all(&folder).expect("a folder");
    std::fs::write(folder.join("word-table.h"), &header).expect("written");
    let program = "#include \"word-table.h\"\n#include \"word-table.h\"\n#include <stdio.h>\n\
                   int main(void)\n{\n    unsigned i;\n\
                   for (i = 0; i < WORD_TABLE_RAIN_RADAR_GAIN_CODES * WORD_TABLE_RAIN_RADAR_PHASE_CODES; i++)\n\
                   printf(\"%u\\n\", (unsigned)word_table_rain_radar[i]);\n    return 0;\n}\n";
    std::fs::write(folder.join("main.c"), program).expect("written");
    let compiled = std::process::Command::new("cc")
        .args(["-std=c99", "-Wall", "-Wextra", "-Wpedantic", "-Werror", "-o", "main", "main.c"])
        .current_dir(&folder)
        .output()
        .expect("a C compiler called cc is needed for this test");
    assert!(compiled.status.success(), "{}", String::from_utf8_lossy(&compiled.stderr));
    let printed = std::process::Command::new(folder.join("main")).output().expect("it runs").stdout;
    std::fs::remove_dir_all(&folder).expect("removed");
    let printed: Vec<u32> = String::from_utf8(printed)
        .expect("text")
        .lines()
        .map(|line| line.parse().expect("a number"))
        .collect();
    assert_eq!(printed.len(), 4096);
    assert_eq!(printed, expected);
}

/// By hand: the states' phases are 0, 92, 177 and 274 (that is −86) degrees against 0, 90, 180 and 270; a reflection of
/// 0.1 is a return loss of 20 dB, of 1 it is 0 dB, and none at all has no number.
#[test]
fn every_word_is_a_row_with_its_return_losses() {
    let mut report = phase_shifter();
    Arc::make_mut(&mut report.intake).paths[1] = "-1,5.s2p".to_owned();
    // Powers of one half have short numbers.
    let halves = [Complex64::ONE, Complex64::I, -Complex64::ONE, -Complex64::I];
    analysis(&mut report).service.transmission = halves.map(|turn| turn / 2.0).to_vec();
    let reflections =
        [(0.1, 1.0), (0.01, 0.0), (1.0, 0.1), (0.0, 0.0)].map(|(s11, s22)| Reflections { s11, s22 });
    let sheet = Sheet::of(&report, &tool());
    let made =
        |reflections: &[Reflections]| make_with_reflections("states.csv", &report, &sheet, reflections);
    let text = String::from_utf8(made(&reflections).expect("a file")).expect("UTF-8");
    let mut lines = text.lines();
    assert_eq!(
        lines.next(),
        Some(
            "word,file,nominal_gain_db,nominal_phase_deg,gain_db,phase_deg,gain_error_db,phase_error_deg,\
             vector_error_pct,return_loss_in_db,return_loss_out_db,snr_db"
        )
    );
    assert_eq!(lines.next(), Some("0,x_0000.s2p,0,0,0,0,0,0,0,20,0,"));
    let rest: Vec<&str> = lines.collect();
    assert!(
        rest[0].starts_with("1,\"'-1,5.s2p\",0,90,0,90,0,0,") && rest[0].ends_with(",40,,"),
        "{}",
        rest[0]
    );
    assert!(
        rest[1].starts_with("2,x_0002.s2p,0,180,0,180,0,0,") && rest[1].ends_with(",0,20,"),
        "{}",
        rest[1]
    );
    assert!(rest[2].starts_with("3,x_0003.s2p,0,270,0,-90,0,0,") && rest[2].ends_with(",,,"), "{}", rest[2]);
    assert_eq!(rest.len(), 3);
    assert_eq!(made(&reflections[..3]), Err(ExportRefused::OtherRun));
    assert_eq!(make("states.csv", &report, &sheet), Err(ExportRefused::NotFetched));
    assert_eq!(make("run.npz", &report, &sheet), Err(ExportRefused::NotFetched));
}

/// The error of a word is the one against its own nominal setting, whatever setting it serves.
#[test]
fn the_errors_of_states_are_against_their_own_settings() {
    let mut report = phase_shifter();
    analysis(&mut report).service.chosen[2].state = 1;
    let reflections = [Reflections { s11: 0.5, s22: 0.5 }; 4];
    let made = make_with_reflections("states.csv", &report, &Sheet::of(&report, &tool()), &reflections);
    let text = String::from_utf8(made.expect("a file")).expect("UTF-8");
    for (line, error) in text.lines().skip(1).zip(sheet_fixture::PHASE_ERRORS_DEG[1]) {
        let cells: Vec<f64> = line.split(',').map(|cell| cell.parse().unwrap_or(f64::NAN)).collect();
        assert!((cells[7] - error).abs() < 1e-9, "{line}");
        assert!((cells[8] - 100.0 * phase_error(error).vector).abs() < 1e-9, "{line}");
    }
}

#[test]
fn every_finding_is_a_row() {
    let mut report = phase_shifter();
    let fault = FileFault { line: Some(3), column: Some(1), message: "“x, y” is no number.".to_owned() };
    let doubled = LeftOutReason::Doubled { word: Word(2), kept: "x_0002.s2p".to_owned() };
    Arc::make_mut(&mut report.intake).left_out = [
        ("=notes.txt", LeftOutReason::NotSParameters),
        ("broken.s2p", LeftOutReason::Unreadable(fault)),
        ("again.s2p", doubled),
    ]
    .map(|(path, reason)| LeftOut { path: path.to_owned(), reason })
    .to_vec();
    Arc::make_mut(&mut report.intake).missing = vec![Word(7)];
    Arc::make_mut(&mut report.intake).warnings =
        vec![("Line 1 is odd.".to_owned(), 1), ("The unit is missing.".to_owned(), 4)];
    assert_eq!(
        text("findings.csv", &report),
        "finding,severity,word,file,frequency_hz,detail\n\
         no S-parameter file,note,,'=notes.txt,,\"Its name does not end like an S-parameter file's (.s2p or .ts). If it \
         is one, give it that ending and drop the folder again.\"\n\
         unreadable file,care,,broken.s2p,,\"It could not be read. Line 3, column 1: “x, y” is no number.\"\n\
         doubled word,care,2,again.s2p,,\"Word 2 is already given by “x_0002.s2p”, which was read first and is used. \
         Remove whichever of the two is wrong.\"\n\
         missing word,care,7,,,No usable file gives this word.\n\
         reader's warning,note,,,,In 1 file: Line 1 is odd.\n\
         reader's warning,note,,,,In 4 files: The unit is missing.\n"
    );
    let clean = text("findings.csv", &phase_shifter());
    assert_eq!(clean, "finding,severity,word,file,frequency_hz,detail\n");
}

/// Plots are drawings of lines and text: nothing in them runs, and nothing is fetched.
#[test]
fn plots_are_plain_drawings() {
    let report = phase_shifter();
    let count = |svg: &str, element: &str| svg.matches(&format!("<{element} ")).count();
    // Those of densities hold an image, whose traces workers count.
    let is_of_lines = |export: &&Export| export.needs() == Needs::Nothing;
    let drawings =
        || exports().iter().filter(|export| export.media_type == "image/svg+xml").filter(is_of_lines);
    let (there, missing): (Vec<&Export>, Vec<&Export>) =
        drawings().partition(|export| export.missing(&report, &View::default()).is_none());
    // No field of the fixture is graded, nothing is resolved and no constellation formed.
    assert_eq!((there.len(), missing.len()), (6, 11));
    for export in missing {
        assert!(matches!(refusal(export.file_name, &report), ExportRefused::NoSuchPlot(_)));
    }
    for export in there {
        let svg = text(export.file_name, &report);
        assert!(svg.starts_with("<svg ") && svg.trim_end().ends_with("</svg>"), "{}", export.file_name);
        assert!(count(&svg, "text") > 2, "{}", export.file_name);
        for forbidden in ["<script", "<image", "href", "<foreignObject", "NaN", "inf\""] {
            assert!(!svg.contains(forbidden), "{forbidden} in {}", export.file_name);
        }
    }
    // Four states are drawn as discs, and a line of three points for each mapping.
    assert!(count(&text("plane.svg", &report), "circle") >= 4);
    for name in ["errors.svg", "share-within-tolerance.svg"] {
        let svg = text(name, &report);
        for mapping in ["chosen", "held", "nominal"] {
            assert!(svg.contains(&format!("\n{mapping}\n")), "{mapping} in {name}");
        }
    }
    let weights = text("bit-weights.svg", &report);
    for label in ["92.0", "177.0"] {
        assert!(weights.contains(&format!("\n{label}\n")), "{label}");
    }
}

/// The image lies where the axes are, under them, and nothing else is pointed to.
#[test]
fn a_density_is_a_drawing_over_an_image_of_what_was_counted() {
    let report = phase_shifter();
    let analysis = report.analysis.as_ref().expect("analysed");
    let trace = Trace::new("word 2".to_owned(), &vec![Complex64::ONE; report.intake.frequency_hz.len()]);
    let curves = [trace.curve(TraceQuantity::RelativePhaseDeg)];
    let data = density_data(&report, analysis, TraceQuantity::RelativePhaseDeg, &curves);
    let counted = drawing_density_frame(&data, TraceQuantity::RelativePhaseDeg);
    let address = "data:image/png;base64,iVBORw0KGgo=";
    let svg = String::from_utf8(density_svg(&report, &data, address).expect("a drawing")).expect("UTF-8");
    assert!(svg.starts_with("<svg ") && svg.trim_end().ends_with("</svg>"));
    assert_eq!((svg.matches("<image ").count(), svg.matches("href=").count()), (1, 1));
    let image = svg.lines().find(|line| line.starts_with("<image ")).expect("an image");
    assert!(image.contains(&format!("href=\"{address}\"")));
    let number = |name: &str| -> f64 {
        let from = image.find(&format!(" {name}=\"")).expect("an attribute") + name.len() + 3;
        image[from..].split('"').next().and_then(|text| text.parse().ok()).expect("a number")
    };
    // Three counted columns and rows to a pixel, but for whole pixels at the edges.
    assert!((number("width") - counted.width as f64 / 3.0).abs() <= 1.0, "{image}");
    assert!((number("height") - counted.height as f64 / 3.0).abs() <= 1.0, "{image}");
    // The axis of frequency is drawn along its foot.
    let foot = number("y") + number("height");
    let axis = format!(
        "x1=\"{}\" y1=\"{foot}\" x2=\"{}\" y2=\"{foot}\"",
        number("x"),
        number("x") + number("width")
    );
    assert!(svg.contains(&axis), "{axis}");
    assert!(svg.find("<image ") < svg.find("<text "));
    for label in ["Relative phase, °", "frequency, GHz", "word 2"] {
        assert!(svg.contains(&format!("\n{label}\n")), "{label}");
    }
}

#[test]
fn the_strip_marks_the_bands_that_a_specification_limits() {
    let mut report = phase_shifter();
    let named = |report: &Report| text("frequency-strip.svg", report).matches("specified").count();
    assert_eq!(named(&report), 0);
    let row = SpecificationRow {
        figure: part::Figure::GroupDelay,
        from_hz: None,
        to_hz: None,
        limits: Limits { at_least: None, at_most: Some(1.0), percent_of_setting: 0.0 },
        note: String::new(),
    };
    let elsewhere = SpecificationRow { from_hz: Some(1e12), ..row.clone() };
    report.settings.specification = vec![elsewhere];
    assert_eq!(named(&report), 0, "nothing was measured there");
    report.settings.specification = vec![row.clone(), row];
    assert_eq!(named(&report), 1);
}

#[test]
fn every_export_says_what_it_needs() {
    let needs = |name: &str| exports().iter().find(|export| export.file_name == name).map(Export::needs);
    assert_eq!(needs("states.csv"), Some(Needs::Reflections));
    assert_eq!(needs("run.npz"), Some(Needs::Run));
    // Every drawing can be had in pixels; the two densities' drawings take pixels too.
    let stems = |ending: &str| -> Vec<&str> {
        exports().iter().filter_map(|export| export.file_name.strip_suffix(ending)).collect()
    };
    let (drawings, pictures) = (stems(".svg"), stems(".png"));
    assert_eq!(drawings, pictures);
    let is_picture = |export: &&Export| matches!(export.needs(), Needs::Picture(_));
    assert_eq!(exports().iter().filter(is_picture).count(), pictures.len() + 2);
    assert_eq!(
        exports().iter().filter(|export| export.needs() != Needs::Nothing).count(),
        2 + pictures.len() + 2
    );
}

#[test]
fn a_table_above_the_gain_ceiling_is_refused_with_its_words() {
    // All states of the fixture have 0.5, that is −6.02 dB.
    let mut report = phase_shifter();
    report.settings.gain_ceiling_db = Some(-6.0);
    assert!(text("word-table.csv", &report).starts_with("frequency_hz"));
    assert!(text("word-table.hex", &report).contains("// gain ceiling: -6 dB\n"));
    report.settings.gain_ceiling_db = Some(-6.25);
    for file in ["word-table.csv", "word-table.hex", "word-table.h"] {
        let ExportRefused::GainAboveCeiling { words, .. } = refusal(file, &report) else {
            panic!("{file} is made although it is above the ceiling")
        };
        assert_eq!(words, [0, 1, 2, 3].map(Word));
    }
    assert_eq!(
        refusal("word-table.hex", &report).to_string(),
        "The table is refused: at 10 GHz 4 words have more gain than the ceiling of −6.25 dB, up to −6.0206 dB \
         (words 0, 1, 2 and 3). Lower the reference or drop the settings that use them; raise the ceiling only if \
         the hardware allows it."
    );
    // An error that is not a number cannot be shown to lie below.
    report.settings.gain_ceiling_db = Some(0.0);
    analysis(&mut report).service.chosen[2].error.gain_db = f64::NAN;
    assert!(matches!(
        refusal("word-table.csv", &report),
        ExportRefused::GainAboveCeiling { words, .. } if words == [Word(2)]
    ));
}

#[test]
fn two_fields_of_a_kind_have_no_address_rule() {
    let mut report = phase_shifter();
    let layout = Layout {
        fields: vec![
            Field::contiguous(Quantity::Phase, 0, 1, 90.0, Direction::Up),
            Field::contiguous(Quantity::Phase, 1, 1, 180.0, Direction::Up),
        ],
    };
    analysis(&mut report).targets = layout.targets();
    analysis(&mut report).model = layout.into();
    assert_eq!(
        refusal("word-table.hex", &report).to_string(),
        "No memory image: more than one field sets phase, so a setting has no single address. Take word-table.csv \
         instead, which names every setting."
    );
    assert_eq!(text("word-table.csv", &report).lines().count(), 5);
    let mut report = phase_shifter();
    analysis(&mut report).targets[1] = analysis(&mut report).targets[2];
    assert!(matches!(
        refusal("word-table.hex", &report),
        ExportRefused::Image(ImageRefused::NotAllSettings { settings: 4, filled: 3 })
    ));
    let mut report = phase_shifter();
    report.settings.controller_map.bus_bit = vec![1, 1];
    assert_eq!(
        refusal("word-table.hex", &report).to_string(),
        "No memory image: In the controller map two measured bits drive bus bit 1. Correct the map in the settings."
    );
}

#[test]
fn without_analysis_there_is_a_reason_instead_of_a_table() {
    let report = failed(intake(0, 0..1, vec![1e9]), NoAnalysis::OneState);
    for export in exports().iter().filter(|export| export.needs_analysis) {
        let made = make_with_reflections(export.file_name, &report, &Sheet::of(&report, &tool()), &[]);
        assert_eq!(
            made.expect_err("a refusal").to_string(),
            "Only one state came in, and there is nothing to compare it with. Drop the folder with all states, not \
             a single file."
        );
    }
    let summary: Value = serde_json::from_str(&text("summary.json", &report)).expect("JSON");
    assert_eq!((&summary["scores"], &summary["layout"]), (&Value::Null, &Value::Null));
    assert!(text("settings.json", &report).contains("settings_version"));
    assert_eq!(refusal("words.doc", &report).to_string(), "There is no export called “words.doc”.");
    let names: Vec<&str> = exports().iter().map(|export| export.file_name).collect();
    assert_eq!(
        names,
        [
            "word-table.csv",
            "word-table.hex",
            "word-table.h",
            "per-frequency.csv",
            "states.csv",
            "plane.svg",
            "plane.png",
            "relative-gain.svg",
            "relative-gain.png",
            "relative-phase.svg",
            "relative-phase.png",
            "errors.svg",
            "errors.png",
            "references.svg",
            "references.png",
            "share-within-tolerance.svg",
            "share-within-tolerance.png",
            "frequency-strip.svg",
            "frequency-strip.png",
            "bit-weights.svg",
            "bit-weights.png",
            "code-traces.svg",
            "code-traces.png",
            "error-map.svg",
            "error-map.png",
            "state-errors.svg",
            "state-errors.png",
            "cross-effects.svg",
            "cross-effects.png",
            "field-figure.svg",
            "field-figure.png",
            "typical-difference.svg",
            "typical-difference.png",
            "resolution-map.svg",
            "resolution-map.png",
            "clean-bits.svg",
            "clean-bits.png",
            "constellation.svg",
            "constellation.png",
            "evm.svg",
            "evm.png",
            "largest-constellation.svg",
            "largest-constellation.png",
            "findings.csv",
            "run.npz",
            "summary.json",
            "settings.json"
        ]
    );
}

#[test]
fn settings_are_restored_with_the_layout_that_was_guessed() {
    let mut report = phase_shifter();
    report.settings.part_name = "=HYPERLINK(\"x\")".to_owned();
    report.settings.tolerance =
        Some(Tolerance { gain_db: 0.1, gain_pct_of_setting: 0.0, phase_deg: 1.0 / 3.0 });
    report.settings.frequency_hz = Some(10e9);
    let read = Settings::read(&text("settings.json", &report)).expect("settings");
    assert_eq!(read.layout, Some(sheet_fixture::phase_layout()));
    assert_eq!(Settings { layout: None, ..read }, report.settings);
    report.settings.gain_ceiling_db = Some(f64::NAN);
    assert!(matches!(refusal("settings.json", &report), ExportRefused::Settings(SettingsError::Unusable(_))));
}

#[test]
fn settings_are_written_like_this() {
    assert_eq!(
        text("settings.json", &failed(intake(0, 0..1, vec![1e9]), NoAnalysis::OneState)),
        r#"{
  "settings_version": 1,
  "part_name": "",
  "operator": "",
  "transmission": "S21",
  "path": null,
  "interpolate": false,
  "leave_out_other_references": false,
  "naming": null,
  "file_order": null,
  "capture_order": "as_proposed",
  "part_is_active": false,
  "zero_word_loss_db": null,
  "layout": null,
  "wanted": null,
  "unsigned_phases": "as_proposed",
  "reference": "zero_word",
  "rule": "nearest",
  "target_grid": {
    "every_gain": 1,
    "every_phase": 1,
    "gain_range_db": null
  },
  "tolerance": null,
  "frequency_hz": null,
  "design_band_hz": null,
  "usable_share_pct": 90.0,
  "band_error": "worst",
  "held_error_pct": null,
  "gain_ceiling_db": null,
  "controller_map": {
    "bus_bit": [],
    "inverted": 0,
    "reversed": false
  },
  "specification": [],
  "held_codes": [],
  "typical": null
}
"#
    );
}

#[test]
fn the_summary_holds_the_sheet() {
    let mut report = phase_shifter();
    Arc::make_mut(&mut report.intake).left_out =
        vec![LeftOut { path: "=1+1.txt".to_owned(), reason: LeftOutReason::NotSParameters }];
    let sheet = Sheet::of(&report, &tool());
    let json = text("summary.json", &report);
    let summary: Value = serde_json::from_str(&json).expect("JSON");
    let keys: Vec<&str> =
        json.lines().filter_map(|line| line.strip_prefix("  \"")?.split('"').next()).collect();
    assert_eq!(
        keys,
        [
            "tool",
            "provenance",
            "inputs",
            "grid",
            "layout",
            "settings",
            "findings",
            "specification",
            "verdict",
            "is_checked_in_part",
            "answers",
            "scores",
            "resolution",
            "constellations",
            "ladder",
            "band_table"
        ]
    );
    assert_eq!(summary["tool"]["date"], "2026-01-31");
    assert_eq!(summary["verdict"], "unchecked");
    assert_eq!(summary["provenance"]["verdict"], "unchecked");
    assert_eq!(summary["provenance"]["check"], "check against the part's limits before driving hardware");
    assert_eq!(summary["inputs"]["files"], 4);
    assert_eq!(summary["inputs"]["bytes"], 1_234_567);
    assert_eq!(summary["inputs"]["digest"], DIGEST);
    assert_eq!(summary["inputs"]["left_out"][0]["path"], "=1+1.txt");
    assert_eq!(summary["grid"]["points"], 3);
    assert_eq!(summary["layout"]["fields"][0]["step"], 90.0);
    assert_eq!(summary["layout"]["guessed"], true);
    for (answer, written) in sheet.answers.iter().zip(summary["answers"].as_array().expect("a list")) {
        assert_eq!(written["key"], answer.key);
        assert_eq!(written["sentence"], answer.sentence);
        for (figure, number) in answer.figures.iter().zip(written["figures"].as_array().expect("a list")) {
            assert_eq!(number["value"].as_f64().map(f64::to_bits), Some(figure.value.to_bits()));
        }
    }
    let at = &summary["scores"]["at_frequency"];
    assert_eq!((&at["frequency_hz"], &at["chosen"]["within_both_pct"]), (&10e9.into(), &75.0.into()));
    let band = &summary["scores"]["design_band"];
    assert_eq!(band["held"]["worst_within_both_hz"], 11e9);
    assert_eq!(summary["ladder"].as_array().map(Vec::len), Some(2));
    assert_eq!(summary["ladder"][1]["sentence"], sheet.ladder[1].sentence);
    assert_eq!(summary["findings"], Value::Null, "no search was made, so none may be reported as absent");
}

/// Numbers without a short decimal survive the way out and back.
#[test]
fn every_number_reads_back_to_the_bit() {
    let report = phase_shifter();
    let analysis = report.analysis.as_ref().expect("an analysis");
    let cells =
        |line: &str| -> Vec<f64> { line.split(',').map(|cell| cell.parse().unwrap_or(f64::NAN)).collect() };
    let same = |read: f64, value: f64| assert_eq!(read.to_bits(), value.to_bits(), "{read} {value}");
    for (line, at) in text("per-frequency.csv", &report).lines().skip(1).zip(&analysis.frequencies) {
        let read = cells(line);
        same(read[1], at.reference.re);
        same(read[2], at.reference.im);
        for (score, first) in [
            (at.nominal.as_ref().expect("scored"), 4),
            (&at.chosen, 10),
            (at.held.as_ref().expect("scored"), 16),
        ] {
            same(read[first], score.rms_gain_error_db);
            same(read[first + 1], score.rms_phase_error_deg);
            same(read[first + 2], 100.0 * score.rms_vector_error);
            same(read[first + 5], score.within_both_pct);
        }
        same(read[23], at.phase_effective_bits.expect("bits"));
    }
    for (line, served) in text("word-table.csv", &report).lines().skip(1).zip(&analysis.service.chosen) {
        let read = cells(line);
        same(read[6], served.error.phase_deg);
        same(read[7], 100.0 * served.error.vector);
    }
    same(phase_error(4.0).vector, analysis.service.chosen[3].error.vector);
    let summary: Value = serde_json::from_str(&text("summary.json", &report)).expect("JSON");
    let number = |value: &Value| value.as_f64().expect("a number");
    let at = &summary["scores"]["at_frequency"]["chosen"];
    let score = &analysis.frequencies[1].chosen;
    same(number(&at["rms_phase_error_deg"]), score.rms_phase_error_deg);
    same(number(&at["rms_vector_error_pct"]), 100.0 * score.rms_vector_error);
    let comparison = report.comparison.as_ref().expect("compared");
    let rung = &summary["ladder"][0]["design_band"];
    same(number(&rung["worst_vector_error_pct"]), 100.0 * comparison.ladder[0].band.worst_vector_error);
}
