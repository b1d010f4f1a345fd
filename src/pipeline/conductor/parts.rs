//! The grading of the run's fields, which follows the report: each field over frequency where the frequencies lie, then,
//! when the checks have told the noise, each row of the specification.

use super::{Conductor, Expected};
use crate::control::{ControlModel, Layout, Quantity, Word};
use crate::part::{FieldAt, FieldSlice, SliceError, WorstReflections};
use crate::pipeline::grading::{Graded, GradedField, Parts};
use crate::pipeline::protocol::Request;
use crate::plane::StateIndex;
use std::collections::HashSet;
use std::ops::Range;
use std::sync::Arc;

/// How far the grading is.
#[derive(Default)]
pub(super) struct Grading(Vec<UnderWay>);

/// A field on its way.
struct UnderWay {
    field: Field,
    /// By grid index.
    at: Vec<Option<FieldAt>>,
    reflections: Option<WorstReflections>,
    /// All of it, once it is complete.
    graded: Option<Arc<Graded>>,
}

/// A field to be graded.
#[derive(PartialEq)]
struct Field {
    number: Option<usize>,
    quantity: Quantity,
    slice: Result<FieldSlice, SliceError>,
    missing: Vec<Word>,
}

impl Grading {
    /// Other states, or another grid: nothing holds any more.
    pub(super) fn begin(&mut self) {
        self.0.clear();
    }

    pub(super) fn take(&mut self, field: usize, range: Range<usize>, graded: Vec<FieldAt>) {
        if let Some(under_way) = self.0.get_mut(field) {
            for (index, at) in range.zip(graded) {
                under_way.at[index] = Some(at);
            }
        }
    }

    pub(super) fn take_reflections(&mut self, field: usize, worst: Option<WorstReflections>) {
        let Some((under_way, worst)) = self.0.get_mut(field).zip(worst) else { return };
        match &mut under_way.reflections {
            Some(reflections) => reflections.merge(&worst),
            none => *none = Some(worst),
        }
    }

    /// Puts together what is complete.
    fn finish(&mut self) {
        for under_way in self.0.iter_mut().filter(|under_way| under_way.graded.is_none()) {
            let Ok(slice) = &under_way.field.slice else { continue };
            if under_way.at.iter().all(Option::is_some) {
                under_way.graded = Some(Arc::new(Graded {
                    slice: slice.clone(),
                    at: std::mem::take(&mut under_way.at).into_iter().flatten().collect(),
                    reflections: under_way.reflections.take(),
                    missing: under_way.field.missing.clone(),
                }));
            }
        }
    }

    /// Whether all of these fields are graded, and no others.
    fn has(&self, fields: &[Field]) -> bool {
        self.0.len() == fields.len()
            && self.0.iter().zip(fields).all(|(under_way, field)| {
                under_way.field == *field && (under_way.graded.is_some() || field.slice.is_err())
            })
    }
}

impl Conductor {
    /// Asks for every field at every frequency, and for the reflections of its codes, unless they are there already.
    pub(super) fn grade(&mut self) {
        let fields = self.fields();
        if self.grading.has(&fields) {
            return;
        }
        let points = self.scores.len();
        let begun = |field| UnderWay { field, at: vec![None; points], reflections: None, graded: None };
        self.grading.0 = fields.into_iter().map(begun).collect();
        let slices: Vec<(usize, FieldSlice)> = self
            .grading
            .0
            .iter()
            .enumerate()
            .filter_map(|(field, under_way)| Some((field, under_way.field.slice.clone().ok()?)))
            .collect();
        self.for_owners(|_, range| {
            let one = |(field, slice): &(usize, FieldSlice)| {
                let request = Request::Grade { slice: Box::new(slice.clone()), range: range.clone() };
                (request, Expected::Graded { field: *field, range: range.clone() })
            };
            slices.iter().map(one).collect()
        });
        let Some(intake) = &self.intake else { return };
        for (field, slice) in slices {
            let words: HashSet<Word> = slice.words.into_iter().collect();
            let states = || intake.states.iter().filter(|state| words.contains(&state.word));
            for (worker, queue) in self.queues.iter_mut().enumerate() {
                let held = states().filter(|state| self.reading.was_read_by(state.file, worker));
                let states: Vec<(usize, Word)> = held.map(|state| (state.file, state.word)).collect();
                if !states.is_empty() {
                    queue.push_back((Request::WorstReflections(states), Expected::WorstReflections(field)));
                }
            }
        }
    }

    /// Enters what is graded into the report; `is_judged` says that the checks have told the noise.
    pub(super) fn publish_parts(&mut self, is_judged: bool) {
        self.grading.finish();
        let parts = self.parts(is_judged).map(Arc::new);
        self.revision += 1;
        if let Some(report) = self.report.as_mut().map(Arc::make_mut) {
            report.parts = parts;
        }
    }

    fn parts(&self, is_judged: bool) -> Option<Parts> {
        if !self.grading.has(&self.fields()) || self.report.as_ref()?.analysis.is_err() {
            return None;
        }
        let grid = &self.intake.as_ref()?.frequency_hz;
        let sigma: Option<Arc<[f64]>> = self.checking.noise_at().filter(|_| is_judged).map(Arc::from);
        let fields = self.grading.0.iter().map(|UnderWay { field, graded, .. }| {
            let graded = match &field.slice {
                Ok(_) => Ok(graded.clone()?),
                Err(error) => Err(error.clone()),
            };
            let judgements = match &graded {
                Ok(graded) if is_judged => {
                    let measured = graded.measured(grid, sigma.as_deref());
                    self.settings.specification.iter().map(|row| measured.judge(row)).collect()
                }
                _ => Vec::new(),
            };
            Some(GradedField { field: field.number, quantity: field.quantity, graded, judgements })
        });
        let fields = fields.collect::<Option<_>>()?;
        Some(Parts { fields, sigma, is_judged })
    }

    /// The fields that there are to grade; none without an analysis.
    fn fields(&self) -> Vec<Field> {
        let is_analysed = self.report.as_ref().is_some_and(|report| report.analysis.is_ok());
        let Some(((plan, _), intake)) = self.plan.as_ref().zip(self.intake.as_ref()).filter(|_| is_analysed)
        else {
            return Vec::new();
        };
        let index = StateIndex::new(&intake.words());
        let field = |(number, quantity, slice): (Option<usize>, Quantity, Result<FieldSlice, SliceError>)| {
            let slice = slice.and_then(|slice| slice.states(&index).map(|_| slice));
            let missing = slice.as_ref().map_or_else(|_| Vec::new(), |slice| slice.missing(&index));
            Field { number, quantity, slice, missing }
        };
        match &plan.model {
            ControlModel::Bits(layout) => self.slices(layout).map(field).collect(),
            model @ ControlModel::Listed(_) => {
                let of = |quantity| (None, quantity, FieldSlice::of_settings(model, quantity, 0.0));
                [Quantity::Gain, Quantity::Phase]
                    .map(of)
                    .into_iter()
                    // What no setting changes is no field.
                    .filter(|(.., slice)| !matches!(slice, Err(SliceError::NothingSwept)))
                    .map(field)
                    .collect()
            }
        }
    }

    fn slices(
        &self,
        layout: &Layout,
    ) -> impl Iterator<Item = (Option<usize>, Quantity, Result<FieldSlice, SliceError>)> {
        layout.fields.iter().enumerate().map(|(number, field)| {
            let slice = FieldSlice::of(layout, number, &self.settings.held_codes);
            (Some(number), field.quantity, slice)
        })
    }
}
