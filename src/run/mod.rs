//! Networks and words become a run: one grid, the states on it, and what is missing, doubled or left out.

mod assemble;
mod capture;
mod file_order;
mod intake;
mod names;
mod weights;

pub use assemble::{IntakeRules, Offer, assemble};
pub use capture::{Capture, CaptureOrder, CaptureRecord, Repeat};
pub use file_order::OrderOfFiles;
pub use intake::{
    Adapted, FileFacts, FileFault, FileReport, Intake, Interpolation, LeftOut, LeftOutReason, PortPath, State,
};
pub use names::{IndexFile, Listed, Names, Naming, NamingChoice, NamingSource};
pub use weights::{BitWeight, bit_weights};
