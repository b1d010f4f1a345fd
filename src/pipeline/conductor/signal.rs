//! The constellations at the chosen frequency: formed late, and only once the frequency has come to rest, since they take
//! longer than a picture of a moving frequency may. After them the largest clean one over the grid, at some frequencies
//! first and in the end at all of them; it is looked for again only under another model.

use super::{Conductor, Expected};
use crate::control::ControlModel;
use crate::pipeline::protocol::Request;
use crate::pipeline::report::Report;
use crate::pipeline::signalling::{LargestClean, SignalAt, frequencies_looked_at_first};
use crate::signal::NoConstellation;
use std::collections::BTreeMap;
use std::sync::Arc;

/// What is known of the signal at the chosen frequency.
#[derive(Default)]
pub(super) struct Signals {
    here: Option<SignalAt>,
    /// Settings were changed, and it was not yet told that they have come to rest.
    moving: bool,
    /// What the largest clean constellations were looked for under.
    under: Option<ControlModel>,
    /// The highest clean order at the frequencies looked at so far, by grid index.
    found: BTreeMap<usize, Option<u16>>,
}

impl Signals {
    pub(super) fn take(&mut self, here: SignalAt) {
        self.here = Some(here);
    }

    pub(super) fn take_largest_clean(&mut self, indices: Vec<usize>, orders: Vec<Option<u16>>) {
        self.found.extend(indices.into_iter().zip(orders));
    }

    /// Other states.
    pub(super) fn forget(&mut self) {
        *self = Self { moving: self.moving, ..Self::default() };
    }

    /// Something that the constellations rest on changes.
    pub(super) fn disturb(&mut self) {
        self.here = None;
        self.moving = true;
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
        self.publish_reach();
        let chosen = self.report.as_ref().and_then(|report| report.analysis.as_ref().ok());
        let Some(index) = chosen.map(|analysis| analysis.service.index) else { return };
        if let Some(owner) = self.owner_of(index).filter(|_| self.signals.here.is_none()) {
            self.queues[owner].push_back((Request::SignalAt { index }, Expected::Signal));
        }
    }

    pub(super) fn publish_signal(&mut self) {
        let here = &self.signals.here;
        let differs = |report: &&mut Arc<Report>| report.analysis.is_ok() && report.signal != *here;
        if let Some(report) = self.report.as_mut().filter(differs).map(Arc::make_mut) {
            report.signal.clone_from(here);
            self.revision += 1;
        }
    }

    /// Looks for the largest clean constellation where it was not looked for yet, one frequency at a time.
    pub(super) fn survey(&mut self, frequencies: &[usize]) {
        let Some(report) = self.report.as_mut().filter(|report| report.analysis.is_ok()).map(Arc::make_mut)
        else {
            return;
        };
        let can_be_formed = report
            .signal
            .as_ref()
            .is_some_and(|signal| matches!(signal.constellations, Ok(_) | Err(NoConstellation::NoGain)));
        if !can_be_formed {
            return;
        }
        let model = self.plan.as_ref().map(|(plan, _)| plan.model.clone());
        if self.signals.under != model {
            self.signals.under = model;
            self.signals.found.clear();
        }
        for &index in frequencies {
            let owner = self.owner_of(index).filter(|_| !self.signals.found.contains_key(&index));
            if let Some(owner) = owner {
                let request = (Request::LargestClean(vec![index]), Expected::LargestClean(vec![index]));
                self.queues[owner].push_back(request);
            }
        }
    }

    /// The largest clean constellations under the model in use: at every frequency, or at those looked at first while
    /// the others are not all known.
    pub(super) fn largest_clean(&self) -> Option<LargestClean> {
        let model = self.plan.as_ref().map(|(plan, _)| &plan.model)?;
        if self.signals.under.as_ref() != Some(model) {
            return None;
        }
        let points = self.scores.len();
        let at = |looked_at: Vec<usize>| {
            let orders = looked_at.iter().map(|index| self.signals.found.get(index).copied());
            let orders: Vec<Option<u16>> = orders.collect::<Option<_>>()?;
            (!orders.is_empty()).then_some(LargestClean { looked_at, orders })
        };
        at((0..points).collect()).or_else(|| at(frequencies_looked_at_first(points)))
    }

    pub(super) fn publish_survey(&mut self) {
        let largest_clean = self.largest_clean();
        let differs =
            |report: &&mut Arc<Report>| report.analysis.is_ok() && report.largest_clean != largest_clean;
        if let Some(report) = self.report.as_mut().filter(differs).map(Arc::make_mut) {
            report.largest_clean = largest_clean;
            self.revision += 1;
        }
    }
}
