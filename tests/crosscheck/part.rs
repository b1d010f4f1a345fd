//! Every figure of a part at every frequency, for the comparison with numpy.
//!
//! `crosscheck_part STATES QUANTITY BITS STEP`: every file of STATES is a state whose word stands before `.s2p` in
//! hexadecimal; the word is one attenuating or lagging field. Prints `frequency index,figure,value`, a line for each
//! reading, in the product's order.

use num_complex::{Complex32, Complex64};
use sweepfold::control::{Direction, Field, Layout, Quantity, Word};
use sweepfold::part::{FieldAt, FieldSlice, Figure, Measured, WorstReflections};
use sweepfold::plane::StateIndex;
use sweepfold::touchstone::{self, Network};

type Failure = Box<dyn std::error::Error>;

fn main() -> Result<(), Failure> {
    let arguments: Vec<String> = std::env::args().collect();
    let [_, states, quantity, bits, step] = arguments.as_slice() else {
        return Err("usage: STATES QUANTITY BITS STEP".into());
    };
    let quantity = if quantity == "gain" { Quantity::Gain } else { Quantity::Phase };
    let field = Field::contiguous(quantity, 0, bits.parse()?, step.parse()?, Direction::Down);
    let slice = FieldSlice::of(&Layout { fields: vec![field] }, 0, &[])?;
    let networks = read(states)?;
    let words: Vec<Word> = networks.iter().map(|(word, _)| *word).collect();
    let positions = slice.states(&StateIndex::new(&words))?;
    let frequency_hz = &networks.first().ok_or("no files")?.1.frequency_hz;
    let at = |index: usize| {
        let transmission: Vec<Complex64> =
            networks.iter().map(|(_, network)| network.s(index, 2, 1)).collect();
        FieldAt::of(&slice, &FieldSlice::pick(&positions, &transmission))
    };
    let at: Vec<FieldAt> = (0..frequency_hz.len()).map(at).collect();
    let reflections = networks.iter().map(|(word, network)| {
        let over = |port| -> Vec<Complex32> {
            (0..frequency_hz.len()).map(|index| single(network.s(index, port, port))).collect()
        };
        WorstReflections::of_state(*word, &over(1), Some(&over(2)))
    });
    let worst = reflections.reduce(|mut worst, state| {
        worst.merge(&state);
        worst
    });
    let measured =
        Measured { slice: &slice, frequency_hz, at: &at, sigma: None, reflections: worst.as_ref() };
    for figure in Figure::all().filter(|figure| figure.quantity().is_none_or(|own| own == quantity)) {
        for index in 0..frequency_hz.len() {
            for reading in measured.readings(figure, index).map_err(|refusal| refusal.to_string())? {
                println!("{index},{},{:e}", figure.name(), reading.value);
            }
        }
    }
    Ok(())
}

/// The states of a folder, ascending by word.
fn read(folder: &str) -> Result<Vec<(Word, Network)>, Failure> {
    let mut networks = Vec::new();
    for entry in std::fs::read_dir(folder)? {
        let path = entry?.path();
        let name = path.file_stem().and_then(|name| name.to_str()).ok_or("a file without a name")?;
        let Some((_, digits)) = name.rsplit_once("0x") else { continue };
        let word = Word(u32::from_str_radix(digits, 16)?);
        networks.push((word, touchstone::read(&path.to_string_lossy(), &std::fs::read(&path)?)?));
    }
    networks.sort_by_key(|(word, _)| *word);
    Ok(networks)
}

#[expect(clippy::cast_possible_truncation, reason = "reflections are kept in single precision")]
fn single(value: Complex64) -> Complex32 {
    Complex32::new(value.re as f32, value.im as f32)
}
