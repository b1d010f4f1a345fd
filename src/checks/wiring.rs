//! Bits that do nothing, stand in each other's places or work the other way.
//!
//! What each bit does is its weight, the median over the design band; what it should do is its nominal weight in the layout.
//! Bits of one field are told apart by size: the sizes of the bits that do anything, sorted, belong to the nominal sizes,
//! sorted, which is the assignment with the smallest squared logarithmic distance. Another assignment than the nominal
//! one is claimed only where it is far better, so that a bit that is a third off is no wiring fault.

use super::evidence::{AtFrequency, Evidence};
use super::facts::Facts;
use super::finding::{Certainty, Correction, Fault, Finding, Stuck};
use super::scatter::median;
use crate::control::{Field, FieldBit, Layout, Quantity, Word};
use crate::plane::wrap_deg;

/// A bit is idle below this share of its field's finest bit, or below an absolute change in nepers and radians: a fifth
/// of the finest steps of the trade, 0.02 dB or 0.14° (common practice).
const IDLE_SHARE: f64 = 0.3;
const IDLE_CHANGE: f64 = 0.0025;
/// An order of bits is claimed where no bit is farther from its place than so many octaves, and the nominal order has one
/// that is at least twice as far.
const NEAR_OCTAVES: f64 = 0.35;
/// A bit of another field fits where it is no farther off.
const ASTRAY_OCTAVES: f64 = 0.5;
/// A nominal phase this near to 180° has no sign.
const NO_SIGN_WITHIN_DEG: f64 = 45.0;
/// Certainties are not told beyond this.
const MOST_TOLD: f64 = 1e6;
/// The loss tells to which side a bit is stuck where it agrees with one side to this share of the bit's weight.
const LOSS_AGREES: f64 = 0.35;

/// What a bit does, the median over the design band.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Measured {
    gain_db: f64,
    phase_deg: f64,
    /// How far its gain and its phase scatter over the band: half of the points lie within.
    scatter: (f64, f64),
}

impl Measured {
    /// The length of the change in nepers and radians.
    fn log_size(self) -> f64 {
        (self.gain_db * std::f64::consts::LN_10 / 20.0).hypot(self.phase_deg.to_radians())
    }

    fn of(self, quantity: Quantity) -> f64 {
        match quantity {
            Quantity::Gain => self.gain_db,
            Quantity::Phase => self.phase_deg,
        }
    }

    /// How many times its scatter over the band the weight is.
    fn sigmas(self, quantity: Quantity) -> f64 {
        let scatter = match quantity {
            Quantity::Gain => self.scatter.0,
            Quantity::Phase => self.scatter.1,
        };
        // 1.4826 turns the median magnitude of a Gaussian into its deviation.
        (self.of(quantity).abs() / (1.4826 * scatter)).min(MOST_TOLD)
    }
}

/// A place of a field: its nominal weight, signed, and the bit that should stand there.
struct Place {
    nominal: f64,
    bit: FieldBit,
}

/// What was found of one field.
struct FieldWiring {
    /// Bits that do nothing, by position.
    idle: Vec<u8>,
    /// The position that truly stands at each place, by place.
    positions: Vec<u8>,
    /// Whether that bit works against what the layout says, by place.
    against: Vec<bool>,
    /// All bits that have a sign do, two at least.
    is_inverted: bool,
    /// How many times its scatter the least certain of their weights is.
    sigmas: f64,
    /// The farthest bit from its place in octaves, under the nominal order and under the true one.
    octaves: (f64, f64),
}

/// Everything that the weights say of the wiring. Each correction is the layout with all that was found put right, since
/// faults of one field hang together.
pub(super) fn findings(evidence: &Evidence, facts: &Facts) -> Vec<Finding> {
    let Some(expected) = &facts.expected else { return Vec::new() };
    let layout = expected.as_wired_straight();
    let measured = measured_weights(evidence, facts);
    if measured.len() < layout.bits() {
        return Vec::new();
    }
    let exchanged = exchanged_between_fields(&layout, &measured);
    let layout_of_sizes =
        exchanged.map_or_else(|| layout.clone(), |(low, high, _)| with_exchanged(&layout, low, high));
    let wirings: Vec<FieldWiring> =
        layout_of_sizes.fields.iter().map(|field| wiring(field, &measured)).collect();
    let corrected = corrected(&layout_of_sizes, &wirings);
    let mut findings = Vec::new();
    if let Some((low, high, ratio)) = exchanged {
        findings.push((Fault::ExchangedBits { low, high }, Certainty::ResidualRatio(ratio)));
    }
    for (field, wiring) in layout_of_sizes.fields.iter().zip(&wirings) {
        findings.extend(reordered(field, wiring));
        findings.extend(inverted(field, wiring));
    }
    let corrected = |(fault, certainty)| Finding {
        correction: Some(Correction::Layout(corrected.clone())),
        ..Finding::of(fault, Vec::new(), certainty)
    };
    let mut findings: Vec<Finding> = findings.into_iter().map(corrected).collect();
    findings.extend(idle_bits(evidence, facts, &layout_of_sizes, &wirings, &measured));
    findings
}

/// The median of each bit's weight; phases about their mean direction, so that wrapping does no harm.
fn measured_weights(evidence: &Evidence, facts: &Facts) -> Vec<Measured> {
    let bits = evidence.frequencies.first().map_or(0, |at| at.weights.len());
    let (low_hz, high_hz) = facts.design_band_hz.unwrap_or((0.0, f64::INFINITY));
    let inside = |at: &&AtFrequency| {
        facts.frequency_hz.get(at.index).is_some_and(|hz| (low_hz..=high_hz).contains(hz))
    };
    let of = |bit: usize| {
        let weights = || evidence.frequencies.iter().filter(inside).filter_map(move |at| at.weights.get(bit));
        let (re, im) = weights().fold((0.0, 0.0), |(re, im), weight| {
            let (sin, cos) = weight.phase_deg.to_radians().sin_cos();
            (re + cos, im + sin)
        });
        let mean_deg = im.atan2(re).to_degrees();
        let about = median(weights().map(|weight| wrap_deg(weight.phase_deg - mean_deg)));
        let gain_db = median(weights().map(|weight| weight.gain_db));
        let phase_deg = wrap_deg(mean_deg + about);
        let off_db = weights().map(|weight| (weight.gain_db - gain_db).abs());
        let off_deg = weights().map(|weight| wrap_deg(weight.phase_deg - phase_deg).abs());
        Measured { gain_db, phase_deg, scatter: (median(off_db), median(off_deg)) }
    };
    (0..bits).map(of).collect()
}

fn places(field: &Field) -> Vec<Place> {
    field
        .bits
        .iter()
        .enumerate()
        .map(|(place, &bit)| Place { nominal: field.nominal(1 << place), bit })
        .collect()
}

/// The size of a weight that should be one of these sizes: a phase beyond 180° is measured from the other side.
fn size_near(weight: f64, quantity: Quantity, nominal: f64) -> f64 {
    let other_side = 360.0 - weight.abs();
    let off = |size: f64| (size / nominal.abs()).ln().abs();
    let beyond = quantity == Quantity::Phase && weight.abs() > 90.0 && off(other_side) < off(weight.abs());
    if beyond { other_side } else { weight.abs() }
}

fn octaves(weight: f64, quantity: Quantity, nominal: f64) -> f64 {
    (size_near(weight, quantity, nominal) / nominal.abs()).log2()
}

fn wiring(field: &Field, measured: &[Measured]) -> FieldWiring {
    let places = places(field);
    let weight = |position: u8| measured[usize::from(position)].of(field.quantity);
    let finest = places.iter().map(|place| place.nominal.abs()).fold(f64::INFINITY, f64::min);
    let finest = match field.quantity {
        Quantity::Gain => finest * std::f64::consts::LN_10 / 20.0,
        Quantity::Phase => finest.to_radians(),
    };
    let is_idle = |place: &Place| {
        measured[usize::from(place.bit.position)].log_size() < IDLE_CHANGE.max(IDLE_SHARE * finest)
    };
    let live: Vec<usize> = (0..places.len()).filter(|&place| !is_idle(&places[place])).collect();
    let mut by_nominal = live.clone();
    by_nominal.sort_by(|&a, &b| places[a].nominal.abs().total_cmp(&places[b].nominal.abs()));
    let mut by_size: Vec<u8> = live.iter().map(|&place| places[place].bit.position).collect();
    by_size.sort_by(|&a, &b| weight(a).abs().total_cmp(&weight(b).abs()));
    let mut positions: Vec<u8> = places.iter().map(|place| place.bit.position).collect();
    for (&place, &position) in by_nominal.iter().zip(&by_size) {
        positions[place] = position;
    }
    let farthest = |position: &dyn Fn(usize) -> u8| {
        let off = live
            .iter()
            .map(|&place| octaves(weight(position(place)), field.quantity, places[place].nominal))
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), off| (low.min(off), high.max(off)));
        // Bits that are all off by one factor are in their places.
        ((off.1 - off.0) / 2.0).max(0.0)
    };
    let nominal_order = farthest(&|place| places[place].bit.position);
    let octaves = (nominal_order, farthest(&|place| positions[place]));
    // What is no clear improvement stays as it is said to be.
    if octaves.1 > NEAR_OCTAVES || octaves.0 < 2.0 * NEAR_OCTAVES {
        positions = places.iter().map(|place| place.bit.position).collect();
    }
    let with_sign: Vec<usize> = live
        .iter()
        .copied()
        .filter(|&place| {
            field.quantity == Quantity::Gain
                || (places[place].nominal.abs() - 180.0).abs() > NO_SIGN_WITHIN_DEG
        })
        .collect();
    let is_against = |place: usize| {
        let sign = if places[place].bit.inverted { -1.0 } else { 1.0 };
        with_sign.contains(&place) && sign * places[place].nominal * weight(positions[place]) < 0.0
    };
    let mut against: Vec<bool> = (0..places.len()).map(is_against).collect();
    let certain = |place: usize| measured[usize::from(positions[place])].sigmas(field.quantity);
    let sigmas = (0..places.len()).filter(|&place| against[place]).map(certain).fold(MOST_TOLD, f64::min);
    let count = against.iter().filter(|against| **against).count();
    let is_inverted = count > 1 && count == with_sign.len();
    if is_inverted {
        // What has no sign, or does nothing, goes with the others.
        against.fill(true);
    }
    let idle =
        (0..places.len()).filter(|place| !live.contains(place)).map(|place| places[place].bit.position);
    FieldWiring { idle: idle.collect(), positions, against, is_inverted, sigmas, octaves }
}

/// Two bits of different fields that do what the other should: each moves the other's quantity far more than its own.
fn exchanged_between_fields(layout: &Layout, measured: &[Measured]) -> Option<(u8, u8, f64)> {
    let mut astray = Vec::new();
    for field in &layout.fields {
        for place in places(field) {
            let measured = measured[usize::from(place.bit.position)];
            let gain = measured.gain_db.abs() * std::f64::consts::LN_10 / 20.0;
            let phase = measured.phase_deg.abs().to_radians();
            let (own, other) = match field.quantity {
                Quantity::Gain => (gain, phase),
                Quantity::Phase => (phase, gain),
            };
            if other > 3.0 * own && measured.log_size() > IDLE_CHANGE {
                astray.push((place, field.quantity, other / own));
            }
        }
    }
    let [(a, of_a, ratio_a), (b, of_b, ratio_b)] = astray.as_slice() else { return None };
    let fits = |place: &Place, quantity: Quantity, other: &Place| {
        let weight = measured[usize::from(other.bit.position)].of(quantity);
        octaves(weight, quantity, place.nominal).abs() < ASTRAY_OCTAVES
    };
    let (low, high) = (a.bit.position.min(b.bit.position), a.bit.position.max(b.bit.position));
    let ratio = ratio_a.min(*ratio_b).min(MOST_TOLD);
    (of_a != of_b && fits(a, *of_a, b) && fits(b, *of_b, a)).then_some((low, high, ratio))
}

fn with_exchanged(layout: &Layout, low: u8, high: u8) -> Layout {
    let mut exchanged = layout.clone();
    for bit in exchanged.fields.iter_mut().flat_map(|field| &mut field.bits) {
        if bit.position == low {
            bit.position = high;
        } else if bit.position == high {
            bit.position = low;
        }
    }
    exchanged
}

fn corrected(layout: &Layout, wirings: &[FieldWiring]) -> Layout {
    let mut corrected = layout.clone();
    for (field, wiring) in corrected.fields.iter_mut().zip(wirings) {
        for ((bit, &position), &against) in field.bits.iter_mut().zip(&wiring.positions).zip(&wiring.against)
        {
            bit.position = position;
            bit.inverted ^= against;
        }
    }
    corrected
}

/// What was done to the order of a field's bits: all of them reversed, else what pairs had to be exchanged.
fn reordered(field: &Field, wiring: &FieldWiring) -> Vec<(Fault, Certainty)> {
    let nominal: Vec<u8> = field.bits.iter().map(|bit| bit.position).collect();
    if nominal == wiring.positions {
        return Vec::new();
    }
    let certainty = Certainty::ResidualRatio((wiring.octaves.0 / wiring.octaves.1).min(MOST_TOLD));
    let reversed: Vec<u8> = nominal.iter().rev().copied().collect();
    if reversed == wiring.positions && nominal.len() > 2 {
        let mut bits = nominal;
        bits.sort_unstable();
        return vec![(Fault::ReversedBits { bits }, certainty)];
    }
    let moved: Vec<usize> =
        (0..nominal.len()).filter(|&place| nominal[place] != wiring.positions[place]).collect();
    let is_pair = |&place: &usize| {
        let partner = nominal.iter().position(|&position| position == wiring.positions[place]);
        partner.is_some_and(|partner| wiring.positions[partner] == nominal[place])
    };
    if moved.iter().all(is_pair) {
        let pairs = moved.iter().filter(|&&place| nominal[place] < wiring.positions[place]);
        let exchanged =
            |&place: &usize| Fault::ExchangedBits { low: nominal[place], high: wiring.positions[place] };
        return pairs.map(|place| (exchanged(place), certainty)).collect();
    }
    vec![(Fault::ReorderedBits { bits: wiring.positions.clone() }, certainty)]
}

/// What works the other way in a field: some of its bits, or the whole field, or else its direction.
fn inverted(field: &Field, wiring: &FieldWiring) -> Option<(Fault, Certainty)> {
    let against = wiring.positions.iter().zip(&wiring.against).filter(|(_, against)| **against);
    let mut bits: Vec<u8> = against.map(|(&position, _)| position).collect();
    bits.sort_unstable();
    let certainty = Certainty::Sigmas(wiring.sigmas);
    if wiring.is_inverted {
        let turns_deg = field.step * f64::from(field.codes());
        let or_direction = field.quantity == Quantity::Phase && (turns_deg - 360.0).abs() < 1.0;
        return Some((Fault::InvertedField { bits, or_direction }, certainty));
    }
    (!bits.is_empty()).then_some((Fault::InvertedBits { bits }, certainty))
}

/// Idle bits, and to which side a gain bit is stuck where the loss of the zero word tells: the bit's weight is in it, or
/// it is not. With more than one idle gain bit it does not tell.
fn idle_bits(
    evidence: &Evidence,
    facts: &Facts,
    layout: &Layout,
    wirings: &[FieldWiring],
    measured: &[Measured],
) -> Vec<Finding> {
    let idle_of = |quantity| {
        let fields = layout.fields.iter().zip(wirings).filter(move |(field, _)| field.quantity == quantity);
        fields.map(|(_, wiring)| wiring.idle.len()).sum::<usize>()
    };
    let mut findings = Vec::new();
    for (field, wiring) in layout.fields.iter().zip(wirings) {
        for &position in &wiring.idle {
            let nominal =
                places(field).iter().find(|place| place.bit.position == position).map(|p| p.nominal);
            let of_gain =
                nominal.filter(|_| field.quantity == Quantity::Gain && idle_of(Quantity::Gain) == 1);
            let stuck = of_gain.and_then(|nominal_db| {
                let extra_gain_db = zero_word_gain_db(evidence, layout)? + facts.zero_word_loss_db?;
                let near =
                    |wanted_db: f64| (extra_gain_db - wanted_db).abs() < LOSS_AGREES * nominal_db.abs();
                match (near(nominal_db), near(0.0)) {
                    (true, false) => Some(Stuck::High),
                    (false, true) => Some(Stuck::Low),
                    _ => None,
                }
            });
            let Measured { gain_db, phase_deg, .. } = measured[usize::from(position)];
            let of_nominal = measured[usize::from(position)].of(field.quantity) / nominal.unwrap_or(f64::NAN);
            let fault = Fault::IdleBit { bit: position, gain_db, phase_deg, stuck };
            let certainty = Certainty::ResidualRatio((1.0 / of_nominal.abs()).min(MOST_TOLD));
            findings.push(Finding::of(fault, Vec::new(), certainty));
        }
    }
    findings
}

/// The gain of the layout's zero word in dB, the median over the sweep, as the model has it.
fn zero_word_gain_db(evidence: &Evidence, layout: &Layout) -> Option<f64> {
    let Word(zero) = layout.zero_word();
    let gains = evidence.frequencies.iter().filter(|at| at.word_zero > 0.0).map(|at| {
        let set = at.weights.iter().enumerate().filter(|(bit, _)| zero >> bit & 1 == 1);
        20.0 * at.word_zero.log10() + set.map(|(_, weight)| weight.gain_db).sum::<f64>()
    });
    Some(median(gains)).filter(|gain_db| gain_db.is_finite())
}
