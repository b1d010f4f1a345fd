//! The stages of a run as requests that a worker answers, and the conductor that puts them in order. Knows no
//! browser: the page carries the messages to workers, tests answer them in turn.

mod analysis;
mod checking;
mod comparing;
mod complex_bytes;
mod conductor;
mod fitting;
mod grading;
mod history;
pub mod in_turn;
mod listing;
mod one_file;
mod overlap;
mod planning;
pub mod protocol;
mod reaching;
mod reading;
mod report;
mod settings;
mod share;
mod signalling;
mod stage;
mod tables;
mod tabling;
mod typed_tables;

pub use comparing::{Comparison, PolicyScores};
pub use conductor::{Assignment, Conductor};
pub use grading::{Graded, GradedField, Parts};
pub use history::History;
pub use planning::nearest;
pub use reaching::{Reach, ReachAt};
pub use report::{
    Analysis, AtFrequency, Checks, LayoutOrigin, ListedPhases, Mapping, NoAnalysis, Report, Rung, Served,
    Service,
};
pub use settings::{
    BandError, ControllerMap, Settings, SettingsError, TransmissionParameter, Typical, UnsignedPhases,
};
pub use share::Share;
pub use signalling::{LargestClean, SignalAt};
pub use stage::{Progress, Stage};
pub use tables::{Along, FewestForBand, HeldError, TableForBand, TableForPiece, Tables};
pub use tabling::{TablesReply, TablesRequest};
