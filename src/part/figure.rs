//! The figures that a specification may limit, by name and unit.

use super::{CrossRms, IntegralLine, Port, RmsVariant};
use crate::control::Quantity;
use serde::{Deserialize, Serialize};

/// What a figure is counted in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Unit {
    /// Decibels.
    Decibel,
    /// Degrees.
    Degree,
    /// Nanoseconds.
    Nanosecond,
    /// Steps of the field.
    Step,
}

impl Unit {
    /// As it is written in a table.
    pub fn name(self) -> &'static str {
        match self {
            Self::Decibel => "dB",
            Self::Degree => "deg",
            Self::Nanosecond => "ns",
            Self::Step => "steps",
        }
    }

    /// As a reader sees it beside a number or on an axis.
    pub fn sign(self) -> &'static str {
        match self {
            Self::Degree => "°",
            other => other.name(),
        }
    }

    /// The unit that a cell names, in any case.
    pub fn named(cell: &str) -> Option<Self> {
        match cell.trim().to_lowercase().as_str() {
            "db" => Some(Self::Decibel),
            "deg" | "degree" | "degrees" | "°" => Some(Self::Degree),
            "ns" => Some(Self::Nanosecond),
            "step" | "steps" | "lsb" => Some(Self::Step),
            _ => None,
        }
    }
}

/// A figure of a part that a specification may limit. Its quantity is the field's.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum Figure {
    /// −20·log10|T| of code 0, dB.
    InsertionLoss,
    /// −20·log10 of the reflection at a port, dB, worst over states.
    ReturnLoss(Port),
    /// Group delay of code 0, ns.
    GroupDelay,
    /// Errors of all codes but code 0, in the field's direction.
    StateError(Quantity),
    /// Those of the codes with a single bit set.
    BitError(Quantity),
    /// What each increment has too much.
    StepError(Quantity),
    /// The increments themselves: at least 0 means monotonic.
    Increment(Quantity),
    /// Step errors in steps.
    DifferentialNonlinearity(Quantity),
    /// Distance from a straight line in its steps.
    IntegralNonlinearity(Quantity, IntegralLine),
    /// Root mean square of the state errors.
    Rms(RmsVariant),
    /// What each code does to the other quantity: phase over the codes of a gain field, gain over those of a phase field.
    OverCodes(Quantity),
    /// The same from lowest to highest.
    OverCodesPeakToPeak(Quantity),
    /// The root mean square of the same over the codes of a field of that quantity.
    OverCodesRms(Quantity, CrossRms),
}

use Quantity::{Gain, Phase};

/// Every figure by the name that it has in a table.
const NAMES: &[(&str, Figure)] = &[
    ("insertion loss", Figure::InsertionLoss),
    ("input return loss", Figure::ReturnLoss(Port::Input)),
    ("output return loss", Figure::ReturnLoss(Port::Output)),
    ("group delay", Figure::GroupDelay),
    ("gain state error", Figure::StateError(Gain)),
    ("gain bit error", Figure::BitError(Gain)),
    ("gain step error", Figure::StepError(Gain)),
    ("gain increment", Figure::Increment(Gain)),
    ("gain differential nonlinearity", Figure::DifferentialNonlinearity(Gain)),
    ("gain integral nonlinearity from end codes", Figure::IntegralNonlinearity(Gain, IntegralLine::EndCodes)),
    (
        "gain integral nonlinearity from least squares",
        Figure::IntegralNonlinearity(Gain, IntegralLine::LeastSquares),
    ),
    ("rms gain error", Figure::Rms(RmsVariant::GainReferenceNotCounted)),
    ("rms gain error with reference counted", Figure::Rms(RmsVariant::GainFromReference)),
    ("rms gain error of voltage ratios", Figure::Rms(RmsVariant::GainLinear)),
    ("phase over gain codes", Figure::OverCodes(Gain)),
    ("phase over gain codes peak to peak", Figure::OverCodesPeakToPeak(Gain)),
    ("rms phase over gain codes", Figure::OverCodesRms(Gain, CrossRms::FromReference)),
    (
        "rms phase over gain codes with reference not counted",
        Figure::OverCodesRms(Gain, CrossRms::ReferenceNotCounted),
    ),
    ("rms phase over gain codes from mean", Figure::OverCodesRms(Gain, CrossRms::FromMean)),
    ("phase state error", Figure::StateError(Phase)),
    ("phase bit error", Figure::BitError(Phase)),
    ("phase step error", Figure::StepError(Phase)),
    ("phase increment", Figure::Increment(Phase)),
    ("phase differential nonlinearity", Figure::DifferentialNonlinearity(Phase)),
    (
        "phase integral nonlinearity from end codes",
        Figure::IntegralNonlinearity(Phase, IntegralLine::EndCodes),
    ),
    (
        "phase integral nonlinearity from least squares",
        Figure::IntegralNonlinearity(Phase, IntegralLine::LeastSquares),
    ),
    ("rms phase error", Figure::Rms(RmsVariant::PhaseMeanRemoved)),
    ("rms phase error with mean kept", Figure::Rms(RmsVariant::PhaseFromReference)),
    ("rms phase error with reference not counted", Figure::Rms(RmsVariant::PhaseReferenceNotCounted)),
    ("rms phase error as sample deviation", Figure::Rms(RmsVariant::PhaseSampleDeviation)),
    ("gain over phase codes", Figure::OverCodes(Phase)),
    ("gain over phase codes peak to peak", Figure::OverCodesPeakToPeak(Phase)),
    ("rms gain over phase codes", Figure::OverCodesRms(Phase, CrossRms::FromMean)),
    ("rms gain over phase codes from reference", Figure::OverCodesRms(Phase, CrossRms::FromReference)),
    (
        "rms gain over phase codes with reference not counted",
        Figure::OverCodesRms(Phase, CrossRms::ReferenceNotCounted),
    ),
    (
        "rms gain over phase codes from mean of voltage ratios",
        Figure::OverCodesRms(Phase, CrossRms::FromVoltageMean),
    ),
    (
        "rms gain over phase codes from mean of power ratios",
        Figure::OverCodesRms(Phase, CrossRms::FromPowerMean),
    ),
];

impl Figure {
    /// Every figure, in the order in which they are offered.
    pub fn all() -> impl Iterator<Item = Self> {
        NAMES.iter().map(|(_, figure)| *figure)
    }

    /// Its name in a table.
    pub fn name(self) -> &'static str {
        NAMES.iter().find(|(_, figure)| *figure == self).map_or("", |(name, _)| *name)
    }

    /// The figure of that name: in any case, underscores and hyphens as good as spaces, `attenuation` as good as `gain`.
    pub fn named(cell: &str) -> Option<Self> {
        let spaced = cell.to_lowercase().replace(['_', '-'], " ").replace("attenuation", "gain");
        let name = spaced.split_whitespace().collect::<Vec<_>>().join(" ");
        NAMES.iter().find(|(known, _)| *known == name).map(|(_, figure)| *figure)
    }

    /// What its field sets; `None` where any field has it.
    pub fn quantity(self) -> Option<Quantity> {
        match self {
            Self::InsertionLoss | Self::ReturnLoss(_) | Self::GroupDelay => None,
            Self::StateError(quantity)
            | Self::BitError(quantity)
            | Self::StepError(quantity)
            | Self::Increment(quantity)
            | Self::DifferentialNonlinearity(quantity)
            | Self::IntegralNonlinearity(quantity, _)
            | Self::OverCodes(quantity)
            | Self::OverCodesPeakToPeak(quantity)
            | Self::OverCodesRms(quantity, _) => Some(quantity),
            Self::Rms(variant) => Some(variant.quantity()),
        }
    }

    /// What it is counted in.
    pub fn unit(self) -> Unit {
        let own = |quantity| if quantity == Gain { Unit::Decibel } else { Unit::Degree };
        match self {
            Self::InsertionLoss | Self::ReturnLoss(_) => Unit::Decibel,
            Self::GroupDelay => Unit::Nanosecond,
            Self::StateError(quantity)
            | Self::BitError(quantity)
            | Self::StepError(quantity)
            | Self::Increment(quantity) => own(quantity),
            Self::Rms(variant) => own(variant.quantity()),
            Self::DifferentialNonlinearity(_) | Self::IntegralNonlinearity(..) => Unit::Step,
            Self::OverCodes(quantity)
            | Self::OverCodesPeakToPeak(quantity)
            | Self::OverCodesRms(quantity, _) => own(if quantity == Gain { Phase } else { Gain }),
        }
    }

    /// Whether its limit may grow with the setting, in the setting's own unit.
    pub fn has_setting(self) -> bool {
        matches!(self, Self::StateError(_) | Self::BitError(_))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_figure_has_a_name_of_its_own_and_is_found_by_it() {
        for figure in Figure::all() {
            assert_eq!(Figure::named(figure.name()), Some(figure));
            assert_eq!(Figure::named(&figure.name().to_uppercase().replace(' ', "_")), Some(figure));
            assert_eq!(Unit::named(figure.unit().name()), Some(figure.unit()));
        }
        for quantity in [Gain, Phase] {
            for variant in RmsVariant::all(quantity) {
                assert_ne!(Figure::Rms(*variant).name(), "");
                assert_eq!(variant.quantity(), quantity);
            }
            for variant in CrossRms::all(quantity) {
                assert_ne!(Figure::OverCodesRms(quantity, *variant).name(), "");
            }
        }
        assert_eq!(Figure::named(" Attenuation  state-error"), Some(Figure::StateError(Gain)));
        assert_eq!(Figure::named("state error"), None);
    }
}
