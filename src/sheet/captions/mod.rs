//! What stands under the plots, and is heard in their place: the same answers in words.

mod against_frequency;
mod paper;
mod parts;
mod picked;
mod signal;

pub use against_frequency::{clean_bits, errors, gains, phases, references, resolution, shares};
pub use paper::{plane_on_paper, resolution_on_paper};
pub use parts::{
    code_traces, cross_effects, error_map, field_figure, marked, state_errors, typical_difference,
};
pub use picked::{ROUNDING_PCT, picked_bits, picked_error, picked_points, picked_resolution, picked_within};
pub use signal::{constellation, evm, largest_clean};
