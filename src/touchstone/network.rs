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

    /// The two-port from one port to another, the rest ending in their reference impedances: port 1 is `input`, port 2
    /// is `output`, both counted from 1. `None` where the network has no such ports, or they are the same.
    pub fn between(&self, input: usize, output: usize) -> Option<Self> {
        let here = 1..=self.ports;
        if !here.contains(&input) || !here.contains(&output) || input == output {
            return None;
        }
        let ports = [input, output];
        let point = |index: usize| {
            ports.into_iter().flat_map(move |row| ports.map(|column| self.s(index, row, column)))
        };
        Some(Self {
            ports: 2,
            reference_ohm: ports
                .iter()
                .filter_map(|port| self.reference_ohm.get(port - 1))
                .copied()
                .collect(),
            frequency_hz: self.frequency_hz.clone(),
            s: (0..self.frequency_hz.len()).flat_map(point).collect(),
            comments: self.comments.clone(),
            noise_rows: self.noise_rows,
            warnings: self.warnings.clone(),
        })
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

#[cfg(test)]
mod tests {
    use super::*;

    /// Each element of a three-port is named by its row and column, so that what is taken can be told.
    #[test]
    fn a_path_through_a_three_port_is_its_own_rows_and_columns() {
        let s = [11.0, 12.0, 13.0, 21.0, 22.0, 23.0, 31.0, 32.0, 33.0].map(Complex64::from).to_vec();
        let network = Network {
            ports: 3,
            reference_ohm: vec![50.0, 60.0, 75.0],
            frequency_hz: vec![1e9],
            s,
            comments: Vec::new(),
            noise_rows: 0,
            warnings: Vec::new(),
        };
        let path = network.between(3, 1).expect("a path");
        assert_eq!(path.s, [33.0, 31.0, 13.0, 11.0].map(Complex64::from));
        assert_eq!(path.s(0, 2, 1), network.s(0, 1, 3));
        assert_eq!((path.ports, path.reference_ohm), (2, vec![75.0, 50.0]));
        for (input, output) in [(0, 1), (1, 4), (2, 2)] {
            assert_eq!(network.between(input, output), None);
        }
    }
}
