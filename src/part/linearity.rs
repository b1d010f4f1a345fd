//! How far the codes lie off a straight line.

use super::{FieldAt, FieldSlice, Refusal};
use serde::{Deserialize, Serialize};

/// Which line the integral nonlinearity is taken from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum IntegralLine {
    /// Through the first and the last code.
    EndCodes,
    /// The least-squares line through all measured codes.
    LeastSquares,
}

/// A straight line over the codes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Line {
    /// Value at code 0, dB or degrees.
    pub offset: f64,
    /// Rise from code to code, dB or degrees, positive.
    pub slope: f64,
}

impl FieldAt {
    /// How far each code's value lies above the line, in the line's own steps (IEEE Std 1241's integral nonlinearity,
    /// taken over to control parts); NaN for codes that were not measured.
    pub fn integral_nonlinearity(&self, slice: &FieldSlice, line: IntegralLine) -> Result<Vec<f64>, Refusal> {
        let line_through = self.line(slice, line)?;
        let above = |(code, value): (usize, f64)| {
            (value - line_through.offset - line_through.slope * code as f64) / line_through.slope
        };
        Ok(self.values(slice).into_iter().enumerate().map(above).collect())
    }

    pub(super) fn line(&self, slice: &FieldSlice, line: IntegralLine) -> Result<Line, Refusal> {
        slice.step()?;
        let values = self.values(slice);
        let line = match line {
            IntegralLine::EndCodes => through_ends(&values)?,
            IntegralLine::LeastSquares => least_squares(&values),
        };
        if line.slope > 0.0 && line.slope.is_finite() { Ok(line) } else { Err(Refusal::NoSlope) }
    }
}

fn through_ends(values: &[f64]) -> Result<Line, Refusal> {
    match (values.first(), values.last()) {
        (Some(first), Some(last)) if !(first.is_nan() || last.is_nan()) => {
            Ok(Line { offset: *first, slope: (last - first) / (values.len() - 1) as f64 })
        }
        _ => Err(Refusal::EndCodeMissing),
    }
}

fn least_squares(values: &[f64]) -> Line {
    let measured = || values.iter().enumerate().filter(|(_, value)| !value.is_nan());
    let count = measured().count() as f64;
    let mean_code = measured().map(|(code, _)| code as f64).sum::<f64>() / count;
    let mean_value = measured().map(|(_, value)| value).sum::<f64>() / count;
    let about_mean = |(code, value): (usize, &f64)| {
        let code = code as f64 - mean_code;
        (code * (value - mean_value), code * code)
    };
    let (rise, run) =
        measured().map(about_mean).fold((0.0, 0.0), |sum, term| (sum.0 + term.0, sum.1 + term.1));
    let slope = rise / run;
    Line { offset: mean_value - slope * mean_code, slope }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// With numpy's polyfit: slope 0.50392857, offset −0.0025 dB. Through the ends 3.49/7.
    #[test]
    fn lines_have_their_slope_and_offset() {
        let values = [0.0, 0.48, 1.05, 1.40, 2.10, 2.55, 3.02, 3.49];
        let best = least_squares(&values);
        assert!((best.slope - 0.503_928_57).abs() < 5e-9 && (best.offset + 0.0025).abs() < 1e-12, "{best:?}");
        assert_eq!(through_ends(&values), Ok(Line { offset: 0.0, slope: 3.49 / 7.0 }));
    }
}
