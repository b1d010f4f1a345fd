//! What stands in the margin of the third question.

use super::{field_name, graded, kind, typical_difference};
use crate::control::Quantity;
use crate::part::{CrossRms, Figure, RmsVariant};
use crate::pipeline::{Analysis, Graded, GradedField, Parts, Report};
use crate::sheet::answer::Note;
use crate::sheet::wording::{counted, frequency, in_quantity, in_unit, joined, named};

/// So many missing words are named.
const WORDS_NAMED: usize = 4;

pub(super) fn of(report: &Report, analysis: &Analysis, parts: &Parts) -> Vec<Note> {
    let mut notes = Vec::new();
    notes.extend(held(report, parts));
    for field in &parts.fields {
        let name = field_name(field, parts);
        match &field.graded {
            Ok(graded) => notes.extend(of_field(&name, field, graded, report, analysis)),
            Err(error) => notes.push(Note::attention(format!("The {name} cannot be graded. {error}"))),
        }
    }
    if parts.is_judged && parts.sigma.is_none() && !report.settings.specification.is_empty() {
        notes.push(Note::attention(
            "The noise of the run cannot be told from so few frequencies, so each value decides by itself.",
        ));
    }
    let has_return_loss =
        report.settings.specification.iter().any(|row| matches!(row.figure, Figure::ReturnLoss(_)));
    if has_return_loss && parts.sigma.is_some() {
        notes.push(Note::remark(
            "The noise of return losses is taken to be that of the transmission, the only one that the run tells.",
        ));
    }
    notes.extend(typical(report, parts));
    notes
}

/// Where the other fields stand meanwhile.
fn held(report: &Report, parts: &Parts) -> Option<Note> {
    if parts.fields.len() < 2 || parts.fields.iter().any(|field| field.field.is_none()) {
        return None;
    }
    let at: Vec<String> = report
        .settings
        .held_codes
        .iter()
        .enumerate()
        .filter(|(_, code)| **code != 0)
        .map(|(number, code)| format!("field {} at code {code}", number + 1))
        .collect();
    Some(if at.is_empty() {
        Note::remark("Each field is graded with the others held at code 0.")
    } else {
        Note::remark(format!("While another field is graded, {} is held, else code 0.", joined(&at)))
    })
}

fn of_field(
    name: &str,
    field: &GradedField,
    graded: &Graded,
    report: &Report,
    analysis: &Analysis,
) -> Vec<Note> {
    let mut notes = Vec::new();
    let chosen = analysis.service.index;
    let at = &graded.at[chosen];
    let here = frequency(report.intake.frequency_hz[chosen]);
    let variants = RmsVariant::all(field.quantity).iter().map(|variant| {
        let value = variant.of(&graded.slice, &at.state_errors);
        format!("{} {}", in_quantity(field.quantity, value), variant_name(*variant))
    });
    let variants: Vec<String> = variants.collect();
    if let [trade, others @ ..] = variants.as_slice() {
        notes.push(Note::remark(format!(
            "RMS {} error of the {name} at {here}: {trade}. Counted otherwise: {}.",
            kind(field.quantity),
            joined(others)
        )));
    }
    if let Some(effect) = at.cross_effect(&graded.slice) {
        let (verb, other) = match field.quantity {
            Quantity::Gain => ("turns the phase", Quantity::Phase),
            Quantity::Phase => ("changes the gain", Quantity::Gain),
        };
        notes.push(Note::remark(format!(
            "At {here} the {name} {verb} too, most at code {}: by {} from code 0, and by {} from lowest to highest.",
            effect.peak_code,
            in_quantity(other, effect.peak),
            in_quantity(other, effect.peak_to_peak)
        )));
        let variants = CrossRms::all(field.quantity).iter().map(|variant| {
            let value = at.cross_rms(&graded.slice, *variant);
            format!("{} {}", in_quantity(other, value), cross_variant_name(*variant))
        });
        let variants: Vec<String> = variants.collect();
        if let [trade, others @ ..] = variants.as_slice() {
            notes.push(Note::remark(format!(
                "RMS {} over the codes of the {name} at {here}: {trade}. Counted otherwise: {}.",
                kind(other),
                joined(others)
            )));
        }
    }
    if let Ok([first, others @ ..]) = at.reverse_steps(&graded.slice).as_deref() {
        let more = match others.len() {
            0 => String::new(),
            count => format!(", and {} more", counted(count, "step", "steps")),
        };
        notes.push(Note::attention(format!(
            "The {name} is not monotonic at {here}: from code {} to {} it goes back{more}.",
            first.from, first.to
        )));
    }
    if !graded.missing.is_empty() {
        let words: Vec<u32> = graded.missing.iter().map(|word| word.0).collect();
        notes.push(Note::attention(format!(
            "Of the {name} {} did not come in: {}.",
            counted(words.len(), "code", "codes"),
            named("word", "words", &words, WORDS_NAMED)
        )));
    }
    notes
}

/// How a root mean square is counted, so that no figure stands without it.
fn variant_name(variant: RmsVariant) -> &'static str {
    match variant {
        RmsVariant::PhaseMeanRemoved => "with the mean taken out, all codes counted",
        RmsVariant::PhaseFromReference => "with the mean kept",
        RmsVariant::PhaseReferenceNotCounted => "with the mean kept and code 0 not counted",
        RmsVariant::PhaseSampleDeviation => "as the sample deviation",
        RmsVariant::GainReferenceNotCounted => "with all codes but code 0 counted",
        RmsVariant::GainFromReference => "with code 0 counted too",
        RmsVariant::GainLinear => "of voltage ratios",
    }
}

/// The same of a cross-effect.
fn cross_variant_name(variant: CrossRms) -> &'static str {
    match variant {
        CrossRms::FromMean => "from the mean of all codes",
        CrossRms::FromReference => "from code 0 with all codes counted",
        CrossRms::ReferenceNotCounted => "from code 0 without counting it",
        CrossRms::FromVoltageMean => "from the mean of the voltage ratios",
        CrossRms::FromPowerMean => "from the mean of the power ratios",
    }
}

/// How far the measurement is from the user's curve at worst.
fn typical(report: &Report, parts: &Parts) -> Option<Note> {
    let typical = report.settings.typical.as_ref()?;
    let figure = typical.figure;
    let Some(difference) = typical_difference(report, parts) else {
        return Some(Note::attention(format!(
            "The typical curve of {} meets nothing that was measured.",
            figure.name()
        )));
    };
    let (index, worst) = difference
        .iter()
        .enumerate()
        .filter_map(|(index, difference)| Some((index, (*difference)?)))
        .max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()))?;
    let size = in_unit(worst.abs(), figure.unit());
    Some(Note::remark(format!(
        "Measured {} lies {size} {} the typical curve at most, at {}.",
        figure.name(),
        if worst < 0.0 { "below" } else { "above" },
        frequency(report.intake.frequency_hz[index])
    )))
}

/// Which of the graded fields a figure is of: the first that has it.
pub(super) fn field_of(figure: Figure, parts: &Parts) -> Option<(&GradedField, &Graded)> {
    graded(parts).find(|(field, _)| figure.quantity().is_none_or(|quantity| quantity == field.quantity))
}
