//! What file names are taken to say: one table of the ways in which people name the states of a run.

use sweepfold::control::Word;
use sweepfold::control::naming::{NameReading, NameStyle, NoReading, StateKey, readings};

fn read(names: &[String]) -> Vec<NameReading> {
    readings(names).unwrap_or_else(|reason| panic!("{reason} {names:?}"))
}

/// The words of the likeliest reading, as plain numbers.
fn words(reading: &NameReading) -> Vec<Option<u32>> {
    reading.words.iter().map(|word| word.map(|Word(word)| word)).collect()
}

fn names(count: u32, name: impl Fn(u32) -> String) -> Vec<String> {
    (0..count).map(name).collect()
}

fn counting(count: u32) -> Vec<Option<u32>> {
    (0..count).map(Some).collect()
}

/// (what, names of the words 0, 1, 2 …, style, bits). The names are written out by the table, the words are their
/// places in it.
#[test]
fn every_style_of_code_gives_its_words() {
    let table: Vec<(&str, Vec<String>, NameStyle, usize)> = vec![
        ("padded decimal", names(64, |k| format!("x_{k:03}.s2p")), NameStyle::Decimal, 6),
        ("unpadded decimal", names(64, |k| format!("{k}.s2p")), NameStyle::Decimal, 6),
        (
            "two decimal digits that could be hexadecimal",
            names(16, |k| format!("{k:02}.s2p")),
            NameStyle::Decimal,
            4,
        ),
        ("twelve bits in decimal", names(4096, |k| format!("run/dut-{k}.S2P")), NameStyle::Decimal, 12),
        ("whole numbers behind a V", names(16, |k| format!("V{k}.s2p")), NameStyle::Decimal, 4),
        ("counted from one", names(64, |k| format!("state{}.s2p", k + 1)), NameStyle::DecimalFromOne, 6),
        ("marked hexadecimal", names(4096, |k| format!("dut_0x{k:03X}.s2p")), NameStyle::Hexadecimal, 12),
        ("bare hexadecimal", names(1024, |k| format!("dut_{k:03x}.s2p")), NameStyle::Hexadecimal, 10),
        ("unpadded hexadecimal", names(64, |k| format!("dut_{k:X}.s2p")), NameStyle::Hexadecimal, 6),
        ("one hexadecimal digit", names(16, |k| format!("{k:X}.s2p")), NameStyle::Hexadecimal, 4),
        (
            "hexadecimal glued to a word",
            names(64, |k| format!("state{k:02x}.s2p")),
            NameStyle::Hexadecimal,
            6,
        ),
        (
            "hexadecimal with a last h",
            names(64, |k| format!("x_{k:02X}h_hot.s2p")),
            NameStyle::Hexadecimal,
            6,
        ),
        ("binary", names(4096, |k| format!("sn7_{k:012b}.s2p")), NameStyle::Binary, 12),
        ("short binary", names(8, |k| format!("{k:03b}.ts")), NameStyle::Binary, 3),
        ("marked binary", names(8, |k| format!("x_0b{k:04b}.s2p")), NameStyle::Binary, 4),
        ("unpadded binary", names(8, |k| format!("x{k:b}.s2p")), NameStyle::Binary, 3),
        (
            "constant numbers around the code",
            names(32, |k| format!("2026-03-01/AT64_6GHz_0V_{k:02}_25C.s2p")),
            NameStyle::Decimal,
            5,
        ),
        (
            "constant words that look hexadecimal",
            names(64, |k| format!("deadbeef_{k:02X}_face.s2p")),
            NameStyle::Hexadecimal,
            6,
        ),
        (
            "a time of day beside the code",
            names(64, |k| format!("{}_x_{k:02}.s2p", 95_700 + 7 * k)),
            NameStyle::Decimal,
            6,
        ),
        (
            "a date that changes during the run",
            names(64, |k| format!("2026-03-{:02}_x_{k:02}.s2p", 1 + k / 40)),
            NameStyle::Decimal,
            6,
        ),
        (
            "one code per field",
            names(2048, |k| format!("A{:02}_P{:02}.s2p", k / 64, k % 64)),
            NameStyle::CodePerField,
            11,
        ),
        (
            "one field per folder",
            names(2048, |k| format!("run/att_{:02}/ph_{:02}.s2p", k / 64, k % 64)),
            NameStyle::CodePerField,
            11,
        ),
        (
            "two values of the folder's field",
            names(128, |k| format!("att_{}/ph_{:02}.s2p", k / 64, k % 64)),
            NameStyle::CodePerField,
            7,
        ),
        (
            "hexadecimal fields",
            names(1024, |k| format!("g{:02X}_p{:02X}.s2p", k / 32, k % 32)),
            NameStyle::CodePerField,
            10,
        ),
        (
            "binary fields and a date that changes",
            names(1024, |k| format!("{}_g{:05b}_p{:05b}.s2p", 301 + k / 999, k / 32, k % 32)),
            NameStyle::CodePerField,
            10,
        ),
    ];
    for (what, names, style, bits) in table {
        let first = &read(&names)[0];
        assert_eq!(first.style, style, "{what}: {}", first.sentence);
        assert_eq!(words(first), counting(u32::try_from(names.len()).unwrap()), "{what}");
        assert_eq!(first.bits, Some(bits), "{what}");
    }
}

/// The order in which files are offered plays no part.
#[test]
fn shuffled_names_keep_their_words() {
    let names: Vec<String> = (0..256).map(|k| format!("x_{:02x}.s2p", k * 77 % 256)).collect();
    let expected: Vec<_> = (0..256).map(|k| Some(k * 77 % 256)).collect();
    assert_eq!(words(&read(&names)[0]), expected);
}

#[test]
fn strays_beside_a_run_say_nothing() {
    for stray in [
        "ref.s2p",
        "thru.s2p",
        "no_power.s2p",
        "notes.txt",
        "x_003 (1).s2p",
        "x_003 - copy.s2p",
        "._x_003.s2p",
        "x_003.s2p.part",
        "Thumbs.db",
        "x_bad.s2p",
        "x_ab.s2p",
        "cal/short_1.s1p",
    ] {
        for code in [|k: u32| format!("x_{k:03}.s2p"), |k: u32| format!("x_{k:03X}.s2p")] {
            let mut names = names(64, code);
            names.insert(5, stray.to_owned());
            let mut expected = counting(64);
            expected.insert(5, None);
            if stray == "x_bad.s2p" && names[15].ends_with("E.s2p") {
                // Three hexadecimal digits are three hexadecimal digits: the page lists the word as beyond the rest.
                expected[5] = Some(0xBAD);
            }
            let first = &read(&names)[0];
            assert_eq!(words(first), expected, "{stray}: {}", first.sentence);
        }
    }
}

#[test]
fn a_copy_in_another_folder_doubles_its_word() {
    let mut names = names(64, |k| format!("x_{k:03}.s2p"));
    names.push("old/x_003.s2p".to_owned());
    let all = read(&names);
    assert_eq!(words(&all[0])[64], Some(3));
    assert_eq!(words(&all[0])[..64], counting(64));
    assert_eq!(all.iter().filter(|reading| reading.style == NameStyle::Decimal).count(), 1);
}

/// 0/1 digits are binary where their number is what the count needs, or where no place would leave 2 to 9 unused by
/// chance; else decimal comes first and binary is offered.
#[test]
fn digits_that_are_all_zero_or_one() {
    let first = |list: &[&str]| {
        let all = read(&list.iter().map(|name| format!("x_{name}.s2p")).collect::<Vec<_>>());
        (all[0].style, words(&all[0]).into_iter().flatten().collect::<Vec<_>>(), all.len())
    };
    assert_eq!(first(&["000", "001", "010", "011"]), (NameStyle::Decimal, vec![0, 1, 10, 11], 2));
    assert_eq!(first(&["00", "01", "10", "11"]), (NameStyle::Binary, vec![0, 1, 2, 3], 2));
    let major = ["00000", "00001", "00010", "00100", "01000", "10000"];
    assert_eq!(first(&major), (NameStyle::Binary, vec![0, 1, 2, 4, 8, 16], 2));
    assert_eq!(first(&["0", "1"]), (NameStyle::Decimal, vec![0, 1], 1));
}

/// The other way of reading the same digits is offered second, and the first reading says what it would mean.
#[test]
fn the_alternative_is_offered_and_said() {
    let all = read(&names(16, |k| format!("{k:02}.s2p")));
    let styles: Vec<_> = all.iter().map(|reading| reading.style).collect();
    assert_eq!(styles, [NameStyle::Decimal, NameStyle::Hexadecimal]);
    assert_eq!(words(&all[1])[10..], [16, 17, 18, 19, 20, 21].map(Some));
    assert_eq!(
        all[0].sentence,
        "Each name is a 2-digit decimal code. Read as hexadecimal codes, the words would run from 0 to 21."
    );
    let all = read(&names(256, |k| format!("dut_{k:03X}.s2p")));
    assert_eq!(all.len(), 1);
    assert_eq!(all[0].sentence, "Each name ends in a 3-digit hexadecimal code.");
}

#[test]
fn the_sentence_says_how_many_files_are_named_otherwise() {
    let mut names = names(32, |k| format!("{k:05b}_b.s2p"));
    names.push("ref.s2p".to_owned());
    names.push("notes.txt".to_owned());
    assert_eq!(
        read(&names)[0].sentence.split_inclusive(". ").take(2).collect::<String>().trim_end(),
        "Each name begins with a 5-digit binary code, most significant bit first. \
         1 of the 33 S-parameter files gives no word."
    );
}

#[test]
fn names_without_a_reading_come_back_with_the_reason() {
    let refused = |names: &[String]| readings(names).unwrap_err();
    assert_eq!(refused(&[]), NoReading::NoSParameterFiles);
    assert_eq!(refused(&["notes.txt".to_owned()]), NoReading::NoSParameterFiles);
    assert_eq!(refused(&["x_003.s2p".to_owned()]), NoReading::NothingVaries { files: 1 });
    assert_eq!(
        refused(&["left.s2p".to_owned(), "right.s2p".to_owned(), "top.s2p".to_owned()]),
        NoReading::NothingVaries { files: 3 }
    );
    // Three temperatures of one part are three runs.
    let three = names(96, |k| format!("{}C/x_{:02}.s2p", [25, 55, 85][k as usize / 32], k % 32));
    assert_eq!(refused(&three), NoReading::NotDistinct { distinct: 32, files: 96 });
    // Twenty bits are more than a word may have, in one code or in fields.
    let wide = names(32, |k| format!("x_{:020b}.s2p", 0xF_0000 | k));
    assert!(matches!(refused(&wide), NoReading::TooManyBits { .. }));
    let wide = names(4096, |k| format!("a{:03}_p{:03}.s2p", k / 64 * 16, k % 64 * 16));
    assert!(matches!(refused(&wide), NoReading::TooManyBits { .. }));
}

fn keys(reading: &NameReading) -> Vec<StateKey> {
    reading.keys.iter().flatten().cloned().collect()
}

fn gain(gain_db: f64) -> StateKey {
    StateKey::Setting { gain_db: Some(gain_db), phase_deg: None }
}

fn owned(names: &[&str]) -> Vec<String> {
    names.iter().map(|name| (*name).to_owned()).collect()
}

#[test]
fn settings_in_names_are_read_with_their_sign_and_ranked() {
    let first = |list: &[&str]| {
        let all = read(&owned(list));
        assert_eq!(all[0].style, NameStyle::Settings, "{}", all[0].sentence);
        assert_eq!(all[0].bits, None);
        (words(&all[0]).into_iter().flatten().collect::<Vec<_>>(), keys(&all[0]), all.len())
    };
    let (ranks, settings, readings) = first(&["0db.s2p", "-0.5db.s2p", "-16.5db.s2p", "-4db.s2p"]);
    assert_eq!((ranks, readings), (vec![3, 2, 0, 1], 1));
    assert_eq!(settings, [0.0, -0.5, -16.5, -4.0].map(gain));

    let (ranks, settings, readings) =
        first(&["sn1_6GHz_ATT_0p00dB_a.s2p", "sn1_6GHz_ATT_0p50dB_a.s2p", "sn1_6GHz_ATT_31p50dB_a.s2p"]);
    assert_eq!((ranks, readings), (vec![0, 1, 2], 1));
    assert_eq!(settings, [0.0, -0.5, -31.5].map(gain));

    let (ranks, settings, _) =
        first(&["ph_45deg.s2p", "ph_0deg.s2p", "ph_90deg.s2p", "thru.s2p", "ph_315deg.s2p"]);
    assert_eq!(ranks, [1, 0, 2, 3]);
    assert_eq!(settings[3], StateKey::Setting { gain_db: None, phase_deg: Some(315.0) });

    // Nothing says whether these are gains: both are offered.
    let (_, settings, readings) = first(&["x_0dB.s2p", "x_1dB.s2p", "x_2dB.s2p", "x_3dB.s2p"]);
    assert_eq!(settings, [0.0, -1.0, -2.0, -3.0].map(gain));
    assert!(readings >= 2);

    let (ranks, settings, _) =
        first(&["g-1.5dB_p90deg.s2p", "g-0.5dB_p45deg.s2p", "g-1.5dB_p45deg.s2p", "g-0.5dB_p90deg.s2p"]);
    assert_eq!(ranks, [3, 0, 2, 1]);
    assert_eq!(settings[0], StateKey::Setting { gain_db: Some(-1.5), phase_deg: Some(90.0) });
}

/// The states of a published measurement, an analogue phase shifter: V0, V0.5 … V22 without V7.5.
#[test]
fn volts_with_a_point_inside_the_stem_are_ranked_as_numbers() {
    let volts: Vec<f64> = (0..=44).map(|half| f64::from(half) / 2.0).filter(|volts| *volts != 7.5).collect();
    let mut names: Vec<String> = volts.iter().map(|volts| format!("V{volts}.s2p")).collect();
    names.sort();
    let reading = &read(&names)[0];
    assert_eq!((reading.style, reading.bits), (NameStyle::Marks, None), "{}", reading.sentence);
    for (name, (word, key)) in names.iter().zip(words(reading).into_iter().zip(keys(reading))) {
        let written: f64 = name.trim_start_matches('V').trim_end_matches(".s2p").parse().unwrap();
        assert_eq!(key, StateKey::Marks(vec![written]));
        assert_eq!(volts[word.unwrap() as usize], written);
    }
}

#[test]
fn keys_with_decimal_commas_are_marks() {
    let names = names(12, |k| format!("dut_BWL=0,{:02}_GC=1,{:02}.s2p", k / 4 * 25, k % 4 * 50 / 2));
    let reading = &read(&names)[0];
    assert_eq!(reading.style, NameStyle::Marks, "{}", reading.sentence);
    assert_eq!(words(reading), counting(12));
    assert_eq!(keys(reading)[6], StateKey::Marks(vec![0.25, 1.5]));
}

#[test]
fn thermometer_words_count_their_ones() {
    let mut names: Vec<String> = (1..=7).map(|ones| format!("{}.s2p", "1".repeat(ones))).collect();
    names.push("no_power.s2p".to_owned());
    let reading = &read(&names)[0];
    assert_eq!((reading.style, reading.bits), (NameStyle::Thermometer, Some(3)));
    assert_eq!(words(reading), [1, 2, 3, 4, 5, 6, 7].map(Some).into_iter().chain([None]).collect::<Vec<_>>());
    let reading = &read(&owned(&["x_000.s2p", "x_001.s2p", "x_011.s2p", "x_111.s2p"]))[0];
    assert_eq!((reading.style, reading.bits), (NameStyle::Thermometer, Some(2)));
    let reading = &read(&owned(&["x_00.s2p", "x_01.s2p", "x_11.s2p"]))[0];
    assert_eq!(reading.style, NameStyle::Binary);
}

#[test]
fn two_digit_words_in_a_row_are_joined() {
    let names: Vec<String> = (0..256_u32)
        .map(|k| {
            format!("{:02}{:02}{:02}{:02}.s4p", 4 * (k / 64), 4 * (k / 16 % 4), 4 * (k / 4 % 4), 4 * (k % 4))
        })
        .collect();
    let reading = &read(&names)[0];
    assert_eq!((reading.style, reading.bits), (NameStyle::TwoDigitWords, Some(16)), "{}", reading.sentence);
    assert_eq!(names[27], "00040812.s4p");
    assert_eq!(words(reading)[27], Some(0x048C));
    assert_eq!(keys(reading)[27], StateKey::Codes(vec![0, 4, 8, 12]));
}

#[test]
fn a_voltage_is_named_as_a_value() {
    let names = names(12, |k| format!("tune_{:.1}V.s2p", 0.5 * f64::from(k)));
    let reading = &read(&names)[0];
    assert_eq!(reading.style, NameStyle::Marks);
    assert!(
        reading.sentence.contains(" a value in V, which says nothing of gain or phase"),
        "{}",
        reading.sentence
    );
}
