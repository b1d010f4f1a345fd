//! Three plans: the demo's channel, and two smaller parts of the same kind of sections.
//!
//! Every section is a little off its nominal value, as after one round of design: this is what makes the nominal
//! words miss and leaves a dense set of other states to choose from.

use super::plan::{Bypass, Joint, PartPlan, Path, PlanError, Section, Sweep, Switch, Trap};
use super::{Form, Unit};
use crate::control::{Direction, Field, Layout, Quantity};

/// The finest attenuator bit's nominal value in dB.
const GAIN_STEP_DB: f64 = 0.5;
/// Resistors' attenuation in dB and extra length in degrees of the attenuator bits, 0.5 dB nominal upwards.
const PADS: [(f64, f64); 6] = [(0.51, 1.0), (1.03, 1.0), (2.05, 3.0), (4.1, 7.0), (8.2, 11.0), (16.5, 14.0)];
/// Phase in degrees of the bits, 180° nominal downwards, each nominally half of the one before.
const TURNS_DEG: [f64; 7] = [178.5, 91.0, 45.8, 23.0, 11.5, 5.8, 2.85];

/// The transmit channel of an X-band weather radar that does not exist: seven lagging phase bits from 2.8125° in
/// bits 0 to 6, five attenuating bits from 0.5 dB in bits 7 to 11, 6 to 14 GHz in 161 points.
///
/// It is meant to be good around 10 GHz and useless at both ends, where its states draw together.
pub fn rain_radar() -> PartPlan {
    PartPlan {
        title: "transmit channel of an X-band weather radar that does not exist".to_owned(),
        prefix: "rain_tx".to_owned(),
        layout: Layout {
            fields: vec![
                Field::contiguous(Quantity::Phase, 0, 7, 2.8125, Direction::Down),
                Field::contiguous(Quantity::Gain, 7, 5, GAIN_STEP_DB, Direction::Down),
            ],
        },
        // Large and small, gain and phase bits alternate, so that each is disturbed by others than its neighbours
        // in the word.
        sections: vec![
            filter_bit(6, TURNS_DEG[0], 4),
            pad_bit(10, PADS[3]),
            filter_bit(4, TURNS_DEG[2], 1),
            pad_bit(8, PADS[1]),
            line_bit(0, TURNS_DEG[6]),
            pad_bit(7, PADS[0]),
            line_bit(2, TURNS_DEG[4]),
            filter_bit(5, TURNS_DEG[1], 2),
            pad_bit(9, PADS[2]),
            line_bit(1, TURNS_DEG[5]),
            line_bit(3, TURNS_DEG[3]),
            pad_bit(11, PADS[4]),
        ],
        last_joint: joint(50.0, 40.0),
        middle_hz: 10_000_000_000,
        sweep: Sweep { start_hz: 6_000_000_000, stop_hz: 14_000_000_000, points: 161 },
        reference_ohm: 50.0,
        noise_db: -60.0,
        seed: 20_231_107,
        unit: Unit::Hz,
        form: Form::RealImaginary,
    }
}

/// An attenuator of 1 to 6 bits from 0.5 dB, bit 0 the finest.
pub fn attenuator(bits: u8) -> Result<PartPlan, PlanError> {
    let pads = PADS.get(..usize::from(bits)).filter(|pads| !pads.is_empty());
    let pads = pads.ok_or(PlanError::Bits { bits, most: PADS.len() })?;
    Ok(PartPlan {
        title: format!("digital attenuator of {bits} bits that does not exist"),
        prefix: format!("pad{bits}"),
        layout: Layout {
            fields: vec![Field::contiguous(Quantity::Gain, 0, bits, GAIN_STEP_DB, Direction::Down)],
        },
        sections: (0..bits).zip(pads).map(|(bit, &pad)| pad_bit(bit, pad)).collect(),
        ..rain_radar()
    })
}

/// A phase shifter of 1 to 7 bits that fills the circle, bit 0 the finest, lagging.
pub fn phase_shifter(bits: u8) -> Result<PartPlan, PlanError> {
    let turns = TURNS_DEG.get(..usize::from(bits)).filter(|turns| !turns.is_empty());
    let turns = turns.ok_or(PlanError::Bits { bits, most: TURNS_DEG.len() })?;
    let step_deg = 360.0 / f64::from(1_u32 << bits);
    let section = |(place, &turn_deg): (usize, &f64)| {
        // The coarsest bit is the highest.
        let bit = bits - 1 - u8::try_from(place).unwrap_or(u8::MAX);
        match place {
            0 => filter_bit(bit, turn_deg, 4),
            1 => filter_bit(bit, turn_deg, 2),
            2 => filter_bit(bit, turn_deg, 1),
            _ => line_bit(bit, turn_deg),
        }
    };
    Ok(PartPlan {
        title: format!("digital phase shifter of {bits} bits that does not exist"),
        prefix: format!("turn{bits}"),
        layout: Layout {
            fields: vec![Field::contiguous(Quantity::Phase, 0, bits, step_deg, Direction::Down)],
        },
        sections: turns.iter().enumerate().map(section).collect(),
        ..rain_radar()
    })
}

/// High-pass against low-pass tees: the phase between them hardly moves around the middle frequency. The low-pass
/// ones lose less, so that a set bit raises the gain a little.
fn filter_bit(bit: u8, phase_deg: f64, cells: usize) -> Section {
    Section {
        bit,
        joint: joint(57.0, 35.0),
        switch: switch(900.0),
        clear: Path::HighPass { lead_deg: phase_deg / 2.0, cells, quality: 12.0 },
        set: Path::LowPass { lag_deg: phase_deg / 2.0, cells, quality: 40.0 },
        bypass: bypass(0.0),
    }
}

/// A longer line against a shorter one. What goes past it has the length half-way between, so that it pulls both
/// states alike.
fn line_bit(bit: u8, phase_deg: f64) -> Section {
    const SHORT_DEG: f64 = 40.0;
    Section {
        bit,
        joint: joint(45.0, 30.0),
        switch: switch(900.0),
        clear: Path::Line(joint(55.0, SHORT_DEG)),
        set: Path::Line(joint(55.0, SHORT_DEG + phase_deg)),
        bypass: bypass(SHORT_DEG + phase_deg / 2.0),
    }
}

/// A pad against a line; the pad's longer line and its via turn the phase as the attenuation is switched in.
fn pad_bit(bit: u8, (attenuation_db, turn_deg): (f64, f64)) -> Section {
    const SHORT_DEG: f64 = 10.0;
    Section {
        bit,
        joint: joint(51.0, 40.0),
        switch: switch(2000.0),
        clear: Path::Line(joint(52.0, SHORT_DEG)),
        set: Path::Pad { attenuation_db, ground_reactance_ohm: 4.0, line: joint(52.0, SHORT_DEG + turn_deg) },
        bypass: bypass(SHORT_DEG),
    }
}

/// A line on a lossy substrate.
fn joint(impedance_ohm: f64, length_deg: f64) -> Joint {
    Joint { impedance_ohm, length_deg, loss_db: length_deg * 0.0013 }
}

fn bypass(length_deg: f64) -> Bypass {
    Bypass { strength: 2.2, line: joint(50.0, length_deg) }
}

fn switch(off_reactance_ohm: f64) -> Switch {
    let off = Trap { reactance_ohm: off_reactance_ohm, quality: 30.0, resistance_ohm: 100.0 };
    Switch { on_ohm: 4.0, on_reactance_ohm: 4.0, off }
}
