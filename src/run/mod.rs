//! Networks and words become a run: one grid, the states on it, and what is missing, doubled or left out.

mod assemble;
mod intake;
mod names;
mod weights;

pub use assemble::{Offer, assemble};
pub use intake::{FileFacts, FileFault, FileReport, Intake, LeftOut, LeftOutReason, State};
pub use names::{IndexFile, Listed, Names, Naming, NamingChoice, NamingSource};
pub use weights::{BitWeight, bit_weights};
