//! Grading of fields at a worker: each frequency where it lies, reflections where the files are. And what comes of it.

use super::protocol::Parameters;
use crate::control::{ControlModel, Quantity, Word};
use crate::part::{FieldAt, FieldSlice, Judgement, Measured, SliceError, WorstReflections};
use crate::plane::StateIndex;
use num_complex::{Complex32, Complex64};
use std::sync::Arc;

/// The fields of a run, graded.
#[derive(Clone, Debug, PartialEq)]
pub struct Parts {
    /// One for each field of the layout, in its order; for listed settings one for each quantity that they set.
    pub fields: Vec<GradedField>,
    /// The noise of the real and of the imaginary part of the transmission at each frequency, linear; `None` until the
    /// run's checks are complete, and where the grid is too short to tell.
    pub sigma: Option<Arc<[f64]>>,
    /// Whether the rows of the specification are judged: they are once the run's checks have told the noise.
    pub is_judged: bool,
}

/// One field.
#[derive(Clone, Debug, PartialEq)]
pub struct GradedField {
    /// Its number in the layout, from 0; `None` for listed settings.
    pub field: Option<usize>,
    /// What it sets.
    pub quantity: Quantity,
    /// Its errors, or why there are none.
    pub graded: Result<Arc<Graded>, SliceError>,
    /// What became of each row of the specification; `None` where the row is not about this field. Empty until rows are
    /// judged.
    pub judgements: Vec<Option<Judgement>>,
}

impl GradedField {
    /// The code that a word has in this field, whatever its other fields are; of listed settings that of its own quantity.
    pub fn code_of(&self, model: &ControlModel, word: Word) -> Option<usize> {
        let slice = &self.graded.as_deref().ok()?.slice;
        match (model.layout(), self.field) {
            (Some(layout), Some(field)) => usize::try_from(layout.fields.get(field)?.code(word)).ok(),
            _ => slice.code_at(model.nominal(word)?),
        }
    }
}

/// A field at every frequency.
#[derive(Clone, Debug, PartialEq)]
pub struct Graded {
    /// Which words are its codes.
    pub slice: FieldSlice,
    /// The field at each frequency of the run.
    pub at: Vec<FieldAt>,
    /// The worst reflections among its codes.
    pub reflections: Option<WorstReflections>,
    /// The words of the codes that are missing, code 0 first.
    pub missing: Vec<Word>,
}

impl Graded {
    /// All that figures are taken from, on the run's grid.
    pub fn measured<'a>(&'a self, frequency_hz: &'a [f64], sigma: Option<&'a [f64]>) -> Measured<'a> {
        Measured {
            slice: &self.slice,
            frequency_hz,
            at: &self.at,
            sigma,
            reflections: self.reflections.as_ref(),
        }
    }
}

/// Grades a field at some frequencies, each given by the transmission of all states, whose words ascend.
pub fn grade<'a>(
    slice: &FieldSlice,
    words: &[Word],
    transmissions: impl Iterator<Item = &'a [Complex64]>,
) -> Result<Vec<FieldAt>, SliceError> {
    let states = slice.states(&StateIndex::new(words))?;
    Ok(transmissions.map(|all| FieldAt::of(slice, &FieldSlice::pick(&states, all))).collect())
}

/// The worst reflections of some states; `None` of none.
pub fn worst_reflections<'a>(
    states: impl Iterator<Item = (Word, &'a Parameters)>,
) -> Option<WorstReflections> {
    let of_state = |(word, parameters): (Word, &Parameters)| {
        // What was not measured is kept as zero.
        let was_measured = parameters.s22.iter().any(|s| *s != Complex32::default());
        WorstReflections::of_state(word, &parameters.s11, was_measured.then_some(&parameters.s22[..]))
    };
    states.map(of_state).reduce(|mut worst, other| {
        worst.merge(&other);
        worst
    })
}
