//! Tables that come beside a run and belong to its settings.

use super::settings::{Settings, Typical};
use crate::control::Quantity;
use crate::part::{
    Figure, RmsVariant, TableKind, TypicalCurve, Unit, read_specification, read_typical_curve,
};

impl Settings {
    /// Takes a specification or a typical curve in place of the one before; `None` where the text's header is neither's.
    /// A table that cannot be read changes nothing, and the error is a sentence.
    pub fn take_table(&mut self, text: &str) -> Option<Result<TableKind, String>> {
        let kind = TableKind::of(text)?;
        let mut taken = self.clone();
        let read = match kind {
            TableKind::Specification => read_specification(text).map(|rows| taken.specification = rows),
            TableKind::TypicalCurve => read_typical_curve(text).map(|curve| {
                let figure = self.figure_of(&curve);
                taken.typical = Some(Typical { figure, curve });
            }),
        };
        let checked =
            read.map_err(|error| error.to_string()).and_then(|()| taken.check().map_err(|e| e.to_string()));
        Some(checked.map(|()| {
            *self = taken;
            kind
        }))
    }

    /// What a curve is taken to be typical of, which the user may change: what the one before was, where the unit allows,
    /// else what data sheets mostly show in that unit.
    fn figure_of(&self, curve: &TypicalCurve) -> Figure {
        let before = self.typical.as_ref().map(|typical| typical.figure);
        let fits = |figure: &Figure| curve.unit.is_none_or(|unit| unit == figure.unit());
        before.filter(fits).unwrap_or(match curve.unit {
            None | Some(Unit::Decibel) => Figure::InsertionLoss,
            Some(Unit::Degree) => Figure::Rms(RmsVariant::PhaseMeanRemoved),
            Some(Unit::Nanosecond) => Figure::GroupDelay,
            Some(Unit::Step) => Figure::DifferentialNonlinearity(Quantity::Gain),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tables_find_their_place_and_others_are_left_alone() {
        let mut settings = Settings::default();
        assert_eq!(settings.take_table("file,word\na.s2p,0\n"), None);
        let specification = "figure,at_most\nrms phase error,3\n";
        assert_eq!(settings.take_table(specification), Some(Ok(TableKind::Specification)));
        assert_eq!(settings.specification.len(), 1);
        assert_eq!(
            settings.take_table("frequency_ghz,value,unit\n8,2.1,deg\n"),
            Some(Ok(TableKind::TypicalCurve))
        );
        let figure = |settings: &Settings| settings.typical.as_ref().map(|typical| typical.figure);
        assert_eq!(figure(&settings), Some(Figure::Rms(RmsVariant::PhaseMeanRemoved)));
        // One that says no unit stays with what the one before was typical of.
        assert_eq!(settings.take_table("frequency_ghz,value\n8,2.2\n"), Some(Ok(TableKind::TypicalCurve)));
        assert_eq!(figure(&settings), Some(Figure::Rms(RmsVariant::PhaseMeanRemoved)));
        assert_eq!(
            settings.take_table("frequency_ghz,value,unit\n8,3,dB\n"),
            Some(Ok(TableKind::TypicalCurve))
        );
        assert_eq!(figure(&settings), Some(Figure::InsertionLoss));
    }

    #[test]
    fn what_cannot_be_read_changes_nothing() {
        let mut settings = Settings::default();
        assert_eq!(settings.take_table("figure,at_most\nloss,3\n").map(|taken| taken.is_err()), Some(true));
        assert_eq!(settings, Settings::default());
    }
}
