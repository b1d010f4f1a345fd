//! Question 6: how wide and how fine does it reach?

mod fine;

pub(super) use fine::bits_text;
pub use fine::{HoleRow, hole_rows, resolution_rows};

use super::Provenance;
use super::answer::{Answer, Figure, Note};
use super::no_analysis::no_analysis_sentence;
use super::wording::{frequency, frequency_range, limit, percent, rounded_frequency};
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
    let wanted = limit(report.settings.usable_share_pct);
    let grid = &report.intake.frequency_hz;
    let centre = frequency(grid[analysis.centre]);
    let Some(band) = band else {
        let best = analysis.frequencies.iter().map(|at| at.chosen.within_both_pct).fold(0.0, f64::max);
        return format!(
            "Nowhere do the chosen words serve {wanted} % of the settings within tolerance; at best they serve {}.",
            percent(best)
        );
    };
    let (low, high) = (rounded_frequency(band.low.frequency_hz), rounded_frequency(band.high.frequency_hz));
    if band.holds_centre {
        format!(
            "Chosen afresh at each frequency, the words serve at least {wanted} % of the settings within tolerance {}, \
             around the centre at {centre}.",
            frequency_range(low, high)
        )
    } else {
        format!(
            "At the centre, {centre}, the chosen words serve only {}; the widest band in which they serve at least \
             {wanted} % reaches {}.",
            percent(analysis.frequencies[analysis.centre].chosen.within_both_pct),
            frequency_range(low, high)
        )
    }
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
        let band = usable_band(&report.intake.frequency_hz, &nominal, wanted, analysis.centre);
        notes.push(Note::remark(match band {
            Some(UsableBand { low, high, .. }) => {
                let ends = (rounded_frequency(low.frequency_hz), rounded_frequency(high.frequency_hz));
                format!("The nominal words keep the same limit {}.", frequency_range(ends.0, ends.1))
            }
            None => "The nominal words keep that limit nowhere.".to_owned(),
        }));
    }
    notes
}
