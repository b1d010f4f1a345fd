//! What the user looks at, where a plot leaves a choice.

use super::traces::Trace;
use crate::chart::PlaneWindow;
use crate::control::{Setting, Word};
use crate::pipeline::{Analysis, Graded, GradedField, Report};
use crate::sheet::picked::target_of;
use crate::signal::{Constellation, largest_clean};
use std::rc::Rc;

/// The choices; as long as nobody has chosen, those of the default.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct View {
    /// Which of the graded fields, from 0.
    pub field: usize,
    /// The name of the figure that is drawn against frequency; empty: as suits the field.
    pub figure: String,
    /// The points of the constellation; `None`: those of the largest clean one, else of the smallest.
    pub order: Option<u16>,
    /// The state picked out, as its position among the run's.
    pub picked: Option<usize>,
    /// The state under the pointer, as its position among the run's.
    pub pointed: Option<usize>,
    /// The trace of the state picked out, where it is known.
    pub trace: Option<Rc<Trace>>,
    /// The part of the plane that is seen; `None`: all of it.
    pub window: Option<PlaneWindow>,
}

/// The field looked at.
#[derive(Clone, Copy, Debug)]
pub struct FieldInView<'a> {
    /// The field.
    pub field: &'a GradedField,
    /// Its errors.
    pub graded: &'a Graded,
    /// The code that the state picked out has in it.
    pub marked: Option<usize>,
}

impl View {
    /// The field looked at, if it could be graded.
    pub fn graded<'a>(&self, report: &'a Report) -> Option<(&'a GradedField, &'a Graded)> {
        let field = report.parts.as_deref()?.fields.get(self.field)?;
        Some((field, field.graded.as_deref().ok()?))
    }

    /// The same with the code that the state picked out has in it.
    pub fn field<'a>(&self, report: &'a Report, analysis: &Analysis) -> Option<FieldInView<'a>> {
        let (field, graded) = self.graded(report)?;
        let marked = self.word(report).and_then(|word| field.code_of(&analysis.model, word));
        Some(FieldInView { field, graded, marked })
    }

    /// The word of the state picked out.
    pub fn word(&self, report: &Report) -> Option<Word> {
        report.intake.states.get(self.picked?).map(|state| state.word)
    }

    /// The setting that the state picked out serves at the chosen frequency.
    pub fn setting(&self, report: &Report, analysis: &Analysis) -> Option<Setting> {
        let target = target_of(report, analysis, self.picked?)?;
        Some(analysis.targets[target].setting)
    }

    /// The same beside its trace, where that is known.
    pub fn served(&self, report: &Report, analysis: &Analysis) -> Option<(&Trace, Setting)> {
        let trace = self.trace.as_deref()?;
        Some((trace, self.setting(report, analysis)?))
    }

    /// The constellation looked at; `None` while none is formed.
    pub fn constellation<'a>(&self, report: &'a Report) -> Option<&'a Constellation> {
        let formed = report.signal.as_ref()?.constellations.as_ref().ok()?;
        let of_order = |order: u16| formed.iter().find(|one| one.order == order);
        let asked = self.order.and_then(of_order);
        asked.or_else(|| largest_clean(formed).and_then(of_order)).or(formed.first())
    }
}
