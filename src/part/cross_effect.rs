//! What a field does to the quantity that it should leave alone.

use super::rms::circular_mean_deg;
use super::{FieldAt, FieldSlice};
use crate::control::Quantity;
use crate::plane::wrap_deg;
use serde::{Deserialize, Serialize};

/// What a field does to the other quantity at one frequency: degrees over gain codes, dB over phase codes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CrossEffect {
    /// The code that moves it farthest from where code 0 has it.
    pub peak_code: usize,
    /// How far, with its sign.
    pub peak: f64,
    /// From the lowest to the highest of all codes. Phases: the shortest arc that holds all of them.
    pub peak_to_peak: f64,
}

/// Where the root mean square of a cross-effect is taken from. Codes that were not measured are left out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum CrossRms {
    /// From the mean over all codes, in dB or circular in degrees; all are counted. The trade's habit for gain over phase
    /// codes.
    FromMean,
    /// From code 0, which is counted. The trade's habit for phase over gain codes.
    FromReference,
    /// From code 0, which is not counted.
    ReferenceNotCounted,
    /// Gains in dB from the mean of their voltage ratios; all are counted.
    FromVoltageMean,
    /// Gains in dB from the mean of their power ratios; all are counted.
    FromPowerMean,
}

impl CrossRms {
    /// The variants for a field that sets `quantity`, the trade's own first.
    pub fn all(quantity: Quantity) -> &'static [Self] {
        match quantity {
            Quantity::Gain => &[Self::FromReference, Self::ReferenceNotCounted, Self::FromMean],
            Quantity::Phase => &[
                Self::FromMean,
                Self::FromReference,
                Self::ReferenceNotCounted,
                Self::FromVoltageMean,
                Self::FromPowerMean,
            ],
        }
    }
}

impl FieldAt {
    /// Peak and peak-to-peak; `None` where no code was measured.
    pub fn cross_effect(&self, slice: &FieldSlice) -> Option<CrossEffect> {
        let measured = self.other.iter().copied().enumerate().filter(|(_, value)| !value.is_nan());
        // Of equal ones the lowest code.
        let (peak_code, peak) = measured.reduce(|a, b| if b.1.abs() > a.1.abs() { b } else { a })?;
        let (low, high) = self.extreme_codes(slice)?;
        let spread = self.other[high] - self.other[low];
        let peak_to_peak = match slice.quantity {
            Quantity::Gain => spread.rem_euclid(360.0),
            Quantity::Phase => spread,
        };
        Some(CrossEffect { peak_code, peak, peak_to_peak })
    }

    /// The codes at the two ends of the range that [`CrossEffect::peak_to_peak`] spans.
    pub(super) fn extreme_codes(&self, slice: &FieldSlice) -> Option<(usize, usize)> {
        let mut codes: Vec<usize> =
            (0..self.other.len()).filter(|&code| !self.other[code].is_nan()).collect();
        codes.sort_by(|&a, &b| self.other[a].total_cmp(&self.other[b]));
        let ends = (*codes.first()?, *codes.last()?);
        if slice.quantity == Quantity::Phase {
            return Some(ends);
        }
        // Phases lie on a circle: what is left beside the widest gap is the shortest arc that holds all.
        let gap = |pair: &[usize]| self.other[pair[1]] - self.other[pair[0]];
        let widest = codes.windows(2).max_by(|a, b| gap(a).total_cmp(&gap(b)));
        let closing = self.other[ends.0] + 360.0 - self.other[ends.1];
        Some(widest.filter(|pair| gap(pair) > closing).map_or(ends, |pair| (pair[1], pair[0])))
    }

    /// Root mean square over the codes, dB or degrees; NaN of too few.
    pub fn cross_rms(&self, slice: &FieldSlice, variant: CrossRms) -> f64 {
        let (counted, divisor) = self.cross_counted(slice, variant);
        (counted.iter().filter(|value| !value.is_nan()).map(|value| value * value).sum::<f64>() / divisor)
            .sqrt()
    }

    /// How that figure moves with each code's value, to first order; a mean that is taken out has no part in it.
    pub(super) fn cross_gradient(&self, slice: &FieldSlice, variant: CrossRms) -> Vec<f64> {
        let (counted, divisor) = self.cross_counted(slice, variant);
        let root = self.cross_rms(slice, variant);
        let one = |&value: &f64| match (value.is_nan(), root > 0.0) {
            (true, _) => 0.0,
            (_, false) => divisor.sqrt().recip(),
            (_, true) => value / (divisor * root),
        };
        counted.iter().map(one).collect()
    }

    /// What is squared, and what the sum is divided by.
    fn cross_counted(&self, slice: &FieldSlice, variant: CrossRms) -> (Vec<f64>, f64) {
        let measured = self.other.iter().filter(|value| !value.is_nan());
        let count = measured.clone().count() as f64;
        // The level of the mean of `scale`-th powers of the voltage ratios.
        let mean_level_db = |scale: f64| {
            let ratios = measured.clone().map(|gain_db| 10_f64.powf(scale * gain_db / 20.0));
            20.0 / scale * (ratios.sum::<f64>() / count).log10()
        };
        let centre = match (variant, slice.quantity) {
            (CrossRms::FromReference | CrossRms::ReferenceNotCounted, _) => 0.0,
            (_, Quantity::Gain) => circular_mean_deg(&self.other),
            (CrossRms::FromMean, Quantity::Phase) => measured.sum::<f64>() / count,
            (CrossRms::FromVoltageMean, Quantity::Phase) => mean_level_db(1.0),
            (CrossRms::FromPowerMean, Quantity::Phase) => mean_level_db(2.0),
        };
        let from_centre = |value: &f64| match slice.quantity {
            Quantity::Gain => wrap_deg(value - centre),
            Quantity::Phase => value - centre,
        };
        let divisor = if variant == CrossRms::ReferenceNotCounted { (count - 1.0).max(0.0) } else { count };
        (self.other.iter().map(from_centre).collect(), divisor)
    }
}
