//! Question 4: where do the states land in the gain-phase plane at the chosen frequency?

use super::Provenance;
use super::answer::{Answer, Figure, Note};
use super::ladder::against_zero_word;
use super::no_analysis::no_analysis_sentence;
use super::provenance::{the_reference, zero_word_name};
use super::wording::{
    bits, counted, decibels, degrees, exact, frequency, ratio_percent, rounded, signed_range,
};
use crate::control::Quantity;
use crate::pipeline::{Analysis, Report};
use crate::plane::wrap_deg;

pub(super) fn answer(report: &Report, _provenance: &Provenance) -> Answer {
    let (sentence, figures, notes) = match &report.analysis {
        Ok(analysis) => {
            let extent = Extent::of(analysis);
            let at_hz = report.intake.frequency_hz[analysis.service.index];
            (sentence(analysis, &extent, at_hz), figures(analysis, &extent), notes(report, analysis))
        }
        Err(reason) => {
            (format!("No state can be placed. {}", no_analysis_sentence(reason)), Vec::new(), Vec::new())
        }
    };
    Answer {
        key: "plane",
        number: 4,
        question: "Where do the states land?",
        sentence,
        verdict: None,
        figures,
        notes,
    }
}

/// How far the states reach, beside how far the nominal settings do.
struct Extent {
    lowest_db: f64,
    highest_db: f64,
    nominal_lowest_db: f64,
    nominal_highest_db: f64,
    largest_gap_deg: f64,
    nominal_largest_gap_deg: f64,
    nominal_smallest_gap_deg: f64,
}

impl Extent {
    fn of(analysis: &Analysis) -> Self {
        let relative = || analysis.service.transmission.iter().map(|t| t / analysis.service.reference);
        let settings = || analysis.targets.iter().map(|target| target.setting);
        let (lowest_db, highest_db) = bounds(relative().map(|g| 20.0 * g.norm().log10()));
        let (nominal_lowest_db, nominal_highest_db) = bounds(settings().map(|s| s.gain_db));
        Self {
            lowest_db,
            highest_db,
            nominal_lowest_db,
            nominal_highest_db,
            largest_gap_deg: largest_gap_deg(relative().map(|g| g.arg().to_degrees()).collect()),
            nominal_largest_gap_deg: largest_gap_deg(settings().map(|s| wrap_deg(s.phase_deg)).collect()),
            nominal_smallest_gap_deg: analysis.model.finest_step(Quantity::Phase).unwrap_or(360.0),
        }
    }

    /// The arc that the states' phases cover: the circle without its largest gap.
    fn coverage_deg(&self) -> f64 {
        360.0 - self.largest_gap_deg
    }

    /// The settings go round the circle: their largest gap is no more than a half turn, nor than two steps.
    fn is_ring(&self) -> bool {
        self.nominal_largest_gap_deg <= 180.0_f64.min(2.0 * self.nominal_smallest_gap_deg) + 1e-9
    }
}

fn bounds(values: impl Iterator<Item = f64>) -> (f64, f64) {
    values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| (low.min(value), high.max(value)))
}

/// The widest arc without a state, over the closed circle; 360° where all phases agree.
fn largest_gap_deg(mut phases_deg: Vec<f64>) -> f64 {
    phases_deg.sort_by(f64::total_cmp);
    let (Some(first), Some(last)) = (phases_deg.first(), phases_deg.last()) else { return 360.0 };
    let closing = first + 360.0 - last;
    phases_deg.windows(2).map(|pair| pair[1] - pair[0]).fold(closing, f64::max)
}

fn sentence(analysis: &Analysis, extent: &Extent, at_hz: f64) -> String {
    let ideal = if analysis.model.has_nominal() { "ideal" } else { "wanted" };
    format!(
        "At {} the {} {} and {}; {}.",
        frequency(at_hz),
        counted(analysis.service.transmission.len(), "state", "states"),
        gain_clause(extent, ideal),
        phase_clause(extent, ideal),
        given_up(analysis)
    )
}

fn gain_clause(extent: &Extent, ideal: &str) -> String {
    if extent.nominal_lowest_db == extent.nominal_highest_db {
        let spread_db = extent.highest_db - extent.lowest_db;
        return format!("spread over {} in gain ({ideal} none)", decibels(spread_db));
    }
    format!(
        "reach from {} dB ({ideal} {} to {} dB)",
        signed_range(extent.lowest_db, extent.highest_db),
        exact(extent.nominal_lowest_db),
        exact(extent.nominal_highest_db)
    )
}

fn phase_clause(extent: &Extent, ideal: &str) -> String {
    let ideal_deg = 360.0 - extent.nominal_largest_gap_deg;
    let ideal_gap_deg = extent.nominal_largest_gap_deg;
    if extent.is_ring() && extent.largest_gap_deg > 2.0 * ideal_gap_deg * (1.0 + 1e-9) {
        // Twice a step is the least that a state which is missing leaves.
        format!(
            "leave a gap in phase of {} ({ideal} step {}°)",
            degrees(extent.largest_gap_deg),
            exact(ideal_gap_deg)
        )
    } else if extent.is_ring() {
        format!(
            "go round the circle with no gap in phase wider than {} ({ideal} {}°)",
            degrees(extent.largest_gap_deg),
            exact(ideal_gap_deg)
        )
    } else if ideal_deg == 0.0 {
        format!("spread over {} in phase ({ideal} none)", degrees(extent.coverage_deg()))
    } else {
        format!("cover {} in phase ({ideal} {}°)", degrees(extent.coverage_deg()), exact(ideal_deg))
    }
}

fn given_up(analysis: &Analysis) -> String {
    let name = the_reference(analysis.reference, &analysis.model);
    let zero_word = zero_word_name(&analysis.model);
    match analysis.frequencies[analysis.service.index].gain_given_up_db {
        Some(db) if rounded(db) == "0" => format!("the reference, {name}, gives up no gain"),
        Some(db) if db < 0.0 => format!("the reference, {name}, gives up {} of gain", decibels(-db)),
        Some(db) => format!("the reference, {name}, lies {} above the {zero_word}", decibels(db)),
        None => {
            format!("what gain the reference, {name}, gives up cannot be told, as the {zero_word} is missing")
        }
    }
}

fn notes(report: &Report, analysis: &Analysis) -> Vec<Note> {
    let at = &analysis.frequencies[analysis.service.index];
    let mut notes = Vec::new();
    notes.extend(at.nominal.zip(at.nominal_spread).map(|(nominal, spread)| Note::remark(format!(
        "Against their nominal places the states are off by {} and {} RMS ({} and {} about their mean), {} of each \
         setting's own magnitude.",
        decibels(nominal.rms_gain_error_db),
        degrees(nominal.rms_phase_error_deg),
        decibels(spread.gain_error_db),
        degrees(spread.phase_error_deg),
        ratio_percent(nominal.rms_vector_error)
    ))));
    let part = |resolves: Option<f64>, what: &str| {
        resolves.map(|resolves| format!("{what} as finely as an ideal part of {}", bits(resolves)))
    };
    let resolved: Vec<String> =
        [part(at.gain_effective_bits, "gain"), part(at.phase_effective_bits, "phase")]
            .into_iter()
            .flatten()
            .collect();
    if !resolved.is_empty() {
        notes.push(Note::remark(format!(
            "With the other fields at code 0 the states resolve {}.",
            super::wording::joined(&resolved)
        )));
    }
    if report.settings.reference != analysis.reference {
        notes.push(Note::attention(format!(
            "The reference asked for, {}, needs a word that did not come in; {} is used instead.",
            the_reference(report.settings.reference, &analysis.model),
            the_reference(analysis.reference, &analysis.model)
        )));
    }
    notes
}

fn figures(analysis: &Analysis, extent: &Extent) -> Vec<Figure> {
    let at = &analysis.frequencies[analysis.service.index];
    let mut figures = vec![
        Figure::decibels("gain_lowest_db", "Lowest gain", extent.lowest_db),
        Figure::decibels("gain_highest_db", "Highest gain", extent.highest_db),
        Figure::degrees("phase_largest_gap_deg", "Widest gap in phase", extent.largest_gap_deg),
        Figure::degrees("phase_coverage_deg", "Arc covered in phase", extent.coverage_deg()),
    ];
    if let Some(db) = at.gain_given_up_db {
        figures.push(Figure::decibels("gain_given_up_db", against_zero_word(&analysis.model), db));
    }
    let resolved = |name, label, value: Option<f64>| {
        value.map(|value| Figure::new(name, label, value, "bits", bits(value)))
    };
    figures.extend(resolved("gain_effective_bits", "Effective bits of gain", at.gain_effective_bits));
    figures.extend(resolved("phase_effective_bits", "Effective bits of phase", at.phase_effective_bits));
    figures
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Gaps 92, 85, 97 and 86 degrees: the states 0, 92, 177 and 274 degrees, by hand.
    #[test]
    fn the_widest_gap_goes_round_the_circle() {
        assert_eq!(largest_gap_deg(vec![0.0, 92.0, 177.0, -86.0]), 97.0);
        assert_eq!(largest_gap_deg(vec![170.0, -170.0]), 340.0);
        assert_eq!(largest_gap_deg(vec![5.0]), 360.0);
        assert_eq!(largest_gap_deg(vec![]), 360.0);
    }
}
