//! What a reflection costs.

use num_complex::Complex64;

/// Return loss in dB, −20·log10|Γ|: positive for a passive port, infinite for a perfect match.
pub fn return_loss_db(reflection: Complex64) -> f64 {
    -20.0 * reflection.norm().log10()
}

/// Voltage standing-wave ratio (1 + |Γ|)/(1 − |Γ|), 1 for a perfect match, infinite for total reflection.
pub fn standing_wave_ratio(reflection: Complex64) -> f64 {
    let magnitude = reflection.norm();
    (1.0 + magnitude) / (1.0 - magnitude)
}

/// The power that does not go in, in dB: −10·log10(1 − |Γ|²), positive.
pub fn mismatch_loss_db(reflection: Complex64) -> f64 {
    -10.0 * (1.0 - reflection.norm_sqr()).log10()
}

/// How far a transmission may be off when the reflections at one joint are left out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MismatchBounds {
    /// The most that the gain may be higher, dB, positive.
    pub above_db: f64,
    /// The most that the gain may be lower, dB, negative.
    pub below_db: f64,
    /// The most that the phase may be off to either side, degrees.
    pub phase_deg: f64,
}

/// The bounds at a joint of two reflections whose phases are not known.
///
/// With x = |Γa|·|Γb| the factor left out is 1/(1 − x·e^(jα)) for any α: gain from −20·log10(1 + x) to
/// −20·log10(1 − x), phase up to arcsin x. `x` must be below 1.
pub fn mismatch_bounds(one: Complex64, other: Complex64) -> MismatchBounds {
    let product = one.norm() * other.norm();
    MismatchBounds {
        above_db: -20.0 * (1.0 - product).log10(),
        below_db: -20.0 * (1.0 + product).log10(),
        phase_deg: product.asin().to_degrees(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::network::check::near;

    fn of_return_loss(return_loss_db: f64) -> Complex64 {
        Complex64::from(10_f64.powf(-return_loss_db / 20.0))
    }

    /// The trade's conversion table: return loss, standing-wave ratio, mismatch loss.
    #[test]
    fn the_conversion_table() {
        for (loss_db, ratio, mismatch_db) in [
            (10.0, 1.924_951, 0.457_575),
            (12.0, 1.670_900, 0.283_048),
            (15.0, 1.432_581, 0.139_554),
            (20.0, 1.222_222, 0.043_648),
        ] {
            let reflection = of_return_loss(loss_db);
            near(return_loss_db(reflection), loss_db, 1e-12);
            near(standing_wave_ratio(reflection), ratio, 1e-6);
            near(mismatch_loss_db(reflection), mismatch_db, 1e-6);
        }
    }

    /// Mismatch uncertainty of a joint with the same return loss on both sides (the trade's tables of mismatch
    /// uncertainty): above, below, degrees.
    #[test]
    fn the_mismatch_table() {
        for (loss_db, above_db, below_db, phase_deg) in [
            (10.0, 0.9151, -0.8279, 5.7392),
            (12.0, 0.5661, -0.5314, 3.6175),
            (15.0, 0.2791, -0.2704, 1.8122),
            (20.0, 0.0873, -0.0864, 0.5730),
        ] {
            let bounds = mismatch_bounds(of_return_loss(loss_db), of_return_loss(loss_db));
            near(bounds.above_db, above_db, 1e-4);
            near(bounds.below_db, below_db, 1e-4);
            near(bounds.phase_deg, phase_deg, 1e-4);
        }
    }
}
