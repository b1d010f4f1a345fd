//! How fine the run reaches: with the chosen frequency what is asked there, after the checks the clean bits at every
//! frequency, which complete the report and are counted again only where what they rest on has changed.

use super::asking::slices;
use super::{Conductor, Expected};
use crate::control::ControlModel;
use crate::pipeline::protocol::Reference;
use crate::pipeline::protocol::Request;
use crate::pipeline::reaching::{Reach, ReachAt};
use crate::pipeline::report::Report;
use crate::reach::CleanBits;
use std::ops::Range;
use std::sync::Arc;

/// What is known of how fine the run reaches.
#[derive(Default)]
pub(super) struct Reaching {
    here: Option<ReachAt>,
    /// What the clean bits were counted under.
    under: Option<(ControlModel, Reference)>,
    /// The frequencies counted, by grid index.
    counted: Vec<bool>,
    clean_bits: Vec<Option<CleanBits>>,
}

impl Reaching {
    pub(super) fn take_here(&mut self, here: ReachAt) {
        self.here = Some(here);
    }

    pub(super) fn take_clean_bits(&mut self, range: Range<usize>, bits: Vec<Option<CleanBits>>) {
        for (index, bits) in range.zip(bits) {
            self.counted[index] = true;
            self.clean_bits[index] = bits;
        }
    }

    fn has_map(&self) -> bool {
        self.here.as_ref().is_some_and(|here| here.resolution.is_ok())
    }

    /// All clean bits, where every frequency was counted under this model and reference.
    fn clean_bits_under(&self, under: &(ControlModel, Reference)) -> Option<Vec<Option<CleanBits>>> {
        let stands = self.has_map() && self.under.as_ref() == Some(under);
        (stands && self.counted.iter().all(|counted| *counted)).then(|| self.clean_bits.clone())
    }
}

impl Conductor {
    fn reaches_under(&self) -> Option<(ControlModel, Reference)> {
        let (plan, _) = self.plan.as_ref()?;
        Some((plan.model.clone(), plan.reference.clone()))
    }

    /// What is known so far of a run that was analysed.
    pub(super) fn reach(&self) -> Reach {
        let under = self.reaches_under();
        Reach {
            here: self.reaching.here.clone(),
            clean_bits: under.and_then(|under| self.reaching.clean_bits_under(&under)),
        }
    }

    /// Asks for the clean bits at the frequencies that were not counted yet.
    pub(super) fn resolve(&mut self) {
        self.publish_checks();
        let analysed = self.report.as_ref().is_some_and(|report| report.analysis.is_ok());
        let Some(under) = self.reaches_under().filter(|_| analysed && self.reaching.has_map()) else {
            return;
        };
        if self.reaching.under.as_ref() != Some(&under) {
            let points = self.scores.len();
            self.reaching.under = Some(under);
            self.reaching.counted = vec![false; points];
            self.reaching.clean_bits = vec![None; points];
        }
        let counted = self.reaching.counted.clone();
        self.for_owners(|_, range| {
            slices(range)
                .filter(|part| part.clone().any(|index| !counted[index]))
                .map(|part| (Request::CleanBits(part.clone()), Expected::CleanBits(part)))
                .collect()
        });
    }

    pub(super) fn publish_reach(&mut self) {
        let reach = self.reach();
        let differs = |report: &&mut Arc<Report>| report.analysis.is_ok() && report.reach != reach;
        if let Some(report) = self.report.as_mut().filter(differs).map(Arc::make_mut) {
            report.reach = reach;
            self.revision += 1;
        }
    }
}
