//! The sheet and the tables as files, one exporter a file, all made from the report and its sheet.
//!
//! Text is UTF-8 with line feeds; CSV follows RFC 4180 but for that line end; numbers are never localised and read
//! back to the same double. A file that cannot be made honestly is refused with a sentence.

mod band_tables;
mod ceiling;
mod findings;
mod memory;
pub mod numbers;
pub mod part_traces;
pub mod parts;
mod per_frequency;
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
pub use refused::ExportRefused;
pub use run_npz::RunArchive;
pub use view::View;
pub use word_table::{ChosenAt, WordTable};
pub use word_table_h::read_c_array;
pub use word_table_hex::read_memory_image;

use crate::csv;
use crate::pipeline::Report;
use crate::pipeline::protocol::{Reflections, TraceQuantity};
use crate::sheet::Sheet;
use plots::LinePlot;

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

/// A plot that is saved in pixels.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Picture {
    /// Drawn from the report alone.
    Lines(LinePlot),
    /// All states' traces as density, which workers count.
    Density(TraceQuantity),
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

    /// Whether it holds what is worked out last of all: the largest clean constellations over frequency, the comparison of
    /// the references.
    pub fn waits_for_all(&self) -> bool {
        let waiting = [
            "summary.json",
            "per-frequency.csv",
            "largest-constellation.svg",
            "largest-constellation.png",
            "references.svg",
            "references.png",
        ];
        waiting.contains(&self.file_name)
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

const EXPORTS: &[Export] = &[
    Export {
        file_name: "word-table.csv",
        media_type: "text/csv",
        description: "The nominal and the chosen word of every setting at the chosen frequency, with the errors left.",
        question: "words",
        needs_analysis: true,
        maker: Maker::Table(word_table::make),
    },
    Export {
        file_name: "word-table.hex",
        media_type: "text/plain",
        description: "The chosen words at the chosen frequency as a memory image for $readmemh.",
        question: "words",
        needs_analysis: true,
        maker: Maker::Table(word_table_hex::make),
    },
    Export {
        file_name: "word-table.h",
        media_type: "text/x-c",
        description: "The same words as an array of a C99 header.",
        question: "words",
        needs_analysis: true,
        maker: Maker::Table(word_table_h::make),
    },
    Export {
        file_name: "per-frequency.csv",
        media_type: "text/csv",
        description: "Reference, errors and shares within tolerance at every frequency of the grid.",
        question: "plane",
        needs_analysis: true,
        maker: Maker::Report(per_frequency::make),
    },
    Export {
        file_name: "states.csv",
        media_type: "text/csv",
        description: "Every word at the chosen frequency: nominal and measured setting, errors, return losses.",
        question: "plane",
        needs_analysis: true,
        maker: Maker::Reflections(states::make),
    },
    Export {
        file_name: "plane.svg",
        media_type: "image/svg+xml",
        description: "Every state at the chosen frequency in the gain-phase plane.",
        question: "plane",
        needs_analysis: true,
        maker: Maker::Drawing(LinePlot::Plane),
    },
    Export {
        file_name: "plane.png",
        media_type: "image/png",
        description: "The same drawing in pixels.",
        question: "plane",
        needs_analysis: true,
        maker: Maker::Picture(Picture::Lines(LinePlot::Plane)),
    },
    Export {
        file_name: "relative-gain.png",
        media_type: "image/png",
        description: "Relative gain of all states against frequency, as density.",
        question: "plane",
        needs_analysis: true,
        maker: Maker::Picture(Picture::Density(TraceQuantity::RelativeGainDb)),
    },
    Export {
        file_name: "relative-phase.png",
        media_type: "image/png",
        description: "Relative phase of all states against frequency, as density.",
        question: "plane",
        needs_analysis: true,
        maker: Maker::Picture(Picture::Density(TraceQuantity::RelativePhaseDeg)),
    },
    Export {
        file_name: "errors.svg",
        media_type: "image/svg+xml",
        description: "RMS vector error of the three mappings against frequency.",
        question: "words",
        needs_analysis: true,
        maker: Maker::Drawing(LinePlot::Errors),
    },
    Export {
        file_name: "errors.png",
        media_type: "image/png",
        description: "The same drawing in pixels.",
        question: "words",
        needs_analysis: true,
        maker: Maker::Picture(Picture::Lines(LinePlot::Errors)),
    },
    Export {
        file_name: "references.svg",
        media_type: "image/svg+xml",
        description: "RMS vector error of the words chosen under every reference against frequency.",
        question: "words",
        needs_analysis: true,
        maker: Maker::Drawing(LinePlot::References),
    },
    Export {
        file_name: "references.png",
        media_type: "image/png",
        description: "The same drawing in pixels.",
        question: "words",
        needs_analysis: true,
        maker: Maker::Picture(Picture::Lines(LinePlot::References)),
    },
    Export {
        file_name: "share-within-tolerance.svg",
        media_type: "image/svg+xml",
        description: "Settings within both tolerances against frequency.",
        question: "words",
        needs_analysis: true,
        maker: Maker::Drawing(LinePlot::Share),
    },
    Export {
        file_name: "share-within-tolerance.png",
        media_type: "image/png",
        description: "The same drawing in pixels.",
        question: "words",
        needs_analysis: true,
        maker: Maker::Picture(Picture::Lines(LinePlot::Share)),
    },
    Export {
        file_name: "frequency-strip.svg",
        media_type: "image/svg+xml",
        description: "The share that the chosen words serve within tolerance, along the frequency axis.",
        question: "words",
        needs_analysis: true,
        maker: Maker::Drawing(LinePlot::Strip),
    },
    Export {
        file_name: "frequency-strip.png",
        media_type: "image/png",
        description: "The same drawing in pixels.",
        question: "words",
        needs_analysis: true,
        maker: Maker::Picture(Picture::Lines(LinePlot::Strip)),
    },
    Export {
        file_name: "bit-weights.svg",
        media_type: "image/svg+xml",
        description: "What each bit does, nominal against measured.",
        question: "came-in",
        needs_analysis: true,
        maker: Maker::Drawing(LinePlot::BitWeights),
    },
    Export {
        file_name: "bit-weights.png",
        media_type: "image/png",
        description: "The same drawing in pixels.",
        question: "came-in",
        needs_analysis: true,
        maker: Maker::Picture(Picture::Lines(LinePlot::BitWeights)),
    },
    Export {
        file_name: "code-traces.svg",
        media_type: "image/svg+xml",
        description: "Relative gain or phase of the field's codes against frequency, with their limits.",
        question: "parts",
        needs_analysis: true,
        maker: Maker::Drawing(LinePlot::CodeTraces),
    },
    Export {
        file_name: "code-traces.png",
        media_type: "image/png",
        description: "The same drawing in pixels.",
        question: "parts",
        needs_analysis: true,
        maker: Maker::Picture(Picture::Lines(LinePlot::CodeTraces)),
    },
    Export {
        file_name: "error-map.svg",
        media_type: "image/svg+xml",
        description: "The state error of every code of the field at every frequency.",
        question: "parts",
        needs_analysis: true,
        maker: Maker::Drawing(LinePlot::ErrorMap),
    },
    Export {
        file_name: "error-map.png",
        media_type: "image/png",
        description: "The same drawing in pixels.",
        question: "parts",
        needs_analysis: true,
        maker: Maker::Picture(Picture::Lines(LinePlot::ErrorMap)),
    },
    Export {
        file_name: "state-errors.svg",
        media_type: "image/svg+xml",
        description: "The state error of every code of the field at the chosen frequency.",
        question: "parts",
        needs_analysis: true,
        maker: Maker::Drawing(LinePlot::StateErrors),
    },
    Export {
        file_name: "state-errors.png",
        media_type: "image/png",
        description: "The same drawing in pixels.",
        question: "parts",
        needs_analysis: true,
        maker: Maker::Picture(Picture::Lines(LinePlot::StateErrors)),
    },
    Export {
        file_name: "cross-effects.svg",
        media_type: "image/svg+xml",
        description: "What every code of the field does to the other quantity.",
        question: "parts",
        needs_analysis: true,
        maker: Maker::Drawing(LinePlot::CrossEffects),
    },
    Export {
        file_name: "cross-effects.png",
        media_type: "image/png",
        description: "The same drawing in pixels.",
        question: "parts",
        needs_analysis: true,
        maker: Maker::Picture(Picture::Lines(LinePlot::CrossEffects)),
    },
    Export {
        file_name: "field-figure.svg",
        media_type: "image/svg+xml",
        description: "The figure looked at against frequency.",
        question: "parts",
        needs_analysis: true,
        maker: Maker::Drawing(LinePlot::FieldFigure),
    },
    Export {
        file_name: "field-figure.png",
        media_type: "image/png",
        description: "The same drawing in pixels.",
        question: "parts",
        needs_analysis: true,
        maker: Maker::Picture(Picture::Lines(LinePlot::FieldFigure)),
    },
    Export {
        file_name: "resolution-map.svg",
        media_type: "image/svg+xml",
        description: "Settings served at the chosen frequency, for so many bits of gain and phase kept.",
        question: "reach",
        needs_analysis: true,
        maker: Maker::Drawing(LinePlot::Resolution),
    },
    Export {
        file_name: "resolution-map.png",
        media_type: "image/png",
        description: "The same drawing in pixels.",
        question: "reach",
        needs_analysis: true,
        maker: Maker::Picture(Picture::Lines(LinePlot::Resolution)),
    },
    Export {
        file_name: "clean-bits.svg",
        media_type: "image/svg+xml",
        description: "The most bits of which all settings are served, against frequency.",
        question: "reach",
        needs_analysis: true,
        maker: Maker::Drawing(LinePlot::CleanBits),
    },
    Export {
        file_name: "clean-bits.png",
        media_type: "image/png",
        description: "The same drawing in pixels.",
        question: "reach",
        needs_analysis: true,
        maker: Maker::Picture(Picture::Lines(LinePlot::CleanBits)),
    },
    Export {
        file_name: "constellation.svg",
        media_type: "image/svg+xml",
        description: "The constellation looked at with the states that make its points.",
        question: "use",
        needs_analysis: true,
        maker: Maker::Drawing(LinePlot::Constellation),
    },
    Export {
        file_name: "constellation.png",
        media_type: "image/png",
        description: "The same drawing in pixels.",
        question: "use",
        needs_analysis: true,
        maker: Maker::Picture(Picture::Lines(LinePlot::Constellation)),
    },
    Export {
        file_name: "evm.svg",
        media_type: "image/svg+xml",
        description: "The error vector magnitude of every constellation beside its guide limit.",
        question: "use",
        needs_analysis: true,
        maker: Maker::Drawing(LinePlot::Evm),
    },
    Export {
        file_name: "evm.png",
        media_type: "image/png",
        description: "The same drawing in pixels.",
        question: "use",
        needs_analysis: true,
        maker: Maker::Picture(Picture::Lines(LinePlot::Evm)),
    },
    Export {
        file_name: "largest-constellation.svg",
        media_type: "image/svg+xml",
        description: "The largest clean constellation against frequency.",
        question: "use",
        needs_analysis: true,
        maker: Maker::Drawing(LinePlot::LargestClean),
    },
    Export {
        file_name: "largest-constellation.png",
        media_type: "image/png",
        description: "The same drawing in pixels.",
        question: "use",
        needs_analysis: true,
        maker: Maker::Picture(Picture::Lines(LinePlot::LargestClean)),
    },
    Export {
        file_name: "findings.csv",
        media_type: "text/csv",
        description: "Files left out, missing words and warnings.",
        question: "sheet",
        needs_analysis: false,
        maker: Maker::Report(findings::make),
    },
    Export {
        file_name: "run.npz",
        media_type: "application/zip",
        description: "All S-parameters of the run as NumPy arrays; opens in a script, and drops back on the page in seconds.",
        question: "sheet",
        needs_analysis: false,
        maker: Maker::Run,
    },
    Export {
        file_name: "summary.json",
        media_type: "application/json",
        description: "Every answer with its figures, the scores, the ladder and the provenance, for scripts.",
        question: "sheet",
        needs_analysis: false,
        maker: Maker::Report(summary::make),
    },
    Export {
        file_name: "settings.json",
        media_type: "application/json",
        description: "Layout and settings; drop it on the page, alone or with a folder, to restore them.",
        question: "sheet",
        needs_analysis: false,
        maker: Maker::Report(settings::make),
    },
];

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
        Maker::Report(make) => make(report, sheet),
        Maker::Table(make) => make(report, sheet, WhichTable::AtFrequency),
        Maker::Drawing(plot) => plot.svg(report, &View::default()),
        Maker::Reflections(make) => make(report, sheet, reflections),
        Maker::Picture(_) => refused::analysis_of(report).and(Err(ExportRefused::NotFetched)),
        Maker::Run => Err(ExportRefused::NotFetched),
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
