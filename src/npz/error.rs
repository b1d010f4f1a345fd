//! Why an `.npz` file cannot be written or read.

/// What is wrong with an `.npz` file, as a sentence for the user.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NpzError {
    /// There is no zip directory at the file's end.
    NotZip,
    /// The zip directory, or what it points at, is cut short or contradicts itself.
    Damaged(&'static str),
    /// An array that a run needs is not there.
    Missing(&'static str),
    /// An array is compressed.
    Compressed(String),
    /// An array's bytes are not those that were written.
    Checksum(String),
    /// An array's head cannot be read.
    Head(String),
    /// An array holds another type than it should.
    Type {
        /// The array.
        array: &'static str,
        /// What it holds, as `NumPy` writes types.
        found: String,
        /// What it should hold.
        wanted: &'static str,
    },
    /// An array has another shape than the others ask for.
    Shape {
        /// The array.
        array: &'static str,
        /// Its shape.
        found: Vec<u64>,
        /// What it should be.
        wanted: Vec<u64>,
    },
    /// A value that no run has.
    Value {
        /// The array.
        array: &'static str,
        /// What is wrong.
        what: &'static str,
    },
    /// The file would be, or is, larger than a plain zip archive can hold.
    TooLarge,
    /// The file could not be read.
    Unread(String),
}

impl std::fmt::Display for NpzError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::NotZip => f.write_str("This is no .npz file: it has no zip directory at its end."),
            Self::Damaged(what) => write!(f, "This .npz file is damaged: {what}. Take a fresh copy of it."),
            Self::Missing(array) => write!(
                f,
                "This .npz file has no array called “{array}”. A run needs frequency_hz, word and s; file and \
                 reference_ohm may be left out."
            ),
            Self::Compressed(array) => write!(
                f,
                "The array “{array}” of this .npz file is compressed. Save it with numpy.savez, which does not \
                 compress."
            ),
            Self::Checksum(array) => {
                write!(f, "The array “{array}” of this .npz file is damaged: its checksum is wrong.")
            }
            Self::Head(array) => write!(f, "The head of the array “{array}” cannot be read as NumPy's."),
            Self::Type { array, found, wanted } => {
                write!(f, "The array “{array}” holds “{found}”, not {wanted} in little-endian, C order.")
            }
            Self::Shape { array, found, wanted } => {
                write!(f, "The array “{array}” has the shape {found:?}, not {wanted:?}.")
            }
            Self::Value { array, what } => write!(f, "The array “{array}” cannot be a run's: {what}."),
            Self::TooLarge => f.write_str(
                "The run is larger than the 4 GB that an .npz file without extensions can hold. Leave out \
                 frequencies.",
            ),
            Self::Unread(reason) => write!(f, "The file could not be read ({reason})."),
        }
    }
}

impl std::error::Error for NpzError {}
