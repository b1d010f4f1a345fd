//! Words that were captured more than once: the zero word again every so often, as is usual practice.
//!
//! What changes from one capture of a word to the next is drift and noise and nothing else, so that both are told without
//! any model of the bits, whatever the order of the captures. A common slope in time is fitted to all repeated words, each
//! about its own mean; what is left scatters, and that says how sure the slope is.

use super::evidence::Evidence;
use super::facts::Facts;
use super::finding::{Certainty, Estimate, Fault, Finding, WhyUntold};
use super::noise::Noise;
use super::windows::Windows;
use crate::control::Word;
use num_complex::Complex64;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// One capture of a word that was captured more than once. Plain data: whoever reads the files fills it in, the capture
/// that the run uses included.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Capture {
    /// The word.
    pub word: Word,
    /// Its place among all captures of the run, repeated ones counted, from 0.
    pub place: usize,
    /// When it was made, in seconds from the same start as [`Facts::capture_times_s`]; `None` where not known.
    pub time_s: Option<f64>,
    /// The transmission over the whole grid.
    pub transmission: Vec<Complex64>,
}

/// All captures of the words that were captured more than once.
#[derive(Clone, Copy, Debug, Default)]
pub struct Repeats<'a> {
    /// In any order.
    pub captures: &'a [Capture],
    /// How many captures were made in the whole run, repeated ones counted.
    pub run_captures: usize,
}

/// A change is claimed where it is so many times its deviation, and more where few captures tell the deviation.
const SIGMAS: f64 = 5.0;
/// What is left may scatter by so many times what the noise within the sweeps makes it, and is still noise.
const NOISE_ALONE: f64 = 2.0;
/// Changes smaller than this are not claimed, however certain: 0.01 dB and 0.07°.
const SMALLEST: f64 = 0.0012;
/// A window has its own noise where so many values tell it; otherwise it has that of the whole sweep.
const ENOUGH: usize = 64;

/// Student's t: how many estimated deviations hold what one known deviation holds of a Gaussian (68.27 %), by degrees of
/// freedom from 1 (the table of the Guide to the expression of uncertainty in measurement, G.2; from memory).
const ONE_SIGMA: [f64; 8] = [1.84, 1.32, 1.20, 1.14, 1.11, 1.09, 1.08, 1.07];
/// How many estimated deviations one value in a thousand exceeds (the usual table, two-sided; from memory).
const ONE_IN_A_THOUSAND: [f64; 8] = [636.6, 31.6, 12.92, 8.61, 6.87, 5.96, 5.41, 5.04];

/// One capture against the first of its word.
struct Point {
    word: Word,
    /// Seconds, or the share of the run.
    x: f64,
    /// ln of the ratio, the mean over the sweep: what a length of line turns is its value in the middle.
    y: Complex64,
}

/// A slope in time, of the real and of the imaginary part.
struct Slope {
    value: Complex64,
    /// Deviation of either part.
    sigma: (f64, f64),
    /// How many deviations are asked for.
    asked: (f64, f64),
}

/// The drift, or how far there can be none; nothing where no word was captured again.
pub(super) fn finding(
    repeats: &Repeats,
    facts: &Facts,
    noise: &Noise,
    evidence: &Evidence,
) -> Option<Finding> {
    let groups = groups(repeats);
    if groups.is_empty() {
        return None;
    }
    let timed = has_times(&groups);
    let points = points(&groups, repeats, timed);
    let Some(slope) = slope(&points, groups.len(), noise_of_means(&groups, noise, evidence)) else {
        let untold = Fault::DriftUntold(WhyUntold::TooFewRepeats);
        return Some(Finding::of(untold, Vec::new(), Certainty::CannotTell));
    };
    // Over the run: seconds, or one whole run.
    let span = if timed { run_span_s(&groups, facts) } else { 1.0 };
    let nepers_in_db = 20.0 * std::f64::consts::LOG10_E;
    let gain = |times: f64| Estimate {
        value: slope.value.re * nepers_in_db * times,
        sigma: slope.sigma.0 * nepers_in_db * times,
    };
    let phase = |times: f64| Estimate {
        value: (slope.value.im * times).to_degrees(),
        sigma: (slope.sigma.1 * times).to_degrees(),
    };
    let of: Vec<Word> = groups.keys().copied().collect();
    let captures = points.len();
    let sigmas = (slope.value.re.abs() / slope.sigma.0, slope.value.im.abs() / slope.sigma.1);
    let is_claimed = |change: f64, sigmas: f64, asked: f64| sigmas > asked && change.abs() * span > SMALLEST;
    let fault = if is_claimed(slope.value.re, sigmas.0, slope.asked.0)
        || is_claimed(slope.value.im, sigmas.1, slope.asked.1)
    {
        Fault::DriftInRepeats {
            of,
            captures,
            gain_db: gain(span),
            phase_deg: phase(span),
            gain_db_per_hour: timed.then(|| gain(3600.0)),
            phase_deg_per_hour: timed.then(|| phase(3600.0)),
        }
    } else {
        Fault::NoDriftInRepeats { of, captures, gain_db: gain(span), phase_deg: phase(span) }
    };
    Some(Finding::of(fault, Vec::new(), Certainty::Sigmas(sigmas.0.max(sigmas.1))))
}

type Groups<'a> = BTreeMap<Word, Vec<&'a Capture>>;

/// The captures of each word that has two at least, in the order in which they were made.
fn groups<'a>(repeats: &Repeats<'a>) -> Groups<'a> {
    let mut groups = Groups::new();
    for capture in repeats.captures {
        groups.entry(capture.word).or_default().push(capture);
    }
    groups.retain(|_, captures| captures.len() > 1);
    for captures in groups.values_mut() {
        captures.sort_by_key(|capture| capture.place);
    }
    groups
}

fn has_times(groups: &Groups) -> bool {
    let mut times = groups.values().flatten().map(|capture| capture.time_s);
    let first = times.next().flatten();
    first.is_some() && times.clone().all(|time| time.is_some()) && times.any(|time| time != first)
}

fn points(groups: &Groups, repeats: &Repeats, timed: bool) -> Vec<Point> {
    let last = repeats.run_captures.max(2) - 1;
    let mut points = Vec::new();
    for (&word, captures) in groups {
        let first = captures[0];
        for capture in captures {
            let x = match capture.time_s {
                Some(time_s) if timed => time_s,
                _ => capture.place as f64 / last as f64,
            };
            points.push(Point { word, x, y: mean_log_ratio(capture, first) });
        }
    }
    points
}

/// The mean of ln(T/T of another capture) over the sweep, points without transmission left out.
fn mean_log_ratio(capture: &Capture, first: &Capture) -> Complex64 {
    let ratios = capture.transmission.iter().zip(&first.transmission).map(|(a, b)| (a / b).ln());
    let finite: Vec<Complex64> = ratios.filter(|ratio| ratio.is_finite()).collect();
    finite.iter().sum::<Complex64>() / finite.len().max(1) as f64
}

/// The slope common to all words, each about its own mean. `noise` is the deviation of either part of one mean
/// logarithm by the noise within the sweeps. `None` where the captures leave nothing to scatter.
fn slope(points: &[Point], words: usize, noise: f64) -> Option<Slope> {
    let mut about = Vec::with_capacity(points.len());
    for group in points.chunk_by(|a, b| a.word == b.word) {
        let count = group.len() as f64;
        let x = group.iter().map(|point| point.x).sum::<f64>() / count;
        let y = group.iter().map(|point| point.y).sum::<Complex64>() / count;
        about.extend(group.iter().map(|point| (point.x - x, point.y - y)));
    }
    let square: f64 = about.iter().map(|(x, _)| x * x).sum();
    let freedom = points.len().checked_sub(words + 1).filter(|freedom| *freedom > 0)?;
    let value = about.iter().map(|(x, y)| y * x).sum::<Complex64>() / square;
    if !value.is_finite() {
        return None;
    }
    let rest = |part: fn(Complex64) -> f64| {
        let squares = about.iter().map(|(x, y)| part(y - value * x).powi(2));
        (squares.sum::<f64>() / freedom as f64).sqrt()
    };
    let of = |scatter: f64| {
        let estimated = scatter * student(&ONE_SIGMA, freedom, 1.05);
        let sigma = estimated.max(noise) / square.sqrt();
        let by_noise = scatter < NOISE_ALONE * noise;
        (sigma, if by_noise { SIGMAS } else { student(&ONE_IN_A_THOUSAND, freedom, SIGMAS) })
    };
    let ((re, asked_re), (im, asked_im)) = (of(rest(|value| value.re)), of(rest(|value| value.im)));
    Some(Slope { value, sigma: (re, im), asked: (asked_re, asked_im) })
}

fn student(table: &[f64], freedom: usize, beyond: f64) -> f64 {
    table.get(freedom - 1).copied().unwrap_or(beyond)
}

/// The deviation that noise gives either part of a mean logarithm: σ/|T| at each point, the points independent. The
/// weakest of the repeated words counts.
fn noise_of_means(groups: &Groups, noise: &Noise, evidence: &Evidence) -> f64 {
    let absolute = noise.absolute(evidence);
    let of = |captures: &Vec<&Capture>| {
        let squares = absolute.iter().zip(&captures[0].transmission).map(|(s, t)| s * s / t.norm_sqr());
        let finite: Vec<f64> = squares.filter(|square| square.is_finite()).collect();
        finite.iter().sum::<f64>().sqrt() / finite.len().max(1) as f64
    };
    groups.values().map(of).fold(0.0, f64::max)
}

/// From the first capture of the run to the last, as far as times are known.
fn run_span_s(groups: &Groups, facts: &Facts) -> f64 {
    let repeated = groups.values().flatten().filter_map(|capture| capture.time_s);
    let times = facts.capture_times_s.unwrap_or_default().iter().copied().chain(repeated);
    let (first, last) =
        times.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), time| (low.min(time), high.max(time)));
    last - first
}

impl Noise {
    /// The noise by captures of the same word one after the other: half the variance of their difference, without the
    /// common factor and the delay by which they drifted apart. `None` where no word was captured again.
    ///
    /// What the traces themselves curve does not come into it, so that it is no mere upper bound.
    pub fn of_repeats(evidence: &Evidence, repeats: &Repeats) -> Option<Self> {
        let windows = Windows::of(evidence.points);
        let mut values: Vec<Vec<f64>> = vec![Vec::new(); windows.count()];
        for captures in groups(repeats).values() {
            for pair in captures.windows(2) {
                for (point, difference) in without_drift(pair[0], pair[1]) {
                    let common = evidence.frequencies.iter().find(|at| at.index == point).map(|at| at.common);
                    let relative = difference / common.unwrap_or(f64::NAN);
                    if relative.is_finite() {
                        values[windows.of_point(point)].extend([relative.re.abs(), relative.im.abs()]);
                    }
                }
            }
        }
        let of = |values: &mut dyn Iterator<Item = f64>| {
            1.4826 * super::scatter::median(values) / std::f64::consts::SQRT_2
        };
        let sigma = of(&mut values.iter().flatten().copied());
        let window = |values: &Vec<f64>| {
            if values.len() >= ENOUGH { of(&mut values.iter().copied()) } else { sigma }
        };
        (sigma > 0.0).then(|| Self { sigma, window_sigma: values.iter().map(window).collect() })
    }
}

/// What differs between two captures at every point when the later is multiplied by the factor, linear in frequency,
/// that brings it nearest: least squares of a + b·x with complex a and b.
fn without_drift(earlier: &Capture, later: &Capture) -> Vec<(usize, Complex64)> {
    let count = earlier.transmission.len().min(later.transmission.len());
    let x = |point: usize| 2.0 * point as f64 / count.max(2).saturating_sub(1) as f64 - 1.0;
    let mut moments = [0.0; 3];
    let mut products = [Complex64::ZERO; 2];
    for point in 0..count {
        let (before, after) = (earlier.transmission[point], later.transmission[point]);
        let (square, product) = (after.norm_sqr(), after.conj() * before);
        for (power, moment) in moments.iter_mut().enumerate() {
            *moment += square * x(point).powi(i32::try_from(power).unwrap_or(0));
        }
        products[0] += product;
        products[1] += product * x(point);
    }
    let determinant = moments[0] * moments[2] - moments[1] * moments[1];
    let a = (products[0] * moments[2] - products[1] * moments[1]) / determinant;
    let b = (products[1] * moments[0] - products[0] * moments[1]) / determinant;
    let left = |point: usize| earlier.transmission[point] - later.transmission[point] * (a + b * x(point));
    (0..count).map(|point| (point, left(point))).collect()
}
