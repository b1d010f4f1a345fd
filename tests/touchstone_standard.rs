//! The numbered examples of the Touchstone File Format Specification 2.1 (IBIS Open Forum, 26 January 2024), read
//! from text held here. Expected values are the printed ones, or were computed from them with scikit-rf 2.2.0 and
//! checked with a second reader written from the standard; each test names its example.

use num_complex::Complex64;
use std::fmt::Write;
use sweepfold::touchstone::{Network, ReadErrorKind, read};

fn network(name: &str, text: &str) -> Network {
    read(name, text.as_bytes()).unwrap_or_else(|error| panic!("{error}"))
}

fn refusal(name: &str, text: &str) -> (Option<usize>, ReadErrorKind) {
    let error = read(name, text.as_bytes()).expect_err("has to be refused");
    (error.line, error.kind)
}

#[track_caller]
fn assert_s(network: &Network, at: usize, (row, column): (usize, usize), re: f64, im: f64) {
    let found = network.s(at, row, column);
    assert!((found - Complex64::new(re, im)).norm() < 1e-9, "S{row}{column} at {at}: {found} not {re} {im}");
}

#[track_caller]
fn assert_polar(network: &Network, at: usize, (row, column): (usize, usize), magnitude: f64, deg: f64) {
    let found = network.s(at, row, column);
    let wanted = Complex64::new(
        magnitude * (deg / 180.0 * std::f64::consts::PI).cos(),
        magnitude * (deg / 180.0 * std::f64::consts::PI).sin(),
    );
    assert!((found - wanted).norm() < 1e-14, "S{row}{column} at {at}: {found} not {wanted}");
}

/// Touchstone 2.1, examples 1 to 5: headers without data.
#[test]
fn examples_1_to_5_have_no_data() {
    let headers = [
        ("e1.ts", "! 4-port S-parameter data\n[Version] 2.1\n# GHz S MA R 50\n[Number of Ports] 4\n"),
        ("e2.ts", "[Version] 2.1\n# MHz Z MA\n[Number of Ports] 1\n[Number of Frequencies] 5\n"),
        (
            "e3.ts",
            "[Version] 2.1\n#\n[Number of Ports] 2\n[Two-Port Data Order] 21_12\n[Number of Frequencies] 2\n\
             [Number of Noise Frequencies] 2\n",
        ),
        (
            "e4.ts",
            "[Version] 2.1\n# GHz S MA R 50\n[Number of Ports] 4\n[Reference]\n50 75 0.01 0.01\n\
             [Number of Frequencies] 1\n",
        ),
        ("e5.s4p", "! 4-port S-parameter data\n# GHz S MA R 0.01 0.01 50.0 50.0\n"),
    ];
    for (name, text) in headers {
        assert_eq!(refusal(name, text), (None, ReadErrorKind::NoData), "{name}");
    }
}

const ROWS_OF_EXAMPLE_6: [[(f64, f64); 4]; 4] = [
    [(0.60, 161.24), (0.40, -42.20), (0.42, -66.58), (0.53, -79.34)],
    [(0.40, -42.20), (0.60, 161.20), (0.53, -79.34), (0.42, -66.58)],
    [(0.42, -66.58), (0.53, -79.34), (0.60, 161.24), (0.40, -42.20)],
    [(0.53, -79.34), (0.42, -66.58), (0.40, -42.20), (0.60, 161.24)],
];

fn assert_is_example_6(network: &Network) {
    assert_eq!(network.ports, 4);
    assert_eq!(network.reference_ohm, [50.0, 75.0, 0.01, 0.01]);
    assert_eq!(network.frequency_hz, [5e9]);
    for (i, row) in ROWS_OF_EXAMPLE_6.iter().enumerate() {
        for (j, &(magnitude, deg)) in row.iter().enumerate() {
            assert_polar(network, 0, (i + 1, j + 1), magnitude, deg);
        }
    }
    assert_eq!(network.warnings, []);
}

/// Touchstone 2.1, example 6.
#[test]
fn example_6_full_four_port() {
    let text = "\
! 4-port S-parameter data
[Version] 2.1
# GHz S MA R 50
[Number of Ports] 4
[Number of Frequencies] 1
[Reference] 50 75 0.01 0.01
[Matrix Format] Full
[Network Data]
5.00000 0.60 161.24 0.40 -42.20 0.42 -66.58 0.53 -79.34 ! row 1
        0.40 -42.20 0.60 161.20 0.53 -79.34 0.42 -66.58 ! row 2
        0.42 -66.58 0.53 -79.34 0.60 161.24 0.40 -42.20 ! row 3
        0.53 -79.34 0.42 -66.58 0.40 -42.20 0.60 161.24 ! row 4
[End]
";
    let network = network("e6.ts", text);
    assert_is_example_6(&network);
    assert_eq!(network.comments, ["4-port S-parameter data", "row 1", "row 2", "row 3", "row 4"]);
}

/// Touchstone 2.1, example 7: the same as example 6 by its lower triangle, references over two lines. The upper
/// triangle of the same data follows from the standard's "3-port and 4-port Networks".
#[test]
fn example_7_lower_and_upper_triangle() {
    let head = "\
[Version] 2.1
# GHz S MA R 50
[Number of Ports] 4
[Number of Frequencies] 1
[Reference] 50 75
0.01 0.01
";
    let lower = "\
[Matrix Format] Lower
[Network Data]
5.00000 0.60 161.24                                       ! row 1
          0.40 -42.20 0.60 161.20                         ! row 2
          0.42 -66.58 0.53 -79.34 0.60 161.24             ! row 3
          0.53 -79.34 0.42 -66.58 0.40 -42.20 0.60 161.24 ! row 4
[End]
";
    let upper = "\
[Matrix Format] Upper
[Network Data]
5.00000 0.60 161.24 0.40 -42.20 0.42 -66.58 0.53 -79.34
                    0.60 161.20 0.53 -79.34 0.42 -66.58
                                0.60 161.24 0.40 -42.20
                                            0.60 161.24
[End]
";
    assert_is_example_6(&network("e7.ts", &format!("{head}{lower}")));
    assert_is_example_6(&network("e7.ts", &format!("{head}{upper}")));
}

/// Touchstone 2.1, examples 8 and 11: impedance in ohms, referred to 20 ohm by [Reference].
#[test]
fn examples_8_and_11_impedance_of_one_port() {
    for version in ["2.0", "2.1"] {
        let text = format!(
            "! 1-port Z-parameter file, multiple frequency points
[Version] {version}
# MHz Z MA
[Number of Ports] 1
[Number of Frequencies] 5
[Reference] 20.0
[Network Data]
! freq magZ11 angZ11
100     74.25    -4
200     60     -22
300     53.025 -45
400     30     -62
500       0.75 -89
[End]
"
        );
        let network = network("e8.ts", &text);
        assert_eq!(network.reference_ohm, [20.0]);
        assert_eq!(network.frequency_hz, [100e6, 200e6, 300e6, 400e6, 500e6]);
        assert_s(&network, 0, (1, 1), 0.576_065_991_359_609_3, -0.023_341_679_597_588_632);
        assert_s(&network, 2, (1, 1), 0.511_872_964_473_291_4, -0.318_326_995_946_500_55);
        assert_s(&network, 4, (1, 1), -0.995_889_729_643_056, -0.074_785_520_949_850_58);
    }
}

/// Touchstone 2.1, example 9. The impedance was computed from the printed reflection.
#[test]
fn example_9_one_point_of_one_port() {
    let text = "! 1-port S-parameter file, single frequency point\n# MHz S MA R 50\n! freq magS11 angS11\n2.000 0.894 -12.136\n";
    let network = network("e9.s1p", text);
    assert_eq!(network.frequency_hz, [2e6]);
    assert_polar(&network, 0, (1, 1), 0.894, -12.136);
    assert_s(&network, 0, (1, 1), 0.874_020_294_860_635, -0.187_948_195_446_853_2);
    let s11 = network.s(0, 1, 1);
    let impedance_ohm = 50.0 * (1.0 + s11) / (1.0 - s11);
    assert!((impedance_ohm - Complex64::new(196.076_171, -367.119_229)).norm() < 1e-5);
}

/// Touchstone 2.1, example 10: impedance normalised to 75 ohm. Example 11 prints the same impedances in ohms, so
/// that reading it at 75 ohm has to give the same reflections.
#[test]
fn example_10_normalised_impedance() {
    let text = "# MHz Z MA R 75\n100 0.99 -4\n200 0.80 -22\n300 0.707 -45\n400 0.40 -62\n500 0.01 -89\n";
    let normalised = network("e10.s1p", text);
    assert_eq!(normalised.reference_ohm, [75.0]);
    assert_s(&normalised, 0, (1, 1), -0.005_031_253_413_621_524_5, -0.034_919_886_601_090_88);
    assert_s(&normalised, 2, (1, 1), -0.200_084_571_128_755_86, -0.399_987_915_803_640_7);
    assert_s(&normalised, 4, (1, 1), -0.999_451_198_309_626_7, -0.019_987_978_338_857_36);
    let in_ohms = "[Version] 2.1\n# MHz Z MA R 75\n[Number of Ports] 1\n[Number of Frequencies] 5\n[Network Data]\n\
                   100 74.25 -4\n200 60 -22\n300 53.025 -45\n400 30 -62\n500 0.75 -89\n[End]\n";
    let in_ohms = network("e11.ts", in_ohms);
    for (a, b) in normalised.s.iter().zip(&in_ohms.s) {
        assert!((a - b).norm() < 1e-12);
    }
}

/// Touchstone 2.1, examples 12 and 13: hybrid parameters at 1 ohm, normalised or not.
#[test]
fn examples_12_and_13_hybrid_parameters() {
    let row = "2 0.95 -26 3.57 157 0.04 76 0.66 -14\n";
    let version_1 = format!("# kHz H MA R 1\n! freq magH11 angH11\n{row}");
    let version_2 = format!(
        "[Version] 2.1\n# kHz H MA R 1\n[Number of Ports] 2\n[Two-Port Data Order] 21_12\n\
         [Number of Frequencies] 1\n[Matrix Format] Full\n[Network Data]\n{row}[End]\n"
    );
    for network in [network("e12.h2p", &version_1), network("e13.ts", &version_2)] {
        assert_eq!(network.frequency_hz, [2000.0]);
        assert_eq!(network.reference_ohm, [1.0, 1.0]);
        assert_s(&network, 0, (1, 1), -0.019_975_943_423_885_093, -0.183_972_665_916_558_86);
        assert_s(&network, 0, (1, 2), -0.000_783_029_392_313_955_3, 0.025_141_739_030_060_62);
        assert_s(&network, 0, (2, 1), 2.227_206_554_308_879, -0.281_998_360_358_852_34);
        assert_s(&network, 0, (2, 2), 0.193_071_650_469_710_03, 0.065_095_781_120_361_82);
        assert_eq!(network.warnings, []);
    }
}

/// Touchstone 2.1, example 14; decibels and degrees computed from the printed parts.
#[test]
#[expect(clippy::approx_constant, reason = "0.3926 is printed, and is not an eighth of pi")]
fn example_14_two_port_in_real_and_imaginary_parts() {
    let text = "\
! 2-port S-parameter file, three frequency points
# GHz S RI R 50.0
! freq ReS11 ImS11        ReS21 ImS21   ReS12   ImS12 ReS22    ImS22
1.0000 0.3926 -0.1211 -0.0003 -0.0021 -0.0003 -0.0021 0.3926 -0.1211
2.0000 0.3517 -0.3054 -0.0096 -0.0298 -0.0096 -0.0298 0.3517 -0.3054
10.000 0.3419 0.3336 -0.0134 0.0379 -0.0134 0.0379 0.3419 0.3336
";
    let network = network("e14.s2p", text);
    assert_eq!(network.frequency_hz, [1e9, 2e9, 10e9]);
    assert_eq!(network.s(0, 1, 1), Complex64::new(0.3926, -0.1211));
    assert_eq!(network.s(1, 2, 1), Complex64::new(-0.0096, -0.0298));
    assert_eq!(network.s(2, 2, 2), Complex64::new(0.3419, 0.3336));
    let polar = [
        (0, 2, -53.467_875, -98.130_102),
        (1, 2, -30.086_853, -107.856_223),
        (2, 2, -27.915_667, 109.471_659),
        (0, 1, -7.726_276, -17.142_716),
        (1, 1, -6.636_162, -40.969_537),
        (2, 1, -6.417_137, 44.296_031),
    ];
    for (at, row, db, deg) in polar {
        let value = network.s(at, row, 1);
        assert!((20.0 * value.norm().log10() - db).abs() < 1e-6);
        assert!((value.arg().to_degrees() - deg).abs() < 1e-6);
    }
    assert!(!network.is_one_path());
}

/// Touchstone 2.1, example 15, and the same by rows alone, under a name that does not tell the ports.
#[test]
fn example_15_four_port_over_lines() {
    let text = "\
! 4-port S-parameter data, taken at three frequency points
! note that data points need not be aligned
# GHz S MA R 50
5.00000 0.60 161.24 0.40 -42.20 0.42 -66.58 0.53 -79.34 ! row 1
          0.40 -42.20 0.60 161.20 0.53 -79.34 0.42 -66.58 ! row 2
          0.42 -66.58 0.53 -79.34 0.60 161.24 0.40 -42.20 ! row 3
          0.53 -79.34 0.42 -66.58 0.40 -42.20 0.60 161.24 ! row 4

6.00000 0.57 150.37 0.40 -44.34 0.41 -81.24 0.57 -95.77 ! row 1
        0.40 -44.34 0.57 150.37 0.57 -95.77 0.41 -81.24 ! row 2
        0.41 -81.24 0.57 -95.77 0.57 150.37 0.40 -44.34 ! row 3
        0.57 -95.77 0.41 -81.24 0.40 -44.34 0.57 150.37 ! row 4

7.00000 0.50 136.69 0.45 -46.41 0.37 -99.09 0.62 -114.19 ! row 1
        0.45 -46.41 0.50 136.69 0.62 -114.19 0.37 -99.09 ! row 2
        0.37 -99.09 0.62 -114.19 0.50 136.69 0.45 -46.41 ! row 3
        0.62 -114.19 0.37 -99.09 0.45 -46.41 0.50 136.69 ! row 4
";
    for name in ["e15.s4p", "e15.ts"] {
        let network = network(name, text);
        assert_eq!(network.ports, 4);
        assert_eq!(network.frequency_hz, [5e9, 6e9, 7e9]);
        assert_polar(&network, 0, (2, 2), 0.60, 161.20);
        assert_polar(&network, 1, (1, 3), 0.41, -81.24);
        assert_polar(&network, 2, (4, 1), 0.62, -114.19);
        assert_eq!(network.comments.len(), 14);
    }
}

/// Touchstone 2.1, example 16: ten ports over lines of four, four and two pairs. The standard prints names where
/// the numbers belong; here element ij is i + j/100. As Y-parameters, as printed, it is not supported.
#[test]
fn example_16_ten_ports() {
    let mut text = String::from("# GHz S RI R 50\n1");
    for i in 1..=10 {
        for j in 1..=10 {
            let separator = if j % 4 == 1 && (i, j) != (1, 1) { "\n" } else { " " };
            write!(text, "{separator}{i}.{j:02} 0").unwrap();
        }
    }
    for name in ["e16.s10p", "e16.ts"] {
        let network = network(name, &text);
        assert_eq!(network.ports, 10);
        assert_eq!(network.s(0, 10, 3), Complex64::new(10.03, 0.0));
        assert_eq!(network.s(0, 2, 10), Complex64::new(2.1, 0.0));
    }
    let (line, kind) = refusal("e16.y10p", &text.replace("GHz S RI", "GHz Y RI"));
    assert_eq!(line, Some(1));
    assert!(matches!(kind, ReadErrorKind::ParameterPorts { ports: 10, .. }));
}

/// Touchstone 2.1, example 17: mixed mode, with a second option line before the keyword.
#[test]
fn example_17_mixed_mode_is_refused_on_its_line() {
    let text = "\
! 6-port component shown; note that all six ports are used in some
! relationship
[Version] 2.1
# MHz Y RI R 50
[Number of Ports] 6
[Number of Frequencies] 1
[Reference] 50 75 75 50 0.01 0.01
# MHz Y RI R 50

[Mixed-Mode Order] D2,3 D6,5 C2,3 C6,5 S4 S1
[Network Data]
5.00 8.0 9.0 2.0 -1.0 3.0 -2.0 1.0 3.0 1.0 0.1 0.2 -0.2
[End]
";
    assert_eq!(refusal("e17.ts", text), (Some(10), ReadErrorKind::MixedMode));
}

const ROWS_OF_EXAMPLE_18: &str =
    "2 0.95 -26 3.57 157 0.04 76 0.66 -14\n22 0.60 -144 1.30 40 0.14 40 0.56 -85\n";

fn assert_is_example_18(network: &Network) {
    assert_eq!(network.frequency_hz, [2e9, 22e9]);
    assert_s(network, 0, (1, 1), 0.853_854_343_984_208_7, -0.416_452_589_449_623_5);
    assert_s(network, 0, (2, 1), -3.286_202_326_825_212, 1.394_910_128_706_707_4);
    assert_s(network, 0, (1, 2), 0.009_676_875_823_986_715, 0.038_811_829_051_039_86);
    assert_s(network, 0, (2, 2), 0.640_395_179_342_157_7, -0.159_668_451_095_780_7);
    assert_s(network, 1, (2, 1), 0.995_857_776_054_671_4, 0.835_623_892_592_501);
    assert!((20.0 * network.s(0, 2, 1).norm().log10() - 11.053_364).abs() < 1e-6);
    assert!((20.0 * network.s(1, 2, 1).norm().log10() - 2.278_867).abs() < 1e-6);
}

/// Touchstone 2.1, example 18: noise under its own keyword, a reference for each port.
#[test]
fn example_18_noise_of_version_2() {
    let text = format!(
        "[Version] 2.1\n#\n[Number of Ports] 2\n[Two-Port Data Order] 21_12\n[Number of Frequencies] 2\n\
         [Number of Noise Frequencies] 2\n[Reference] 50 25.0\n[Network Data]\n{ROWS_OF_EXAMPLE_18}[Noise Data]\n\
         4 0.7 0.64 69 19\n18 2.7 0.46 -33 20\n[End]\n"
    );
    let network = network("e18.ts", &text);
    assert_is_example_18(&network);
    assert_eq!(network.reference_ohm, [50.0, 25.0]);
    assert_eq!(network.noise_rows, 2);
    assert_eq!(network.warnings, []);
}

/// Touchstone 2.1, example 19: an empty option line, noise after the rows of version 1.
#[test]
fn example_19_noise_of_version_1() {
    let text = format!(
        "! 2-port network, S-parameter and noise data\n#\n! NETWORK PARAMETERS\n{ROWS_OF_EXAMPLE_18}\
         ! NOISE PARAMETERS\n4 0.7 0.64 69 0.38\n18 2.7 0.46 -33 0.40\n"
    );
    let network = network("e19.s2p", &text);
    assert_is_example_18(&network);
    assert_eq!(network.reference_ohm, [50.0, 50.0]);
    assert_eq!(network.noise_rows, 2);
}

/// Touchstone 2.1, example 20, which lacks [Two-Port Data Order] as printed.
#[test]
fn example_20_without_the_data_order() {
    let text = format!(
        "[Version] 2.1\n#\n[Number of Ports] 2\n[Number of Frequencies] 2\n[Number of Noise Frequencies] 2\n\
         [Reference] 50 25.0\n[Network Data]\n! NETWORK PARAMETERS\n{ROWS_OF_EXAMPLE_18}[Noise Data]\n\
         ! NOISE PARAMETERS\n4 0.7 0.64 69 19\n18 2.7 0.46 -33 20\n[End]\n"
    );
    let network = network("e20.ts", &text);
    assert_is_example_18(&network);
    assert_eq!(network.noise_rows, 2);
    assert_eq!(network.warnings.len(), 1);
    assert_eq!(network.warnings[0].line, 7);
    assert!(network.warnings[0].message.contains("[Two-Port Data Order]"));
}

/// Touchstone 2.1, example 21: the same numbers in the order 11, 12, 21, 22.
#[test]
fn example_21_the_other_data_order() {
    let text = format!(
        "[Version] 2.1\n#\n[Number of Ports] 2\n[Number of Frequencies] 2\n[Reference] 50 25.0\n\
         [Two-Port Data Order] 12_21\n[Network Data]\n! NETWORK PARAMETERS\n{ROWS_OF_EXAMPLE_18}[End]\n"
    );
    let network = network("e21.ts", &text);
    assert_polar(&network, 0, (1, 2), 3.57, 157.0);
    assert_polar(&network, 0, (2, 1), 0.04, 76.0);
    assert_polar(&network, 1, (1, 2), 1.30, 40.0);
    assert_eq!(network.warnings, []);
}

/// Touchstone 2.1, "[Matrix Format]": lower and upper two-port rows are the same, 11, 21, 22.
#[test]
fn a_triangle_of_two_ports_has_seven_values() {
    for format in ["Lower", "UPPER"] {
        let text = format!(
            "[Version] 2.0\n# GHz S RI\n[Number of Ports] 2\n[Two-Port Data Order] 12_21\n[Number of Frequencies] 1\n\
             [Matrix Format] {format}\n[Network Data]\n1 0.1 0 0.2 0 0.3 0\n[End]\n"
        );
        let network = network("t.ts", &text);
        let re: Vec<f64> = network.s.iter().map(|value| value.re).collect();
        assert_eq!(re, [0.1, 0.2, 0.2, 0.3]);
    }
}

/// Touchstone 2.1, "1-port and 2-port Networks": a version 1 row is 11, 21, 12, 22.
#[test]
fn the_order_of_a_version_1_two_port() {
    let network = network("o.s2p", "# GHz S RI\n1 111 0 121 0 112 0 122 0\n");
    assert_eq!(network.s(0, 1, 1).re, 111.0);
    assert_eq!(network.s(0, 2, 1).re, 121.0);
    assert_eq!(network.s(0, 1, 2).re, 112.0);
    assert_eq!(network.s(0, 2, 2).re, 122.0);
}

/// Touchstone 2.1, "Option Line": DB is 20·log10 of the magnitude; −20 dB at 45° is 0.1/√2 in both parts.
#[test]
fn decibels_are_of_a_magnitude() {
    let network = network("d.s1p", "# GHz S DB\n1 -20 45\n");
    assert_s(&network, 0, (1, 1), 0.070_710_678_118_654_75, 0.070_710_678_118_654_75);
}
