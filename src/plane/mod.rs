//! The gain-phase plane at one frequency: references, relative gains, errors and scores, all pure functions over
//! one frequency's states.
//!
//! Signs: a gain error is measured minus wanted gain in dB (an attenuation that reads too high has a negative gain
//! error), a phase error is measured minus wanted phase in degrees, wrapped into (−180°, +180°].
//!
//! In a run, prepare once ([`StateIndex`], [`PreparedTargets`], [`Anchor::resolve`], [`EffectiveBits`]); then at
//! each frequency take the reference, the states' [`Place`]s, the [`StateError`]s of each mapping, and [`score`]
//! them; [`band_summary`] sums up a band.

mod band;
mod effective_bits;
mod error;
mod prepared;
mod reference;
mod score;

pub use band::{BandScore, band_summary};
pub use effective_bits::{EffectiveBits, bits_of_sigma, gain_effective_bits, phase_effective_bits};
pub use error::{StateError, Tolerance, target_gain, wrap_deg};
pub use prepared::{Place, PreparedTarget, PreparedTargets, StateIndex};
pub use reference::{Anchor, ReferencePolicy, ResolvedAnchor, gain_given_up_db};
pub use score::{LargestError, Score, Spread, score, spread};
