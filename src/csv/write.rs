//! Cells to be written.

/// Appends a number as the shortest decimal that reads back to the same double; nothing where it is not finite.
pub fn push_number(row: &mut String, value: f64) {
    use std::fmt::Write;
    if !value.is_finite() {
        return;
    }
    let magnitude = value.abs();
    // Both forms give the fewest digits that read back; far from 1 the exponent saves a run of zeros.
    let written = if magnitude == 0.0 || (1e-5..1e16).contains(&magnitude) {
        write!(row, "{value}")
    } else {
        write!(row, "{value:e}")
    };
    debug_assert!(written.is_ok(), "writing to a String cannot fail");
}

/// A number cell followed by its comma.
pub fn push_number_cell(row: &mut String, value: f64) {
    push_number(row, value);
    row.push(',');
}

/// Text as a cell. Text that a spreadsheet would take for a formula (it begins with `=`, `+`, `-`, `@`, tab or
/// carriage return) gets an apostrophe in front; commas, quotes and line ends are quoted.
pub fn text_cell(text: &str) -> String {
    let guard = if text.starts_with(['=', '+', '-', '@', '\t', '\r']) { "'" } else { "" };
    if text.contains([',', '"', '\n', '\r']) {
        format!("\"{guard}{}\"", text.replace('"', "\"\""))
    } else {
        format!("{guard}{text}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_read_back_to_the_same_double() {
        for (value, text) in [
            (0.1, "0.1"),
            (10e9, "10000000000"),
            (-2.8125, "-2.8125"),
            (1.0 / 3.0, "0.3333333333333333"),
            (5e-324, "5e-324"),
            (1.5e-7, "1.5e-7"),
            (f64::MAX, "1.7976931348623157e308"),
            (f64::NAN, ""),
            (f64::NEG_INFINITY, ""),
        ] {
            let mut row = String::new();
            push_number(&mut row, value);
            assert_eq!(row, text);
            assert!(
                !value.is_finite() || row.parse::<f64>().is_ok_and(|read| read.to_bits() == value.to_bits())
            );
        }
    }

    /// The first characters that spreadsheets take for a formula, as listed in the advice on CSV injection of the
    /// Open Worldwide Application Security Project; quoting as in RFC 4180, section 2.
    #[test]
    fn no_cell_runs_in_a_spreadsheet() {
        for (text, cell) in [
            ("a.s2p", "a.s2p"),
            ("=1+1", "'=1+1"),
            ("+A1", "'+A1"),
            ("-16.5db.s2p", "'-16.5db.s2p"),
            ("@SUM(A1)", "'@SUM(A1)"),
            ("\tx", "'\tx"),
            ("\rx", "\"'\rx\""),
            ("=cmd|'/c calc'!A1,\"x\"", "\"'=cmd|'/c calc'!A1,\"\"x\"\"\""),
            ("a,b", "\"a,b\""),
            ("a\nb", "\"a\nb\""),
            ("say \"x\"", "\"say \"\"x\"\"\""),
            ("", ""),
        ] {
            assert_eq!(text_cell(text), cell);
        }
    }
}
