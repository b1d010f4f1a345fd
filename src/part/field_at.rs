//! A field at one frequency.

use super::{FieldSlice, Refusal};
use crate::control::Quantity;
use crate::plane::wrap_deg;
use num_complex::Complex64;
use serde::{Deserialize, Serialize};

/// A field at one frequency: what is gathered over frequencies, and all that figures are taken from.
///
/// A code that was not measured has NaN everywhere; so have all codes where code 0 transmits nothing.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FieldAt {
    /// Transmission of code 0, linear.
    pub zero: Complex64,
    /// Of each code, what it does beyond code 0 minus what it should, counted in the field's direction: dB, or degrees on
    /// the turn nearest to the nominal value, within (−180°, +180°]. Infinite for a gain code without transmission.
    pub state_errors: Vec<f64>,
    /// Of each code, what it does to the other quantity relative to code 0, with the signs of the plane: degrees within
    /// (−180°, +180°] over gain codes, dB over phase codes.
    pub other: Vec<f64>,
}

impl FieldAt {
    /// Grades the transmission of a slice's codes, `None` where one was not measured.
    ///
    /// All is taken from the complex ratio to code 0, so that nothing has to be unwrapped along frequency and a common
    /// factor changes nothing. A phase is taken on the turn nearest to what the code should do.
    pub fn of(slice: &FieldSlice, transmission: &[Option<Complex64>]) -> Self {
        let nowhere = Complex64::new(f64::NAN, f64::NAN);
        let zero = transmission.first().copied().flatten().unwrap_or(nowhere);
        let usable = zero.is_finite() && zero != Complex64::ZERO;
        let codes = slice.nominal.iter().zip(transmission.iter().copied().chain(std::iter::repeat(None)));
        let (state_errors, other) = codes
            .map(|(nominal, code)| {
                let (gain_db, phase_deg) =
                    code.filter(|_| usable).map_or((f64::NAN, f64::NAN), |code| gain_and_phase(code / zero));
                match slice.quantity {
                    Quantity::Gain => (slice.sign * gain_db - nominal, phase_deg),
                    Quantity::Phase => (wrap_deg(slice.sign * phase_deg - nominal), gain_db),
                }
            })
            .unzip();
        Self { zero, state_errors, other }
    }

    /// −20·log10|T| of code 0, dB: the insertion loss where the other fields are held at code 0 too.
    pub fn insertion_loss_db(&self) -> f64 {
        -20.0 * self.zero.norm().log10()
    }

    /// What each code does beyond code 0, counted in the field's direction: for an attenuator its relative attenuation.
    pub fn values(&self, slice: &FieldSlice) -> Vec<f64> {
        self.state_errors.iter().zip(&slice.nominal).map(|(error, nominal)| nominal + error).collect()
    }

    /// The gain of each code relative to code 0, dB; more gain is positive.
    pub fn relative_gain_db(&self, slice: &FieldSlice) -> Vec<f64> {
        match slice.quantity {
            Quantity::Gain => self.values(slice).iter().map(|value| slice.sign * value).collect(),
            Quantity::Phase => self.other.clone(),
        }
    }

    /// The phase of each code relative to code 0, degrees within (−180°, +180°]; lead is positive.
    pub fn relative_phase_deg(&self, slice: &FieldSlice) -> Vec<f64> {
        match slice.quantity {
            Quantity::Gain => self.other.clone(),
            Quantity::Phase => self.values(slice).iter().map(|value| wrap_deg(slice.sign * value)).collect(),
        }
    }

    /// The errors of the codes with a single bit set, the least significant first: what data sheets call the major states.
    /// Refused where the settings are not made of bits.
    pub fn bit_errors(&self, slice: &FieldSlice) -> Result<Vec<f64>, Refusal> {
        if slice.single_bits.is_empty() {
            return Err(Refusal::NoBits);
        }
        Ok(slice.single_bits.iter().filter_map(|code| self.state_errors.get(*code)).copied().collect())
    }

    /// How many codes have no figure here.
    pub fn unmeasured(&self) -> usize {
        self.state_errors.iter().filter(|error| error.is_nan()).count()
    }
}

/// dB, and degrees within (−180°, +180°]. What transmits nothing has no phase.
fn gain_and_phase(relative: Complex64) -> (f64, f64) {
    if relative == Complex64::ZERO {
        return (f64::NEG_INFINITY, f64::NAN);
    }
    (20.0 * relative.norm().log10(), wrap_deg(relative.arg().to_degrees()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::control::{Direction, Field, Layout};

    fn slice(quantity: Quantity, bits: u8, step: f64, direction: Direction) -> FieldSlice {
        let layout = Layout { fields: vec![Field::contiguous(quantity, 0, bits, step, direction)] };
        FieldSlice::of(&layout, 0, &[]).unwrap()
    }

    fn transmission(gain_db: f64, phase_deg: f64) -> Complex64 {
        Complex64::from_polar(10_f64.powf(gain_db / 20.0), phase_deg.to_radians())
    }

    fn close(a: &[f64], b: &[f64]) {
        assert_eq!(a.len(), b.len());
        for (a, b) in a.iter().zip(b) {
            assert!((a - b).abs() < 1e-10 || (a.is_nan() && b.is_nan()), "{a} is not {b}");
        }
    }

    #[test]
    fn an_attenuator_that_attenuates_too_much_has_positive_errors() {
        let slice = slice(Quantity::Gain, 2, 0.5, Direction::Down);
        let codes = [
            Some(transmission(-3.0, 170.0)),
            Some(transmission(-3.6, -178.0)),
            None,
            Some(transmission(-4.4, 168.0)),
        ];
        let at = FieldAt::of(&slice, &codes);
        close(&[at.insertion_loss_db()], &[3.0]);
        close(&at.state_errors, &[0.0, 0.1, f64::NAN, -0.1]);
        close(&at.other, &[0.0, 12.0, f64::NAN, -2.0]);
        close(&at.relative_gain_db(&slice), &[0.0, -0.6, f64::NAN, -1.4]);
        close(&at.relative_phase_deg(&slice), &at.other);
        close(&at.bit_errors(&slice).unwrap(), &[0.1, f64::NAN]);
        assert_eq!(at.unmeasured(), 1);
    }

    #[test]
    fn a_lag_that_is_too_long_has_a_positive_error_and_keeps_to_its_own_turn() {
        for (direction, sign) in [(Direction::Down, -1.0), (Direction::Up, 1.0)] {
            let slice = slice(Quantity::Phase, 2, 90.0, direction);
            let codes = [0.0, 92.0, 177.0, 274.0]
                .map(|phase_deg| Some(transmission(-phase_deg / 100.0, 33.0 + sign * phase_deg)));
            let at = FieldAt::of(&slice, &codes);
            close(&at.state_errors, &[0.0, 2.0, -3.0, 4.0]);
            close(&at.values(&slice), &[0.0, 92.0, 177.0, 274.0]);
            close(&at.relative_phase_deg(&slice), &[0.0, sign * 92.0, sign * 177.0, sign * -86.0]);
            close(&at.relative_gain_db(&slice), &[0.0, -0.92, -1.77, -2.74]);
            close(&at.bit_errors(&slice).unwrap(), &[2.0, -3.0]);
        }
    }

    #[test]
    fn what_transmits_nothing_has_no_phase_and_as_code_zero_no_figures_at_all() {
        let gain = slice(Quantity::Gain, 1, 0.5, Direction::Down);
        let phase = slice(Quantity::Phase, 1, 180.0, Direction::Down);
        let dead_code = [Some(Complex64::ONE), Some(Complex64::ZERO)];
        let at = FieldAt::of(&gain, &dead_code);
        assert_eq!(at.state_errors[1], f64::INFINITY);
        assert!(at.other[1].is_nan() && FieldAt::of(&phase, &dead_code).state_errors[1].is_nan());
        let dead_zero = FieldAt::of(&gain, &[Some(Complex64::ZERO), Some(Complex64::ONE)]);
        assert_eq!((dead_zero.unmeasured(), dead_zero.insertion_loss_db()), (2, f64::INFINITY));
    }
}
