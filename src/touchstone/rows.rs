//! The rows of network data: values to frequencies and scattering parameters.

use super::convert::Conversion;
use super::cursor::Cursor;
use super::error::{Fault, ReadErrorKind};
use super::header::MatrixFormat;
use super::network::Warning;
use super::noise::VALUES_PER_NOISE_ROW;
use super::number::{number, number_times_power_of_ten};
use super::option_line::NumberFormat;
use num_complex::Complex64;

/// How the values of a row are laid out and what they mean.
#[derive(Debug)]
pub(super) struct RowFormat {
    pub(super) ports: usize,
    pub(super) matrix: MatrixFormat,
    /// In a full two-port row the 21 element comes before the 12 element.
    pub(super) order_21_12: bool,
    /// Rows of five values whose frequency steps back are noise: version 1, two ports.
    pub(super) noise_may_follow: bool,
    /// Power of ten from the file's unit to hertz.
    pub(super) unit_exponent: i32,
    pub(super) format: NumberFormat,
    pub(super) conversion: Conversion,
}

impl RowFormat {
    /// The frequency and a pair for every element that is written.
    fn values_per_row(&self) -> usize {
        let square = self.ports * self.ports;
        match self.matrix {
            MatrixFormat::Full => 2 * square + 1,
            MatrixFormat::Lower | MatrixFormat::Upper => square + self.ports + 1,
        }
    }
}

/// What the rows gave.
#[derive(Debug, Default)]
pub(super) struct Rows {
    pub(super) frequency_hz: Vec<f64>,
    pub(super) s: Vec<Complex64>,
    pub(super) warnings: Vec<Warning>,
    /// The line on which the last row begins.
    pub(super) last_line: usize,
}

/// What stands after the last row.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum After {
    Nothing,
    Keyword,
    Noise,
}

/// Reads rows until the file ends, a keyword begins, or noise begins; the cursor stays before it.
///
/// A row is as many values as its matrix needs, over as many lines as it takes; its frequency begins a line.
pub(super) fn rows(cursor: &mut Cursor, format: &RowFormat) -> Result<(Rows, After), Fault> {
    let expected = format.values_per_row();
    let mut rows = Rows::default();
    let mut row: Vec<f64> = Vec::new();
    let mut row_line = cursor.line();
    // Values of the current row that stand on the lines before this one.
    let mut on_earlier_lines = 0;
    let mut at_line_start = true;
    loop {
        match cursor.peek() {
            None => break,
            Some(b'\r' | b'\n') => {
                cursor.pass_line_end();
                at_line_start = true;
                on_earlier_lines = row.len();
            }
            Some(b'!') => cursor.pass_comment(),
            Some(b'[') if row.is_empty() && at_line_start => return Ok((rows, After::Keyword)),
            Some(b'[') if at_line_start => {
                return Err(Fault::on_line(
                    row_line,
                    ReadErrorKind::RowLength { found: row.len(), expected },
                ));
            }
            Some(b'#') if at_line_start => {
                rows.warnings.push(later_option_line(cursor.line()));
                pass_ignored_line(cursor);
            }
            Some(_) if row.is_empty() => {
                if !at_line_start {
                    return Err(too_many(cursor, expected, row_line, on_earlier_lines));
                }
                let frequency_hz = frequency(cursor, format, &rows, expected)?;
                if let Some(frequency_hz) = frequency_hz {
                    row_line = cursor.line();
                    row.push(frequency_hz);
                    at_line_start = false;
                } else {
                    return Ok((rows, After::Noise));
                }
            }
            Some(_) => {
                at_line_start = false;
                let value = number(cursor).map_err(|fault| cut(fault, row_line, row.len(), expected))?;
                row.push(value);
                if row.len() == expected {
                    rows.take(&row, row_line, format)?;
                    row.clear();
                }
            }
        }
    }
    if row.is_empty() {
        Ok((rows, After::Nothing))
    } else {
        Err(Fault::on_line(row_line, ReadErrorKind::Truncated { found: row.len(), expected }))
    }
}

/// The warning of an option line that is not the first.
pub(super) fn later_option_line(line: usize) -> Warning {
    let message = "This is not the first option line; it is ignored, as the standard says.".to_owned();
    Warning { line, message }
}

/// Passes the rest of a line of which only a comment counts.
pub(super) fn pass_ignored_line(cursor: &mut Cursor) {
    while cursor.word_in_line().is_some() {}
}

/// The frequency that begins a row, in hertz; `None`, with the cursor unmoved, where noise begins instead.
fn frequency(
    cursor: &mut Cursor,
    format: &RowFormat,
    rows: &Rows,
    expected: usize,
) -> Result<Option<f64>, Fault> {
    let start = cursor.clone();
    let value = number_times_power_of_ten(cursor, format.unit_exponent)
        .map_err(|fault| cut(fault, start.line(), 0, expected))?;
    let Some(&previous) = rows.frequency_hz.last() else {
        return if value < 0.0 {
            Err(start.fault(ReadErrorKind::NegativeFrequency))
        } else {
            Ok(Some(value))
        };
    };
    if value > previous {
        return Ok(Some(value));
    }
    if format.noise_may_follow && words_on_line(start.clone()) == VALUES_PER_NOISE_ROW {
        *cursor = start;
        return Ok(None);
    }
    let previous_line = rows.last_line;
    Err(start.fault(if value == previous {
        ReadErrorKind::Repeated { previous_line }
    } else {
        ReadErrorKind::NotAscending { previous_line }
    }))
}

/// Values on the rest of this line.
pub(super) fn words_on_line(mut cursor: Cursor) -> usize {
    let mut words = 0;
    while cursor.word_in_line().is_some() {
        words += 1;
    }
    words
}

/// A number that the file's end cut off means that the row is cut short.
fn cut(fault: Fault, row_line: usize, found: usize, expected: usize) -> Fault {
    match fault.kind {
        ReadErrorKind::CutNumber { .. } => {
            Fault::on_line(row_line, ReadErrorKind::Truncated { found, expected })
        }
        _ => fault,
    }
}

/// The fault of a line that goes on after its row is full. A row over several lines that ends inside a line with an
/// odd number of values ran into the next row, so it is too short.
#[cold]
fn too_many(cursor: &Cursor, expected: usize, row_line: usize, on_earlier_lines: usize) -> Fault {
    let on_line = expected - on_earlier_lines + words_on_line(cursor.clone());
    let found =
        if on_earlier_lines > 0 && on_line % 2 == 1 { on_earlier_lines } else { on_earlier_lines + on_line };
    Fault::on_line(row_line, ReadErrorKind::RowLength { found, expected })
}

impl Rows {
    /// Adds a full row.
    fn take(&mut self, row: &[f64], line: usize, format: &RowFormat) -> Result<(), Fault> {
        let ports = format.ports;
        let start = self.s.len();
        let mut pairs = row[1..].chunks_exact(2).map(|pair| format.format.complex(pair[0], pair[1]));
        match format.matrix {
            MatrixFormat::Full => {
                self.s.extend(pairs);
                if ports == 2 && format.order_21_12 {
                    self.s.swap(start + 1, start + 2);
                }
            }
            triangle => {
                self.s.resize(start + ports * ports, Complex64::ZERO);
                let matrix = &mut self.s[start..];
                for i in 0..ports {
                    let columns = if triangle == MatrixFormat::Lower { 0..i + 1 } else { i..ports };
                    for (j, value) in columns.zip(&mut pairs) {
                        matrix[i * ports + j] = value;
                        matrix[j * ports + i] = value;
                    }
                }
            }
        }
        let matrix = &mut self.s[start..];
        format.conversion.apply(matrix);
        if !matrix.iter().all(|value| value.is_finite()) {
            return Err(Fault::on_line(line, ReadErrorKind::NotFinite));
        }
        self.frequency_hz.push(row[0]);
        self.last_line = line;
        Ok(())
    }
}
