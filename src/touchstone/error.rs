//! That a file was refused, and where.

use super::cursor::Place;
pub(super) use super::error_kind::ReadErrorKind;
use std::fmt;

/// Why a file could not be read. Displays as one sentence that names the file and the place, says what happened
/// and what to do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ReadError {
    /// The file's name as it was given to the reader.
    pub file: String,
    /// Line from 1, where one line is to blame.
    pub line: Option<usize>,
    /// Column from 1, counted in bytes, where one place in that line is to blame.
    pub column: Option<usize>,
    /// What happened. Displays as a sentence without file and place.
    pub kind: ReadErrorKind,
}

impl ReadError {
    /// The sentence without the file's name: "Line 12, column 5: …".
    pub fn sentence(&self) -> String {
        match (self.line, self.column) {
            (Some(line), Some(column)) => format!("Line {line}, column {column}: {}", self.kind),
            (Some(line), None) => format!("Line {line}: {}", self.kind),
            _ => self.kind.to_string(),
        }
    }
}

impl fmt::Display for ReadError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.file)?;
        if let Some(line) = self.line {
            write!(f, ", line {line}")?;
        }
        if let Some(column) = self.column {
            write!(f, ", column {column}")?;
        }
        write!(f, ": {}", self.kind)
    }
}

impl std::error::Error for ReadError {}

/// A [`ReadError`] that does not know its file yet.
#[derive(Debug)]
pub(super) struct Fault {
    pub(super) line: Option<usize>,
    pub(super) column: Option<usize>,
    pub(super) kind: ReadErrorKind,
}

impl Fault {
    pub(super) fn at((line, column): Place, kind: ReadErrorKind) -> Self {
        Self { line: Some(line), column: Some(column), kind }
    }

    pub(super) fn on_line(line: usize, kind: ReadErrorKind) -> Self {
        Self { line: Some(line), column: None, kind }
    }

    pub(super) fn of_file(kind: ReadErrorKind) -> Self {
        Self { line: None, column: None, kind }
    }

    pub(super) fn in_file(self, file: &str) -> ReadError {
        ReadError { file: file.to_owned(), line: self.line, column: self.column, kind: self.kind }
    }
}
