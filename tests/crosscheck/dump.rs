//! Prints what the reader makes of Touchstone files, for a comparison with another reader.
//!
//! Paths come on standard input, one a line. For each: `file PORTS PATH`, then a line per frequency with hertz and
//! the real and imaginary parts of S11, S12, … row by row, as the shortest decimals that read back to the same double.

use std::io::{BufWriter, Write};
use sweepfold::touchstone::read;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut out = BufWriter::new(std::io::stdout().lock());
    for path in std::io::stdin().lines() {
        let path = path?;
        let network = read(&path, &std::fs::read(&path)?).map_err(|error| format!("{path}: {error}"))?;
        writeln!(out, "file {} {path}", network.ports)?;
        let values_per_frequency = network.ports * network.ports;
        for (frequency_hz, s) in network.frequency_hz.iter().zip(network.s.chunks(values_per_frequency)) {
            write!(out, "{frequency_hz}")?;
            for value in s {
                write!(out, " {} {}", value.re, value.im)?;
            }
            writeln!(out)?;
        }
    }
    Ok(())
}
