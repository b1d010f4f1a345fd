//! Sweeps that began before the part had settled.

use super::evidence::{Evidence, StateWindow};
use super::facts::Facts;
use super::finding::{Certainty, Fault, Finding};
use super::scatter::{Scatter, median};
use super::windows::Windows;

/// Shares below this are not reported, however certain.
const SMALLEST_SHARE: f64 = 0.01;
/// A larger share is no mix: the part did not take the word, or something else moved the state.
const LARGEST_SHARE: f64 = 0.9;
/// Shares within so many times their spread are not reported.
const SIGMAS: f64 = 5.0;
/// A mix leaves at most this share of the residual's power unexplained, beside so many times what always remains.
const UNEXPLAINED: f64 = 0.1;
const ALWAYS: f64 = 1.5;
/// A window counts for the time constant where its share is so many times its spread.
const CLEAR: f64 = 3.0;
/// A time constant is told where the share falls at least by this factor over the windows that count.
const FALLS: f64 = 2.0;
/// A share of fewer deviations in the first window need not be seen to fall so far.
const SOON_LOST: f64 = 20.0;
/// The logarithm of the share may rise by so much along the way.
const RISES: f64 = 0.5;

/// A state that is a mix with the capture before.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Mix {
    pub(super) state: usize,
    /// The share of the capture before, at the start of the sweep.
    share: f64,
    sigmas: f64,
    /// How far that moves the state, relative to it, root mean square over the windows in which it shows.
    pub(super) moved: f64,
    /// In points of the sweep.
    time_constant: Option<f64>,
    /// The last window in which it shows.
    last_window: usize,
}

/// States whose residual is a share of the jump that they made, at the start of the sweep at least.
///
/// With d the jump from the model of the capture before to the state's own and r the residual, the share is
/// α = Re Σ d*r/Σ|d|². It is looked for from the first point to the end of each window in turn. Its spread is that of
/// Re Σ d*r/√Σ|d|² over all states, what the model leaves of the part included.
pub(super) fn mixes(evidence: &Evidence) -> Vec<Mix> {
    let states = evidence.repeats_before.len();
    let mut prefix = vec![StateWindow::default(); states];
    let mut best: Vec<Option<Mix>> = vec![None; states];
    for (window, sums) in evidence.windows.iter().enumerate() {
        for (total, more) in prefix.iter_mut().zip(sums) {
            total.add(more);
        }
        let Some(spread) = Spread::of(&prefix) else { continue };
        for (state, total) in prefix.iter().enumerate() {
            let Some((share, sigmas)) = spread.share(total) else { continue };
            let clear = (SMALLEST_SHARE..LARGEST_SHARE).contains(&share) && sigmas > SIGMAS;
            if clear && best[state].as_ref().is_none_or(|mix| mix.sigmas < sigmas) {
                let moved = share * (total.jump_square / total.points).sqrt();
                best[state] =
                    Some(Mix { state, share, sigmas, moved, time_constant: None, last_window: window });
            }
        }
    }
    let spreads: Vec<Option<Spread>> = evidence.windows.iter().map(|sums| Spread::of(sums)).collect();
    best.into_iter()
        .flatten()
        .filter(|mix| is_all_of_it(evidence, &spreads, mix))
        .filter_map(|mix| with_time_constant(evidence, &spreads, mix))
        .collect()
}

/// How much of the capture before each state shows over the whole sweep, with the spread of that share.
pub(super) fn whole_shares(evidence: &Evidence) -> Vec<Option<(f64, f64)>> {
    let states = evidence.repeats_before.len();
    let mut whole = vec![StateWindow::default(); states];
    for sums in &evidence.windows {
        for (total, more) in whole.iter_mut().zip(sums) {
            total.add(more);
        }
    }
    let Some(spread) = Spread::of(&whole) else { return vec![None; states] };
    whole.iter().map(|sums| spread.share(sums).map(|(share, sigmas)| (share, share / sigmas))).collect()
}

/// Whether a mix with the capture before, its share another in each window, is the whole of the residual, or nearly:
/// other faults move a state some other way.
fn is_all_of_it(evidence: &Evidence, spreads: &[Option<Spread>], mix: &Mix) -> bool {
    let (mut explained, mut unexplained, mut always) = (0.0, 0.0, 0.0);
    for (sums, spread) in evidence.windows.iter().zip(spreads).take(mix.last_window + 1) {
        let (sums, Some(spread)) = (&sums[mix.state], spread) else { continue };
        let by_mix = sums.mix.re.powi(2) / sums.jump_square;
        explained += by_mix;
        unexplained += sums.residual_square - by_mix;
        // Both parts of the residual of every point.
        always += 2.0 * sums.points * spread.sigma(sums).powi(2);
    }
    unexplained < UNEXPLAINED * explained + ALWAYS * always
}

/// How far shares scatter in some window.
struct Spread {
    /// Of Re Σ d*r/√Σ|d|².
    projection: Scatter,
    middle: f64,
}

impl Spread {
    fn of(sums: &[StateWindow]) -> Option<Self> {
        let projections: Vec<(f64, f64)> = sums
            .iter()
            .filter(|sums| sums.jump_square > 0.0)
            .map(|sums| (sums.mix.re / sums.jump_square.sqrt(), sums.points / sums.power))
            .collect();
        let middle = median(projections.iter().map(|(value, _)| *value));
        let about: Vec<(f64, f64)> =
            projections.iter().map(|(value, inverse)| (value - middle, *inverse)).collect();
        Some(Self { projection: Scatter::of_reals(&about)?, middle })
    }

    /// The share, and how many times its spread it is.
    fn share(&self, sums: &StateWindow) -> Option<(f64, f64)> {
        let root = sums.jump_square.sqrt();
        if root <= 0.0 {
            return None;
        }
        let projection = sums.mix.re / root;
        let sigmas = projection / self.sigma(sums).hypot(self.middle.min(0.0));
        Some((projection / root, sigmas))
    }

    fn sigma(&self, sums: &StateWindow) -> f64 {
        self.projection.sigma(sums.points / sums.power)
    }
}

/// Follows the share along the sweep. `None` where it does not fall: a state that shows as much of the capture before at
/// the end of the sweep as at its start was not settling.
fn with_time_constant(evidence: &Evidence, spreads: &[Option<Spread>], mut mix: Mix) -> Option<Mix> {
    let windows = Windows::of(evidence.points);
    let mut followed: Vec<(f64, f64, f64)> = Vec::new();
    for (window, spread) in spreads.iter().enumerate() {
        let sums = &evidence.windows[window][mix.state];
        let Some((share, sigmas)) = spread.as_ref().and_then(|spread| spread.share(sums)) else { break };
        if share <= 0.0 || sigmas < CLEAR {
            break;
        }
        let points = windows.points(window);
        let middle = f64::midpoint(points.start as f64, points.end as f64 - 1.0);
        followed.push((middle, share.ln(), sigmas.powi(2)));
        mix.last_window = mix.last_window.max(window);
    }
    let (first, first_sigmas) = followed.first().map(|point| (point.1, point.2.sqrt()))?;
    let largest = followed.iter().map(|point| point.1).fold(f64::NEG_INFINITY, f64::max);
    if largest > first + RISES || largest > LARGEST_SHARE.ln() {
        return None;
    }
    mix.share = mix.share.max(largest.exp());
    if let Some((intercept, slope)) = line_through(&followed) {
        let span = followed.last()?.0 - followed.first()?.0;
        if -slope * span > FALLS.ln() {
            mix.time_constant = Some(-1.0 / slope);
            mix.share = intercept.exp();
        }
    }
    mix.share = mix.share.min(1.0);
    // A share that is small at the start is soon lost in the noise, and its fall with it.
    let is_soon_lost = first_sigmas < SOON_LOST && followed.len() < spreads.len();
    (mix.time_constant.is_some() || is_soon_lost).then_some(mix)
}

/// The weighted least-squares line through (x, y, weight): value at 0 and slope. `None` of fewer than two points.
fn line_through(points: &[(f64, f64, f64)]) -> Option<(f64, f64)> {
    let weight: f64 = points.iter().map(|p| p.2).sum();
    let mean = |of: fn(&(f64, f64, f64)) -> f64| points.iter().map(|p| p.2 * of(p)).sum::<f64>() / weight;
    let (x, y) = (mean(|p| p.0), mean(|p| p.1));
    let square: f64 = points.iter().map(|p| p.2 * (p.0 - x).powi(2)).sum();
    let product: f64 = points.iter().map(|p| p.2 * (p.0 - x) * (p.1 - y)).sum();
    (points.len() >= 2 && square > 0.0).then(|| (y - product / square * x, product / square))
}

/// The finding of all mixes.
pub(super) fn finding(facts: &Facts, evidence: &Evidence, mixes: &[Mix]) -> Option<Finding> {
    let largest = mixes.iter().max_by(|a, b| a.share.total_cmp(&b.share))?;
    let least = mixes.iter().map(|mix| mix.sigmas).fold(f64::INFINITY, f64::min);
    let last = mixes.iter().map(|mix| mix.last_window).max()?;
    let constants: Vec<f64> = mixes.iter().filter_map(|mix| mix.time_constant).collect();
    let fault = Fault::Unsettled {
        share: largest.share,
        time_constant_points: (!constants.is_empty()).then(|| median(constants.into_iter())),
    };
    let words = mixes.iter().map(|mix| facts.words[mix.state]).collect();
    let mut finding = Finding::of(fault, words, Certainty::Sigmas(least));
    let windows = Windows::of(evidence.points);
    if last + 1 < windows.count() {
        let end = windows.points(last).end - 1;
        finding.band_hz = facts.frequency_hz.first().copied().zip(facts.frequency_hz.get(end).copied());
    }
    Some(finding)
}
