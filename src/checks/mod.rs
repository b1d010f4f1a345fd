//! Checks of a run: what went wrong on the bench, found from the data.
//!
//! A finding says what was found and how large it is, which words and frequencies it concerns, how sure it is, and which
//! correction would cure it; the sheet makes sentences of it, and [`verdict`] says what all findings together mean for
//! the run.
//!
//! # From transmission to findings
//!
//! The transmission of a run lies with several workers, all states of some frequencies with each. So [`examine`] makes
//! [`Evidence`] of a share of the frequencies, [`Evidence::merge`] puts the evidence of shares together, and
//! [`findings`] decides, from small data only: sums by state and window of the sweep, and what each frequency says of
//! the bits. Words that were captured more than once come beside it ([`findings_with`]). What a file's own four
//! S-parameters say stays with whoever read it ([`file_physics`], [`physics_findings`]).
//!
//! # What explains what
//!
//! Several explanations may fit the same data. In this order, each is asked only what those before it leave:
//!
//! 1. An order of files is claimed only where bit weights tell it from the given one. Complemented and bit-reversed words
//!    are wiring: every bit inverted, or reversed, fits exactly as well and says the same more simply. So is a reversed
//!    run without missing words. Where an order is claimed, nothing else that rests on words is said.
//! 2. A byte-for-byte repeat is a repeated buffer, an equal one within noise a missed word; neither is anything else.
//! 3. Steps, a drift or leakage, whichever is surest. Drift that repeated captures show is not looked for a second time.
//! 4. A mix with the capture before has to explain nearly all of a residual and to fall along the sweep; what stands out
//!    otherwise is an outlier.

mod basis;
mod bit_model;
mod by_weights;
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
mod physics;
mod repeats;
mod scatter;
mod severity;
mod steps;
mod unsettled;
mod windows;
mod wiring;

pub use crate::run::OrderOfFiles;
pub use decide::{findings, findings_with};
pub use evidence::{AtFrequency, Evidence, StateWindow, Sweeps, examine};
pub use facts::{Expected, Facts};
pub use finding::{Certainty, Correction, Estimate, Fault, FaultKind, Finding, Stuck, WhyUntold};
pub use floor::LOWEST_SNR_DB;
pub use histogram::Histogram;
pub use leakage::LeakageAt;
pub use noise::Noise;
pub use physics::{Excess, FilePhysics, file_physics, physics_findings};
pub use repeats::{Capture, Repeats};
pub use severity::{Bound, Figure, Limit, Row, RunVerdict, Severity, table, verdict};
pub use windows::Windows;
