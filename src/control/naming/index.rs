//! An index beside the files: a table in CSV (RFC 4180) that gives each file its word or setting.

use super::settings::{Column, decimal_numbers, from_columns, number, unit_at_start};
use super::{Candidate, Likelihood, NameReading, NameStyle, NoReading, choose};
use crate::control::{Layout, Word};
use crate::csv::{self, OpenQuote, Row};
use std::collections::{BTreeMap, BTreeSet};

/// What an index says.
#[derive(Clone, Debug, PartialEq)]
pub struct IndexReading {
    /// The files' words and settings, and how they were read.
    pub reading: NameReading,
    /// The files in the order of the rows, as indices of the paths: the order of capture.
    pub order: Vec<usize>,
    /// Rows whose file was not offered: line and name.
    pub absent: Vec<(usize, String)>,
}

/// Why an index cannot be used. Lines count from 1.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum IndexError {
    /// There is no header row.
    Empty,
    /// The header has no column called `file`.
    NoFileColumn,
    /// The header has no other column.
    NoValueColumn,
    /// A quoted cell is not closed, or goes on after its closing quote.
    Quote {
        /// The line on which the cell begins.
        line: usize,
    },
    /// A row has another number of cells than the header.
    Cells {
        /// The row's line.
        line: usize,
        /// Cells of the header.
        expected: usize,
        /// Cells of the row.
        found: usize,
    },
    /// A cell is not a word or number.
    Value {
        /// The row's line.
        line: usize,
        /// The column's name.
        column: String,
        /// The cell.
        cell: String,
    },
    /// A file has two rows.
    FileTwice {
        /// The second row's line.
        line: usize,
        /// The file.
        file: String,
    },
    /// A file's name fits several of the files offered.
    Ambiguous {
        /// The row's line.
        line: usize,
        /// The name.
        file: String,
    },
    /// The rows make no reading.
    NoReading(NoReading),
}

impl std::fmt::Display for IndexError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Empty => write!(f, "The index is empty."),
            Self::NoFileColumn => write!(f, "Line 1: the index needs a column called “file”."),
            Self::NoValueColumn => {
                write!(f, "Line 1: the index needs a column beside “file”, such as “word” or “setting”.")
            }
            Self::Quote { line } => write!(f, "Line {line}: a quoted cell is not closed properly."),
            Self::Cells { line, expected, found } => {
                write!(f, "Line {line}: {found} cells, where the header has {expected}.")
            }
            Self::Value { line, column, cell } => {
                write!(f, "Line {line}: “{cell}” in column “{column}” is not understood.")
            }
            Self::FileTwice { line, file } => write!(f, "Line {line}: “{file}” has a row already."),
            Self::Ambiguous { line, file } => {
                write!(f, "Line {line}: “{file}” fits several files; give its folder too.")
            }
            Self::NoReading(reason) => write!(f, "{reason}"),
        }
    }
}

impl std::error::Error for IndexError {}

impl From<OpenQuote> for IndexError {
    fn from(quote: OpenQuote) -> Self {
        Self::Quote { line: quote.line }
    }
}

/// Reads an index: a header with `file` and `word`, or `file` and columns of settings, then one row for each file.
///
/// A file is named by its path below the dropped folder, or by its name alone where only one file has it. A word is
/// decimal, `0x…` or `0b…`. A setting is a number, its unit after it (`-16.5 dB`) or in the column's name (`gain_db`,
/// `phase_deg`); other columns are marks. With a `word` column the others are not read. Cells are separated as in the
/// header: by commas, else by semicolons or tabs, which some spreadsheets write instead.
pub fn read_index(text: &str, paths: &[String]) -> Result<IndexReading, IndexError> {
    let mut rows = csv::rows(text, csv::separator(text))?.into_iter();
    let header = rows.next().ok_or(IndexError::Empty)?;
    let names: Vec<String> = header.cells.iter().map(|cell| cell.trim().to_lowercase()).collect();
    let file_column = names.iter().position(|name| name == "file").ok_or(IndexError::NoFileColumn)?;
    let word_column = names.iter().position(|name| name == "word");
    let setting_columns: Vec<usize> = (0..names.len()).filter(|&column| column != file_column).collect();
    if setting_columns.is_empty() {
        return Err(IndexError::NoValueColumn);
    }
    let mut index = IndexRows { placed: Vec::new(), absent: Vec::new() };
    let by_name = paths_by_name(paths);
    let mut seen = BTreeSet::new();
    let mut placed = BTreeSet::new();
    for row in rows {
        if row.cells.len() != names.len() {
            return Err(IndexError::Cells { line: row.line, expected: names.len(), found: row.cells.len() });
        }
        let file = row.cells[file_column].clone();
        if !seen.insert(file.clone()) {
            return Err(IndexError::FileTwice { line: row.line, file });
        }
        match by_name.get(file.as_str()).map(Vec::as_slice) {
            None => index.absent.push((row.line, file)),
            Some(&[path]) if placed.insert(path) => {
                index.placed.push((path, row));
            }
            Some(&[_]) => return Err(IndexError::FileTwice { line: row.line, file }),
            Some(_) => return Err(IndexError::Ambiguous { line: row.line, file }),
        }
    }
    let candidates = if let Some(column) = word_column {
        vec![index.words(column, paths.len())?]
    } else {
        let columns: Result<Vec<Column>, IndexError> = setting_columns
            .iter()
            .map(|&column| index.settings(column, &names[column], paths.len()))
            .collect();
        from_columns(columns?, paths.len(), "The index gives each file")
    };
    let readings = choose(&candidates, index.placed.len()).map_err(IndexError::NoReading)?;
    let reading =
        readings.into_iter().next().ok_or(IndexError::NoReading(NoReading::NothingVaries { files: 0 }))?;
    let order = index.placed.iter().map(|(path, _)| *path).collect();
    Ok(IndexReading { reading, order, absent: index.absent })
}

/// Whether a text is meant as an index: its first line with anything on it has a cell `file` and another one.
pub fn looks_like_index(text: &str) -> bool {
    let header = csv::header(text);
    let cells: Vec<&str> = header.split(csv::separator(text)).collect();
    let is_file = |cell: &&str| cell.trim().trim_matches('"').trim().eq_ignore_ascii_case("file");
    cells.len() > 1 && cells.iter().any(is_file)
}

/// Every way of naming a file, with the files that it fits: a whole path fits only its own.
fn paths_by_name(paths: &[String]) -> BTreeMap<&str, Vec<usize>> {
    let mut found: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
    for (path, text) in paths.iter().enumerate() {
        if let Some((_, name)) = text.rsplit_once('/') {
            found.entry(name).or_default().push(path);
        }
    }
    for (path, text) in paths.iter().enumerate() {
        found.insert(text, vec![path]);
    }
    found
}

/// The rows whose files are there, and the others.
struct IndexRows {
    placed: Vec<(usize, Row)>,
    absent: Vec<(usize, String)>,
}

impl IndexRows {
    fn words(&self, column: usize, paths: usize) -> Result<Candidate, IndexError> {
        let mut words = vec![None; paths];
        for (path, row) in &self.placed {
            let cell = row.cells[column].trim();
            let word = word(cell).ok_or_else(|| bad_value(row, "word", cell))?;
            words[*path] = Some(Word(word));
        }
        let largest = words.iter().flatten().max().map_or(0, |word: &Word| word.0);
        Ok(Candidate {
            style: NameStyle::Decimal,
            words,
            keys: None,
            bits: Some(super::codes::bits_of_largest(largest as usize)),
            likelihood: Likelihood::Marked,
            with_folders: false,
            from_end: 0,
            sentence: "The index gives each file its word.".to_owned(),
            otherwise: String::new(),
            too_large: None,
            marks: Vec::new(),
        })
    }

    fn settings(&self, column: usize, name: &str, paths: usize) -> Result<Column, IndexError> {
        let (label, suffix) = name.rsplit_once(['_', ' ', '(']).unwrap_or((name, name));
        let mut unit = unit_at_start(suffix);
        let mut values = vec![None; paths];
        for (path, row) in &self.placed {
            let cell = row.cells[column].trim();
            let found = decimal_numbers(cell).into_iter().next().filter(|range| range.start == 0);
            let range = found.ok_or_else(|| bad_value(row, name, cell))?;
            let rest = &cell[range.end..];
            let own = unit_at_start(rest);
            let agrees = own.is_none() || unit.is_none() || own == unit;
            if !agrees || (own.is_none() && !rest.is_empty()) {
                return Err(bad_value(row, name, cell));
            }
            unit = own.or(unit);
            values[*path] = number(&cell[range]);
        }
        // Never taken for codes: those stand in a column called `word`.
        Ok(Column { label: label.to_owned(), marked: true, unit, values, whole: false })
    }
}

fn bad_value(row: &Row, column: &str, cell: &str) -> IndexError {
    IndexError::Value { line: row.line, column: column.to_owned(), cell: cell.to_owned() }
}

fn word(cell: &str) -> Option<u32> {
    let lower = cell.to_ascii_lowercase();
    let (digits, radix) = match (lower.strip_prefix("0x"), lower.strip_prefix("0b")) {
        (Some(digits), _) => (digits, 16),
        (_, Some(digits)) => (digits, 2),
        _ => (lower.as_str(), 10),
    };
    let plain = digits.bytes().all(|byte| byte.is_ascii_hexdigit());
    u32::from_str_radix(digits, radix).ok().filter(|&word| plain && word < 1 << Layout::MAX_BITS)
}

#[cfg(test)]
mod tests {
    use super::super::StateKey;
    use super::*;

    fn paths(names: &[&str]) -> Vec<String> {
        names.iter().map(|name| (*name).to_owned()).collect()
    }

    fn words(index: &IndexReading) -> Vec<Option<u32>> {
        index.reading.words.iter().map(|word| word.map(|word| word.0)).collect()
    }

    #[test]
    fn words_come_in_three_number_systems_and_the_rows_give_the_order() {
        let paths = paths(&["a.s2p", "sub/b, \"x\".s2p", "c.s2p", "notes.txt"]);
        let text = "\u{feff}File,word,remark\r\nc.s2p,0x10,\r\n\r\n\"b, \"\"x\"\".s2p\",0b11,\"two\nlines\"\r\na.s2p,7,\r\nz.s2p,1,";
        let index = read_index(text, &paths).unwrap();
        assert_eq!(words(&index), [Some(7), Some(3), Some(16), None]);
        assert_eq!(index.order, [2, 1, 0]);
        assert_eq!(index.absent, [(7, "z.s2p".to_owned())]);
        assert_eq!(index.reading.bits, Some(5));
    }

    #[test]
    fn settings_take_their_unit_from_the_cell_or_the_header() {
        let paths = paths(&["a.s2p", "b.s2p", "c.s2p"]);
        for text in [
            "file,setting\na.s2p,-16.5 dB\nb.s2p,0dB\nc.s2p,-4dB\n",
            "gain_db,file\n-16.5,a.s2p\n0,b.s2p\n-4,c.s2p\n",
        ] {
            let index = read_index(text, &paths).unwrap();
            assert_eq!(words(&index), [Some(0), Some(2), Some(1)]);
            assert_eq!(
                index.reading.keys[2],
                Some(StateKey::Setting { gain_db: Some(-4.0), phase_deg: None })
            );
        }
        let text = "file;Gain_dB\na.s2p;-16,5\nb.s2p;0,0\nc.s2p;-4,0\n";
        assert_eq!(words(&read_index(text, &paths).unwrap()), [Some(0), Some(2), Some(1)]);
        let index = read_index("file,setting\na.s2p,3\nb.s2p,1\nc.s2p,2", &paths).unwrap();
        assert_eq!(index.reading.keys[0], Some(StateKey::Marks(vec![3.0])));
    }

    #[test]
    fn an_index_is_known_by_its_header() {
        for text in ["file,word", "\u{feff}\"File\";gain_db\n", "\n\nword\t file \r\n"] {
            assert!(looks_like_index(text), "{text}");
        }
        for text in ["", "file", "files,word", "profile of the run, part 3", "torque 0.9 Nm\nfile,word"] {
            assert!(!looks_like_index(text), "{text}");
        }
    }

    #[test]
    fn faults_are_told_with_their_line() {
        let paths = paths(&["a.s2p", "b.s2p", "x/c.s2p", "y/c.s2p"]);
        let fault = |text: &str| read_index(text, &paths).unwrap_err();
        assert_eq!(fault(""), IndexError::Empty);
        assert_eq!(fault("name,word\n"), IndexError::NoFileColumn);
        assert_eq!(fault("file\n"), IndexError::NoValueColumn);
        assert_eq!(fault("file,word\na.s2p,\"1\n"), IndexError::Quote { line: 2 });
        assert_eq!(fault("file,word\na.s2p,\"1\"2\n"), IndexError::Quote { line: 2 });
        assert_eq!(fault("file,word\na.s2p\n"), IndexError::Cells { line: 2, expected: 2, found: 1 });
        let value = |line, column: &str, cell: &str| IndexError::Value {
            line,
            column: column.to_owned(),
            cell: cell.to_owned(),
        };
        for cell in ["x", "-1", "+1", "65536", "0x", "0x10000", "0b2", ""] {
            assert_eq!(fault(&format!("file,word\na.s2p,1\nb.s2p,{cell}\n")), value(3, "word", cell));
        }
        assert_eq!(fault("file,gain_db\na.s2p,-1\nb.s2p,2deg\n"), value(3, "gain_db", "2deg"));
        assert_eq!(fault("file,gain_db\na.s2p,-1\nb.s2p,n/a\n"), value(3, "gain_db", "n/a"));
        let file = || "a.s2p".to_owned();
        assert_eq!(fault("file,word\na.s2p,1\na.s2p,2\n"), IndexError::FileTwice { line: 3, file: file() });
        assert_eq!(
            fault("file,word\nc.s2p,1\n"),
            IndexError::Ambiguous { line: 2, file: "c.s2p".to_owned() }
        );
    }
}
