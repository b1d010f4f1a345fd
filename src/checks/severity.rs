//! How much a finding matters, and what all findings mean for the run: one written table, which a page can show.
//!
//! The rows of one kind of fault are asked in order, the first whose condition holds decides, and the last of each kind
//! holds always. There is no standard for how far a run may be off: the limits are common practice. Those of steps and
//! drifts come from the default tolerances of a part with steps of 0.5 dB and 5.625°, which are half a step: a quarter
//! of a tolerance matters, four tolerances are more than any table can make good.

use super::finding::{Estimate, Fault, FaultKind, Finding};
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

/// A figure that tells the size of a fault.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Figure {
    /// The largest share of the capture before, in percent.
    SharePct,
    /// The distance from the model, relative to it, in percent.
    DistancePct,
    /// A change of gain in dB, without its sign.
    GainDb,
    /// A change of phase in degrees, without its sign.
    PhaseDeg,
    /// The largest singular value of the scattering matrix.
    SingularValue,
    /// The difference of both directions, relative to the larger, in percent.
    DifferencePct,
    /// The smallest signal-to-noise ratio in dB.
    SnrDb,
    /// What goes around the part, in dB relative to the zero word.
    LeakageDb,
}

/// From where on a figure counts.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Bound {
    /// At this value and above.
    AtLeast(f64),
    /// Below this value.
    Below(f64),
}

/// A figure and from where on it counts.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Limit {
    /// The figure.
    pub figure: Figure,
    /// From where on it counts.
    pub bound: Bound,
}

/// A row of the table: the severity of a kind of fault under a condition.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Row {
    /// The kind of fault.
    pub kind: FaultKind,
    /// Holds where any of these is reached; without any, whatever the size.
    pub any_of: &'static [Limit],
    /// Holds where the finding concerns more than so many percent of the run's words; `None`: however many.
    pub words_over_pct: Option<f64>,
    /// How much it then matters.
    pub severity: Severity,
}

/// A word in fifty: one word of 32 is more, one of 64 is less.
const FEW_WORDS_PCT: f64 = 2.0;
const MANY_WORDS_PCT: f64 = 10.0;
const MOST_WORDS_PCT: f64 = 50.0;

const fn at_least(figure: Figure, value: f64) -> Limit {
    Limit { figure, bound: Bound::AtLeast(value) }
}

const fn below(figure: Figure, value: f64) -> Limit {
    Limit { figure, bound: Bound::Below(value) }
}

const fn row(
    kind: FaultKind,
    any_of: &'static [Limit],
    words_over_pct: Option<f64>,
    severity: Severity,
) -> Row {
    Row { kind, any_of, words_over_pct, severity }
}

const LARGE_CHANGE: &[Limit] = &[at_least(Figure::GainDb, 1.0), at_least(Figure::PhaseDeg, 11.0)];
const CHANGE_THAT_MATTERS: &[Limit] = &[at_least(Figure::GainDb, 0.06), at_least(Figure::PhaseDeg, 0.7)];

static TABLE: &[Row] = {
    use FaultKind as K;
    use Severity::{Care, NotToBeTrusted as Not, Note};
    const FEW: Option<f64> = Some(FEW_WORDS_PCT);
    const MANY: Option<f64> = Some(MANY_WORDS_PCT);
    const MOST: Option<f64> = Some(MOST_WORDS_PCT);
    &[
        row(K::OrderOfFiles, &[], None, Not),
        row(K::IdleBit, &[], None, Not),
        row(K::ExchangedBits, &[], None, Care),
        row(K::ReversedBits, &[], None, Care),
        row(K::ReorderedBits, &[], None, Care),
        row(K::InvertedBits, &[], None, Care),
        row(K::InvertedField, &[], None, Care),
        row(K::RepeatedBuffer, &[], FEW, Not),
        row(K::RepeatedBuffer, &[], None, Care),
        row(K::MissedWord, &[], FEW, Not),
        row(K::MissedWord, &[], None, Care),
        row(K::Unsettled, &[at_least(Figure::SharePct, 5.0)], FEW, Not),
        row(K::Unsettled, &[at_least(Figure::SharePct, 2.0)], None, Care),
        row(K::Unsettled, &[], FEW, Care),
        row(K::Unsettled, &[], None, Note),
        row(K::Outlier, &[at_least(Figure::DistancePct, 3.0)], MANY, Not),
        row(K::Outlier, &[at_least(Figure::DistancePct, 3.0)], None, Care),
        row(K::Outlier, &[], FEW, Care),
        row(K::Outlier, &[], None, Note),
        row(K::StepInTime, LARGE_CHANGE, None, Not),
        row(K::StepInTime, CHANGE_THAT_MATTERS, None, Care),
        row(K::StepInTime, &[], None, Note),
        row(K::StepSomewhere, &[], None, Care),
        row(K::StepUntold, &[], None, Note),
        row(K::Drift, LARGE_CHANGE, None, Not),
        row(K::Drift, CHANGE_THAT_MATTERS, None, Care),
        row(K::Drift, &[], None, Note),
        row(K::DriftInRepeats, LARGE_CHANGE, None, Not),
        row(K::DriftInRepeats, CHANGE_THAT_MATTERS, None, Care),
        row(K::DriftInRepeats, &[], None, Note),
        // As large as it may be: two deviations beyond what was found.
        row(K::NoDriftInRepeats, CHANGE_THAT_MATTERS, None, Care),
        row(K::NoDriftInRepeats, &[], None, Note),
        row(K::DriftUntold, &[], None, Note),
        row(K::Pace, &[], None, Note),
        // A part that amplifies is no fault, so that this alone never condemns a run. 1.05 is 0.42 dB.
        row(K::NotPassive, &[at_least(Figure::SingularValue, 1.05)], None, Care),
        row(K::NotPassive, &[], FEW, Care),
        row(K::NotPassive, &[], None, Note),
        row(K::NotReciprocal, &[at_least(Figure::DifferencePct, 5.0)], None, Care),
        row(K::NotReciprocal, &[], FEW, Care),
        row(K::NotReciprocal, &[], None, Note),
        row(K::NearFloor, &[below(Figure::SnrDb, 10.0)], MOST, Not),
        row(K::NearFloor, &[], None, Care),
        // Bends the zero word itself by 0.8 dB.
        row(K::Leakage, &[at_least(Figure::LeakageDb, -20.0)], None, Not),
        row(K::Leakage, &[], None, Care),
        row(K::OnePath, &[], None, Note),
    ]
};

/// The whole table: the grading itself is made from it.
pub fn table() -> &'static [Row] {
    TABLE
}

impl Row {
    /// Whether the row's condition holds for a finding.
    fn holds(&self, finding: &Finding) -> bool {
        let reached = |limit: &Limit| {
            finding.fault.figure(limit.figure).is_some_and(|value| match limit.bound {
                Bound::AtLeast(least) => value >= least,
                Bound::Below(bound) => value < bound,
            })
        };
        self.kind == finding.fault.kind()
            && (self.any_of.is_empty() || self.any_of.iter().any(reached))
            && self.words_over_pct.is_none_or(|pct| finding.words_pct() > pct)
    }
}

impl Finding {
    /// The share of the run's words that it concerns, in percent; all where it concerns the run as a whole or where
    /// it is not known how many words the run has.
    pub fn words_pct(&self) -> f64 {
        match self.run_words {
            Some(all) if all > 0 && !self.words.is_empty() => 100.0 * self.words.len() as f64 / all as f64,
            _ => 100.0,
        }
    }

    /// How much it matters, by the written table.
    pub fn severity(&self) -> Severity {
        TABLE.iter().find(|row| row.holds(self)).map_or(Severity::Care, |row| row.severity)
    }
}

impl Fault {
    /// A figure of its size; `None` where it has no such figure.
    fn figure(&self, figure: Figure) -> Option<f64> {
        match (self, figure) {
            (Self::Unsettled { share, .. }, Figure::SharePct) => Some(100.0 * share),
            (Self::Outlier { relative }, Figure::DistancePct) => Some(100.0 * relative),
            (Self::StepInTime { gain_db, .. } | Self::Drift { gain_db, .. }, Figure::GainDb) => {
                Some(gain_db.abs())
            }
            (Self::StepInTime { phase_deg, .. } | Self::Drift { phase_deg, .. }, Figure::PhaseDeg) => {
                Some(phase_deg.abs())
            }
            (Self::DriftInRepeats { gain_db, .. }, Figure::GainDb) => Some(gain_db.value.abs()),
            (Self::DriftInRepeats { phase_deg, .. }, Figure::PhaseDeg) => Some(phase_deg.value.abs()),
            (Self::NoDriftInRepeats { gain_db, .. }, Figure::GainDb) => Some(gain_db.at_most()),
            (Self::NoDriftInRepeats { phase_deg, .. }, Figure::PhaseDeg) => Some(phase_deg.at_most()),
            (Self::NotPassive { largest_singular_value }, Figure::SingularValue) => {
                Some(*largest_singular_value)
            }
            (Self::NotReciprocal { largest }, Figure::DifferencePct) => Some(100.0 * largest),
            (Self::NearFloor { smallest_snr_db }, Figure::SnrDb) => Some(*smallest_snr_db),
            (Self::Leakage { relative_db }, Figure::LeakageDb) => Some(*relative_db),
            _ => None,
        }
    }
}

impl Estimate {
    /// The size that it may have: two deviations beyond its value.
    fn at_most(&self) -> f64 {
        self.value.abs() + 2.0 * self.sigma
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
