//! What a Touchstone file holds once it is read.

use num_complex::Complex64;

/// Scattering parameters over frequency, as read from one file.
#[derive(Clone, Debug, PartialEq)]
pub struct Network {
    /// Number of ports.
    pub ports: usize,
    /// Reference impedance of every port in ohms.
    pub reference_ohm: Vec<f64>,
    /// Strictly ascending frequencies in hertz.
    pub frequency_hz: Vec<f64>,
    /// Scattering parameters, linear, row by row within a frequency: `s[(f * ports + i) * ports + j]` is
    /// S(i+1)(j+1) at frequency `f`.
    pub s: Vec<Complex64>,
    /// The text of every comment, without the `!`, in file order.
    pub comments: Vec<String>,
    /// Noise rows read past.
    pub noise_rows: usize,
    /// What the user should know although the file could be read.
    pub warnings: Vec<Warning>,
}

impl Network {
    /// S(row)(column) at a frequency index; rows and columns count from 1 as in S21.
    ///
    /// # Panics
    /// If an index is out of range.
    pub fn s(&self, frequency_index: usize, row: usize, column: usize) -> Complex64 {
        self.s[(frequency_index * self.ports + row - 1) * self.ports + column - 1]
    }

    /// True of a two-port whose S12 and S22 are zero throughout: an analyser with one path did not measure them.
    pub fn is_one_path(&self) -> bool {
        self.ports == 2
            && !self.s.is_empty()
            && self.s.chunks_exact(4).all(|s| s[1] == Complex64::ZERO && s[3] == Complex64::ZERO)
    }
}

/// Something unusual that did not stop the reading.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Warning {
    /// Line in the file, from 1.
    pub line: usize,
    /// A sentence for the user.
    pub message: String,
}
