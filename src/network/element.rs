//! One lumped element in series with the line or across it.

use super::TwoPort;
use num_complex::Complex64;

/// An impedance in series between the ports: S11 = z/(z + 2), S21 = 2/(z + 2) with z = Z/`reference_ohm`
/// (follows from the voltage divider between two matched ends).
pub fn series(impedance_ohm: Complex64, reference_ohm: f64) -> TwoPort {
    let normalised = impedance_ohm / reference_ohm;
    TwoPort::symmetrical(normalised / (normalised + 2.0), Complex64::from(2.0) / (normalised + 2.0))
}

/// An admittance from the line to ground: S11 = −y/(y + 2), S21 = 2/(y + 2) with y = Y·`reference_ohm`.
pub fn shunt(admittance_siemens: Complex64, reference_ohm: f64) -> TwoPort {
    let normalised = admittance_siemens * reference_ohm;
    TwoPort::symmetrical(-normalised / (normalised + 2.0), Complex64::from(2.0) / (normalised + 2.0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::network::check::same;

    /// By hand: 25 Ω in series between 50 Ω ends reads 75 against 50 Ω; 50 Ω across them reads 25 against 50 Ω.
    #[test]
    fn series_and_shunt_resistors() {
        let quarter = series(Complex64::from(25.0), 50.0);
        same(quarter, TwoPort::symmetrical(Complex64::from(0.2), Complex64::from(0.8)), 1e-15);
        let across = shunt(Complex64::from(1.0 / 50.0), 50.0);
        same(across, TwoPort::symmetrical(Complex64::from(-1.0 / 3.0), Complex64::from(2.0 / 3.0)), 1e-15);
    }

    /// By hand: 100 Ω of reactance between 50 Ω ends, z = 2j, is S21 = 1/(1 + j); an inductor delays.
    #[test]
    fn an_inductor_delays() {
        let inductor = series(Complex64::new(0.0, 100.0), 50.0);
        same(inductor, TwoPort::symmetrical(Complex64::new(0.5, 0.5), Complex64::new(0.5, -0.5)), 1e-15);
    }
}
