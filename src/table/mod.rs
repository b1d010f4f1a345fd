//! Which word serves which target: nominal, chosen and held mappings at one frequency, the references that fit best, one
//! table for a band, and one table as a memory image for a controller.

mod band_fit;
mod band_table;
mod best_fit;
mod cells;
mod controller;
mod descent;
mod fewest;
mod finder;
mod floors;
mod image;
mod mapping;
mod rule;
mod second_capture;
mod spot;

pub use band_fit::{BandFit, Trials, fit_sums};
pub use band_table::{AtFrequency, BandError, BandTable, Bounds, Candidates, band_table, from_both_ends};
pub use best_fit::{Fit, Sample, best_fit, better_fit, starts};
pub use cells::Cells;
pub use controller::{ControllerMap, ControllerMapError};
pub use descent::FitSums;
pub use fewest::{FewestTables, OutOfReach, Piece};
pub use finder::Finder;
pub use floors::Floors;
pub use image::{Image, ImageRefused, exceeding, image};
pub use mapping::{
    Usage, bits_changed, choose, choose_under, errors_of_states, nominal_errors, nominal_turns,
};
pub use rule::{SelectionRule, choose_by};
pub use second_capture::{
    BandOnSecondCapture, OnSecondCapture, band_on_second_capture, chosen_on_second_capture, on_second_capture,
};
pub use spot::Spot;
