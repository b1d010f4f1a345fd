//! A small table that somebody typed, and what may be wrong with it.

use super::Unit;
use crate::csv::{self, OpenQuote, Row};

/// What is wrong with a typed table, and where.
#[derive(Clone, Debug, PartialEq)]
pub struct TableError {
    /// Line from 1.
    pub line: usize,
    /// Column of the table from 1; a spreadsheet calls it A.
    pub column: usize,
    /// What is wrong.
    pub kind: TableErrorKind,
}

/// What is wrong with a cell, a row or the header.
#[derive(Clone, Debug, PartialEq)]
pub enum TableErrorKind {
    /// There is no header row.
    Empty,
    /// There is a header and no row.
    NoRows,
    /// A quoted cell is not closed, or goes on after its closing quote.
    OpenQuote,
    /// A row has another number of cells than the header.
    Cells {
        /// Cells of the header.
        expected: usize,
        /// Cells of the row.
        found: usize,
    },
    /// No column of that name is known.
    UnknownColumn(String),
    /// A column stands there twice.
    ColumnTwice(String),
    /// A column that the table needs is not there.
    NoColumn(&'static str),
    /// A cell stands in a column without a name.
    NamelessColumn,
    /// No figure of that name is known.
    UnknownFigure(String),
    /// No unit of that name is known.
    UnknownUnit(String),
    /// Another unit than it has to be.
    OtherUnit {
        /// What the cell says.
        found: Unit,
        /// What it has to be.
        expected: Unit,
    },
    /// A frequency has no unit: neither in the column's name, nor in a column `frequency_unit`.
    NoFrequencyUnit,
    /// A cell is not a number.
    NotANumber(String),
    /// A cell that has to be filled is empty.
    EmptyCell,
    /// A number that must not be negative is.
    Negative(f64),
    /// A band ends before it begins.
    BandReversed,
    /// A row limits nothing.
    NoLimit,
    /// A row has both a limit to both sides and one to one side.
    LimitTwice,
    /// The lower limit lies above the upper one.
    LimitsCrossed,
    /// A limit grows with the setting, but the figure has none.
    NoSetting,
    /// A frequency has two values.
    FrequencyTwice,
}

impl std::fmt::Display for TableError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "Line {}, column {}: {}", self.line, self.column, self.kind)
    }
}

impl std::error::Error for TableError {}

impl std::fmt::Display for TableErrorKind {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Empty => write!(f, "the table is empty; it needs a header."),
            Self::NoRows => write!(f, "the table has a header but no rows."),
            Self::OpenQuote => write!(f, "a quoted cell is not closed properly."),
            Self::Cells { expected, found } => write!(f, "{found} cells, where the header has {expected}."),
            Self::UnknownColumn(name) => write!(f, "a column “{name}” is not known."),
            Self::ColumnTwice(name) => write!(f, "the column “{name}” stands there twice."),
            Self::NoColumn(name) => write!(f, "the table needs a column “{name}”."),
            Self::NamelessColumn => write!(f, "this column has no name."),
            Self::UnknownFigure(name) => write!(f, "a figure “{name}” is not known."),
            Self::UnknownUnit(name) => write!(f, "a unit “{name}” is not known."),
            Self::OtherUnit { found, expected } => {
                write!(f, "the unit is {} and has to be {}.", found.name(), expected.name())
            }
            Self::NoFrequencyUnit => write!(
                f,
                "the frequency has no unit; put it into the column's name (such as from_ghz) or into a column \
                 “frequency_unit”."
            ),
            Self::NotANumber(cell) => write!(f, "“{cell}” is not a number."),
            Self::EmptyCell => write!(f, "this cell has to be filled."),
            Self::Negative(value) => write!(f, "{value} must not be negative."),
            Self::BandReversed => write!(f, "the band ends before it begins."),
            Self::NoLimit => write!(f, "the row has no limit; fill at_least, at_most or plus_minus."),
            Self::LimitTwice => write!(f, "plus_minus stands beside at_least or at_most; leave one empty."),
            Self::LimitsCrossed => write!(f, "at_least is above at_most."),
            Self::NoSetting => write!(f, "this figure has no setting that its limit could grow with."),
            Self::FrequencyTwice => write!(f, "this frequency has a value already."),
        }
    }
}

/// The column that gives the unit of the frequencies, row by row.
const FREQUENCY_UNIT: &str = "frequency_unit";

/// A column as its header names it.
#[derive(Clone, Debug, PartialEq)]
struct Column {
    /// In lower case, underscores between words; of a column of frequencies without the unit.
    name: String,
    /// Powers of ten of the unit of a column of frequencies, where its name has it.
    exponent: Option<i32>,
}

/// A typed table: columns by name, rows of as many cells.
#[derive(Debug)]
pub(super) struct TypedTable {
    separator: char,
    header_line: usize,
    columns: Vec<Column>,
    pub rows: Vec<Row>,
}

impl TypedTable {
    /// Takes a table apart. Beside the `frequencies`, whose names may end in a unit, only the `known` columns may be
    /// there. Cells are trimmed; rows of empty cells are passed over.
    pub(super) fn read(text: &str, frequencies: &[&str], known: &[&str]) -> Result<Self, TableError> {
        let separator = csv::separator(text);
        let open = |OpenQuote { line, column }| TableError { line, column, kind: TableErrorKind::OpenQuote };
        let mut rows = csv::rows(text, separator).map_err(open)?.into_iter();
        let header = rows.next().ok_or(TableError { line: 1, column: 1, kind: TableErrorKind::Empty })?;
        let mut table = Self { separator, header_line: header.line, columns: Vec::new(), rows: Vec::new() };
        for (index, cell) in header.cells.iter().enumerate() {
            let column = column_named(cell, frequencies);
            let error = |kind| Err(TableError { line: header.line, column: index + 1, kind });
            if !column.name.is_empty() {
                let is_frequency = frequencies.contains(&column.name.as_str());
                if !(is_frequency || column.name == FREQUENCY_UNIT || known.contains(&column.name.as_str())) {
                    return error(TableErrorKind::UnknownColumn(cell.trim().to_owned()));
                }
                if table.column(&column.name).is_some() {
                    return error(TableErrorKind::ColumnTwice(column.name));
                }
            }
            table.columns.push(column);
        }
        for mut row in rows {
            for cell in &mut row.cells {
                *cell = cell.trim().to_owned();
            }
            if row.cells.iter().all(String::is_empty) {
                continue;
            }
            let (found, expected) = (row.cells.len(), table.columns.len());
            let error = |column, kind| Err(TableError { line: row.line, column, kind });
            if found != expected {
                return error(found.min(expected) + 1, TableErrorKind::Cells { expected, found });
            }
            let nameless = (0..expected)
                .find(|&index| table.columns[index].name.is_empty() && !row.cells[index].is_empty());
            if let Some(index) = nameless {
                return error(index + 1, TableErrorKind::NamelessColumn);
            }
            table.rows.push(row);
        }
        Ok(table)
    }

    fn column(&self, name: &str) -> Option<usize> {
        self.columns.iter().position(|column| column.name == name)
    }

    /// An error at a row's cell; where the table has no such column, at the row's first.
    pub(super) fn error(&self, row: &Row, name: &str, kind: TableErrorKind) -> TableError {
        TableError { line: row.line, column: self.column(name).unwrap_or(0) + 1, kind }
    }

    /// Fails where a column that is needed is not there.
    pub(super) fn need(&self, name: &'static str) -> Result<(), TableError> {
        let kind = TableErrorKind::NoColumn(name);
        self.column(name).map(|_| ()).ok_or(TableError { line: self.header_line, column: 1, kind })
    }

    /// Where an error about the whole table stands.
    pub(super) fn error_at_header(&self, kind: TableErrorKind) -> TableError {
        TableError { line: self.header_line, column: 1, kind }
    }

    /// A cell; empty where the table has no such column.
    pub(super) fn text<'a>(&self, row: &'a Row, name: &str) -> &'a str {
        self.column(name).and_then(|index| row.cells.get(index)).map_or("", String::as_str)
    }

    /// A number; `None` of an empty cell.
    pub(super) fn number(&self, row: &Row, name: &str) -> Result<Option<f64>, TableError> {
        self.scaled(row, name, 0)
    }

    /// A number that must not be negative.
    pub(super) fn positive(&self, row: &Row, name: &str) -> Result<Option<f64>, TableError> {
        self.refuse_negative(row, name, self.number(row, name)?)
    }

    /// A frequency in hertz; `None` of an empty cell.
    pub(super) fn frequency_hz(&self, row: &Row, name: &str) -> Result<Option<f64>, TableError> {
        if self.text(row, name).is_empty() {
            return Ok(None);
        }
        let of_column = self.column(name).and_then(|index| self.columns[index].exponent);
        let unit = self.text(row, FREQUENCY_UNIT);
        let exponent = match (of_column, unit) {
            (Some(exponent), _) => exponent,
            (None, "") => return Err(self.error(row, name, TableErrorKind::NoFrequencyUnit)),
            (None, unit) => exponent_of(&unit.to_lowercase()).ok_or_else(|| {
                self.error(row, FREQUENCY_UNIT, TableErrorKind::UnknownUnit(unit.to_owned()))
            })?,
        };
        self.refuse_negative(row, name, self.scaled(row, name, exponent)?)
    }

    fn scaled(&self, row: &Row, name: &str, exponent: i32) -> Result<Option<f64>, TableError> {
        let cell = self.text(row, name);
        if cell.is_empty() {
            return Ok(None);
        }
        let not_a_number = || self.error(row, name, TableErrorKind::NotANumber(cell.to_owned()));
        csv::number(cell, self.separator, exponent).map(Some).ok_or_else(not_a_number)
    }

    fn refuse_negative(&self, row: &Row, name: &str, value: Option<f64>) -> Result<Option<f64>, TableError> {
        match value.filter(|value| *value < 0.0) {
            Some(value) => Err(self.error(row, name, TableErrorKind::Negative(value))),
            None => Ok(value),
        }
    }

    /// The unit in a cell; `None` of an empty one.
    pub(super) fn unit(&self, row: &Row, name: &str) -> Result<Option<Unit>, TableError> {
        let cell = self.text(row, name);
        let unknown = || self.error(row, name, TableErrorKind::UnknownUnit(cell.to_owned()));
        if cell.is_empty() { Ok(None) } else { Unit::named(cell).map(Some).ok_or_else(unknown) }
    }
}

/// `From (GHz)` is the column `from` in gigahertz, `% of setting` is `percent_of_setting`, `±` is `plus_minus`.
fn column_named(cell: &str, frequencies: &[&str]) -> Column {
    let spelled = cell.to_lowercase().replace('%', " percent ").replace('±', " plus minus ");
    let words: Vec<&str> =
        spelled.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
    let name = words.join("_");
    if let Some((unit, rest)) = words.split_last() {
        let rest = rest.join("_");
        if let Some(exponent) = exponent_of(unit).filter(|_| frequencies.contains(&rest.as_str())) {
            return Column { name: rest, exponent: Some(exponent) };
        }
    }
    Column { name, exponent: None }
}

fn exponent_of(unit: &str) -> Option<i32> {
    match unit {
        "hz" => Some(0),
        "khz" => Some(3),
        "mhz" => Some(6),
        "ghz" => Some(9),
        _ => None,
    }
}
