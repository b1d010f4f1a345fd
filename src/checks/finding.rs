//! What a detector finds.

use super::facts::Facts;
use crate::control::{Layout, Word};
use crate::run::OrderOfFiles;
use serde::{Deserialize, Serialize};

/// Something that the data of a run say about how it was taken.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Finding {
    /// What it is, with its size.
    pub fault: Fault,
    /// The words concerned, ascending; empty where it concerns the run as a whole.
    pub words: Vec<Word>,
    /// First and last frequency in hertz at which it shows; `None` where it shows at all of them.
    pub band_hz: Option<(f64, f64)>,
    /// How sure it is.
    pub certainty: Certainty,
    /// What would cure it, to be applied when the user says so.
    pub correction: Option<Correction>,
    /// How many words the run has, so that it is known how many of them `words` are; `None` where that is not known.
    #[serde(default)]
    pub run_words: Option<usize>,
}

impl Finding {
    /// A finding at all frequencies, without a correction.
    pub(super) fn of(fault: Fault, words: Vec<Word>, certainty: Certainty) -> Self {
        Self { fault, words, band_hz: None, certainty, correction: None, run_words: None }
    }

    /// The same with how many words the run has.
    pub(super) fn in_run_of(self, facts: &Facts) -> Self {
        Self { run_words: Some(facts.words.len()), ..self }
    }
}

/// How sure a finding is.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub enum Certainty {
    /// It follows from bytes, counts or times; no noise comes into it.
    Certain,
    /// It is so many times the spread of the figure that shows it.
    Sigmas(f64),
    /// The explanation leaves a residual so many times smaller than the reading without it.
    ResidualRatio(f64),
    /// The run cannot tell; the finding says what is missing.
    CannotTell,
}

/// A value with its uncertainty.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Estimate {
    /// The value.
    pub value: f64,
    /// Its standard deviation, in the same unit.
    pub sigma: f64,
}

/// To which side an idle bit is stuck.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Stuck {
    /// The part always sees a 1.
    High,
    /// The part always sees a 0.
    Low,
}

/// Why a run cannot show whether there was drift.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum WhyUntold {
    /// The order of the captures is not on record.
    OrderNotRecorded,
    /// The words were captured in such an order that a steady drift looks like bit weights; counting order hides it
    /// wholly.
    LooksLikeBitWeights,
    /// The states are too few to tell.
    TooFewStates,
    /// One word was captured again, but not three times in all.
    TooFewRepeats,
}

/// What was found, with its size.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub enum Fault {
    /// A bit does nothing.
    IdleBit {
        /// The bit.
        bit: u8,
        /// Its fitted weight in dB.
        gain_db: f64,
        /// Its fitted weight in degrees.
        phase_deg: f64,
        /// To which side, told only where the absolute loss is known.
        stuck: Option<Stuck>,
    },
    /// Two bits have each other's weight.
    ExchangedBits {
        /// The lower bit.
        low: u8,
        /// The higher bit.
        high: u8,
    },
    /// A field's bits stand in the reverse order.
    ReversedBits {
        /// The field's bits, the lowest first.
        bits: Vec<u8>,
    },
    /// A field's bits stand in another order, which is neither the reverse nor a matter of pairs.
    ReorderedBits {
        /// The positions in the order of what they do, the finest first.
        bits: Vec<u8>,
    },
    /// Some bits of a field work the other way.
    InvertedBits {
        /// The bits.
        bits: Vec<u8>,
    },
    /// All bits of a field work the other way. In a phase field that fills the circle the phases alone cannot tell
    /// this from a direction that was taken the wrong way.
    InvertedField {
        /// The field's bits.
        bits: Vec<u8>,
        /// Lag for lead would explain it as well.
        or_direction: bool,
    },
    /// Another order of the files fits far better.
    OrderOfFiles(OrderOfFiles),
    /// The same bytes as the capture before: the analyser's memory was read twice.
    RepeatedBuffer,
    /// Equal to the capture before within noise, though a working bit changed: the part did not take the word.
    MissedWord,
    /// A mix with the capture before: the sweep began before the part had settled.
    Unsettled {
        /// The largest share of the capture before, from 0 to 1.
        share: f64,
        /// Time constant in points of the sweep, where it could be told.
        time_constant_points: Option<f64>,
    },
    /// From one capture to the next everything changed by a common factor.
    StepInTime {
        /// The first word after it.
        after: Word,
        /// The change of gain in dB.
        gain_db: f64,
        /// The change of phase in degrees, at the middle of the band.
        phase_deg: f64,
    },
    /// From one capture to the next everything changed by a common factor, and the run does not tell between which:
    /// with other bit weights, a step elsewhere explains it as well.
    StepSomewhere {
        /// The first words after it that are possible, in the order of their capture.
        after: Vec<Word>,
    },
    /// Before these words a step would have gone unseen: it would have looked like bit weights.
    StepUntold {
        /// The words, in the order of their capture.
        after: Vec<Word>,
    },
    /// A slow change with capture time.
    Drift {
        /// From the first capture to the last, in dB.
        gain_db: f64,
        /// From the first capture to the last, in degrees.
        phase_deg: f64,
    },
    /// Words that were captured again changed with time.
    DriftInRepeats {
        /// The words that were captured again, ascending.
        of: Vec<Word>,
        /// How many captures of them there are.
        captures: usize,
        /// Over the whole run, in dB.
        gain_db: Estimate,
        /// Over the whole run, in degrees, at the middle of the band.
        phase_deg: Estimate,
        /// In dB per hour, where times are known.
        gain_db_per_hour: Option<Estimate>,
        /// In degrees per hour, where times are known.
        phase_deg_per_hour: Option<Estimate>,
    },
    /// Words that were captured again show no drift beyond what is uncertain of it.
    NoDriftInRepeats {
        /// The words that were captured again, ascending.
        of: Vec<Word>,
        /// How many captures of them there are.
        captures: usize,
        /// Over the whole run, in dB.
        gain_db: Estimate,
        /// Over the whole run, in degrees, at the middle of the band.
        phase_deg: Estimate,
    },
    /// Whether there was drift cannot be told from this run.
    DriftUntold(WhyUntold),
    /// How the run went on in time.
    Pace {
        /// Median time from one capture to the next, seconds.
        median_s: f64,
        /// The longest, seconds.
        longest_s: f64,
        /// The word after the longest.
        after: Word,
    },
    /// More power comes out than goes in.
    NotPassive {
        /// The largest singular value of the scattering matrix.
        largest_singular_value: f64,
    },
    /// The two directions do not transmit alike.
    NotReciprocal {
        /// |S21 − S12| / max(|S21|, |S12|), the largest beyond the noise.
        largest: f64,
    },
    /// States so deep that the noise blurs them.
    NearFloor {
        /// The smallest signal-to-noise ratio in dB.
        smallest_snr_db: f64,
    },
    /// Something coherent goes around the part and bends the deep states.
    Leakage {
        /// Its size relative to the zero word, in dB.
        relative_db: f64,
    },
    /// One capture stands out from what its neighbours in the word say.
    Outlier {
        /// Its distance from the model, relative to it.
        relative: f64,
    },
    /// S12 and S22 are literal zeros.
    OnePath,
}

/// The kind of a fault, without its size.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum FaultKind {
    /// A bit does nothing.
    IdleBit,
    /// Two bits have each other's weight.
    ExchangedBits,
    /// A field's bits stand in the reverse order.
    ReversedBits,
    /// A field's bits stand in another order, which is neither the reverse nor a matter of pairs.
    ReorderedBits,
    /// Some bits of a field work the other way.
    InvertedBits,
    /// All bits of a field work the other way.
    InvertedField,
    /// Another order of the files fits far better.
    OrderOfFiles,
    /// The same bytes as the capture before: the analyser's memory was read twice.
    RepeatedBuffer,
    /// Equal to the capture before within noise, though a working bit changed: the part did not take the word.
    MissedWord,
    /// A mix with the capture before: the sweep began before the part had settled.
    Unsettled,
    /// From one capture to the next everything changed by a common factor.
    StepInTime,
    /// From one capture to the next everything changed by a common factor, and the run does not tell between which.
    StepSomewhere,
    /// Before some words a step would have gone unseen.
    StepUntold,
    /// A slow change with capture time.
    Drift,
    /// Words that were captured again changed with time.
    DriftInRepeats,
    /// Words that were captured again show no drift beyond what is uncertain of it.
    NoDriftInRepeats,
    /// Whether there was drift cannot be told from this run.
    DriftUntold,
    /// How the run went on in time.
    Pace,
    /// More power comes out than goes in.
    NotPassive,
    /// The two directions do not transmit alike.
    NotReciprocal,
    /// States so deep that the noise blurs them.
    NearFloor,
    /// Something coherent goes around the part and bends the deep states.
    Leakage,
    /// One capture stands out from what its neighbours in the word say.
    Outlier,
    /// S12 and S22 are literal zeros.
    OnePath,
}

impl Fault {
    /// Its kind.
    pub fn kind(&self) -> FaultKind {
        match self {
            Self::IdleBit { .. } => FaultKind::IdleBit,
            Self::ExchangedBits { .. } => FaultKind::ExchangedBits,
            Self::ReversedBits { .. } => FaultKind::ReversedBits,
            Self::ReorderedBits { .. } => FaultKind::ReorderedBits,
            Self::InvertedBits { .. } => FaultKind::InvertedBits,
            Self::InvertedField { .. } => FaultKind::InvertedField,
            Self::OrderOfFiles(_) => FaultKind::OrderOfFiles,
            Self::RepeatedBuffer => FaultKind::RepeatedBuffer,
            Self::MissedWord => FaultKind::MissedWord,
            Self::Unsettled { .. } => FaultKind::Unsettled,
            Self::StepInTime { .. } => FaultKind::StepInTime,
            Self::StepSomewhere { .. } => FaultKind::StepSomewhere,
            Self::StepUntold { .. } => FaultKind::StepUntold,
            Self::Drift { .. } => FaultKind::Drift,
            Self::DriftInRepeats { .. } => FaultKind::DriftInRepeats,
            Self::NoDriftInRepeats { .. } => FaultKind::NoDriftInRepeats,
            Self::DriftUntold(_) => FaultKind::DriftUntold,
            Self::Pace { .. } => FaultKind::Pace,
            Self::NotPassive { .. } => FaultKind::NotPassive,
            Self::NotReciprocal { .. } => FaultKind::NotReciprocal,
            Self::NearFloor { .. } => FaultKind::NearFloor,
            Self::Leakage { .. } => FaultKind::Leakage,
            Self::Outlier { .. } => FaultKind::Outlier,
            Self::OnePath => FaultKind::OnePath,
        }
    }
}

/// A change of how the run is read that would cure a finding.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub enum Correction {
    /// Another layout.
    Layout(Layout),
    /// Words given to the files in another order.
    Order(OrderOfFiles),
}
