//! Comments, and what is worth a warning in them.

use super::cursor::ends_line;
use super::network::Warning;

/// The text of every comment in `text`, trimmed, and a warning where one speaks of port impedances.
///
/// A comment begins at the first `!` of a line and ends with the line. Text that is not UTF-8 is taken as Latin-1.
pub(super) fn comments(text: &[u8]) -> (Vec<String>, Option<Warning>) {
    let mut found = Vec::new();
    let mut warning = None;
    let mut line = 1;
    let mut rest = text;
    while !rest.is_empty() {
        let length = rest.iter().position(|&byte| ends_line(byte)).unwrap_or(rest.len());
        if let Some(start) = rest[..length].iter().position(|&byte| byte == b'!') {
            let comment = decoded(&rest[start + 1..length]);
            if warning.is_none() && comment.to_ascii_lowercase().contains("port impedance") {
                warning = Some(Warning {
                    line,
                    message: "A comment gives port impedances; they are ignored, as the standard says, and the data are not renormalised to them.".to_owned(),
                });
            }
            found.push(comment);
        }
        line += 1;
        rest = match &rest[length..] {
            [b'\r', b'\n', next @ ..] | [_, next @ ..] => next,
            [] => &[],
        };
    }
    (found, warning)
}

fn decoded(bytes: &[u8]) -> String {
    let latin_1 = || bytes.iter().map(|&byte| char::from(byte)).collect();
    let text = std::str::from_utf8(bytes).map_or_else(|_| latin_1(), str::to_owned);
    text.trim().to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn whole_lines_and_line_ends_are_found() {
        let (found, warning) =
            comments(b"! one\r\n# S ! two ! still two\r1 2 3\n\n!phase = 20\xB0\n!0 \xC2\xB0");
        assert_eq!(found, ["one", "two ! still two", "phase = 20°", "0 °"]);
        assert_eq!(warning, None);
    }

    #[test]
    fn port_impedances_are_named_with_the_first_line() {
        let (_, warning) = comments(b"!a\r\n! Port Impedance 12.5 0.1\n! Port Impedance 12.6 0.1\n");
        assert_eq!(warning.unwrap().line, 2);
    }
}
