//! What a part is to keep, as a small table.
//!
//! A row limits one figure in one sub-band. Columns, of which only `figure` and one limit are needed:
//!
//! | column | holds |
//! | --- | --- |
//! | `figure` | the figure's [name](Figure::name) |
//! | `from_ghz`, `to_ghz` | the sub-band, both ends in it; empty: as far as was measured. Also `_hz`, `_khz`, `_mhz`, or the unit in a column `frequency_unit` |
//! | `at_least`, `at_most` | limits to one side each |
//! | `plus_minus` | a limit to both sides |
//! | `percent_of_setting` | by how much the limits widen with the setting: ±(a + b·setting) |
//! | `unit` | the unit of the limits, which is checked: dB, deg, ns or steps |
//! | `note` | free text |

use super::typed_table::TypedTable;
use super::{Figure, TableError, TableErrorKind};
use crate::csv::{Row, push_number, text_cell};
use serde::{Deserialize, Serialize};

/// One row.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct SpecificationRow {
    /// What is limited.
    pub figure: Figure,
    /// Lower end of the sub-band in hertz; `None` where it has none.
    pub from_hz: Option<f64>,
    /// Upper end of the sub-band in hertz.
    pub to_hz: Option<f64>,
    /// Between what.
    pub limits: Limits,
    /// Free text.
    pub note: String,
}

/// Limits to one side or to both, which may widen with the setting.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Limits {
    /// The lowest value that keeps them, in the figure's unit.
    pub at_least: Option<f64>,
    /// The highest.
    pub at_most: Option<f64>,
    /// How far both widen, in percent of the setting.
    pub percent_of_setting: f64,
}

impl Limits {
    /// ±(`value` + `percent_of_setting` of the setting).
    pub fn plus_minus(value: f64, percent_of_setting: f64) -> Self {
        Self { at_least: Some(-value), at_most: Some(value), percent_of_setting }
    }

    /// Each limit at a setting, and how far inside it a value lies (negative outside).
    pub(super) fn margins(&self, value: f64, setting: f64) -> impl Iterator<Item = (f64, f64)> + use<> {
        let wider = self.percent_of_setting / 100.0 * setting.abs();
        let lower = self.at_least.map(|limit| limit - wider).map(|limit| (limit, value - limit));
        let upper = self.at_most.map(|limit| limit + wider).map(|limit| (limit, limit - value));
        lower.into_iter().chain(upper)
    }
}

impl SpecificationRow {
    /// Whether a frequency is in the row's sub-band, a relative 1e-9 beyond its ends included.
    pub fn covers(&self, frequency_hz: f64) -> bool {
        self.from_hz.is_none_or(|from| frequency_hz >= from * (1.0 - 1e-9))
            && self.to_hz.is_none_or(|to| frequency_hz <= to * (1.0 + 1e-9))
    }

    /// Checks what a table could not hold: that every value is a number, and what [`read_specification`] asks of a row.
    /// The error is a sentence.
    pub fn check(&self) -> Result<(), String> {
        let Limits { at_least, at_most, percent_of_setting } = self.limits;
        let numbers = [self.from_hz, self.to_hz, at_least, at_most, Some(percent_of_setting)];
        if let Some(value) = numbers.into_iter().flatten().find(|value| !value.is_finite()) {
            return Err(format!("{value} is not a number to hold anything against."));
        }
        let read = read_specification(&write_specification(std::slice::from_ref(self)));
        read.map(|_| ()).map_err(|error| error.kind.to_string())
    }
}

const FREQUENCIES: [&str; 2] = ["from", "to"];
const OTHERS: [&str; 7] =
    ["figure", "at_least", "at_most", "plus_minus", "percent_of_setting", "unit", "note"];

/// Reads the table. Cells are separated as in its header: by commas, else by semicolons or tabs.
pub fn read_specification(text: &str) -> Result<Vec<SpecificationRow>, TableError> {
    let table = TypedTable::read(text, &FREQUENCIES, &OTHERS)?;
    table.need("figure")?;
    table.rows.iter().map(|row| read_row(&table, row)).collect()
}

fn read_row(table: &TypedTable, row: &Row) -> Result<SpecificationRow, TableError> {
    let name = table.text(row, "figure");
    let figure = Figure::named(name).ok_or_else(|| {
        let kind = match name {
            "" => TableErrorKind::EmptyCell,
            _ => TableErrorKind::UnknownFigure(name.to_owned()),
        };
        table.error(row, "figure", kind)
    })?;
    let (from_hz, to_hz) = (table.frequency_hz(row, "from")?, table.frequency_hz(row, "to")?);
    if from_hz.zip(to_hz).is_some_and(|(from, to)| from > to) {
        return Err(table.error(row, "to", TableErrorKind::BandReversed));
    }
    if let Some(found) = table.unit(row, "unit")?.filter(|unit| *unit != figure.unit()) {
        let kind = TableErrorKind::OtherUnit { found, expected: figure.unit() };
        return Err(table.error(row, "unit", kind));
    }
    let limits = read_limits(table, row, figure)?;
    Ok(SpecificationRow {
        figure,
        from_hz,
        to_hz,
        limits,
        note: note_of_cell(table.text(row, "note")).to_owned(),
    })
}

fn read_limits(table: &TypedTable, row: &Row, figure: Figure) -> Result<Limits, TableError> {
    let plus_minus = table.positive(row, "plus_minus")?;
    let (at_least, at_most) = (table.number(row, "at_least")?, table.number(row, "at_most")?);
    let percent_of_setting = table.positive(row, "percent_of_setting")?.unwrap_or(0.0);
    if percent_of_setting > 0.0 && !figure.has_setting() {
        return Err(table.error(row, "percent_of_setting", TableErrorKind::NoSetting));
    }
    match (plus_minus, at_least, at_most) {
        (Some(value), None, None) => Ok(Limits::plus_minus(value, percent_of_setting)),
        (Some(_), ..) => Err(table.error(row, "plus_minus", TableErrorKind::LimitTwice)),
        (None, None, None) => Err(table.error(row, "at_most", TableErrorKind::NoLimit)),
        (None, Some(low), Some(high)) if low > high => {
            Err(table.error(row, "at_least", TableErrorKind::LimitsCrossed))
        }
        _ => Ok(Limits { at_least, at_most, percent_of_setting }),
    }
}

/// Whether a spreadsheet would take a text for a formula, apostrophes before it aside.
fn is_like_formula(text: &str) -> bool {
    text.trim_start_matches('\'').starts_with(['=', '+', '-', '@'])
}

/// A note as a cell: [`text_cell`] puts an apostrophe before what looks like a formula, and where there is one already
/// it gets another, so that one is always to be taken off.
fn note_cell(note: &str) -> String {
    let guard = if note.starts_with('\'') && is_like_formula(note) { "'" } else { "" };
    text_cell(&format!("{guard}{note}"))
}

fn note_of_cell(cell: &str) -> &str {
    cell.strip_prefix('\'').filter(|text| is_like_formula(text)).unwrap_or(cell)
}

/// Writes the table, frequencies in gigahertz; [`read_specification`] gives the same rows again.
pub fn write_specification(rows: &[SpecificationRow]) -> String {
    let mut text =
        String::from("figure,from_ghz,to_ghz,at_least,at_most,plus_minus,percent_of_setting,unit,note\n");
    for row in rows {
        let Limits { at_least, at_most, percent_of_setting } = row.limits;
        let both = at_most.filter(|high| at_least == Some(-high) && *high >= 0.0);
        let (at_least, at_most) = if both.is_some() { (None, None) } else { (at_least, at_most) };
        let percent = Some(percent_of_setting).filter(|percent| *percent != 0.0);
        let in_ghz = |hz: Option<f64>| hz.map(|hz| hz / 1e9);
        text.push_str(row.figure.name());
        for number in [in_ghz(row.from_hz), in_ghz(row.to_hz), at_least, at_most, both, percent] {
            text.push(',');
            push_number(&mut text, number.unwrap_or(f64::NAN));
        }
        text.push(',');
        text.push_str(row.figure.unit().name());
        text.push(',');
        text.push_str(&note_cell(&row.note));
        text.push('\n');
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::control::Quantity;
    use crate::part::{Port, Unit};

    fn row(figure: Figure, band_hz: (Option<f64>, Option<f64>), limits: Limits) -> SpecificationRow {
        SpecificationRow { figure, from_hz: band_hz.0, to_hz: band_hz.1, limits, note: String::new() }
    }

    #[test]
    fn a_table_as_a_spreadsheet_writes_it() {
        let state_error = row(
            Figure::StateError(Quantity::Gain),
            (Some(8e9), Some(10_025_000_000.0)),
            Limits::plus_minus(0.3, 3.0),
        );
        let return_loss = row(
            Figure::ReturnLoss(Port::Input),
            (None, Some(10e9)),
            Limits { at_least: Some(12.0), at_most: None, percent_of_setting: 0.0 },
        );
        let expected = [state_error, return_loss];
        for text in [
            "figure,from_ghz,to_ghz,plus_minus,at_least,percent_of_setting,unit\ngain state error,8,10.025,0.3,,3,dB\ninput return loss,,10,,12,,\n",
            "\u{feff}Figure;From (GHz);to [MHz];±;at least;% of setting;;\r\nAttenuation state error;8;10025;0,3;;3;;\r\n;;;;;;;\r\ninput_return_loss;;10000;;12;;;\r\n",
            "figure,from,to,frequency_unit,at_least,plus_minus,percent_of_setting\ngain state error,8000,10025,MHz,,0.3,3\nInput return loss,,10,ghz,12,,\n",
        ] {
            assert_eq!(read_specification(text).unwrap(), expected, "{text}");
        }
    }

    #[test]
    fn what_is_written_reads_back() {
        let mut rows: Vec<SpecificationRow> = Figure::all()
            .zip(1_u32..)
            .map(|(figure, number)| {
                let hz = f64::from(number) * 1_000_100_000.0;
                let percent = if figure.has_setting() { 2.5 } else { 0.0 };
                let limits = match number % 3 {
                    0 => Limits::plus_minus(0.1 * f64::from(number), percent),
                    1 => Limits { at_least: Some(-0.7), at_most: Some(0.2), percent_of_setting: percent },
                    _ => Limits { at_least: None, at_most: Some(-1.5), percent_of_setting: percent },
                };
                row(figure, (Some(hz), Some(hz * 1.25)), limits)
            })
            .collect();
        for (row, note) in
            rows.iter_mut().zip(["=1+1", "-40 °C, \"cold\"\nand dry", "'quoted'", "'=x", "''-1", "typ."])
        {
            row.note = note.to_owned();
        }
        assert_eq!(read_specification(&write_specification(&rows)), Ok(rows));
        assert_eq!(read_specification(&write_specification(&[])), Ok(Vec::new()));
    }

    #[test]
    fn literal_text_of_one_row() {
        let row = row(Figure::StateError(Quantity::Gain), (Some(8e9), None), Limits::plus_minus(0.3, 3.0));
        assert_eq!(
            write_specification(&[row]),
            "figure,from_ghz,to_ghz,at_least,at_most,plus_minus,percent_of_setting,unit,note\n\
             gain state error,8,,,,0.3,3,dB,\n"
        );
    }

    #[test]
    fn faults_are_told_with_their_line_and_column() {
        let header = "figure,from_ghz,to_ghz,at_least,at_most,plus_minus,percent_of_setting,unit,note\n";
        let in_row = |row: &str| read_specification(&format!("{header}\n{row}\n")).unwrap_err();
        let error = |line, column, kind| TableError { line, column, kind };
        for (row, column, kind) in [
            ("loss,,,,1,,,,", 1, TableErrorKind::UnknownFigure("loss".into())),
            (",,,,1,,,,", 1, TableErrorKind::EmptyCell),
            ("insertion loss,x,,,1,,,,", 2, TableErrorKind::NotANumber("x".into())),
            ("insertion loss,-1,,,1,,,,", 2, TableErrorKind::Negative(-1e9)),
            ("insertion loss,9,8,,1,,,,", 3, TableErrorKind::BandReversed),
            ("insertion loss,,,,,,,,", 5, TableErrorKind::NoLimit),
            ("insertion loss,,,,2 dB,,,,", 5, TableErrorKind::NotANumber("2 dB".into())),
            ("insertion loss,,,3,2,,,,", 4, TableErrorKind::LimitsCrossed),
            ("insertion loss,,,,2,1,,,", 6, TableErrorKind::LimitTwice),
            ("gain bit error,,,,,-1,,,", 6, TableErrorKind::Negative(-1.0)),
            ("insertion loss,,,,2,,3,,", 7, TableErrorKind::NoSetting),
            ("insertion loss,,,,2,,,lb,", 8, TableErrorKind::UnknownUnit("lb".into())),
            (
                "insertion loss,,,,2,,,deg,",
                8,
                TableErrorKind::OtherUnit { found: Unit::Degree, expected: Unit::Decibel },
            ),
            ("insertion loss,,,,2,,,,\"x", 9, TableErrorKind::OpenQuote),
            ("insertion loss,,,,2,,,", 9, TableErrorKind::Cells { expected: 9, found: 8 }),
        ] {
            assert_eq!(in_row(row), error(3, column, kind), "{row}");
        }
        for (text, line, column, kind) in [
            ("", 1, 1, TableErrorKind::Empty),
            ("\nfigure,colour\n", 2, 2, TableErrorKind::UnknownColumn("colour".into())),
            ("figure,from_ghz,from_mhz\n", 1, 3, TableErrorKind::ColumnTwice("from".into())),
            ("at_most\n1\n", 1, 1, TableErrorKind::NoColumn("figure")),
            ("figure,from,at_most\ninsertion loss,1,1\n", 2, 2, TableErrorKind::NoFrequencyUnit),
            ("figure,at_most,\ninsertion loss,1,x\n", 2, 3, TableErrorKind::NamelessColumn),
            (
                "figure,from,at_most,frequency_unit\ninsertion loss,1,1,THz\n",
                2,
                4,
                TableErrorKind::UnknownUnit("THz".into()),
            ),
        ] {
            assert_eq!(read_specification(text), Err(error(line, column, kind)), "{text}");
        }
        assert_eq!(in_row("loss,,,,1,,,,").to_string(), "Line 3, column 1: a figure “loss” is not known.");
    }
}
