//! The values of one figure at one frequency, each with its noise.

use super::group_delay::{delay_at, group_delay_noise_s};
use super::noise::{RelativeNoise, of_reflection_db};
use super::{FieldAt, FieldSlice, Figure, IntegralLine, Refusal, Unit, WorstReflections};
use crate::control::{Quantity, Word};

/// A field over frequency, with what else its figures need.
#[derive(Clone, Copy, Debug)]
pub struct Measured<'a> {
    /// The field's codes.
    pub slice: &'a FieldSlice,
    /// The grid, ascending.
    pub frequency_hz: &'a [f64],
    /// The field at each of its points.
    pub at: &'a [FieldAt],
    /// The noise of the real and of the imaginary part of the transmission at each point, linear, in the transmission's
    /// own scale; `None` where it is not known.
    pub sigma: Option<&'a [f64]>,
    /// The worst reflections among the states that are graded; `None` where they were not measured.
    pub reflections: Option<&'a WorstReflections>,
}

/// One value of a figure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reading {
    /// The word that has it; `None` for what is taken over all codes. Of a step it is the later word.
    pub word: Option<Word>,
    /// What the code should do beyond code 0, dB or degrees; 0 for what has no setting.
    pub setting: f64,
    /// The value in the figure's unit; NaN where it was not measured.
    pub value: f64,
    /// One standard deviation of its noise; `None` where it is not known.
    pub noise: Option<f64>,
}

impl Measured<'_> {
    /// All values of a figure at a grid point; empty where the figure was not measured there, or where the index is beyond
    /// the grid. Code 0 is what the others are measured from and has no error of its own.
    pub fn readings(&self, figure: Figure, index: usize) -> Result<Vec<Reading>, Refusal> {
        let Some(at) = self.at.get(index).filter(|_| index < self.frequency_hz.len()) else {
            return Ok(Vec::new());
        };
        let slice = self.slice;
        let noise = self.noise_at(index);
        let own_unit = if slice.quantity == Quantity::Gain { Unit::Decibel } else { Unit::Degree };
        let reading = |code: usize, value: f64, noise: Option<f64>| Reading {
            word: slice.words.get(code).copied(),
            setting: 0.0,
            value,
            noise,
        };
        let whole = |value: f64, noise: Option<f64>| vec![Reading { word: None, setting: 0.0, value, noise }];
        // Steps and what is made of them: the noise of two codes, in units of `scale`.
        let steps = |values: Vec<f64>, scale: f64| -> Vec<Reading> {
            let one = |(from, value): (usize, f64)| {
                let to = (from + 1) % slice.codes();
                let noise = noise.as_ref().map(|noise| noise.of_difference(from, to, own_unit) / scale);
                reading(to, value, noise)
            };
            values.into_iter().enumerate().map(one).collect()
        };
        let from_code_zero = |code: usize, value: f64, unit: Unit| {
            let noise = noise.as_ref().map(|noise| noise.of_difference(code, 0, unit));
            Reading { setting: slice.nominal[code], ..reading(code, value, noise) }
        };
        let state_error = |code: usize| from_code_zero(code, at.state_errors[code], own_unit);
        Ok(match figure {
            Figure::InsertionLoss => {
                let noise = noise.map(|noise| noise.of_code(0, Unit::Decibel));
                vec![reading(0, at.insertion_loss_db(), noise)]
            }
            Figure::ReturnLoss(port) => {
                let sigma = self.sigma.and_then(|sigma| sigma.get(index).copied());
                let worst = self.reflections.and_then(|reflections| reflections.at(port, index));
                let one = worst.map(|worst| Reading {
                    word: Some(worst.word),
                    setting: 0.0,
                    value: worst.return_loss_db(),
                    noise: sigma.map(|sigma| of_reflection_db(sigma, worst.magnitude)),
                });
                one.into_iter().collect()
            }
            Figure::GroupDelay => vec![self.group_delay(index)],
            Figure::StateError(_) => (1..slice.codes()).map(state_error).collect(),
            Figure::BitError(_) => {
                at.bit_errors(slice)?;
                slice.single_bits.iter().map(|code| state_error(*code)).collect()
            }
            Figure::StepError(_) => steps(at.step_errors(slice), 1.0),
            Figure::Increment(_) => steps(at.increments(slice)?, 1.0),
            Figure::DifferentialNonlinearity(_) => steps(at.differential_nonlinearity(slice)?, slice.step()?),
            Figure::IntegralNonlinearity(_, line) => self.off_line(at, line, noise.as_ref(), own_unit)?,
            Figure::Rms(variant) => {
                let weights = || variant.gradient(slice, &at.state_errors);
                let noise = noise.map(|noise| noise.of_weighted_differences(&weights(), own_unit));
                complete(at, whole(variant.of(slice, &at.state_errors), noise))
            }
            Figure::OverCodes(_) => {
                let one = |code: usize| Reading {
                    setting: 0.0,
                    ..from_code_zero(code, at.other[code], figure.unit())
                };
                (1..slice.codes()).map(one).collect()
            }
            Figure::OverCodesPeakToPeak(_) => {
                let value = at.cross_effect(slice).map_or(f64::NAN, |effect| effect.peak_to_peak);
                let noise = noise.zip(at.extreme_codes(slice));
                let noise = noise.map(|(noise, (low, high))| noise.of_difference(low, high, figure.unit()));
                complete(at, whole(value, noise))
            }
            Figure::OverCodesRms(_, variant) => {
                let weights = || at.cross_gradient(slice, variant);
                let noise = noise.map(|noise| noise.of_weighted_differences(&weights(), figure.unit()));
                complete(at, whole(at.cross_rms(slice, variant), noise))
            }
        })
    }

    fn noise_at(&self, index: usize) -> Option<RelativeNoise> {
        let sigma = self.sigma?.get(index)?;
        Some(RelativeNoise::of(self.at.get(index)?, self.slice, *sigma))
    }

    /// A delay that the grid is too coarse for is none.
    fn group_delay(&self, index: usize) -> Reading {
        let points = self.at.len().min(self.frequency_hz.len());
        let delay = delay_at(self.frequency_hz, |at| self.at[at].zero, index, points);
        let ends = [index.saturating_sub(1), (index + 1).min(points - 1)];
        let phase_noise_deg = |at: usize| Some(self.noise_at(at)?.of_code(0, Unit::Degree));
        let noise = phase_noise_deg(ends[0]).zip(phase_noise_deg(ends[1])).map(|(low, high)| {
            let each = (0.5 * (low * low + high * high)).sqrt();
            1e9 * group_delay_noise_s(each, delay.aperture_hz)
        });
        let value = if delay.is_doubtful() { f64::NAN } else { 1e9 * delay.delay_s };
        Reading { word: self.slice.words.first().copied(), setting: 0.0, value, noise }
    }

    /// A line through the end codes has these two on it, so they are left out.
    fn off_line(
        &self,
        at: &FieldAt,
        line: IntegralLine,
        noise: Option<&RelativeNoise>,
        unit: Unit,
    ) -> Result<Vec<Reading>, Refusal> {
        let slice = self.slice;
        let values = at.integral_nonlinearity(slice, line)?;
        let slope = at.line(slice, line)?.slope;
        let last = slice.codes() - 1;
        let noises: Option<Vec<f64>> = noise.map(|noise| match line {
            IntegralLine::EndCodes => (0..=last).map(|code| noise.off_end_line(code, last, unit)).collect(),
            IntegralLine::LeastSquares => noise.off_least_squares_line(unit),
        });
        let codes = match line {
            IntegralLine::EndCodes => 1..last,
            IntegralLine::LeastSquares => 0..last + 1,
        };
        let reading = |code: usize| Reading {
            word: Some(slice.words[code]),
            setting: 0.0,
            value: values[code],
            noise: noises.as_ref().map(|noises| noises[code] / slope),
        };
        Ok(codes.map(reading).collect())
    }
}

/// A figure over all codes, and beside it one without a value for every code that was not measured.
fn complete(at: &FieldAt, mut readings: Vec<Reading>) -> Vec<Reading> {
    readings.retain(|reading| !reading.value.is_nan());
    let none = Reading { word: None, setting: 0.0, value: f64::NAN, noise: None };
    readings.extend(std::iter::repeat_n(none, at.unmeasured()));
    readings
}
