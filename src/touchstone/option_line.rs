//! The option line: unit, parameter, number format and reference resistance.

use super::cursor::{Cursor, shown};
use super::error::{Fault, ReadErrorKind};
use num_complex::Complex64;

/// Unit of the frequencies in a file.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum FrequencyUnit {
    /// Hertz.
    Hertz,
    /// 10³ Hz.
    Kilohertz,
    /// 10⁶ Hz.
    Megahertz,
    /// 10⁹ Hz, the standard's default.
    #[default]
    Gigahertz,
}

impl FrequencyUnit {
    /// Power of ten that turns this unit into hertz.
    pub fn exponent(self) -> i32 {
        match self {
            Self::Hertz => 0,
            Self::Kilohertz => 3,
            Self::Megahertz => 6,
            Self::Gigahertz => 9,
        }
    }

    /// As the option line has it.
    pub fn keyword(self) -> &'static str {
        match self {
            Self::Hertz => "Hz",
            Self::Kilohertz => "kHz",
            Self::Megahertz => "MHz",
            Self::Gigahertz => "GHz",
        }
    }
}

/// Kind of network parameters in a file.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Parameter {
    /// S, the standard's default.
    #[default]
    Scattering,
    /// Y.
    Admittance,
    /// Z.
    Impedance,
    /// H.
    HybridH,
    /// G.
    HybridG,
}

impl Parameter {
    /// As the option line has it.
    pub fn letter(self) -> char {
        match self {
            Self::Scattering => 'S',
            Self::Admittance => 'Y',
            Self::Impedance => 'Z',
            Self::HybridH => 'H',
            Self::HybridG => 'G',
        }
    }
}

/// How a file writes a complex number as two.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum NumberFormat {
    /// Real and imaginary part.
    RealImaginary,
    /// Linear magnitude and angle in degrees, the standard's default.
    #[default]
    MagnitudeAngle,
    /// 20·log10 of the magnitude and angle in degrees.
    DecibelAngle,
}

impl NumberFormat {
    /// As the option line has it.
    pub fn keyword(self) -> &'static str {
        match self {
            Self::RealImaginary => "RI",
            Self::MagnitudeAngle => "MA",
            Self::DecibelAngle => "DB",
        }
    }

    /// The complex number that a pair means.
    #[inline]
    pub(super) fn complex(self, first: f64, second: f64) -> Complex64 {
        match self {
            Self::RealImaginary => Complex64::new(first, second),
            Self::MagnitudeAngle => Complex64::from_polar(first, second.to_radians()),
            Self::DecibelAngle => Complex64::from_polar(10_f64.powf(first / 20.0), second.to_radians()),
        }
    }
}

/// What an option line says, defaults put in.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct OptionLine {
    pub(super) unit: FrequencyUnit,
    pub(super) parameter: Parameter,
    pub(super) format: NumberFormat,
    /// One for all ports, or one for each.
    pub(super) reference_ohm: Vec<f64>,
    pub(super) line: usize,
}

/// Reads the option line at the cursor, which stands on its `#`, up to its end.
pub(super) fn option_line(cursor: &mut Cursor) -> Result<OptionLine, Fault> {
    let line = cursor.line();
    cursor.pass(1);
    let (mut unit, mut parameter, mut format) = (None, None, None);
    let mut reference_ohm: Option<Vec<f64>> = None;
    loop {
        cursor.peek();
        let place = cursor.place();
        let Some(word) = cursor.word_in_line() else { break };
        let upper = word[..word.len().min(8)].to_ascii_uppercase();
        let twice = match upper.as_slice() {
            b"HZ" => unit.replace(FrequencyUnit::Hertz).map(|_| "unit"),
            b"KHZ" => unit.replace(FrequencyUnit::Kilohertz).map(|_| "unit"),
            b"MHZ" => unit.replace(FrequencyUnit::Megahertz).map(|_| "unit"),
            b"GHZ" => unit.replace(FrequencyUnit::Gigahertz).map(|_| "unit"),
            b"S" => parameter.replace(Parameter::Scattering).map(|_| "parameter"),
            b"Y" => parameter.replace(Parameter::Admittance).map(|_| "parameter"),
            b"Z" => parameter.replace(Parameter::Impedance).map(|_| "parameter"),
            b"H" => parameter.replace(Parameter::HybridH).map(|_| "parameter"),
            b"G" => parameter.replace(Parameter::HybridG).map(|_| "parameter"),
            b"RI" => format.replace(NumberFormat::RealImaginary).map(|_| "format"),
            b"MA" => format.replace(NumberFormat::MagnitudeAngle).map(|_| "format"),
            b"DB" => format.replace(NumberFormat::DecibelAngle).map(|_| "format"),
            b"R" => {
                let values = resistances(cursor)?;
                if values.is_empty() {
                    return Err(Fault::at(place, ReadErrorKind::ReferenceMissing));
                }
                reference_ohm.replace(values).map(|_| "reference")
            }
            _ => return Err(Fault::at(place, ReadErrorKind::OptionUnknown { word: shown(word) })),
        };
        if let Some(what) = twice {
            return Err(Fault::at(place, ReadErrorKind::OptionTwice { what }));
        }
    }
    Ok(OptionLine {
        unit: unit.unwrap_or_default(),
        parameter: parameter.unwrap_or_default(),
        format: format.unwrap_or_default(),
        reference_ohm: reference_ohm.unwrap_or_else(|| vec![50.0]),
        line,
    })
}

/// The resistances at the cursor, up to the first word that is none or the end of the line.
pub(super) fn resistances(cursor: &mut Cursor) -> Result<Vec<f64>, Fault> {
    let mut values = Vec::new();
    while let Some(byte) = cursor.peek() {
        // A letter begins the next option; "inf" and "nan" are no options, and no resistances.
        let word = cursor.peek_word();
        let is_option = byte.is_ascii_alphabetic() && !matches!(byte | 0x20, b'i' | b'n');
        if word.is_empty() || is_option {
            break;
        }
        values.push(resistance(word).map_err(|kind| cursor.fault(kind))?);
        cursor.pass(word.len());
    }
    Ok(values)
}

/// One resistance in ohms: positive, real, finite.
fn resistance(word: &[u8]) -> Result<f64, ReadErrorKind> {
    let is_complex = word.iter().any(|byte| matches!(byte, b'(' | b')' | b'j' | b'J'))
        || word.len() > 1 && matches!(word.last(), Some(b'i' | b'I'));
    if is_complex {
        return Err(ReadErrorKind::ReferenceComplex { word: shown(word) });
    }
    let value: Option<f64> = std::str::from_utf8(word).ok().and_then(|text| text.parse().ok());
    match value {
        Some(ohm) if ohm > 0.0 && ohm.is_finite() => Ok(ohm),
        _ => Err(ReadErrorKind::ReferenceNotPositive { word: shown(word) }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> Result<OptionLine, ReadErrorKind> {
        option_line(&mut Cursor::new(text.as_bytes())).map_err(|fault| fault.kind)
    }

    fn line(unit: FrequencyUnit, parameter: Parameter, format: NumberFormat, ohm: &[f64]) -> OptionLine {
        OptionLine { unit, parameter, format, reference_ohm: ohm.to_vec(), line: 1 }
    }

    /// Touchstone 2.1, "Option Line Examples".
    #[test]
    fn the_standards_option_lines() {
        use FrequencyUnit::{Gigahertz, Hertz, Kilohertz, Megahertz};
        use NumberFormat::{DecibelAngle, MagnitudeAngle, RealImaginary};
        use Parameter::{Admittance, HybridG, HybridH, Impedance, Scattering};
        for (text, expected) in [
            ("#", line(Gigahertz, Scattering, MagnitudeAngle, &[50.0])),
            ("# GHz S RI R 100", line(Gigahertz, Scattering, RealImaginary, &[100.0])),
            ("# S R 100 GHz RI", line(Gigahertz, Scattering, RealImaginary, &[100.0])),
            ("# kHz Y RI R 100", line(Kilohertz, Admittance, RealImaginary, &[100.0])),
            ("# Hz Z MA R 10", line(Hertz, Impedance, MagnitudeAngle, &[10.0])),
            ("# kHz H RI R 1", line(Kilohertz, HybridH, RealImaginary, &[1.0])),
            ("# MHz G DB R 1", line(Megahertz, HybridG, DecibelAngle, &[1.0])),
            ("# S GHz RI R 0.1 75.0", line(Gigahertz, Scattering, RealImaginary, &[0.1, 75.0])),
        ] {
            assert_eq!(read(text), Ok(expected), "{text}");
        }
    }

    #[test]
    fn case_tabs_and_missing_blanks_do_not_matter() {
        let expected =
            line(FrequencyUnit::Megahertz, Parameter::Scattering, NumberFormat::DecibelAngle, &[75.0]);
        for text in
            ["#mhz s db r 75", "#MHZ\tS\tDB\tR\t75\t", "# r 75.0 dB Mhz !note", "#  S R +7.5e1 MHz DB\n"]
        {
            assert_eq!(read(text), Ok(expected.clone()), "{text}");
        }
    }

    #[test]
    fn what_the_standard_does_not_allow_is_refused() {
        use ReadErrorKind as Kind;
        let complex = |word: &str| Kind::ReferenceComplex { word: word.to_owned() };
        let not_positive = |word: &str| Kind::ReferenceNotPositive { word: word.to_owned() };
        for (text, kind) in [
            ("# GHz S RI R (50+50j)", complex("(50+50j)")),
            ("# GHz S RI R 50+50j", complex("50+50j")),
            ("# GHz S RI R ( 50 + 50j )", complex("(")),
            ("# GHz S RI R 50 0i", complex("0i")),
            ("# GHz S RI R 0", not_positive("0")),
            ("# GHz S RI R -50", not_positive("-50")),
            ("# GHz S RI R inf", not_positive("inf")),
            ("# GHz S RI R nan", not_positive("nan")),
            ("# GHz S RI R 50,0", not_positive("50,0")),
            ("# GHz S RI R", Kind::ReferenceMissing),
            ("# R GHz S RI", Kind::ReferenceMissing),
            ("# THz S RI R 50", Kind::OptionUnknown { word: "THz".into() }),
            ("# GHz S RI 50", Kind::OptionUnknown { word: "50".into() }),
            ("# Hz GHz S", Kind::OptionTwice { what: "unit" }),
            ("# S S", Kind::OptionTwice { what: "parameter" }),
            ("# MA RI", Kind::OptionTwice { what: "format" }),
            ("# R 50 S R 50", Kind::OptionTwice { what: "reference" }),
        ] {
            assert_eq!(read(text), Err(kind), "{text}");
        }
    }
}
