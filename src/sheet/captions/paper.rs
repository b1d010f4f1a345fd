//! Under the plots of the sheet, where room is short and nothing can be asked.

use crate::pipeline::{Analysis, Report};
use crate::sheet::wording::frequency;

/// Of the gain-phase plane.
pub fn plane_on_paper(report: &Report, analysis: &Analysis) -> String {
    let here = frequency(report.intake.frequency_hz[analysis.service.index]);
    let has_holes = report.reach.here.as_ref().is_some_and(|here| !here.holes.is_empty());
    let holes = if has_holes { "; diamonds: holes" } else { "" };
    format!("Every state at {here}. Ring: the reference; hue: phase; lightness: gain{holes}.")
}

/// Of the resolution map.
pub fn resolution_on_paper(report: &Report, analysis: &Analysis) -> String {
    let here = frequency(report.intake.frequency_hz[analysis.service.index]);
    format!("Percent of settings served at {here} with so many bits kept; shaded: all.")
}
