//! What is known of a run beside its transmission.

use crate::control::{Field, FieldBit, Layout, Word};

/// What is known of a run beside its transmission.
#[derive(Clone, Debug)]
pub struct Facts<'a> {
    /// The states' words, ascending.
    pub words: &'a [Word],
    /// The grid.
    pub frequency_hz: &'a [f64],
    /// The design band; bit weights are judged in it. The whole grid where `None`.
    pub design_band_hz: Option<(f64, f64)>,
    /// States in the order in which they were captured.
    pub capture_order: &'a [usize],
    /// Whether that order is on record (an index, times of files) and not merely assumed.
    pub order_on_record: bool,
    /// When they were captured, in that order, in seconds from any start; `None` where not known.
    pub capture_times_s: Option<&'a [f64]>,
    /// What the word's bits should do.
    pub expected: Option<Expected<'a>>,
    /// The loss that the part should have at its zero word, in dB, positive: from its data sheet, or another unit.
    pub zero_word_loss_db: Option<f64>,
}

/// What the word's bits should do.
#[derive(Clone, Copy, Debug)]
pub struct Expected<'a> {
    /// The layout in use.
    pub layout: &'a Layout,
    /// It was guessed from the run's own bit weights.
    pub guessed: bool,
}

impl Expected<'_> {
    /// The layout that a rightly wired part would have. A guess has taken in how the bits really are; what it should
    /// have been is the same fields with their bits in ascending order of position, none inverted.
    pub fn as_wired_straight(&self) -> Layout {
        if !self.guessed {
            return self.layout.clone();
        }
        let straight = |field: &Field| {
            let mut positions: Vec<u8> = field.bits.iter().map(|bit| bit.position).collect();
            positions.sort_unstable();
            let bits = positions.into_iter().map(|position| FieldBit { position, inverted: false }).collect();
            Field { bits, ..field.clone() }
        };
        Layout { fields: self.layout.fields.iter().map(straight).collect() }
    }
}
