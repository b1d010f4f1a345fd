//! The gain-phase plane at one frequency: references, relative gains, errors and scores, all pure functions over
//! one frequency's states.
//!
//! Signs: a gain error is measured minus wanted gain in dB (an attenuation that reads too high has a negative gain
//! error), a phase error is measured minus wanted phase in degrees, wrapped into (−180°, +180°].

mod error;
mod reference;
mod score;

pub use error::{StateError, Tolerance, target_gain, wrap_deg};
pub use reference::{Anchor, ReferencePolicy};
pub use score::{Score, score};
