//! From one code to the next.

use super::{FieldAt, FieldSlice, Refusal};
use crate::control::Quantity;
use crate::plane::wrap_deg;

/// An increment that goes the wrong way, or nowhere.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ReverseStep {
    /// The code before.
    pub from: usize,
    /// The code after: the next one that was measured; code 0 for the step that closes the circle.
    pub to: usize,
    /// The increment in dB or degrees, not positive.
    pub increment: f64,
}

impl FieldAt {
    /// What each increment has too much: element k is the step from code k to k + 1, (value − value before) − (what lies
    /// between them nominally), dB or degrees. A phase field that fills the circle has one element more, the step from
    /// its last code to code 0. NaN where one of the two codes was not measured.
    ///
    /// Angles are wrapped, so that a step is never a turn off.
    pub fn step_errors(&self, slice: &FieldSlice) -> Vec<f64> {
        let closing = slice.fills_circle().then_some(0);
        let after = (1..self.state_errors.len()).chain(closing);
        after.enumerate().map(|(from, to)| self.error_between(slice, from, to)).collect()
    }

    /// The increment of each step, in the order of [`Self::step_errors`]. Refused where the codes do not ascend.
    pub fn increments(&self, slice: &FieldSlice) -> Result<Vec<f64>, Refusal> {
        if slice.nominal.windows(2).any(|pair| pair[1] <= pair[0]) {
            return Err(Refusal::NotAscending);
        }
        let nominal = slice.nominal.windows(2).map(|pair| pair[1] - pair[0]).chain(slice.even_step);
        Ok(self.step_errors(slice).iter().zip(nominal).map(|(error, nominal)| nominal + error).collect())
    }

    /// Step errors in steps, measured step / step − 1 (IEEE Std 1241's differential nonlinearity, taken over to control
    /// parts).
    pub fn differential_nonlinearity(&self, slice: &FieldSlice) -> Result<Vec<f64>, Refusal> {
        let step = slice.step()?;
        Ok(self.step_errors(slice).iter().map(|error| error / step).collect())
    }

    /// Every increment that is not positive, between codes that were measured one after the other: an unmeasured code
    /// between them is passed over. The field is monotonic where there is none.
    pub fn reverse_steps(&self, slice: &FieldSlice) -> Result<Vec<ReverseStep>, Refusal> {
        self.increments(slice)?;
        let measured: Vec<usize> =
            (0..self.state_errors.len()).filter(|&code| !self.state_errors[code].is_nan()).collect();
        let closing =
            measured.last().filter(|&&last| slice.fills_circle() && last > 0).map(|&last| [last, 0]);
        let pairs = measured.windows(2).map(|pair| [pair[0], pair[1]]).chain(closing);
        let step = |[from, to]: [usize; 2]| {
            let turn = if to == 0 { 360.0 } else { 0.0 };
            let nominal = slice.nominal[to] - slice.nominal[from] + turn;
            ReverseStep { from, to, increment: nominal + self.error_between(slice, from, to) }
        };
        Ok(pairs.map(step).filter(|step| step.increment <= 0.0).collect())
    }

    fn error_between(&self, slice: &FieldSlice, from: usize, to: usize) -> f64 {
        let difference = self.state_errors[to] - self.state_errors[from];
        match slice.quantity {
            Quantity::Gain => difference,
            Quantity::Phase => wrap_deg(difference),
        }
    }
}
