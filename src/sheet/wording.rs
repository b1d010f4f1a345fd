//! How numbers, units, counts and lists are written for people. One rule for each, so that the same value reads
//! the same in a sentence, a margin note and a table.
//!
//! Rounding is for reading only: every figure travels beside its text with all its digits.

use crate::control::Quantity;
use crate::part::Unit;

/// Two significant digits, at least one and at most four decimals: 1.39962 is "1.4", 0.25 is "0.25", 0.0312 is
/// "0.031", 12.34 is "12.3". What rounds to zero is "0"; what is not a number is "unknown".
pub fn rounded(value: f64) -> String {
    if !value.is_finite() {
        return "unknown".to_owned();
    }
    if value.abs() < 0.000_05 {
        return "0".to_owned();
    }
    // The exponent after rounding to two digits, so that 0.998 counts as 1.0.
    let exponent: i32 = format!("{value:.1e}").rsplit('e').next().and_then(|e| e.parse().ok()).unwrap_or(0);
    let decimals = usize::try_from(1 - exponent).unwrap_or(1).clamp(1, 4);
    grouped(&format!("{value:.decimals$}"))
}

/// As [`rounded`], with a plus sign before what is above zero.
pub fn signed(value: f64) -> String {
    with_plus(rounded(value), value)
}

/// A value that somebody chose (a step, a setting, a limit) with up to four decimals and no trailing zeros:
/// −2.8125 is "−2.8125", −15.5 is "−15.5".
pub fn exact(value: f64) -> String {
    if value.is_finite() { grouped(&trimmed(&format!("{value:.4}"))) } else { "unknown".to_owned() }
}

/// A limit: in full where three decimals suffice (0.375 is "0.375"), else as [`rounded`] without trailing zeros
/// (1.40625 is "1.4").
pub fn limit(value: f64) -> String {
    let three = format!("{value:.3}");
    let in_full = three.parse::<f64>().is_ok_and(|read| (read - value).abs() <= 1e-9 * value.abs());
    if in_full { grouped(&trimmed(&three)) } else { trimmed(&rounded(value)) }
}

/// Percent with one decimal, none for whole numbers. What is not everything never reads "100 %", and what is not
/// nothing never reads "0 %".
pub fn percent(value: f64) -> String {
    if !value.is_finite() {
        return "unknown".to_owned();
    }
    let text = (1..=6)
        .map(|decimals| trimmed(&format!("{value:.decimals$}")))
        .find(|text| (text != "100" || value == 100.0) && (text != "0" || value == 0.0));
    format!("{} %", grouped(&text.unwrap_or_else(|| trimmed(&format!("{value:.0}")))))
}

/// A linear ratio such as a relative vector error, in percent: 0.0312 is "3.1 %".
pub fn ratio_percent(value: f64) -> String {
    format!("{} %", rounded(100.0 * value))
}

/// Decibels: "1.4 dB".
pub fn decibels(value: f64) -> String {
    format!("{} dB", rounded(value))
}

/// Degrees: "1.4°".
pub fn degrees(value: f64) -> String {
    format!("{}°", rounded(value))
}

/// How often: "5.3", "120", from two significant digits up.
pub fn times(value: f64) -> String {
    if value >= 9.95 { thousands_of(value.round()) } else { rounded(value) }
}

/// A whole number with thousands separators: "4,096".
pub fn whole(count: usize) -> String {
    grouped(&count.to_string())
}

/// A count with its noun: "1 word", "4,096 words".
pub fn counted(count: usize, one: &str, many: &str) -> String {
    format!("{} {}", whole(count), if count == 1 { one } else { many })
}

/// Bytes in decimal units: "218.6 MB".
pub fn bytes(count: u64) -> String {
    // Exact to 2^53 bytes; it is shown with one decimal.
    #[allow(clippy::cast_precision_loss)]
    let value = count as f64;
    match count {
        0..1_000 => counted(usize::try_from(count).unwrap_or(0), "byte", "bytes"),
        1_000..1_000_000 => format!("{:.1} kB", value / 1e3),
        1_000_000..1_000_000_000 => format!("{:.1} MB", value / 1e6),
        _ => format!("{:.1} GB", value / 1e9),
    }
}

/// A frequency in the unit that suits it, to 0.1 MHz for gigahertz: "10 GHz", "6.05 GHz", "500 MHz".
pub fn frequency(hertz: f64) -> String {
    let (scale, unit) = frequency_unit(hertz);
    format!("{} {unit}", exact(hertz / scale))
}

/// A value of a quantity: decibels of gain, degrees of phase.
pub fn in_quantity(quantity: Quantity, value: f64) -> String {
    match quantity {
        Quantity::Gain => decibels(value),
        Quantity::Phase => degrees(value),
    }
}

/// A figure of a part in its own unit.
pub fn in_unit(value: f64, unit: Unit) -> String {
    match unit {
        Unit::Decibel => decibels(value),
        Unit::Degree => degrees(value),
        Unit::Nanosecond | Unit::Step => format!("{} {}", rounded(value), unit.name()),
    }
}

/// An interpolated frequency to four significant digits, which is finer than any grid that it was interpolated on
/// deserves.
pub fn rounded_frequency(hertz: f64) -> f64 {
    format!("{hertz:.3e}").parse().unwrap_or(hertz)
}

/// "from 6 to 14 GHz", "from 500 MHz to 6 GHz"; one frequency is "at 10 GHz".
pub fn frequency_range(first_hz: f64, last_hz: f64) -> String {
    let (low, high) = (frequency_unit(first_hz), frequency_unit(last_hz));
    if first_hz == last_hz {
        format!("at {}", frequency(first_hz))
    } else if low.1 == high.1 {
        format!("from {} to {}", exact(first_hz / low.0), frequency(last_hz))
    } else {
        format!("from {} to {}", frequency(first_hz), frequency(last_hz))
    }
}

/// "3", "3 and 7", "3, 7 and 12".
pub fn joined(items: &[String]) -> String {
    match items {
        [] => String::new(),
        [only] => only.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

/// Names up to `shown` of the items and counts the rest: "word 17", "words 3, 7 and 12", "words 1, 2, 3 and 5 more".
pub fn named<T: std::fmt::Display>(one: &str, many: &str, items: &[T], shown: usize) -> String {
    let mut parts: Vec<String> = items.iter().take(shown).map(ToString::to_string).collect();
    if items.len() > shown {
        parts.push(format!("{} more", whole(items.len() - shown)));
    }
    format!("{} {}", if items.len() == 1 { one } else { many }, joined(&parts))
}

/// Text from outside (a file name, a reader's message) made fit for a sentence: control characters become spaces
/// and what is longer than `most` characters is cut with an ellipsis.
pub fn clipped(text: &str, most: usize) -> String {
    let mut characters = text.chars().map(|c| if c.is_control() { ' ' } else { c });
    let mut kept: String = characters.by_ref().take(most).collect();
    if characters.next().is_some() {
        kept.push('…');
    }
    kept
}

/// With a capital first and a full stop last, so that a phrase from elsewhere stands among sentences.
pub fn as_sentence(phrase: &str) -> String {
    let phrase = phrase.trim();
    let mut characters = phrase.chars();
    let first: String = characters.next().into_iter().flat_map(char::to_uppercase).collect();
    let stop = if phrase.ends_with(['.', '!', '?', '…']) { "" } else { "." };
    format!("{first}{}{stop}", characters.as_str())
}

fn frequency_unit(hertz: f64) -> (f64, &'static str) {
    match hertz.abs() {
        h if h >= 1e9 => (1e9, "GHz"),
        h if h >= 1e6 => (1e6, "MHz"),
        h if h >= 1e3 => (1e3, "kHz"),
        _ => (1.0, "Hz"),
    }
}

fn thousands_of(value: f64) -> String {
    if value.is_finite() { grouped(&format!("{value:.0}")) } else { "unknown".to_owned() }
}

fn with_plus(text: String, value: f64) -> String {
    if value > 0.0 && text != "0" { format!("+{text}") } else { text }
}

fn trimmed(text: &str) -> String {
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text.to_owned()
    }
}

/// Thousands separators before the decimal point and a true minus sign, none before a zero.
fn grouped(text: &str) -> String {
    let (negative, digits) = text.strip_prefix('-').map_or((false, text), |rest| (true, rest));
    let (integer, fraction) = digits.split_once('.').map_or((digits, ""), |(i, f)| (i, f));
    let is_zero = digits.bytes().all(|b| b == b'0' || b == b'.');
    let mut out = String::with_capacity(text.len() + 4);
    if negative && !is_zero {
        out.push('−');
    }
    for (position, digit) in integer.chars().enumerate() {
        if position > 0 && (integer.len() - position).is_multiple_of(3) {
            out.push(',');
        }
        out.push(digit);
    }
    if !fraction.is_empty() {
        out.push('.');
        out.push_str(fraction);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_keep_two_digits_and_one_to_four_decimals() {
        for (value, text) in [
            (1.39962, "1.4"),
            (0.25, "0.25"),
            (0.998, "1.0"),
            (0.0312, "0.031"),
            (0.00049, "0.0005"),
            (0.00001, "0"),
            (-0.00001, "0"),
            (-16.24, "−16.2"),
            (9.96, "10.0"),
            (12345.67, "12,345.7"),
            (f64::NAN, "unknown"),
            (f64::NEG_INFINITY, "unknown"),
        ] {
            assert_eq!(rounded(value), text);
        }
        assert_eq!([signed(0.6), signed(-0.6), signed(0.0)], ["+0.60", "−0.60", "0"]);
    }

    #[test]
    fn chosen_values_are_shown_as_chosen() {
        let texts = [-2.8125, -15.5, 90.0, 0.0, -0.0, -354.375].map(exact);
        assert_eq!(texts, ["−2.8125", "−15.5", "90", "0", "0", "−354.375"]);
        assert_eq!([0.25, 0.375, 1.406_25, 5.0, 2.812_5].map(limit), ["0.25", "0.375", "1.4", "5", "2.8"]);
    }

    #[test]
    fn a_share_reads_whole_only_when_it_is() {
        for (value, text) in [
            (100.0, "100 %"),
            (0.0, "0 %"),
            (12.0, "12 %"),
            (99.1, "99.1 %"),
            // 4,095 of 4,096 and 1 of 4,096.
            (99.975_585_937_5, "99.98 %"),
            (0.024_414_062_5, "0.02 %"),
            // 1 of 65,536.
            (0.001_525_878_906_25, "0.002 %"),
            (f64::NAN, "unknown"),
        ] {
            assert_eq!(percent(value), text, "{value}");
        }
    }

    #[test]
    fn frequencies_take_the_unit_that_suits() {
        assert_eq!(
            [10e9, 6.05e9, 5e8, 1.5e5, 20.0].map(frequency),
            ["10 GHz", "6.05 GHz", "500 MHz", "150 kHz", "20 Hz"]
        );
        assert_eq!(frequency_range(6e9, 14e9), "from 6 to 14 GHz");
        assert_eq!(frequency_range(5e8, 6e9), "from 500 MHz to 6 GHz");
        assert_eq!(frequency_range(1e10, 1e10), "at 10 GHz");
    }

    #[test]
    fn counts_agree_with_their_nouns() {
        assert_eq!(counted(1, "word", "words"), "1 word");
        assert_eq!(counted(0, "word", "words"), "0 words");
        assert_eq!(counted(1_234_567, "word", "words"), "1,234,567 words");
        assert_eq!(bytes(1), "1 byte");
        assert_eq!(bytes(218_600_000), "218.6 MB");
        assert_eq!([5.31, 9.96, 120.4, 1234.0].map(times), ["5.3", "10", "120", "1,234"]);
    }

    #[test]
    fn lists_name_some_and_count_the_rest() {
        assert_eq!(named("word", "words", &[17], 3), "word 17");
        assert_eq!(named("word", "words", &[3, 7, 12], 3), "words 3, 7 and 12");
        assert_eq!(named("word", "words", &[1, 2, 3, 4, 5, 6, 7, 8], 3), "words 1, 2, 3 and 5 more");
        assert_eq!(joined(&[]), "");
    }

    #[test]
    fn text_from_outside_stays_on_one_line_and_short() {
        assert_eq!(clipped("a\nb\tc", 10), "a b c");
        assert_eq!(clipped("abcdef", 3), "abc…");
        assert_eq!(clipped("äöü", 3), "äöü");
        assert_eq!(
            ["bits 3 and 4 do nothing", "It is so."].map(as_sentence),
            ["Bits 3 and 4 do nothing.", "It is so."]
        );
    }
}
