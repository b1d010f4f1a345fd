//! How numbers, units, counts and lists are written for people. One rule for each, so that the same value reads
//! the same in a sentence, a margin note and a table.
//!
//! Rounding is for reading only: every figure travels beside its text with all its digits.

use crate::control::Quantity;
use crate::part::Unit;
use crate::plane::wrap_deg;

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

/// A range of measured values, both ends with as many decimals, at most two where they differ: "−15.40 to +0.10".
pub fn signed_range(low: f64, high: f64) -> String {
    let decimals = |text: &str| text.split_once('.').map_or(0, |(_, all)| all.len());
    let (plain_low, plain_high) = (signed(low), signed(high));
    let (of_low, of_high) = (decimals(&plain_low), decimals(&plain_high));
    if of_low == of_high || !(low.is_finite() && high.is_finite()) {
        return format!("{plain_low} to {plain_high}");
    }
    let most = of_low.max(of_high).min(2);
    let written = |value: f64| {
        let text = grouped(&format!("{value:.most$}"));
        // Nothing has no decimals anywhere.
        if text.bytes().all(|byte| byte == b'0' || byte == b'.') {
            "0".to_owned()
        } else {
            with_plus(text, value)
        }
    };
    format!("{} to {}", written(low), written(high))
}

/// A value that somebody chose (a step, a setting, a limit), in full and without trailing zeros: −15.5 is "−15.5", half of
/// a step of 2.8125 is "1.40625". What ten decimals cannot hold, as a third, has four.
pub fn exact(value: f64) -> String {
    if !value.is_finite() {
        return "unknown".to_owned();
    }
    let ten = format!("{value:.10}");
    let in_full = ten.parse::<f64>().is_ok_and(|read| (read - value).abs() <= 1e-12 * value.abs().max(1.0));
    grouped(&trimmed(&if in_full { ten } else { format!("{value:.4}") }))
}

/// A share in percent: one decimal, but for nothing and everything, which read "0 %" and "100 %" and which nothing else
/// reads: it has as many more decimals as that takes.
pub fn percent(value: f64) -> String {
    if !value.is_finite() {
        return "unknown".to_owned();
    }
    let is_whole = value == 0.0 || value == 100.0;
    let reads_otherwise = |text: &String| text.parse::<f64>().is_ok_and(|read| read != 0.0 && read != 100.0);
    let text = (1..=6).map(|decimals| format!("{value:.decimals$}")).find(reads_otherwise);
    format!("{} %", grouped(&text.filter(|_| !is_whole).unwrap_or_else(|| format!("{value:.0}"))))
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

/// How often: "5.3", "120", from two significant digits up. What is more than once never reads "1.0": it has as many
/// digits as show it, "1.02".
pub fn times(value: f64) -> String {
    if value >= 9.95 {
        return thousands_of(value.round());
    }
    let shows = |text: &String| text.parse::<f64>().is_ok_and(|read| read > 1.0);
    let more = (2..=9).map(|decimals| format!("{value:.decimals$}")).find(shows);
    more.filter(|_| value > 1.0 && value < 1.05).unwrap_or_else(|| rounded(value))
}

/// A whole number with thousands separators: "4,096".
pub fn whole(count: usize) -> String {
    grouped(&count.to_string())
}

/// A count with its noun: "1 word", "4,096 words".
pub fn counted(count: usize, one: &str, many: &str) -> String {
    format!("{} {}", whole(count), if count == 1 { one } else { many })
}

/// All of several: "both codes", "all 64 codes".
pub fn all_of(count: usize, many: &str) -> String {
    if count == 2 { format!("both {many}") } else { format!("all {} {many}", whole(count)) }
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
    format!("{} {unit}", to_four_decimals(hertz / scale))
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
        Unit::Nanosecond | Unit::Step => format!("{} {}", rounded(value), unit.sign()),
    }
}

/// A limit in the unit of what it limits, in full.
pub fn exact_in_unit(value: f64, unit: Unit) -> String {
    match unit {
        Unit::Degree => format!("{}°", exact(value)),
        _ => format!("{} {}", exact(value), unit.sign()),
    }
}

/// A phase that is counted on beyond half a turn, with where that is on the circle: "−325.4° (34.6° in the plane)".
pub fn on_the_circle(phase_deg: f64, text: impl Fn(f64) -> String) -> String {
    let [counted_on, there] = [phase_deg, wrap_deg(phase_deg)].map(text);
    // Half a turn is one place, whichever way it is gone.
    if counted_on.trim_start_matches('−') == there.trim_start_matches('−') {
        counted_on
    } else {
        format!("{counted_on} ({there} in the plane)")
    }
}

/// How finely something resolves, in bits to two decimals; a whole number has none: "1.99 bits", "1 bit".
pub fn bits(value: f64) -> String {
    let text = trimmed_if_whole(&format!("{value:.2}"));
    format!("{} {}", grouped(&text), if text == "1" { "bit" } else { "bits" })
}

/// A range whose ends are interpolated, both to the fourth digit of the lower one, which is finer than any grid that they
/// were interpolated on deserves.
pub fn interpolated_range(first_hz: f64, last_hz: f64) -> String {
    let exponent = format!("{first_hz:.3e}").rsplit('e').next().and_then(|e| e.parse::<i32>().ok());
    let step = 10_f64.powi(exponent.unwrap_or(0) - 3);
    let on_step = |hertz: f64| if first_hz > 0.0 { (hertz / step).round() * step } else { hertz };
    frequency_range(on_step(first_hz), on_step(last_hz))
}

/// "from 6 to 14 GHz", "from 500 MHz to 6 GHz"; one frequency is "at 10 GHz". In one unit both ends have as many decimals:
/// "from 6.05 to 14.00 GHz".
pub fn frequency_range(first_hz: f64, last_hz: f64) -> String {
    let (low, high) = (frequency_unit(first_hz), frequency_unit(last_hz));
    if first_hz == last_hz {
        return format!("at {}", frequency(first_hz));
    }
    if low.1 != high.1 {
        return format!("from {} to {}", frequency(first_hz), frequency(last_hz));
    }
    let ends = [first_hz, last_hz].map(|hertz| hertz / low.0);
    let decimals = ends.map(|end| to_four_decimals(end).split_once('.').map_or(0, |(_, all)| all.len()));
    let decimals = decimals[0].max(decimals[1]);
    let [from, to] = ends.map(|end| grouped(&format!("{end:.decimals$}")));
    format!("from {from} to {to} {}", low.1)
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

/// With a capital first.
pub fn capital(phrase: &str) -> String {
    let mut characters = phrase.chars();
    let first: String = characters.next().into_iter().flat_map(char::to_uppercase).collect();
    first + characters.as_str()
}

/// With a capital first and a full stop last, so that a phrase from elsewhere stands among sentences.
pub fn as_sentence(phrase: &str) -> String {
    let phrase = phrase.trim();
    let stop = if phrase.ends_with(['.', '!', '?', '…']) { "" } else { "." };
    capital(phrase) + stop
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

fn to_four_decimals(value: f64) -> String {
    if value.is_finite() { grouped(&trimmed(&format!("{value:.4}"))) } else { "unknown".to_owned() }
}

fn trimmed_if_whole(text: &str) -> String {
    let all = trimmed(text);
    if all.contains('.') { text.to_owned() } else { all }
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
        let ranges = [(-15.4, 0.1), (-3.0, 0.0), (-31.52, 0.0041), (-1.25, 2.5), (-0.02, 0.03)];
        let texts = ranges.map(|(low, high)| signed_range(low, high));
        assert_eq!(
            texts,
            ["−15.40 to +0.10", "−3.0 to 0", "−31.52 to 0", "−1.2 to +2.5", "−0.020 to +0.030"]
        );
    }

    #[test]
    fn chosen_values_are_shown_as_chosen() {
        let texts = [-2.8125, -15.5, 90.0, 0.0, -0.0, -354.375].map(exact);
        assert_eq!(texts, ["−2.8125", "−15.5", "90", "0", "0", "−354.375"]);
        // Half of the finest step of 7, 8 and 12 bits over a turn: 360/2^8, 360/2^9 and 360/2^13.
        let halves = [1.406_25, 0.703_125, 0.043_945_312_5].map(exact);
        assert_eq!(halves, ["1.40625", "0.703125", "0.0439453125"]);
        // Three steps of 0.1 make 0.30000000000000004, and a third has no last digit.
        assert_eq!([0.1 + 0.2, 1.0 / 3.0, f64::NAN].map(exact), ["0.3", "0.3333", "unknown"]);
        assert_eq!(
            [exact_in_unit(11.25, Unit::Degree), exact_in_unit(-0.375, Unit::Decibel)],
            ["11.25°", "−0.375 dB"]
        );
    }

    #[test]
    fn a_share_reads_whole_only_when_it_is() {
        for (value, text) in [
            (100.0, "100 %"),
            (0.0, "0 %"),
            (12.0, "12.0 %"),
            (17.96, "18.0 %"),
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
        assert_eq!(frequency_range(9.921e9, 10.14e9), "from 9.921 to 10.140 GHz");
    }

    /// To 1 MHz, the fourth digit of 9.92 GHz; to 0.1 MHz, that of 912 MHz.
    #[test]
    fn interpolated_ends_are_rounded_alike() {
        assert_eq!(interpolated_range(9.921_4e9, 10.143_7e9), "from 9.921 to 10.144 GHz");
        assert_eq!(interpolated_range(8e9, 12.000_4e9), "from 8 to 12 GHz");
        assert_eq!(interpolated_range(912.34e6, 1.234_56e9), "from 912.3 MHz to 1.2346 GHz");
        assert_eq!(interpolated_range(0.0, 1e9), "from 0 Hz to 1 GHz");
    }

    #[test]
    fn a_phase_beyond_half_a_turn_tells_where_it_is() {
        let said = [-325.4, 34.6, -180.0, 180.0, 274.0, 720.0].map(|phase| on_the_circle(phase, degrees));
        let beyond = ["−325.4° (34.6° in the plane)", "34.6°", "−180.0°", "180.0°"];
        assert_eq!(said[..4], beyond);
        assert_eq!(said[4..], ["274.0° (−86.0° in the plane)", "720.0° (0° in the plane)"]);
    }

    #[test]
    fn bits_have_two_decimals_unless_they_are_whole() {
        assert_eq!([1.0, 1.993_709, 2.001, 0.0].map(bits), ["1 bit", "1.99 bits", "2 bits", "0 bits"]);
    }

    #[test]
    fn counts_agree_with_their_nouns() {
        assert_eq!(counted(1, "word", "words"), "1 word");
        assert_eq!(counted(0, "word", "words"), "0 words");
        assert_eq!(counted(1_234_567, "word", "words"), "1,234,567 words");
        assert_eq!([2, 64].map(|count| all_of(count, "codes")), ["both codes", "all 64 codes"]);
        assert_eq!(bytes(1), "1 byte");
        assert_eq!(bytes(218_600_000), "218.6 MB");
        assert_eq!([5.31, 9.96, 120.4, 1234.0].map(times), ["5.3", "10", "120", "1,234"]);
        assert_eq!([1.0, 1.024, 1.003_2, 1.06].map(times), ["1.0", "1.02", "1.003", "1.1"]);
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
