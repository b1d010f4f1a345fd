//! Tables as comma-separated text (RFC 4180): cells to be written, with line feeds, and rows as spreadsheets write them.
//!
//! It knows nothing of what a table holds; what its columns mean is said where they are read and written.

mod read;
mod write;

pub use read::{OpenQuote, Row, header, number, rows, separator};
pub use write::{push_number, push_number_cell, text_cell};
