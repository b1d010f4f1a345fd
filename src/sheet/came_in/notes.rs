//! What stands beside question 1: above all what was guessed of the run, why, and where to say otherwise.

use crate::control::{ControlModel, Listing, Setting};
use crate::pipeline::{Analysis, LayoutOrigin, ListedPhases, Report};
use crate::run::{Intake, LeftOutReason, Naming, NamingChoice, NamingSource};
use crate::sheet::answer::Note;
use crate::sheet::left_out::{counted_by_reason, ohms};
use crate::sheet::listed::setting_name;
use crate::sheet::no_analysis::no_analysis_sentence;
use crate::sheet::provenance::model_text;
use crate::sheet::wording::{as_sentence, clipped, counted, exact, frequency_range, whole};

pub(super) fn notes(report: &Report) -> Vec<Note> {
    let intake = &report.intake;
    let mut notes = Vec::new();
    if !intake.states.is_empty() {
        if let Some(counted) = counted_by_reason(&intake.left_out) {
            notes.push(Note::attention(format!("{counted} The rest went on.")));
        }
        let wanted = report.settings.naming;
        notes.extend(naming_note(&intake.naming, &intake.naming_choices, wanted));
        notes.extend(majority_notes(intake));
    }
    notes.extend(naming_notes(report));
    match &report.analysis {
        Ok(analysis) => notes.extend(match &analysis.layout_origin {
            LayoutOrigin::Guessed(reason) => vec![Note::guess(
                format!("the layout of the control word is {}.", readable(&model_text(&analysis.model))),
                as_sentence(&clipped(reason, 1_000)),
                "change it under “Control word”.",
            )],
            LayoutOrigin::Given => {
                vec![Note::remark(format!(
                    "The layout as given: {}.",
                    readable(&model_text(&analysis.model))
                ))]
            }
            LayoutOrigin::Listed(phases) => listed_notes(intake, analysis, *phases),
            LayoutOrigin::Marks { proposed } => marks_notes(intake, analysis, *proposed),
        }),
        Err(reason) if !intake.states.is_empty() => notes.push(Note::attention(no_analysis_sentence(reason))),
        Err(_) => {}
    }
    notes.extend(path_note(report));
    notes.extend(fitting_notes(intake));
    if intake.one_path && !intake.states.is_empty() {
        notes.push(Note::remark(
            "S12 and S22 are zero in every file: the analyser measured one direction only. Nothing is said of \
             reciprocity, passivity or the output's match.",
        ));
    }
    for (sentence, files) in &intake.warnings {
        let text = as_sentence(&clipped(sentence, 240));
        notes.push(Note::remark(format!("{}: {text}", counted(*files, "file", "files"))));
    }
    notes
}

/// How the files got their words, which is a guess unless an index or the user said so; `None` where there is nothing to
/// say. `wanted` is the reading that the user chose.
pub fn naming_note(sentence: &str, choices: &[NamingChoice], wanted: Option<Naming>) -> Option<Note> {
    if sentence.is_empty() {
        return None;
    }
    let sentence = clipped(sentence, 1_000);
    let in_use = choices.iter().find(|choice| choice.in_use).map(|choice| choice.naming);
    if in_use.is_some_and(|naming| naming.source == NamingSource::Index) {
        return Some(Note::remark(sentence));
    }
    if wanted.is_some() && wanted == in_use {
        return Some(Note::remark(format!("{sentence} So you chose it.")));
    }
    Some(if choices.len() > 1 {
        let why = format!("it is the likeliest of {} readings of these names.", whole(choices.len()));
        Note::guess(sentence, why, "pick another reading below.")
    } else {
        let edit = "drop an index with the files, a table of their names and words.";
        Note::guess(sentence, "the names fit no other reading that is known here.", edit)
    })
}

/// What the run has in common was not said by anyone where its files differ in it: most of them decide.
fn majority_notes(intake: &Intake) -> Vec<Note> {
    let left_out =
        |is: fn(&LeftOutReason) -> bool| intake.left_out.iter().filter(|file| is(&file.reason)).count();
    let interpolated = intake.adapted.iter().filter(|adapted| adapted.interpolated).count();
    let renormalised = intake.adapted.iter().filter(|adapted| adapted.renormalised_from.is_some()).count();
    let on_other_grid = interpolated + left_out(|reason| matches!(reason, LeftOutReason::OtherGrid { .. }));
    let of_other_ohms =
        renormalised + left_out(|reason| matches!(reason, LeftOutReason::OtherReference { .. }));
    let mut notes = Vec::new();
    if on_other_grid > 0
        && let [first, .., last] = intake.frequency_hz.as_slice()
    {
        notes.push(Note::guess(
            format!(
                "the run is meant to have the {} {}.",
                counted(intake.frequency_hz.len(), "frequency", "frequencies"),
                frequency_range(*first, *last)
            ),
            format!(
                "no others are those of more files; {} from them.",
                counted(on_other_grid, "file differs", "files differ")
            ),
            "ask below for the others to be interpolated, or drop only the files with the frequencies that you want.",
        ));
    }
    if of_other_ohms > 0 {
        notes.push(Note::guess(
            format!("the run's reference impedance is meant to be {} Ω.", exact(intake.reference_ohm)),
            format!(
                "no other is that of more files; {} from it.",
                counted(of_other_ohms, "file differs", "files differ")
            ),
            "say below whether the others are renormalised, or drop only the files of the impedance that you want.",
        ));
    }
    notes
}

/// Which way leads through files of more than two ports.
fn path_note(report: &Report) -> Option<Note> {
    let intake = &report.intake;
    if intake.most_ports <= 2 || intake.states.is_empty() {
        return None;
    }
    let (input, output) = (intake.path.input, intake.path.output);
    let ports = counted(intake.most_ports, "port", "ports");
    let ends = "The other ports end in their reference impedances.";
    Some(if report.settings.path.is_some() {
        Note::remark(format!(
            "The files have up to {ports}; the path from port {input} to port {output} is read, as you gave it. {ends}"
        ))
    } else {
        Note::guess(
            format!("the path from port {input} to port {output} is the part's. {ends}"),
            format!("the files have up to {ports}, and these are the ports of a two-port."),
            "give the two ports below.",
        )
    })
}

/// What was done to files so that they fit the run.
fn fitting_notes(intake: &Intake) -> Vec<Note> {
    let mut notes = Vec::new();
    let interpolated = intake.adapted.iter().filter(|adapted| adapted.interpolated).count();
    if interpolated > 0 {
        notes.push(Note::attention(format!(
            "{} measured at other frequencies, as you asked: their complex values are interpolated to the run's by \
             straight lines.",
            if interpolated == 1 { "1 state was".to_owned() } else { format!("{} states were", whole(interpolated)) }
        )));
    }
    let mut from: Vec<([f64; 2], usize)> = Vec::new();
    for ohms in intake.adapted.iter().filter_map(|adapted| adapted.renormalised_from) {
        match from.iter_mut().find(|(known, _)| *known == ohms) {
            Some((_, count)) => *count += 1,
            None => from.push((ohms, 1)),
        }
    }
    for (from_ohm, count) in from {
        notes.push(Note::remark(format!(
            "{} renormalised from {} to the run's {} Ω.",
            if count == 1 { "1 state was".to_owned() } else { format!("{} states were", whole(count)) },
            ohms(from_ohm),
            exact(intake.reference_ohm)
        )));
    }
    notes
}

/// What the user should know of how the files got their words.
fn naming_notes(report: &Report) -> Vec<Note> {
    let intake = &report.intake;
    let mut notes = Vec::new();
    let in_use = intake.naming_choices.iter().find(|choice| choice.in_use).map(|choice| choice.naming);
    if report.settings.naming.is_some() && report.settings.naming != in_use {
        notes.push(Note::attention(
            "The settings ask for a reading of the names that this run does not have; the likeliest is used instead.",
        ));
    }
    if let Some(index) = &intake.index {
        let path = clipped(&index.path, 120);
        notes.push(Note::remark(format!(
            "The order of the rows in “{path}” is taken for the order of capture."
        )));
        if let Some((line, name)) = index.absent.first() {
            let others = match index.absent.len() - 1 {
                0 => String::new(),
                others => format!(", and {} name others", counted(others, "further row", "further rows")),
            };
            notes.push(Note::attention(format!(
                "Line {line} of “{path}” names “{}”, which is not among the files{others}.",
                clipped(name, 120)
            )));
        }
    }
    notes
}

fn listed_notes(intake: &Intake, analysis: &Analysis, phases: ListedPhases) -> Vec<Note> {
    let zero = analysis.model.zero_word();
    let mut notes = vec![Note::remark(
        "The words are the ranks of the listed settings, which are taken as nominal values.",
    )];
    notes.extend(match phases {
        ListedPhases::AsWritten => None,
        ListedPhases::Guessed { lags } => {
            let (meant, why) = if lags {
                ("lags", "that fits the measurements better.")
            } else {
                ("leads", "lags fit the measurements no better.")
            };
            let what = format!("the phases, which are written without a sign, are {meant}.");
            Some(Note::guess(what, why, "choose lags or leads below."))
        }
        ListedPhases::Given { lags } => {
            let given = if lags { "lags" } else { "leads" };
            Some(Note::remark(format!(
                "The phases are written without a sign. They are {given}, as you gave it."
            )))
        }
    });
    let listed = intake.listed.as_ref();
    if let ControlModel::Listed(Listing::Settings(settings)) = &analysis.model
        && settings.get(zero.0 as usize) != Some(&Setting { gain_db: 0.0, phase_deg: 0.0 })
        && let Some(name) = listed.and_then(|listed| setting_name(listed, zero))
    {
        notes.push(Note::guess(
            format!("{name} takes the place of 0 dB and 0°, and the others count from there."),
            "no such setting is listed, and this one comes nearest, its gain first.",
            "add a file of the setting that is meant, or pick a word as the reference in question 5.",
        ));
    }
    notes
}

fn marks_notes(intake: &Intake, analysis: &Analysis, proposed: bool) -> Vec<Note> {
    let listed = intake.listed.as_ref();
    let lowest =
        listed.and_then(|listed| setting_name(listed, analysis.model.zero_word())).unwrap_or_default();
    let text = readable(&model_text(&analysis.model));
    let wanted = text.split_once("wanted: ").map_or("", |(_, wanted)| wanted);
    let wanted = if proposed {
        Note::guess(
            format!("the settings to serve are {wanted}."),
            "that is what the states reach at the centre of the design band, cut evenly.",
            "give your own below.",
        )
    } else {
        Note::remark(format!("The settings to serve as given: {wanted}."))
    };
    vec![
        Note::remark(
            "The names say nothing of gain or phase, so no word is nominal and only chosen words are scored.",
        ),
        Note::guess(
            format!("the lowest, {lowest}, stands for the zero word."),
            "the names say of none that it does nothing, and a tuned part is mostly counted from its lowest setting.",
            "pick another word as the reference in question 5.",
        ),
        wanted,
    ]
}

/// The ASCII of the exports turned into the signs of the page.
fn readable(layout: &str) -> String {
    layout.replace(" deg", "°")
}
