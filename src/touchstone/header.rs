//! What the keywords of a version 2 file say before its data.

use super::cursor::{Cursor, shown};
use super::error::{Fault, ReadErrorKind};
use super::keyword::{Bracketed, Keyword, argument, bracketed, count};
use super::option_line::resistances;
use super::ports::MOST_PORTS;

/// Which elements of the matrix a row holds.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) enum MatrixFormat {
    #[default]
    Full,
    Lower,
    Upper,
}

/// The keywords met so far and their arguments.
#[derive(Debug, Default)]
pub(super) struct Header {
    /// Line of each keyword met, in the order of [`Keyword::ALL`]; 0 where it was not.
    lines: [usize; Keyword::ALL.len()],
    pub(super) ports: Option<usize>,
    /// The second value of a two-port row is the 12 element.
    pub(super) order_12_21: bool,
    pub(super) frequencies: Option<usize>,
    pub(super) noise_frequencies: Option<usize>,
    pub(super) reference_ohm: Option<Vec<f64>>,
    pub(super) matrix: MatrixFormat,
}

impl Header {
    /// The line where a keyword stands.
    pub(super) fn line_of(&self, keyword: Keyword) -> Option<usize> {
        Some(self.lines[keyword as usize]).filter(|&line| line > 0)
    }

    /// Notes that a keyword stands on `line`; it may do so once.
    pub(super) fn meet(&mut self, keyword: Keyword, line: usize) -> Result<(), Fault> {
        if let Some(first_line) = self.line_of(keyword) {
            let keyword = keyword.name();
            return Err(Fault::on_line(line, ReadErrorKind::KeywordTwice { keyword, first_line }));
        }
        self.lines[keyword as usize] = line;
        Ok(())
    }

    /// Takes a keyword that was passed, and its arguments from the cursor.
    pub(super) fn accept(&mut self, keyword: Keyword, cursor: &mut Cursor) -> Result<(), Fault> {
        let line = cursor.line();
        if keyword != Keyword::Version && self.line_of(Keyword::Version).is_none() {
            let keyword = keyword.name().to_owned();
            return Err(Fault::on_line(line, ReadErrorKind::KeywordWithoutVersion { keyword }));
        }
        self.meet(keyword, line)?;
        match keyword {
            Keyword::Version => version(cursor)?,
            Keyword::NumberOfPorts => {
                let ports = count(cursor, keyword)?;
                if ports > MOST_PORTS {
                    let kind = ReadErrorKind::PortsTooMany { limit: MOST_PORTS };
                    return Err(Fault::on_line(line, kind));
                }
                self.ports = Some(ports);
            }
            Keyword::TwoPortDataOrder => {
                let choices: [(&[u8], bool); 2] = [(b"12_21", true), (b"21_12", false)];
                self.order_12_21 = one_of(cursor, keyword, "12_21 or 21_12", &choices)?;
            }
            Keyword::NumberOfFrequencies => self.frequencies = Some(count(cursor, keyword)?),
            Keyword::NumberOfNoiseFrequencies => self.noise_frequencies = Some(count(cursor, keyword)?),
            Keyword::Reference => self.reference_ohm = Some(reference(cursor)?),
            Keyword::MatrixFormat => {
                let choices: [(&[u8], MatrixFormat); 3] = [
                    (b"FULL", MatrixFormat::Full),
                    (b"LOWER", MatrixFormat::Lower),
                    (b"UPPER", MatrixFormat::Upper),
                ];
                self.matrix = one_of(cursor, keyword, "Full, Lower or Upper", &choices)?;
            }
            Keyword::MixedModeOrder => return Err(Fault::on_line(line, ReadErrorKind::MixedMode)),
            Keyword::BeginInformation => pass_information(cursor, line)?,
            Keyword::EndInformation | Keyword::NetworkData | Keyword::NoiseData | Keyword::End => {
                let keyword = keyword.name();
                return Err(Fault::on_line(line, ReadErrorKind::KeywordMisplaced { keyword }));
            }
        }
        Ok(())
    }
}

fn version(cursor: &mut Cursor) -> Result<(), Fault> {
    let before = cursor.clone();
    match argument(cursor, Keyword::Version, "2.0 or 2.1")? {
        b"2.0" | b"2.1" => Ok(()),
        word => Err(before.fault(ReadErrorKind::VersionUnsupported { word: shown(word) })),
    }
}

/// The meaning of a keyword's one argument.
fn one_of<T: Copy>(
    cursor: &mut Cursor,
    keyword: Keyword,
    expected: &'static str,
    choices: &[(&[u8], T)],
) -> Result<T, Fault> {
    let before = cursor.clone();
    let word = argument(cursor, keyword, expected)?;
    choices
        .iter()
        .find(|(name, _)| name.eq_ignore_ascii_case(word))
        .map(|&(_, value)| value)
        .ok_or_else(|| before.fault(ReadErrorKind::KeywordArgument { keyword: keyword.name(), expected }))
}

/// The resistances after `[Reference]`, over as many lines as they take.
fn reference(cursor: &mut Cursor) -> Result<Vec<f64>, Fault> {
    let mut values = Vec::new();
    loop {
        match cursor.peek() {
            None | Some(b'[' | b'#') => return Ok(values),
            Some(b'\r' | b'\n') => cursor.pass_line_end(),
            Some(b'!') => cursor.pass_comment(),
            Some(_) => {
                let found = resistances(cursor)?;
                if found.is_empty() {
                    let word = shown(cursor.peek_word());
                    return Err(cursor.fault(ReadErrorKind::ReferenceNotPositive { word }));
                }
                values.extend(found);
            }
        }
    }
}

/// Passes an information block up to its end; the standard leaves its contents to applications.
fn pass_information(cursor: &mut Cursor, first_line: usize) -> Result<(), Fault> {
    loop {
        match cursor.peek() {
            None => return Err(Fault::on_line(first_line, ReadErrorKind::InformationOpen)),
            Some(b'\r' | b'\n') => cursor.pass_line_end(),
            Some(b'!') => cursor.pass_comment(),
            Some(b'[') => match bracketed(cursor) {
                Ok(Bracketed::Known(Keyword::EndInformation)) => return Ok(()),
                Ok(Bracketed::Known(Keyword::NetworkData)) => {
                    return Err(Fault::on_line(first_line, ReadErrorKind::InformationOpen));
                }
                _ => cursor.pass_rest_of_line(),
            },
            Some(_) => cursor.pass_rest_of_line(),
        }
    }
}
