//! Bits that do nothing, stand in each other's places or work the other way; and files in the wrong order.
//!
//! A wrongly wired part is the made-up part with its words rearranged: what is measured as one word is what the part
//! does at another.

mod planted;

use planted::{Bench, Dice, Run, accusations, evidence, facts, found, found_with};
use sweepfold::checks::{Correction, Expected, Fault, Finding, OrderOfFiles, Stuck};
use sweepfold::control::guess::{MeasuredBit, guess};
use sweepfold::control::{Field, FieldBit, Layout, Quantity, Word};
use sweepfold::plane::wrap_deg;

fn benches() -> [Bench; 4] {
    [Bench::attenuator(41), Bench::phase_shifter(6, 41), Bench::gain_phase(3, 41), Bench::gain_phase(4, 41)]
}

/// The run of a part that sees `seen(word)` where it is given a word.
fn seeing(bench: &Bench, seen: impl Fn(u32) -> u32) -> Run {
    let mut run = bench.run();
    for word in &run.words {
        run.traces[word.0 as usize].clone_from(&bench.clean[seen(word.0) as usize]);
    }
    run
}

fn exchange(word: u32, a: u8, b: u8) -> u32 {
    let differ = (word >> a ^ word >> b) & 1;
    word ^ (differ << a | differ << b)
}

fn reverse(word: u32, field: &Field) -> u32 {
    let positions: Vec<u8> = field.bits.iter().map(|bit| bit.position).collect();
    let half = positions.len() / 2;
    positions.iter().zip(positions.iter().rev()).take(half).fold(word, |word, (&a, &b)| exchange(word, a, b))
}

/// The layout under which the rearranged part does what the layout says: each bit of the part stands where
/// `positions` says, inverted or not.
fn rewired(layout: &Layout, positions: impl Fn(u8) -> u8, inverted: u32) -> Layout {
    let bit = |bit: &FieldBit| {
        let position = positions(bit.position);
        FieldBit { position, inverted: inverted >> position & 1 == 1 }
    };
    let field = |field: &Field| Field { bits: field.bits.iter().map(bit).collect(), ..field.clone() };
    Layout { fields: layout.fields.iter().map(field).collect() }
}

/// Both noise levels, and the layout that has to be proposed.
fn finds(bench: &Bench, run: &Run, expected: &[Fault], layout: Option<&Layout>) {
    for noise_db in [-60.0, -40.0] {
        let findings = accusations(found(&run.clone().with_noise(bench, noise_db, 9)));
        let faults: Vec<&Fault> = findings.iter().map(|finding| &finding.fault).collect();
        assert_eq!(faults, expected.iter().collect::<Vec<_>>(), "{noise_db} dB");
        for finding in &findings {
            match &finding.correction {
                Some(Correction::Layout(proposed)) => assert_eq!(Some(proposed), layout),
                other => panic!("{other:?}"),
            }
        }
    }
}

/// Every pair of bits of every field, and every pair across the fields.
#[test]
fn any_two_bits_exchanged() {
    let mut planted = 0;
    for bench in &benches() {
        let bits = u8::try_from(bench.layout.bits()).unwrap();
        for low in 0..bits {
            for high in low + 1..bits {
                let run = seeing(bench, |word| exchange(word, low, high));
                let swap = |position: u8| match position {
                    position if position == low => high,
                    position if position == high => low,
                    position => position,
                };
                let layout = rewired(&bench.layout, swap, 0);
                // The outer two of three bits exchanged is the field reversed.
                let reversed = bench.layout.fields.iter().find(|field| {
                    field.bits.len() == 3 && field.bits[0].position == low && field.bits[2].position == high
                });
                let fault = match reversed {
                    Some(_) => Fault::ReversedBits { bits: (low..=high).collect() },
                    None => Fault::ExchangedBits { low, high },
                };
                finds(bench, &run, &[fault], Some(&layout));
                planted += 1;
            }
        }
    }
    assert!(planted >= 50, "{planted}");
}

#[test]
fn a_field_reversed() {
    for bench in &benches() {
        for field in &bench.layout.fields {
            let run = seeing(bench, |word| reverse(word, field));
            let mut bits: Vec<u8> = field.bits.iter().map(|bit| bit.position).collect();
            let (first, last) = (bits[0], bits[bits.len() - 1]);
            let turned = |position: u8| {
                if (first..=last).contains(&position) { first + last - position } else { position }
            };
            bits.sort_unstable();
            let layout = rewired(&bench.layout, turned, 0);
            finds(bench, &run, &[Fault::ReversedBits { bits }], Some(&layout));
        }
    }
}

/// Three bits each one place on: neither reversed nor a matter of pairs.
#[test]
fn bits_in_another_order() {
    let bench = Bench::attenuator(41);
    let run = seeing(&bench, |word| exchange(exchange(word, 1, 3), 3, 5));
    let findings = accusations(found(&run.with_noise(&bench, -50.0, 2)));
    let [Finding { fault: Fault::ReorderedBits { bits }, correction, .. }] = findings.as_slice() else {
        panic!("{findings:?}");
    };
    let Some(Correction::Layout(layout)) = correction else { panic!("{correction:?}") };
    assert_eq!(bits, &layout.fields[0].bits.iter().map(|bit| bit.position).collect::<Vec<_>>());
    // The word that sets the part's bit 1 alone has to be the proposed layout's code 2, and so on.
    for place in 0..6 {
        let word =
            (0..6).map(|bit| 1 << bit).find(|&word| exchange(exchange(word, 1, 3), 3, 5) == 1 << place);
        assert_eq!(layout.fields[0].code(Word(word.unwrap())), 1 << place);
    }
}

fn signed_bits(field: &Field) -> Vec<u8> {
    let signed = field.bits.iter().enumerate().filter(|&(place, _)| {
        field.quantity == Quantity::Gain || (field.nominal(1 << place).abs() - 180.0).abs() > 1.0
    });
    signed.map(|(_, bit)| bit.position).collect()
}

/// Any set of bits that is not all of a field. A half turn has no sign, so that bit is left out.
#[test]
fn some_bits_inverted() {
    let mut planted = 0;
    for bench in &benches() {
        for field in &bench.layout.fields {
            let signed = signed_bits(field);
            for chosen in 1..(1_u32 << signed.len()) - 1 {
                if signed.len() > 4 && chosen % 5 != 1 {
                    continue;
                }
                let is_chosen = |place: &usize| chosen >> place & 1 == 1;
                let bits: Vec<u8> = (0..signed.len()).filter(is_chosen).map(|place| signed[place]).collect();
                let mask = bits.iter().fold(0, |mask, bit| mask | 1 << bit);
                let layout = rewired(&bench.layout, |position| position, mask);
                let run = seeing(bench, |word| word ^ mask);
                finds(bench, &run, &[Fault::InvertedBits { bits }], Some(&layout));
                planted += 1;
            }
        }
    }
    assert!(planted >= 40, "{planted}");
}

/// All lines of a field active low. In a phase field that fills the circle, lag for lead says the same: 2^n codes turn the
/// other way from another start.
#[test]
fn a_whole_field_inverted() {
    for bench in &benches() {
        for field in &bench.layout.fields {
            let bits: Vec<u8> = field.bits.iter().map(|bit| bit.position).collect();
            let mask = bits.iter().fold(0, |mask, bit| mask | 1 << bit);
            let layout = rewired(&bench.layout, |position| position, mask);
            let run = seeing(bench, |word| word ^ mask);
            let or_direction = field.quantity == Quantity::Phase;
            finds(bench, &run, &[Fault::InvertedField { bits, or_direction }], Some(&layout));
        }
    }
}

/// An idle bit, for every bit and both sides; the side is told for an attenuator whose loss at the zero word is known. (As
/// in the worked case of an ideal 0.5 dB attenuator: bit 2 stuck low gives the weight 0 and the offset 0, stuck high
/// the weight 0 and 2 dB more loss.)
#[test]
fn an_idle_bit_and_to_which_side_it_is_stuck() {
    for bench in &benches() {
        let bits = u8::try_from(bench.layout.bits()).unwrap();
        for bit in 0..bits {
            for high in [false, true] {
                let run = seeing(bench, |word| if high { word | 1 << bit } else { word & !(1 << bit) })
                    .with_noise(bench, -50.0, 4);
                let mut losses: Vec<f64> = bench.clean[0].iter().map(|t| -20.0 * t.norm().log10()).collect();
                losses.sort_by(f64::total_cmp);
                let known = Some(losses[losses.len() / 2]);
                let is_gain =
                    bench.layout.of(Quantity::Gain).any(|field| field.bits.iter().any(|b| b.position == bit));
                let side = if high { Stuck::High } else { Stuck::Low };
                for (zero_word_loss_db, expected) in [(None, None), (known, is_gain.then_some(side))] {
                    let facts = sweepfold::checks::Facts { zero_word_loss_db, ..facts(&run) };
                    let findings = accusations(found_with(&run, &facts));
                    let [Finding { fault: Fault::IdleBit { bit: found, gain_db, phase_deg, stuck }, .. }] =
                        findings.as_slice()
                    else {
                        panic!("bit {bit}: {findings:?}");
                    };
                    assert_eq!((*found, *stuck), (bit, expected));
                    assert!(gain_db.abs() < 0.02 && phase_deg.abs() < 0.2);
                }
            }
        }
    }
}

/// The layout that the tool would guess from the run itself.
fn guessed(run: &Run) -> Layout {
    let evidence = evidence(run, &[]);
    let middle = &evidence.frequencies[evidence.frequencies.len() / 2].weights;
    let bits: Vec<MeasuredBit> = middle
        .iter()
        .map(|weight| MeasuredBit { gain_db: weight.gain_db, phase_deg: wrap_deg(weight.phase_deg) })
        .collect();
    guess(&bits).unwrap().layout
}

/// A guess takes wrong wiring in and says nothing. What it should have been is ascending and not inverted.
#[test]
fn a_guessed_layout_hides_no_wiring() {
    let bench = Bench::gain_phase(4, 41);
    let run = seeing(&bench, |word| exchange(word, 5, 7) ^ 1 << 4).with_noise(&bench, -60.0, 1);
    let layout = guessed(&run);
    let expected = Some(Expected { layout: &layout, guessed: true });
    let findings = accusations(found_with(&run, &sweepfold::checks::Facts { expected, ..facts(&run) }));
    let faults: Vec<&Fault> = findings.iter().map(|finding| &finding.fault).collect();
    assert_eq!(faults, [&Fault::ExchangedBits { low: 5, high: 7 }, &Fault::InvertedBits { bits: vec![4] }],);
    // The correction is what was guessed.
    assert_eq!(findings[0].correction, Some(Correction::Layout(layout.clone())));
    let clean = bench.run().with_noise(&bench, -60.0, 1);
    let layout = guessed(&clean);
    let expected = Some(Expected { layout: &layout, guessed: true });
    assert_eq!(accusations(found_with(&clean, &sweepfold::checks::Facts { expected, ..facts(&clean) })), []);
}

/// Files numbered 0, 1, 2 … whose words went through a list sorted as text, or counted in Gray code. The text order of 64
/// numbers leaves two in place (0 and 1), as a worked table of such a mix-up says.
#[test]
fn files_in_another_order() {
    let words: Vec<Word> = (0..64).map(Word).collect();
    let sorted = OrderOfFiles::Lexicographic.words(&words, 6).unwrap();
    assert_eq!(sorted[..5], [0, 1, 10, 11, 12].map(Word));
    assert_eq!(sorted.iter().zip(&words).filter(|(a, b)| a == b).count(), 2);
    let gray = OrderOfFiles::Gray.words(&words[..8], 3).unwrap();
    assert_eq!(gray, [0b000, 0b001, 0b011, 0b010, 0b110, 0b111, 0b101, 0b100].map(Word));
    let mut planted = 0;
    for bench in &benches() {
        let words = bench.run().words;
        for order in [OrderOfFiles::Lexicographic, OrderOfFiles::Gray] {
            let made = order.words(&words, bench.layout.bits()).unwrap();
            for seed in 0..14 {
                let noise_db = if seed % 2 == 0 { -60.0 } else { -40.0 };
                let run = seeing(bench, |word| made[word as usize].0).with_noise(bench, noise_db, seed);
                let findings = accusations(found(&run));
                let [Finding { fault, correction, .. }] = findings.as_slice() else { panic!("{findings:?}") };
                assert_eq!(*fault, Fault::OrderOfFiles(order));
                assert_eq!(*correction, Some(Correction::Order(order)));
                planted += 1;
            }
        }
    }
    assert!(planted >= 100, "{planted}");
}

/// All words captured in descending order: every bit inverted says the same, and is what is said. With words missing the
/// two differ, and the order is told.
#[test]
fn a_reversed_run_is_inverted_wiring_unless_words_are_missing() {
    let bench = Bench::attenuator(41);
    let run = seeing(&bench, |word| 63 - word);
    let inverted = Fault::InvertedField { bits: (0..6).collect(), or_direction: false };
    finds(&bench, &run, &[inverted], Some(&rewired(&bench.layout, |position| position, 63)));

    let mut dice = Dice::new(1);
    let missing = dice.apart(9, 20, 60);
    let mut run = bench.run();
    run.words.retain(|word| !missing.contains(&(word.0 as usize)));
    run.traces = run.words.iter().rev().map(|word| bench.clean[word.0 as usize].clone()).collect();
    run.capture_order = (0..run.words.len()).collect();
    let findings = accusations(found(&run.with_noise(&bench, -60.0, 3)));
    let faults: Vec<&Fault> = findings.iter().map(|finding| &finding.fault).collect();
    assert_eq!(faults, [&Fault::OrderOfFiles(OrderOfFiles::Reversed)]);
}
