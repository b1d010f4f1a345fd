//! The plots of one field and of constellations, from files to drawings, and what the summary says of them: parts whose
//! values are worked by hand.

mod folder;

use folder::Folder;
use num_complex::Complex64;
use serde_json::{Value, json};
use std::fmt::Write;
use std::rc::Rc;
use sweepfold::control::{Direction, Field, Layout, Quantity, Setting, Word};
use sweepfold::export::traces::Trace;
use sweepfold::export::{Export, ExportRefused, Needs, View, exports, make, make_in_view, numbers};
use sweepfold::part::{Figure, RmsVariant, read_specification, read_typical_curve};
use sweepfold::pipeline::protocol::TraceQuantity;
use sweepfold::pipeline::{Report, Settings, Typical};
use sweepfold::sheet::picked::near_trace;
use sweepfold::sheet::{Sheet, ToolFacts, captions};

/// Two gain bits of 1 dB below three phase bits of 45°, without error, 7 dB of loss; word 1 has `off_db` too much loss.
fn files(off_db: f64) -> Folder {
    let text = |word: usize| {
        let mut text = "# GHz S DB R 50\n".to_owned();
        for point in 0..5 {
            let ghz = 8.0 + f64::from(point);
            let gain = -7.0 - (word & 3) as f64 - if word == 1 { off_db } else { 0.0 };
            let phase = -45.0 * (word >> 2) as f64;
            writeln!(text, "{ghz} -20 10 {gain} {phase} {gain} {phase} -18 -30").unwrap();
        }
        text
    };
    (0..32).fold(Folder::default(), |folder, word| folder.with(&format!("w_{word:02}.s2p"), text(word)))
}

/// The folder with other text in one of its files.
fn changed(folder: Folder, file: &str, from: &str, to: &str) -> Folder {
    let before = String::from_utf8(folder.0[file].clone()).expect("text");
    let after = before.replace(from, to);
    assert_ne!(after, before);
    folder.with(file, after)
}

fn report(off_db: f64, rows: &str) -> Report {
    report_beside(off_db, rows, None)
}

fn report_beside(off_db: f64, rows: &str, typical: Option<Typical>) -> Report {
    let layout = Layout {
        fields: vec![
            Field::contiguous(Quantity::Gain, 0, 2, 1.0, Direction::Down),
            Field::contiguous(Quantity::Phase, 2, 3, 45.0, Direction::Down),
        ],
    };
    let specification =
        read_specification(&format!("figure,from_ghz,to_ghz,plus_minus\n{rows}")).expect("a specification");
    let settings = Settings { layout: Some(layout), specification, typical, ..Settings::default() };
    folder::report(&files(off_db), settings, 2)
}

fn typical(figure: Figure, points: &str) -> Typical {
    let curve = read_typical_curve(&format!("frequency_ghz,value\n{points}")).expect("a curve");
    Typical { figure, curve }
}

fn sheet(report: &Report) -> Sheet {
    Sheet::of(report, &ToolFacts::on("2026-01-31"))
}

fn svg(name: &str, report: &Report, view: &View) -> String {
    String::from_utf8(make_in_view(name, report, &sheet(report), view).expect("a drawing")).expect("UTF-8")
}

fn has(svg: &str, text: &str) -> bool {
    svg.contains(&format!("\n{text}\n"))
}

#[test]
fn every_plot_of_a_complete_run_is_drawn() {
    let report = report_beside(0.0, "", Some(typical(Figure::InsertionLoss, "8,7\n12,7\n")));
    // Densities need what workers count.
    let is_drawing =
        |export: &&Export| export.media_type == "image/svg+xml" && export.needs() == Needs::Nothing;
    for export in exports().iter().filter(is_drawing) {
        assert_eq!(export.missing(&report, &View::default()), None, "{}", export.file_name);
        let svg = svg(export.file_name, &report, &View::default());
        assert!(svg.matches("<text ").count() > 2, "{}", export.file_name);
        assert!(!svg.contains("NaN") && !svg.contains("inf\""), "{}", export.file_name);
    }
}

/// Word 1 is gain code 1, too low by 0.4 dB where ±0.3 dB are allowed up to 10 GHz.
#[test]
fn traces_show_what_lies_outside_its_limits() {
    let report = report(0.4, "gain state error,,10,0.3\n");
    let traces = svg("code-traces.svg", &report, &View::default());
    let accent = "#A32A12";
    let thick =
        |svg: &str| svg.lines().filter(|line| line.contains(accent) && line.contains("<polyline")).count();
    assert_eq!(thick(&traces), 1, "code 1 from 8 to 10 GHz");
    assert!(has(&traces, "Relative gain, dB") && has(&traces, "code"));
    let phase = View { field: 1, ..View::default() };
    let traces = svg("code-traces.svg", &report, &phase);
    assert_eq!(thick(&traces), 0);
    assert!(has(&traces, "Relative phase, °"));
    let map = svg("error-map.svg", &report, &View::default());
    assert!(has(&map, "State error, dB") && has(&map, "0.4") && has(&map, "\u{2212}0.4"));

    let parts = report.parts.as_deref().expect("graded");
    let (field, graded) = View::default().graded(&report).expect("graded");
    assert_eq!(
        captions::code_traces(&report, parts, field, graded, 1),
        "Relative gain of all 4 codes of the gain field against frequency; shaded is what the specification allows, and \
         what lies outside is thick and in colour."
    );
    assert_eq!(
        captions::error_map(&report, parts, field, graded),
        "State error of every code of the gain field at every frequency, blue below zero and orange above. The largest is \
         0.40 dB, of code 1 at 8 GHz."
    );
}

/// The loss of code 0 is 7 dB; the typical one goes from 6 dB at 9 GHz to 7.5 dB at 12 GHz: the measurement is 1, 0.5, 0
/// and −0.5 dB above it, and nothing is known of 8 GHz.
#[test]
fn a_typical_curve_is_drawn_and_told_with_the_difference() {
    let report = report_beside(0.0, "", Some(typical(Figure::InsertionLoss, "9,6\n12,7.5\n")));
    let view = View::default();
    assert!(has(&svg("field-figure.svg", &report, &view), "typical"));
    let difference = svg("typical-difference.svg", &report, &view);
    assert!(has(&difference, "Insertion loss minus typical, dB"));
    let analysis = report.analysis.as_ref().expect("analysed");
    let in_view = view.field(&report, analysis).expect("graded");
    let graded = in_view.graded;
    let (head, rows) = numbers::figure(&report, in_view, "insertion loss");
    assert_eq!(head, ["Frequency", "Lowest", "Highest", "Typical", "Highest minus typical"]);
    let beside: Vec<[&str; 2]> = rows.iter().map(|row| [row[3].as_str(), row[4].as_str()]).collect();
    let expected = [
        ["–", "–"],
        ["6.0 dB", "1.0 dB"],
        ["6.5 dB", "0.50 dB"],
        ["7.0 dB", "0 dB"],
        ["7.5 dB", "\u{2212}0.50 dB"],
    ];
    assert_eq!(beside, expected);
    assert_eq!(
        captions::typical_difference(&report, "gain field", graded),
        "Insertion loss of the gain field minus the typical curve: at most 1.0 dB above it, at 9 GHz."
    );
    let other =
        report_beside(0.0, "", Some(typical(Figure::Rms(RmsVariant::PhaseMeanRemoved), "8,1\n12,1\n")));
    let missing = |view: &View| {
        let export = exports().iter().find(|export| export.file_name == "typical-difference.svg");
        export.expect("offered").missing(&other, view)
    };
    assert_eq!(missing(&view), Some("No typical curve meets what was measured of this field."));
    assert_eq!(missing(&View { field: 1, ..View::default() }), None);
}

/// Limits up to 10 GHz and from 11 GHz take half and a quarter of a plot from 8 to 12 GHz: so many of its dashes.
#[test]
fn limits_are_drawn_over_their_sub_bands() {
    let both = report(0.0, "phase over gain codes,,10,5\nphase over gain codes,11,,2\n");
    let view = View { figure: "phase over gain codes".to_owned(), ..View::default() };
    let drawn = svg("field-figure.svg", &both, &view);
    assert_eq!(drawn.matches("\nat most\n").count(), 2);
    assert_eq!(drawn.matches("\nat least\n").count(), 2);
    let dashes = |rows: &str| {
        let strokes = |rows: &str| {
            let drawn = svg("field-figure.svg", &report(0.0, rows), &view);
            drawn.matches("<polyline").count() + drawn.matches("<line").count()
        };
        // The axis of all of them spans the same limits.
        (strokes(rows) - strokes("phase over gain codes,100,,5\n")) as f64
    };
    let whole = dashes("phase over gain codes,,,5\n");
    for (rows, share) in [("phase over gain codes,,10,5\n", 0.5), ("phase over gain codes,11,,5\n", 0.25)] {
        assert!((dashes(rows) / whole - share).abs() < 0.04, "{rows}: {} of {whole}", dashes(rows));
    }
    let (_, graded) = view.graded(&both).expect("graded");
    assert_eq!(
        captions::field_figure(&both, "gain field", graded, Figure::OverCodes(Quantity::Gain)),
        "Phase over gain codes of the gain field against frequency: between 0° at 8 GHz and 0° at 8 GHz."
    );
}

/// Word 9 is gain code 1 and phase code 2; of the words that are graded, 1 and 8 have these.
#[test]
fn a_word_picked_out_is_marked_in_the_plots_over_codes() {
    let report = report(0.0, "");
    let parts = report.parts.as_deref().expect("graded");
    for (field, code, stands_for_it) in [(0, 1, 1), (1, 2, 8)] {
        let free = View { field, ..View::default() };
        let view = View { picked: Some(9), ..free.clone() };
        for plot in ["state-errors.svg", "cross-effects.svg", "error-map.svg"] {
            let label = format!("code {code}");
            assert!(has(&svg(plot, &report, &view), &label), "{plot}, field {field}");
            assert!(!has(&svg(plot, &report, &free), &label), "{plot}, field {field}");
        }
        let thick = |view: &View| svg("code-traces.svg", &report, view).matches("stroke-width=\"3\"").count();
        assert_eq!((thick(&view), thick(&free)), (1, 0));
        let part = &parts.fields[field];
        let graded = part.graded.as_deref().expect("graded");
        assert_eq!(
            captions::marked(&report.intake, part, graded, code, Word(9)),
            format!(
                "Marked is code {code} of word 9 of the plane; with the other fields held, word {stands_for_it} is drawn \
                 for it."
            )
        );
        let own = graded.slice.words[3];
        assert_eq!(
            captions::marked(&report.intake, part, graded, 3, own),
            format!("Marked is code 3, word {} of the plane.", own.0)
        );
    }
}

/// A trace 0.3 dB below word 1's setting of −1 dB up to 10 GHz and 0.8 dB below it from 11 GHz on: by hand errors of
/// 1 − 10^(−0.3/20) = 3.3949 % and 1 − 10^(−0.8/20) = 8.7989 %, the latter beyond half a step of 1 dB.
#[test]
fn a_word_picked_out_has_its_own_error_and_its_own_share() {
    let report = report(0.0, "");
    let analysis = report.analysis.as_ref().expect("analysed");
    let relative =
        [-1.3, -1.3, -1.3, -1.8, -1.8].map(|gain_db: f64| Complex64::from(10_f64.powf(gain_db / 20.0)));
    let known = View {
        picked: Some(1),
        trace: Some(Rc::new(Trace::new("word 1".to_owned(), &relative))),
        ..View::default()
    };
    let (trace, setting) = known.served(&report, analysis).expect("a setting");
    assert_eq!(setting, Setting { gain_db: -1.0, phase_deg: 0.0 });
    let errors = trace.vector_errors_pct(setting);
    for (error, expected) in errors.iter().zip([3.394_9, 3.394_9, 3.394_9, 8.798_9, 8.798_9]) {
        assert!((error.expect("finite") - expected).abs() < 1e-4, "{error:?}");
    }
    assert_eq!(trace.within(setting, &analysis.tolerance), [true, true, true, false, false].map(Some));

    let last = |(head, rows): (Vec<String>, Vec<Vec<String>>)| {
        let cells = rows.into_iter().map(|mut row| row.pop().expect("a cell"));
        (head.last().expect("a head").clone(), cells.collect::<Vec<_>>())
    };
    let texts = |all: [&str; 5]| all.map(str::to_owned).to_vec();
    assert_eq!(
        last(numbers::errors(&report, analysis, &known)),
        ("Word 1".to_owned(), texts(["3.4 %", "3.4 %", "3.4 %", "8.8 %", "8.8 %"]))
    );
    assert_eq!(
        last(numbers::shares(&report, analysis, &known)),
        ("Word 1".to_owned(), texts(["within", "within", "within", "outside", "outside"]))
    );
    assert_eq!(last(numbers::errors(&report, analysis, &View::default())).0, "Nominal");

    // Without its trace nothing is drawn of it yet; with it a line, and a bar over five eighths of the plot.
    let asked = View { trace: None, ..known.clone() };
    for plot in ["errors.svg", "share-within-tolerance.svg"] {
        assert!(
            has(&svg(plot, &report, &known), "word 1") && !has(&svg(plot, &report, &asked), "word 1"),
            "{plot}"
        );
    }
    let share = svg("share-within-tolerance.svg", &report, &known);
    let bar = share.lines().find(|line| line.starts_with("<rect") && line.contains("fill=\"#A32A12\""));
    let number = |line: &str, name: &str| -> f64 {
        let from = line.find(&format!(" {name}=\"")).expect("an attribute") + name.len() + 3;
        line[from..].split('"').next().and_then(|text| text.parse().ok()).expect("a number")
    };
    let bar = number(bar.expect("a bar"), "width");
    let thin = share.lines().find(|line| line.starts_with("<line") && line.contains("stroke=\"#A32A12\""));
    let thin = thin.map(|line| number(line, "x2") - number(line, "x1")).expect("a line");
    assert!((bar / thin - 5.0 / 8.0).abs() < 0.005, "{bar} of {thin}");
    assert_eq!(
        captions::picked_within("word 1", setting),
        " The bar at the foot is where word 1 is within tolerance of −1 dB and 0°."
    );
}

/// Word 9 sets bits 0 and 3, and means −1 dB, which takes both gain bits, and −90°, which takes two of the three phase bits.
#[test]
fn a_word_picked_out_is_marked_where_it_has_a_part() {
    let report = report(0.0, "");
    let analysis = report.analysis.as_ref().expect("analysed");
    let (free, view) = (View::default(), View { picked: Some(9), ..View::default() });
    let more = |plot: &str, view: &View, mark: &str| {
        svg(plot, &report, view).matches(mark).count() - svg(plot, &report, &free).matches(mark).count()
    };
    assert_eq!(more("bit-weights.svg", &view, "<line"), 2 * 2 * 4, "two bits are framed in either panel");
    assert_eq!(more("resolution-map.svg", &view, "<circle"), 2, "with two and with three phase bits");
    let setting = view.setting(&report, analysis).expect("a setting");
    assert_eq!(
        captions::picked_resolution("word 9", setting),
        " A disc marks the cells that have the setting of word 9, −1 dB and −90°."
    );
    assert_eq!(
        captions::resolution(&report, analysis),
        "Share of the settings of so many bits that some state serves at 10 GHz; shaded where all are; framed the most \
         bits of which all are, 3 bits of phase and 2 of gain."
    );
    assert_eq!(
        captions::phases(&report, analysis),
        "Relative phase of all states against frequency: at 10 GHz they go all around, neighbours at most 45.0° apart."
    );
    // State 9 is word 9.
    let formed =
        report.signal.as_ref().and_then(|signal| signal.constellations.as_ref().ok()).expect("formed");
    let made = formed.iter().filter(|one| one.states.contains(&9)).count();
    assert_eq!(more("evm.svg", &view, "<line"), 4 * made);
    assert!(
        (0..32).any(|state| more("evm.svg", &View { picked: Some(state), ..View::default() }, "<line") > 0)
    );

    let figure = View { figure: "gain state error".to_owned(), ..view.clone() };
    assert!(has(&svg("field-figure.svg", &report, &figure), "code 1"));
    let in_view = figure.field(&report, analysis).expect("graded");
    let (head, rows) = numbers::figure(&report, in_view, &figure.figure);
    assert_eq!(head.last().map(String::as_str), Some("Code 1"));
    assert!(rows.iter().all(|row| row.last().is_some_and(|cell| cell == "0 dB")), "{rows:?}");
    // A figure over all codes has no line of one.
    let whole = View { figure: "rms gain error".to_owned(), ..view };
    assert!(!has(&svg("field-figure.svg", &report, &whole), "code 1"));
}

/// Four states a quarter turn apart are QPSK without error; from the 41st of 60 frequencies on all four are the same, and
/// no two points may share a state.
#[test]
fn the_largest_clean_constellation_is_told_at_every_frequency_of_a_long_grid() {
    let text = |word: usize| {
        let mut text = "# GHz S DB R 50\n".to_owned();
        for point in 0..60_u16 {
            let ghz = 8.0 + 0.05 * f64::from(point);
            let phase = if point < 40 { -90.0 * word as f64 } else { 0.0 };
            writeln!(text, "{ghz} -20 10 -7 {phase} -7 {phase} -18 -30").unwrap();
        }
        text
    };
    let files =
        (0..4).fold(Folder::default(), |folder, word| folder.with(&format!("w_{word}.s2p"), text(word)));
    let layout = Layout { fields: vec![Field::contiguous(Quantity::Phase, 0, 2, 90.0, Direction::Down)] };
    let report = folder::report(&files, Settings { layout: Some(layout), ..Settings::default() }, 2);
    let found = report.largest_clean.as_ref().expect("looked for");
    assert_eq!(found.looked_at, (0..60).collect::<Vec<_>>());
    let expected: Vec<Option<u16>> = (0..60).map(|point| (point < 40).then_some(4)).collect();
    assert_eq!(found.orders, expected);
    let rows =
        String::from_utf8(make("per-frequency.csv", &report, &sheet(&report)).expect("rows")).expect("UTF-8");
    let last: Vec<&str> = rows.lines().skip(1).filter_map(|row| row.rsplit(',').next()).collect();
    assert_eq!(last, (0..60).map(|point| if point < 40 { "4" } else { "0" }).collect::<Vec<_>>());
}

/// QPSK needs four phases at right angles, which are there; of more points the corners of a square 16-QAM's two rings
/// lie 9.5 dB apart, beyond gains of 0 to −3 dB.
#[test]
fn the_constellation_that_the_user_picks_is_drawn() {
    let report = report(0.0, "");
    let of = |order: Option<u16>| svg("constellation.svg", &report, &View { order, ..View::default() });
    // A disc for each of the 32 states that lies in sight, none of them open: corners of √½ and 0.35 beside them.
    let one = View::default();
    let one = one.constellation(&report).expect("formed");
    let in_sight = (0..32_u32).filter(|word| {
        let gain_db = -f64::from(word & 3) - one.corner_gain_db;
        let turned_deg = -45.0 * f64::from(word >> 2) - one.turn_deg;
        let (sin, cos) = turned_deg.to_radians().sin_cos();
        10_f64.powf(gain_db / 20.0) * sin.abs().max(cos.abs()) <= 0.5_f64.sqrt() + 0.35
    });
    let largest = of(None);
    assert_eq!(largest, of(Some(4)));
    assert_eq!(largest.matches("<circle").count(), in_sight.count());
    assert!(has(&largest, "ideal point") && has(&largest, "its state") && !has(&largest, "not clean"));
    let sixteen = of(Some(16));
    assert!(has(&sixteen, "not clean") && sixteen != largest);
    let view = View { order: Some(16), ..View::default() };
    let one = view.constellation(&report).expect("formed");
    assert!(captions::constellation(&report, one).starts_with("16-QAM at 10 GHz, turned upright by "));
    let clean = View::default();
    let said = captions::constellation(&report, clean.constellation(&report).expect("formed"));
    assert!(said.ends_with("0 % EVM over average power, 0 % over peak power. It is clean."), "{said}");

    let found = report.largest_clean.as_ref().expect("looked for");
    assert_eq!(
        (found.looked_at.as_slice(), found.orders.as_slice()),
        ([0, 1, 2, 3, 4].as_slice(), [Some(4); 5].as_slice())
    );
    assert_eq!(
        captions::largest_clean(&report, found),
        "The largest clean constellation against frequency: QPSK at 8 GHz and everywhere else."
    );
    // At every frequency two bits of gain and three of phase are clean, and four points.
    let rows =
        String::from_utf8(make("per-frequency.csv", &report, &sheet(&report)).expect("rows")).expect("UTF-8");
    assert_eq!(rows.lines().skip(1).filter(|row| row.ends_with(",2,3,4")).count(), 5, "{rows}");
    let evm = svg("evm.svg", &report, &View::default());
    for label in ["QPSK", "16-QAM", "17.5", "12.5", "8.0", "3.5", "2.5", "clean", "not clean", "guide limit"]
    {
        assert!(has(&evm, label), "{label}");
    }
}

#[test]
fn the_summary_has_resolution_and_constellations() {
    let report = report(0.0, "");
    let json = make("summary.json", &report, &sheet(&report)).expect("a summary");
    let summary: Value = serde_json::from_slice(&json).expect("JSON");
    let all = json!({"phase_bits": 3, "gain_bits": 2});
    let resolution = &summary["resolution"];
    assert_eq!((&resolution["frequency_hz"], &resolution["clean"]), (&json!(10e9), &all));
    assert_eq!(resolution["served_pct"], json!(vec![vec![100.0; 3]; 4]));
    assert_eq!(resolution["clean_at"][4], json!({"frequency_hz": 12e9, "phase_bits": 3, "gain_bits": 2}));
    let constellations = &summary["constellations"];
    assert_eq!(constellations["formed"].as_array().map(Vec::len), Some(6));
    let four = &constellations["formed"][0];
    assert_eq!(
        (&four["order"], &four["clean"], &four["guide_limit_pct"]),
        (&json!(4), &json!(true), &json!(17.5))
    );
    assert!(four["evm_pct"].as_f64().expect("a number") < 1e-9);
    // Four words of one gain a right angle apart: phase codes that differ by two, and the same gain code.
    let mut words: Vec<u64> =
        four["words"].as_array().expect("a list").iter().filter_map(Value::as_u64).collect();
    words.sort_unstable();
    assert_eq!(words.len(), 4);
    assert!(words.windows(2).all(|pair| pair[1] - pair[0] == 8), "{words:?}");
    let scale = four["scale"].as_array().expect("two numbers");
    let size = scale.iter().filter_map(Value::as_f64).map(|part| part * part).sum::<f64>().sqrt();
    let corner_gain_db = four["corner_gain_db"].as_f64().expect("a number");
    // The ring of zero gain transmits −7 dB.
    assert!((20.0 * size.log10() - (corner_gain_db - 7.0)).abs() < 1e-9);
    assert_eq!(constellations["formed"][5]["guide_limit_pct"], Value::Null);
    assert_eq!(constellations["largest_clean_at"][0], json!({"frequency_hz": 8e9, "order": 4}));
}

/// Settings in dB, one a file: no bits, no phase.
#[test]
fn what_a_run_without_bits_has_not_is_not_offered() {
    let mut folder = Folder::default();
    for step in 0..4 {
        let gain = -f64::from(step);
        let mut text = "# GHz S DB R 50\n".to_owned();
        for ghz in 8..11 {
            writeln!(text, "{ghz} -20 0 {gain} 0 {gain} 0 -20 0").unwrap();
        }
        folder = folder.with(&format!("att_{step}dB.s2p"), text);
    }
    let report = folder::report(&folder, Settings::default(), 1);
    assert!(report.analysis.as_ref().is_ok_and(|analysis| analysis.layout().is_none()));
    let offered = |name: &str| {
        let export: &Export = exports().iter().find(|export| export.file_name == name).expect("an export");
        export.missing(&report, &View::default()).is_none()
    };
    for name in
        ["bit-weights.svg", "bit-weights.png", "constellation.svg", "evm.png", "largest-constellation.svg"]
    {
        assert!(!offered(name), "{name}");
    }
    assert!(offered("plane.svg") && offered("code-traces.svg") && offered("resolution-map.svg"));
    let refused = make("bit-weights.svg", &report, &sheet(&report)).expect_err("a refusal");
    assert_eq!(refused, ExportRefused::NoSuchPlot("The run has no bits whose weights could be drawn."));
    let json = make("summary.json", &report, &sheet(&report)).expect("a summary");
    let summary: Value = serde_json::from_slice(&json).expect("JSON");
    assert_eq!(summary["constellations"], Value::Null);
    assert!(svg("code-traces.svg", &report, &View::default()).contains("Relative gain, dB"));
}

/// Word 1 lies 0.4 dB below its setting, which makes a vector error of 1 − 10^(−0.4/20) = 4.5007 % and, over 32 settings, of
/// 0.7956 % RMS; at 12 GHz 0.6 dB: 6.6746 % and 1.1799 %, outside the tolerance of half a step. By hand.
#[test]
fn what_is_drawn_against_frequency_is_said_with_its_numbers() {
    let folder = changed(files(0.4), "w_01.s2p", "\n12 -20 10 -8.4 ", "\n12 -20 10 -8.6 ");
    let settings = Settings { frequency_hz: Some(12e9), ..report(0.0, "").settings };
    let report = folder::report(&folder, settings, 2);
    let analysis = report.analysis.as_ref().expect("analysed");
    let (error, share) = ("1.2 %", "96.9 %");
    assert_eq!(
        captions::errors(&report, analysis),
        format!(
            "RMS relative vector error of the three mappings against frequency: at 12 GHz {error} with the chosen words, \
             {error} with the held words and {error} with the nominal words. The chosen words err least at 8 GHz: 0.80 %."
        )
    );
    assert_eq!(
        captions::shares(&report, analysis),
        format!(
            "Settings within tolerance against frequency: at 12 GHz {share} with the chosen words, {share} with the held \
             words and {share} with the nominal words."
        )
    );
    assert_eq!(
        captions::gains(&report, analysis),
        "Relative gain of all states against frequency: at 12 GHz from −3.0 to 0 dB."
    );
    assert_eq!(
        captions::clean_bits(&report, analysis),
        "The most bits of which all settings are served, against frequency: at 12 GHz 3 bits of phase and 1 of gain."
    );
    // Every reference reads the same.
    assert_eq!(
        captions::references(&report, analysis).as_deref(),
        Some("RMS relative vector error of the words chosen under every reference against frequency.")
    );
}

/// The zero word lies 0.4 dB low. Under it all 31 others err 10^(0.4/20) − 1, over 32 settings 4.64 % RMS; with T the states
/// over their settings, 31 of them 1 and one of 10^(−0.4/20), the least squares leave √(1 − (ΣT)²/(32·ΣT²)) = 0.784 %. By hand.
#[test]
fn the_references_that_do_best_and_worst_are_said_under_their_plot() {
    let folder = changed(files(0.0), "w_00.s2p", " -20 10 -7 ", " -20 10 -7.4 ");
    let report = folder::report(&folder, report(0.0, "").settings, 2);
    let said = captions::references(&report, report.analysis.as_ref().expect("analysed")).expect("compared");
    let least = "RMS relative vector error of the words chosen under every reference against frequency: at 10 GHz the least is \
                 0.78 %, with ";
    assert!(said.starts_with(least) && said.contains(", and the most 4.6 %, with the "), "{said}");
}

/// Word 0b01001 attenuates by 1 dB and lags by 90°. All words of gain code 1 have one trace of gain: the lowest is named. Of the
/// phases 178° is nearer to −180° than to 135°.
#[test]
fn the_trace_nearest_to_a_pointer_is_named() {
    let report = report(0.0, "");
    let analysis = report.analysis.as_ref().expect("analysed");
    let relative: Vec<Complex64> = (0..32)
        .map(|word| {
            let (gain_db, phase_deg) = (-f64::from(word & 3), -45.0 * f64::from(word >> 2));
            Complex64::from_polar(10_f64.powf(gain_db / 20.0), phase_deg.to_radians())
        })
        .collect();
    let near = |quantity, value, within| near_trace(&report, analysis, quantity, 1, &relative, value, within);
    let (state, said) = near(TraceQuantity::RelativeGainDb, -1.1, 0.2).expect("near");
    assert_eq!(state, 1);
    assert_eq!(
        said,
        "At 9 GHz the nearest trace is that of word 1 (hexadecimal 01): −1.0 dB and 0° relative to the reference."
    );
    assert_eq!(near(TraceQuantity::RelativeGainDb, -1.5, 0.4), None);
    assert_eq!(near(TraceQuantity::RelativePhaseDeg, 178.0, 5.0).map(|near| near.0), Some(16));
    assert_eq!(near(TraceQuantity::RelativePhaseDeg, -92.0, 5.0).map(|near| near.0), Some(8));
}
