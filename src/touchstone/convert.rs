//! Impedance, admittance and hybrid parameters to scattering parameters, for one and two ports.
//!
//! With every voltage divided by √R and every current multiplied by √R of its port, the waves of the standard
//! become a = (v + i)/2 and b = (v − i)/2, and the formulas below follow from b = S·a by eliminating v and i.

use super::error::ReadErrorKind;
use super::option_line::Parameter;
use num_complex::Complex64;

/// How the values of a file are turned into scattering parameters.
#[derive(Clone, Debug)]
pub(super) struct Conversion {
    parameter: Parameter,
    /// Square roots of the resistances that the values have to be normalised to; all 1 where they already are.
    root_ohm: Vec<f64>,
}

impl Conversion {
    /// From `parameter`; `normalised` values are referred to the ports' resistances already, as version 1 has them.
    pub(super) fn new(
        parameter: Parameter,
        reference_ohm: &[f64],
        normalised: bool,
    ) -> Result<Self, ReadErrorKind> {
        let ports = reference_ohm.len();
        let hybrid = matches!(parameter, Parameter::HybridH | Parameter::HybridG);
        if parameter != Parameter::Scattering && (ports > 2 || hybrid && ports != 2) {
            return Err(ReadErrorKind::ParameterPorts { parameter, ports });
        }
        let unequal = reference_ohm.iter().any(|&ohm| ohm != reference_ohm[0]);
        if parameter != Parameter::Scattering && normalised && unequal {
            return Err(ReadErrorKind::UnequalNormalisation { parameter });
        }
        let root = |&ohm: &f64| if normalised { 1.0 } else { f64::sqrt(ohm) };
        Ok(Self { parameter, root_ohm: reference_ohm.iter().map(root).collect() })
    }

    /// Turns the matrix of one frequency, row by row, into scattering parameters. Where none exist the result is
    /// not finite.
    #[inline]
    pub(super) fn apply(&self, matrix: &mut [Complex64]) {
        match (self.parameter, matrix) {
            (Parameter::Scattering, _) => {}
            (parameter, [value]) => *value = one_port(parameter, *value, self.root_ohm[0]),
            (parameter, [a, b, c, d]) => {
                [*a, *b, *c, *d] = two_port(parameter, [*a, *b, *c, *d], &self.root_ohm);
            }
            _ => {}
        }
    }
}

fn one_port(parameter: Parameter, value: Complex64, root_ohm: f64) -> Complex64 {
    let ohm = root_ohm * root_ohm;
    match parameter {
        Parameter::Admittance => (1.0 - value * ohm) / (1.0 + value * ohm),
        _ => (value / ohm - 1.0) / (value / ohm + 1.0),
    }
}

fn two_port(parameter: Parameter, matrix: [Complex64; 4], root_ohm: &[f64]) -> [Complex64; 4] {
    let (r1, r2) = (root_ohm[0], root_ohm[1]);
    let scale = match parameter {
        Parameter::Scattering => return matrix,
        Parameter::Impedance => [1.0 / (r1 * r1), 1.0 / (r1 * r2), 1.0 / (r1 * r2), 1.0 / (r2 * r2)],
        Parameter::Admittance => [r1 * r1, r1 * r2, r1 * r2, r2 * r2],
        Parameter::HybridH => [1.0 / (r1 * r1), r2 / r1, r2 / r1, r2 * r2],
        Parameter::HybridG => [r1 * r1, r1 / r2, r1 / r2, 1.0 / (r2 * r2)],
    };
    let [p11, p12, p21, p22] = std::array::from_fn(|index| matrix[index] * scale[index]);
    let crossed = p12 * p21;
    let divisor = (1.0 + p11) * (1.0 + p22) - crossed;
    // A port driven by current reflects (p − 1)/(p + 1), one driven by voltage the opposite.
    let first = match parameter {
        Parameter::Impedance | Parameter::HybridH => (p11 - 1.0) * (1.0 + p22) - crossed,
        _ => (1.0 - p11) * (1.0 + p22) + crossed,
    };
    let second = match parameter {
        Parameter::Impedance | Parameter::HybridG => (1.0 + p11) * (p22 - 1.0) - crossed,
        _ => (1.0 + p11) * (1.0 - p22) + crossed,
    };
    let (forward, backward) = match parameter {
        Parameter::Impedance => (2.0, 2.0),
        Parameter::Admittance => (-2.0, -2.0),
        Parameter::HybridH => (-2.0, 2.0),
        _ => (2.0, -2.0),
    };
    [first / divisor, backward * p12 / divisor, forward * p21 / divisor, second / divisor]
}

#[cfg(test)]
mod tests {
    use super::*;

    fn converted(parameter: Parameter, matrix: &[f64], ohm: &[f64], normalised: bool) -> Vec<Complex64> {
        let mut values: Vec<Complex64> = matrix.iter().map(|&value| value.into()).collect();
        Conversion::new(parameter, ohm, normalised).unwrap().apply(&mut values);
        values
    }

    fn assert_near(found: &[Complex64], expected: &[f64]) {
        assert_eq!(found.len(), expected.len());
        for (value, wanted) in found.iter().zip(expected) {
            assert!((value - wanted).norm() < 1e-12, "{found:?} {expected:?}");
        }
    }

    /// A 25 ohm series resistor between 50 ohm ports: S11 = 0.2, S21 = 0.8, from the definitions.
    /// Y = ±1/25; h11 = 25, h12 = 1, h21 = −1, h22 = 0; g11 = 0, g12 = −1, g21 = 1, g22 = 25.
    #[test]
    fn a_series_resistor() {
        let expected = [0.2, 0.8, 0.8, 0.2];
        let ohm = [50.0, 50.0];
        assert_near(&converted(Parameter::Admittance, &[0.04, -0.04, -0.04, 0.04], &ohm, false), &expected);
        assert_near(&converted(Parameter::HybridH, &[25.0, 1.0, -1.0, 0.0], &ohm, false), &expected);
        assert_near(&converted(Parameter::HybridG, &[0.0, -1.0, 1.0, 25.0], &ohm, false), &expected);
        assert_near(&converted(Parameter::HybridH, &[0.5, 1.0, -1.0, 0.0], &ohm, true), &expected);
        assert_near(&converted(Parameter::Admittance, &[2.0, -2.0, -2.0, 2.0], &ohm, true), &expected);
    }

    /// A 50 ohm shunt resistor between 50 ohm ports: S11 = −1/3, S21 = 2/3, from the definitions.
    /// All Z = 50; h11 = 0, h12 = 1, h21 = −1, h22 = 1/50.
    #[test]
    fn a_shunt_resistor() {
        let expected = [-1.0 / 3.0, 2.0 / 3.0, 2.0 / 3.0, -1.0 / 3.0];
        let ohm = [50.0, 50.0];
        assert_near(&converted(Parameter::Impedance, &[50.0; 4], &ohm, false), &expected);
        assert_near(&converted(Parameter::HybridH, &[0.0, 1.0, -1.0, 0.02], &ohm, false), &expected);
        assert_near(&converted(Parameter::HybridG, &[0.02, -1.0, 1.0, 0.0], &ohm, false), &expected);
        assert_near(&converted(Parameter::Impedance, &[1.0; 4], &ohm, true), &expected);
    }

    /// A matched pad between 100 and 25 ohm (series 50·√3 then shunt 50/√3): no reflection at either end, and
    /// S21 = S12 = 2 − √3, the minimum-loss pad of ratio 4, from the definitions.
    #[test]
    fn a_minimum_loss_pad_between_unequal_references() {
        let (series, shunt) = (50.0 * 3_f64.sqrt(), 50.0 / 3_f64.sqrt());
        let through = 2.0 - 3_f64.sqrt();
        let expected = [0.0, through, through, 0.0];
        let ohm = [100.0, 25.0];
        let impedance = [series + shunt, shunt, shunt, shunt];
        let admittance = [1.0 / series, -1.0 / series, -1.0 / series, 1.0 / series + 1.0 / shunt];
        let h = [series, 1.0, -1.0, 1.0 / shunt];
        let g11 = 1.0 / (series + shunt);
        let g = [g11, -shunt * g11, shunt * g11, series * shunt * g11];
        assert_near(&converted(Parameter::Impedance, &impedance, &ohm, false), &expected);
        assert_near(&converted(Parameter::Admittance, &admittance, &ohm, false), &expected);
        assert_near(&converted(Parameter::HybridH, &h, &ohm, false), &expected);
        assert_near(&converted(Parameter::HybridG, &g, &ohm, false), &expected);
    }

    #[test]
    fn one_port_impedance_and_admittance() {
        assert_near(&converted(Parameter::Impedance, &[150.0], &[50.0], false), &[0.5]);
        assert_near(&converted(Parameter::Admittance, &[1.0 / 150.0], &[50.0], false), &[0.5]);
        assert_near(&converted(Parameter::Impedance, &[3.0], &[50.0], true), &[0.5]);
    }

    #[test]
    fn what_has_no_conversion_is_refused() {
        for (parameter, ohm) in [
            (Parameter::Impedance, vec![50.0; 3]),
            (Parameter::Admittance, vec![50.0; 6]),
            (Parameter::HybridH, vec![50.0]),
            (Parameter::HybridG, vec![50.0; 3]),
        ] {
            let ports = ohm.len();
            let refused = Conversion::new(parameter, &ohm, true).unwrap_err();
            assert_eq!(refused, ReadErrorKind::ParameterPorts { parameter, ports });
        }
        let parameter = Parameter::Impedance;
        let refused = Conversion::new(parameter, &[50.0, 75.0], true).unwrap_err();
        assert_eq!(refused, ReadErrorKind::UnequalNormalisation { parameter });
        assert!(Conversion::new(parameter, &[50.0, 75.0], false).is_ok());
        assert!(Conversion::new(Parameter::Scattering, &[50.0; 8], true).is_ok());
    }
}
