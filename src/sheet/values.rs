//! Lists of numbers as people type them: one by one, or "0 to 337.5 in steps of 22.5".

/// The most values that a text may stand for.
const MOST: usize = 1 << 16;

/// Evenly spaced values are written as a range from so many on.
const SHORTEST_RANGE: usize = 4;

/// Reads numbers separated by spaces, commas or semicolons, and ranges between them: "0 to -31.5 in steps of 0.5". A
/// range runs from its first number towards its second and stops there or at the last step before it. Units of decibels
/// and degrees may stand behind numbers. The error is a sentence.
pub fn read_values(text: &str) -> Result<Vec<f64>, String> {
    let plain = text.replace('−', "-").replace('°', " ").replace("dB", " ");
    check_commas(&plain)?;
    let separated = |c: char| c.is_whitespace() || c == ',' || c == ';';
    let mut words = plain.split(separated).filter(|word| !word.is_empty()).peekable();
    let mut values = Vec::new();
    while let Some(word) = words.next() {
        if word == "from" {
            continue;
        }
        let first = number(word)?;
        if words.next_if_eq(&"to").is_none() {
            values.push(first);
            continue;
        }
        let last = number(words.next().unwrap_or_default())?;
        if !["in", "steps", "of"].iter().all(|expected| words.next_if_eq(expected).is_some()) {
            return Err(format!(
                "“{first} to {last}” needs a step; write {first} to {last} in steps of 0.5, for example."
            ));
        }
        values.extend(range(first, last, number(words.next().unwrap_or_default())?)?);
    }
    if values.len() > MOST {
        return Err(format!("{} values are too many; {MOST} are the most.", values.len()));
    }
    Ok(values)
}

/// A comma between two digits may be a decimal comma.
fn check_commas(text: &str) -> Result<(), String> {
    let digit = |c: Option<char>| c.is_some_and(|c| c.is_ascii_digit());
    let doubtful = text.split_whitespace().find(|word| {
        word.match_indices(',')
            .any(|(at, _)| digit(word[..at].chars().next_back()) && digit(word[at + 1..].chars().next()))
    });
    doubtful.map_or(Ok(()), |word| {
        Err(format!(
            "“{word}” can be read in two ways. Write decimals with a point, and put a space between numbers."
        ))
    })
}

fn number(word: &str) -> Result<f64, String> {
    if word.is_empty() {
        return Err(
            "The text ends where a number should follow. Write, for example, 0 to -31.5 in steps of 0.5."
                .to_owned(),
        );
    }
    word.parse::<f64>().ok().filter(|value| value.is_finite()).ok_or_else(|| {
        format!("“{word}” is no number. Write numbers such as 0 -0.5 -1, or 0 to -31.5 in steps of 0.5.")
    })
}

fn range(first: f64, last: f64, step: f64) -> Result<Vec<f64>, String> {
    let steps = (last - first).abs() / step.abs();
    if !steps.is_finite() {
        return Err("A step of 0 leads nowhere. Write a step that is larger.".to_owned());
    }
    if steps >= MOST as f64 {
        return Err(format!("{first} to {last} in steps of {step} is too many values; {MOST} are the most."));
    }
    let step = step.abs().copysign(last - first);
    // The last step counts although the quotient may fall short of it by rounding.
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "between 0 and MOST")]
    let count = (steps + 1e-9).floor() as usize + 1;
    Ok((0..count).map(|k| tidy(first + step * k as f64)).collect())
}

/// Takes away what summing decimals leaves behind: 0.30000000000000004 was meant as 0.3.
fn tidy(value: f64) -> f64 {
    let rounded = (value * 1e9).round() / 1e9;
    if (rounded - value).abs() < 1e-9 { rounded + 0.0 } else { value }
}

/// Values as [`read_values`] takes them, to the bit: evenly spaced ones as a range, others one by one.
pub fn write_values(values: &[f64]) -> String {
    if let [first, second, .., last] = values
        && values.len() >= SHORTEST_RANGE
    {
        let text = format!("{first} to {last} in steps of {}", tidy((second - first).abs()));
        if read_values(&text).is_ok_and(|read| read == values) {
            return text;
        }
    }
    values.iter().map(f64::to_string).collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lists_and_ranges_are_read() {
        for (text, expected) in [
            ("0 -3 -6", vec![0.0, -3.0, -6.0]),
            ("0, -0.5; -1.25", vec![0.0, -0.5, -1.25]),
            ("0 dB, −3 dB", vec![0.0, -3.0]),
            ("0° 22.5°", vec![0.0, 22.5]),
            ("0 to 90 in steps of 22.5", vec![0.0, 22.5, 45.0, 67.5, 90.0]),
            ("from 0 to -0.4 in steps of 0.1", vec![0.0, -0.1, -0.2, -0.3, -0.4]),
            // The step leads from the first number to the second, whatever its sign; 10 is not reached.
            ("0 to 10 in steps of -4", vec![0.0, 4.0, 8.0]),
            ("0 to -2 in steps of 1, -4, -8", vec![0.0, -1.0, -2.0, -4.0, -8.0]),
            ("5 to 5 in steps of 1", vec![5.0]),
            ("", vec![]),
        ] {
            assert_eq!(read_values(text), Ok(expected), "{text}");
        }
    }

    #[test]
    fn what_cannot_be_read_is_refused_with_the_remedy() {
        for (text, said) in [
            ("0 dB loud", "“loud” is no number"),
            ("0 inf", "“inf” is no number"),
            ("0 to", "ends where a number should follow"),
            ("0 to 10", "needs a step"),
            ("0 to 10 in 5", "needs a step"),
            ("0 to 10 steps of 5", "needs a step"),
            ("0 to 10 in steps of 0", "leads nowhere"),
            ("0 to 10 in steps of 0.00001", "too many"),
            ("0,5 1,5", "“0,5” can be read in two ways"),
        ] {
            let refused = read_values(text).expect_err(text);
            assert!(refused.contains(said) && refused.ends_with('.'), "{text}: {refused}");
        }
    }

    #[test]
    fn what_is_written_reads_back_to_the_bit() {
        let sixteenths: Vec<f64> = (0..16).map(|k| 22.5 * f64::from(k)).collect();
        assert_eq!(write_values(&sixteenths), "0 to 337.5 in steps of 22.5");
        assert_eq!(write_values(&[0.0, -0.1, -0.2, -0.3]), "0 to -0.3 in steps of 0.1");
        assert_eq!(write_values(&[0.0, -1.0, -2.0]), "0 -1 -2");
        let uneven = vec![0.0, 0.1 + 0.2, 3.0, 6.0, 1e-12];
        for values in [sixteenths, uneven, vec![], vec![1.0 / 3.0, 2.0 / 3.0, 1.0, 4.0 / 3.0]] {
            assert_eq!(read_values(&write_values(&values)), Ok(values));
        }
    }
}
