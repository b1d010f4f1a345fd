//! What the user looks at, where a plot leaves a choice.

use crate::chart::PlaneWindow;
use crate::pipeline::{Analysis, Graded, GradedField, Report};
use crate::signal::{Constellation, largest_clean};

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
    /// The part of the plane that is seen; `None`: all of it.
    pub window: Option<PlaneWindow>,
}

impl View {
    /// The field looked at, if it could be graded.
    pub fn graded<'a>(&self, report: &'a Report) -> Option<(&'a GradedField, &'a Graded)> {
        let field = report.parts.as_deref()?.fields.get(self.field)?;
        Some((field, field.graded.as_deref().ok()?))
    }

    /// The code that the state picked out has in the field looked at.
    pub fn marked(&self, report: &Report, analysis: &Analysis) -> Option<usize> {
        let (field, _) = self.graded(report)?;
        field.code_of(&analysis.model, report.intake.states.get(self.picked?)?.word)
    }

    /// The constellation looked at; `None` while none is formed.
    pub fn constellation<'a>(&self, report: &'a Report) -> Option<&'a Constellation> {
        let formed = report.signal.as_ref()?.constellations.as_ref().ok()?;
        let of_order = |order: u16| formed.iter().find(|one| one.order == order);
        let asked = self.order.and_then(of_order);
        asked.or_else(|| largest_clean(formed).and_then(of_order)).or(formed.first())
    }
}
