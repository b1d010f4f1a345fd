//! How the words chosen at the chosen frequency, and for the design band, do on captures that did not choose them, where the run
//! has such.

use super::Conductor;
use super::bands::Basis;
use crate::pipeline::tables::TableForBand;
use crate::plane::{PreparedTargets, StateIndex};
use crate::table::{BandOnSecondCapture, OnSecondCapture, band_on_second_capture, chosen_on_second_capture};
use num_complex::Complex64;

impl Conductor {
    /// Both captures are held against one reference, that of the run's states: a drift between them counts too, as it would
    /// in use.
    pub(super) fn on_second_capture(&self) -> Option<OnSecondCapture> {
        let (intake, service, (plan, _)) =
            (self.intake.as_ref()?, self.service.as_ref()?, self.plan.as_ref()?);
        let again = self.checking.second_captures(&intake.states);
        if again.is_empty() {
            return None;
        }
        let scale = service.reference.inv();
        let own: Vec<Complex64> = service.transmission.iter().map(|state| state * scale).collect();
        let other =
            intake.states.iter().map(|state| Some(again.get(&state.word)?.get(service.index)? * scale));
        let other: Vec<Option<Complex64>> = other.collect();
        let chosen = service.chosen.iter().map(|served| u32::try_from(served.state).ok());
        let chosen: Vec<u32> = chosen.collect::<Option<_>>()?;
        let targets = PreparedTargets::new(plan.model.targets(), &StateIndex::new(&intake.words()));
        chosen_on_second_capture(&targets, &chosen, &own, &other, &plan.tolerance)
    }
    /// The same for the one table for the design band.
    pub(super) fn band_on_second_capture(
        &self,
        one: &TableForBand,
        basis: &Basis,
    ) -> Option<BandOnSecondCapture> {
        let intake = self.intake.as_ref()?;
        let again = self.checking.second_captures(&intake.states);
        if again.is_empty() {
            return None;
        }
        let targets = self.prepared_targets(basis)?;
        let references: Vec<Complex64> = one
            .band
            .clone()
            .map(|index| Some(self.scores.get(index)?.as_ref()?.reference))
            .collect::<Option<_>>()?;
        let along = |state: usize| {
            let there = again.get(&intake.states[state].word)?.get(one.band.clone())?;
            Some(there.iter().zip(&references).map(|(there, reference)| there / reference).collect())
        };
        band_on_second_capture(&targets, &one.table, one.error, along)
    }
}
