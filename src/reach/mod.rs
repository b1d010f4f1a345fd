//! How wide the run can be used.

mod usable_band;

pub use usable_band::{Edge, UsableBand, usable_band};
