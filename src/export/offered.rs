//! The files that the page offers, in its order.

use super::line_plot::LinePlot;
use super::{
    Export, Maker, Picture, findings, per_frequency, settings, states, summary, word_table, word_table_h,
    word_table_hex,
};
use crate::pipeline::protocol::TraceQuantity;

pub(super) const EXPORTS: &[Export] = &[
    Export {
        file_name: "word-table.csv",
        media_type: "text/csv",
        description: "The nominal and the chosen word of every setting at the chosen frequency, with the errors left.",
        question: "words",
        needs_analysis: true,
        waits_for_all: false,
        maker: Maker::Table(word_table::make),
    },
    Export {
        file_name: "word-table.hex",
        media_type: "text/plain",
        description: "The chosen words at the chosen frequency as a memory image for $readmemh.",
        question: "words",
        needs_analysis: true,
        waits_for_all: false,
        maker: Maker::Table(word_table_hex::make),
    },
    Export {
        file_name: "word-table.h",
        media_type: "text/x-c",
        description: "The same words as an array of a C99 header.",
        question: "words",
        needs_analysis: true,
        waits_for_all: false,
        maker: Maker::Table(word_table_h::make),
    },
    Export {
        file_name: "per-frequency.csv",
        media_type: "text/csv",
        description: "Reference, errors and shares within tolerance at every frequency of the grid.",
        question: "words",
        needs_analysis: true,
        waits_for_all: true,
        maker: Maker::Report(per_frequency::make),
    },
    Export {
        file_name: "states.csv",
        media_type: "text/csv",
        description: "Every word at the chosen frequency: nominal and measured setting, errors, return losses.",
        question: "plane",
        needs_analysis: true,
        waits_for_all: false,
        maker: Maker::Reflections(states::make),
    },
    drawing(
        "plane.svg",
        "Every state at the chosen frequency in the gain-phase plane.",
        "plane",
        LinePlot::Plane,
    ),
    in_pixels("plane.png", "plane", LinePlot::Plane),
    density_drawing(
        "relative-gain.svg",
        "Relative gain of all states against frequency, as density.",
        TraceQuantity::RelativeGainDb,
    ),
    density_in_pixels("relative-gain.png", TraceQuantity::RelativeGainDb),
    density_drawing(
        "relative-phase.svg",
        "Relative phase of all states against frequency, as density.",
        TraceQuantity::RelativePhaseDeg,
    ),
    density_in_pixels("relative-phase.png", TraceQuantity::RelativePhaseDeg),
    drawing("errors.svg", "RMS vector error of the mappings against frequency.", "words", LinePlot::Errors),
    in_pixels("errors.png", "words", LinePlot::Errors),
    drawing(
        "references.svg",
        "RMS vector error of the words chosen under every reference against frequency.",
        "words",
        LinePlot::References,
    )
    .after_all_else(),
    in_pixels("references.png", "words", LinePlot::References).after_all_else(),
    drawing(
        "share-within-tolerance.svg",
        "Settings within tolerance against frequency.",
        "words",
        LinePlot::Share,
    ),
    in_pixels("share-within-tolerance.png", "words", LinePlot::Share),
    drawing(
        "frequency-strip.svg",
        "The share that the chosen words serve within tolerance, along the frequency axis.",
        "reach",
        LinePlot::Strip,
    ),
    in_pixels("frequency-strip.png", "reach", LinePlot::Strip),
    drawing(
        "bit-weights.svg",
        "What each bit does, nominal against measured.",
        "trust",
        LinePlot::BitWeights,
    ),
    in_pixels("bit-weights.png", "trust", LinePlot::BitWeights),
    drawing(
        "code-traces.svg",
        "Relative gain or phase of the field's codes against frequency, with their limits.",
        "parts",
        LinePlot::CodeTraces,
    ),
    in_pixels("code-traces.png", "parts", LinePlot::CodeTraces),
    drawing(
        "error-map.svg",
        "The state error of every code of the field at every frequency.",
        "parts",
        LinePlot::ErrorMap,
    ),
    in_pixels("error-map.png", "parts", LinePlot::ErrorMap),
    drawing(
        "state-errors.svg",
        "The state error of every code of the field at the chosen frequency.",
        "parts",
        LinePlot::StateErrors,
    ),
    in_pixels("state-errors.png", "parts", LinePlot::StateErrors),
    drawing(
        "cross-effects.svg",
        "What every code of the field does to the other quantity.",
        "parts",
        LinePlot::CrossEffects,
    ),
    in_pixels("cross-effects.png", "parts", LinePlot::CrossEffects),
    drawing("field-figure.svg", "The figure looked at against frequency.", "parts", LinePlot::FieldFigure),
    in_pixels("field-figure.png", "parts", LinePlot::FieldFigure),
    drawing(
        "typical-difference.svg",
        "How far the measurement lies from the typical curve, against frequency.",
        "parts",
        LinePlot::TypicalDifference,
    ),
    in_pixels("typical-difference.png", "parts", LinePlot::TypicalDifference),
    drawing(
        "resolution-map.svg",
        "Settings served at the chosen frequency, for so many bits of gain and phase kept.",
        "reach",
        LinePlot::Resolution,
    ),
    in_pixels("resolution-map.png", "reach", LinePlot::Resolution),
    drawing(
        "clean-bits.svg",
        "The most bits of which all settings are served, against frequency.",
        "reach",
        LinePlot::CleanBits,
    ),
    in_pixels("clean-bits.png", "reach", LinePlot::CleanBits),
    drawing(
        "constellation.svg",
        "The constellation looked at with the states that make its points.",
        "use",
        LinePlot::Constellation,
    ),
    in_pixels("constellation.png", "use", LinePlot::Constellation),
    drawing(
        "evm.svg",
        "The error vector magnitude of every constellation beside its guide limit.",
        "use",
        LinePlot::Evm,
    ),
    in_pixels("evm.png", "use", LinePlot::Evm),
    drawing(
        "largest-constellation.svg",
        "The largest clean constellation against frequency.",
        "use",
        LinePlot::LargestClean,
    )
    .after_all_else(),
    in_pixels("largest-constellation.png", "use", LinePlot::LargestClean).after_all_else(),
    Export {
        file_name: "findings.csv",
        media_type: "text/csv",
        description: "Files left out, missing words and warnings.",
        question: "sheet",
        needs_analysis: false,
        waits_for_all: false,
        maker: Maker::Report(findings::make),
    },
    Export {
        file_name: "run.npz",
        media_type: "application/zip",
        description: "All S-parameters of the run as NumPy arrays; opens in a script, and drops back on the page in seconds.",
        question: "sheet",
        needs_analysis: false,
        waits_for_all: false,
        maker: Maker::Run,
    },
    Export {
        file_name: "summary.json",
        media_type: "application/json",
        description: "Every answer with its figures, the scores, the ladder and the provenance, for scripts.",
        question: "sheet",
        needs_analysis: false,
        waits_for_all: true,
        maker: Maker::Report(summary::make),
    },
    Export {
        file_name: "settings.json",
        media_type: "application/json",
        description: "Layout and settings; drop it on the page, alone or with a folder, to restore them.",
        question: "sheet",
        needs_analysis: false,
        waits_for_all: false,
        maker: Maker::Report(settings::make),
    },
];

/// A plot, which is there as soon as there is an analysis.
const fn plot(
    file_name: &'static str,
    media_type: &'static str,
    description: &'static str,
    question: &'static str,
    maker: Maker,
) -> Export {
    Export { file_name, media_type, description, question, needs_analysis: true, waits_for_all: false, maker }
}

/// A plot of lines as SVG.
const fn drawing(
    file_name: &'static str,
    description: &'static str,
    question: &'static str,
    drawn: LinePlot,
) -> Export {
    plot(file_name, "image/svg+xml", description, question, Maker::Drawing(drawn))
}

/// The same plot as PNG.
const fn in_pixels(file_name: &'static str, question: &'static str, drawn: LinePlot) -> Export {
    plot(file_name, "image/png", IN_PIXELS, question, Maker::Picture(Picture::Lines(drawn)))
}

/// A density, whose traces workers count, as SVG.
const fn density_drawing(
    file_name: &'static str,
    description: &'static str,
    quantity: TraceQuantity,
) -> Export {
    plot(file_name, "image/svg+xml", description, "plane", Maker::Picture(Picture::DensityDrawing(quantity)))
}

/// The same density as PNG.
const fn density_in_pixels(file_name: &'static str, quantity: TraceQuantity) -> Export {
    plot(file_name, "image/png", IN_PIXELS, "plane", Maker::Picture(Picture::Density(quantity)))
}

const IN_PIXELS: &str = "The same drawing in pixels.";

impl Export {
    const fn after_all_else(self) -> Self {
        Self { waits_for_all: true, ..self }
    }
}
