//! What is said of one state that the user picks out.

use super::listed::{listed_in_use, setting_name};
use super::wording::{counted, decibels, degrees, exact, frequency, on_the_circle, ratio_percent};
use crate::control::{Setting, Word};
use crate::pipeline::protocol::TraceQuantity;
use crate::pipeline::{Analysis, Report};
use crate::plane::{target_gain, wrap_deg};
use num_complex::Complex64;

/// The setting that a state serves: of those that it is chosen for the one that it is nearest to, relative to the setting's
/// own magnitude; else that of its own word. As an index among the targets.
pub fn target_of(report: &Report, analysis: &Analysis, state: usize) -> Option<usize> {
    let served = analysis.service.chosen.iter().enumerate().filter(|(_, served)| served.state == state);
    let nearest = served.min_by(|a, b| a.1.error.vector.total_cmp(&b.1.error.vector));
    let word = report.intake.states.get(state)?.word;
    let own = || analysis.targets.iter().position(|target| target.nominal_word == Some(word));
    nearest.map(|(target, _)| target).or_else(own)
}

/// Traces that are nearest to within this, dB or degrees, are equally near: they differ by rounding alone.
const AS_NEAR: f64 = 1e-9;

/// The state whose trace is nearest to a value at a frequency, where `relative` holds what all states do there, and what is said
/// of it; `None` where none is `within` that much of the value. Of equally near ones the lowest word's.
pub fn near_trace(
    report: &Report,
    analysis: &Analysis,
    quantity: TraceQuantity,
    index: usize,
    relative: &[Complex64],
    value: f64,
    within: f64,
) -> Option<(usize, String)> {
    let gain_db = |gain: &Complex64| 20.0 * gain.norm().log10();
    let phase_deg = |gain: &Complex64| wrap_deg(gain.arg().to_degrees());
    let away = |gain: &Complex64| match quantity {
        TraceQuantity::RelativeGainDb => (gain_db(gain) - value).abs(),
        TraceQuantity::RelativePhaseDeg => wrap_deg(phase_deg(gain) - value).abs(),
    };
    let least = relative.iter().map(&away).filter(|away| *away <= within).reduce(f64::min)?;
    let (state, gain) = relative.iter().enumerate().find(|(_, gain)| away(gain) <= least + AS_NEAR)?;
    let word = report.intake.states.get(state)?.word;
    let sentence = format!(
        "At {} the nearest trace is that of word {}{}: {} and {} relative to the reference.",
        frequency(report.intake.frequency_hz[index]),
        word.0,
        also_called(report, analysis, word),
        decibels(gain_db(gain)),
        degrees(phase_deg(gain))
    );
    Some((state, sentence))
}

/// " (hexadecimal 0C)", of a word of bits; " (7.5 V)", of one that is the rank of a listed setting.
pub fn also_called(report: &Report, analysis: &Analysis, word: Word) -> String {
    let hexadecimal = analysis.layout().map(|layout| {
        let digits = layout.bits().div_ceil(4);
        format!("hexadecimal {:0digits$X}", word.0)
    });
    let listed = || listed_in_use(&report.intake).and_then(|listed| setting_name(listed, word));
    hexadecimal.or_else(listed).map_or_else(String::new, |name| format!(" ({name})"))
}

/// A state's word, where it lies at the chosen frequency, how far from its nominal setting, and what it serves.
pub fn sentence(report: &Report, analysis: &Analysis, state: usize) -> Option<String> {
    let service = &analysis.service;
    let word = report.intake.states.get(state)?.word;
    let gain = service.transmission.get(state)? / service.reference;
    let also_called = also_called(report, analysis, word);
    let here = frequency(report.intake.frequency_hz[service.index]);
    let nominal = analysis.model.nominal(word);
    // Counted on as the settings are, which in a field that fills the circle go beyond half a turn.
    let about_deg = nominal.map_or(0.0, |setting| setting.phase_deg);
    let phase_deg = about_deg + wrap_deg(gain.arg().to_degrees() - about_deg);
    let gain_db = 20.0 * gain.norm().log10();
    let nominal = nominal.map_or_else(String::new, |setting| {
        format!(", {} from its nominal {}", off(gain, gain_db, phase_deg, setting), told(setting))
    });
    let serves: Vec<usize> =
        (0..service.chosen.len()).filter(|target| service.chosen[*target].state == state).collect();
    let is_own = |target: &usize| analysis.targets[*target].nominal_word == Some(word);
    let nearest = target_of(report, analysis, state).filter(|target| serves.contains(target));
    let serves = match nearest.map(|target| analysis.targets[target].setting) {
        None => "It is chosen for no setting.".to_owned(),
        Some(_) if serves.len() == 1 && is_own(&serves[0]) => "It is chosen for that setting.".to_owned(),
        Some(_) if serves.iter().any(is_own) => {
            format!("It is chosen for {}, that one among them.", counted(serves.len(), "setting", "settings"))
        }
        Some(setting) if serves.len() == 1 => format!(
            "It is chosen for {}: {} from that.",
            told(setting),
            off(gain, gain_db, phase_deg, setting)
        ),
        Some(setting) => format!(
            "It is chosen for {}, nearest for {}: {} from that.",
            counted(serves.len(), "setting", "settings"),
            told(setting),
            off(gain, gain_db, phase_deg, setting)
        ),
    };
    Some(format!(
        "Word {}{also_called} at {here}: {} and {} relative to the reference{nominal}. {serves}",
        word.0,
        decibels(gain_db),
        on_the_circle(phase_deg, degrees),
    ))
}

pub(super) fn told(setting: Setting) -> String {
    format!("{} dB and {}°", exact(setting.gain_db), exact(setting.phase_deg))
}

/// The gain, phase and vector error against a setting.
fn off(gain: Complex64, gain_db: f64, phase_deg: f64, setting: Setting) -> String {
    let wanted = target_gain(setting);
    format!(
        "{}, {} and {}",
        decibels(gain_db - setting.gain_db),
        degrees(wrap_deg(phase_deg - setting.phase_deg)),
        ratio_percent((gain - wanted).norm() / wanted.norm())
    )
}
