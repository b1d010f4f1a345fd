//! What the states do to a signal when the part is used as a modulator: square constellations, each point made by the
//! nearest state. Only the error of the states is in it: no transition, noise or compression.
//!
//! For a run prepare once ([`Constellations`]), then at each frequency ask for all orders
//! ([`Constellations::at`]).

mod constellations;
mod fit;
mod fourier;
mod limits;
mod qam;
mod starts;

pub use constellations::{Constellation, Constellations, NoConstellation, evm_db, largest_clean};
pub use limits::{EvmLimit, NR_BASE_STATION, NR_BASE_STATION_SOURCE};
pub use qam::{ORDERS, Qam, peak_over_mean};
