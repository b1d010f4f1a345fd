//! How wide and how fine the run reaches: the usable band, the resolution map, holes in the plane.
//!
//! For the map of a run prepare once ([`EvenSteps`]), then at each frequency make a [`ResolutionMap`] of the states'
//! places.

mod holes;
mod resolution_map;
mod steps;
mod usable_band;

pub use holes::{Hole, cell_corner, holes};
pub use resolution_map::{CleanBits, ResolutionMap};
pub use steps::{EvenSteps, NoResolution};
pub use usable_band::{Edge, UsableBand, usable_band};
