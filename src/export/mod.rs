//! The sheet and the tables as files, one exporter a file, all made from the report and its sheet.
//!
//! Text is UTF-8 with line feeds; CSV follows RFC 4180 but for that line end; numbers are never localised and read
//! back to the same double. A file that cannot be made honestly is refused with a sentence.

mod ceiling;
mod csv;
mod per_frequency;
mod refused;
mod settings;
mod summary;
mod word_table;
mod word_table_hex;

pub use refused::ExportRefused;
pub use word_table::{ChosenAt, WordTable};
pub use word_table_hex::read_memory_image;

use crate::pipeline::Report;
use crate::sheet::Sheet;

/// One file that can be taken away.
#[derive(Clone, Copy)]
pub struct Export {
    /// Name of the file, and accessible name of its button.
    pub file_name: &'static str,
    /// Media type for the download.
    pub media_type: &'static str,
    /// What it is for, in one line.
    pub description: &'static str,
    /// The question whose take-away it is.
    pub question: &'static str,
    make: fn(&Report, &Sheet) -> Result<Vec<u8>, ExportRefused>,
}

const EXPORTS: &[Export] = &[
    Export {
        file_name: "word-table.csv",
        media_type: "text/csv",
        description: "The nominal and the chosen word of every setting at the chosen frequency, with the errors left.",
        question: "words",
        make: word_table::make,
    },
    Export {
        file_name: "word-table.hex",
        media_type: "text/plain",
        description: "The chosen words at the chosen frequency as a memory image for $readmemh.",
        question: "words",
        make: word_table_hex::make,
    },
    Export {
        file_name: "per-frequency.csv",
        media_type: "text/csv",
        description: "Reference, errors and shares within tolerance at every frequency of the grid.",
        question: "plane",
        make: per_frequency::make,
    },
    Export {
        file_name: "summary.json",
        media_type: "application/json",
        description: "Every answer with its figures, the scores, the ladder and the provenance, for scripts.",
        question: "sheet",
        make: summary::make,
    },
    Export {
        file_name: "settings.json",
        media_type: "application/json",
        description: "Layout and settings; drop it on the page, alone or with a folder, to restore them.",
        question: "sheet",
        make: settings::make,
    },
];

/// Every file that can be made, in the order in which the page offers them.
pub fn exports() -> &'static [Export] {
    EXPORTS
}

/// Makes a file by its name.
pub fn make(file_name: &str, report: &Report, sheet: &Sheet) -> Result<Vec<u8>, ExportRefused> {
    match EXPORTS.iter().find(|export| export.file_name == file_name) {
        Some(export) => (export.make)(report, sheet),
        None => Err(ExportRefused::UnknownFile(file_name.to_owned())),
    }
}

impl std::fmt::Debug for Export {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Export").field("file_name", &self.file_name).finish_non_exhaustive()
    }
}
