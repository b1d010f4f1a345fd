//! One field of a run, gain or phase, against its specification: what an attenuator or a phase shifter alone is graded
//! by, also where it was measured in a cascade with the other held still.
//!
//! A [`FieldSlice`] tells which words are the field's codes. At each frequency [`FieldAt`] keeps the errors of these
//! codes, a value that is small and says all: figures of one frequency are its methods, and [`Measured`] gathers it over
//! frequencies, where a [`SpecificationRow`] is judged.
//!
//! Signs: the value of a code counts in the field's own direction. An attenuation that reads too high and a lag that is
//! too long have positive errors. What the field does to the *other* quantity has the signs of the plane: more gain and
//! phase lead are positive.

mod cross_effect;
mod field_at;
mod figure;
mod group_delay;
mod judge;
mod linearity;
mod noise;
mod readings;
mod reflections;
mod rms;
mod slice;
mod specification;
mod steps;
mod table_kind;
mod typed_table;
mod typical;

pub use cross_effect::{CrossEffect, CrossRms};
pub use field_at::FieldAt;
pub use figure::{Figure, Unit};
pub use group_delay::{DelayPoint, group_delay, group_delay_noise_s};
pub use judge::{Deciding, Judgement, Undecided, Verdict};
pub use linearity::IntegralLine;
pub use readings::{Measured, Reading};
pub use reflections::{Port, Reflection, WorstReflections};
pub use rms::RmsVariant;
pub use slice::{FieldSlice, Refusal, SliceError};
pub use specification::{Limits, SpecificationRow, read_specification, write_specification};
pub use steps::ReverseStep;
pub use table_kind::TableKind;
pub use typed_table::{TableError, TableErrorKind};
pub use typical::{TypicalCurve, read_typical_curve, write_typical_curve};
