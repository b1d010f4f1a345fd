//! What the four S-parameters of each file say of the calibration: more power out than in, and two directions that do
//! not transmit alike.
//!
//! Both are judged against the run's own noise, so that noise alone is never reported, and apply to passive reciprocal
//! parts. One file's parameters never meet another's: a file gives [`FilePhysics`], and those of all files a finding.

use super::facts::Facts;
use super::finding::{Certainty, Fault, Finding};
use crate::control::Word;
use crate::network::{TwoPort, largest_singular_value, reciprocity};
use serde::{Deserialize, Serialize};

/// Differences within so many deviations are noise: of a million and a half points, one in ten million runs has one.
const SIGMAS: f64 = 7.0;
/// A singular value above 1 by less than this is what calibrations leave (common practice; the figure from memory).
const CALIBRATION: f64 = 0.01;
/// So is a relative difference of both directions below this.
const ALIKE: f64 = 0.005;

/// What one file says.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct FilePhysics {
    /// Where more power comes out than goes in.
    pub not_passive: Option<Excess>,
    /// Where the two directions differ.
    pub not_reciprocal: Option<Excess>,
}

/// By how much a file is beyond what noise and calibration leave, where it is most.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Excess {
    /// The largest singular value, or |S21 − S12|/max(|S21|, |S12|).
    pub value: f64,
    /// How many deviations it is from 1, or from 0.
    pub sigmas: f64,
    /// Indices of the first and the last point beyond.
    pub points: (usize, usize),
}

/// Looks at one file. `noise` is the deviation of the real and of the imaginary part of every S-parameter at each
/// frequency, linear ([`super::Noise::absolute`]); the parameters of a file are taken to be alike noisy.
///
/// With unit vectors u, v the change of a singular value is Re(u* dS v), so its deviation is that of one part. The
/// difference of two parameters has √2 times it.
pub fn file_physics(two_ports: impl Iterator<Item = TwoPort>, noise: &[f64]) -> FilePhysics {
    let mut physics = FilePhysics::default();
    for (point, (two_port, &sigma)) in two_ports.zip(noise).enumerate() {
        let singular = largest_singular_value(&two_port);
        if singular > 1.0 + CALIBRATION + SIGMAS * sigma {
            widen(&mut physics.not_passive, singular, (singular - 1.0) / sigma, point);
        }
        let difference = (two_port.s21 - two_port.s12).norm();
        let relative = reciprocity(&two_port);
        let sigma = sigma * std::f64::consts::SQRT_2;
        if relative > ALIKE && difference > SIGMAS * sigma {
            widen(&mut physics.not_reciprocal, relative, difference / sigma, point);
        }
    }
    physics
}

fn widen(excess: &mut Option<Excess>, value: f64, sigmas: f64, point: usize) {
    match excess {
        Some(excess) => {
            excess.points.1 = point;
            if value > excess.value {
                (excess.value, excess.sigmas) = (value, sigmas);
            }
        }
        None => *excess = Some(Excess { value, sigmas, points: (point, point) }),
    }
}

/// The findings of all files, each with its word.
pub fn physics_findings(files: &[(Word, FilePhysics)], facts: &Facts) -> Vec<Finding> {
    let passivity = combined(
        files,
        facts,
        |physics| physics.not_passive,
        |value| Fault::NotPassive { largest_singular_value: value },
    );
    let both = combined(
        files,
        facts,
        |physics| physics.not_reciprocal,
        |value| Fault::NotReciprocal { largest: value },
    );
    passivity.into_iter().chain(both).map(|finding| finding.in_run_of(facts)).collect()
}

fn combined(
    files: &[(Word, FilePhysics)],
    facts: &Facts,
    of: fn(&FilePhysics) -> Option<Excess>,
    fault: fn(f64) -> Fault,
) -> Option<Finding> {
    let excesses: Vec<(Word, Excess)> =
        files.iter().filter_map(|(word, physics)| Some((*word, of(physics)?))).collect();
    let (_, worst) = excesses.iter().max_by(|a, b| a.1.value.total_cmp(&b.1.value))?;
    let first = excesses.iter().map(|(_, excess)| excess.points.0).min()?;
    let last = excesses.iter().map(|(_, excess)| excess.points.1).max()?;
    let mut words: Vec<Word> = excesses.iter().map(|(word, _)| *word).collect();
    words.sort_unstable();
    let mut finding = Finding::of(fault(worst.value), words, Certainty::Sigmas(worst.sigmas));
    if (first, last + 1) != (0, facts.frequency_hz.len()) {
        finding.band_hz = facts.frequency_hz.get(first).copied().zip(facts.frequency_hz.get(last).copied());
    }
    Some(finding)
}
