//! What another reference would gain, as a note to question 5.

use super::answer::Note;
use super::provenance::the_reference;
use super::wording::{decibels, frequency, ratio_percent, rounded};
use crate::pipeline::{Analysis, PolicyScores, Report};

/// What the best of the other references would do to the chosen words over the design band, or that none does better;
/// `None` until the references are compared.
pub(super) fn note(report: &Report, analysis: &Analysis) -> Option<Note> {
    let policies = &report.comparison.as_ref()?.policies;
    if policies.len() < 2 {
        return None;
    }
    let in_use = policies.iter().find(|scores| scores.policy == analysis.reference)?;
    let error = |scores: &PolicyScores| scores.band.score.rms_vector_error;
    let best = policies.iter().min_by(|a, b| error(a).total_cmp(&error(b)))?;
    let (now, then) = (ratio_percent(error(in_use)), ratio_percent(error(best)));
    if error(best) >= error(in_use) || now == then {
        return Some(Note::remark(format!(
            "No other reference lowers the chosen words' RMS vector error over the design band, {now}."
        )));
    }
    let index = analysis.service.index;
    let gain = |scores: &PolicyScores| scores.gain_given_up_db.get(index).copied().flatten();
    let here = frequency(report.intake.frequency_hz[index]);
    let price = match gain(best).zip(gain(in_use)).map(|(best, now)| best - now) {
        Some(db) if rounded(db) == "0" => String::new(),
        Some(db) if db < 0.0 => format!("; it gives up {} more gain at {here}", decibels(-db)),
        Some(db) => format!("; it gives up {} less gain at {here}", decibels(db)),
        None => String::new(),
    };
    let follows = if best.policy.follows_frequency() {
        " It may jump from one frequency to the next, which something common to all channels has to make good."
    } else {
        ""
    };
    Some(Note::remark(format!(
        "With {} as reference the chosen words' RMS vector error over the design band is {then} instead of {now}{price}.\
         {follows}",
        the_reference(best.policy, &analysis.model)
    )))
}
