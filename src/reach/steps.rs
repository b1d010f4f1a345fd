//! The even steps of a run's nominal gains and phases, and the coarser steps that fewer bits would make.

use crate::control::{ControlModel, Layout, Quantity, Setting};
use crate::plane::{Tolerance, wrap_deg, wrap_difference_deg};
use serde::{Deserialize, Serialize};

/// Why a run has no resolution map.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum NoResolution {
    /// Words are names of marks and have no nominal settings.
    NoNominalSettings,
    /// All words have the same nominal setting.
    NothingSet,
    /// The nominal values of a quantity are not evenly spaced, so that no bits can be left out evenly.
    UnevenSteps(Quantity),
    /// The nominal values of a quantity are evenly spaced, but their number is no power of two.
    NoPowerOfTwo {
        /// The quantity.
        quantity: Quantity,
        /// The number of its distinct nominal values.
        values: usize,
    },
    /// Listed gains and phases whose combinations are more than the words of the longest control word.
    TooManyTargets,
}

/// The evenly spaced nominal gains and phases of a run; found once for a run.
///
/// Several fields of one quantity count as one where their sums are evenly spaced, and listed settings are treated as
/// those of bits are. A quantity that nothing sets has no bits and is not limited.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EvenSteps {
    pub(super) gain: Option<Steps>,
    pub(super) phase: Option<Steps>,
}

/// 2^bits evenly spaced values.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Steps {
    pub(super) bits: u8,
    /// The value that is kept however few bits are: the highest gain, the phase nearest to 0°.
    first: f64,
    /// From one value to the next, dB or degrees, with its sign.
    step: f64,
    circle: Circle,
}

/// How values relate to the circle.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Circle {
    /// Gains.
    None,
    /// Phases that leave a part of the circle out.
    Part,
    /// Phases that go all around it.
    Whole,
}

impl EvenSteps {
    /// Finds the steps of a run's nominal settings.
    pub fn new(model: &ControlModel) -> Result<Self, NoResolution> {
        if !model.has_nominal() {
            return Err(NoResolution::NoNominalSettings);
        }
        let settings = || model.targets().into_iter().map(|target| target.setting);
        let gain = gain_steps(settings().map(|setting| setting.gain_db).collect())?;
        let phase = phase_steps(settings().map(|setting| setting.phase_deg).collect())?;
        let steps = Self { gain, phase };
        let bits = usize::from(steps.bits(Quantity::Gain) + steps.bits(Quantity::Phase));
        match bits {
            0 => Err(NoResolution::NothingSet),
            _ if bits > Layout::MAX_BITS => Err(NoResolution::TooManyTargets),
            _ => Ok(steps),
        }
    }

    /// log2 of the number of nominal values of a quantity: Q of the gain, P of the phase.
    pub fn bits(&self, quantity: Quantity) -> u8 {
        self.of(quantity).map_or(0, |steps| steps.bits)
    }

    /// The wanted values where so many bits of a quantity are kept, in dB or degrees; `None` where nothing sets it.
    pub fn values(&self, quantity: Quantity, kept: u8) -> Option<Vec<f64>> {
        let level = self.of(quantity)?.kept(kept);
        Some((0..level.count).map(|index| level.value(index)).collect())
    }

    /// The tolerance where so many bits are kept: half of both spacings.
    pub fn tolerance(&self, kept_phase: u8, kept_gain: u8) -> Tolerance {
        let half = |steps: Option<Steps>, kept| steps.map_or(f64::INFINITY, |steps| steps.kept(kept).half);
        Tolerance {
            gain_db: half(self.gain, kept_gain),
            gain_pct_of_setting: 0.0,
            phase_deg: half(self.phase, kept_phase),
        }
    }

    /// Whether a setting is among those that are wanted where so many bits are kept.
    pub fn want(&self, setting: Setting, kept_phase: u8, kept_gain: u8) -> bool {
        let gain = self.values(Quantity::Gain, kept_gain);
        let phase = self.values(Quantity::Phase, kept_phase);
        gain.is_none_or(|gains| gains.iter().any(|gain_db| (gain_db - setting.gain_db).abs() < SAME))
            && phase.is_none_or(|phases| {
                phases.iter().any(|phase_deg| wrap_deg(phase_deg - setting.phase_deg).abs() < SAME)
            })
    }

    fn of(&self, quantity: Quantity) -> Option<Steps> {
        match quantity {
            Quantity::Gain => self.gain,
            Quantity::Phase => self.phase,
        }
    }
}

/// What differs by less is one value, as in [`Layout::targets`]: sums of steps that are no binary fractions differ in
/// the last place.
const SAME: f64 = 1e-7;

fn gain_steps(mut gains_db: Vec<f64>) -> Result<Option<Steps>, NoResolution> {
    gains_db.sort_by(|a, b| b.total_cmp(a));
    gains_db.dedup_by(|a, b| (*a - *b).abs() < SAME);
    let Some(step) = even_step(&gains_db, Quantity::Gain)? else { return Ok(None) };
    let bits = bits_of(gains_db.len(), Quantity::Gain)?;
    Ok(Some(Steps { bits, first: gains_db[0], step, circle: Circle::None }))
}

fn phase_steps(mut phases_deg: Vec<f64>) -> Result<Option<Steps>, NoResolution> {
    for phase in &mut phases_deg {
        *phase = phase.rem_euclid(360.0);
        if *phase > 360.0 - SAME {
            *phase -= 360.0;
        }
    }
    phases_deg.sort_by(f64::total_cmp);
    phases_deg.dedup_by(|a, b| (*a - *b).abs() < SAME);
    open_at_widest_gap(&mut phases_deg);
    let Some(step) = even_step(&phases_deg, Quantity::Phase)? else { return Ok(None) };
    let bits = bits_of(phases_deg.len(), Quantity::Phase)?;
    if (step * phases_deg.len() as f64 - 360.0).abs() < SAME {
        let nearest_zero = phases_deg.iter().map(|&phase| wrap_deg(phase));
        let first = nearest_zero.min_by(|a, b| a.abs().total_cmp(&b.abs())).unwrap_or(0.0);
        // Exact, so that the values close the circle however many there are.
        let step = 360.0 / phases_deg.len() as f64;
        return Ok(Some(Steps { bits, first, step, circle: Circle::Whole }));
    }
    let (low, high) = (phases_deg[0], phases_deg[phases_deg.len() - 1]);
    let (first, step) = if wrap_deg(low).abs() < wrap_deg(high).abs() { (low, step) } else { (high, -step) };
    Ok(Some(Steps { bits, first: wrap_deg(first), step, circle: Circle::Part }))
}

/// Turns ascending phases so that the widest gap between neighbours lies between the last and the first.
fn open_at_widest_gap(phases_deg: &mut [f64]) {
    let count = phases_deg.len();
    let gap = |from: usize| (phases_deg[(from + 1) % count] - phases_deg[from]).rem_euclid(360.0);
    // Of gaps that are equal but for rounding the closing one stays.
    let widest = (0..count).rev().fold(None, |widest: Option<(usize, f64)>, from| match widest {
        Some((_, held)) if gap(from) <= held + SAME => widest,
        _ => Some((from, gap(from))),
    });
    let Some((before, _)) = widest else { return };
    phases_deg.rotate_left((before + 1) % count);
    for index in 1..count {
        while phases_deg[index] < phases_deg[index - 1] {
            phases_deg[index] += 360.0;
        }
    }
}

/// The difference from each value to the next, where it is the same throughout; `None` for fewer than two values.
fn even_step(values: &[f64], quantity: Quantity) -> Result<Option<f64>, NoResolution> {
    let [first, .., last] = values else { return Ok(None) };
    let step = (last - first) / (values.len() - 1) as f64;
    let even = (0..).zip(values).all(|(index, value)| (first + step * f64::from(index) - value).abs() < SAME);
    if even { Ok(Some(step)) } else { Err(NoResolution::UnevenSteps(quantity)) }
}

fn bits_of(values: usize, quantity: Quantity) -> Result<u8, NoResolution> {
    match u8::try_from(values.trailing_zeros()) {
        Ok(bits) if values.is_power_of_two() => Ok(bits),
        _ => Err(NoResolution::NoPowerOfTwo { quantity, values }),
    }
}

impl Steps {
    pub(super) fn kept(&self, bits: u8) -> Kept {
        let step = self.step * f64::from(1_u32 << (self.bits - bits));
        let last = f64::from((1_u32 << self.bits) - 1);
        Kept {
            count: 1 << bits,
            first: self.first,
            step,
            half: step.abs() / 2.0,
            middle: wrap_deg(self.first + self.step * last / 2.0),
            half_span: self.step * last / 2.0,
            circle: self.circle,
        }
    }
}

/// The values that are wanted where some bits are kept.
#[derive(Clone, Copy, Debug)]
pub(super) struct Kept {
    pub(super) count: u32,
    first: f64,
    step: f64,
    half: f64,
    /// The middle of all phases; where they are cut open for counting is opposite.
    middle: f64,
    /// From the first phase to the middle, with its sign.
    half_span: f64,
    circle: Circle,
}

impl Kept {
    /// Wanted gain in dB, or wanted phase in degrees within (−180°, +180°].
    fn value(&self, index: u32) -> f64 {
        let value = self.first + self.step * f64::from(index);
        if self.circle == Circle::None { value } else { wrap_deg(value) }
    }

    fn holds(&self, measured: f64, index: u32) -> bool {
        let difference = measured - self.value(index);
        let error = if self.circle == Circle::None { difference } else { wrap_difference_deg(difference) };
        Tolerance::holds(error, self.half)
    }

    /// The indices of the values that a measured one is within tolerance of: cells meet at their ends and ends are
    /// inclusive, so there may be two.
    pub(super) fn cells_of(&self, measured: f64) -> [Option<u32>; 2] {
        let from_first = match self.circle {
            Circle::Part => wrap_deg(measured - self.middle) + self.half_span,
            _ => measured - self.first,
        };
        // Saturates far outside, where nothing is held.
        #[allow(clippy::cast_possible_truncation)]
        let nearest = (from_first / self.step).round() as i64;
        let count = i64::from(self.count);
        let around = [nearest - 1, nearest, nearest + 1].map(|index| match self.circle {
            Circle::Whole => index.rem_euclid(count),
            _ => index,
        });
        // Where the phases nearly close the circle, both ends may be near.
        let ends: &[i64] = if self.circle == Circle::Part { &[0, count - 1] } else { &[] };
        let mut found = [None; 2];
        for index in around.iter().chain(ends).filter_map(|&index| u32::try_from(index).ok()) {
            if index < self.count && self.holds(measured, index) && found[0] != Some(index) {
                found[usize::from(found[0].is_some())] = Some(index);
            }
        }
        found
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::control::{Direction, Field, Listing};

    fn bits(fields: Vec<Field>) -> ControlModel {
        Layout { fields }.into()
    }

    fn field(quantity: Quantity, lowest_bit: u8, count: u8, step: f64) -> Field {
        Field::contiguous(quantity, lowest_bit, count, step, Direction::Down)
    }

    fn listed(settings: &[(f64, f64)]) -> ControlModel {
        let setting = |&(gain_db, phase_deg): &(f64, f64)| Setting { gain_db, phase_deg };
        ControlModel::Listed(Listing::Settings(settings.iter().map(setting).collect()))
    }

    fn values(model: &ControlModel, quantity: Quantity, kept: u8) -> Vec<f64> {
        EvenSteps::new(model).expect("even steps").values(quantity, kept).expect("values")
    }

    fn close(found: &[f64], expected: &[f64]) {
        let differences = found.iter().zip(expected).map(|(a, b)| (a - b).abs());
        assert!(found.len() == expected.len() && differences.fold(0.0, f64::max) < 1e-9, "{found:?}");
    }

    /// By hand from the definition: 3 gain bits of 1 dB, 2 phase bits.
    #[test]
    fn kept_bits_spread_over_the_whole_range() {
        let model = bits(vec![field(Quantity::Gain, 0, 3, 1.0), field(Quantity::Phase, 3, 2, 90.0)]);
        close(&values(&model, Quantity::Gain, 0), &[0.0]);
        close(&values(&model, Quantity::Gain, 1), &[0.0, -4.0]);
        close(&values(&model, Quantity::Gain, 2), &[0.0, -2.0, -4.0, -6.0]);
        close(&values(&model, Quantity::Phase, 1), &[0.0, 180.0]);
        close(&values(&model, Quantity::Phase, 2), &[0.0, 90.0, 180.0, -90.0]);
        let tolerance = EvenSteps::new(&model).expect("even steps").tolerance(1, 2);
        assert_eq!((tolerance.phase_deg, tolerance.gain_db), (90.0, 1.0));
    }

    #[test]
    fn a_rising_gain_starts_at_the_highest() {
        let mut rising = field(Quantity::Gain, 0, 2, 1.0);
        rising.direction = Direction::Up;
        close(&values(&bits(vec![rising]), Quantity::Gain, 1), &[3.0, 1.0]);
    }

    #[test]
    fn phases_of_a_part_of_the_circle_keep_their_step() {
        let lag = bits(vec![field(Quantity::Phase, 0, 3, 22.5)]);
        close(&values(&lag, Quantity::Phase, 1), &[0.0, -90.0]);
        close(&values(&lag, Quantity::Phase, 3)[6..], &[-135.0, -157.5]);
        close(&values(&listed(&[(0.0, -20.0), (0.0, 20.0)]), Quantity::Phase, 1), &[0.0, 40.0]);
        // More than once round, and names that were rounded.
        let twice = bits(vec![field(Quantity::Phase, 0, 3, 90.0)]);
        assert_eq!(EvenSteps::new(&twice).map(|steps| steps.bits(Quantity::Phase)), Ok(2));
        let rounded = EvenSteps::new(&bits(vec![field(Quantity::Phase, 0, 6, 5.6)]));
        assert_eq!(rounded.map(|steps| steps.tolerance(6, 0).phase_deg), Ok(2.8));
    }

    #[test]
    fn several_fields_and_lists_count_where_their_sums_are_even() {
        let fine_and_coarse = bits(vec![field(Quantity::Gain, 0, 2, 0.1), field(Quantity::Gain, 2, 2, 0.4)]);
        let steps = EvenSteps::new(&fine_and_coarse).expect("even steps");
        assert_eq!((steps.bits(Quantity::Gain), steps.bits(Quantity::Phase)), (4, 0));
        let list = listed(&[(-1.5, 0.0), (-1.0, 0.0), (-0.5, 0.0), (0.0, 0.0)]);
        close(&values(&list, Quantity::Gain, 1), &[0.0, -1.0]);
    }

    #[test]
    fn what_cannot_be_halved_says_why() {
        let overlapping = bits(vec![field(Quantity::Gain, 0, 2, 1.0), field(Quantity::Gain, 2, 2, 2.0)]);
        let ten = NoResolution::NoPowerOfTwo { quantity: Quantity::Gain, values: 10 };
        assert_eq!(EvenSteps::new(&overlapping), Err(ten));
        let mut uneven = field(Quantity::Phase, 0, 2, 90.0);
        uneven.levels = Some(vec![0.0, 92.0, 177.0, 274.0]);
        let reason = NoResolution::UnevenSteps(Quantity::Phase);
        assert_eq!(EvenSteps::new(&bits(vec![uneven])), Err(reason));
        assert_eq!(EvenSteps::new(&listed(&[(0.0, 0.0)])), Err(NoResolution::NothingSet));
        let wanted = crate::control::WantedSettings { gains_db: vec![0.0], phases_deg: vec![0.0, 180.0] };
        let marks = ControlModel::Listed(Listing::Marks(3, wanted));
        assert_eq!(EvenSteps::new(&marks), Err(NoResolution::NoNominalSettings));
        let diagonal: Vec<(f64, f64)> =
            (0..512).map(|k| (-0.01 * f64::from(k), 360.0 / 512.0 * f64::from(k))).collect();
        assert_eq!(EvenSteps::new(&listed(&diagonal)), Err(NoResolution::TooManyTargets));
    }
}
