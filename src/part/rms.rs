//! The root mean square of the state errors, in every way in which it is counted.

use super::FieldSlice;
use crate::control::Quantity;
use crate::plane::wrap_deg;
use num_complex::Complex64;
use serde::{Deserialize, Serialize};
use std::f64::consts::LN_10;

/// A way of counting. Codes that were not measured are left out of all of them; M is the number of the others.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum RmsVariant {
    /// √(Σe′²/M), e′ the errors less their circular mean, code 0 counted: the trade's habit for phase shifters.
    PhaseMeanRemoved,
    /// √(Σe²/M): code 0 is the reference and is counted.
    PhaseFromReference,
    /// √(Σe²/(M − 1)): code 0 is the reference and is not counted.
    PhaseReferenceNotCounted,
    /// √(Σe′²/(M − 1)): the sample standard deviation, a spreadsheet's habit.
    PhaseSampleDeviation,
    /// √(Σe²/(M − 1)) in dB: code 0 is the reference and is not counted; the trade's habit for attenuators.
    GainReferenceNotCounted,
    /// √(Σe²/M) in dB: code 0 is counted too.
    GainFromReference,
    /// 20·log10(1 + √(Σ(1 − 10^(e/20))²/M)) with e the error of the gain, an attenuation too high negative: root mean
    /// square of voltage ratios, code 0 counted. From a data sheet of a 6-bit attenuator, whose formula is hard to read.
    GainLinear,
}

impl RmsVariant {
    /// The variants for a field, the trade's own first.
    pub fn all(quantity: Quantity) -> &'static [Self] {
        match quantity {
            Quantity::Phase => &[
                Self::PhaseMeanRemoved,
                Self::PhaseFromReference,
                Self::PhaseReferenceNotCounted,
                Self::PhaseSampleDeviation,
            ],
            Quantity::Gain => &[Self::GainReferenceNotCounted, Self::GainFromReference, Self::GainLinear],
        }
    }

    /// The trade's own: for phase all codes with the mean taken out, for gain all codes but the reference in dB.
    pub fn trade(quantity: Quantity) -> Self {
        Self::all(quantity)[0]
    }

    /// What it is a variant for.
    pub fn quantity(self) -> Quantity {
        match self {
            Self::PhaseMeanRemoved
            | Self::PhaseFromReference
            | Self::PhaseReferenceNotCounted
            | Self::PhaseSampleDeviation => Quantity::Phase,
            Self::GainReferenceNotCounted | Self::GainFromReference | Self::GainLinear => Quantity::Gain,
        }
    }

    /// The root mean square of a field's state errors, code 0 first, in dB or degrees; NaN of too few.
    pub fn of(self, slice: &FieldSlice, state_errors: &[f64]) -> f64 {
        let sum: f64 = self.counted(slice, state_errors).iter().filter(|e| !e.is_nan()).map(|e| e * e).sum();
        let root = (sum / self.divisor(state_errors)).sqrt();
        if self == Self::GainLinear { 20.0 * (1.0 + root).log10() } else { root }
    }

    /// How the figure moves with each code's error, to first order.
    pub(super) fn gradient(self, slice: &FieldSlice, state_errors: &[f64]) -> Vec<f64> {
        let counted = self.counted(slice, state_errors);
        let divisor = self.divisor(state_errors);
        let root = (counted.iter().filter(|e| !e.is_nan()).map(|e| e * e).sum::<f64>() / divisor).sqrt();
        let one = |&e: &f64| match (e.is_nan(), root > 0.0) {
            (true, _) => 0.0,
            // All errors are zero: the largest that it could be is taken, an even share.
            (_, false) => divisor.sqrt().recip(),
            (_, true) if self == Self::GainLinear => {
                // e is 1 − 10^(…/20); its derivative is 10^(…/20)·ln10/20, and that of 20·log10(1 + root) beside it.
                -slice.sign * e * (1.0 - e) / (divisor * root * (1.0 + root))
            }
            (_, true) => e / (divisor * root),
        };
        counted.iter().map(one).collect()
    }

    /// What is squared.
    fn counted(self, slice: &FieldSlice, state_errors: &[f64]) -> Vec<f64> {
        match self {
            Self::PhaseMeanRemoved | Self::PhaseSampleDeviation => {
                let mean_deg = circular_mean_deg(state_errors);
                state_errors.iter().map(|error| wrap_deg(error - mean_deg)).collect()
            }
            Self::GainLinear => {
                let ratio = |error: &f64| (slice.sign * error * LN_10 / 20.0).exp();
                state_errors.iter().map(|error| 1.0 - ratio(error)).collect()
            }
            _ => state_errors.to_vec(),
        }
    }

    fn divisor(self, state_errors: &[f64]) -> f64 {
        let measured = state_errors.iter().filter(|error| !error.is_nan()).count() as f64;
        match self {
            Self::PhaseReferenceNotCounted | Self::PhaseSampleDeviation | Self::GainReferenceNotCounted => {
                (measured - 1.0).max(0.0)
            }
            _ => measured,
        }
    }
}

/// The direction of the sum of unit vectors at these angles, degrees; NaN values are passed over.
pub(super) fn circular_mean_deg(angles_deg: &[f64]) -> f64 {
    let turns = angles_deg.iter().filter(|angle| !angle.is_nan());
    turns.map(|angle| Complex64::cis(angle.to_radians())).sum::<Complex64>().arg().to_degrees()
}
