//! The stages of a run as requests that a worker answers, and the conductor that puts them in order. Knows no
//! browser: the page carries the messages to workers, tests answer them in turn.

mod report;
mod settings;

pub use report::{
    Analysis, AtFrequency, LayoutOrigin, Mapping, NoAnalysis, Report, Rung, Served, Service, Summary,
};
pub use settings::{ControllerMap, Settings, SettingsError, TransmissionParameter};
