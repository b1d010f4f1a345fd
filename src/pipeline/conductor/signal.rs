//! The constellations at the chosen frequency: formed last, and only once the frequency has come to rest, since they take
//! longer than a picture of a moving frequency may.

use super::{Conductor, Expected};
use crate::pipeline::protocol::Request;
use crate::pipeline::signalling::SignalAt;

/// What is known of the signal at the chosen frequency.
#[derive(Default)]
pub(super) struct Signals {
    here: Option<SignalAt>,
    /// Settings were changed, and it was not yet told that they have come to rest.
    moving: bool,
}

impl Signals {
    pub(super) fn take(&mut self, here: SignalAt) {
        self.here = Some(here);
    }

    /// Other states.
    pub(super) fn forget(&mut self) {
        self.here = None;
    }

    /// Something that the constellations rest on changes.
    pub(super) fn disturb(&mut self) {
        *self = Self { here: None, moving: true };
    }
}

impl Conductor {
    /// Whether all that is left waits for the settings to come to rest.
    pub fn wants_rest(&self) -> bool {
        self.signals.moving && self.stage == crate::pipeline::Stage::Resolving && self.outstanding.is_empty()
    }

    /// Tells that the settings, the chosen frequency among them, have come to rest.
    pub fn rest(&mut self) {
        self.signals.moving = false;
        self.advance_if_idle();
    }

    pub(super) fn modulate(&mut self) {
        let chosen = self.report.as_ref().and_then(|report| report.analysis.as_ref().ok());
        let Some(index) = chosen.map(|analysis| analysis.service.index) else { return };
        if let Some(owner) = self.owner_of(index).filter(|_| self.signals.here.is_none()) {
            self.queues[owner].push_back((Request::SignalAt { index }, Expected::Signal));
        }
    }

    pub(super) fn publish_signal(&mut self) {
        let here = self.signals.here.clone();
        self.revision += 1;
        if let Some(report) = self.report.as_mut().filter(|report| report.analysis.is_ok()) {
            report.signal = here;
        }
    }
}
