//! Which word serves which target: nominal, chosen and held mappings at one frequency, and one table as a memory
//! image for a controller.

mod controller;
mod finder;
mod image;
mod mapping;
mod second_capture;

pub use controller::{ControllerMap, ControllerMapError};
pub use finder::Finder;
pub use image::{Image, ImageRefused, exceeding, image};
pub use mapping::{Usage, bits_changed, choose, choose_under, errors_of_states, nominal_errors};
pub use second_capture::{OnSecondCapture, on_second_capture};
