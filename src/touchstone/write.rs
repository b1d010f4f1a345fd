//! A network to the bytes of a version 1 file.

use super::decimal::{push_scientific, push_shortest, push_shortest_divided};
use super::network::Network;
use super::option_line::{FrequencyUnit, NumberFormat};
use num_complex::Complex64;

/// How many digits the numbers get.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Digits {
    /// The shortest decimal that reads back to the same double.
    #[default]
    Shortest,
    /// So many significant digits (1 to 17), with an exponent, as bench analysers write them. Frequencies keep all
    /// their digits.
    Significant(u8),
}

/// How a network is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct WriteOptions {
    /// Unit of the frequencies.
    pub unit: FrequencyUnit,
    /// How complex numbers are written.
    pub format: NumberFormat,
    /// How many digits the numbers get.
    pub digits: Digits,
}

impl Default for WriteOptions {
    /// Hertz, real and imaginary parts, shortest decimals: reads back to the bit.
    fn default() -> Self {
        Self { unit: FrequencyUnit::Hertz, format: NumberFormat::RealImaginary, digits: Digits::Shortest }
    }
}

/// Zero has no decibels. This many underflow to zero when they are read.
const ZERO_DB: f64 = -7000.0;

/// Pairs that version 1 allows on a line.
const PAIRS_PER_LINE: usize = 4;

/// Writes a version 1 file: the comments, an option line, and one row for each frequency.
///
/// With shortest decimals, frequencies read back to the bit in every unit, and so do real and imaginary parts; the
/// other formats round (relative 1e-14). Where the ports' references differ the option line names each (version
/// 1.1). Noise rows are not kept in a [`Network`] and so not written. Values have to be finite.
pub fn write(network: &Network, options: &WriteOptions) -> Vec<u8> {
    let ports = network.ports;
    let row_bytes = 16 + 24 * 2 * ports * ports;
    let mut text = Vec::with_capacity(256 + network.frequency_hz.len() * row_bytes);
    for line in network.comments.iter().flat_map(|comment| comment.split(['\r', '\n'])) {
        text.extend_from_slice(b"! ");
        text.extend_from_slice(line.as_bytes());
        text.push(b'\n');
    }
    push_option_line(&mut text, network, *options);
    let mut matrix = Vec::with_capacity(ports * ports);
    for (&frequency_hz, values) in network.frequency_hz.iter().zip(network.s.chunks(ports * ports)) {
        push_shortest_divided(&mut text, frequency_hz, options.unit.exponent());
        matrix.clear();
        matrix.extend_from_slice(values);
        if let [_, s12, s21, _] = matrix.as_mut_slice()
            && ports == 2
        {
            std::mem::swap(s12, s21);
        }
        push_matrix(&mut text, &matrix, ports, *options);
    }
    text
}

fn push_option_line(text: &mut Vec<u8>, network: &Network, options: WriteOptions) {
    text.extend_from_slice(b"# ");
    text.extend_from_slice(options.unit.keyword().as_bytes());
    text.extend_from_slice(b" S ");
    text.extend_from_slice(options.format.keyword().as_bytes());
    text.extend_from_slice(b" R");
    let reference = &network.reference_ohm;
    let differ = reference.iter().any(|ohm| ohm != &reference[0]);
    for &ohm in &reference[..if differ { reference.len() } else { reference.len().min(1) }] {
        text.push(b' ');
        push_shortest(text, ohm);
    }
    text.push(b'\n');
}

/// The pairs of one frequency: one and two ports on a line, else each row of the matrix on lines of its own.
fn push_matrix(text: &mut Vec<u8>, matrix: &[Complex64], ports: usize, options: WriteOptions) {
    let row_pairs = if ports <= 2 { matrix.len() } else { ports };
    for (index, row) in matrix.chunks(row_pairs).enumerate() {
        for (column, &value) in row.iter().enumerate() {
            if column % PAIRS_PER_LINE == 0 && index + column > 0 {
                text.push(b'\n');
            }
            let (first, second) = pair(value, options.format);
            push_number(text, first, options.digits);
            push_number(text, second, options.digits);
        }
    }
    text.push(b'\n');
}

fn push_number(text: &mut Vec<u8>, value: f64, digits: Digits) {
    text.push(b' ');
    match digits {
        Digits::Shortest => push_shortest(text, value),
        Digits::Significant(count) => push_scientific(text, value, count),
    }
}

/// The two numbers that stand for a complex one.
fn pair(value: Complex64, format: NumberFormat) -> (f64, f64) {
    match format {
        NumberFormat::RealImaginary => (value.re, value.im),
        NumberFormat::MagnitudeAngle => (value.norm(), value.arg().to_degrees()),
        NumberFormat::DecibelAngle if value == Complex64::ZERO => (ZERO_DB, 0.0),
        NumberFormat::DecibelAngle => (20.0 * value.norm().log10(), value.arg().to_degrees()),
    }
}
