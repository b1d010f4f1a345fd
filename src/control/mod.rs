//! Control words: what file names say ([`naming`]), what words mean ([`ControlModel`], for bits
//! [`Layout`]), and the layout that the measured bit weights suggest ([`guess`]).

pub mod guess;
mod layout;
mod model;
pub mod naming;
mod target_grid;

pub use layout::{Direction, Field, FieldBit, Layout, LayoutError, Quantity, Setting, Target, Word};
pub use model::{ControlModel, Listing, WantedSettings};
pub use target_grid::TargetGrid;
