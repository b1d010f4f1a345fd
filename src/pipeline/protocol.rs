//! What the conductor asks of a worker, and what it gets back. Plain values, encoded as one buffer each way.

use super::reaching::ReachAt;
use super::report::Service;
use super::settings::TransmissionParameter;
use super::signalling::SignalAt;
use super::tabling::{TablesReply, TablesRequest};
use crate::chart::DensityRaster;
use crate::checks::{self, Evidence, FilePhysics, Finding, Noise};
use crate::control::{ControlModel, Layout, Target, Word};
use crate::part::{FieldAt, FieldSlice, WorstReflections};
use crate::plane::{Anchor, Score, Spread, Tolerance};
use crate::reach::CleanBits;
use crate::run::{BitWeight, Capture, FileReport, PortPath};
use crate::table::{Fit, FitSums, SelectionRule, Trials};
use num_complex::{Complex32, Complex64};
use serde::{Deserialize, Serialize};
use std::ops::Range;

/// A file to be read. Whoever carries the request adds the bytes.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Ticket {
    /// Index into the run's files.
    pub file: usize,
    /// The file's name, for the port count and for errors.
    pub name: String,
    /// The path to keep of a file of more than two ports.
    pub path: PortPath,
}

/// Some states' transmission over a range of frequencies, on its way from the worker that read them to the
/// worker that owns the frequencies.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Parcel {
    /// Positions of the states among the run's states.
    pub positions: Vec<u32>,
    /// State-major: all frequencies of the first state, then of the second, …
    #[serde(with = "super::complex_bytes")]
    pub transmission: Vec<Complex64>,
}

/// All four S-parameters of one file over its frequencies. Reflections are kept in single precision: they enter no
/// score, and half the memory of a run is theirs.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Parameters {
    /// S11.
    pub s11: Vec<Complex32>,
    /// S12.
    pub s12: Vec<Complex64>,
    /// S21.
    pub s21: Vec<Complex64>,
    /// S22; zero where it was not measured.
    pub s22: Vec<Complex32>,
}

/// How much one file's part reflects at one frequency.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Reflections {
    /// |S11|, linear.
    pub s11: f64,
    /// |S22|, linear; zero where it was not measured.
    pub s22: f64,
}

/// What the conductor has decided for the whole band: all that a worker needs to analyse its frequencies.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Plan {
    /// What the words mean.
    pub model: ControlModel,
    /// The settings that are wanted.
    pub targets: Vec<Target>,
    /// The tolerances in use.
    pub tolerance: Tolerance,
    /// The rule by which a state is chosen for a target.
    pub rule: SelectionRule,
    /// The reference in use.
    pub reference: Reference,
}

/// What all states are divided by, over the whole grid.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub enum Reference {
    /// By one rule at all frequencies.
    Anchor(Anchor),
    /// One complex number at each grid frequency; zero where there is none.
    EachFrequency(#[serde(with = "super::complex_bytes")] Vec<Complex64>),
}

/// Where the search for the best reference of a frequency begins.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub enum Starts {
    /// From the frequency's own starts.
    Own,
    /// From what was found at its neighbours, per frequency.
    Neighbours(Vec<Beside>),
}

/// What the search for a frequency's best reference found from own starts, as ratios to the ring median's reference.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Beside {
    /// At the frequency itself.
    pub here: Option<Complex64>,
    /// At its neighbours.
    pub neighbours: Vec<Complex64>,
}

/// The best reference of a frequency.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct FittedAt {
    /// The ring median's reference, linear.
    pub ring_median: Complex64,
    /// The zero word's reference, where it was measured.
    pub zero_word: Option<Complex64>,
    /// The best fit; `None` where there is none.
    pub fit: Option<Fit>,
}

/// Scores at one frequency, before the held words are known.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FrequencyScores {
    /// What all states are divided by.
    pub reference: Complex64,
    /// Transmission of the zero word, where it was measured.
    pub zero_word: Option<Complex64>,
    /// Lowest and highest relative gain of all states, dB; `None` where no state transmits.
    pub gain_range_db: Option<(f64, f64)>,
    /// The nominal words under the reference in use; `None` where there is no nominal mapping.
    pub nominal: Option<Score>,
    /// How far the errors of the nominal words scatter about their own mean.
    pub nominal_spread: Option<Spread>,
    /// The best states under the reference in use.
    pub chosen: Score,
    /// Effective bits of gain, where they can be told.
    pub gain_effective_bits: Option<f64>,
    /// Effective bits of phase, where they can be told.
    pub phase_effective_bits: Option<f64>,
}

/// What one reference makes of one frequency.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct ReferenceScores {
    /// What all states are divided by.
    pub reference: Complex64,
    /// The nominal words; `None` where there is no nominal mapping.
    pub nominal: Option<Score>,
    /// The best states.
    pub chosen: Score,
}

/// What the judge of a run has before it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Case {
    /// What all frequencies say.
    pub evidence: Evidence,
    /// What is known beside it.
    pub known: Known,
    /// The captures of words that were captured more than once.
    pub repeats: Vec<checks::Capture>,
}

/// What is known of a run beside its transmission.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Known {
    /// The states' words, ascending.
    pub words: Vec<Word>,
    /// All frequencies of the run in hertz.
    pub frequency_hz: Vec<f64>,
    /// First and last frequency of the design band in hertz.
    pub design_band_hz: (f64, f64),
    /// In which order and when the states were captured.
    pub capture: Capture,
    /// The layout in use, and whether it was guessed.
    pub layout: Option<(Layout, bool)>,
    /// The loss that the part should have at its zero word, dB.
    pub zero_word_loss_db: Option<f64>,
}

/// What came of it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Judgement {
    /// What was found.
    pub findings: Vec<Finding>,
    /// The noise of the run; `None` where the grid is too short to tell.
    pub noise: Option<Noise>,
    /// The noise of the real and of the imaginary part of an S-parameter at each frequency, linear.
    pub noise_at: Vec<f64>,
    /// Signal-to-noise ratio in dB, by [window](crate::checks::Windows) of the sweep, then by state.
    pub snr_db: Vec<Vec<f32>>,
}

/// A trace's quantity in the density picture.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum TraceQuantity {
    /// 20·log10 |G|, dB.
    RelativeGainDb,
    /// Phase of G, degrees, wrapped.
    RelativePhaseDeg,
}

/// The picture that a density request draws into.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct DensityFrame {
    /// What is drawn upwards.
    pub quantity: TraceQuantity,
    /// Pixels across the whole frequency axis.
    pub width: usize,
    /// Pixels upwards.
    pub height: usize,
    /// Frequencies at the left and at the right edge, GHz.
    pub frequency_ghz: (f64, f64),
    /// Values at the bottom and at the top edge.
    pub values: (f64, f64),
}

/// What a worker is asked.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub enum Request {
    /// Read files and keep them.
    Read(Vec<Ticket>),
    /// Make these files, read here, fit the run; all others stand as they were read.
    Adapt {
        /// The files.
        files: Vec<usize>,
        /// The run's frequencies in hertz.
        frequency_hz: Vec<f64>,
        /// The run's reference impedance in ohms.
        reference_ohm: f64,
    },
    /// Forget everything but the files that were read.
    Gather {
        /// The files to send, in this order.
        files: Vec<usize>,
        /// Which S-parameter is the transmission.
        transmission: TransmissionParameter,
        /// One parcel for each of these ranges of frequency indices.
        ranges: Vec<Range<usize>>,
    },
    /// Own a range of frequencies.
    Place {
        /// All frequencies of the run in hertz.
        frequency_hz: Vec<f64>,
        /// Frequency indices to own; the parcels hold some more at the end where the grid goes on.
        range: Range<usize>,
        /// Words of all states, ascending.
        words: Vec<Word>,
        /// Every worker's states over the range.
        parcels: Vec<Parcel>,
    },
    /// The weight of every bit at every frequency owned.
    Weights {
        /// Bits of the word.
        bits: usize,
    },
    /// Grade a field over a part of the frequencies owned.
    Grade {
        /// The field's codes.
        slice: Box<FieldSlice>,
        /// Frequency indices.
        range: Range<usize>,
    },
    /// The worst reflections among states whose files were read here: file and word of each.
    WorstReflections(Vec<(usize, Word)>),
    /// Search frequencies for faults from now on, the states having been captured in this order.
    Examination {
        /// Positions of the states.
        capture_order: Vec<usize>,
        /// The words have bits, which explain what the states should be.
        has_bits: bool,
    },
    /// Search a part of the frequencies owned.
    Examine(Range<usize>),
    /// Hand over what was found.
    Evidence,
    /// Judge a run; any worker can.
    Judge(Box<Case>),
    /// What the S-parameters of files that were read here say of the calibration.
    Physics {
        /// The files, in the order of the reply.
        files: Vec<usize>,
        /// The noise at each frequency, linear.
        noise_at: Vec<f64>,
    },
    /// Every state's transmission at one frequency owned.
    StatesAt {
        /// Frequency index.
        index: usize,
    },
    /// Take this plan for all that follows.
    Plan(Box<Plan>),
    /// Score a part of the frequencies owned, and keep the chosen states.
    Analyse(Range<usize>),
    /// Search for the best references of a part of the frequencies owned.
    Fit {
        /// The ring median's reference.
        ring_median: Anchor,
        /// Frequency indices.
        range: Range<usize>,
        /// Where to begin.
        starts: Starts,
    },
    /// Sum up the nearest states under some references, for the best turn and scale of a band.
    FitSums {
        /// The ring median's reference.
        ring_median: Anchor,
        /// Frequency indices.
        range: Range<usize>,
        /// What is tried.
        trials: Trials,
    },
    /// Take this reference for all that follows.
    Refer(Reference),
    /// Score a part of the frequencies owned under each of these references.
    Compare {
        /// The references.
        references: Vec<Reference>,
        /// Frequency indices.
        range: Range<usize>,
    },
    /// How every target is served at one frequency owned.
    ServiceAt {
        /// Frequency index.
        index: usize,
    },
    /// How fine the states reach at one frequency owned, and where they leave holes.
    ReachAt {
        /// Frequency index.
        index: usize,
    },
    /// The constellations at one frequency owned.
    SignalAt {
        /// Frequency index.
        index: usize,
    },
    /// The highest clean order of constellations at some frequencies owned.
    LargestClean(Vec<usize>),
    /// The clean bits at a part of the frequencies owned.
    CleanBits(Range<usize>),
    /// Score a fixed state per target over a part of the frequencies owned.
    Held {
        /// Position of the state that serves each target.
        states: Vec<u32>,
        /// Frequency indices.
        range: Range<usize>,
    },
    /// Something about tables for a band.
    Tables(Box<TablesRequest>),
    /// All states' traces over the frequencies owned, counted per pixel.
    Density(DensityFrame),
    /// One state's relative gain over the frequencies owned.
    Trace {
        /// Position of the state.
        state: usize,
    },
    /// All that is kept of files that were read here.
    Parameters {
        /// The files, in the order of the reply.
        files: Vec<usize>,
    },
    /// The reflections of files that were read here, at one frequency.
    Reflections {
        /// The files, in the order of the reply.
        files: Vec<usize>,
        /// Frequency index.
        index: usize,
    },
}

/// What a worker answers.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub enum Reply {
    /// To [`Request::Read`].
    Read(Vec<FileReport>),
    /// To [`Request::Gather`]: a parcel for each range; positions are those of the request's files.
    Gathered(Vec<Parcel>),
    /// To requests that only change what the worker holds.
    Done,
    /// To [`Request::Weights`]: per frequency owned, per bit.
    Weights(Vec<Vec<BitWeight>>),
    /// To [`Request::Grade`]: per frequency of the range.
    Graded(Vec<FieldAt>),
    /// To [`Request::WorstReflections`]: `None` of no states.
    WorstReflections(Option<WorstReflections>),
    /// To [`Request::Evidence`].
    Evidence(Box<Evidence>),
    /// To [`Request::Judge`].
    Judged(Box<Judgement>),
    /// To [`Request::Physics`].
    Physics(Vec<FilePhysics>),
    /// To [`Request::StatesAt`].
    States(Vec<Complex64>),
    /// To [`Request::Analyse`]: per frequency of the range.
    Scores(Vec<FrequencyScores>),
    /// To [`Request::Fit`]: per frequency of the range.
    Fitted(Vec<Option<FittedAt>>),
    /// To [`Request::FitSums`]: per frequency of the range, per reference tried; `None` where nothing can be summed.
    FitSums(Vec<Option<Vec<FitSums>>>),
    /// To [`Request::Compare`]: per frequency of the range, per reference; `None` of a reference that cannot be told.
    Compared(Vec<Vec<Option<ReferenceScores>>>),
    /// To [`Request::ServiceAt`].
    Service(Box<Service>),
    /// To [`Request::ReachAt`].
    Reach(Box<ReachAt>),
    /// To [`Request::SignalAt`].
    Signal(Box<SignalAt>),
    /// To [`Request::LargestClean`]: per frequency; `None` where no order is clean.
    LargestClean(Vec<Option<u16>>),
    /// To [`Request::CleanBits`]: per frequency of the range; `None` where no pair of bits is clean.
    CleanBits(Vec<Option<CleanBits>>),
    /// To [`Request::Held`]: per frequency of the range.
    Held(Vec<Score>),
    /// To [`Request::Tables`].
    Tables(Box<TablesReply>),
    /// To [`Request::Density`]: this worker's columns counted, the others zero.
    Density(DensityRaster),
    /// To [`Request::Trace`]: relative gain at each frequency owned.
    Trace(Vec<Complex64>),
    /// To [`Request::Parameters`].
    Parameters(Vec<Parameters>),
    /// To [`Request::Reflections`].
    Reflections(Vec<Reflections>),
    /// The worker was asked for something that it does not hold.
    Refused(String),
}

/// Why a message could not be decoded.
pub type CodecError = postcard::Error;

/// A message as one buffer.
pub fn encode<T: Serialize>(message: &T) -> Result<Vec<u8>, CodecError> {
    postcard::to_stdvec(message)
}

/// A buffer as a message.
pub fn decode<'a, T: Deserialize<'a>>(buffer: &'a [u8]) -> Result<T, CodecError> {
    postcard::from_bytes(buffer)
}
