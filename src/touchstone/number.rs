//! One number of a file: what is accepted, and what is wrong with what is not.

use super::cursor::{Cursor, ends_word, shown};
use super::error::{Fault, ReadErrorKind};

/// The number at the cursor, which is passed. It has to be finite and to end with its word.
#[inline]
pub(super) fn number(cursor: &mut Cursor) -> Result<f64, Fault> {
    let rest = cursor.rest();
    if let Some((value, length)) = decimal_prefix(rest)
        && rest.get(length).is_none_or(|&byte| ends_word(byte))
    {
        cursor.pass(length);
        return Ok(value);
    }
    Err(fault(cursor))
}

/// The number at the cursor times ten to the power `exponent`, rounded once: 1.1 in GHz is 1 100 000 000 Hz
/// exactly, whatever unit the file uses.
pub(super) fn number_times_power_of_ten(cursor: &mut Cursor, exponent: i32) -> Result<f64, Fault> {
    if exponent == 0 {
        return number(cursor);
    }
    let word = cursor.peek_word();
    if let Some(value) = shifted(word, exponent) {
        cursor.pass(word.len());
        return Ok(value);
    }
    // Rare: hundreds of digits, or no number at all.
    let place = cursor.place();
    let value = number(cursor)? * 10_f64.powi(exponent);
    if value.is_finite() {
        Ok(value)
    } else {
        Err(Fault::at(place, ReadErrorKind::NumberTooLarge { word: shown(word) }))
    }
}

/// `word` read as a number with `exponent` added to its own.
fn shifted(word: &[u8], exponent: i32) -> Option<f64> {
    const LONGEST: usize = 48;
    if word.len() > LONGEST {
        return None;
    }
    let mark = word.iter().position(|byte| matches!(byte, b'e' | b'E')).unwrap_or(word.len());
    let own = match word.get(mark + 1..) {
        None => 0,
        Some(digits) => std::str::from_utf8(digits).ok()?.parse::<i32>().ok()?,
    };
    let mut text = [0_u8; LONGEST + 12];
    text[..mark].copy_from_slice(&word[..mark]);
    text[mark] = b'e';
    let total = own.checked_add(exponent)?;
    let mut length = mark + 1;
    if total < 0 {
        text[length] = b'-';
        length += 1;
    }
    let mut digits = [0_u8; 10];
    let mut count = 0;
    let mut left = total.unsigned_abs();
    loop {
        digits[count] = b'0' + u8::try_from(left % 10).ok()?;
        count += 1;
        left /= 10;
        if left == 0 {
            break;
        }
    }
    for &digit in digits[..count].iter().rev() {
        text[length] = digit;
        length += 1;
    }
    decimal_prefix(&text[..length]).and_then(|(value, read)| (read == length).then_some(value))
}

/// The longest finite decimal number that `text` begins with, and its length.
#[inline]
fn decimal_prefix(text: &[u8]) -> Option<(f64, usize)> {
    let (plus, digits) = match text {
        [b'+', digits @ ..] => (1, digits),
        _ => (0, text),
    };
    // The library takes "nan" and "inf" for numbers, and a second sign after the plus.
    match digits {
        [b'0'..=b'9' | b'.', ..] => {}
        [b'-', b'0'..=b'9' | b'.', ..] if plus == 0 => {}
        _ => return None,
    }
    let (value, length) = fast_float2::parse_partial::<f64, _>(digits).ok()?;
    value.is_finite().then_some((value, length + plus))
}

/// What is wrong with the word at the cursor.
#[cold]
fn fault(cursor: &Cursor) -> Fault {
    let word = cursor.peek_word();
    let ends_file = word.len() == cursor.rest().len();
    let text = shown(word);
    let bare =
        word.strip_prefix(b"-").or(word.strip_prefix(b"+")).unwrap_or(word).to_ascii_lowercase_prefix();
    let starts_with_digits = bare.first().is_some_and(u8::is_ascii_digit);
    let kind = if bare.starts_with(b"nan") || bare.starts_with(b"inf") || bare.starts_with(b"1.#") {
        ReadErrorKind::NumberNotFinite { word: text }
    } else if ends_file && is_cut_number(word) {
        ReadErrorKind::CutNumber { word: text }
    } else if starts_with_digits && bare.contains(&b',') {
        ReadErrorKind::DecimalComma { word: text }
    } else if starts_with_digits && bare.contains(&b'd') {
        ReadErrorKind::ExponentLetter { word: text }
    } else if starts_with_digits && decimal_length(&bare) == Some(bare.len()) {
        ReadErrorKind::NumberTooLarge { word: text }
    } else {
        ReadErrorKind::NotANumber { word: text }
    };
    cursor.fault(kind)
}

/// The beginning of a word in lower case: enough to tell what it is.
trait LowerPrefix {
    fn to_ascii_lowercase_prefix(&self) -> Vec<u8>;
}

impl LowerPrefix for [u8] {
    fn to_ascii_lowercase_prefix(&self) -> Vec<u8> {
        self[..self.len().min(64)].to_ascii_lowercase()
    }
}

/// Length of the number that `text` begins with, finite or not.
fn decimal_length(text: &[u8]) -> Option<usize> {
    fast_float2::parse_partial::<f64, _>(text).ok().map(|(_, length)| length)
}

/// A number that lost its end: a bare sign, point or exponent mark.
fn is_cut_number(word: &[u8]) -> bool {
    word.len() <= 64
        && word.iter().all(|byte| matches!(byte, b'0'..=b'9' | b'+' | b'-' | b'.' | b'e' | b'E'))
        && !word.last().is_some_and(u8::is_ascii_digit)
        && decimal_prefix(&[word, b"0"].concat()).is_some_and(|(_, length)| length == word.len() + 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> Result<f64, ReadErrorKind> {
        let mut cursor = Cursor::new(text.as_bytes());
        number(&mut cursor).map_err(|fault| fault.kind)
    }

    #[test]
    fn the_ways_of_writing_a_number_are_read() {
        for (text, value) in [
            ("0", 0.0),
            ("5", 5.0),
            ("5.", 5.0),
            (".5", 0.5),
            ("-.5", -0.5),
            ("+1.2E-001", 0.12),
            ("1e-005", 1e-5),
            ("1E+3", 1000.0),
            ("-12.136!", -12.136),
            ("7\t", 7.0),
            ("1e-400", 0.0),
        ] {
            assert_eq!(read(text), Ok(value), "{text}");
        }
    }

    #[test]
    fn whatever_else_looks_like_one_is_refused() {
        use ReadErrorKind as Kind;
        type Make = fn(String) -> Kind;
        let cases: [(&str, Make); 20] = [
            ("nan", |word| Kind::NumberNotFinite { word }),
            ("NaN", |word| Kind::NumberNotFinite { word }),
            ("-inf", |word| Kind::NumberNotFinite { word }),
            ("+Infinity", |word| Kind::NumberNotFinite { word }),
            ("1.#QNAN", |word| Kind::NumberNotFinite { word }),
            ("1D-1", |word| Kind::ExponentLetter { word }),
            ("-1.5d3", |word| Kind::ExponentLetter { word }),
            ("1,5", |word| Kind::DecimalComma { word }),
            ("-0,25", |word| Kind::DecimalComma { word }),
            ("1.2.3", |word| Kind::NotANumber { word }),
            ("1e5x", |word| Kind::NotANumber { word }),
            ("0x10", |word| Kind::NotANumber { word }),
            ("--1", |word| Kind::NotANumber { word }),
            ("+-1", |word| Kind::NotANumber { word }),
            ("abc", |word| Kind::NotANumber { word }),
            ("1e999", |word| Kind::NumberTooLarge { word }),
            ("-", |word| Kind::CutNumber { word }),
            ("1.5e", |word| Kind::CutNumber { word }),
            ("1.5E-", |word| Kind::CutNumber { word }),
            (".", |word| Kind::CutNumber { word }),
        ];
        for (text, kind) in cases {
            assert_eq!(read(text), Err(kind(text.to_owned())), "{text}");
        }
        assert!(matches!(read("1.5e 3"), Err(Kind::NotANumber { .. })));
    }

    /// The exact product of the decimal and the power, rounded once, as the standard library reads it.
    #[test]
    fn a_shifted_number_is_rounded_once() {
        for (text, exponent, value) in [
            ("1.1", 9, 1.1e9),
            ("0.3", 9, 3e8),
            ("5.00505", 9, 5.00505e9),
            ("2.5e+3", 6, 2.5e9),
            ("2.5E-003", 3, 2.5),
            ("+7", 6, 7e6),
            ("1e-20", 9, 1e-11),
            ("0", 9, 0.0),
        ] {
            let mut cursor = Cursor::new(text.as_bytes());
            assert_eq!(number_times_power_of_ten(&mut cursor, exponent).ok(), Some(value), "{text}");
            assert_eq!(cursor.peek(), None);
        }
    }

    #[test]
    fn a_shifted_number_is_checked_like_any_other() {
        for text in ["1,5", "1D3", "nan", "1e", "x", "1e308", "1e5e5", "1e99999999999"] {
            assert!(number_times_power_of_ten(&mut Cursor::new(text.as_bytes()), 9).is_err(), "{text}");
        }
        let long = format!("1.{}", "0".repeat(300));
        assert_eq!(number_times_power_of_ten(&mut Cursor::new(long.as_bytes()), 9).ok(), Some(1e9));
    }
}
