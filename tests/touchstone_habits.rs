//! How real files differ from the standard, and what the reader makes of each habit: read it, warn, or refuse it
//! with the place. Expected values follow from the text of each test.

use num_complex::Complex64;
use sweepfold::touchstone::{Network, Parameter, ReadErrorKind as Kind, read};

const TWO_ROWS: &str = "1 0.1 0.2 0.3 0.4 0.5 0.6 0.7 0.8\n2 0.2 0.3 0.4 0.5 0.6 0.7 0.8 0.9\n";

fn network(name: &str, text: impl AsRef<[u8]>) -> Network {
    read(name, text.as_ref()).unwrap_or_else(|error| panic!("{error}"))
}

/// Line, column and kind of a refusal.
#[track_caller]
fn refusal(name: &str, text: impl AsRef<[u8]>) -> (Option<usize>, Option<usize>, Kind) {
    let error = read(name, text.as_ref()).expect_err("has to be refused");
    assert_eq!(error.file, name);
    (error.line, error.column, error.kind)
}

#[track_caller]
fn assert_two_rows(network: &Network) {
    assert_eq!((network.ports, network.frequency_hz.as_slice()), (2, &[1e9, 2e9][..]));
    assert_eq!(network.s(0, 2, 1), Complex64::new(0.3, 0.4));
    assert_eq!(network.s(1, 1, 2), Complex64::new(0.6, 0.7));
    assert_eq!(network.s(1, 2, 2), Complex64::new(0.8, 0.9));
}

#[test]
fn option_lines_in_any_shape_are_read() {
    for option in [
        "# GHz S RI R 50",
        "#GHZ s ri r 50",
        " \t# RI S R 50",
        "#\tR\t50\tRI\tGHz\tS",
        "# ri",
        "!note\n\n# GHz S RI R 50 ! note",
        "#RI",
    ] {
        let network = network("a.s2p", format!("{option}\n{TWO_ROWS}"));
        assert_two_rows(&network);
        assert_eq!(network.reference_ohm, [50.0, 50.0]);
        assert_eq!(network.warnings, []);
    }
}

#[test]
fn later_option_lines_are_ignored_with_a_warning() {
    let network = network("a.s2p", format!("# GHz S RI R 10\n# MHz Z MA R (20+20j)\n{TWO_ROWS}# Hz\n"));
    assert_two_rows(&network);
    assert_eq!(network.reference_ohm, [10.0, 10.0]);
    let lines: Vec<usize> = network.warnings.iter().map(|warning| warning.line).collect();
    assert_eq!(lines, [2, 5]);
}

#[test]
fn rows_without_an_option_line_are_refused() {
    let text = format!("! freq(MHz) dB deg\n\n{TWO_ROWS}");
    assert_eq!(refusal("a.s2p", text), (Some(3), Some(1), Kind::NoOptionLine));
}

#[test]
fn what_is_no_touchstone_file_is_refused_by_its_first_word() {
    let word = |word: &str| Kind::NotTouchstone { word: word.to_owned() };
    assert_eq!(refusal("a.s2p", "Frequency;S11;S21\n1;2;3\n"), (Some(1), Some(1), word("Frequency;S11;S21")));
    assert_eq!(
        refusal("a.s2p", b"\x89PNG\r\n\x1A\n\0\0"),
        (Some(1), Some(1), word("\u{89}PNG".escape_debug().to_string().as_str()))
    );
    assert_eq!(refusal("a.ini", "\n[settings]\nx=1\n"), (Some(2), Some(1), word("[settings]")));
    assert!(matches!(refusal("a.md", "# Heading of notes\n").2, Kind::OptionUnknown { .. }));
    assert_eq!(refusal("a.s2p", b"\xFF\xFE#\0 \0"), (None, None, Kind::Utf16));
    for text in ["", "\n", " \t\r\n \n", "\u{FEFF}"] {
        assert_eq!(refusal("a.s2p", text), (None, None, Kind::Empty), "{text:?}");
    }
}

/// Prose or digits of 100 MB, and smaller files that begin like a good one: refused in one sentence.
#[test]
fn large_files_of_another_kind_are_refused() {
    const LARGE: usize = 100_000_000;
    const SMALLER: usize = 5_000_000;
    for (head, pattern, length) in [
        ("", "the quick brown fox jumps over the lazy dog ", LARGE),
        ("", "1234567890", LARGE),
        ("", "0.12345 ", SMALLER),
        ("", "0", SMALLER),
        ("#\n", "0.12345 ", SMALLER),
        ("#\n", "1234567890", SMALLER),
        ("#\n", "1\n", SMALLER),
        ("", "! comment\n", SMALLER),
        ("# GHz S RI R ", "x", SMALLER),
        ("[", "a", SMALLER),
    ] {
        let mut bytes = head.as_bytes().to_vec();
        bytes.extend(pattern.bytes().cycle().take(length));
        let error = read("a.s2p", &bytes).expect_err("has to be refused");
        assert!(error.to_string().len() < 400, "{error}");
    }
}

#[test]
fn a_header_alone_says_that_there_is_no_data() {
    for text in ["# GHz S RI R 50\n", "! only\n! comments\n", "#"] {
        assert_eq!(refusal("a.s2p", text), (None, None, Kind::NoData), "{text:?}");
    }
    let version_2 = "[Version] 2.1\n#\n[Number of Ports] 1\n[Network Data]\n[End]\n";
    assert_eq!(refusal("a.ts", version_2), (None, None, Kind::NoData));
}

#[test]
fn every_line_end_gives_the_same_network() {
    let text = format!("! one\n# GHz S RI R 50 ! two\n\n{TWO_ROWS}");
    let expected = network("a.s2p", &text);
    assert_two_rows(&expected);
    for end in ["\r\n", "\r"] {
        assert_eq!(network("a.s2p", text.replace('\n', end)), expected);
    }
    let mut turn = 0;
    let mixed: String = text
        .split_inclusive('\n')
        .map(|line| {
            turn += 1;
            line.replace('\n', ["\r\n", "\n", "\r"][turn % 3])
        })
        .collect();
    assert_eq!(network("a.s2p", mixed), expected);
    assert_eq!(network("a.s2p", text.trim_end()), expected);
    assert_eq!(network("a.s2p", text.replace('\n', "\t \t\n")), expected);
    assert_eq!(network("a.s2p", format!("\u{FEFF}{text}")), expected);
    assert_eq!(network("a.s2p", format!("{text}\x1A")), expected);
}

#[test]
fn lines_are_counted_the_same_with_every_line_end() {
    for end in ["\n", "\r\n", "\r"] {
        let text = format!("! one{end}# GHz S RI{end}{end}1 0 0 0 0 0 0 0 0{end}2 0 0 0 0 0 0 0 x{end}");
        let kind = Kind::NotANumber { word: "x".into() };
        assert_eq!(refusal("a.s2p", text), (Some(5), Some(17), kind), "{end:?}");
    }
}

#[test]
fn comments_in_latin_1_and_utf_8_are_kept() {
    let mut text = b"! phase = 20\xB0\n! \xB5W and \xE9\n# GHz S RI\n".to_vec();
    text.extend_from_slice(TWO_ROWS.as_bytes());
    text.extend_from_slice("! 20°\n".as_bytes());
    let network = network("a.s2p", text);
    assert_two_rows(&network);
    assert_eq!(network.comments, ["phase = 20°", "µW and é", "20°"]);
}

#[test]
fn letters_above_ascii_outside_comments_are_refused() {
    let (line, column, kind) = refusal("a.s1p", b"# Hz S RI\n1 2 \xB0\n");
    assert_eq!((line, column), (Some(2), Some(5)));
    assert_eq!(kind, Kind::NotANumber { word: "°".into() });
}

#[test]
fn exponents_of_every_fashion_are_read() {
    let network = network("a.s1p", "# kHz S RI\n1.5e+003 +1.2E-001 -5e-005\n2.E3 .5 -.25\n");
    assert_eq!(network.frequency_hz, [1.5e6, 2e6]);
    assert_eq!(network.s, [Complex64::new(0.12, -5e-5), Complex64::new(0.5, -0.25)]);
}

#[test]
fn what_is_no_finite_decimal_is_refused_with_its_place() {
    let row = |bad: &str| format!("# GHz S RI\n1 0.1 0.2 0.3 {bad} 0.5 0.6 0.7 0.8\n");
    for bad in ["nan", "NaN", "inf", "-INF", "-infinity", "1.#IND", "-nan(ind)"] {
        let kind = Kind::NumberNotFinite { word: bad.into() };
        assert_eq!(refusal("a.s2p", row(bad)), (Some(2), Some(15), kind));
    }
    for (bad, kind) in [
        ("1D-1", Kind::ExponentLetter { word: "1D-1".into() }),
        ("0,4", Kind::DecimalComma { word: "0,4".into() }),
        ("0.4,", Kind::DecimalComma { word: "0.4,".into() }),
        ("1e999", Kind::NumberTooLarge { word: "1e999".into() }),
        ("1.2.3", Kind::NotANumber { word: "1.2.3".into() }),
        ("--", Kind::NotANumber { word: "--".into() }),
        ("0.4;", Kind::NotANumber { word: "0.4;".into() }),
    ] {
        assert_eq!(refusal("a.s2p", row(bad)), (Some(2), Some(15), kind));
    }
    let in_frequency = "# GHz S RI\n1,5 0 0\n";
    assert_eq!(refusal("a.s1p", in_frequency), (Some(2), Some(1), Kind::DecimalComma { word: "1,5".into() }));
}

#[test]
fn results_that_are_not_finite_are_refused() {
    assert_eq!(refusal("a.s1p", "# GHz S DB\n1 7000 0\n"), (Some(2), None, Kind::NotFinite));
    assert_eq!(refusal("a.s1p", "# GHz Z RI\n1 2 0\n2 -1 0\n"), (Some(3), None, Kind::NotFinite));
    assert!(matches!(refusal("a.s1p", "# GHz S RI\n1e305 2 0\n").2, Kind::NumberTooLarge { .. }));
    assert_eq!(refusal("a.s1p", "# GHz S RI\n-1 2 0\n"), (Some(2), Some(1), Kind::NegativeFrequency));
}

#[test]
fn frequencies_have_to_ascend() {
    let row = "0 0 0 0 0 0 0 0";
    let back = format!("# GHz S RI\n1 {row}\n\n3 {row}\n2 {row}\n");
    assert_eq!(refusal("a.s2p", back), (Some(5), Some(1), Kind::NotAscending { previous_line: 4 }));
    let same = format!("# GHz S RI\n1 {row}\n1.0 {row}\n");
    assert_eq!(refusal("a.s2p", same), (Some(3), Some(1), Kind::Repeated { previous_line: 2 }));
    assert_eq!(
        refusal("a.s1p", "# GHz S RI\n5 0 0\n 4 0 0\n"),
        (Some(3), Some(2), Kind::NotAscending { previous_line: 2 })
    );
}

#[test]
fn noise_rows_are_counted_and_checked() {
    let head = "# GHz S RI\n1 0 0 0 0 0 0 0 0\n9 0 0 0 0 0 0 0 0\n";
    let read_past = network("a.s2p", format!("{head}4 0.7 0.64 69 0.38 ! noise\n\n18 2.7 0.46 -33 0.40"));
    assert_eq!((read_past.noise_rows, read_past.frequency_hz.len()), (2, 2));
    assert_eq!(network("a.s2p", format!("{head}9 0.7 0.64 69 0.38\n")).noise_rows, 1);

    let nine = format!("{head}4 0 0 0 0 0 0 0 0\n");
    assert_eq!(refusal("a.s2p", nine), (Some(4), Some(1), Kind::NotAscending { previous_line: 3 }));
    let then_nine = format!("{head}4 0.7 0.64 69 0.38\n5 0 0 0 0 0 0 0 0\n");
    assert_eq!(refusal("a.s2p", then_nine), (Some(5), None, Kind::NoiseRowLength { found: 9 }));
    let short = format!("{head}4 0.7 0.64 69 0.38\n5 0 0\n6 0.7 0.64 69 0.38\n");
    assert_eq!(refusal("a.s2p", short), (Some(5), None, Kind::NoiseRowLength { found: 3 }));
    let cut = format!("{head}4 0.7 0.64 69 0.38\n5 0.7 0.64");
    assert_eq!(refusal("a.s2p", cut), (Some(5), None, Kind::Truncated { found: 3, expected: 5 }));
    let back = format!("{head}4 0.7 0.64 69 0.38\n3 0.7 0.64 69 0.38\n");
    assert_eq!(refusal("a.s2p", back), (Some(5), Some(1), Kind::NotAscending { previous_line: 4 }));
    let not_a_number = format!("{head}4 0.7 nan 69 0.38\n");
    assert_eq!(refusal("a.s2p", not_a_number).2, Kind::NumberNotFinite { word: "nan".into() });
}

#[test]
fn a_row_cut_short_names_its_line_and_values() {
    let text = format!("# GHz S RI\n{TWO_ROWS}");
    let row_start = text.find("\n2 ").unwrap() + 1;
    for cut in row_start + 1..text.trim_end().len() - 2 {
        let part = &text[..cut];
        let values = part[row_start..].split_whitespace().count();
        let (line, _, kind) = refusal("a.s2p", part);
        assert_eq!(line, Some(3), "{part:?}");
        let Kind::Truncated { found, expected: 9 } = kind else { panic!("{part:?} {kind:?}") };
        assert!(found == values || found + 1 == values, "{part:?} {found} {values}");
    }
    let (line, _, kind) = refusal("a.s2p", "# GHz S RI\n1 0 0 0 0 0 0 0 1.5e-");
    assert_eq!((line, kind), (Some(2), Kind::Truncated { found: 8, expected: 9 }));
}

#[test]
fn a_row_of_the_wrong_length_names_its_line() {
    let good = "0 0 0 0 0 0 0 0";
    let short = format!("# GHz S RI\n1 {good}\n2 0 0 0 0\n3 {good}\n4 {good}\n");
    assert_eq!(refusal("a.s2p", short), (Some(3), None, Kind::RowLength { found: 5, expected: 9 }));
    let long = format!("# GHz S RI\n1 {good}\n2 {good} 0\n3 {good}\n");
    assert_eq!(refusal("a.s2p", long), (Some(3), None, Kind::RowLength { found: 10, expected: 9 }));
    let lost_line = "# GHz S RI\n1 0 0 0 0 0 0\n0 0 0 0 0 0\n0 0 0 0 0 0\n2 0 0 0 0 0 0\n0 0 0 0 0 0\n3 0 0 0 0 0 0\n0 0 0 0 0 0\n0 0 0 0 0 0\n";
    assert_eq!(refusal("a.s3p", lost_line), (Some(5), None, Kind::RowLength { found: 13, expected: 19 }));
}

#[test]
fn wrapped_and_long_rows_are_read_by_counting() {
    let wrapped =
        "# GHz S RI\n1 0.1 0.2 0.3 0.4\n 0.5 0.6 ! more\n\n0.7 0.8\n2 0.2 0.3\n0.4 0.5 0.6 0.7 0.8 0.9\n";
    assert_two_rows(&network("a.s2p", wrapped));
    assert_two_rows(&network("a.ts", wrapped));
    let values: Vec<String> = (1..=18).map(|value| format!("0.{value:02}")).collect();
    let long = format!("# GHz S RI\n1 {}\n2 {}\n", values.join(" "), values.join(" "));
    let network = network("a.s3p", long);
    assert_eq!(network.s(1, 3, 3), Complex64::new(0.17, 0.18));
}

#[test]
fn ports_come_from_the_name_and_are_checked_against_the_rows() {
    let two_port = format!("# GHz S RI\n{TWO_ROWS}");
    for name in ["a.s2p", "A.S2P", "V10.5.s2p", "a.ts", "a.TS", "a", "a.txt"] {
        assert_two_rows(&network(name, &two_port));
    }
    let one_port = "# GHz S RI\n1 0 0\n2 0 0\n3 0 0\n4 0 0\n5 0 0\n6 0 0\n";
    assert_eq!(refusal("a.s2p", one_port).2, Kind::PortsDisagree { name: 2, rows: 1 });
    assert_eq!(refusal("a.s1p", &two_port), (Some(2), Some(1), Kind::PortsDisagree { name: 1, rows: 2 }));
    assert_eq!(refusal("a.s4p", &two_port).2, Kind::PortsDisagree { name: 4, rows: 2 });
    let three_port = "# GHz S RI\n1 0 0 0 0 0 0\n0 0 0 0 0 0\n0 0 0 0 0 0\n";
    assert_eq!(refusal("a.s2p", three_port).2, Kind::PortsDisagree { name: 2, rows: 3 });
    assert_eq!(network("a.ts", three_port).ports, 3);
    let odd = "# GHz S RI\n1 0 0 0 0\n2 0 0 0 0\n";
    assert_eq!(refusal("a.ts", odd), (Some(2), Some(1), Kind::PortsUnknown));
    assert_eq!(refusal("a.s99999p", odd).2, Kind::PortsTooMany { limit: 10_000 });
}

#[test]
fn references_are_positive_real_and_fit_the_ports() {
    let text = |reference: &str| format!("# GHz S RI R {reference}\n{TWO_ROWS}");
    assert_eq!(network("a.s2p", text("0.1 75.0")).reference_ohm, [0.1, 75.0]);
    assert_eq!(
        refusal("a.s2p", text("(50+50j)")),
        (Some(1), Some(14), Kind::ReferenceComplex { word: "(50+50j)".into() })
    );
    assert_eq!(
        refusal("a.s2p", text("-50")),
        (Some(1), Some(14), Kind::ReferenceNotPositive { word: "-50".into() })
    );
    assert_eq!(
        refusal("a.s2p", text("50 50 50")),
        (Some(1), None, Kind::ReferenceCount { found: 3, ports: 2 })
    );
    let unequal = "# GHz Z RI R 50 75\n1 0 0 0 0 0 0 0 0\n";
    let kind = Kind::UnequalNormalisation { parameter: Parameter::Impedance };
    assert_eq!(refusal("a.s2p", unequal), (Some(1), None, kind));
}

#[test]
fn port_impedances_in_comments_are_ignored_with_a_warning() {
    let text = "# GHz S RI R 50\n! Port Impedance 12.3 0.4\n1 0.5 0\n! Port Impedance 12.4 0.4\n2 0.5 0\n";
    let network = network("a.s1p", text);
    assert_eq!(network.reference_ohm, [50.0]);
    assert_eq!(network.s[0], Complex64::new(0.5, 0.0));
    assert_eq!(network.warnings.len(), 1);
    assert_eq!(network.warnings[0].line, 2);
    assert!(network.warnings[0].message.contains("not renormalised"));
}

#[test]
fn a_one_path_analysers_zeros_are_told() {
    let one_path =
        network("a.s2p", "# Hz S RI R 50\n1 0.1 0.2 0.3 0.4 0 0 0 0\n2 0.1 0.2 0.3 0.4 0 0 0.0 -0\n");
    assert!(one_path.is_one_path());
    let both = network("a.s2p", "# Hz S RI R 50\n1 0.1 0.2 0.3 0.4 0 0 0 0\n2 0.1 0.2 0.3 0.4 0 0 0 1e-9\n");
    assert!(!both.is_one_path());
    assert!(!network("a.s1p", "# Hz S RI R 50\n1 0 0\n").is_one_path());
}

#[test]
fn frequencies_do_not_depend_on_the_unit() {
    let in_ghz = network("a.s1p", "# GHz S RI\n1.1 0 0\n2.3 0 0\n");
    for (unit, first, second) in
        [("Hz", "1.1e9", "2300000000"), ("kHz", "1100000", "2300E3"), ("MHz", "1100", "2300.0")]
    {
        let other = network("a.s1p", format!("# {unit} S RI\n{first} 0 0\n{second} 0 0\n"));
        assert_eq!(other.frequency_hz, in_ghz.frequency_hz);
    }
    assert_eq!(in_ghz.frequency_hz, [1.1e9, 2.3e9]);
}

#[test]
fn errors_are_one_sentence_with_the_place() {
    let error = read("att_05.s2p", b"# GHz S RI\n1 0.1 0,2 0 0 0 0 0 0\n").unwrap_err();
    assert_eq!(
        error.to_string(),
        "att_05.s2p, line 2, column 7: “0,2” has a comma; export the file with decimal points and blanks between values."
    );
    assert_eq!(
        error.sentence(),
        "Line 2, column 7: “0,2” has a comma; export the file with decimal points and blanks between values."
    );
    let error = read("a.s2p", b"").unwrap_err();
    assert_eq!(error.to_string(), "a.s2p: The file is empty; copy it again from the analyser.");
    assert_eq!(error.sentence(), "The file is empty; copy it again from the analyser.");
    let error = read("a.s2p", b"#\n1 0 0 0 0 0").unwrap_err();
    assert_eq!(
        error.to_string(),
        "a.s2p, line 2: The row that begins here has 6 values of 9 and then the file ends, so it was cut short; copy it again from its source."
    );
}
