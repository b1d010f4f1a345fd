//! Why a chart could not be drawn.

/// Why a chart could not be drawn.
#[derive(Clone, Debug, PartialEq)]
pub enum ChartError {
    /// The drawing surface refused; its own words.
    Surface(String),
    /// Two slices that run side by side differ in length.
    LengthsDiffer {
        /// What the second slice holds.
        what: &'static str,
        /// Length of the slice that leads.
        expected: usize,
        /// Length of the other.
        found: usize,
    },
    /// Columns were asked for whose frequencies are not among those given.
    FrequenciesMissing {
        /// The first grid index that is needed.
        first: usize,
        /// The last grid index that is needed.
        last: usize,
    },
    /// Two rasters of different sizes cannot be added.
    SizesDiffer {
        /// Width and height of the one.
        one: (usize, usize),
        /// Width and height of the other.
        other: (usize, usize),
    },
    /// An index points outside the slice that it belongs to.
    OutOfRange {
        /// What the index picks.
        what: &'static str,
        /// The index.
        index: usize,
        /// How many there are.
        count: usize,
    },
}

impl std::fmt::Display for ChartError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Surface(reason) => write!(f, "The drawing surface refused: {reason}."),
            Self::LengthsDiffer { what, expected, found } => {
                write!(f, "A chart needs {expected} {what} but was given {found}.")
            }
            Self::FrequenciesMissing { first, last } => {
                write!(f, "These columns need the frequencies from number {first} to number {last}.")
            }
            Self::SizesDiffer { one, other } => write!(
                f,
                "A raster of {} × {} pixels cannot be added to one of {} × {}.",
                other.0, other.1, one.0, one.1
            ),
            Self::OutOfRange { what, index, count } => {
                write!(f, "There is no {what} number {index} among {count}.")
            }
        }
    }
}

impl std::error::Error for ChartError {}
