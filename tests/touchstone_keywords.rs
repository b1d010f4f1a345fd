//! The keywords of version 2: where they may stand, what they need, and what is refused. The rules are those of
//! Touchstone 2.1, under the heading of each keyword.

use num_complex::Complex64;
use sweepfold::touchstone::{ReadErrorKind as Kind, read};

const GOOD: &str = "\
[Version] 2.1
# GHz S RI R 50
[Number of Ports] 2
[Two-Port Data Order] 21_12
[Number of Frequencies] 2
[Number of Noise Frequencies] 1
[Reference] 50
75 ! second port
[Matrix Format] Full
[Begin Information]
[Date] today
anything 1 2 3
[End Information]
[Network Data]
1 0.1 0 0.2 0 0.3 0 0.4 0
2 0.1 0 0.2 0
  0.3 0 0.4 0
[Noise Data]
1 0.7 0.64 69 19
[End]
! a comment may follow
";

fn refusal(text: &str) -> (Option<usize>, Kind) {
    let error = read("a.ts", text.as_bytes()).expect_err("has to be refused");
    (error.line, error.kind)
}

#[test]
fn a_file_with_every_keyword_is_read() {
    let network = read("a.ts", GOOD.as_bytes()).unwrap();
    assert_eq!(network.ports, 2);
    assert_eq!(network.reference_ohm, [50.0, 75.0]);
    assert_eq!(network.frequency_hz, [1e9, 2e9]);
    assert_eq!(network.s(1, 2, 1), Complex64::new(0.2, 0.0));
    assert_eq!(network.noise_rows, 1);
    assert_eq!(network.comments, ["second port", "a comment may follow"]);
    assert_eq!(network.warnings, []);
}

#[test]
fn case_and_dashes_of_keywords_do_not_matter() {
    let upper = GOOD.to_ascii_uppercase();
    let lower = GOOD.to_ascii_lowercase().replace("two-port", "two port");
    for text in [upper, lower] {
        let network = read("a.ts", text.as_bytes()).unwrap();
        assert_eq!((network.frequency_hz.len(), network.noise_rows), (2, 1));
    }
}

#[test]
fn faults_of_keywords_are_named_with_their_line() {
    let argument = |keyword, expected| Kind::KeywordArgument { keyword, expected };
    let whole = "one positive whole number";
    for (from, to, line, kind) in [
        ("[Version] 2.1", "[Version] 3.0", 1, Kind::VersionUnsupported { word: "3.0".into() }),
        ("[Version] 2.1", "[Version]", 1, argument("Version", "2.0 or 2.1")),
        (
            "[Version] 2.1",
            "! no version",
            3,
            Kind::KeywordWithoutVersion { keyword: "Number of Ports".into() },
        ),
        ("[Version] 2.1", "[Version 2.1", 1, Kind::KeywordOpen),
        ("[Number of Ports] 2", "[Number of Ports] two", 3, argument("Number of Ports", whole)),
        ("[Number of Ports] 2", "[Number of Ports] 0", 3, argument("Number of Ports", whole)),
        ("[Number of Ports] 2", "[Number of Ports] 2 2", 3, argument("Number of Ports", whole)),
        ("[Number of Ports] 2", "[Number of Ports] 10001", 3, Kind::PortsTooMany { limit: 10_000 }),
        ("[Number of Ports] 2", "", 14, Kind::KeywordMissing { keyword: "Number of Ports" }),
        ("21_12", "11_22", 4, argument("Two-Port Data Order", "12_21 or 21_12")),
        ("Frequencies] 2", "Frequencies] 3", 5, Kind::FrequencyCount { promised: 3, found: 2 }),
        ("Frequencies] 2", "Frequencies] 1", 5, Kind::FrequencyCount { promised: 1, found: 2 }),
        ("Noise Frequencies] 1", "Noise Frequencies] 2", 6, Kind::NoiseCount { promised: 2, found: 1 }),
        ("[Noise Data]\n1 0.7 0.64 69 19\n", "", 6, Kind::NoiseCount { promised: 1, found: 0 }),
        ("75 ! second port", "75 100", 7, Kind::ReferenceCount { found: 3, ports: 2 }),
        ("75 ! second port", "", 7, Kind::ReferenceCount { found: 1, ports: 2 }),
        ("75 ! second port", "(75+1j)", 8, Kind::ReferenceComplex { word: "(75+1j)".into() }),
        ("75 ! second port", "ohm", 8, Kind::ReferenceNotPositive { word: "ohm".into() }),
        ("Format] Full", "Format] Half", 9, argument("Matrix Format", "Full, Lower or Upper")),
        (
            "[Matrix Format] Full",
            "[Matrix Shape] Full",
            9,
            Kind::KeywordUnknown { keyword: "Matrix Shape".into() },
        ),
        (
            "[Matrix Format] Full",
            "[Number of Ports] 2",
            9,
            Kind::KeywordTwice { keyword: "Number of Ports", first_line: 3 },
        ),
        ("[Matrix Format] Full", "[Mixed-Mode Order] D1,2 C1,2", 9, Kind::MixedMode),
        ("[Matrix Format] Full", "[Noise Data]", 9, Kind::KeywordMisplaced { keyword: "Noise Data" }),
        ("[End Information]\n", "", 10, Kind::InformationOpen),
        ("[Begin Information]\n", "", 10, Kind::KeywordUnknown { keyword: "Date".into() }),
        ("[Network Data]\n", "", 14, Kind::TextOutsideKeyword { word: "1".into() }),
        ("# GHz S RI R 50\n", "", 13, Kind::NoOptionLine),
        ("  0.3 0 0.4 0\n", "", 16, Kind::RowLength { found: 5, expected: 9 }),
        ("[End]\n", "[End]\n3 0 0 0 0 0 0 0 0\n", 21, Kind::AfterEnd),
        ("[End]\n", "[End]\n[End]\n", 21, Kind::AfterEnd),
        ("[End]\n", "[Reference] 50 50\n", 20, Kind::KeywordTwice { keyword: "Reference", first_line: 7 }),
    ] {
        assert!(GOOD.contains(from), "{from}");
        assert_eq!(refusal(&GOOD.replacen(from, to, 1)), (Some(line), kind), "{from} -> {to}");
    }
}

#[test]
fn what_is_missing_without_harm_is_warned_of() {
    for (from, to, line, words) in [
        ("[Two-Port Data Order] 21_12\n", "", 13, "21_12 is assumed"),
        ("[Number of Frequencies] 2\n", "", 13, "[Number of Frequencies] is missing"),
        ("[End]\n! a comment may follow\n", "", 20, "[End] is missing"),
    ] {
        let network = read("a.ts", GOOD.replacen(from, to, 1).as_bytes()).unwrap();
        assert_eq!(network.warnings.len(), 1, "{:?}", network.warnings);
        assert_eq!(network.warnings[0].line, line);
        assert!(network.warnings[0].message.contains(words), "{:?}", network.warnings);
        assert_eq!(network.frequency_hz.len(), 2);
    }
    let named = read("a.s3p", GOOD.as_bytes()).unwrap();
    assert_eq!((named.ports, named.warnings[0].line), (2, 3));
    let by_name = read("a.s2p", GOOD.replace("[Number of Ports] 2\n", "").as_bytes()).unwrap();
    assert_eq!((by_name.ports, by_name.warnings.len()), (2, 1));
}

#[test]
fn a_version_2_file_cut_anywhere_before_its_last_row_is_refused() {
    let network_end = GOOD.find("[Noise Data]").unwrap() - 2;
    for cut in 0..network_end {
        assert!(read("a.ts", &GOOD.as_bytes()[..cut]).is_err(), "{:?}", &GOOD[..cut]);
    }
}

#[test]
fn version_1_has_no_keywords() {
    let (line, kind) = refusal("# GHz S RI\n1 0 0\n[End]\n");
    assert_eq!((line, kind), (Some(3), Kind::KeywordWithoutVersion { keyword: "End".into() }));
    let (line, kind) = refusal("# GHz S RI\n[Odd]\n1 0 0\n");
    assert_eq!((line, kind), (Some(2), Kind::KeywordWithoutVersion { keyword: "Odd".into() }));
}

#[test]
fn noise_belongs_to_two_ports() {
    let text = "[Version] 2.1\n#\n[Number of Ports] 1\n[Number of Frequencies] 1\n[Network Data]\n1 0 0\n[Noise Data]\n1 0 0 0 0\n[End]\n";
    assert_eq!(refusal(text), (Some(7), Kind::NoisePorts { ports: 1 }));
}
