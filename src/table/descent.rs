//! The way from a first guess of the reference to the minimum of the error nearby.
//!
//! With the states fixed, the squared error is a quadratic form of c = 1/R whose minimum is known: c = Σ u·z·T* / Σ u·|T|² over
//! the targets, u = 1/|z|² (linear least squares). With R fixed, the nearest states are best. Taking turns never raises the
//! error, but creeps where many states are near each other, since then the states follow R. So a step that lowered the error
//! is followed by one of twice the stretch, and one that did not by a plain one, which cannot raise it.

use num_complex::Complex64;
use serde::{Deserialize, Serialize};

/// How far |R| may be from the ring median's, as a factor: 6 dB.
const FARTHEST: f64 = 1.995_262_314_968_879_5;

/// More steps than any way needs; only rounding could make one longer.
const MOST_STEPS: usize = 500;

/// Of two ways that come as near to each other as this part of the RMS error, the one of the larger error is given up.
const MERGE: f64 = 0.1;

/// What the error and the best reference of a mapping follow from: sums over targets, and over frequencies where one turn
/// and scale serves a band. The transmissions are divided by the ring median's reference.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct FitSums {
    /// Σ u·|T|².
    pub power: f64,
    /// Σ u·z·T*.
    pub cross: Complex64,
    /// How many targets were summed.
    pub targets: usize,
}

impl FitSums {
    /// Adds (`sign` 1) or takes away (−1) one target's state.
    pub(super) fn add(&mut self, sign: f64, inverse_magnitude: f64, target: Complex64, state: Complex64) {
        let weight = sign * inverse_magnitude * inverse_magnitude;
        self.power += weight * state.norm_sqr();
        self.cross += weight * target * state.conj();
    }

    /// The sums of two sets of targets or frequencies.
    #[must_use]
    pub fn and(&self, other: &Self) -> Self {
        Self {
            power: self.power + other.power,
            cross: self.cross + other.cross,
            targets: self.targets + other.targets,
        }
    }

    /// Mean squared relative vector error under the reference `ratio`, as far as rounding allows: about 1e-15.
    fn squared_at(&self, ratio: Complex64) -> f64 {
        let c = ratio.inv();
        (self.power * c.norm_sqr() - 2.0 * (c * self.cross.conj()).re) / self.targets as f64 + 1.0
    }

    /// The best reference for these states within 6 dB; `None` where no state transmits. The form grows with the distance of
    /// c from its minimum, the same in all directions, so where the minimum lies outside, the best within has its phase.
    pub(super) fn best(&self) -> Option<Complex64> {
        let best = self.power / self.cross;
        (best.is_finite() && best.norm() > 0.0).then(|| within_limits(best))
    }
}

/// The same phase, the magnitude within 6 dB of one.
pub(super) fn within_limits(ratio: Complex64) -> Complex64 {
    let magnitude = ratio.norm();
    ratio * (magnitude.clamp(1.0 / FARTHEST, FARTHEST) / magnitude)
}

/// A reference over the ring median's, and the mean squared error of the nearest states under it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Point {
    pub ratio: Complex64,
    pub squared: f64,
}

impl Point {
    /// With the sums of the states that are nearest under the ratio.
    pub(super) fn under(ratio: Complex64, sums: &FitSums) -> Self {
        Self { ratio, squared: sums.squared_at(ratio) }
    }

    /// Whether a way through `other` makes one through here needless.
    pub(super) fn yields_to(&self, other: &Self) -> bool {
        other.squared <= self.squared
            && (other.ratio - self.ratio).norm() < MERGE * self.squared.max(0.0).sqrt() * self.ratio.norm()
    }
}

/// One way down. Ask at [`Self::asks`], tell the sums found there to [`Self::take`], until nothing is asked.
#[derive(Clone, Debug)]
pub(super) struct Descent {
    /// The lowest point so far.
    at: Option<Point>,
    /// Where the error is asked for.
    trial: Option<Complex64>,
    /// To the best reference for the states at the lowest point.
    step: Complex64,
    stretch: f64,
    steps: usize,
    /// The way ends where a step promises less than this part of the squared error.
    fine: f64,
}

impl Descent {
    pub(super) fn new(start: Complex64, fine: f64) -> Self {
        let trial = Some(within_limits(start)).filter(|trial| trial.is_finite());
        Self { at: None, trial, step: Complex64::ZERO, stretch: 1.0, steps: 0, fine }
    }

    pub(super) fn asks(&self) -> Option<Complex64> {
        self.trial
    }

    pub(super) fn at(&self) -> Option<Point> {
        self.at
    }

    /// Goes no further.
    pub(super) fn stop(&mut self) {
        self.trial = None;
    }

    pub(super) fn take(&mut self, sums: &FitSums) {
        let Some(ratio) = self.trial.take() else { return };
        let here = Point::under(ratio, sums);
        self.steps += 1;
        match self.at {
            Some(at) if here.squared >= at.squared => {
                if self.stretch == 1.0 {
                    return;
                }
                self.stretch = 1.0;
            }
            before => {
                self.at = Some(here);
                self.stretch *= if before.is_some() { 2.0 } else { 1.0 };
                let Some(best) = sums.best() else { return };
                self.step = best - ratio;
            }
        }
        let Some(at) = self.at else { return };
        // With the states as they are the form falls by the squared step; the stretch tells how much further the way leads.
        let promise = 4.0 * self.stretch * self.step.norm_sqr() / at.ratio.norm_sqr();
        if promise > (self.fine * at.squared).max(1e-30) && self.steps < MOST_STEPS {
            self.trial = Some(within_limits(at.ratio + self.stretch * self.step));
        }
    }
}
