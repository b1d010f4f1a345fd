//! The layout that the measured bit weights suggest.
//!
//! A guess, shown with its reason and open to correction: a bit that moves the logarithm of the transmission more
//! along the gain axis (in nepers) than along the phase axis (in radians) is a gain bit, else a phase bit; the bits
//! of a kind, sorted by weight, have to form a doubling series.

mod reason;
mod series;

use super::{Field, FieldBit, Layout, Quantity};
use series::Series;

/// What setting one bit does to the transmission, the median over the design band.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MeasuredBit {
    /// Change of gain in dB.
    pub gain_db: f64,
    /// Change of phase in degrees, within (−180°, +180°].
    pub phase_deg: f64,
}

/// What a bit is taken for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BitRole {
    /// It sets gain.
    Gain,
    /// It sets phase.
    Phase,
    /// It changes next to nothing: less than 0.02 dB and 0.14° together.
    Idle,
}

/// Why a bit has its place in the guess.
#[derive(Clone, Debug, PartialEq)]
pub struct BitEvidence {
    /// Position in the word, 0 the least significant.
    pub position: u8,
    /// What it is taken for.
    pub role: BitRole,
    /// What was measured.
    pub measured: MeasuredBit,
    /// What the guessed layout says of it, in dB or degrees of its field: negative where setting it lowers the gain or
    /// lags the phase.
    pub nominal: f64,
    /// By how many percent its measured size is above its nominal size; `None` for an idle bit.
    pub above_nominal_pct: Option<f64>,
    /// It works against the direction of its field and is taken to be active low.
    pub inverted: bool,
}

/// A layout to propose.
#[derive(Clone, Debug, PartialEq)]
pub struct Guess {
    /// The layout, sound in the sense of [`Layout::check`]; the field with the lowest bit first.
    pub layout: Layout,
    /// Why, in sentences for the user.
    pub reason: String,
    /// What each bit contributed, by position.
    pub bits: Vec<BitEvidence>,
}

/// Why no layout can be proposed.
#[derive(Clone, Debug, PartialEq)]
pub enum GuessError {
    /// There are no bits.
    NoBits,
    /// More bits than are supported.
    TooManyBits(usize),
    /// A bit's weight is not a finite number.
    NotFinite(u8),
    /// No bit changes anything.
    AllIdle,
    /// The bits of one kind are no doubling series, under any reading of the bits that move gain and phase alike.
    NotDoubling {
        /// The kind.
        quantity: Quantity,
        /// Position and size of each bit in dB or degrees, ascending by size.
        weights: Vec<(u8, f64)>,
    },
}

impl std::error::Error for GuessError {}

/// Below this change of the logarithm of the transmission (nepers and radians) a bit is idle: 0.02 dB or 0.14°, a
/// fifth of the finest steps of the trade (0.1 dB, 1.4°) at most.
const IDLE: f64 = 0.0025;

/// A bit whose gain and phase parts are within this ratio may be of either kind.
const ALIKE: f64 = 3.0;

/// At most so many bits are tried as the other kind.
const MOST_ALIKE: usize = 8;

/// Proposes a layout for the measured weights, `bits[position]` being the bit at that position.
///
/// * The step of a field is the median, in the logarithm, of each bit's size divided by its place value, so a few bits
///   that are off do not move it. It is replaced by a value of the trade (360°/2^n; 0.1, 0.125, 0.2, 0.25, 0.5, 1, 2
///   … dB) within 20 % for phase and 12 % for gain, else kept as measured, to three digits.
/// * A series is doubling when its bits are within a factor of 1.23 of their places: phase bits may each be 20 % off
///   away from their design frequency. A phase bit may stand beyond 180° and so be measured from the other side.
/// * The direction is the sign of the sum of the weights; at a sum of zero it is down (attenuation, lag), as it is for
///   a lone 180° bit. A bit near 180° has no sign and no vote. A bit of the other sign is taken to be inverted.
/// * Bits that move gain and phase alike (within a ratio of three) are tried as the other kind where the plain
///   reading is no doubling series or leaves such a bit alone in a field. Exactly equal parts count as gain.
/// * Bits of one kind that are no doubling series may be two, of parts in cascade: the bits from some position up and
///   those below, each a series of at least two bits without gaps and with a usual step, and their ranges overlapping.
///   A reading with one series of each kind is preferred.
/// * Idle bits fill the gaps of a series, the idle bit nearest to its neighbours first. What is left becomes the least
///   significant bit of the field whose bits stand nearest, where a bit that does nothing does the least harm.
pub fn guess(bits: &[MeasuredBit]) -> Result<Guess, GuessError> {
    check(bits)?;
    let live: Vec<Live> = (0_u8..).zip(bits).filter_map(|(position, &bit)| Live::of(position, bit)).collect();
    if live.is_empty() {
        return Err(GuessError::AllIdle);
    }
    let idle: Vec<u8> =
        (0_u8..).zip(bits).filter(|&(_, bit)| log_size(*bit) < IDLE).map(|(position, _)| position).collect();
    let series = fitting_series(&live, idle.len())?;
    let fields = with_idle_bits(&series, &idle);
    let layout = Layout { fields };
    let evidence = evidence(bits, &layout, &series);
    let reason = reason::reason(&layout, &series, &evidence);
    Ok(Guess { layout, reason, bits: evidence })
}

fn check(bits: &[MeasuredBit]) -> Result<(), GuessError> {
    if bits.is_empty() {
        return Err(GuessError::NoBits);
    }
    if bits.len() > Layout::MAX_BITS {
        return Err(GuessError::TooManyBits(bits.len()));
    }
    match (0_u8..).zip(bits).find(|(_, bit)| !(bit.gain_db.is_finite() && bit.phase_deg.is_finite())) {
        Some((position, _)) => Err(GuessError::NotFinite(position)),
        None => Ok(()),
    }
}

fn gain_neper(bit: MeasuredBit) -> f64 {
    bit.gain_db * std::f64::consts::LN_10 / 20.0
}

/// The size of a bit's change of the logarithm of the transmission.
fn log_size(bit: MeasuredBit) -> f64 {
    gain_neper(bit).hypot(bit.phase_deg.to_radians())
}

/// A bit that does something.
#[derive(Clone, Copy)]
struct Live {
    position: u8,
    measured: MeasuredBit,
    quantity: Quantity,
    /// The larger of its gain and phase parts over the smaller.
    clearness: f64,
}

impl Live {
    fn of(position: u8, measured: MeasuredBit) -> Option<Self> {
        if log_size(measured) < IDLE {
            return None;
        }
        let (gain, phase) = (gain_neper(measured).abs(), measured.phase_deg.to_radians().abs());
        let quantity = if gain >= phase { Quantity::Gain } else { Quantity::Phase };
        Some(Self { position, measured, quantity, clearness: gain.max(phase) / gain.min(phase) })
    }

    fn turned_over(self) -> Self {
        let quantity = match self.quantity {
            Quantity::Gain => Quantity::Phase,
            Quantity::Phase => Quantity::Gain,
        };
        Self { quantity, ..self }
    }
}

/// The series of the plain reading, or of the one that turns the fewest unclear bits over, where that is better.
fn fitting_series(live: &[Live], idle: usize) -> Result<Vec<Series>, GuessError> {
    let mut unclear: Vec<usize> = (0..live.len()).filter(|&bit| live[bit].clearness <= ALIKE).collect();
    unclear.sort_by(|&a, &b| live[a].clearness.total_cmp(&live[b].clearness));
    unclear.truncate(MOST_ALIKE);
    let turned = (0_u32..1 << unclear.len()).filter_map(|choice| {
        let mut bits = live.to_vec();
        for (_, &bit) in unclear.iter().enumerate().filter(|(place, _)| choice >> place & 1 == 1) {
            bits[bit] = bits[bit].turned_over();
        }
        let series = series_of(&bits, idle).ok()?;
        let lonely = series.iter().filter(|series| series.is_one_unclear_bit(&bits)).count();
        Some(((lonely, series.len(), choice.count_ones(), choice), series))
    });
    match turned.min_by_key(|(cost, _)| *cost) {
        Some((_, series)) => Ok(series),
        None => series_of(live, idle),
    }
}

impl Series {
    fn is_one_unclear_bit(&self, bits: &[Live]) -> bool {
        let unclear =
            |position: u8| bits.iter().any(|bit| bit.position == position && bit.clearness <= ALIKE);
        self.bits.len() == 1 && unclear(self.bits[0].position)
    }
}

/// One series for each kind that has bits, or two where one does not fit, gaps for at most `idle` bits among them.
fn series_of(live: &[Live], idle: usize) -> Result<Vec<Series>, GuessError> {
    let mut found = Vec::new();
    let mut spare = idle;
    for quantity in [Quantity::Gain, Quantity::Phase] {
        let weights: Vec<(u8, f64)> = live
            .iter()
            .filter(|bit| bit.quantity == quantity)
            .map(|bit| match quantity {
                Quantity::Gain => (bit.position, bit.measured.gain_db),
                Quantity::Phase => (bit.position, bit.measured.phase_deg),
            })
            .collect();
        if weights.is_empty() {
            continue;
        }
        if let Some(series) = Series::fit(quantity, &weights, spare) {
            spare -= series.gaps().len();
            found.push(series);
        } else {
            let pair = Series::fit_two(quantity, &weights);
            found.extend(pair.ok_or_else(|| not_doubling(quantity, &weights))?);
        }
    }
    Ok(found)
}

fn not_doubling(quantity: Quantity, weights: &[(u8, f64)]) -> GuessError {
    let mut weights: Vec<(u8, f64)> =
        weights.iter().map(|&(position, weight)| (position, weight.abs())).collect();
    weights.sort_by(|a, b| a.1.total_cmp(&b.1));
    GuessError::NotDoubling { quantity, weights }
}

/// The fields of the series with the idle bits put in, the field with the lowest bit first.
fn with_idle_bits(series: &[Series], idle: &[u8]) -> Vec<Field> {
    let mut spare = idle.to_vec();
    let mut fields: Vec<Field> = series
        .iter()
        .map(|series| {
            let mut bits: Vec<Option<FieldBit>> = vec![None; series.places()];
            for bit in &series.bits {
                bits[bit.place] = Some(FieldBit { position: bit.position, inverted: bit.inverted });
            }
            for gap in series.gaps() {
                bits[gap] = take_nearest(&mut spare, series.position_expected_at(gap))
                    .map(|position| FieldBit { position, inverted: false });
            }
            Field {
                quantity: series.quantity,
                bits: bits.into_iter().flatten().collect(),
                step: series.step,
                direction: series.direction,
                levels: None,
            }
        })
        .collect();
    // From the highest down, so that of several idle bits below a field the lowest ends up least significant.
    spare.sort_unstable_by(|a, b| b.cmp(a));
    for position in spare {
        let distance = |field: &Field| {
            field.bits.iter().map(|bit| bit.position.abs_diff(position)).min().unwrap_or(u8::MAX)
        };
        if let Some(field) = fields.iter_mut().min_by_key(|field| distance(field)) {
            field.bits.insert(0, FieldBit { position, inverted: false });
            field.step /= 2.0;
        }
    }
    fields.sort_by_key(|field| field.bits.iter().map(|bit| bit.position).min());
    fields
}

fn take_nearest(spare: &mut Vec<u8>, expected: f64) -> Option<u8> {
    let distance = |position: u8| (f64::from(position) - expected).abs();
    let nearest = (0..spare.len()).min_by(|&a, &b| distance(spare[a]).total_cmp(&distance(spare[b])))?;
    Some(spare.remove(nearest))
}

fn evidence(bits: &[MeasuredBit], layout: &Layout, series: &[Series]) -> Vec<BitEvidence> {
    let of = |(position, &measured): (u8, &MeasuredBit)| {
        let nominal = layout.fields.iter().find_map(|field| {
            let place = field.bits.iter().position(|bit| bit.position == position)?;
            let turn = if field.bits[place].inverted { -1.0 } else { 1.0 };
            Some(turn * field.nominal(1 << place))
        });
        let member = series.iter().find_map(|series| {
            let bit = series.bits.iter().find(|bit| bit.position == position)?;
            Some((series, bit))
        });
        let nominal = nominal.unwrap_or(0.0);
        BitEvidence {
            position,
            role: member.map_or(BitRole::Idle, |(series, _)| match series.quantity {
                Quantity::Gain => BitRole::Gain,
                Quantity::Phase => BitRole::Phase,
            }),
            measured,
            nominal,
            above_nominal_pct: member.map(|(_, bit)| 100.0 * (bit.size / nominal.abs() - 1.0)),
            inverted: member.is_some_and(|(_, bit)| bit.inverted),
        }
    };
    (0_u8..).zip(bits).map(of).collect()
}
