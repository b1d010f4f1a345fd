//! The sheet and the tables as files, one exporter a file, listed in `offered`, all made from the report and its sheet.
//!
//! Text is UTF-8 with line feeds; CSV follows RFC 4180 but for that line end; numbers are never localised and read
//! back to the same double. A file that cannot be made honestly is refused with a sentence.

mod band_tables;
mod ceiling;
mod findings;
pub mod fine_plots;
mod line_plot;
mod memory;
pub mod numbers;
mod offered;
pub mod part_traces;
pub mod parts;
mod per_frequency;
pub mod plane_plot;
pub mod plots;
mod refused;
mod run_npz;
mod settings;
pub mod signal_plots;
mod states;
mod summary;
mod summary_fine;
pub mod traces;
mod view;
mod word_table;
mod word_table_h;
mod word_table_hex;

pub use band_tables::WhichTable;
pub use line_plot::LinePlot;
pub use refused::ExportRefused;
pub use run_npz::RunArchive;
pub use view::{FieldInView, View};
pub use word_table::{ChosenAt, WordTable};
pub use word_table_h::read_c_array;
pub use word_table_hex::read_memory_image;

use crate::csv;
use crate::pipeline::Report;
use crate::pipeline::protocol::{Reflections, TraceQuantity};
use crate::sheet::Sheet;
use offered::EXPORTS;

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
    /// Whether it holds nothing without an analysis.
    pub needs_analysis: bool,
    /// Whether it holds what is worked out last of all: the largest clean constellations over frequency, the comparison of
    /// the references.
    pub waits_for_all: bool,
    maker: Maker,
}

/// A file's bytes, or why there are none.
type Made = Result<Vec<u8>, ExportRefused>;

/// How a file is made.
#[derive(Clone, Copy)]
enum Maker {
    Report(fn(&Report, &Sheet) -> Made),
    /// A word table: that of the chosen frequency where nothing else is asked for.
    Table(fn(&Report, &Sheet, WhichTable) -> Made),
    Reflections(fn(&Report, &Sheet, &[Reflections]) -> Made),
    Drawing(LinePlot),
    Picture(Picture),
    Run,
}

/// A plot that takes a surface of pixels to make.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Picture {
    /// Drawn from the report alone.
    Lines(LinePlot),
    /// All states' traces as density, which workers count.
    Density(TraceQuantity),
    /// The same in a drawing, whose axes and single traces are lines and text.
    DensityDrawing(TraceQuantity),
}

/// What has to be fetched from the workers before a file can be made.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Needs {
    /// Nothing: [`make`] makes it.
    Nothing,
    /// The reflections of every state at the chosen frequency: [`make_with_reflections`] makes it.
    Reflections,
    /// A surface of pixels to draw it on.
    Picture(Picture),
    /// Everything kept of every state, one after the other: a [`RunArchive`] makes it.
    Run,
}

impl Export {
    /// Why there is no such file of a run, as a sentence; `None` where there is one.
    pub fn missing(&self, report: &Report, view: &View) -> Option<&'static str> {
        match self.maker {
            Maker::Drawing(plot) | Maker::Picture(Picture::Lines(plot)) => plot.missing(report, view),
            _ => None,
        }
    }

    /// Whether it holds a word table, and so may hold one for the band.
    pub fn is_table(&self) -> bool {
        matches!(self.maker, Maker::Table(_))
    }

    /// What has to be fetched before it can be made.
    pub fn needs(&self) -> Needs {
        match self.maker {
            Maker::Report(_) | Maker::Table(_) | Maker::Drawing(_) => Needs::Nothing,
            Maker::Picture(picture) => Needs::Picture(picture),
            Maker::Reflections(_) => Needs::Reflections,
            Maker::Run => Needs::Run,
        }
    }
}

/// Every file that can be made, in the order in which the page offers them.
pub fn exports() -> &'static [Export] {
    EXPORTS
}

/// Makes a file that needs nothing beside the report, by its name.
pub fn make(file_name: &str, report: &Report, sheet: &Sheet) -> Result<Vec<u8>, ExportRefused> {
    make_in_view(file_name, report, sheet, &View::default())
}

/// The same where the user has chosen what to look at.
pub fn make_in_view(
    file_name: &str,
    report: &Report,
    sheet: &Sheet,
    view: &View,
) -> Result<Vec<u8>, ExportRefused> {
    match named(file_name)?.maker {
        Maker::Report(make) => make(report, sheet),
        Maker::Table(make) => make(report, sheet, WhichTable::AtFrequency),
        Maker::Drawing(plot) => plot.svg(report, view),
        Maker::Picture(_) => refused::analysis_of(report).and(Err(ExportRefused::NotFetched)),
        Maker::Reflections(_) | Maker::Run => Err(ExportRefused::NotFetched),
    }
}

/// Makes a file that holds a word table, of another kind than that of the chosen frequency.
pub fn make_table(
    file_name: &str,
    which: WhichTable,
    report: &Report,
    sheet: &Sheet,
) -> Result<Vec<u8>, ExportRefused> {
    match named(file_name)?.maker {
        Maker::Table(make) => make(report, sheet, which),
        _ => make(file_name, report, sheet),
    }
}

/// Makes a file that needs the reflections of every state at the chosen frequency, in the order of the states.
pub fn make_with_reflections(
    file_name: &str,
    report: &Report,
    sheet: &Sheet,
    reflections: &[Reflections],
) -> Result<Vec<u8>, ExportRefused> {
    match named(file_name)?.maker {
        Maker::Reflections(make) => make(report, sheet, reflections),
        _ => make(file_name, report, sheet),
    }
}

fn named(file_name: &str) -> Result<&'static Export, ExportRefused> {
    let found = EXPORTS.iter().find(|export| export.file_name == file_name);
    found.ok_or_else(|| ExportRefused::UnknownFile(file_name.to_owned()))
}

impl std::fmt::Debug for Export {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Export").field("file_name", &self.file_name).finish_non_exhaustive()
    }
}
