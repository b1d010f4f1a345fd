//! Noise rows, which are checked and counted but not kept.

use super::cursor::Cursor;
use super::error::{Fault, ReadErrorKind};
use super::network::Warning;
use super::number::number;
use super::rows::{later_option_line, pass_ignored_line};

/// Values of a noise row: frequency, minimum noise figure, magnitude and angle of the source reflection, resistance.
pub(super) const VALUES_PER_NOISE_ROW: usize = 5;

/// Reads past noise rows up to a keyword or the end of the file, and returns how many there are.
pub(super) fn noise_rows(cursor: &mut Cursor, warnings: &mut Vec<Warning>) -> Result<usize, Fault> {
    let mut count = 0;
    let mut previous: Option<(f64, usize)> = None;
    loop {
        match cursor.peek() {
            None | Some(b'[') => return Ok(count),
            Some(b'\r' | b'\n') => cursor.pass_line_end(),
            Some(b'!') => cursor.pass_comment(),
            Some(b'#') => {
                warnings.push(later_option_line(cursor.line()));
                pass_ignored_line(cursor);
            }
            Some(_) => {
                let place = cursor.place();
                let frequency = row(cursor)?;
                if let Some((last, previous_line)) = previous
                    && frequency <= last
                {
                    return Err(Fault::at(
                        place,
                        if frequency < last {
                            ReadErrorKind::NotAscending { previous_line }
                        } else {
                            ReadErrorKind::Repeated { previous_line }
                        },
                    ));
                }
                previous = Some((frequency, place.0));
                count += 1;
            }
        }
    }
}

/// Passes one row, which is one line, and returns its frequency in the file's unit.
fn row(cursor: &mut Cursor) -> Result<f64, Fault> {
    let line = cursor.line();
    let frequency = number(cursor)?;
    let mut found = 1;
    loop {
        match cursor.peek() {
            None | Some(b'\r' | b'\n' | b'!') => break,
            Some(_) => number(cursor)?,
        };
        found += 1;
    }
    if found == VALUES_PER_NOISE_ROW {
        Ok(frequency)
    } else if cursor.peek().is_none() && found < VALUES_PER_NOISE_ROW {
        Err(Fault::on_line(line, ReadErrorKind::Truncated { found, expected: VALUES_PER_NOISE_ROW }))
    } else {
        Err(Fault::on_line(line, ReadErrorKind::NoiseRowLength { found }))
    }
}
