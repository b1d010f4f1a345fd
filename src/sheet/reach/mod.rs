//! Question 6: how wide and how fine does it reach?

mod fine;

pub(super) use fine::bits_text;
pub use fine::{HoleRow, hole_rows, resolution_rows};

use super::Provenance;
use super::answer::{Answer, Figure, Note};
use super::no_analysis::no_analysis_sentence;
use super::wording::{exact, frequency, interpolated_range, percent, whole};
use crate::pipeline::{Analysis, Report};
use crate::reach::{UsableBand, usable_band};

pub(super) fn answer(report: &Report, _provenance: &Provenance) -> Answer {
    let (sentence, figures, notes) = match &report.analysis {
        Ok(analysis) => {
            let band = usable_band_of(report, analysis);
            let wide = sentence(report, analysis, band.as_ref());
            let fine = fine::sentence(report, analysis);
            (
                [wide].into_iter().chain(fine).collect::<Vec<_>>().join(" "),
                [figures(band.as_ref()), fine::figures(report, analysis)].concat(),
                [notes(report, analysis, band.as_ref()), fine::notes(report, analysis)].concat(),
            )
        }
        Err(reason) => {
            (format!("No band can be given. {}", no_analysis_sentence(reason)), Vec::new(), Vec::new())
        }
    };
    Answer {
        key: "reach",
        number: 6,
        question: "How wide and how fine does it reach?",
        sentence,
        verdict: None,
        figures,
        notes,
    }
}

/// Where the chosen words keep the share that the settings ask for.
pub fn usable_band_of(report: &Report, analysis: &Analysis) -> Option<UsableBand> {
    let share: Vec<f64> = analysis.frequencies.iter().map(|at| at.chosen.within_both_pct).collect();
    usable_band(&report.intake.frequency_hz, &share, report.settings.usable_share_pct, analysis.centre)
}

fn sentence(report: &Report, analysis: &Analysis, band: Option<&UsableBand>) -> String {
    let wanted = exact(report.settings.usable_share_pct);
    let grid = &report.intake.frequency_hz;
    let centre = frequency(grid[analysis.centre]);
    let Some(band) = band else {
        let best = analysis.frequencies.iter().map(|at| at.chosen.within_both_pct).fold(0.0, f64::max);
        return format!(
            "Nowhere do the chosen words serve {wanted} % of the settings within tolerance; at best they serve {}.",
            percent(best)
        );
    };
    let range = range(band);
    if band.holds_centre {
        format!(
            "Chosen afresh at each frequency, the words serve at least {wanted} % of the settings within tolerance \
             {range}, around the centre at {centre}."
        )
    } else {
        format!(
            "At the centre, {centre}, the chosen words serve only {}; the widest band in which they serve at least \
             {wanted} % reaches {range}.",
            percent(analysis.frequencies[analysis.centre].chosen.within_both_pct)
        )
    }
}

fn range(band: &UsableBand) -> String {
    interpolated_range(band.low.frequency_hz, band.high.frequency_hz)
}

fn figures(band: Option<&UsableBand>) -> Vec<Figure> {
    band.map_or_else(Vec::new, |band| {
        vec![
            Figure::hertz("usable_band_low_hz", "Usable band from", band.low.frequency_hz),
            Figure::hertz("usable_band_high_hz", "Usable band to", band.high.frequency_hz),
        ]
    })
}

fn notes(report: &Report, analysis: &Analysis, band: Option<&UsableBand>) -> Vec<Note> {
    let mut notes = Vec::new();
    if let Some(band) = band {
        let ends = [(band.low, "lower"), (band.high, "upper")];
        let open: Vec<&str> = ends.iter().filter(|(edge, _)| edge.grid_ends).map(|&(_, name)| name).collect();
        match open.as_slice() {
            [] => notes.push(Note::remark("Both ends are interpolated between the measured frequencies.")),
            [name] => notes.push(Note::attention(format!(
                "At the {name} end the measurement stops before the limit is reached; the band may go on."
            ))),
            _ => notes.push(Note::attention(
                "The measurement stops at both ends before the limit is reached; the band may go on.",
            )),
        }
    }
    // A run without nominal settings has no nominal words to compare with.
    let nominal: Option<Vec<f64>> =
        analysis.frequencies.iter().map(|at| at.nominal.map(|score| score.within_both_pct)).collect();
    if let Some(nominal) = nominal {
        let wanted = report.settings.usable_share_pct;
        let bands = widest_first(&report.intake.frequency_hz, nominal, wanted);
        let serve = format!("The nominal words serve at least {} % of the settings", exact(wanted));
        notes.push(Note::remark(match bands.as_slice() {
            [] => format!("{serve} nowhere."),
            [only] => format!("{serve} in one band, {}.", range(only)),
            [widest, ..] => {
                format!("{serve} in {} bands, the widest {}.", whole(bands.len()), range(widest))
            }
        }));
    }
    notes
}

/// Every band in which a share keeps its limit.
fn widest_first(frequency_hz: &[f64], mut share_pct: Vec<f64>, limit_pct: f64) -> Vec<UsableBand> {
    // Without a centre the widest is found, so that each is the widest of those that are left.
    const NO_CENTRE: usize = usize::MAX;
    let mut bands = Vec::new();
    while let Some(band) = usable_band(frequency_hz, &share_pct, limit_pct, NO_CENTRE) {
        let found = band.low.frequency_hz..=band.high.frequency_hz;
        for (share, _) in share_pct.iter_mut().zip(frequency_hz).filter(|(_, hz)| found.contains(hz)) {
            *share = f64::NEG_INFINITY;
        }
        bands.push(band);
    }
    bands
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: 90 is crossed halfway between 1 and 2, kept at 5 to 7 alone, and left a quarter of the way from 3 to 4.
    #[test]
    fn all_bands_are_found_the_widest_first() {
        let grid = [1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0];
        let share = vec![80.0, 100.0, 95.0, 75.0, 90.0, 95.0, 90.0, 0.0, 92.0];
        let ends = |band: &UsableBand| (band.low.frequency_hz, band.high.frequency_hz);
        let bands: Vec<(f64, f64)> = widest_first(&grid, share, 90.0).iter().map(ends).collect();
        assert_eq!(bands[..2], [(5.0, 7.0), (1.5, 3.25)]);
        assert_eq!(bands.len(), 3);
        assert_eq!(widest_first(&grid, vec![89.0; 9], 90.0), []);
    }
}
