//! What a made-up part is made of.

use super::{Form, Unit};
use crate::control::{Layout, LayoutError, Word};

/// The frequencies of a sweep, evenly spaced and rounded to whole hertz.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Sweep {
    /// First frequency, above 0.
    pub start_hz: u64,
    /// Last frequency, above the first.
    pub stop_hz: u64,
    /// How many, at least 2.
    pub points: usize,
}

impl Sweep {
    /// The frequencies in hertz, ascending.
    pub fn frequencies_hz(&self) -> Vec<u64> {
        let span = u128::from(self.stop_hz - self.start_hz);
        let last = (self.points - 1) as u128;
        let offset = |index: usize| (span * index as u128 + last / 2) / last;
        (0..self.points)
            .map(|index| self.start_hz + u64::try_from(offset(index)).unwrap_or(u64::MAX))
            .collect()
    }
}

/// A line between two sections. Values at the plan's middle frequency.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Joint {
    /// Characteristic impedance.
    pub impedance_ohm: f64,
    /// Electrical length; grows a little faster than frequency, as on a microstrip line.
    pub length_deg: f64,
    /// Loss; grows with the root of frequency.
    pub loss_db: f64,
}

/// An open switch: nearly no connection at the middle frequency, where an inductor tunes its capacitance out, and
/// more of one away from it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Trap {
    /// Reactance of the inductor, and of the capacitance that it tunes out, at the middle frequency.
    pub reactance_ohm: f64,
    /// Quality factor of the pair at resonance.
    pub quality: f64,
    /// Resistance in series with the pair.
    pub resistance_ohm: f64,
}

/// A switch at each end of a path.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Switch {
    /// Resistance when closed.
    pub on_ohm: f64,
    /// Series reactance when closed, at the middle frequency; inductive where positive.
    pub on_reactance_ohm: f64,
    /// What remains between its ends when open.
    pub off: Trap,
}

/// What couples past a section in both of its states: a line alongside, joined to both ends of the section by a
/// matched coupler, as fields in a package do. It is decoupled at the plan's middle frequency.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bypass {
    /// The share of the amplitude that goes past is this times the square of the relative detuning, at most a half.
    pub strength: f64,
    /// The line.
    pub line: Joint,
}

/// What a section puts between its switches in one of its two states. Values at the plan's middle frequency.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Path {
    /// A line.
    Line(Joint),
    /// Low-pass tees in a row, matched at the middle frequency.
    LowPass {
        /// Phase lag of all together, positive, below 180 for each.
        lag_deg: f64,
        /// How many, at least 1.
        cells: usize,
        /// Quality factor of the inductors.
        quality: f64,
    },
    /// High-pass tees in a row, matched at the middle frequency.
    HighPass {
        /// Phase lead of all together, positive, below 180 for each.
        lead_deg: f64,
        /// How many, at least 1.
        cells: usize,
        /// Quality factor of the inductors.
        quality: f64,
    },
    /// A resistive tee with a line behind it.
    Pad {
        /// Attenuation of the resistors, positive.
        attenuation_db: f64,
        /// Reactance in series with the arm to ground (a via to ground where positive).
        ground_reactance_ohm: f64,
        /// The line.
        line: Joint,
    },
}

/// A switched two-port that one bit works.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Section {
    /// The bit of the control word.
    pub bit: u8,
    /// The line in front of it.
    pub joint: Joint,
    /// The switches.
    pub switch: Switch,
    /// The path taken while the bit is 0.
    pub clear: Path,
    /// The path taken while the bit is 1.
    pub set: Path,
    /// What couples past it.
    pub bypass: Bypass,
}

/// A made-up part and how its sweep is written.
#[derive(Clone, Debug, PartialEq)]
pub struct PartPlan {
    /// What the files' first comment says of it.
    pub title: String,
    /// What every file's name begins with; the word follows.
    pub prefix: String,
    /// The true layout of its control word. Its nominal values do not enter the states: the sections do.
    pub layout: Layout,
    /// The sections from port 1 to port 2, one for every bit of the layout.
    pub sections: Vec<Section>,
    /// The line behind the last section.
    pub last_joint: Joint,
    /// The frequency at which the sections are tuned.
    pub middle_hz: u64,
    /// The sweep.
    pub sweep: Sweep,
    /// Reference impedance of the files.
    pub reference_ohm: f64,
    /// Root mean square of the noise on all four parameters, in dB relative to the transmission of word 0 at the
    /// same frequency.
    pub noise_db: f64,
    /// Seed of the noise.
    pub seed: u64,
    /// Unit of the files' frequencies.
    pub unit: Unit,
    /// How the files write complex values.
    pub form: Form,
}

/// Why a plan cannot be made.
#[derive(Clone, Debug, PartialEq)]
pub enum PlanError {
    /// The layout is not usable.
    Layout(LayoutError),
    /// A bit of the layout has no section, or more than one.
    SectionsOfBit {
        /// The bit.
        bit: u8,
        /// How many sections it works.
        sections: usize,
    },
    /// A section's bit is not in the layout.
    UnknownBit(u8),
    /// The sweep has fewer than two points, or does not ascend from above 0 Hz, or has points less than 1 Hz apart.
    Sweep(Sweep),
    /// A number of bits for which there is no plan.
    Bits {
        /// The number asked for.
        bits: u8,
        /// The largest that there is.
        most: usize,
    },
    /// A noise level that is not a number, or above the transmission itself.
    Noise(f64),
    /// A value that must be a positive finite number.
    NotPositive(&'static str, f64),
}

impl std::fmt::Display for PlanError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Layout(error) => error.fmt(f),
            Self::SectionsOfBit { bit, sections } => {
                write!(f, "Bit {bit} works {sections} sections; every bit works exactly one.")
            }
            Self::UnknownBit(bit) => {
                write!(f, "A section is worked by bit {bit}, which is not in the layout.")
            }
            Self::Sweep(Sweep { start_hz, stop_hz, points }) => write!(
                f,
                "A sweep of {points} points from {start_hz} Hz to {stop_hz} Hz cannot be made: it needs at least \
                 2 points, a first frequency above 0 Hz, and a last one at least 1 Hz per step above it."
            ),
            Self::Bits { bits, most } => write!(f, "There is no plan for {bits} bits, only for 1 to {most}."),
            Self::Noise(level_db) => {
                write!(f, "The noise must be 0 dB or less relative to the transmission, not {level_db} dB.")
            }
            Self::NotPositive(what, value) => write!(f, "The {what} must be a positive number, not {value}."),
        }
    }
}

impl std::error::Error for PlanError {}

impl PartPlan {
    /// Checks that a [`super::Part`] can be made of it.
    pub fn check(&self) -> Result<(), PlanError> {
        self.layout.check().map_err(PlanError::Layout)?;
        let bits = u8::try_from(self.layout.bits()).unwrap_or(u8::MAX);
        if let Some(section) = self.sections.iter().find(|section| section.bit >= bits) {
            return Err(PlanError::UnknownBit(section.bit));
        }
        for bit in 0..bits {
            let sections = self.sections.iter().filter(|section| section.bit == bit).count();
            if sections != 1 {
                return Err(PlanError::SectionsOfBit { bit, sections });
            }
        }
        let Sweep { start_hz, stop_hz, points } = self.sweep;
        if points < 2 || start_hz == 0 || stop_hz < start_hz || stop_hz - start_hz < (points - 1) as u64 {
            return Err(PlanError::Sweep(self.sweep));
        }
        if self.noise_db.is_nan() || self.noise_db > 0.0 {
            return Err(PlanError::Noise(self.noise_db));
        }
        if !(self.reference_ohm.is_finite() && self.reference_ohm > 0.0) {
            return Err(PlanError::NotPositive("reference impedance", self.reference_ohm));
        }
        if self.middle_hz == 0 {
            return Err(PlanError::NotPositive("middle frequency", 0.0));
        }
        Ok(())
    }

    /// The name of a word's file: the prefix and the word in hexadecimal, as many digits as the largest needs.
    pub fn file_name(&self, word: Word) -> String {
        format!("{}_0x{:0digits$X}.s2p", self.prefix, word.0, digits = self.layout.bits().div_ceil(4))
    }
}
