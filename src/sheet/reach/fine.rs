//! How fine it reaches: the resolution map and the holes at the chosen frequency, the clean bits at all.

use crate::control::Quantity;
use crate::part::Unit;
use crate::pipeline::{Analysis, ReachAt, Report};
use crate::reach::{CleanBits, EvenSteps, Hole, NoResolution, ResolutionMap};
use crate::sheet::answer::{Figure, Note};
use crate::sheet::wording::{counted, exact, exact_in_unit, frequency, on_the_circle, percent, times, whole};

/// One setting that no state comes near.
#[derive(Clone, Debug, PartialEq)]
pub struct HoleRow {
    /// The setting's gain, dB.
    pub gain_db: f64,
    /// The setting's phase, degrees.
    pub phase_deg: f64,
    /// How far the nearest state is, in units of what is allowed.
    pub excess: f64,
    /// Gain, phase and distance as they are read.
    pub texts: [String; 3],
}

/// The holes at the chosen frequency, the largest first.
pub fn hole_rows(report: &Report) -> Vec<HoleRow> {
    let (Ok(analysis), Some(here)) = (&report.analysis, &report.reach.here) else { return Vec::new() };
    let row = |hole: Hole| {
        let setting = analysis.targets[hole.target].setting;
        let texts = [
            format!("{} dB", exact(setting.gain_db)),
            format!("{}°", exact(setting.phase_deg)),
            format!("{} times", times(hole.excess)),
        ];
        HoleRow { gain_db: setting.gain_db, phase_deg: setting.phase_deg, excess: hole.excess, texts }
    };
    largest_first(here).into_iter().map(row).collect()
}

fn largest_first(here: &ReachAt) -> Vec<Hole> {
    let mut holes = here.holes.clone();
    holes.sort_by(|a, b| b.excess.total_cmp(&a.excess));
    holes
}

/// The resolution map at the chosen frequency as a head and rows of texts: phase bits downwards, gain bits across.
pub fn resolution_rows(report: &Report) -> Option<(Vec<String>, Vec<Vec<String>>)> {
    let (Ok(analysis), Some(map)) = (&report.analysis, report.reach.resolution()) else { return None };
    let steps = EvenSteps::new(&analysis.model).ok()?;
    let names = |quantity, kept, unit| {
        let spacing = match quantity {
            Quantity::Gain => 2.0 * steps.tolerance(0, kept).gain_db,
            Quantity::Phase => 2.0 * steps.tolerance(kept, 0).phase_deg,
        };
        let bits = counted(usize::from(kept), "bit", "bits");
        if spacing.is_finite() { format!("{bits} ({}{unit})", exact(spacing)) } else { bits }
    };
    let gains = 0..=map.gain_bits();
    let head = std::iter::once("Phase".to_owned())
        .chain(gains.clone().map(|kept| format!("Gain: {}", names(Quantity::Gain, kept, " dB"))));
    let row = |phase| {
        let yields = gains.clone().filter_map(|gain| map.yield_pct(CleanBits { phase, gain })).map(percent);
        std::iter::once(names(Quantity::Phase, phase, "°")).chain(yields).collect()
    };
    Some((head.collect(), (0..=map.phase_bits()).map(row).collect()))
}

/// "5 bits of phase and 4 of gain", "no bit of phase and none of gain"; a quantity that nothing sets is not mentioned.
pub(in crate::sheet) fn bits_text(bits: CleanBits, steps: &EvenSteps) -> String {
    let sets = |quantity| steps.bits(quantity) > 0;
    let count = |bits: u8| match bits {
        0 => "no bit".to_owned(),
        bits => counted(usize::from(bits), "bit", "bits"),
    };
    let gain = if bits.gain == 0 { "none".to_owned() } else { bits.gain.to_string() };
    match (sets(Quantity::Phase), sets(Quantity::Gain)) {
        (true, true) => format!("{} of phase and {gain} of gain", count(bits.phase)),
        (true, false) => format!("{} of phase", count(bits.phase)),
        _ => format!("{} of gain", count(bits.gain)),
    }
}

pub(super) fn sentence(report: &Report, analysis: &Analysis) -> Option<String> {
    let here = report.reach.here.as_ref()?;
    let at = frequency(report.intake.frequency_hz[here.index]);
    let holes = holes_clause(analysis, here);
    let resolved = report.reach.resolution().zip(EvenSteps::new(&analysis.model).ok());
    Some(match resolved.map(|(map, steps)| map.clean_bits().map(|bits| bits_text(bits, &steps))) {
        Some(Some(bits)) => format!("At {at} it resolves {bits} cleanly, and {holes}."),
        Some(None) => format!("At {at} it resolves no bit cleanly, and {holes}."),
        None => format!("At {at} {holes}."),
    })
}

fn holes_clause(analysis: &Analysis, here: &ReachAt) -> String {
    let all = whole(analysis.targets.len());
    let Some(largest) = largest_first(here).first().copied() else {
        return format!("none of its {all} settings lies in a hole");
    };
    let setting = analysis.targets[largest.target].setting;
    let phase = on_the_circle(setting.phase_deg, |phase_deg| exact_in_unit(phase_deg, Unit::Degree));
    let place = format!("{} dB and {phase}", exact(setting.gain_db));
    let far = if largest.excess.is_finite() {
        format!(", {} times as far from its nearest state as allowed", times(largest.excess))
    } else {
        String::new()
    };
    match here.holes.len() {
        1 => format!("1 of its {all} settings lies in a hole, at {place}{far}"),
        holes => format!("{} of its {all} settings lie in holes, the largest at {place}{far}", whole(holes)),
    }
}

pub(super) fn figures(report: &Report, analysis: &Analysis) -> Vec<Figure> {
    let Some(here) = &report.reach.here else { return Vec::new() };
    let mut figures = Vec::new();
    if let Some(bits) = report.reach.resolution().and_then(ResolutionMap::clean_bits) {
        figures.push(Figure::count("clean_phase_bits", "Clean bits of phase", bits.phase.into()));
        figures.push(Figure::count("clean_gain_bits", "Clean bits of gain", bits.gain.into()));
    }
    figures.push(Figure::count("holes", "Settings in holes", here.holes.len()));
    if let Some(largest) = largest_first(here).first().filter(|hole| hole.excess.is_finite()) {
        let setting = analysis.targets[largest.target].setting;
        figures.push(Figure::new(
            "largest_hole_distance",
            "Largest hole: distance over what is allowed",
            largest.excess,
            "",
            times(largest.excess),
        ));
        figures.push(Figure::new(
            "largest_hole_gain_db",
            "Largest hole: gain",
            setting.gain_db,
            "dB",
            format!("{} dB", exact(setting.gain_db)),
        ));
        figures.push(Figure::new(
            "largest_hole_phase_deg",
            "Largest hole: phase",
            setting.phase_deg,
            "°",
            format!("{}°", exact(setting.phase_deg)),
        ));
    }
    figures
}

pub(super) fn notes(report: &Report, analysis: &Analysis) -> Vec<Note> {
    let Some(here) = &report.reach.here else { return Vec::new() };
    let mut notes = Vec::new();
    match here.resolution.as_ref().map_err(|why| *why).and_then(|_| EvenSteps::new(&analysis.model)) {
        Ok(steps) => {
            let both_set = [Quantity::Phase, Quantity::Gain].iter().all(|&quantity| steps.bits(quantity) > 0);
            let rule = if both_set {
                " Given are the most in all; where several pairs have as many, the one with more bits of phase."
            } else {
                ""
            };
            let meaning = Note::remark(format!(
                "So many bits are clean when every gain and phase that they would make has a state within half of \
                 their steps.{rule}"
            ));
            notes.push(meaning.for_page_alone());
            notes.extend(over_the_band(report, analysis, &steps).map(Note::remark));
        }
        Err(why) => notes.push(Note::remark(no_resolution_sentence(why))),
    }
    if !here.holes.is_empty() {
        notes.push(Note::attention(holes_note(analysis)).for_page_alone());
    }
    notes
}

/// What makes a setting a hole under the tolerances in use.
fn holes_note(analysis: &Analysis) -> String {
    let tolerance = &analysis.tolerance;
    let limits = match (tolerance.gain_db.is_finite(), tolerance.phase_deg.is_finite()) {
        (true, true) => "is farther away than the corner of the tolerance cell".to_owned(),
        (true, false) => {
            let limit = exact_in_unit(tolerance.gain_db, Unit::Decibel);
            format!("in gain is farther away than the tolerance of {limit}")
        }
        _ => {
            let limit = exact_in_unit(tolerance.phase_deg, Unit::Degree);
            format!("in phase is farther away than the tolerance of {limit}")
        }
    };
    format!("A setting lies in a hole when its nearest state {limits}; no table can serve it.")
}

/// Where in the design band the fewest bits are clean.
fn over_the_band(report: &Report, analysis: &Analysis, steps: &EvenSteps) -> Option<String> {
    let clean = report.reach.clean_bits.as_ref()?;
    let band = analysis.design_band.clone();
    let fewest = band
        .min_by_key(|&index| clean[index].map_or((0, 0), |bits| (1 + bits.phase + bits.gain, bits.phase)))?;
    let at = frequency(report.intake.frequency_hz[fewest]);
    Some(match clean[fewest] {
        Some(bits) => format!("Over the design band the fewest are {}, at {at}.", bits_text(bits, steps)),
        None => format!("In the design band, at {at}, none is clean."),
    })
}

fn no_resolution_sentence(why: NoResolution) -> String {
    let why = match why {
        NoResolution::NoNominalSettings => {
            "words are marks without nominal settings, so there are no bits to leave out".to_owned()
        }
        NoResolution::NothingSet => "all words have the same nominal setting".to_owned(),
        NoResolution::UnevenSteps(quantity) => {
            format!(
                "the nominal {} are not evenly spaced, so no bits can be left out evenly",
                plural(quantity)
            )
        }
        NoResolution::NoPowerOfTwo { quantity, values } => {
            let (values, plural) = (whole(values), plural(quantity));
            format!("there are {values} nominal {plural}, which is no power of two and so no number of bits")
        }
        NoResolution::TooManyTargets => "the listed gains and phases have too many combinations".to_owned(),
    };
    format!("There is no resolution map: {why}.")
}

fn plural(quantity: Quantity) -> &'static str {
    match quantity {
        Quantity::Gain => "gains",
        Quantity::Phase => "phases",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::control::{Direction, Field, Layout};

    #[test]
    fn no_bits_are_no_number() {
        let phase = Field::contiguous(Quantity::Phase, 0, 2, 90.0, Direction::Up);
        let gain = Field::contiguous(Quantity::Gain, 2, 3, 0.5, Direction::Down);
        let steps = |fields| EvenSteps::new(&Layout { fields }.into()).expect("even steps");
        let both = steps(vec![phase.clone(), gain]);
        let text = |phase, gain| bits_text(CleanBits { phase, gain }, &both);
        assert_eq!(text(0, 3), "no bit of phase and 3 of gain");
        assert_eq!(text(2, 0), "2 bits of phase and none of gain");
        assert_eq!(text(1, 1), "1 bit of phase and 1 of gain");
        assert_eq!(bits_text(CleanBits { phase: 0, gain: 0 }, &steps(vec![phase])), "no bit of phase");
    }
}
