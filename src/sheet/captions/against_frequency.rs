//! Under the plots against frequency of questions 4 to 6.

use crate::control::Quantity;
use crate::pipeline::{Analysis, Mapping, Report};
use crate::plane::Score;
use crate::reach::{EvenSteps, ResolutionMap};
use crate::sheet::band::score_of;
use crate::sheet::provenance::the_reference;
use crate::sheet::reach::bits_text;
use crate::sheet::wording::{degrees, frequency, joined, percent, ratio_percent, signed_range};
use num_complex::Complex64;

/// The mappings in the order in which they are told, with their words.
const MAPPINGS: [(Mapping, &str); 3] = [
    (Mapping::Chosen, "the chosen words"),
    (Mapping::Held, "the held words"),
    (Mapping::Nominal, "the nominal words"),
];

/// Of the RMS relative vector errors of the mappings.
pub fn errors(report: &Report, analysis: &Analysis) -> String {
    let here = of_mappings(report, analysis, |score| score.rms_vector_error, ratio_percent);
    let least = least(report, analysis, |score| score.rms_vector_error, ratio_percent);
    let best = least.map_or_else(String::new, |(error, hz)| {
        format!(" The chosen words err least at {}: {error}.", frequency(hz))
    });
    let mappings = if analysis.model.has_nominal() { "three" } else { "two" };
    format!("RMS relative vector error of the {mappings} mappings against frequency{here}.{best}")
}

/// Of the shares within tolerance.
pub fn shares(report: &Report, analysis: &Analysis) -> String {
    let here = of_mappings(report, analysis, |score| score.within_both_pct, percent);
    let least = least(report, analysis, |score| score.within_both_pct, percent);
    let worst = least.map_or_else(String::new, |(share, hz)| {
        format!(" With the chosen words the least is {share}, at {}.", frequency(hz))
    });
    format!("Settings within tolerance against frequency{here}.{worst}")
}

/// ": at 10 GHz 98.4 % with the chosen words and 51 % with the nominal words"
fn of_mappings(
    report: &Report,
    analysis: &Analysis,
    value: fn(&Score) -> f64,
    text: fn(f64) -> String,
) -> String {
    let at = &analysis.frequencies[analysis.service.index];
    let told = |(mapping, name): &(Mapping, &str)| {
        let value = score_of(at, *mapping).map(value).filter(|value| value.is_finite())?;
        Some(format!("{} with {name}", text(value)))
    };
    let told: Vec<String> = MAPPINGS.iter().filter_map(told).collect();
    if told.is_empty() {
        return String::new();
    }
    format!(": at {} {}", frequency(report.intake.frequency_hz[analysis.service.index]), joined(&told))
}

/// The least value of the chosen words, and where it is first; `None` where it reads as the one at the chosen frequency does.
fn least(
    report: &Report,
    analysis: &Analysis,
    value: fn(&Score) -> f64,
    text: fn(f64) -> String,
) -> Option<(String, f64)> {
    let values = analysis.frequencies.iter().map(|at| value(&at.chosen)).zip(&report.intake.frequency_hz);
    let values = values.filter(|(value, _)| value.is_finite());
    let (least, &hz) = values.reduce(|first, other| if other.0 < first.0 { other } else { first })?;
    let here = text(value(&analysis.frequencies[analysis.service.index].chosen));
    Some((text(least), hz)).filter(|(least, _)| *least != here)
}

/// Of the errors under every reference; `None` until they are compared.
pub fn references(report: &Report, analysis: &Analysis) -> Option<String> {
    let index = analysis.service.index;
    let policies = &report.comparison.as_ref()?.policies;
    let here = policies.iter().filter_map(|scores| {
        let score = scores.chosen.get(index).copied().flatten()?;
        Some((score.rms_vector_error, the_reference(scores.policy, &analysis.model)))
    });
    let mut here: Vec<(f64, String)> = here.filter(|(error, _)| error.is_finite()).collect();
    here.sort_by(|a, b| a.0.total_cmp(&b.0));
    let told = match (here.first(), here.last()) {
        (Some(least), Some(most)) if ratio_percent(least.0) != ratio_percent(most.0) => format!(
            ": at {} the least is {}, and the most {}",
            frequency(report.intake.frequency_hz[index]),
            with_all_that_read_alike(&here, least.0),
            with_all_that_read_alike(&here, most.0)
        ),
        _ => String::new(),
    };
    Some(format!(
        "RMS relative vector error of the words chosen under every reference against frequency{told}."
    ))
}

/// "18.8 %, with the full ring and the zero word".
fn with_all_that_read_alike(errors: &[(f64, String)], error: f64) -> String {
    let read = ratio_percent(error);
    let alike = errors.iter().filter(|(other, _)| ratio_percent(*other) == read);
    format!("{read}, with {}", joined(&alike.map(|(_, name)| name.clone()).collect::<Vec<_>>()))
}

/// Of the relative gains of all states.
pub fn gains(report: &Report, analysis: &Analysis) -> String {
    let index = analysis.service.index;
    let span = analysis.frequencies[index].gain_range_db.map_or_else(String::new, |(low, high)| {
        let here = frequency(report.intake.frequency_hz[index]);
        format!(": at {here} from {} dB", signed_range(low, high))
    });
    format!("Relative gain of all states against frequency{span}.")
}

/// Of the relative phases of all states.
pub fn phases(report: &Report, analysis: &Analysis) -> String {
    let here = frequency(report.intake.frequency_hz[analysis.service.index]);
    let span = widest_gap_deg(&analysis.service.transmission).map_or_else(String::new, |gap_deg| {
        let step_deg = analysis.model.finest_step(Quantity::Phase);
        if gap_deg > 180.0 {
            format!(": at {here} they span {}", degrees(360.0 - gap_deg))
        } else if step_deg.is_some_and(|step_deg| gap_deg > 2.0 * step_deg * (1.0 + 1e-9)) {
            format!(": at {here} they go around but for a gap of {}", degrees(gap_deg))
        } else {
            format!(": at {here} they go all around, neighbours at most {} apart", degrees(gap_deg))
        }
    });
    format!("Relative phase of all states against frequency{span}.")
}

/// The widest part of the circle without a phase; `None` of fewer than two.
fn widest_gap_deg(states: &[Complex64]) -> Option<f64> {
    let finite = states.iter().filter(|state| state.is_finite() && state.norm_sqr() > 0.0);
    let mut phases: Vec<f64> = finite.map(|state| state.arg().to_degrees()).collect();
    phases.sort_by(f64::total_cmp);
    let around = phases.first()? + 360.0 - phases.last()?;
    let between = phases.windows(2).map(|pair| pair[1] - pair[0]).reduce(f64::max)?;
    Some(between.max(around))
}

/// Of the resolution map.
pub fn resolution(report: &Report, analysis: &Analysis) -> String {
    let here = frequency(report.intake.frequency_hz[analysis.service.index]);
    let steps = EvenSteps::new(&analysis.model).ok();
    let clean = report.reach.resolution().and_then(ResolutionMap::clean_bits).zip(steps);
    let framed = clean.map_or_else(
        || "; no bit is served whole".to_owned(),
        |(bits, steps)| format!("; framed the most bits of which all are, {}", bits_text(bits, &steps)),
    );
    format!(
        "Share of the settings of so many bits that some state serves at {here}; shaded where all are{framed}."
    )
}

/// Of the bits that are served whole.
pub fn clean_bits(report: &Report, analysis: &Analysis) -> String {
    let index = analysis.service.index;
    let here = report.reach.clean_bits.as_ref().and_then(|bits| bits.get(index).copied());
    let here = here.zip(EvenSteps::new(&analysis.model).ok()).map_or_else(String::new, |(bits, steps)| {
        let bits = bits.map_or_else(|| "no bit".to_owned(), |bits| bits_text(bits, &steps));
        format!(": at {} {bits}", frequency(report.intake.frequency_hz[index]))
    });
    format!("The most bits of which all settings are served, against frequency{here}.")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn all_references_that_read_alike_are_named() {
        let errors = [(0.1875, "the zero word"), (0.188, "the full ring"), (0.1, "word 5")];
        let errors = errors.map(|(error, name)| (error, name.to_owned()));
        assert_eq!(with_all_that_read_alike(&errors, 0.188), "18.8 %, with the zero word and the full ring");
        assert_eq!(with_all_that_read_alike(&errors, 0.1), "10.0 %, with word 5");
    }

    /// By hand: between −160, 10 and 50° lie 170, 40 and 150°.
    #[test]
    fn the_widest_gap_may_lie_across_half_a_turn() {
        let states = |phases_deg: &[f64]| -> Vec<Complex64> {
            phases_deg.iter().map(|phase| Complex64::from_polar(0.3, phase.to_radians())).collect()
        };
        let gap = |phases_deg: &[f64]| widest_gap_deg(&states(phases_deg));
        let close = |found: Option<f64>, expected: f64| (found.unwrap_or(f64::NAN) - expected).abs() < 1e-9;
        assert!(close(gap(&[10.0, 50.0, -160.0]), 170.0));
        assert!(close(gap(&[10.0, 50.0]), 320.0));
        assert!(close(gap(&[170.0, -170.0, 0.0]), 170.0));
        assert_eq!(gap(&[10.0]), None);
        assert_eq!(gap(&[]), None);
    }
}
