//! Decimal numbers as text.

use std::io::Write;

/// Appends the shortest decimal that reads back to the same double: plain where that is short, else with an
/// exponent. `value` is finite.
pub(super) fn push_shortest(text: &mut Vec<u8>, value: f64) {
    let magnitude = value.abs();
    let plain = magnitude == 0.0 || (1e-4..1e15).contains(&magnitude);
    // Writing to a vector cannot fail.
    let _ = if plain { write!(text, "{value}") } else { write!(text, "{value:e}") };
}

/// Appends the shortest decimal that gives `value` once its exponent is raised by `exponent`: 1.1e9 with 9 is "1.1".
pub(super) fn push_shortest_divided(text: &mut Vec<u8>, value: f64, exponent: i32) {
    let scientific = format!("{value:e}");
    let (mantissa, own) = scientific.split_once('e').unwrap_or((&scientific, "0"));
    let point = own.parse::<i32>().unwrap_or(0) - exponent;
    let (sign, mantissa) = mantissa.strip_prefix('-').map_or(("", mantissa), |rest| ("-", rest));
    let digits: String = mantissa.chars().filter(|&character| character != '.').collect();
    // Digits before the decimal point.
    let whole = usize::try_from(point + 1).unwrap_or(0);
    let _ = match whole {
        _ if value == 0.0 => write!(text, "{sign}0"),
        _ if !(-5..15).contains(&point) => write!(text, "{sign}{mantissa}e{point}"),
        0 => write!(
            text,
            "{sign}0.{:0>width$}",
            digits,
            width = digits.len() + usize::try_from(-point - 1).unwrap_or(0)
        ),
        whole if whole >= digits.len() => write!(text, "{sign}{digits:0<whole$}"),
        whole => write!(text, "{sign}{}.{}", &digits[..whole], &digits[whole..]),
    };
}

/// Most significant digits that [`push_scientific`] writes.
pub(super) const MOST_DIGITS: u8 = 17;

/// Appends `value` with a fixed number of significant digits as bench analysers write it: `-1.2346E-01`.
///
/// `digits` is 1 to [`MOST_DIGITS`]; `value` is finite. Up to 15 digits the last one may be rounded the other way where the decimal lies
/// within 1e-16 of the middle.
pub(super) fn push_scientific(text: &mut Vec<u8>, value: f64, digits: u8) {
    let digits = digits.clamp(1, MOST_DIGITS);
    let magnitude = value.abs();
    if digits > 15 || magnitude != 0.0 && !(1e-280..1e280).contains(&magnitude) {
        push_scientific_exactly(text, value, digits);
        return;
    }
    let (mut scaled, mut exponent) = (0_u64, 0_i32);
    if magnitude != 0.0 {
        #[expect(clippy::cast_possible_truncation, reason = "a decimal exponent has three digits")]
        let estimate = magnitude.log10().floor() as i32;
        exponent = estimate;
        scaled = rounded(magnitude, i32::from(digits) - 1 - exponent);
        let (least, most) = (10_u64.pow(u32::from(digits) - 1), 10_u64.pow(u32::from(digits)));
        if scaled >= most {
            exponent += 1;
            scaled = rounded(magnitude, i32::from(digits) - 1 - exponent).max(least);
        } else if scaled < least {
            exponent -= 1;
            scaled = rounded(magnitude, i32::from(digits) - 1 - exponent).min(most - 1);
        }
    }
    if value.is_sign_negative() {
        text.push(b'-');
    }
    let mut figures = [b'0'; 20];
    for figure in figures[..usize::from(digits)].iter_mut().rev() {
        *figure = b'0' + (scaled % 10) as u8;
        scaled /= 10;
    }
    text.push(figures[0]);
    if digits > 1 {
        text.push(b'.');
        text.extend_from_slice(&figures[1..usize::from(digits)]);
    }
    push_exponent(text, exponent);
}

/// `magnitude`·10^`power` as a whole number.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "the product is positive and below 1e16"
)]
fn rounded(magnitude: f64, power: i32) -> u64 {
    let product = if power >= 0 { magnitude * 10_f64.powi(power) } else { magnitude / 10_f64.powi(-power) };
    product.round() as u64
}

fn push_scientific_exactly(text: &mut Vec<u8>, value: f64, digits: u8) {
    let scientific = format!("{value:.*e}", usize::from(digits) - 1);
    let (mantissa, exponent) = scientific.split_once('e').unwrap_or((&scientific, "0"));
    text.extend_from_slice(mantissa.as_bytes());
    push_exponent(text, exponent.parse().unwrap_or(0));
}

fn push_exponent(text: &mut Vec<u8>, exponent: i32) {
    text.extend_from_slice(if exponent < 0 { b"E-" } else { b"E+" });
    let size = exponent.unsigned_abs();
    for unit in [100, 10, 1] {
        if unit < 100 || size >= 100 {
            text.push(b'0' + (size / unit % 10) as u8);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn written(push: impl Fn(&mut Vec<u8>)) -> String {
        let mut text = Vec::new();
        push(&mut text);
        String::from_utf8(text).unwrap()
    }

    #[test]
    fn the_shortest_decimal() {
        for (value, text) in [
            (0.0, "0"),
            (-0.0, "-0"),
            (0.1, "0.1"),
            (-53.467_875, "-53.467875"),
            (1e-5, "1e-5"),
            (1.5e300, "1.5e300"),
            (5e9, "5000000000"),
        ] {
            assert_eq!(written(|to| push_shortest(to, value)), text);
        }
    }

    #[test]
    fn the_shortest_decimal_in_another_unit() {
        for (value, exponent, text) in [
            (1.1e9, 9, "1.1"),
            (5.005_05e9, 9, "5.00505"),
            (4_995_000_000.0, 6, "4995"),
            (1e9, 6, "1000"),
            (2.0, 9, "2e-9"),
            (300.0, 6, "0.0003"),
            (123_456.0, 6, "0.123456"),
            (0.0, 9, "0"),
            (1e30, 9, "1e21"),
        ] {
            assert_eq!(written(|to| push_shortest_divided(to, value, exponent)), text);
        }
    }

    #[test]
    fn a_fixed_number_of_digits() {
        for (value, digits, text) in [
            (0.123_456_78, 5, "1.2346E-01"),
            (-0.123_456_78, 5, "-1.2346E-01"),
            (0.0, 4, "0.000E+00"),
            (9.999_96, 5, "1.0000E+01"),
            (9.999_94, 5, "9.9999E+00"),
            (1000.0, 3, "1.00E+03"),
            (0.001, 9, "1.00000000E-03"),
            (7.0, 1, "7E+00"),
            (1.5e-300, 3, "1.50E-300"),
            (0.1, 17, "1.0000000000000001E-01"),
        ] {
            assert_eq!(written(|to| push_scientific(to, value, digits)), text);
        }
    }

    /// Against the standard library's exact rounding: equal, or one unit of the last digit off.
    #[test]
    fn a_fixed_number_of_digits_is_right_over_all_magnitudes() {
        let mut value = 1.234_567_890_123e-279_f64;
        while value < 1e279 {
            for digits in [3, 9, 15] {
                let text = written(|to| push_scientific(to, value, digits));
                let back: f64 = text.parse().unwrap();
                let limit = 0.500_001 * 10_f64.powi(1 - i32::from(digits));
                assert!(((back - value) / value).abs() <= limit + 1e-14, "{value:e} {text}");
            }
            value *= 1.37;
        }
    }
}
