//! Places of the plane with their logarithm, which a search in cells needs and which targets have at hand.

use crate::plane::PreparedTarget;
use num_complex::Complex64;
use std::f64::consts::TAU;

/// A place in the plane as the cells need it.
#[derive(Clone, Copy, Debug)]
pub struct Spot {
    pub(super) value: Complex64,
    pub(super) magnitude: f64,
    pub(super) inverse_magnitude: f64,
    pub(super) nepers: f64,
    /// Within [0, 2π), but for what is rounded.
    pub(super) radians: f64,
}

impl Spot {
    /// Any place but the origin.
    pub fn of(value: Complex64) -> Self {
        let magnitude = value.norm();
        Self {
            value,
            magnitude,
            inverse_magnitude: magnitude.recip(),
            nepers: magnitude.ln(),
            radians: within_turn(value.arg()),
        }
    }

    /// Where a target lies among states that are not divided by the reference yet, `reference` being its spot; costs no
    /// trigonometry.
    pub fn under(target: &PreparedTarget, reference: &Self) -> Self {
        let radians = target.phase_deg.to_radians() + reference.radians;
        Self {
            value: target.gain * reference.value,
            magnitude: reference.magnitude * target.gain.norm_sqr() * target.inverse_magnitude,
            inverse_magnitude: reference.inverse_magnitude * target.inverse_magnitude,
            nepers: target.gain_db * NEPERS_PER_DB + reference.nepers,
            radians: within_turn(radians),
        }
    }
}

/// ln10/20: nepers in a decibel.
pub(super) const NEPERS_PER_DB: f64 = std::f64::consts::LN_10 / 20.0;

/// An angle within [0, 2π), but for what is rounded.
pub(super) fn within_turn(radians: f64) -> f64 {
    radians - TAU * (radians / TAU).floor()
}
