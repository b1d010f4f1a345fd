//! What a typed table is, by its header.

use super::typed_table::TypedTable;
use crate::csv;

/// The tables that this tool takes beside a run.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TableKind {
    /// What [`read_specification`](super::read_specification) reads.
    Specification,
    /// What [`read_typical_curve`](super::read_typical_curve) reads.
    TypicalCurve,
}

const FREQUENCIES: [&str; 3] = ["from", "to", "frequency"];
const SPECIFICATION: [&str; 7] =
    ["figure", "at_least", "at_most", "plus_minus", "percent_of_setting", "unit", "note"];
const LIMITS: [&str; 3] = ["at_least", "at_most", "plus_minus"];
const CURVE: [&str; 3] = ["value", "unit", "note"];

impl TableKind {
    /// The kind that a text's header names; `None` of any other text, such as an index of files. One column that is not
    /// known makes it another table, because nothing should be taken from a file that may be about something else.
    pub fn of(text: &str) -> Option<Self> {
        let header = csv::header(text);
        let has = |known: &[&str]| TypedTable::read(header, &FREQUENCIES, known).ok();
        if has(&SPECIFICATION).is_some_and(|table| {
            table.need("figure").is_ok() && LIMITS.iter().any(|limit| table.need(limit).is_ok())
        }) {
            return Some(Self::Specification);
        }
        has(&CURVE)
            .filter(|table| table.need("frequency").is_ok() && table.need("value").is_ok())
            .map(|_| Self::TypicalCurve)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::part::{Figure, SpecificationRow};
    use crate::part::{Limits, read_typical_curve, write_specification, write_typical_curve};

    #[test]
    fn what_is_written_is_known_by_its_header() {
        let row = SpecificationRow {
            figure: Figure::GroupDelay,
            from_hz: None,
            to_hz: None,
            limits: Limits { at_least: None, at_most: Some(0.3), percent_of_setting: 0.0 },
            note: String::new(),
        };
        assert_eq!(TableKind::of(&write_specification(&[row])), Some(TableKind::Specification));
        let curve = read_typical_curve("Frequency (GHz);Value\n8;3,1\n").expect("a curve");
        assert_eq!(TableKind::of(&write_typical_curve(&curve)), Some(TableKind::TypicalCurve));
    }

    #[test]
    fn other_tables_are_left_alone() {
        for text in [
            "",
            "file,word\na.s2p,0\n",
            "file,value\na.s2p,0\n",
            "file,frequency_ghz,value\na.s2p,8,0\n",
            "figure,note\ngain state error,x\n",
            "figure,file,at_most\ninsertion loss,a.s2p,3\n",
            "8,3.1\n9,3.2\n",
            "frequency_ghz\n8\n",
        ] {
            assert_eq!(TableKind::of(text), None, "{text}");
        }
        assert_eq!(TableKind::of("\u{feff}\r\nFigure;From (GHz);±\r\n"), Some(TableKind::Specification));
    }
}
