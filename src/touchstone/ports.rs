//! How many ports a file has: by its name, and by its rows.

use super::cursor::Cursor;
use super::error::{Fault, ReadErrorKind};

/// More ports than any file in use; keeps every count within 32 bits.
pub(super) const MOST_PORTS: usize = 10_000;

/// Ports by the ending of the name: 2 for `.s2p`, whatever the case, and for the endings `.y2p`, `.z2p`, `.g2p`
/// and `.h2p` of other parameters. `None` for any other name.
pub(super) fn ports_by_name(file_name: &str) -> Result<Option<usize>, Fault> {
    let Some((_, ending)) = file_name.rsplit_once('.') else { return Ok(None) };
    let lower = ending.to_ascii_lowercase();
    let digits = lower
        .strip_prefix(['s', 'y', 'z', 'g', 'h'])
        .and_then(|rest| rest.strip_suffix('p'))
        .filter(|digits| !digits.is_empty() && digits.bytes().all(|byte| byte.is_ascii_digit()));
    match digits.map(str::parse::<usize>) {
        None | Some(Ok(0)) => Ok(None),
        Some(Ok(ports)) if ports <= MOST_PORTS => Ok(Some(ports)),
        Some(_) => Err(Fault::of_file(ReadErrorKind::PortsTooMany { limit: MOST_PORTS })),
    }
}

/// What the rows of a version 1 file say of its ports.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum PortsByRows {
    /// The first row is followed by another and fits this many ports.
    Certain(usize),
    /// The file ends after the row, which fits this many ports.
    Last(usize),
    /// The row fits no number of ports, or is wrapped within a pair.
    Unclear,
}

/// Ports by the first row of a version 1 file, at the cursor.
///
/// The first line of a row holds a frequency and pairs, so an odd number of values; the lines that continue it hold
/// pairs. So the row ends before the next line with an odd number, and has 2n² + 1 values.
pub(super) fn ports_by_rows(mut cursor: Cursor) -> PortsByRows {
    let mut total = 0_usize;
    loop {
        let mut on_line = 0_usize;
        while cursor.word_in_line().is_some() {
            on_line += 1;
        }
        let ends_file = cursor.peek().is_none();
        cursor.pass_line_end();
        let begins_row = on_line % 2 == 1;
        if begins_row && total > 0 {
            return ports_of_length(total).map_or(PortsByRows::Unclear, PortsByRows::Certain);
        }
        if on_line > 0 && !begins_row && total == 0 {
            return PortsByRows::Unclear;
        }
        total += on_line;
        if ends_file {
            return ports_of_length(total).map_or(PortsByRows::Unclear, PortsByRows::Last);
        }
    }
}

/// The n of 2n² + 1 values.
fn ports_of_length(values: usize) -> Option<usize> {
    let square = values.checked_sub(1)? / 2;
    let ports = square.isqrt();
    (ports > 0 && ports <= MOST_PORTS && 2 * ports * ports + 1 == values).then_some(ports)
}

/// The number of ports of a version 1 file whose rows begin at the cursor.
pub(super) fn version_1_ports(by_name: Option<usize>, cursor: &Cursor) -> Result<usize, Fault> {
    let by_rows = ports_by_rows(cursor.clone());
    match (by_name, by_rows) {
        (Some(name), PortsByRows::Certain(rows)) if name != rows => {
            Err(cursor.fault(ReadErrorKind::PortsDisagree { name, rows }))
        }
        // One row alone that is too short may as well have been cut.
        (Some(name), PortsByRows::Last(rows)) if name < rows => {
            Err(cursor.fault(ReadErrorKind::PortsDisagree { name, rows }))
        }
        (Some(name), _) => Ok(name),
        (None, PortsByRows::Certain(rows) | PortsByRows::Last(rows)) => Ok(rows),
        (None, PortsByRows::Unclear) => Err(cursor.fault(ReadErrorKind::PortsUnknown)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_tell_the_ports() {
        for (name, ports) in [
            ("a.s2p", Some(2)),
            ("a.S2P", Some(2)),
            ("V10.5.s1p", Some(1)),
            ("Example12.h2p", Some(2)),
            ("b.s16p", Some(16)),
            ("a.ts", None),
            ("s2p", None),
            ("a.sp", None),
            ("a.s0p", None),
            ("a.s+2p", None),
            ("notes.txt", None),
        ] {
            assert_eq!(ports_by_name(name).unwrap(), ports, "{name}");
        }
        assert!(ports_by_name("a.s99999p").is_err());
        assert!(ports_by_name("a.s99999999999999999999999p").is_err());
    }

    #[test]
    fn rows_tell_the_ports() {
        use PortsByRows::{Certain, Last, Unclear};
        for (text, ports) in [
            ("1 2 3\n2 3 4\n", Certain(1)),
            ("1 2 3", Last(1)),
            ("1 2 3 4 5 6 7 8 9\n1 2 3 4 5", Certain(2)),
            ("1\n1 1\n2 2\n3 3\n4 4\n2\n1 1", Certain(2)),
            ("1 1 1 1 1\n1 1 1 1 ! rest\n\n! note\n2 1 1 1 1\n", Certain(2)),
            ("1 1 1 1 1 1 1\n1 1 1 1 1 1\n1 1 1 1 1 1\n", Last(3)),
            ("1 1 1 1\n1 1 1 1 1\n", Unclear),
            ("1 1 1 1 1\n2 1 1 1 1\n", Unclear),
            ("", Unclear),
        ] {
            assert_eq!(ports_by_rows(Cursor::new(text.as_bytes())), ports, "{text:?}");
        }
    }
}
