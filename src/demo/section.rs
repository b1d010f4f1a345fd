//! The circuit of one section at one frequency.

use super::plan::{Bypass, Joint, Path, Section, Switch, Trap};
use crate::network::{TwoPort, cascade, line, pad_resistors, parallel, series, tee};
use num_complex::Complex64;

/// How much faster than frequency the electrical length of a line grows, per unit of relative detuning.
const DISPERSION: f64 = 0.03;

/// Where a circuit is looked at.
#[derive(Clone, Copy)]
pub struct Point {
    /// Frequency over the plan's middle frequency.
    pub ratio: f64,
    /// Reference impedance.
    pub reference_ohm: f64,
}

impl Point {
    /// A section in one of its states, the joint in front of it included.
    ///
    /// Both paths are always there, side by side: the one not taken is cut off only as well as its open switches
    /// manage. What goes past the section is the same in both states, so they draw together where it grows.
    pub fn section(self, section: &Section, set: bool) -> TwoPort {
        let clear = self.switched(section.clear, section.switch, !set);
        let other = self.switched(section.set, section.switch, set);
        let paths = parallel(clear, other);
        cascade(self.joint(section.joint), self.with_bypass(paths, section.bypass))
    }

    /// Matched couplers at both ends split the amplitude a² : b² with a² + b² = 1 between the section and the line
    /// beside it, and take up what comes back out of step. The whole is then the mean of the two scattering
    /// matrices with the weights a² and b², passive and reciprocal where both are.
    fn with_bypass(self, section: TwoPort, bypass: Bypass) -> TwoPort {
        let past = (bypass.strength * (self.ratio - 1.0).powi(2)).min(0.5);
        let beside = self.joint(bypass.line);
        let mean = |a: Complex64, b: Complex64| a * (1.0 - past) + b * past;
        TwoPort {
            s11: mean(section.s11, beside.s11),
            s12: mean(section.s12, beside.s12),
            s21: mean(section.s21, beside.s21),
            s22: mean(section.s22, beside.s22),
        }
    }

    /// A line.
    pub fn joint(self, joint: Joint) -> TwoPort {
        let length_deg = joint.length_deg * self.ratio * (1.0 + DISPERSION * (self.ratio - 1.0));
        line(joint.impedance_ohm, length_deg, joint.loss_db * self.ratio.sqrt(), self.reference_ohm)
    }

    /// A path between two switches.
    fn switched(self, path: Path, switch: Switch, on: bool) -> TwoPort {
        let impedance_ohm = if on {
            Complex64::new(switch.on_ohm, switch.on_reactance_ohm * self.ratio)
        } else {
            self.trap_ohm(switch.off)
        };
        let end = series(impedance_ohm, self.reference_ohm);
        cascade(cascade(end, self.path(path)), end)
    }

    fn path(self, path: Path) -> TwoPort {
        match path {
            Path::Line(joint) => self.joint(joint),
            Path::LowPass { lag_deg, cells, quality } => {
                self.low_pass(lag_deg / cells as f64, cells, quality)
            }
            Path::HighPass { lead_deg, cells, quality } => {
                self.high_pass(lead_deg / cells as f64, cells, quality)
            }
            Path::Pad { attenuation_db, ground_reactance_ohm, line } => {
                let pad = pad_resistors(attenuation_db, self.reference_ohm);
                let ground_ohm = Complex64::new(pad.shunt_ohm, ground_reactance_ohm * self.ratio);
                let tee = tee(Complex64::from(pad.series_ohm), ground_ohm.inv(), self.reference_ohm);
                cascade(tee, self.joint(line))
            }
        }
    }

    /// Inductors in the arms, a capacitor to ground. Matched with a lag φ where the arms have X = Z0·tan(φ/2) and
    /// the capacitor B = sin(φ)/Z0, the tee equivalent of a line of length φ.
    fn low_pass(self, lag_deg: f64, cells: usize, quality: f64) -> TwoPort {
        let arm_ohm = self.reference_ohm * (lag_deg.to_radians() / 2.0).tan();
        let shunt_siemens = lag_deg.to_radians().sin() / self.reference_ohm;
        let arm = Complex64::new(arm_ohm / quality, arm_ohm * self.ratio);
        let cell = tee(arm, Complex64::new(0.0, shunt_siemens * self.ratio), self.reference_ohm);
        in_a_row(cell, cells)
    }

    /// Capacitors in the arms, an inductor to ground: the low-pass tee with both signs and both slopes reversed.
    fn high_pass(self, lead_deg: f64, cells: usize, quality: f64) -> TwoPort {
        let arm_ohm = self.reference_ohm * (lead_deg.to_radians() / 2.0).tan();
        let ground_ohm = self.reference_ohm / lead_deg.to_radians().sin();
        let ground = Complex64::new(ground_ohm / quality, ground_ohm * self.ratio);
        let cell = tee(Complex64::new(0.0, -arm_ohm / self.ratio), ground.inv(), self.reference_ohm);
        in_a_row(cell, cells)
    }

    fn trap_ohm(self, trap: Trap) -> Complex64 {
        let detuning = self.ratio - 1.0 / self.ratio;
        trap.resistance_ohm + trap.reactance_ohm / Complex64::new(1.0 / trap.quality, detuning)
    }
}

fn in_a_row(cell: TwoPort, count: usize) -> TwoPort {
    (1..count).fold(cell, |row, _| cascade(row, cell))
}

#[cfg(test)]
mod tests {
    use super::*;

    const MIDDLE: Point = Point { ratio: 1.0, reference_ohm: 50.0 };

    /// A tee equivalent of a line: matched, lossless for infinite quality, and late by its angle; the high-pass one
    /// is early (follows from the equivalence of a symmetrical tee and a line at one frequency).
    #[test]
    fn filters_have_their_phase_at_the_middle() {
        let low = MIDDLE.path(Path::LowPass { lag_deg: 90.0, cells: 2, quality: f64::INFINITY });
        let high = MIDDLE.path(Path::HighPass { lead_deg: 60.0, cells: 1, quality: f64::INFINITY });
        assert!(low.s11.norm() < 1e-12 && high.s11.norm() < 1e-12);
        assert!((low.s21 - Complex64::new(0.0, -1.0)).norm() < 1e-12);
        assert!((high.s21 - Complex64::from_polar(1.0, 60_f64.to_radians())).norm() < 1e-12);
    }

    /// At resonance a parallel pair of quality Q is a resistance of Q times its reactance; far from it the smaller
    /// reactance shorts the larger (follows from the definition).
    #[test]
    fn a_trap_blocks_at_the_middle_only() {
        let trap = Trap { reactance_ohm: 40.0, quality: 30.0, resistance_ohm: 5.0 };
        assert!((MIDDLE.trap_ohm(trap) - Complex64::from(1205.0)).norm() < 1e-9);
        let low = Point { ratio: 0.01, reference_ohm: 50.0 };
        let expected = Complex64::new(5.0, 0.4);
        assert!((low.trap_ohm(trap) - expected).norm() < 0.01);
    }
}
