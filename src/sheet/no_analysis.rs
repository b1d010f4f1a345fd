//! Why nothing can be said of a run beyond what came in, as a sentence with what to do about it.

use super::provenance::reference_name;
use super::wording::{as_sentence, clipped, counted};
use crate::pipeline::NoAnalysis;
use crate::plane::ReferencePolicy;

/// What happened and what to do.
pub fn no_analysis_sentence(reason: &NoAnalysis) -> String {
    match reason {
        NoAnalysis::NoStates => {
            "No file became a state, so there is nothing to analyse. Drop the folder that \
                                 holds one two-port S-parameter file per control word."
                .to_owned()
        }
        NoAnalysis::OneState => "Only one state came in, and there is nothing to compare it with. Drop the \
                                 folder with all states, not a single file."
            .to_owned(),
        NoAnalysis::NoLayout(detail) => format!(
            "The layout of the control word could not be told from the measurements. {} Enter it: which bits set \
             gain or phase, the step of each field and its direction.",
            as_sentence(&clipped(detail, 400))
        ),
        NoAnalysis::LayoutTooSmall { layout_bits, word_bits } => format!(
            "The layout has {}, but the words need {word_bits}. Add the missing bits to the layout, or check how \
             the file names were read.",
            counted(*layout_bits, "bit", "bits")
        ),
        NoAnalysis::NoTargets => {
            "No nominal setting is left in the wanted gain range. Widen the range, or want every \
                                  setting again."
                .to_owned()
        }
        NoAnalysis::NoReference(policy) => format!(
            "The reference “{}” needs {}, which did not come in. Measure it, or choose another reference.",
            reference_name(*policy),
            match policy {
                ReferencePolicy::ZeroWord => "the word of zero nominal gain and phase",
                ReferencePolicy::RingMedian
                | ReferencePolicy::RingMedianEachFrequency
                | ReferencePolicy::BestFitEachFrequency
                | ReferencePolicy::BestFitOneTurn => "a word of zero nominal gain",
                ReferencePolicy::FullRing => "the zero word and the words of zero nominal gain",
                ReferencePolicy::Word(_) => "the word that it names",
            }
        ),
    }
}
