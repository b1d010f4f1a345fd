//! Question 5: which word gives which setting?

use super::Provenance;
use super::answer::{Answer, Figure, Note};
use super::band::over_band;
use super::listed::word_name;
use super::no_analysis::no_analysis_sentence;
use super::provenance::rule_name;
use super::tables;
use super::wording::{
    counted, decibels, degrees, exact, frequency, frequency_range, percent, ratio_percent, times, whole,
};
use crate::pipeline::{Analysis, Mapping, Report};
use crate::plane::{BandScore, Tolerance};
use crate::table::SelectionRule;

pub(super) fn answer(report: &Report, _provenance: &Provenance) -> Answer {
    let (sentence, figures, notes) = match &report.analysis {
        Ok(analysis) => {
            let held = over_band(&analysis.frequencies, &analysis.design_band, Mapping::Held);
            let grid = &report.intake.frequency_hz;
            let here = sentence(analysis, grid[analysis.service.index]);
            (
                [here].into_iter().chain(tables::sentence(report)).collect::<Vec<_>>().join(" "),
                [figures(analysis, held.as_ref()), tables::figures(report)].concat(),
                [notes(report, analysis, held.as_ref()), tables::notes(report, analysis)].concat(),
            )
        }
        Err(reason) => {
            (format!("No word can be given. {}", no_analysis_sentence(reason)), Vec::new(), Vec::new())
        }
    };
    Answer {
        key: "words",
        number: 5,
        question: "Which word gives which setting?",
        sentence,
        verdict: None,
        figures,
        notes,
    }
}

fn sentence(analysis: &Analysis, at_hz: f64) -> String {
    let at = &analysis.frequencies[analysis.service.index];
    let chosen = format!(
        "At {} the chosen words serve {} of {} {}",
        frequency(at_hz),
        percent(at.chosen.within_both_pct),
        counted(analysis.targets.len(), "setting", "settings"),
        within(&analysis.tolerance)
    );
    match &at.nominal {
        Some(nominal) => format!(
            "{chosen}; the nominal words serve {}. {}",
            percent(nominal.within_both_pct),
            error_ratio(nominal.rms_vector_error, at.chosen.rms_vector_error)
        ),
        None => format!(
            "{chosen}, with an RMS vector error of {}. There are no nominal words to compare with.",
            ratio_percent(at.chosen.rms_vector_error)
        ),
    }
}

/// "within ±0.25 dB and ±1.4°"; a limit that is not finite limits nothing and is not mentioned.
fn within(tolerance: &Tolerance) -> String {
    let gain = tolerance.gain_db.is_finite().then(|| {
        if tolerance.gain_pct_of_setting == 0.0 {
            format!("±{} dB", exact(tolerance.gain_db))
        } else {
            format!(
                "±({} dB + {} % of the setting)",
                exact(tolerance.gain_db),
                exact(tolerance.gain_pct_of_setting)
            )
        }
    });
    let phase = tolerance.phase_deg.is_finite().then(|| format!("±{}°", exact(tolerance.phase_deg)));
    match (gain, phase) {
        (Some(gain), Some(phase)) => format!("within {gain} and {phase}"),
        (Some(only), None) | (None, Some(only)) => format!("within {only}"),
        (None, None) => "without any limit".to_owned(),
    }
}

/// What choosing does to the RMS relative vector error.
fn error_ratio(nominal: f64, chosen: f64) -> String {
    let (from, to) = (ratio_percent(nominal), ratio_percent(chosen));
    if !(nominal.is_finite() && chosen.is_finite()) {
        return "The RMS vector error cannot be compared, as no nominal word came in.".to_owned();
    }
    if from == to {
        return format!("Choosing leaves the RMS vector error at {to}.");
    }
    if chosen > nominal {
        return format!("Choosing takes the RMS vector error from {from} to {to}.");
    }
    let ratio = nominal / chosen;
    if ratio.is_finite() && ratio >= 1.05 {
        format!("Choosing makes the RMS vector error {} times smaller, from {from} to {to}.", times(ratio))
    } else {
        format!("Choosing takes the RMS vector error from {from} to {to}.")
    }
}

fn notes(report: &Report, analysis: &Analysis, held: Option<&BandScore>) -> Vec<Note> {
    let grid = &report.intake.frequency_hz;
    let at = &analysis.frequencies[analysis.service.index];
    let mut notes = Vec::new();
    if let Some(held) = held
        && analysis.design_band.start() != analysis.design_band.end()
    {
        notes.push(Note::remark(format!(
            "Held {}, the words chosen at {} serve {} of the settings on average and {} at worst, at {}.",
            frequency_range(grid[*analysis.design_band.start()], grid[*analysis.design_band.end()]),
            frequency(grid[analysis.service.index]),
            percent(held.score.within_both_pct),
            percent(held.worst_share_pct),
            frequency(grid[held.worst_share_index])
        )));
    }
    notes.extend(nominal_serve_more(analysis));
    notes.extend(super::references::note(report, analysis));
    notes.extend(worst_served(report, analysis));
    notes.push(Note::remark(usage(analysis)));
    if let Some(nominal) = at.nominal.filter(|nominal| nominal.missing > 0) {
        notes.push(Note::attention(format!(
            "{} nominal word that did not come in: counted as outside tolerance, and left out of the nominal words' RMS.",
            match nominal.missing {
                1 => "1 setting has a".to_owned(),
                several => format!("{} settings have a", whole(several)),
            }
        )));
    }
    notes
}

/// Why the chosen words serve fewer settings within tolerance than the nominal ones, and what prevents that; `None` where
/// they do not.
fn nominal_serve_more(analysis: &Analysis) -> Option<Note> {
    let at = &analysis.frequencies[analysis.service.index];
    let (chosen, nominal) = (at.chosen.within_both_pct, at.nominal?.within_both_pct);
    let Tolerance { gain_db, phase_deg, .. } = analysis.tolerance;
    let unlimited = match (gain_db.is_finite(), phase_deg.is_finite()) {
        (true, false) => ", though the phase is not limited here",
        (false, true) => ", though the gain is not limited here",
        _ => "",
    };
    let why = match analysis.rule {
        SelectionRule::Nearest => {
            format!("The nearest state is nearest in gain and phase together{unlimited}")
        }
        SelectionRule::Weighted => {
            "The least sum of both errors, each over its tolerance, may have one of them beyond it".to_owned()
        }
        SelectionRule::ToleranceFirst => return None,
    };
    (nominal > chosen && percent(nominal) != percent(chosen)).then(|| {
        Note::attention(format!(
            "The nominal words serve more: {} against {}. {why}; with the rule “{}” what is within tolerance comes before \
             what is near.",
            percent(nominal),
            percent(chosen),
            rule_name(SelectionRule::ToleranceFirst)
        ))
    })
}

/// The setting that the chosen words miss most, by relative vector error.
fn worst_served(report: &Report, analysis: &Analysis) -> Option<Note> {
    let (target, served) = analysis
        .targets
        .iter()
        .zip(&analysis.service.chosen)
        .max_by(|a, b| a.1.error.vector.total_cmp(&b.1.error.vector))?;
    Some(Note::remark(format!(
        "Worst served is {} dB, {}°: {} misses it by {} and {}.",
        exact(target.setting.gain_db),
        exact(target.setting.phase_deg),
        word_name(&report.intake, report.intake.states[served.state].word),
        decibels(served.error.gain_db),
        degrees(served.error.phase_deg)
    )))
}

/// The table at the chosen frequency in one line, for the printed sheet; empty without analysis.
pub(super) fn table_statistics(report: &Report) -> String {
    let Ok(analysis) = &report.analysis else { return String::new() };
    let at = &analysis.frequencies[analysis.service.index];
    let largest = analysis.service.chosen.iter().map(|served| served.error.vector).fold(0.0, f64::max);
    format!(
        "Words chosen at {}: {}; RMS gain error {}, RMS phase error {}, RMS vector error {}, the largest {}. {}",
        frequency(report.intake.frequency_hz[analysis.service.index]),
        counted(analysis.targets.len(), "setting", "settings"),
        decibels(at.chosen.rms_gain_error_db),
        degrees(at.chosen.rms_phase_error_deg),
        ratio_percent(at.chosen.rms_vector_error),
        ratio_percent(largest),
        usage(analysis)
    )
}

fn usage(analysis: &Analysis) -> String {
    let service = &analysis.service;
    let states = |count: usize| {
        let verb = if count == 1 { "serves" } else { "serve" };
        format!("{} {verb}", counted(count, "state", "states"))
    };
    match (service.unused_states, service.shared_states) {
        (0, 0) => "Every state serves exactly one setting.".to_owned(),
        (0, shared) => format!("{} more than one setting, and none is unused.", states(shared)),
        (unused, 0) => format!("{} no setting.", states(unused)),
        (unused, shared) => format!(
            "{} no setting, {} more than one.",
            states(unused),
            if shared == 1 { "1 serves".to_owned() } else { format!("{} serve", whole(shared)) }
        ),
    }
}

fn figures(analysis: &Analysis, held: Option<&BandScore>) -> Vec<Figure> {
    let at = &analysis.frequencies[analysis.service.index];
    let chosen = &at.chosen;
    let mut figures = vec![
        Figure::count("targets", "Settings", analysis.targets.len()),
        Figure::percent("chosen_within_both_pct", "Chosen words within tolerance", chosen.within_both_pct),
        Figure::decibels(
            "chosen_rms_gain_error_db",
            "RMS gain error, chosen words",
            chosen.rms_gain_error_db,
        ),
        Figure::degrees(
            "chosen_rms_phase_error_deg",
            "RMS phase error, chosen words",
            chosen.rms_phase_error_deg,
        ),
        Figure::ratio(
            "chosen_rms_vector_error_pct",
            "RMS vector error, chosen words",
            chosen.rms_vector_error,
        ),
        Figure::count("unused_states", "States that serve no setting", analysis.service.unused_states),
        Figure::count(
            "shared_states",
            "States that serve more than one setting",
            analysis.service.shared_states,
        ),
    ];
    if let Some(nominal) = &at.nominal {
        figures.extend([
            Figure::percent(
                "nominal_within_both_pct",
                "Nominal words within tolerance",
                nominal.within_both_pct,
            ),
            Figure::decibels(
                "nominal_rms_gain_error_db",
                "RMS gain error, nominal words",
                nominal.rms_gain_error_db,
            ),
            Figure::degrees(
                "nominal_rms_phase_error_deg",
                "RMS phase error, nominal words",
                nominal.rms_phase_error_deg,
            ),
            Figure::ratio(
                "nominal_rms_vector_error_pct",
                "RMS vector error, nominal words",
                nominal.rms_vector_error,
            ),
        ]);
    }
    if let Some(held) = held {
        figures.push(Figure::percent(
            "held_band_within_both_pct",
            "Held words within tolerance, mean over the band",
            held.score.within_both_pct,
        ));
        figures.push(Figure::percent(
            "held_worst_within_both_pct",
            "Held words within tolerance, worst frequency",
            held.worst_share_pct,
        ));
    }
    figures
}
