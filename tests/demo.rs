//! The made-up part, read back from its bytes with the noise in: it behaves like a part that is good in the middle
//! of its band and useless at both ends, and it is a passive reciprocal two-port in every state.
//!
//! The bounds are what a demo has to show, and the part was tuned to meet them. The table of
//! what it does is printed with `cargo test --test demo -- --nocapture`.

use num_complex::Complex64;
use std::sync::OnceLock;
use sweepfold::control::{Quantity, Target, Word};
use sweepfold::demo::{self, Form, Part, PartPlan, PlanError, Unit};
use sweepfold::network::{TwoPort, largest_singular_value, reciprocity, return_loss_db};
use sweepfold::plane::{StateError, target_gain, wrap_deg};
use sweepfold::run::{BitWeight, bit_weights};

const WORDS: usize = 4096;
const GHZ: f64 = 1e9;

/// A file as it reads.
struct Sweep {
    option_line: String,
    comments: Vec<String>,
    frequency: Vec<f64>,
    two_ports: Vec<TwoPort>,
}

/// A reader for exactly what the demo writes; anything else fails the test.
fn read(bytes: &[u8]) -> Sweep {
    let text = std::str::from_utf8(bytes).unwrap();
    let mut sweep =
        Sweep { option_line: String::new(), comments: vec![], frequency: vec![], two_ports: vec![] };
    assert!(text.ends_with('\n'));
    for line in text.lines() {
        if let Some(comment) = line.strip_prefix('!') {
            sweep.comments.push(comment.to_owned());
        } else if line.starts_with('#') {
            assert!(sweep.option_line.is_empty() && sweep.frequency.is_empty());
            line.clone_into(&mut sweep.option_line);
        } else {
            let value: Vec<f64> = line.split(' ').map(|number| number.parse().unwrap()).collect();
            assert_eq!(value.len(), 9);
            let pair = |at: usize| match sweep.option_line.split(' ').nth(3).unwrap() {
                "RI" => Complex64::new(value[at], value[at + 1]),
                "MA" => Complex64::from_polar(value[at], value[at + 1].to_radians()),
                "DB" => Complex64::from_polar(10_f64.powf(value[at] / 20.0), value[at + 1].to_radians()),
                other => panic!("{other}"),
            };
            sweep.frequency.push(value[0]);
            sweep.two_ports.push(TwoPort { s11: pair(1), s21: pair(3), s12: pair(5), s22: pair(7) });
        }
    }
    sweep
}

/// The whole demo, read back once for all tests.
fn run() -> &'static [Sweep] {
    static RUN: OnceLock<Vec<Sweep>> = OnceLock::new();
    RUN.get_or_init(|| {
        let started = std::time::Instant::now();
        let part = demo::part();
        let files: Vec<Vec<u8>> = words().map(|word| part.file(word)).collect();
        let bytes: usize = files.iter().map(Vec::len).sum();
        println!("{} files, {bytes} bytes, made in {:.2?}", files.len(), started.elapsed());
        files.iter().map(|file| read(file)).collect()
    })
}

fn words() -> impl Iterator<Item = Word> {
    (0..u32::try_from(WORDS).unwrap()).map(Word)
}

/// Grid index of a frequency that is on the demo's grid.
fn index(frequency_ghz: f64) -> usize {
    let frequency_hz = frequency_ghz * GHZ;
    run()[0].frequency.iter().position(|&hz| hz == frequency_hz).unwrap()
}

/// Transmission of every word at a grid index.
fn transmission(index: usize) -> Vec<Complex64> {
    run().iter().map(|sweep| sweep.two_ports[index].s21).collect()
}

fn weights(index: usize) -> Vec<BitWeight> {
    let words: Vec<Word> = words().collect();
    bit_weights(&words, &transmission(index), 12)
}

/// Scores of a mapping with the zero word as reference.
#[derive(Clone, Copy)]
struct Scores {
    gain_db: f64,
    phase_deg: f64,
    vector: f64,
    /// Percent of targets within half a step of gain and of phase.
    share_pct: f64,
}

/// Nominal and nearest words at a frequency, by comparing every state with every target.
fn scores(frequency_ghz: f64) -> (Scores, Scores) {
    let states = transmission(index(frequency_ghz));
    let relative: Vec<Complex64> = states.iter().map(|state| state / states[0]).collect();
    let targets = demo::layout().targets();
    let nearest = |target: &Target| {
        let wanted = target_gain(target.setting);
        *relative.iter().min_by(|a, b| (*a - wanted).norm_sqr().total_cmp(&(*b - wanted).norm_sqr())).unwrap()
    };
    let score = |served: &dyn Fn(&Target) -> Complex64| {
        let errors = || targets.iter().map(|target| StateError::of(served(target), target.setting));
        let rms = |value: fn(&StateError) -> f64| {
            (errors().map(|error| value(&error).powi(2)).sum::<f64>() / targets.len() as f64).sqrt()
        };
        let inside = errors().filter(|e| e.gain_db.abs() <= 0.25 && e.phase_deg.abs() <= 1.406_25).count();
        Scores {
            gain_db: rms(|error| error.gain_db),
            phase_deg: rms(|error| error.phase_deg),
            vector: rms(|error| error.vector),
            share_pct: 100.0 * inside as f64 / targets.len() as f64,
        }
    };
    (score(&|target| relative[target.nominal_word.unwrap().0 as usize]), score(&nearest))
}

#[test]
fn choosing_words_pays_in_the_middle_and_fails_at_the_ends() {
    println!("        nominal words                    chosen words");
    println!("  GHz   dB     deg    vector  within     dB     deg    vector  within");
    let mut share_pct = Vec::new();
    for frequency_ghz in [6.0, 7.0, 8.0, 10.0, 12.0, 13.0, 14.0] {
        let (nominal, chosen) = scores(frequency_ghz);
        print!("{frequency_ghz:5.1}");
        for s in [nominal, chosen] {
            print!(
                "  {:5.2}  {:5.2}  {:5.1} %  {:4.1} %  ",
                s.gain_db,
                s.phase_deg,
                100.0 * s.vector,
                s.share_pct
            );
        }
        println!();
        if frequency_ghz == 10.0 {
            assert!(chosen.vector <= nominal.vector / 3.0);
            assert!(chosen.share_pct >= 85.0 && nominal.share_pct < 10.0);
        }
        share_pct.push(chosen.share_pct);
    }
    assert!(share_pct[..4].is_sorted(), "{share_pct:?}");
    assert!(share_pct[3..].is_sorted_by(|a, b| a >= b), "{share_pct:?}");
    assert!(share_pct[0] < share_pct[3] / 2.0 && share_pct[6] < share_pct[3] / 2.0);
}

#[test]
fn states_draw_together_towards_both_ends() {
    let ranges = |frequency_ghz: f64| {
        let weights = weights(index(frequency_ghz));
        let phase_deg: f64 = weights[..7].iter().map(|weight| weight.phase_deg.abs()).sum();
        let gain_db: f64 = weights[7..].iter().map(|weight| -weight.gain_db).sum();
        (phase_deg, gain_db)
    };
    let middle = ranges(10.0);
    for away in [[10.0, 8.0, 7.0, 6.0], [10.0, 12.0, 13.0, 14.0]] {
        let ranges = away.map(ranges);
        println!("phase and gain ranges at {away:?} GHz: {ranges:.1?}");
        assert!(ranges.is_sorted_by(|a, b| a.0 > b.0 && a.1 > b.1), "{ranges:?}");
        assert!(ranges[3].0 < 0.8 * middle.0 && ranges[3].1 < 0.7 * middle.1, "{ranges:?}");
    }
}

#[test]
fn an_attenuator_turns_the_phase() {
    let turn_deg = |states: &[Complex64], phase_code: usize| {
        let turned = |gain_code: usize| {
            wrap_deg((states[phase_code + 128 * gain_code] / states[phase_code]).arg().to_degrees())
        };
        let turned: Vec<f64> = (0..32).map(turned).collect();
        turned.iter().copied().fold(f64::MIN, f64::max) - turned.iter().copied().fold(f64::MAX, f64::min)
    };
    let states = transmission(index(11.0));
    let largest = (0..128).map(|code| turn_deg(&states, code)).fold(0.0, f64::max);
    println!("largest turn over the gain range at 11 GHz: {largest:.1} deg");
    // A turn that came from wrapping would be far larger.
    assert!((20.0..60.0).contains(&largest), "{largest}");
}

/// Every bit weighs within 15 % of its nominal value, in the middle of the band and by its median over the band, so
/// that the doubling series can be seen.
#[test]
fn bits_can_be_told_from_the_states() {
    let layout = demo::layout();
    let over_band: Vec<Vec<BitWeight>> = (0..run()[0].frequency.len()).map(weights).collect();
    let middle = index(10.0);
    for (bit, field) in layout.fields.iter().flat_map(|field| field.bits.iter().map(move |bit| (bit, field)))
    {
        let nominal = field.nominal(field.code(Word(1 << bit.position)));
        let measured = |weights: &Vec<BitWeight>| match field.quantity {
            Quantity::Gain => weights[usize::from(bit.position)].gain_db,
            // Taken to the nominal side of the cut at 180°.
            Quantity::Phase => nominal + wrap_deg(weights[usize::from(bit.position)].phase_deg - nominal),
        };
        let mut sorted: Vec<f64> = over_band.iter().map(measured).collect();
        sorted.sort_by(f64::total_cmp);
        let (at_middle, median) = (measured(&over_band[middle]), sorted[sorted.len() / 2]);
        println!(
            "bit {:2}: nominal {nominal:9.4}, middle {at_middle:9.4}, median {median:9.4}",
            bit.position
        );
        assert!((at_middle / nominal - 1.0).abs() < 0.15, "{at_middle} {nominal}");
        assert!((median / nominal - 1.0).abs() < 0.15, "{median} {nominal}");
    }
}

#[test]
fn losses_are_those_of_a_real_channel() {
    let middle = index(10.0);
    let loss_db = -20.0 * run()[0].two_ports[middle].s21.norm().log10();
    assert!((9.0..14.0).contains(&loss_db), "{loss_db}");
    let worst = |port: fn(&TwoPort) -> Complex64| {
        run().iter().map(|sweep| return_loss_db(port(&sweep.two_ports[middle]))).fold(f64::MAX, f64::min)
    };
    let worst_db = [worst(|two_port| two_port.s11), worst(|two_port| two_port.s22)];
    println!("at 10 GHz: insertion loss {loss_db:.2} dB, worst return losses {worst_db:.1?} dB");
    assert!(worst_db.iter().all(|worst_db| (10.0..20.0).contains(worst_db)), "{worst_db:?}");
}

/// Without noise every state is passive and reciprocal to rounding.
#[test]
fn the_part_is_passive_and_reciprocal() {
    let part = demo::part();
    for word in words() {
        for two_port in part.two_ports(word) {
            assert!(largest_singular_value(&two_port) < 1.0);
            assert!(reciprocity(&two_port) < 1e-12);
        }
    }
}

/// In the files, passivity holds, and reciprocity is broken by the noise alone: both directions have their own noise
/// of −60 dB, so their difference has √2 of it.
#[test]
fn files_are_passive_and_reciprocal_but_for_the_noise() {
    let level: Vec<f64> = demo::part().two_ports(Word(0)).map(|zero| 1e-3 * zero.s21.norm()).collect();
    let mut sum = 0.0;
    for sweep in run() {
        for (two_port, level) in sweep.two_ports.iter().zip(&level) {
            let difference = (two_port.s21 - two_port.s12).norm() / level;
            assert!(difference < 12.0 && largest_singular_value(two_port) < 1.0);
            sum += difference * difference;
        }
    }
    let mean_square = sum / (WORDS * level.len()) as f64;
    assert!((mean_square - 2.0).abs() < 0.02, "{mean_square}");
}

#[test]
fn files_say_what_they_are() {
    let sweep = read(&demo::file(Word(0x3A7)));
    assert!(sweep.comments[0].contains("Made-up data"));
    assert!(sweep.comments.iter().any(|comment| comment == " Control word 935"));
    assert_eq!(sweep.option_line, "# Hz S RI R 50");
    assert_eq!(sweep.frequency.len(), 161);
    assert_eq!((sweep.frequency[0], sweep.frequency[1], sweep.frequency[160]), (6e9, 6.05e9, 14e9));
    assert_eq!(demo::file_name(Word(0x3A7)), "rain_tx_0x3A7.s2p");
    assert_eq!(demo::file_name(Word(0)), "rain_tx_0x000.s2p");
    assert_eq!(demo::word_count(), WORDS);
}

/// The same word gives the same bytes whichever files were made before it.
#[test]
fn a_file_depends_on_its_word_alone() {
    let part = demo::part();
    let _ = part.file(Word(7));
    assert_eq!(part.file(Word(4000)), demo::file(Word(4000)));
    assert_ne!(part.file(Word(4000)), part.file(Word(4001)));
    let other_seed = Part::new(PartPlan { seed: 1, ..demo::rain_radar() }).unwrap();
    assert_ne!(part.file(Word(4000)), other_seed.file(Word(4000)));
}

/// One value in every form and unit: the files agree to the digits that they have.
#[test]
fn forms_and_units_agree() {
    let of = |form, unit| {
        let plan = PartPlan { form, unit, ..demo::attenuator(5).unwrap() };
        read(&Part::new(plan).unwrap().file(Word(21)))
    };
    let reference = of(Form::RealImaginary, Unit::Hz);
    for (form, unit, per_unit) in [
        (Form::MagnitudeAngle, Unit::KHz, 1e3),
        (Form::DecibelAngle, Unit::MHz, 1e6),
        (Form::DecibelAngle, Unit::GHz, 1e9),
    ] {
        let sweep = of(form, unit);
        for (point, reference_hz) in reference.frequency.iter().enumerate() {
            assert!((sweep.frequency[point] * per_unit - reference_hz).abs() < 1e-5);
            let (a, b) = (sweep.two_ports[point], reference.two_ports[point]);
            for (a, b) in [(a.s11, b.s11), (a.s21, b.s21), (a.s12, b.s12), (a.s22, b.s22)] {
                assert!((a - b).norm() < 3e-7, "{a} {b}");
            }
        }
    }
}

/// The smaller parts' bits double, too, in the middle of the band.
#[test]
fn smaller_parts_have_doubling_bits() {
    for plan in [demo::attenuator(6).unwrap(), demo::phase_shifter(7).unwrap()] {
        let field = plan.layout.fields[0].clone();
        let part = Part::new(plan).unwrap();
        let words: Vec<Word> = (0..field.codes()).map(Word).collect();
        let states: Vec<Complex64> =
            words.iter().map(|&word| read(&part.file(word)).two_ports[80].s21).collect();
        for (bit, weight) in bit_weights(&words, &states, field.bits.len()).iter().enumerate() {
            let nominal = field.nominal(1 << bit);
            let error = match field.quantity {
                Quantity::Gain => weight.gain_db - nominal,
                Quantity::Phase => wrap_deg(weight.phase_deg - nominal),
            };
            assert!((error / nominal).abs() < 0.15, "bit {bit}: {error} off {nominal}");
        }
    }
}

#[test]
fn plans_that_cannot_be_made_are_refused_with_the_reason() {
    let refused = |change: fn(&mut PartPlan)| {
        let mut plan = demo::rain_radar();
        change(&mut plan);
        Part::new(plan).unwrap_err()
    };
    assert_eq!(refused(|plan| plan.sections[0].bit = 11), PlanError::SectionsOfBit { bit: 6, sections: 0 });
    assert_eq!(refused(|plan| plan.sections[0].bit = 12), PlanError::UnknownBit(12));
    assert!(matches!(refused(|plan| plan.sweep.points = 1), PlanError::Sweep(_)));
    assert!(matches!(refused(|plan| plan.sweep.stop_hz = 6_000_000_100), PlanError::Sweep(_)));
    assert!(matches!(refused(|plan| plan.reference_ohm = 0.0), PlanError::NotPositive(_, _)));
    assert_eq!(demo::attenuator(7).unwrap_err().to_string(), "There is no plan for 7 bits, only for 1 to 6.");
    assert_eq!(demo::phase_shifter(0).unwrap_err(), PlanError::Bits { bits: 0, most: 7 });
}
