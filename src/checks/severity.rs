//! How much a finding matters, and what all findings mean for the run: one written table.

use super::finding::{Fault, Finding};
use serde::{Deserialize, Serialize};

/// How much a finding matters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Severity {
    /// Good to know.
    Note,
    /// To be had in mind when the numbers are used.
    Care,
    /// Numbers that rest on it are worthless.
    NotToBeTrusted,
}

/// What the checks say of the run as a whole.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum RunVerdict {
    /// Nothing was found that matters.
    #[serde(rename = "sound")]
    Sound,
    /// Usable, with what was found in mind.
    #[serde(rename = "with care")]
    WithCare,
    /// The findings make the numbers worthless.
    #[serde(rename = "not to be trusted")]
    NotToBeTrusted,
    /// No check was made.
    #[serde(rename = "unchecked")]
    Unchecked,
}

impl std::fmt::Display for RunVerdict {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::Sound => "sound",
            Self::WithCare => "with care",
            Self::NotToBeTrusted => "not to be trusted",
            Self::Unchecked => "unchecked",
        })
    }
}

/// The severity of a fault by its kind and size. Common practice where no source is named: there is no standard for
/// how far a run may be off.
pub(super) fn severity(fault: &Fault) -> Severity {
    match fault {
        Fault::DriftUntold(_) | Fault::Pace { .. } | Fault::OnePath => Severity::Note,
        Fault::NearFloor { .. }
        | Fault::Leakage { .. }
        | Fault::NotReciprocal { .. }
        | Fault::NotPassive { .. }
        | Fault::Outlier { .. }
        | Fault::StepInTime { .. }
        | Fault::Drift { .. }
        | Fault::InvertedBits { .. }
        | Fault::InvertedField { .. }
        | Fault::ExchangedBits { .. }
        | Fault::ReversedBits { .. }
        | Fault::ReorderedBits { .. } => Severity::Care,
        Fault::Unsettled { share, .. } if *share < 0.05 => Severity::Care,
        Fault::Unsettled { .. }
        | Fault::IdleBit { .. }
        | Fault::OrderOfFiles(_)
        | Fault::RepeatedBuffer
        | Fault::MissedWord => Severity::NotToBeTrusted,
    }
}

/// The verdict that follows from all findings: the gravest of them decides.
pub fn verdict(findings: &[Finding]) -> RunVerdict {
    match findings.iter().map(Finding::severity).max() {
        None | Some(Severity::Note) => RunVerdict::Sound,
        Some(Severity::Care) => RunVerdict::WithCare,
        Some(Severity::NotToBeTrusted) => RunVerdict::NotToBeTrusted,
    }
}
