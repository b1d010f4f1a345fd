//! The result of a run: plain values that the sheet turns into answers.

use super::comparing::Comparison;
use super::protocol::Reference;
use super::reaching::Reach;
use super::signalling::{LargestClean, SignalAt};
use super::tables::Tables;
use super::{Parts, Settings};
use crate::checks::{Finding, LOWEST_SNR_DB, Noise, RunVerdict, Windows};
use crate::control::{ControlModel, Layout, Target};
use crate::plane::{BandScore, ReferencePolicy, Score, Spread, StateError, Tolerance};
use crate::run::{BitWeight, Capture, Intake};
use crate::table::SelectionRule;
use num_complex::Complex64;
use serde::{Deserialize, Serialize};
use std::ops::RangeInclusive;
use std::sync::Arc;

/// Everything known of a run.
#[derive(Clone, Debug)]
pub struct Report {
    /// The user's settings that it was made with.
    pub settings: Settings,
    /// What came in.
    pub intake: Arc<Intake>,
    /// What the states do, or why nothing can be said of it.
    pub analysis: Result<Analysis, NoAnalysis>,
    /// What the run's checks say; `None` while they are under way, and where there is nothing to check.
    pub checks: Option<Checks>,
    /// How fine the run reaches, as far as that is worked out.
    pub reach: Reach,
    /// The reference policies side by side; `None` until they are compared, and without analysis.
    pub comparison: Option<Arc<Comparison>>,
    /// What the states do to a signal at the chosen frequency; `None` until that is worked out, and without analysis.
    pub signal: Option<SignalAt>,
    /// The largest clean constellations over the grid; `None` until they are found, and where none can be formed.
    pub largest_clean: Option<LargestClean>,
    /// Tables beyond those of one frequency, as far as they are worked out.
    pub tables: Tables,
    /// Each field against its specification; `None` until they are graded, and without an analysis.
    pub parts: Option<Arc<Parts>>,
}

/// What the checks of a run say.
#[derive(Clone, Debug, PartialEq)]
pub struct Checks {
    /// What was found, the gravest first.
    pub findings: Vec<Finding>,
    /// What that means for the run.
    pub verdict: RunVerdict,
    /// In which order and when the states were captured.
    pub capture: Capture,
    /// The noise of the run; `None` where the grid is too short to tell.
    pub noise: Option<Noise>,
    /// Signal-to-noise ratio in dB, by [window](crate::checks::Windows) of the sweep, then by state.
    pub snr_db: Vec<Vec<f32>>,
}

impl Checks {
    /// The signal-to-noise ratio in dB of every state around a frequency of a grid of `points`; `None` where the noise
    /// cannot be told.
    pub fn snr_at(&self, points: usize, index: usize) -> Option<&[f32]> {
        self.snr_db.get(Windows::of(points).of_point(index)).map(Vec::as_slice)
    }

    /// The states that stand near the noise floor around a frequency of a grid of `points`: below [`LOWEST_SNR_DB`].
    pub fn near_floor(&self, points: usize, index: usize) -> Vec<bool> {
        let snr_db = self.snr_at(points, index);
        snr_db.map_or_else(Vec::new, |snr_db| {
            snr_db.iter().map(|&snr| f64::from(snr) < LOWEST_SNR_DB).collect()
        })
    }
}

/// Why a run cannot be analysed.
#[derive(Clone, Debug, PartialEq)]
pub enum NoAnalysis {
    /// No file became a state.
    NoStates,
    /// One state alone: nothing to compare it with.
    OneState,
    /// The bit weights suggest no layout; the user has to give one.
    NoLayout(String),
    /// The layout given has fewer bits than the words need.
    LayoutTooSmall {
        /// Bits of the layout.
        layout_bits: usize,
        /// Bits that the largest word needs.
        word_bits: usize,
    },
    /// No setting is left of a coarser grid or a smaller gain range.
    NoTargets,
    /// The reference needs a word that is missing.
    NoReference(ReferencePolicy),
}

/// Where the layout came from.
#[derive(Clone, Debug, PartialEq)]
pub enum LayoutOrigin {
    /// Guessed, with the reason in words.
    Guessed(String),
    /// Given by the user.
    Given,
    /// There are no bits: settings are listed.
    Listed(ListedPhases),
    /// There are no bits and no nominal settings, only marks; `proposed` says that the wanted settings are the tool's
    /// proposal and not the user's.
    Marks {
        /// The wanted settings are a proposal.
        proposed: bool,
    },
}

/// How the phases of listed settings got their sign.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ListedPhases {
    /// One of them at least is written with a minus sign, or none differs from 0: they are taken as written.
    AsWritten,
    /// None carries a sign; they are taken as what fits the measurements better.
    Guessed {
        /// They are lags.
        lags: bool,
    },
    /// None carries a sign; the user says what they are.
    Given {
        /// They are lags.
        lags: bool,
    },
}

impl ListedPhases {
    /// Whether phases written without a sign are lags.
    pub fn lag(self) -> bool {
        matches!(self, Self::Guessed { lags: true } | Self::Given { lags: true })
    }
}

impl Analysis {
    /// The layout in use; `None` in a run without bits.
    pub fn layout(&self) -> Option<&Layout> {
        self.model.layout()
    }
}

/// The three ways of serving targets with words.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Mapping {
    /// The word that the layout gives.
    Nominal,
    /// The best state at each frequency.
    Chosen,
    /// The words chosen at the chosen frequency, kept at every frequency.
    Held,
}

/// What the analysis found.
#[derive(Clone, Debug)]
pub struct Analysis {
    /// What the words mean.
    pub model: ControlModel,
    /// Where that came from.
    pub layout_origin: LayoutOrigin,
    /// Weight of every bit: the median over the design band; empty in a run without bits.
    pub bit_weights: Vec<BitWeight>,
    /// All nominal settings in address order, or those that are wanted of marks.
    pub targets: Vec<Target>,
    /// The tolerances in use.
    pub tolerance: Tolerance,
    /// The reference rule in use (the user's, or the nearest one that the words allow).
    pub reference: ReferencePolicy,
    /// The reference with its band-wide choices made.
    pub anchor: Reference,
    /// The rule by which a state is chosen for a target.
    pub rule: SelectionRule,
    /// Grid indices of the design band.
    pub design_band: RangeInclusive<usize>,
    /// Grid index of the design band's centre.
    pub centre: usize,
    /// Scores at every grid frequency.
    pub frequencies: Vec<AtFrequency>,
    /// The chosen frequency in detail.
    pub service: Service,
}

/// Scores at one frequency.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct AtFrequency {
    /// What all states are divided by.
    pub reference: Complex64,
    /// `20·log10(|R|/|T_zero|)`; `None` where the zero word is missing.
    pub gain_given_up_db: Option<f64>,
    /// Lowest and highest relative gain of all states, dB; `None` where no state transmits.
    pub gain_range_db: Option<(f64, f64)>,
    /// Nominal words; `None` where there is no nominal mapping.
    pub nominal: Option<Score>,
    /// How far the errors of the nominal words scatter about their own mean.
    pub nominal_spread: Option<Spread>,
    /// The best state at this frequency for each target.
    pub chosen: Score,
    /// The words chosen at the chosen frequency; `None` while they are scored anew because that frequency moved.
    pub held: Option<Score>,
    /// Effective bits of gain, other fields at code 0; `None` where the layout has no gain field or states are missing.
    pub gain_effective_bits: Option<f64>,
    /// Effective bits of phase, other fields at code 0.
    pub phase_effective_bits: Option<f64>,
}

/// How one target is served at the chosen frequency.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Served {
    /// Index into the run's states.
    pub state: usize,
    /// Its error.
    pub error: StateError,
}

/// The chosen frequency in detail.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Service {
    /// Grid index of the chosen frequency.
    pub index: usize,
    /// The reference there.
    pub reference: Complex64,
    /// Transmission of every state there.
    pub transmission: Vec<Complex64>,
    /// Per target: its nominal word's state and error, `None` where that word is missing.
    pub nominal: Vec<Option<Served>>,
    /// Per target: the best state and its error.
    pub chosen: Vec<Served>,
    /// States that serve no target.
    pub unused_states: usize,
    /// States that serve more than one target.
    pub shared_states: usize,
}

/// One step of the ladder.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Rung {
    /// Nominal or chosen.
    pub mapping: Mapping,
    /// The reference.
    pub reference: ReferencePolicy,
    /// What all states are divided by at the chosen frequency.
    pub divisor: Complex64,
    /// Gain given up at the chosen frequency, dB.
    pub gain_given_up_db: Option<f64>,
    /// Score at the chosen frequency.
    pub at_frequency: Score,
    /// Score over the design band.
    pub band: BandScore,
}
