//! Rows of a table that somebody wrote, mostly with a spreadsheet.

/// One record.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Row {
    /// The line on which it begins, from 1.
    pub line: usize,
    /// Its cells, quotes taken off.
    pub cells: Vec<String>,
}

/// A quoted cell is not closed, or goes on after its closing quote.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct OpenQuote {
    /// The line on which the cell begins, from 1.
    pub line: usize,
    /// Which cell of its row it is, from 1.
    pub column: usize,
}

/// The first line with anything on it.
pub fn header(text: &str) -> &str {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    text.split(['\r', '\n']).find(|line| !line.is_empty()).unwrap_or_default()
}

/// What separates the cells of the header: a comma, else a semicolon or tab, which some spreadsheets write instead.
pub fn separator(text: &str) -> char {
    let header = header(text);
    [',', ';', '\t'].into_iter().find(|&separator| header.contains(separator)).unwrap_or(',')
}

/// Takes the text apart by RFC 4180: cells between separators, quoted where they hold one, quotes (doubled) or line
/// ends. A byte order mark and empty lines are passed over; LF, CR LF and CR end a row.
pub fn rows(text: &str, separator: char) -> Result<Vec<Row>, OpenQuote> {
    let mut rows = Vec::new();
    let mut characters = text.strip_prefix('\u{feff}').unwrap_or(text).chars().peekable();
    let mut line = 1;
    let mut row = Row { line, cells: vec![String::new()] };
    while let Some(character) = characters.next() {
        let at_start = row.cells.last().is_some_and(String::is_empty);
        match character {
            '"' if at_start => {
                let open = OpenQuote { line, column: row.cells.len() };
                let mut cell = String::new();
                loop {
                    match characters.next() {
                        Some('"') if characters.next_if_eq(&'"').is_some() => cell.push('"'),
                        Some('"') => break,
                        Some(inside) => {
                            line += usize::from(inside == '\n');
                            cell.push(inside);
                        }
                        None => return Err(open),
                    }
                }
                let next = characters.peek().copied();
                if !next.is_none_or(|next| next == separator || matches!(next, '\r' | '\n')) {
                    return Err(open);
                }
                if let Some(last) = row.cells.last_mut() {
                    *last = cell;
                }
            }
            _ if character == separator => row.cells.push(String::new()),
            '\r' | '\n' => {
                if character == '\r' {
                    let _ = characters.next_if_eq(&'\n');
                }
                line += 1;
                rows.push(std::mem::replace(&mut row, Row { line, cells: vec![String::new()] }));
            }
            other => {
                if let Some(last) = row.cells.last_mut() {
                    last.push(other);
                }
            }
        }
    }
    rows.push(row);
    rows.retain(|row| row.cells != [""]);
    Ok(rows)
}

/// A finite decimal number, times ten to the `exponent`, rounded once: 10.025 with an exponent of 9 is exactly 10 025 000 000.
///
/// Decimal commas are read where the cells are not separated by commas, and a minus sign (U+2212) is a minus; `None` for
/// anything else, `inf` and `nan` among it.
pub fn number(cell: &str, separator: char, exponent: i32) -> Option<f64> {
    let mut text = cell.trim().replace('\u{2212}', "-");
    if separator != ',' {
        text = text.replace(',', ".");
    }
    let (digits, own_exponent) = match text.split_once(['e', 'E']) {
        Some((digits, own)) => (digits, own.parse::<i32>().ok()?),
        None => (text.as_str(), 0),
    };
    let plain = digits.bytes().all(|byte| byte.is_ascii_digit() || matches!(byte, b'.' | b'+' | b'-'));
    let scaled = format!("{digits}e{}", own_exponent.checked_add(exponent)?);
    scaled.parse::<f64>().ok().filter(|value| plain && value.is_finite())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// RFC 4180, section 2, with what spreadsheets add to it: a byte order mark, other separators, CR alone.
    #[test]
    fn rows_are_taken_apart() {
        let text = "\u{feff}a,b\r\n\r\n\"x,\ny\",\"say \"\"z\"\"\"\r1,\n";
        let cells = |row: &Row| (row.line, row.cells.clone());
        let cell = |text: &str| text.to_owned();
        let read = rows(text, separator(text)).unwrap();
        assert_eq!(
            read.iter().map(cells).collect::<Vec<_>>(),
            [
                (1, vec![cell("a"), cell("b")]),
                (3, vec![cell("x,\ny"), cell("say \"z\"")]),
                (5, vec![cell("1"), cell("")]),
            ]
        );
        assert_eq!([separator("a;b\n1,5;2"), separator("a\tb"), separator("a")], [';', '\t', ',']);
    }

    #[test]
    fn a_quote_left_open_is_told_with_its_place() {
        assert_eq!(rows("a,b\n1,\"2\n", ','), Err(OpenQuote { line: 2, column: 2 }));
        assert_eq!(rows("a,b\n\"1\"x,2\n", ','), Err(OpenQuote { line: 2, column: 1 }));
    }

    #[test]
    fn numbers_are_decimal_and_rounded_once() {
        for (cell, separator, exponent, value) in [
            (" 10.025 ", ',', 9, 10_025_000_000.0),
            ("10,025", ';', 9, 10_025_000_000.0),
            ("0.3", ',', 0, 0.3),
            ("\u{2212}.5", ',', 0, -0.5),
            ("2.5e-3", ',', 3, 2.5),
            ("8.1", ',', 9, 8_100_000_000.0),
        ] {
            assert_eq!(number(cell, separator, exponent), Some(value), "{cell}");
        }
        for cell in
            ["", "x", "inf", "NaN", "1e999", "0x10", "1.2.3", "1,5", "1 000", "5 dB", "1e", "1e99999999999"]
        {
            assert_eq!(number(cell, ',', 0), None, "{cell}");
        }
    }
}
