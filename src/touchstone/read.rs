//! Bytes to a network: the order in which the parts of a file come.

use super::comments::comments;
use super::convert::Conversion;
use super::cursor::{Cursor, shown};
use super::error::{Fault, ReadError, ReadErrorKind};
use super::header::{Header, MatrixFormat};
use super::keyword::{Bracketed, Keyword, bracketed};
use super::network::{Network, Warning};
use super::noise::noise_rows;
use super::number::number;
use super::option_line::{OptionLine, option_line};
use super::ports::{ports_by_name, version_1_ports};
use super::rows::{After, RowFormat, Rows, later_option_line, pass_ignored_line, rows};

/// Reads a Touchstone file of version 1.0, 1.1, 2.0 or 2.1, in one pass over its bytes.
///
/// The number of ports comes from `[Number of Ports]`, else from the ending of `file_name` (`.s2p`), else from the
/// rows; the rest of the name only labels errors. Impedance, admittance and hybrid parameters of one and two ports
/// are converted to scattering parameters at the file's own reference resistances. Frequencies are rounded once,
/// so that 1.1 GHz and 1100 MHz are the same double.
///
/// # Errors
/// Whatever leaves doubt about a value is refused, with the line and column where they apply; see
/// [`ReadErrorKind`].
pub fn read(file_name: &str, bytes: &[u8]) -> Result<Network, ReadError> {
    read_network(file_name, bytes).map_err(|fault| fault.in_file(file_name))
}

fn read_network(file_name: &str, bytes: &[u8]) -> Result<Network, Fault> {
    if matches!(bytes, [0xFF, 0xFE, ..] | [0xFE, 0xFF, ..]) {
        return Err(Fault::of_file(ReadErrorKind::Utf16));
    }
    let mut cursor = Cursor::new(bytes);
    let mut warnings = Vec::new();
    let head = head(&mut cursor, &mut warnings)?;
    let by_name = ports_by_name(file_name)?;
    let version_2 = head.header.line_of(Keyword::Version).is_some();
    let ports = if version_2 {
        version_2_ports(&head.header, by_name, &mut warnings)?
    } else {
        version_1_ports(by_name, &cursor)?
    };
    let reference_ohm = reference_ohm(&head, ports)?;
    let format = row_format(&head, ports, &reference_ohm, &mut warnings)?;
    let (rows, after) = rows(&mut cursor, &format)?;
    let noise_rows = if version_2 {
        version_2_tail(&mut cursor, head.header, &rows, &mut warnings)?
    } else {
        version_1_tail(&mut cursor, after, &mut warnings)?
    };
    if rows.frequency_hz.is_empty() {
        return Err(Fault::of_file(ReadErrorKind::NoData));
    }
    warnings.extend(rows.warnings);
    let (comments, impedance_warning) = comments(cursor.commented_part());
    warnings.extend(impedance_warning);
    warnings.sort_by_key(|warning| warning.line);
    Ok(Network {
        ports,
        reference_ohm,
        frequency_hz: rows.frequency_hz,
        s: rows.s,
        comments,
        noise_rows,
        warnings,
    })
}

/// Everything before the rows.
struct Head {
    option: OptionLine,
    header: Header,
}

/// Reads up to the first row of a version 1 file, or past `[Network Data]`.
fn head(cursor: &mut Cursor, warnings: &mut Vec<Warning>) -> Result<Head, Fault> {
    let mut option = None;
    let mut header = Header::default();
    let mut has_comments = false;
    loop {
        match cursor.peek() {
            None => {
                let is_empty =
                    option.is_none() && !has_comments && header.line_of(Keyword::Version).is_none();
                let kind = if is_empty { ReadErrorKind::Empty } else { ReadErrorKind::NoData };
                return Err(Fault::of_file(kind));
            }
            Some(b'\r' | b'\n') => cursor.pass_line_end(),
            Some(b'!') => {
                has_comments = true;
                cursor.pass_comment();
            }
            Some(b'#') if option.is_none() => option = Some(option_line(cursor)?),
            Some(b'#') => {
                warnings.push(later_option_line(cursor.line()));
                pass_ignored_line(cursor);
            }
            Some(b'[') => {
                let place = cursor.place();
                let version_2 = header.line_of(Keyword::Version).is_some();
                match bracketed(cursor)? {
                    Bracketed::Known(Keyword::NetworkData) if version_2 => {
                        header.meet(Keyword::NetworkData, place.0)?;
                        let option = option.ok_or(Fault::at(place, ReadErrorKind::NoOptionLine))?;
                        return Ok(Head { option, header });
                    }
                    Bracketed::Known(keyword) => header.accept(keyword, cursor)?,
                    Bracketed::Unknown(keyword) if version_2 => {
                        return Err(Fault::at(place, ReadErrorKind::KeywordUnknown { keyword }));
                    }
                    Bracketed::Unknown(keyword) if option.is_some() => {
                        return Err(Fault::at(place, ReadErrorKind::KeywordWithoutVersion { keyword }));
                    }
                    Bracketed::Unknown(keyword) => {
                        let word = format!("[{keyword}]");
                        return Err(Fault::at(place, ReadErrorKind::NotTouchstone { word }));
                    }
                }
            }
            Some(_) => {
                if header.line_of(Keyword::Version).is_some() {
                    let word = shown(cursor.peek_word());
                    return Err(cursor.fault(ReadErrorKind::TextOutsideKeyword { word }));
                }
                let option = option.ok_or_else(|| text_without_option_line(cursor))?;
                return Ok(Head { option, header });
            }
        }
    }
}

/// The fault of a file whose first words stand before any option line.
fn text_without_option_line(cursor: &Cursor) -> Fault {
    /// Longer than any number in use; what is longer is not worth reading as one.
    const LONGEST_NUMBER: usize = 400;
    let word = cursor.peek_word();
    let is_number = word.len() <= LONGEST_NUMBER && number(&mut Cursor::new(word)).is_ok();
    cursor.fault(if is_number {
        ReadErrorKind::NoOptionLine
    } else {
        ReadErrorKind::NotTouchstone { word: shown(word) }
    })
}

/// The number of ports of a version 2 file, whose keyword counts more than its name.
fn version_2_ports(
    header: &Header,
    by_name: Option<usize>,
    warnings: &mut Vec<Warning>,
) -> Result<usize, Fault> {
    let data_line = header.line_of(Keyword::NetworkData).unwrap_or(1);
    match (header.ports, by_name) {
        (Some(ports), Some(name)) if ports != name => {
            let line = header.line_of(Keyword::NumberOfPorts).unwrap_or(data_line);
            let message = format!("The file has {ports} ports, though its name says {name}.");
            warnings.push(Warning { line, message });
            Ok(ports)
        }
        (Some(ports), _) => Ok(ports),
        (None, Some(ports)) => {
            let message = format!("[Number of Ports] is missing; {ports} is taken from the file's name.");
            warnings.push(Warning { line: data_line, message });
            Ok(ports)
        }
        (None, None) => {
            let keyword = Keyword::NumberOfPorts.name();
            Err(Fault::on_line(data_line, ReadErrorKind::KeywordMissing { keyword }))
        }
    }
}

/// The resistance of each port: `[Reference]`, else the option line's.
fn reference_ohm(head: &Head, ports: usize) -> Result<Vec<f64>, Fault> {
    let (values, line) = match &head.header.reference_ohm {
        Some(values) => (values, head.header.line_of(Keyword::Reference).unwrap_or(1)),
        None if head.option.reference_ohm.len() == 1 => {
            return Ok(vec![head.option.reference_ohm[0]; ports]);
        }
        None => (&head.option.reference_ohm, head.option.line),
    };
    if values.len() == ports {
        Ok(values.clone())
    } else {
        Err(Fault::on_line(line, ReadErrorKind::ReferenceCount { found: values.len(), ports }))
    }
}

fn row_format(
    head: &Head,
    ports: usize,
    reference_ohm: &[f64],
    warnings: &mut Vec<Warning>,
) -> Result<RowFormat, Fault> {
    let Head { option, header } = head;
    let version_2 = header.line_of(Keyword::Version).is_some();
    let conversion = Conversion::new(option.parameter, reference_ohm, !version_2)
        .map_err(|kind| Fault::on_line(option.line, kind))?;
    if let Some(data_line) = header.line_of(Keyword::NetworkData) {
        let order_line = header.line_of(Keyword::TwoPortDataOrder);
        if ports == 2 && order_line.is_none() && header.matrix == MatrixFormat::Full {
            let message = "[Two-Port Data Order] is missing; 21_12 is assumed, as in version 1.".to_owned();
            warnings.push(Warning { line: data_line, message });
        }
        if let Some(line) = order_line.filter(|_| ports != 2) {
            let message = "[Two-Port Data Order] is ignored: the file has not two ports.".to_owned();
            warnings.push(Warning { line, message });
        }
        if header.frequencies.is_none() {
            let message =
                "[Number of Frequencies] is missing, so a file cut short cannot be told.".to_owned();
            warnings.push(Warning { line: data_line, message });
        }
    }
    Ok(RowFormat {
        ports,
        matrix: header.matrix,
        order_21_12: !header.order_12_21,
        noise_may_follow: !version_2 && ports == 2,
        unit_exponent: option.unit.exponent(),
        format: option.format,
        conversion,
    })
}

/// Reads what follows the rows of a version 1 file; returns the number of noise rows.
fn version_1_tail(cursor: &mut Cursor, after: After, warnings: &mut Vec<Warning>) -> Result<usize, Fault> {
    let count = if after == After::Noise { noise_rows(cursor, warnings)? } else { 0 };
    if cursor.peek() == Some(b'[') {
        let place = cursor.place();
        let keyword = match bracketed(cursor)? {
            Bracketed::Known(keyword) => keyword.name().to_owned(),
            Bracketed::Unknown(keyword) => keyword,
        };
        return Err(Fault::at(place, ReadErrorKind::KeywordWithoutVersion { keyword }));
    }
    Ok(count)
}

/// Reads what follows the rows of a version 2 file and holds the counts against what the file promised; returns the
/// number of noise rows.
fn version_2_tail(
    cursor: &mut Cursor,
    mut header: Header,
    rows: &Rows,
    warnings: &mut Vec<Warning>,
) -> Result<usize, Fault> {
    let found = rows.frequency_hz.len();
    if let Some(promised) = header.frequencies.filter(|&promised| promised != found) {
        let line = header.line_of(Keyword::NumberOfFrequencies).unwrap_or(1);
        return Err(Fault::on_line(line, ReadErrorKind::FrequencyCount { promised, found }));
    }
    let mut noise = 0;
    while cursor.peek() == Some(b'[') {
        let place = cursor.place();
        let keyword = match bracketed(cursor)? {
            Bracketed::Known(keyword) => keyword,
            Bracketed::Unknown(keyword) => {
                return Err(Fault::at(place, ReadErrorKind::KeywordUnknown { keyword }));
            }
        };
        header.meet(keyword, place.0)?;
        match keyword {
            Keyword::NoiseData => {
                let ports = rows.s.len().checked_div(found).unwrap_or(0).isqrt();
                if ports != 2 {
                    return Err(Fault::at(place, ReadErrorKind::NoisePorts { ports }));
                }
                noise = noise_rows(cursor, warnings)?;
            }
            Keyword::End => break,
            _ => {
                let keyword = keyword.name();
                return Err(Fault::at(place, ReadErrorKind::KeywordMisplaced { keyword }));
            }
        }
    }
    if let Some(promised) = header.noise_frequencies.filter(|&promised| promised != noise) {
        let line = header.line_of(Keyword::NumberOfNoiseFrequencies).unwrap_or(1);
        return Err(Fault::on_line(line, ReadErrorKind::NoiseCount { promised, found: noise }));
    }
    if header.line_of(Keyword::End).is_none() {
        let message = "[End] is missing at the end of the file.".to_owned();
        warnings.push(Warning { line: cursor.line(), message });
    }
    nothing_but_comments(cursor)?;
    Ok(noise)
}

fn nothing_but_comments(cursor: &mut Cursor) -> Result<(), Fault> {
    loop {
        match cursor.peek() {
            None => return Ok(()),
            Some(b'\r' | b'\n') => cursor.pass_line_end(),
            Some(b'!') => cursor.pass_comment(),
            Some(_) => return Err(cursor.fault(ReadErrorKind::AfterEnd)),
        }
    }
}
