//! Sweepfold reads one S-parameter sweep per control word of a digitally controlled attenuator, phase
//! shifter or gain-phase cascade, and answers the questions an RF engineer asks of it, in a page that runs
//! from a local file and never uses a network.
//!
//! # The pipeline
//!
//! ```text
//! bytes ─ touchstone ─> Network ─┐
//! names ─ control ────> Word     ├─ run ─> states on one grid ─ plane ─> relative gains, errors, scores
//!                                │                            ─ table ─> the word that serves each target
//!                                │                            ─ part ──> one field against its specification
//!                       demo ────┘                            ─ sheet ─> answers ─> export, chart, page
//! ```
//!
//! Data flows once, and imports point one way: `page` → `chart`, `export` → `sheet` → `pipeline` → `table` →
//! `plane` → `npz` → `run` → `control`, `network` → `touchstone`; `demo` stands beside `run`, `reach`, `signal`,
//! `checks` and `part` beside `table`, `csv` beside `touchstone`.
//! Reading is independent per file and analysis is independent per frequency, so [`pipeline`] maps over files,
//! exchanges once, and maps over frequencies. It is written as requests and replies that know no browser:
//! `page` carries them to workers, tests answer them in turn.
//!
//! # Conventions
//!
//! * Decibels are 20·log10 of a magnitude; phases are degrees, wrapped into (−180°, +180°]; see [`plane`].
//! * Gain is positive upwards: a 4 dB attenuator bit has a nominal gain of −4 dB. Phase lead is positive.
//! * A bare number carries its unit in its name: `frequency_hz`, `gain_error_db`, `phase_deg`.

pub mod chart;
pub mod checks;
pub mod control;
pub mod csv;
pub mod demo;
pub mod export;
pub mod network;
pub mod npz;
#[cfg(target_arch = "wasm32")]
pub mod page;
pub mod part;
pub mod pipeline;
pub mod plane;
pub mod reach;
pub mod run;
pub mod sheet;
pub mod signal;
pub mod table;
pub mod touchstone;
