//! The words for each kind of fault: a name, a clause, more detail, and what to do.

use crate::checks::{Estimate, Fault, Finding, Stuck, WhyUntold};
use crate::control::Word;
use crate::pipeline::Report;
use crate::sheet::listed::{kind, listed_in_use, setting_name};
use crate::sheet::wording::{
    counted, decibels, degrees, joined, named, ratio_percent, rounded, signed, whole,
};

/// How many words a clause names before it counts the rest.
const NAMED_WORDS: usize = 4;

/// The kind of fault in exports and in the table of severities.
pub(super) fn name(fault: &Fault) -> &'static str {
    kind_name(fault.kind())
}

/// The same of a kind alone.
pub(super) fn kind_name(kind: crate::checks::FaultKind) -> &'static str {
    use crate::checks::FaultKind as K;
    match kind {
        K::IdleBit => "idle bit",
        K::ExchangedBits => "exchanged bits",
        K::ReversedBits => "reversed bits",
        K::ReorderedBits => "bits in another order",
        K::InvertedBits => "inverted bits",
        K::InvertedField => "inverted field",
        K::OrderOfFiles => "order of files",
        K::RepeatedBuffer => "repeated buffer",
        K::MissedWord => "missed word",
        K::Unsettled => "unsettled state",
        K::StepInTime => "step in time",
        K::StepSomewhere => "step in time, place untold",
        K::StepUntold => "step untold",
        K::Drift => "drift",
        K::DriftInRepeats => "drift in repeated captures",
        K::NoDriftInRepeats => "no drift in repeated captures",
        K::DriftUntold => "drift untold",
        K::Pace => "pace of the run",
        K::NotPassive => "not passive",
        K::NotReciprocal => "not reciprocal",
        K::NearFloor => "near the noise floor",
        K::Leakage => "leakage",
        K::Outlier => "outlier",
        K::OnePath => "one direction measured",
    }
}

/// What was found, as a clause that may stand after a colon.
pub(super) fn clause(finding: &Finding, report: &Report) -> String {
    let words = of_words(&finding.words, report);
    let (one, many) = (finding.words.len() == 1, finding.words.len());
    let verb = |singular: &'static str, plural: &'static str| if one { singular } else { plural };
    match &finding.fault {
        Fault::IdleBit { .. }
        | Fault::ExchangedBits { .. }
        | Fault::ReversedBits { .. }
        | Fault::ReorderedBits { .. }
        | Fault::InvertedBits { .. }
        | Fault::InvertedField { .. } => wiring_clause(&finding.fault),
        Fault::OrderOfFiles(order) => {
            format!("the files seem to hold the words in {}", super::order_name(*order))
        }
        Fault::RepeatedBuffer => {
            format!("{words} {} the very bytes of the capture before", verb("holds", "each hold"))
        }
        Fault::MissedWord => {
            format!(
                "{words} {} the capture before within the noise, though a working bit had changed",
                verb("equals", "each equal")
            )
        }
        Fault::Unsettled { share, .. } => {
            format!(
                "{words} {} captured before the part had settled, with up to {} of the state before mixed in",
                verb("was", "were"),
                ratio_percent(*share)
            )
        }
        Fault::StepInTime { .. }
        | Fault::StepSomewhere { .. }
        | Fault::StepUntold { .. }
        | Fault::Drift { .. }
        | Fault::DriftInRepeats { .. }
        | Fault::NoDriftInRepeats { .. }
        | Fault::DriftUntold(_)
        | Fault::Pace { .. } => time_clause(&finding.fault, report),
        Fault::NotPassive { largest_singular_value } => format!(
            "in {} more power comes out than goes in: the largest singular value of S is {:.3}, where a passive part has at most 1",
            counted(many, "file", "files"),
            largest_singular_value
        ),
        Fault::NotReciprocal { largest } => format!(
            "in {} S21 and S12 differ by up to {}, beyond the noise",
            counted(many, "file", "files"),
            ratio_percent(*largest)
        ),
        Fault::NearFloor { smallest_snr_db } => format!(
            "{} {} near the noise floor, the deepest {} above it",
            counted(many, "state", "states"),
            verb("is", "are"),
            decibels(*smallest_snr_db)
        ),
        Fault::Leakage { relative_db } => format!(
            "something coherent leaks around the part, {} dB relative to the zero word, and bends the deep states",
            rounded(*relative_db)
        ),
        Fault::Outlier { relative } => format!(
            "{words} {} by up to {} from what the other states say, and nothing tried explains it",
            verb("stands out", "stand out"),
            ratio_percent(*relative)
        ),
        Fault::OnePath => "S12 and S22 were not measured".to_owned(),
    }
}

/// What bits do that they should not; nothing of other faults.
fn wiring_clause(fault: &Fault) -> String {
    match fault {
        Fault::IdleBit { bit, gain_db, phase_deg, .. } => {
            format!(
                "bit {bit} does nothing (it moves the gain by {} and the phase by {})",
                decibels(*gain_db),
                degrees(*phase_deg)
            )
        }
        Fault::ExchangedBits { low, high } => format!("bits {low} and {high} have each other's weight"),
        Fault::ReversedBits { bits } => format!("{} stand in reverse order", of_bits(bits)),
        Fault::ReorderedBits { bits } => {
            format!("the bits of a field stand in another order; from the finest, they are {}", listed(bits))
        }
        Fault::InvertedBits { bits } => {
            let works = if bits.len() == 1 { "works" } else { "work" };
            format!("{} {works} the other way: a 0 does what a 1 should", of_bits(bits))
        }
        Fault::InvertedField { bits, or_direction } => {
            let or = if *or_direction {
                ", or lag was taken for lead; phases alone cannot tell which"
            } else {
                ""
            };
            format!("{}, a whole field, work the other way{or}", of_bits(bits))
        }
        _ => String::new(),
    }
}

/// What happened in the course of the run; nothing of other faults.
fn time_clause(fault: &Fault, report: &Report) -> String {
    match fault {
        Fault::StepInTime { after, gain_db, phase_deg } => format!(
            "from {} on everything is changed by {} dB and {}°",
            of_words(&[*after], report),
            signed(*gain_db),
            signed(*phase_deg)
        ),
        Fault::StepSomewhere { after } => format!(
            "everything was changed by a common factor once, before one of {}; the run does not tell which",
            of_words(after, report)
        ),
        Fault::StepUntold { after } => format!(
            "a step in time before {} would not have been seen, since it would look like the weight of a bit",
            of_words(after, report)
        ),
        Fault::DriftInRepeats { of, captures, gain_db, phase_deg, .. } => format!(
            "{}, captured {} in all, drifted by {} and {} over the run",
            of_words(of, report),
            counted(*captures, "time", "times"),
            estimate(*gain_db, " dB"),
            estimate(*phase_deg, "°")
        ),
        Fault::NoDriftInRepeats { of, captures, gain_db, phase_deg } => format!(
            "{}, captured {} in all, shows no drift: {} and {} over the run",
            of_words(of, report),
            counted(*captures, "time", "times"),
            estimate(*gain_db, " dB"),
            estimate(*phase_deg, "°")
        ),
        Fault::Drift { gain_db, phase_deg } => format!(
            "from the first capture to the last the set-up drifted by {} dB and {}°",
            signed(*gain_db),
            signed(*phase_deg)
        ),
        Fault::DriftUntold(why) => format!(
            "whether the set-up drifted cannot be told{}",
            match why {
                WhyUntold::OrderNotRecorded => ": the order of the captures is not on record",
                WhyUntold::LooksLikeBitWeights => {
                    ": in the order of these captures a steady drift looks like bit weights, and hides in them"
                }
                WhyUntold::TooFewRepeats => ": one word was captured again, but three captures are needed",
                WhyUntold::TooFewStates => ": the states are too few",
            }
        ),
        Fault::Pace { median_s, longest_s, after } => format!(
            "half of the captures took less than {}; the longest pause, {}, came before {}",
            seconds(*median_s),
            seconds(*longest_s),
            of_words(&[*after], report)
        ),
        _ => String::new(),
    }
}

/// What else is worth saying.
pub(super) fn detail(finding: &Finding) -> Option<String> {
    match &finding.fault {
        Fault::IdleBit { stuck: Some(stuck), .. } => Some(format!(
            "By the loss given, the part always sees a {}.",
            match stuck {
                Stuck::High => "1",
                Stuck::Low => "0",
            }
        )),
        Fault::IdleBit { stuck: None, .. } => Some(
            "Whether it is stuck high or low cannot be told without the loss that the zero word should have."
                .to_owned(),
        ),
        Fault::Unsettled { time_constant_points: Some(points), .. } => Some(format!(
            "It fades with a time constant of some {} points of the sweep.",
            whole_points(*points)
        )),
        Fault::Unsettled { time_constant_points: None, .. } => {
            Some("Its time constant could not be told.".to_owned())
        }
        Fault::DriftInRepeats { gain_db_per_hour: Some(gain), phase_deg_per_hour: Some(phase), .. } => {
            Some(format!("That is {} and {} an hour.", estimate(*gain, " dB"), estimate(*phase, "°")))
        }
        Fault::OnePath => Some("Nothing is said of reciprocity, passivity or the output's match.".to_owned()),
        _ => None,
    }
}

/// What to do about it.
pub(super) fn advice(finding: &Finding) -> &'static str {
    match &finding.fault {
        Fault::IdleBit { .. } => "Look for an open or shorted control line, and measure again.",
        Fault::ExchangedBits { .. }
        | Fault::ReversedBits { .. }
        | Fault::ReorderedBits { .. }
        | Fault::InvertedBits { .. }
        | Fault::InvertedField { .. } => {
            "Take the layout that fits if the part is wired so for good; else rewire and measure again."
        }
        Fault::OrderOfFiles(_) => "Take the files in that order, or correct the script that named them.",
        Fault::RepeatedBuffer => {
            "The analyser was read before it had a new sweep. Measure these words again, waiting for the sweep's end."
        }
        Fault::MissedWord => {
            "The part did not take these words. Measure them again, and check the control bus."
        }
        Fault::Unsettled { .. } => {
            "Wait longer between setting a word and starting the sweep, and measure these again."
        }
        Fault::StepInTime { .. } | Fault::StepSomewhere { .. } => {
            "Something moved or was reconnected there. Check cables and calibration, and measure again from there on."
        }
        Fault::Drift { .. } | Fault::DriftInRepeats { .. } => {
            "Let the set-up warm up, calibrate again, or measure the words in a random order."
        }
        Fault::DriftUntold(WhyUntold::OrderNotRecorded) => {
            "Keep an index of the captures, or the files' times, beside the run."
        }
        Fault::DriftUntold(_) => {
            "Measure one word again at intervals, or the words in a random order, to be able to tell."
        }
        Fault::NotPassive { .. } | Fault::NotReciprocal { .. } => {
            "Check the calibration; if the part amplifies or is one-way by design, say so below."
        }
        Fault::NearFloor { .. } => {
            "Narrow the receiver's bandwidth or average more where these states are needed."
        }
        Fault::Leakage { .. } => "Check shielding and connectors; deep states are worth less than they look.",
        Fault::Outlier { .. } => "Measure these words again.",
        Fault::StepUntold { .. } => "Measure the words in a random order to be able to tell.",
        Fault::NoDriftInRepeats { .. } | Fault::Pace { .. } | Fault::OnePath => "",
    }
}

/// "word 17", "words 3, 7 and 12", or settings and states by their names in a run without bits.
fn of_words(words: &[Word], report: &Report) -> String {
    if let Some(listed) = listed_in_use(&report.intake) {
        let names: Vec<String> = words.iter().filter_map(|&word| setting_name(listed, word)).collect();
        let (one, many) = kind(listed);
        return named(one, many, &names, NAMED_WORDS);
    }
    let words: Vec<u32> = words.iter().map(|word| word.0).collect();
    named("word", "words", &words, NAMED_WORDS)
}

fn of_bits(bits: &[u8]) -> String {
    format!("{} {}", if bits.len() == 1 { "bit" } else { "bits" }, listed(bits))
}

fn listed(bits: &[u8]) -> String {
    joined(&bits.iter().map(u8::to_string).collect::<Vec<_>>())
}

fn whole_points(points: f64) -> String {
    rounded(points).trim_end_matches(".0").to_owned()
}

/// "+0.31 dB ± 0.02 dB".
fn estimate(estimate: Estimate, unit: &str) -> String {
    format!("{}{unit} ± {}{unit}", signed(estimate.value), rounded(estimate.sigma))
}

/// "0.8 s", "12 s", "4 min 10 s".
fn seconds(value: f64) -> String {
    if value < 90.0 {
        return format!("{} s", rounded(value));
    }
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a run is shorter than ages")]
    let all = value.round() as usize;
    let (hours, minutes, rest) = (all / 3600, all / 60 % 60, all % 60);
    match hours {
        0 => format!("{minutes} min {rest} s"),
        _ => format!("{} h {minutes} min", whole(hours)),
    }
}
