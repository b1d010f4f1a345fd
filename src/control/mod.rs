//! Control words: what file names say ([`naming`]), what words mean ([`ControlModel`], for bits
//! [`Layout`]), and the layout that the measured bit weights suggest ([`guess`]).

pub mod guess;
mod layout;
mod model;
pub mod naming;

pub use layout::{Direction, Field, FieldBit, Layout, LayoutError, Quantity, Setting, Target, Word};
pub use model::{ControlModel, Listing, WantedSettings};
