//! Checks of a run: what went wrong on the bench, found from the data.
//!
//! One detector a file, each a pure function of plain values to [`Finding`]s. A finding says what was found and how
//! large it is, which words and frequencies it concerns, how sure it is, and which correction would cure it; the
//! sheet makes sentences of it, and [`verdict`] says what all findings together mean for the run.

mod bit_model;
mod capture;
mod decide;
mod evidence;
mod facts;
mod finding;
mod floor;
mod histogram;
mod in_time;
mod leakage;
mod noise;
mod order;
mod outlier;
mod pace;
mod scatter;
mod severity;
mod unsettled;
mod windows;
mod wiring;

pub use decide::findings;
pub use evidence::{AtFrequency, Evidence, StateWindow, Sweeps, examine};
pub use facts::{Expected, Facts};
pub use finding::{Certainty, Correction, Fault, Finding, OrderOfFiles, Stuck, WhyUntold};
pub use histogram::Histogram;
pub use leakage::LeakageAt;
pub use noise::Noise;
pub use severity::{RunVerdict, Severity, verdict};
pub use windows::Windows;
