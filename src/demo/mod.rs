//! The made-up part: Touchstone bytes, one file at a time, to be read through the same path as dropped files.
//!
//! Nothing here was measured. A [`PartPlan`] lists the sections of a chain of switched two-ports, each worked by one
//! bit of the control word; a [`Part`] is that chain worked out over frequency, ready to write the file of any
//! word. The demo itself is one plan, [`rain_radar`]: the transmit channel of an X-band weather radar that does
//! not exist, with seven phase bits and five gain bits. [`attenuator`] and [`phase_shifter`] are smaller plans for
//! tests and samples.
//!
//! Every section is a circuit of switches, lines, filters and pads with loss and mismatch, so the chain is passive
//! and reciprocal and its sections disturb each other as real ones do: words do not land where their bits say.

mod digits;
mod noise;
mod part;
mod parts;
mod plan;
mod section;

pub use digits::{Form, Unit};
pub use noise::Noise;
pub use part::Part;
pub use parts::{attenuator, phase_shifter, rain_radar};
pub use plan::{Bypass, Joint, PartPlan, Path, PlanError, Section, Sweep, Switch, Trap};

use crate::control::{Layout, Word};

/// What the page calls the demo's source, where a dropped folder has its name.
pub const SOURCE_NAME: &str = "Made-up weather radar channel";

/// How many words the demo has.
pub fn word_count() -> usize {
    layout().word_count()
}

/// The demo's own layout. For tests: the page has to find it from the states, as with any other run.
pub fn layout() -> Layout {
    rain_radar().layout
}

/// The name of a word's file, such as `rain_tx_0x3A7.s2p`.
pub fn file_name(word: Word) -> String {
    rain_radar().file_name(word)
}

/// The demo's part, ready to write any of its files. Make it once for a run: it is most of the work of a file.
pub fn part() -> Part {
    Part::of(rain_radar())
}

/// One file of the demo. For more than a few, keep a [`part`] and use [`Part::file`].
pub fn file(word: Word) -> Vec<u8> {
    part().file(word)
}
