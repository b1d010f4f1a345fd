//! Files that are no state of the run: each reason as a sentence, and all of them counted by reason.

use super::wording::{clipped, counted, exact, frequency_range, joined, ratio_percent, whole};
use crate::run::{FileFault, Intake, Interpolation, LeftOut, LeftOutReason};

/// The longest text from a file name or a reader's message that a sentence takes over.
const LONGEST_QUOTE: usize = 160;

/// One file that is no state, as it is listed.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct LeftOutLine {
    /// Path below the dropped folder.
    pub path: String,
    /// What happened and what to do.
    pub sentence: String,
}

/// Every file that was left out, in the order of the intake.
pub fn lines(intake: &Intake) -> Vec<LeftOutLine> {
    let line =
        |file: &LeftOut| LeftOutLine { path: file.path.clone(), sentence: sentence(&file.reason, intake) };
    intake.left_out.iter().map(line).collect()
}

/// "5 files were left out: 2 could not be read, 1 has one port only and 2 …", or "2 files were left out: they could not be
/// read" where all have one reason; `None` where there are none.
pub fn counted_by_reason(left_out: &[LeftOut]) -> Option<String> {
    match left_out {
        [] => None,
        [only] => Some(format!("1 file was left out: it {}.", predicate(&only.reason, true))),
        several => {
            let mut reasons: Vec<(&LeftOutReason, usize)> = Vec::new();
            for file in several {
                let same = |reason: &LeftOutReason| {
                    std::mem::discriminant(reason) == std::mem::discriminant(&file.reason)
                };
                match reasons.iter_mut().find(|(reason, _)| same(reason)) {
                    Some((_, count)) => *count += 1,
                    None => reasons.push((&file.reason, 1)),
                }
            }
            if let [(reason, _)] = reasons[..] {
                let files = whole(several.len());
                return Some(format!("{files} files were left out: they {}.", predicate(reason, false)));
            }
            let parts: Vec<String> = reasons
                .iter()
                .map(|&(reason, count)| format!("{} {}", whole(count), predicate(reason, count == 1)))
                .collect();
            Some(format!("{} files were left out: {}.", whole(several.len()), joined(&parts)))
        }
    }
}

/// Whether a file that was left out would be a state if nothing were wrong with it, so that a missing word may be its own.
pub(super) fn may_be_a_state(reason: &LeftOutReason) -> bool {
    match reason {
        LeftOutReason::Unreadable(_)
        | LeftOutReason::Ports(_)
        | LeftOutReason::NoSuchPath { .. }
        | LeftOutReason::OtherGrid { .. }
        | LeftOutReason::OtherReference { .. } => true,
        LeftOutReason::NotSParameters
        | LeftOutReason::NoWord
        | LeftOutReason::NotInIndex
        | LeftOutReason::FaultyIndex(_)
        | LeftOutReason::OtherIndex { .. }
        | LeftOutReason::Doubled { .. } => false,
    }
}

fn predicate(reason: &LeftOutReason, one: bool) -> &'static str {
    match (reason, one) {
        (LeftOutReason::NotSParameters, true) => "is not named like an S-parameter file",
        (LeftOutReason::NotSParameters, false) => "are not named like S-parameter files",
        (LeftOutReason::Unreadable(_), _) => "could not be read",
        (LeftOutReason::Ports(_), true) => "has one port only",
        (LeftOutReason::Ports(_), false) => "have one port only",
        (LeftOutReason::NoSuchPath { .. }, true) => "lacks a port of the path",
        (LeftOutReason::NoSuchPath { .. }, false) => "lack a port of the path",
        (LeftOutReason::NoWord, true) => "names no control word",
        (LeftOutReason::NoWord, false) => "name no control word",
        (LeftOutReason::NotInIndex, true) => "has no row in the index",
        (LeftOutReason::NotInIndex, false) => "have no row in the index",
        (LeftOutReason::FaultyIndex(_), true) => "is an index with a fault",
        (LeftOutReason::FaultyIndex(_), false) => "are indexes with a fault",
        (LeftOutReason::OtherIndex { .. }, true) => "is a second index",
        (LeftOutReason::OtherIndex { .. }, false) => "are further indexes",
        (LeftOutReason::Doubled { .. }, true) => "repeats the word of another file",
        (LeftOutReason::Doubled { .. }, false) => "repeat the words of other files",
        (LeftOutReason::OtherGrid { .. }, true) => "has other frequencies than the run",
        (LeftOutReason::OtherGrid { .. }, false) => "have other frequencies than the run",
        (LeftOutReason::OtherReference { .. }, true) => "has another reference impedance than the run",
        (LeftOutReason::OtherReference { .. }, false) => "have another reference impedance than the run",
    }
}

fn sentence(reason: &LeftOutReason, intake: &Intake) -> String {
    match reason {
        LeftOutReason::NotSParameters => {
            "Its name does not end like an S-parameter file's (.s2p or .ts). If it \
                                          is one, give it that ending and drop the folder again."
                .to_owned()
        }
        LeftOutReason::Unreadable(fault) => unreadable(fault),
        LeftOutReason::Ports(ports) => format!(
            "It has {}; a state has two. Save the path from the part's input to its output as a two-port file.",
            counted(*ports, "port", "ports")
        ),
        LeftOutReason::NoSuchPath { ports, path } => format!(
            "It has {}, so there is no path from port {} to port {} through it. Choose another path above.",
            counted(*ports, "port", "ports"),
            path.input,
            path.output
        ),
        LeftOutReason::NoWord => "Its name gives no control word as the other names do. Name it like the \
                                  others if it is a state; else nothing needs doing."
            .to_owned(),
        LeftOutReason::NotInIndex => {
            "The index has no row for it. Add one if it is a state; else nothing needs doing.".to_owned()
        }
        LeftOutReason::FaultyIndex(fault) => format!(
            "It looks like an index of the files, but could not be used. {} Correct it and drop the folder again.",
            clipped(fault, LONGEST_QUOTE)
        ),
        LeftOutReason::OtherIndex { used } => format!(
            "It is an index of the files, but “{}” is used. Remove whichever of the two is wrong.",
            clipped(used, LONGEST_QUOTE)
        ),
        LeftOutReason::Doubled { word, kept } => format!(
            "Word {} is already given by “{}”, which was read first and is used. Remove whichever of the two is \
             wrong.",
            word.0,
            clipped(kept, LONGEST_QUOTE)
        ),
        LeftOutReason::OtherGrid { points, first_hz, last_hz, interpolation } => format!(
            "Its {} {} {} not the run's. {}",
            counted(*points, "frequency", "frequencies"),
            frequency_range(*first_hz, *last_hz),
            if *points == 1 { "is" } else { "are" },
            interpolation_sentence(*interpolation)
        ),
        LeftOutReason::OtherReference { reference_ohm, one_path } => format!(
            "Its reference impedance is {}, the run's is {} Ω. {}",
            ohms(*reference_ohm),
            exact(intake.reference_ohm),
            if *one_path {
                "It cannot be renormalised, since S12 and S22 were not measured. Save it again with the run's."
            } else {
                "It can be renormalised: allow that above."
            }
        ),
    }
}

fn interpolation_sentence(interpolation: Interpolation) -> String {
    match interpolation {
        Interpolation::Outside => {
            "The run goes beyond them, so they cannot be interpolated. Measure it again with the \
                                   run's frequencies."
                .to_owned()
        }
        Interpolation::Offered { largest_error } => format!(
            "It can be interpolated if you ask for it above; between two of its points a straight line may miss the \
             transmission by {}.",
            ratio_percent(largest_error)
        ),
    }
}

/// "75 Ω", "50 Ω at the input and 75 Ω at the output".
pub fn ohms([input, output]: [f64; 2]) -> String {
    if input == output {
        format!("{} Ω", exact(input))
    } else {
        format!("{} Ω at the input and {} Ω at the output", exact(input), exact(output))
    }
}

fn unreadable(fault: &FileFault) -> String {
    let place = match (fault.line, fault.column) {
        (Some(line), Some(column)) => format!("Line {}, column {}: ", whole(line), whole(column)),
        (Some(line), None) => format!("Line {}: ", whole(line)),
        _ => String::new(),
    };
    format!("It could not be read. {place}{}", clipped(&fault.message, LONGEST_QUOTE))
}
