//! Two-port algebra on plain values: elements, lines and pads, put one behind the other or side by side, and what
//! their scattering parameters say of match, passivity and reciprocity.
//!
//! All scattering parameters here are voltage-wave ratios at one frequency with the same real reference impedance
//! on both ports. Where a function needs that impedance it is an argument, in ohms; to join two-ports of different
//! reference impedances, [`renormalise`] one of them first.
//!
//! Signs: time runs as e^(+jωt), so a delay has a negative phase and an inductor a positive reactance.

mod cascade;
mod element;
mod interpolate;
mod line;
mod pad;
mod parallel;
mod passivity;
mod reciprocity;
mod reflection;
mod renormalise;
mod two_port;

pub use cascade::cascade;
pub use element::{series, shunt};
pub use interpolate::{chord_error, interpolate};
pub use line::line;
pub use pad::{PadResistors, pad_resistors, tee};
pub use parallel::parallel;
pub use passivity::largest_singular_value;
pub use reciprocity::reciprocity;
pub use reflection::{
    MismatchBounds, mismatch_bounds, mismatch_loss_db, return_loss_db, standing_wave_ratio,
};
pub use renormalise::renormalise;
pub use two_port::TwoPort;

#[cfg(test)]
mod check {
    use super::TwoPort;
    use num_complex::Complex64;

    /// Asserts that two complex numbers agree within an absolute distance.
    pub fn close(actual: Complex64, expected: Complex64, within: f64) {
        assert!((actual - expected).norm() <= within, "{actual} is not {expected} within {within}");
    }

    /// Asserts that two real numbers agree within an absolute distance.
    pub fn near(actual: f64, expected: f64, within: f64) {
        assert!((actual - expected).abs() <= within, "{actual} is not {expected} within {within}");
    }

    /// Asserts that all four parameters agree within an absolute distance.
    pub fn same(actual: TwoPort, expected: TwoPort, within: f64) {
        close(actual.s11, expected.s11, within);
        close(actual.s12, expected.s12, within);
        close(actual.s21, expected.s21, within);
        close(actual.s22, expected.s22, within);
    }

    /// A complex number from magnitude and degrees.
    pub fn polar(magnitude: f64, phase_deg: f64) -> Complex64 {
        Complex64::from_polar(magnitude, phase_deg.to_radians())
    }
}
