//! Why a file was refused, and the sentence that tells the user.

use super::option_line::Parameter;
use std::fmt;

/// What was wrong with a file. The words and keywords are as the file has them.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ReadErrorKind {
    /// No bytes at all.
    Empty,
    /// Two bytes a character.
    Utf16,
    /// Neither an option line, a keyword nor a number where one of them has to be.
    NotTouchstone {
        /// The first word.
        word: String,
    },
    /// Numbers, but no option line before them.
    NoOptionLine,
    /// An option line or keywords, but no row of numbers.
    NoData,

    /// A word of the option line that means nothing.
    OptionUnknown {
        /// That word.
        word: String,
    },
    /// The option line says the same thing twice.
    OptionTwice {
        /// What it says twice.
        what: &'static str,
    },
    /// `R` without a number after it.
    ReferenceMissing,
    /// A complex reference impedance.
    ReferenceComplex {
        /// As written.
        word: String,
    },
    /// A reference resistance that is no positive number.
    ReferenceNotPositive {
        /// As written.
        word: String,
    },
    /// Neither one reference resistance nor one for each port.
    ReferenceCount {
        /// How many there are.
        found: usize,
        /// Number of ports.
        ports: usize,
    },

    /// `nan`, `inf` and the like.
    NumberNotFinite {
        /// As written.
        word: String,
    },
    /// A number beyond the largest double, about 1.8e308.
    NumberTooLarge {
        /// As written.
        word: String,
    },
    /// A comma for the decimal point.
    DecimalComma {
        /// As written.
        word: String,
    },
    /// An exponent marked with `D`.
    ExponentLetter {
        /// As written.
        word: String,
    },
    /// The file ends inside a number.
    CutNumber {
        /// What is left of it.
        word: String,
    },
    /// A word that is no number.
    NotANumber {
        /// As written.
        word: String,
    },

    /// The file ends inside a row.
    Truncated {
        /// Values of the last row that are there.
        found: usize,
        /// Values that belong there.
        expected: usize,
    },
    /// A row with too few or too many values.
    RowLength {
        /// Values that are there.
        found: usize,
        /// Values that belong there.
        expected: usize,
    },
    /// A frequency lower than the one before.
    NotAscending {
        /// Line of the one before.
        previous_line: usize,
    },
    /// A frequency equal to the one before.
    Repeated {
        /// Line of the one before.
        previous_line: usize,
    },
    /// A frequency below zero.
    NegativeFrequency,
    /// A noise row without exactly five values.
    NoiseRowLength {
        /// Values that are there.
        found: usize,
    },
    /// Noise rows in a network that has not two ports.
    NoisePorts {
        /// Number of ports.
        ports: usize,
    },

    /// Neither keyword, name nor rows tell the number of ports.
    PortsUnknown,
    /// The name and the rows disagree.
    PortsDisagree {
        /// Ports by the name.
        name: usize,
        /// Ports by the rows.
        rows: usize,
    },
    /// More ports than this reader takes.
    PortsTooMany {
        /// The limit.
        limit: usize,
    },
    /// Parameters that have no meaning, or no conversion here, at this number of ports.
    ParameterPorts {
        /// The parameter.
        parameter: Parameter,
        /// Number of ports.
        ports: usize,
    },
    /// Version 1 parameters normalised to resistances that differ between ports.
    UnequalNormalisation {
        /// The parameter.
        parameter: Parameter,
    },
    /// A value, or the scattering parameters that follow from a row, are not finite.
    NotFinite,

    /// A version other than 2.0 and 2.1.
    VersionUnsupported {
        /// As written.
        word: String,
    },
    /// A keyword in a file without `[Version]`.
    KeywordWithoutVersion {
        /// The keyword.
        keyword: String,
    },
    /// A bracket that is not closed on its line.
    KeywordOpen,
    /// A keyword that the standard does not have.
    KeywordUnknown {
        /// As written.
        keyword: String,
    },
    /// A keyword that may stand only once.
    KeywordTwice {
        /// The keyword.
        keyword: &'static str,
        /// Line of the first.
        first_line: usize,
    },
    /// A keyword where it may not stand.
    KeywordMisplaced {
        /// The keyword.
        keyword: &'static str,
    },
    /// A keyword without the argument that it needs.
    KeywordArgument {
        /// The keyword.
        keyword: &'static str,
        /// What it needs.
        expected: &'static str,
    },
    /// A keyword that the file cannot do without.
    KeywordMissing {
        /// The keyword.
        keyword: &'static str,
    },
    /// Mixed-mode data.
    MixedMode,
    /// `[Begin Information]` without its end.
    InformationOpen,
    /// Text in the header of a version 2 file that belongs to no keyword.
    TextOutsideKeyword {
        /// The first word.
        word: String,
    },
    /// The rows are not as many as the file promises.
    FrequencyCount {
        /// By the keyword.
        promised: usize,
        /// In the file.
        found: usize,
    },
    /// The noise rows are not as many as the file promises.
    NoiseCount {
        /// By the keyword.
        promised: usize,
        /// In the file.
        found: usize,
    },
    /// Something other than a comment after `[End]`.
    AfterEnd,
}

impl fmt::Display for ReadErrorKind {
    #[expect(clippy::too_many_lines, reason = "a list of sentences, one for each kind")]
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        use ReadErrorKind as Kind;
        match self {
            Kind::Empty => write!(f, "The file is empty; copy it again from the analyser."),
            Kind::Utf16 => write!(f, "The file is UTF-16 text; save it as plain ASCII text."),
            Kind::NotTouchstone { word } => {
                write!(
                    f,
                    "This is not a Touchstone file: it begins with “{word}” where an option line (#) belongs; leave the file out."
                )
            }
            Kind::NoOptionLine => write!(
                f,
                "Numbers begin without an option line (#) before them, so their unit and format are unknown; add a line such as “# GHz S MA R 50” that states them."
            ),
            Kind::NoData => {
                write!(f, "The file has a header but no data; save the measurement again.")
            }
            Kind::OptionUnknown { word } => write!(
                f,
                "The option line has “{word}”, which is neither a unit (Hz, kHz, MHz, GHz), a parameter (S, Y, Z, G, H), a format (MA, DB, RI) nor R with a resistance; correct it."
            ),
            Kind::OptionTwice { what } => {
                write!(f, "The option line gives the {what} twice; leave one of them.")
            }
            Kind::ReferenceMissing => {
                write!(f, "The option line has R without a resistance after it; write one such as “R 50”.")
            }
            Kind::ReferenceComplex { word } => write!(
                f,
                "The reference “{word}” is complex, and the standard allows only a positive real resistance; export the data renormalised to one such as 50 ohm."
            ),
            Kind::ReferenceNotPositive { word } => write!(
                f,
                "The reference resistance “{word}” is not a positive number; write one such as “R 50”."
            ),
            Kind::ReferenceCount { found, ports } => write!(
                f,
                "There are {found} reference resistances for {ports} port{}; give one for each port.",
                plural(*ports)
            ),
            Kind::NumberNotFinite { word } => {
                write!(f, "“{word}” is not a finite number; measure or export this point again.")
            }
            Kind::NumberTooLarge { word } => {
                write!(f, "“{word}” is too large for a number here; correct it.")
            }
            Kind::DecimalComma { word } => {
                write!(
                    f,
                    "“{word}” has a comma; export the file with decimal points and blanks between values."
                )
            }
            Kind::ExponentLetter { word } => {
                write!(f, "“{word}” marks its exponent with D; export the file with E.")
            }
            Kind::CutNumber { word } => write!(
                f,
                "The file ends inside the number “{word}”, so it was cut short; copy it again from its source."
            ),
            Kind::NotANumber { word } => {
                write!(f, "“{word}” stands where a number belongs; correct it, or put ! before a comment.")
            }
            Kind::Truncated { found, expected } => write!(
                f,
                "The file ends inside the row that begins here, after {found} value{} of {expected}, so it was cut short; copy it again from its source.",
                plural(*found)
            ),
            Kind::RowLength { found, expected } => write!(
                f,
                "The row that begins here has {found} value{} where {expected} belong; correct the row, or the number of ports.",
                plural(*found)
            ),
            Kind::NotAscending { previous_line } => write!(
                f,
                "The frequency is lower than the one on line {previous_line}, and frequencies have to ascend; sort the rows, or keep one sweep only."
            ),
            Kind::Repeated { previous_line } => write!(
                f,
                "The frequency repeats the one on line {previous_line}; keep one row for each frequency."
            ),
            Kind::NegativeFrequency => write!(f, "The frequency is negative; correct it."),
            Kind::NoiseRowLength { found } => {
                write!(f, "A noise row has five values, this one has {found}; correct or remove it.")
            }
            Kind::NoisePorts { ports } => {
                write!(f, "Noise data belong to two ports, and this file has {ports}; remove them.")
            }
            Kind::PortsUnknown => write!(
                f,
                "The number of ports follows neither from the name nor from the rows; end the name in .s2p for two ports, and so on."
            ),
            Kind::PortsDisagree { name, rows } => write!(
                f,
                "The name says {name} port{}, the rows hold {rows}; rename the file to end in .s{rows}p.",
                plural(*name)
            ),
            Kind::PortsTooMany { limit } => {
                write!(f, "The file claims more than {limit} ports; correct the number of ports.")
            }
            Kind::ParameterPorts { parameter, ports } => write!(
                f,
                "{}-parameters of {ports} ports are not supported; export the data as S-parameters.",
                parameter.letter()
            ),
            Kind::UnequalNormalisation { parameter } => write!(
                f,
                "{}-parameters normalised to different resistances at the ports are not supported; export the data as S-parameters.",
                parameter.letter()
            ),
            Kind::NotFinite => write!(
                f,
                "The values of this row give no finite S-parameters; measure or export this point again."
            ),
            Kind::VersionUnsupported { word } => {
                write!(f, "Version “{word}” is not supported; export the file as version 1, 2.0 or 2.1.")
            }
            Kind::KeywordWithoutVersion { keyword } => write!(
                f,
                "The keyword [{keyword}] stands in a file that does not begin with [Version], and version 1 has no keywords; add “[Version] 2.1” as the first line."
            ),
            Kind::KeywordOpen => write!(f, "A keyword lacks its closing bracket; add it."),
            Kind::KeywordUnknown { keyword } => {
                write!(f, "The standard has no keyword [{keyword}]; correct or remove it.")
            }
            Kind::KeywordTwice { keyword, first_line } => write!(
                f,
                "The keyword [{keyword}] stands a second time, first on line {first_line}; keep one of them."
            ),
            Kind::KeywordMisplaced { keyword } => {
                write!(f, "The keyword [{keyword}] may not stand here; move it to where the standard has it.")
            }
            Kind::KeywordArgument { keyword, expected } => {
                write!(f, "The keyword [{keyword}] needs {expected} after it and nothing else; correct it.")
            }
            Kind::KeywordMissing { keyword } => {
                write!(
                    f,
                    "The keyword [{keyword}] is missing, and the data cannot be read without it; add it."
                )
            }
            Kind::MixedMode => write!(
                f,
                "Mixed-mode data ([Mixed-Mode Order]) are not supported; export single-ended parameters."
            ),
            Kind::InformationOpen => write!(
                f,
                "[Begin Information] has no [End Information]; add it, or copy the file again if it was cut short."
            ),
            Kind::TextOutsideKeyword { word } => write!(
                f,
                "“{word}” stands before [Network Data] and belongs to no keyword; put ! before a comment, or add the keyword."
            ),
            Kind::FrequencyCount { promised, found } => write!(
                f,
                "[Number of Frequencies] promises {promised}, the file holds {found}; copy the file again, or correct the number."
            ),
            Kind::NoiseCount { promised, found } => write!(
                f,
                "[Number of Noise Frequencies] promises {promised}, the file holds {found}; copy the file again, or correct the number."
            ),
            Kind::AfterEnd => {
                write!(f, "Something stands after [End], where only comments may; remove it.")
            }
        }
    }
}

fn plural(count: usize) -> &'static str {
    if count == 1 { "" } else { "s" }
}
