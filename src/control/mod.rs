//! Control words: what file names say ([`naming`]), what the bits of a word mean ([`Layout`]), and the layout
//! that the measured bit weights suggest ([`guess`]).

pub mod guess;
mod layout;
pub mod naming;

pub use layout::{Direction, Field, FieldBit, Layout, LayoutError, Quantity, Setting, Target, Word};
