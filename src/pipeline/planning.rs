//! What is decided once for the whole band: the design band itself, the layout, the tolerances, the references.

use super::listing::listing;
use super::protocol::{FrequencyScores, Plan, Reference};
use super::report::{Analysis, AtFrequency, LayoutOrigin, NoAnalysis, Service};
use super::settings::Settings;
use super::stage::Stage;
use crate::control::guess::{self, MeasuredBit};
use crate::control::{ControlModel, Layout, Quantity};
use crate::plane::{Anchor, ReferencePolicy, Score, Tolerance, gain_given_up_db, wrap_deg};
use crate::run::{BitWeight, Intake};
use num_complex::Complex64;
use std::ops::RangeInclusive;

/// The design band and the chosen frequency as grid indices.
#[derive(Clone, Debug, PartialEq)]
pub struct Band {
    /// First and last grid index of the design band.
    pub design: RangeInclusive<usize>,
    /// The grid point nearest the middle of the design band, the lower of two.
    pub centre: usize,
    /// The grid point nearest the chosen frequency; the centre where none was chosen.
    pub chosen: usize,
}

impl Band {
    /// The band that the settings ask for on a grid of at least one frequency. A band that holds no grid point
    /// becomes the grid point nearest its middle.
    pub fn of(frequency_hz: &[f64], settings: &Settings) -> Self {
        let last = frequency_hz.len().saturating_sub(1);
        let (Some(&grid_low), Some(&grid_high)) = (frequency_hz.first(), frequency_hz.last()) else {
            return Self { design: 0..=0, centre: 0, chosen: 0 };
        };
        let (low, high) = settings.design_band_hz.unwrap_or((grid_low, grid_high));
        let centre = nearest(frequency_hz, f64::midpoint(low, high));
        // The ends count as inside although a text may have rounded them.
        let first = frequency_hz.partition_point(|&f| f < low * (1.0 - 1e-12));
        let end = frequency_hz.partition_point(|&f| f <= high * (1.0 + 1e-12));
        let design = if first < end { first..=(end - 1).min(last) } else { centre..=centre };
        let chosen = settings.frequency_hz.map_or(centre, |wanted| nearest(frequency_hz, wanted));
        Self { design, centre, chosen }
    }
}

/// Index of the grid point nearest a frequency, the lower of two.
///
/// # Panics
/// If the grid is empty.
pub fn nearest(frequency_hz: &[f64], wanted_hz: f64) -> usize {
    let above = frequency_hz.partition_point(|&f| f < wanted_hz).min(frequency_hz.len() - 1);
    let below = above.saturating_sub(1);
    if wanted_hz - frequency_hz[below] <= frequency_hz[above] - wanted_hz { below } else { above }
}

/// What was decided beside the plan.
#[derive(Clone, Debug, PartialEq)]
pub struct Decisions {
    /// Where the layout came from.
    pub layout_origin: LayoutOrigin,
    /// Weight of every bit: the median over the design band.
    pub bit_weights: Vec<BitWeight>,
    /// The reference rule in use.
    pub reference: ReferencePolicy,
    /// Every rule that needs no search and that the words allow, with its band-wide choices made.
    pub anchors: Vec<(ReferencePolicy, Anchor)>,
    /// At the band's centre the zero word's reference over the ring median's; `None` where either is missing.
    pub zero_word_ratio: Option<Complex64>,
}

/// The first stage whose result depends on what differs between two settings; `None` if only words for the sheet
/// or the exports differ.
pub fn first_stage_affected(old: &Settings, new: &Settings) -> Option<Stage> {
    let decides = |s: &Settings| {
        let meaning = (s.layout.clone(), s.wanted.clone(), s.unsigned_phases);
        (meaning, s.reference, s.tolerance, s.rule, s.target_grid, s.design_band_hz)
    };
    if old.path != new.path {
        Some(Stage::Reading)
    } else if old.intake_rules() != new.intake_rules() {
        Some(Stage::Adapting)
    } else if old.transmission != new.transmission {
        Some(Stage::Gathering)
    } else if decides(old) != decides(new) {
        Some(Stage::Centring)
    } else if old.frequency_hz != new.frequency_hz {
        Some(Stage::Serving)
    } else if (&old.held_codes, &old.specification) != (&new.held_codes, &new.specification) {
        Some(Stage::Grading)
    } else if old.capture_order != new.capture_order {
        Some(Stage::Examining)
    } else if (old.zero_word_loss_db, old.part_is_active) != (new.zero_word_loss_db, new.part_is_active) {
        Some(Stage::Judging)
    } else if (old.band_error, old.held_error_pct) != (new.band_error, new.held_error_pct) {
        Some(Stage::Tabling)
    } else {
        None
    }
}

/// Decides the plan from the bit weights at every frequency and the states at the band's centre.
pub fn decide(
    settings: &Settings,
    intake: &Intake,
    band: &Band,
    weights: &[Vec<BitWeight>],
    states: &[Complex64],
) -> Result<(Plan, Decisions), NoAnalysis> {
    let mut bit_weights = median_weights(&weights[band.design.clone()]);
    let words = intake.words();
    let (model, layout_origin) = match (&settings.layout, &intake.listed) {
        (Some(layout), _) => (ControlModel::Bits(layout.clone()), LayoutOrigin::Given),
        (None, None) => {
            let (layout, origin) = guess_layout(&bit_weights)?;
            (ControlModel::Bits(layout), origin)
        }
        (None, Some(listed)) => {
            bit_weights.clear();
            let (listing, origin) = listing(listed, settings, &words, states);
            (ControlModel::Listed(listing), origin)
        }
    };
    if let Some(layout) = model.layout()
        && layout.bits() < intake.word_bits()
    {
        return Err(NoAnalysis::LayoutTooSmall { layout_bits: layout.bits(), word_bits: intake.word_bits() });
    }
    let targets = model.targets_on(&settings.target_grid);
    if targets.is_empty() {
        return Err(NoAnalysis::NoTargets);
    }
    let named = Some(settings.reference).filter(|policy| matches!(policy, ReferencePolicy::Word(_)));
    let anchors: Vec<(ReferencePolicy, Anchor)> = ReferencePolicy::OFFERED
        .into_iter()
        .chain(named)
        .filter_map(|policy| Some((policy, policy.anchor(&model, &words, states)?)))
        .collect();
    let of = |wanted: ReferencePolicy| anchors.iter().find(|(policy, _)| *policy == wanted).copied();
    // A best fit is searched for with the plan; until then the ring median's reference, which it is told by, stands in.
    let fitted = Some(settings.reference).filter(|policy| policy.is_fitted());
    let wanted = match fitted {
        Some(policy) => of(ReferencePolicy::RingMedian).map(|(_, anchor)| (policy, anchor)),
        None => of(settings.reference),
    };
    let (reference, anchor) =
        wanted.or_else(|| anchors.first().copied()).ok_or(NoAnalysis::NoReference(settings.reference))?;
    let zero_word = words.binary_search(&model.zero_word()).ok().map(|position| states[position]);
    let ring_median =
        of(ReferencePolicy::RingMedian).and_then(|(_, anchor)| anchor.reference(&model, &words, states));
    let zero_word_ratio = zero_word.zip(ring_median).map(|(zero, ring)| zero / ring);
    let tolerance = settings.tolerance.unwrap_or_else(|| half_steps(&model));
    let rule = settings.rule;
    let plan = Plan { model, targets, tolerance, rule, reference: Reference::Anchor(anchor) };
    Ok((plan, Decisions { layout_origin, bit_weights, reference, anchors, zero_word_ratio }))
}

fn guess_layout(weights: &[BitWeight]) -> Result<(Layout, LayoutOrigin), NoAnalysis> {
    if let Some(bit) = weights.iter().position(|weight| weight.pairs == 0) {
        return Err(NoAnalysis::NoLayout(format!("no two words differ in bit {bit} alone")));
    }
    let measured: Vec<MeasuredBit> = weights
        .iter()
        .map(|weight| MeasuredBit { gain_db: weight.gain_db, phase_deg: weight.phase_deg })
        .collect();
    let guess = guess::guess(&measured).map_err(|error| NoAnalysis::NoLayout(error.to_string()))?;
    Ok((guess.layout, LayoutOrigin::Guessed(guess.reason)))
}

/// Half of the finest step of gain and of phase. A quantity that nothing sets is not limited.
fn half_steps(model: &ControlModel) -> Tolerance {
    Tolerance {
        gain_db: model.finest_step(Quantity::Gain).map_or(f64::INFINITY, |step| step / 2.0),
        gain_pct_of_setting: 0.0,
        phase_deg: model.finest_step(Quantity::Phase).map_or(f64::INFINITY, |step| step / 2.0),
    }
}

/// The median over frequency of every bit's weight; phases about their circular mean, so that a weight near 180°
/// does not fall apart.
fn median_weights(weights: &[Vec<BitWeight>]) -> Vec<BitWeight> {
    let bits = weights.first().map_or(0, Vec::len);
    (0..bits)
        .map(|bit| {
            let at = || weights.iter().map(move |at| at[bit]);
            let turn: Complex64 = at().map(|w| Complex64::from_polar(1.0, w.phase_deg.to_radians())).sum();
            let mean_deg = turn.arg().to_degrees();
            BitWeight {
                gain_db: median(at().map(|weight| weight.gain_db).collect()),
                phase_deg: wrap_deg(
                    mean_deg + median(at().map(|w| wrap_deg(w.phase_deg - mean_deg)).collect()),
                ),
                pairs: at().map(|weight| weight.pairs).min().unwrap_or(0),
            }
        })
        .collect()
}

fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    match values.len() {
        0 => 0.0,
        n if n % 2 == 1 => values[n / 2],
        n => f64::midpoint(values[n / 2 - 1], values[n / 2]),
    }
}

/// Puts the report's analysis together.
pub fn analysis(
    plan: &Plan,
    decisions: &Decisions,
    band: &Band,
    scores: &[FrequencyScores],
    held: &[Score],
    service: Service,
) -> Analysis {
    let frequencies: Vec<AtFrequency> = scores
        .iter()
        .zip(held)
        .map(|(at, held)| AtFrequency {
            reference: at.reference,
            gain_given_up_db: at.zero_word.map(|zero| gain_given_up_db(at.reference, zero)),
            gain_range_db: at.gain_range_db,
            nominal: at.nominal,
            nominal_spread: at.nominal_spread,
            chosen: at.chosen,
            held: Some(*held),
            gain_effective_bits: at.gain_effective_bits,
            phase_effective_bits: at.phase_effective_bits,
        })
        .collect();
    Analysis {
        targets: plan.targets.clone(),
        model: plan.model.clone(),
        layout_origin: decisions.layout_origin.clone(),
        bit_weights: decisions.bit_weights.clone(),
        tolerance: plan.tolerance,
        reference: decisions.reference,
        anchor: plan.reference.clone(),
        rule: plan.rule,
        design_band: band.design.clone(),
        centre: band.centre,
        frequencies,
        service,
    }
}
