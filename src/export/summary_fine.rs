//! What `summary.json` says of how fine the run reaches and of the constellations that it forms.

use crate::pipeline::Report;
use crate::reach::CleanBits;
use crate::sheet::signal::guide_limit;
use crate::signal::Constellation;
use serde::Serialize;

/// The resolution map at the chosen frequency, and the clean bits at all.
#[derive(Serialize)]
pub(super) struct Resolution {
    frequency_hz: f64,
    /// Null where no pair of bits is clean.
    clean: Option<Bits>,
    phase_bits: u8,
    gain_bits: u8,
    /// Percent of the settings that some state serves: a list for each number of phase bits kept, from none, with a number
    /// for each number of gain bits kept.
    served_pct: Vec<Vec<f64>>,
    /// Null while they are being counted.
    clean_at: Option<Vec<BitsAt>>,
}

#[derive(Serialize)]
struct Bits {
    phase_bits: u8,
    gain_bits: u8,
}

/// Null bits: no pair is clean.
#[derive(Serialize)]
struct BitsAt {
    frequency_hz: f64,
    phase_bits: Option<u8>,
    gain_bits: Option<u8>,
}

/// `None` where there is no resolution map.
pub(super) fn resolution(report: &Report) -> Option<Resolution> {
    let here = report.reach.here.as_ref()?;
    let map = report.reach.resolution()?;
    let grid = &report.intake.frequency_hz;
    let served = |phase: u8| -> Vec<f64> {
        (0..=map.gain_bits()).filter_map(|gain| map.yield_pct(CleanBits { phase, gain })).collect()
    };
    let at = |(&frequency_hz, bits): (&f64, &Option<CleanBits>)| BitsAt {
        frequency_hz,
        phase_bits: bits.map(|bits| bits.phase),
        gain_bits: bits.map(|bits| bits.gain),
    };
    let clean = map.clean_bits();
    Some(Resolution {
        frequency_hz: grid[here.index],
        clean: clean.map(|bits| Bits { phase_bits: bits.phase, gain_bits: bits.gain }),
        phase_bits: map.phase_bits(),
        gain_bits: map.gain_bits(),
        served_pct: (0..=map.phase_bits()).map(served).collect(),
        clean_at: report.reach.clean_bits.as_ref().map(|bits| grid.iter().zip(bits).map(at).collect()),
    })
}

/// The constellations at the chosen frequency, and the largest clean one over the grid.
#[derive(Serialize)]
pub(super) struct Constellations {
    frequency_hz: f64,
    /// How `words` are ordered.
    order_of_points: &'static str,
    formed: Vec<Formed>,
    /// Null while it is looked for.
    largest_clean_at: Option<Vec<LargestCleanAt>>,
}

#[derive(Serialize)]
struct Formed {
    order: u16,
    evm_pct: f64,
    evm_of_peak_pct: f64,
    guide_limit_pct: Option<f64>,
    /// Real and imaginary part of what the points are multiplied by, in the unit of the transmission.
    scale: [f64; 2],
    corner_gain_db: f64,
    turn_deg: f64,
    clean: bool,
    sharing: usize,
    misread: usize,
    words: Vec<u32>,
}

/// A null order: none is clean.
#[derive(Serialize)]
struct LargestCleanAt {
    frequency_hz: f64,
    order: Option<u16>,
}

/// `None` where none can be formed, or is not formed yet.
pub(super) fn constellations(report: &Report) -> Option<Constellations> {
    let signal = report.signal.as_ref()?;
    let formed = signal.constellations.as_ref().ok()?;
    let grid = &report.intake.frequency_hz;
    let word = |state: &u32| report.intake.states.get(*state as usize).map(|state| state.word.0);
    let one = |one: &Constellation| Formed {
        order: one.order,
        evm_pct: 100.0 * one.evm,
        evm_of_peak_pct: 100.0 * one.evm_of_peak,
        guide_limit_pct: guide_limit(one.order).map(|limit| 100.0 * limit.evm),
        scale: [one.scale.re, one.scale.im],
        corner_gain_db: one.corner_gain_db,
        turn_deg: one.turn_deg,
        clean: one.is_clean(),
        sharing: one.sharing,
        misread: one.misread,
        words: one.states.iter().filter_map(word).collect(),
    };
    let largest = report.largest_clean.as_ref().map(|found| {
        let at =
            |(&index, &order): (&usize, &Option<u16>)| LargestCleanAt { frequency_hz: grid[index], order };
        found.looked_at.iter().zip(&found.orders).map(at).collect()
    });
    Some(Constellations {
        frequency_hz: grid[signal.index],
        order_of_points: "row by row from the lowest quadrature part, the in-phase part ascending fastest",
        formed: formed.iter().map(one).collect(),
        largest_clean_at: largest,
    })
}
