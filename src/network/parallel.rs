//! Two-ports side by side.

use super::TwoPort;
use num_complex::Complex64;

/// Two two-ports connected in parallel, port to port, over a common ground.
///
/// Their admittance matrices add. With the normalised admittance y = (I − S)(I + S)⁻¹ and back
/// S = (I − y)(I + y)⁻¹ (the usual conversions between scattering and admittance parameters; Pozar, table of
/// network conversions, from memory).
///
/// Not finite where a two-port has no admittance matrix, as a joint of no length has none.
pub fn parallel(one: TwoPort, other: TwoPort) -> TwoPort {
    let (a, b) = (exchanged(one), exchanged(other));
    let sum = TwoPort { s11: a.s11 + b.s11, s12: a.s12 + b.s12, s21: a.s21 + b.s21, s22: a.s22 + b.s22 };
    exchanged(sum)
}

/// (I − M)(I + M)⁻¹, which turns scattering parameters into normalised admittances and these back.
fn exchanged(m: TwoPort) -> TwoPort {
    let one = Complex64::ONE;
    let across = m.s12 * m.s21;
    let scale = one / ((one + m.s11) * (one + m.s22) - across);
    TwoPort {
        s11: ((one - m.s11) * (one + m.s22) + across) * scale,
        s12: -2.0 * m.s12 * scale,
        s21: -2.0 * m.s21 * scale,
        s22: ((one + m.s11) * (one - m.s22) + across) * scale,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::network::check::same;
    use crate::network::{line, series};

    /// Two 50 Ω resistors side by side are one of 25 Ω.
    #[test]
    fn resistors_side_by_side() {
        let resistor = series(Complex64::from(50.0), 50.0);
        same(parallel(resistor, resistor), series(Complex64::from(25.0), 50.0), 1e-15);
    }

    /// Two equal lines of 100 Ω side by side are one of 50 Ω and of the same length.
    #[test]
    fn lines_side_by_side() {
        let thin = line(100.0, 73.0, 0.5, 50.0);
        same(parallel(thin, thin), line(50.0, 73.0, 0.5, 50.0), 1e-14);
    }

    /// An open circuit beside a two-port changes nothing.
    #[test]
    fn an_open_circuit_is_neutral() {
        let open = TwoPort::symmetrical(Complex64::ONE, Complex64::ZERO);
        let thin = line(80.0, 20.0, 1.0, 50.0);
        same(parallel(thin, open), thin, 1e-14);
    }
}
