//! The technical terms of the page, each explained in one line.

mod marking;

pub use marking::{Piece, differ_in_numbers_alone, pieces};

/// One term.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Term {
    /// Name in the markup: `vector-error`.
    pub key: &'static str,
    /// As it is listed.
    pub name: &'static str,
    /// What it means, in one sentence.
    pub meaning: &'static str,
    /// How it is written in texts, in any case.
    pub written: &'static [&'static str],
    /// The questions, by key, in which it has this meaning; empty for all of them.
    pub questions: &'static [&'static str],
}

const fn term(
    key: &'static str,
    name: &'static str,
    written: &'static [&'static str],
    meaning: &'static str,
) -> Term {
    Term { key, name, meaning, written, questions: &[] }
}

const fn term_in(
    questions: &'static [&'static str],
    key: &'static str,
    name: &'static str,
    written: &'static [&'static str],
    meaning: &'static str,
) -> Term {
    Term { key, name, meaning, written, questions }
}

/// Every term, by name.
pub const GLOSSARY: [Term; 52] = [
    term(
        "best-fit",
        "best fit",
        &["best fit"],
        "As reference: what makes the RMS relative vector error of the chosen words smallest, for the band or at each frequency.",
    ),
    term("bit-error", "bit error", &["bit error"], "The state error of a code in which a single bit is set."),
    term(
        "bit-weight",
        "bit weight",
        &["bit weights", "bit weight", "weight of a bit", "what each bit does"],
        "How much setting one bit changes gain and phase, taken over all pairs of words that differ in that bit alone.",
    ),
    term(
        "chosen-words",
        "chosen words",
        &["chosen words", "chosen word"],
        "For each wanted setting, the word whose measured state suits it best, anew at each frequency: the nearest, unless another rule is picked.",
    ),
    term_in(
        &["reach"],
        "clean-bits",
        "clean bits",
        &["cleanly", "clean bits", "clean"],
        "So many bits of gain and phase are clean when every setting that they would make has a state within half a step.",
    ),
    term_in(
        &["use"],
        "clean-constellation",
        "clean constellation",
        &["cleanly", "clean"],
        "No two points share a state, and each state lies nearer to its own point than to any other.",
    ),
    term(
        "constellation",
        "constellation",
        &["square constellation", "constellation", "constellations"],
        "The points in the gain-phase plane that a digital modulation sends; a square one has them on a square grid.",
    ),
    term(
        "control-word",
        "control word",
        &["control words", "control word"],
        "The number that the controller sends to the part; bit 0 is the least significant.",
    ),
    term(
        "db",
        "dB",
        &["dB"],
        "Decibel: twenty times the decimal logarithm of a ratio of magnitudes; 6 dB is about a factor of two.",
    ),
    term(
        "design-band",
        "design band",
        &["design band"],
        "The frequencies that the part is meant for: errors are summed up over them, and their middle is the centre.",
    ),
    term(
        "differential-nonlinearity",
        "differential nonlinearity",
        &["differential nonlinearity"],
        "By how much a step from one code to the next differs from the nominal step, counted in steps.",
    ),
    term(
        "effective-bits",
        "effective bits",
        &["effective bits", "as finely as an ideal part"],
        "The number of bits of an ideal, evenly stepped part that would come as near to any wanted setting.",
    ),
    term(
        "evm",
        "EVM",
        &["EVM", "error vector magnitude"],
        "Error vector magnitude: how far the sent points lie from the wanted ones, root mean square, in percent of the wanted points' own.",
    ),
    term(
        "field",
        "field",
        &["phase field", "gain field", "each field", "no field"],
        "The bits of the control word that together set one thing, the gain or the phase.",
    ),
    term(
        "full-ring",
        "full ring",
        &["full ring"],
        "As reference: the phase of the zero word and the smallest gain among the words of zero nominal gain, which every phase reaches.",
    ),
    term(
        "gain-ceiling",
        "gain ceiling",
        &["gain ceiling"],
        "The most gain that any word of an exported table may have, so that nothing behind the part is overdriven.",
    ),
    term(
        "gain-given-up",
        "gain given up",
        &["gain given up", "gives up no gain", "gives up"],
        "How far the reference lies below the zero word's own gain: what it costs to be able to reach every phase at 0 dB.",
    ),
    term(
        "gray-code",
        "Gray code",
        &["Gray-code order", "Gray code"],
        "An order of all words in which each differs from the one before in a single bit.",
    ),
    term(
        "group-delay",
        "group delay",
        &["group delay"],
        "How long a narrow signal takes through the part: how fast its phase falls with frequency.",
    ),
    term(
        "held-words",
        "held words",
        &["held words", "held from"],
        "The words chosen at the chosen frequency, kept at every other one: what a single table does over a band.",
    ),
    term(
        "hole",
        "hole",
        &["settings in holes", "in holes", "in a hole", "lies in a hole"],
        "A wanted setting whose nearest state is farther away than the corner of its tolerance cell; no table can serve it.",
    ),
    term(
        "insertion-loss",
        "insertion loss",
        &["insertion loss"],
        "How much weaker a signal is for having passed the part at code 0, in decibels; positive for a loss.",
    ),
    term(
        "integral-nonlinearity",
        "integral nonlinearity",
        &["integral nonlinearity"],
        "How far a code lies from a straight line through all codes, counted in steps.",
    ),
    term(
        "ladder",
        "ladder",
        &["what each step gained", "ladder"],
        "The same scores for nominal words, for chosen words, and for each better reference: what every step gains over the one before.",
    ),
    term(
        "layout",
        "layout",
        &["layout of the control word", "layout"],
        "Which bits belong to which field, the step of each field, and what a larger code does.",
    ),
    term(
        "monotonic",
        "monotonic",
        &["not monotonic", "monotonic"],
        "Every code goes further than the code before it; where one goes back, a control loop can hang.",
    ),
    term_in(
        &["trust", "plane", "parts", "use"],
        "noise",
        "noise",
        &["noise"],
        "What differs at random from one frequency point to the next, told from the traces themselves; it is an upper bound.",
    ),
    term(
        "noise-floor",
        "noise floor",
        &["noise floor"],
        "The level under which the analyser sees its own noise and no longer the part.",
    ),
    term(
        "nominal-words",
        "nominal words",
        &["nominal words", "nominal word"],
        "For each wanted setting, the word that the layout gives it, as if every bit did just what it is meant to.",
    ),
    term(
        "order-of-capture",
        "order of capture",
        &["order of capture", "order of the captures"],
        "In which order the sweeps were made; a drift of the set-up follows it.",
    ),
    term(
        "passivity",
        "passivity",
        &["passivity", "passive"],
        "No more power comes out of the part than goes in, whatever is fed to its ports.",
    ),
    term(
        "qam",
        "QAM",
        &["16-QAM", "64-QAM", "256-QAM", "1,024-QAM", "4,096-QAM", "QPSK"],
        "Quadrature amplitude modulation: so many points on a square grid; QPSK has four.",
    ),
    term(
        "reciprocity",
        "reciprocity",
        &["reciprocity", "reciprocal"],
        "The part transmits alike in both directions: S21 equals S12, as it does without amplifiers and ferrites.",
    ),
    term(
        "reference",
        "reference",
        &["the reference", "as reference", "reference"],
        "What every state is divided by: it decides where 0 dB and 0° lie.",
    ),
    term(
        "relative-gain",
        "relative gain and phase",
        &["relative gain", "relative phase", "relative to the reference"],
        "The gain and the phase of a state after division by the reference.",
    ),
    term(
        "renormalise",
        "renormalise",
        &["renormalised", "renormalise"],
        "To work out what the S-parameters would be for another reference impedance.",
    ),
    term(
        "resolution-map",
        "resolution map",
        &["resolution map", "settings of so many bits", "it resolves", "resolves"],
        "For every number of phase and gain bits kept: which share of the even settings of so many bits some state serves.",
    ),
    term(
        "return-loss",
        "return loss",
        &["return loss"],
        "How much weaker the wave is that a port sends back than the wave that arrives there, in decibels.",
    ),
    term(
        "ring-median",
        "ring median",
        &["ring median"],
        "As reference: the middle one, by gain, of the words of zero nominal gain, turned to phase 0°.",
    ),
    term(
        "rms",
        "RMS",
        &["RMS gain error", "RMS phase error", "RMS state error", "RMS"],
        "Root mean square: the square root of the mean of the squares, in which large errors count most.",
    ),
    term(
        "s21",
        "S21 and S12",
        &["S21", "S12"],
        "What passes the part: S21 from port 1 to port 2, S12 from port 2 to port 1, as a ratio of waves.",
    ),
    term(
        "setting",
        "setting",
        &["wanted settings", "settings", "setting"],
        "One wanted pair of gain and phase, relative to the reference.",
    ),
    term(
        "state",
        "state",
        &["every state", "states", "state"],
        "What the part measurably does under one control word.",
    ),
    term(
        "state-error",
        "state error",
        &["state errors", "state error"],
        "What a code does, less what it is meant to do, measured from code 0.",
    ),
    term(
        "step-error",
        "step error",
        &["step errors", "step error"],
        "What one step from code to code has more than the nominal step.",
    ),
    term(
        "step-in-time",
        "step in time",
        &["step in time"],
        "All captures after some moment differ from those before by the same factor, as when a cable is moved.",
    ),
    term(
        "tolerance",
        "tolerance",
        &["within both tolerances", "within tolerance", "tolerances"],
        "A setting is within tolerance when its word misses neither the gain nor the phase by more than is allowed.",
    ),
    term(
        "tolerance-cell",
        "tolerance cell",
        &["corner of the tolerance cell", "tolerance cell"],
        "The piece of ring around a wanted setting in which both the gain and the phase are within tolerance.",
    ),
    term(
        "transmission",
        "transmission",
        &["transmission"],
        "What comes out of the part over what goes in, as magnitude and phase: S21 or S12.",
    ),
    term(
        "usable-band",
        "usable band",
        &["usable band", "usable where", "around the centre"],
        "The frequencies around the centre at which the wanted share of settings is within tolerance.",
    ),
    term(
        "vector-error",
        "vector error, relative",
        &["RMS relative vector error", "relative vector error", "RMS vector error", "vector error"],
        "The distance from the wanted setting to the state that serves it, in the gain-phase plane, in percent of the setting's own magnitude.",
    ),
    term(
        "zero-word",
        "zero word",
        &["zero word"],
        "The control word that is meant to neither attenuate nor turn the phase.",
    ),
];

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn every_meaning_is_one_short_sentence_of_its_own() {
        let keys: BTreeSet<_> = GLOSSARY.iter().map(|term| term.key).collect();
        assert_eq!(keys.len(), GLOSSARY.len());
        assert!(GLOSSARY.is_sorted_by_key(|term| term.name.to_lowercase()));
        for term in &GLOSSARY {
            assert!(term.meaning.ends_with('.') && term.meaning.matches(". ").count() == 0, "{}", term.key);
            assert!(term.meaning.len() < 160, "{}: {}", term.key, term.meaning.len());
            assert!(term.written.iter().all(|written| written.is_ascii() && !written.is_empty()));
        }
    }
}
