//! A doubling series fitted to the weights of bits of one kind.

use crate::control::{Direction, Quantity};

/// Bits may be off their places in the series by this much, in octaves, once the step is put in the middle of the
/// largest and the smallest ratio: bits that are each 20 % off, some up and some down, come to 0.293.
const OFF_PLACE_OCTAVES: f64 = 0.3;

/// How near, relatively, a measured phase step has to be to 360°/2^n.
const PHASE_CLOSENESS: f64 = 0.20;

/// How near, relatively, a measured gain step has to be to a usual one. Neighbours in the list are at least 20 % apart.
const GAIN_CLOSENESS: f64 = 0.12;

/// Steps in dB that attenuators are made with (common practice); single pads are among the larger ones.
const GAIN_STEPS_DB: [f64; 16] =
    [0.1, 0.125, 0.2, 0.25, 0.5, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 16.0, 20.0];

/// A nominal phase this near to 180° has no sign.
const NO_SIGN_WITHIN_DEG: f64 = 45.0;

/// Bits of one kind, in the order of their weights.
pub(super) struct Series {
    pub(super) quantity: Quantity,
    /// Ascending by place.
    pub(super) bits: Vec<SeriesBit>,
    /// The fitted step in dB or degrees, before it was replaced by a usual one.
    pub(super) fitted_step: f64,
    /// The step: a usual one, or the fitted one to three digits.
    pub(super) step: f64,
    pub(super) direction: Direction,
}

pub(super) struct SeriesBit {
    pub(super) position: u8,
    /// The exponent of its place value.
    pub(super) place: usize,
    /// Its size in dB or degrees; a phase beyond 180° is given as such.
    pub(super) size: f64,
    pub(super) inverted: bool,
}

impl Series {
    /// Fits the series with the fewest gaps, at most `most_gaps`; `None` where the weights are no doubling series.
    pub(super) fn fit(quantity: Quantity, weights: &[(u8, f64)], most_gaps: usize) -> Option<Self> {
        let mut sorted = weights.to_vec();
        sorted.sort_by(|a, b| a.1.abs().total_cmp(&b.1.abs()).then(a.0.cmp(&b.0)));
        let sizes: Vec<f64> = sorted.iter().map(|(_, weight)| weight.abs()).collect();
        let (places, fit) = (0..=most_gaps).find_map(|gaps| {
            places_with_gaps(sizes.len(), gaps)
                .into_iter()
                .filter_map(|places| Fit::of(quantity, &sizes, &places).map(|fit| (places, fit)))
                .min_by(|a, b| a.1.worst_octaves.total_cmp(&b.1.worst_octaves))
        })?;
        let step = usual_step(quantity, fit.step).unwrap_or_else(|| to_three_digits(fit.step));
        let has_sign = |place: usize| {
            let nominal = step * place_value(place);
            quantity == Quantity::Gain || (nominal - 180.0).abs() > NO_SIGN_WITHIN_DEG
        };
        let votes = sorted.iter().zip(&places).filter(|&(_, &place)| has_sign(place));
        let sum: f64 = votes.map(|((_, weight), _)| weight).sum();
        let direction = if sum > 0.0 { Direction::Up } else { Direction::Down };
        let bits = sorted
            .iter()
            .zip(&places)
            .zip(&fit.sizes)
            .map(|((&(position, weight), &place), &size)| SeriesBit {
                position,
                place,
                size,
                inverted: has_sign(place) && weight * direction.sign() < 0.0,
            })
            .collect();
        Some(Self { quantity, bits, fitted_step: fit.step, step, direction })
    }

    /// Fits two series, the bits below some position and the others. So that one bad bit of a single series is not
    /// taken for the start of a second one, each must have two bits and a usual step, and the finer must reach into the
    /// coarser.
    pub(super) fn fit_two(quantity: Quantity, weights: &[(u8, f64)]) -> Option<[Self; 2]> {
        let mut by_position = weights.to_vec();
        by_position.sort_by_key(|(position, _)| *position);
        let fits = |part: &[(u8, f64)]| {
            Self::fit(quantity, part, 0).filter(|series| usual_step(quantity, series.fitted_step).is_some())
        };
        let splits = (2..by_position.len().saturating_sub(1)).filter_map(|split| {
            let (low, high) = by_position.split_at(split);
            let pair = [fits(low)?, fits(high)?];
            let range =
                |series: &Self| (series.fitted_step, series.fitted_step * place_value(series.places() - 1));
            let ((low_from, low_to), (high_from, high_to)) = (range(&pair[0]), range(&pair[1]));
            let overlap = low_from.max(high_from) <= low_to.min(high_to) * 1.25;
            overlap.then_some(pair)
        });
        let off = |pair: &[Self; 2]| {
            let off = |series: &Self| {
                let octaves = series
                    .bits
                    .iter()
                    .map(|bit| (bit.size / place_value(bit.place) / series.fitted_step).log2());
                octaves.map(f64::abs).fold(0.0, f64::max)
            };
            off(&pair[0]).max(off(&pair[1]))
        };
        splits.min_by(|a, b| off(a).total_cmp(&off(b)))
    }

    /// The number of places, gaps included.
    pub(super) fn places(&self) -> usize {
        self.bits.last().map_or(0, |bit| bit.place + 1)
    }

    /// The places without a bit, ascending.
    pub(super) fn gaps(&self) -> Vec<usize> {
        (0..self.places()).filter(|&place| self.bits.iter().all(|bit| bit.place != place)).collect()
    }

    /// Where in the word the bit of a gap would stand: between the bits of the places around it.
    pub(super) fn position_expected_at(&self, gap: usize) -> f64 {
        let below = self.bits.iter().rfind(|bit| bit.place < gap);
        let above = self.bits.iter().find(|bit| bit.place > gap);
        match (below, above) {
            (Some(below), Some(above)) => {
                let share = (gap - below.place) as f64 / (above.place - below.place) as f64;
                f64::from(below.position) + share * (f64::from(above.position) - f64::from(below.position))
            }
            (Some(bit), None) | (None, Some(bit)) => f64::from(bit.position),
            (None, None) => 0.0,
        }
    }

    /// The phase field turns once round the circle, so that nothing tells lag from lead by phase alone.
    pub(super) fn fills_the_circle(&self) -> bool {
        self.quantity == Quantity::Phase && (self.step * place_value(self.places()) - 360.0).abs() < 1.0
    }
}

/// Every way of giving `count` bits rising places from 0 with exactly `gaps` places left out between them.
fn places_with_gaps(count: usize, gaps: usize) -> Vec<Vec<usize>> {
    let mut all: Vec<Vec<usize>> = vec![vec![0]];
    for _ in 1..count {
        all = all
            .into_iter()
            .flat_map(|places| {
                let last = places[places.len() - 1];
                let used = last + 1 - places.len();
                (0..=gaps - used).map(move |more| {
                    let mut longer = places.clone();
                    longer.push(last + 1 + more);
                    longer
                })
            })
            .collect();
    }
    all.retain(|places| places[count - 1] + 1 == count + gaps);
    all
}

struct Fit {
    step: f64,
    sizes: Vec<f64>,
    worst_octaves: f64,
}

impl Fit {
    fn of(quantity: Quantity, measured: &[f64], places: &[usize]) -> Option<Self> {
        let fit = |sizes: &[f64]| {
            let octaves = sizes.iter().zip(places).map(|(size, &place)| (size / place_value(place)).log2());
            median(octaves.collect())
        };
        let first = fit(measured);
        // A phase beyond 180° is measured from the other side: the step tells which was meant.
        let sizes: Vec<f64> = measured
            .iter()
            .zip(places)
            .map(|(&size, &place)| {
                let off = |size: f64| (size / place_value(place)).log2() - first;
                let other_side = 360.0 - size;
                let beyond =
                    quantity == Quantity::Phase && size > 90.0 && off(other_side).abs() < off(size).abs();
                if beyond { other_side } else { size }
            })
            .collect();
        let octaves = || sizes.iter().zip(places).map(|(size, &place)| (size / place_value(place)).log2());
        let (low, high) =
            octaves().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), at| (low.min(at), high.max(at)));
        let worst_octaves = (high - low) / 2.0;
        let step = fit(&sizes).exp2();
        (worst_octaves <= OFF_PLACE_OCTAVES).then_some(Self { step, sizes, worst_octaves })
    }
}

fn place_value(place: usize) -> f64 {
    (place as f64).exp2()
}

/// The middle value, or the mean of the two middle ones; 0 of none.
fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    let (half, odd) = (values.len() / 2, values.len() % 2 == 1);
    match values.get(half) {
        Some(&middle) if odd => middle,
        Some(&above) => f64::midpoint(values[half - 1], above),
        None => 0.0,
    }
}

/// The step of the trade near a measured one.
pub(super) fn usual_step(quantity: Quantity, step: f64) -> Option<f64> {
    let (nearest, closeness) = match quantity {
        Quantity::Phase => (360.0 / (360.0 / step).log2().round().max(1.0).exp2(), PHASE_CLOSENESS),
        Quantity::Gain => {
            let off = |usual: &f64| (step / usual).ln().abs();
            let nearest = GAIN_STEPS_DB.into_iter().min_by(|a, b| off(a).total_cmp(&off(b)))?;
            (nearest, GAIN_CLOSENESS)
        }
    };
    ((step / nearest - 1.0).abs() <= closeness).then_some(nearest)
}

fn to_three_digits(step: f64) -> f64 {
    let scale = 10_f64.powf(2.0 - step.log10().floor());
    (step * scale).round() / scale
}
