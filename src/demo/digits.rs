//! Numbers to digits, fast: a fixed number of decimals, as analysers write them.

use num_complex::Complex64;

/// Unit of the frequencies of a file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unit {
    /// Hertz.
    Hz,
    /// Kilohertz.
    KHz,
    /// Megahertz.
    MHz,
    /// Gigahertz.
    GHz,
}

impl Unit {
    /// The name in a Touchstone option line.
    pub fn name(self) -> &'static str {
        match self {
            Self::Hz => "Hz",
            Self::KHz => "kHz",
            Self::MHz => "MHz",
            Self::GHz => "GHz",
        }
    }

    /// A whole number of hertz in this unit, none of its digits lost.
    pub fn digits(self, frequency_hz: u64) -> String {
        let (per_unit, decimals) = match self {
            Self::Hz => return frequency_hz.to_string(),
            Self::KHz => (1_000, 3),
            Self::MHz => (1_000_000, 6),
            Self::GHz => (1_000_000_000, 9),
        };
        format!("{}.{:0decimals$}", frequency_hz / per_unit, frequency_hz % per_unit)
    }
}

/// How a complex value is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    /// Real and imaginary part.
    RealImaginary,
    /// Magnitude and degrees.
    MagnitudeAngle,
    /// Decibels and degrees.
    DecibelAngle,
}

impl Form {
    /// The name in a Touchstone option line.
    pub fn name(self) -> &'static str {
        match self {
            Self::RealImaginary => "RI",
            Self::MagnitudeAngle => "MA",
            Self::DecibelAngle => "DB",
        }
    }

    /// Appends a value, each of its two numbers with a blank before it.
    pub fn write(self, value: Complex64, into: &mut Vec<u8>) {
        match self {
            Self::RealImaginary => {
                write_fixed::<7>(value.re, into);
                write_fixed::<7>(value.im, into);
            }
            Self::MagnitudeAngle => {
                write_fixed::<7>(value.norm(), into);
                write_fixed::<5>(value.arg().to_degrees(), into);
            }
            Self::DecibelAngle => {
                // A value of zero has no decibels; this floor is far below any noise.
                write_fixed::<6>(20.0 * value.norm().max(1e-12).log10(), into);
                write_fixed::<5>(value.arg().to_degrees(), into);
            }
        }
    }
}

/// Appends a blank and `value`, rounded to `DECIMALS` decimals.
///
/// The value is scaled to a whole number once and its digits are peeled off that, which takes a few nanoseconds
/// where formatting takes a hundred; a run of 4,096 files holds five million numbers. Magnitudes must stay below 10¹¹.
fn write_fixed<const DECIMALS: u32>(value: f64, into: &mut Vec<u8>) {
    const WIDTH: usize = 24;
    let scale = const { 10_u64.pow(DECIMALS) as f64 };
    let scaled = (value * scale).round();
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "rounded, not negative, bounded"
    )]
    let mut rest = scaled.abs() as u64;
    let mut digits = [b' '; WIDTH];
    let mut at = WIDTH;
    for place in 0.. {
        if place == DECIMALS {
            at -= 1;
            digits[at] = b'.';
        }
        if place > DECIMALS && rest == 0 {
            break;
        }
        at -= 1;
        let digit = (rest % 10) as u8;
        digits[at] = b'0' + digit;
        rest /= 10;
    }
    if scaled < 0.0 {
        at -= 1;
        digits[at] = b'-';
    }
    into.extend_from_slice(&digits[at - 1..]);
}

#[cfg(test)]
mod tests {
    use super::*;

    fn seven(value: f64) -> String {
        let mut bytes = Vec::new();
        write_fixed::<7>(value, &mut bytes);
        String::from_utf8(bytes).unwrap()
    }

    /// The standard library's formatting is the reference. It rounds exact ties to even, so none is tried.
    #[test]
    fn digits_agree_with_the_standard_library() {
        for value in [0.0, 1.0, -1.0, 0.123_456_78, -0.000_000_1, 9.999_999_96, -12_345.678_901_2, 1e-9, 3e10]
        {
            assert_eq!(seven(value), format!(" {value:.7}"));
        }
        // A value that rounds to zero loses its sign, as in most instruments' files.
        assert_eq!(seven(-1e-9), " 0.0000000");
    }

    #[test]
    fn forms_of_one_value() {
        let written = |form: Form| {
            let mut bytes = Vec::new();
            form.write(Complex64::new(0.0, -0.1), &mut bytes);
            String::from_utf8(bytes).unwrap()
        };
        assert_eq!(written(Form::RealImaginary), " 0.0000000 -0.1000000");
        assert_eq!(written(Form::MagnitudeAngle), " 0.1000000 -90.00000");
        assert_eq!(written(Form::DecibelAngle), " -20.000000 -90.00000");
    }

    #[test]
    fn units_keep_every_hertz() {
        assert_eq!(Unit::Hz.digits(6_050_000_001), "6050000001");
        assert_eq!(Unit::KHz.digits(6_050_000_001), "6050000.001");
        assert_eq!(Unit::MHz.digits(6_050_000_001), "6050.000001");
        assert_eq!(Unit::GHz.digits(6_050_000_001), "6.050000001");
    }
}
