//! Checks of a run: what went wrong on the bench, found from the data.
//!
//! One detector a file, each a pure function of plain values to [`Finding`]s. A finding says what was found and how
//! large it is, which words and frequencies it concerns, how sure it is, and which correction would cure it; the
//! sheet makes sentences of it, and [`verdict`] says what all findings together mean for the run.

mod finding;
mod severity;

pub use finding::{Certainty, Correction, Fault, Finding, OrderOfFiles, Stuck};
pub use severity::{RunVerdict, Severity, verdict};
