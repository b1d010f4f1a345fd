//! One word of an `.npz` file on its way to the worker that reads it: a head with the grid, then the word's own bytes of
//! the array `s`, as they lie in the file.

use super::BYTES_A_POINT;
use crate::run::FileFault;
use crate::touchstone::Network;
use num_complex::Complex64;

/// No text file begins like this.
const MAGIC: &[u8] = b"\x93STATE\x01\x00";

/// What stands before a word's bytes: the magic string, the reference impedance, the number of frequencies, and the
/// frequencies, all as 8 bytes, little-endian.
pub fn pack_head(frequency_hz: &[f64], reference_ohm: f64) -> Vec<u8> {
    let mut head = MAGIC.to_vec();
    head.extend_from_slice(&reference_ohm.to_le_bytes());
    head.extend_from_slice(&(frequency_hz.len() as u64).to_le_bytes());
    for frequency in frequency_hz {
        head.extend_from_slice(&frequency.to_le_bytes());
    }
    head
}

/// Reads a packed state as a two-port; `None` if the bytes are no packed state, else the network or what is wrong.
pub fn unpack(bytes: &[u8]) -> Option<Result<Network, FileFault>> {
    let rest = bytes.strip_prefix(MAGIC)?;
    let fault = |message: &str| FileFault { line: None, column: None, message: message.to_owned() };
    let network = network(rest).ok_or_else(|| fault("This word's part of the file is cut short."));
    Some(network.and_then(|network| {
        let finite = network.s.iter().all(|s| s.is_finite());
        finite.then_some(network).ok_or_else(|| fault("This word holds a value that is not a number."))
    }))
}

fn network(rest: &[u8]) -> Option<Network> {
    let mut numbers = rest.chunks_exact(8).map(|chunk| chunk.try_into().unwrap_or([0; 8]));
    let ohm = f64::from_le_bytes(numbers.next()?);
    let points = usize::try_from(u64::from_le_bytes(numbers.next()?)).ok()?;
    let wanted = points.checked_mul(8 + BYTES_A_POINT)?.checked_add(16)?;
    if rest.len() != wanted {
        return None;
    }
    let mut numbers = numbers.map(f64::from_le_bytes);
    let frequency_hz: Vec<f64> = numbers.by_ref().take(points).collect();
    let mut s = Vec::with_capacity(4 * points);
    while let (Some(re), Some(im)) = (numbers.next(), numbers.next()) {
        s.push(Complex64::new(re, im));
    }
    Some(Network {
        ports: 2,
        reference_ohm: vec![ohm; 2],
        frequency_hz,
        s,
        comments: Vec::new(),
        noise_rows: 0,
        warnings: Vec::new(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_state_comes_through_or_says_why_not() {
        let mut bytes = pack_head(&[1e9, 2e9], 75.0);
        let values: Vec<Complex64> = (0..8).map(|k| Complex64::new(f64::from(k), 0.1)).collect();
        for point in values.chunks_exact(4) {
            super::super::push_point(&mut bytes, [point[0], point[1], point[2], point[3]]);
        }
        let network = unpack(&bytes).expect("packed").expect("whole");
        assert_eq!(
            (network.frequency_hz.as_slice(), network.reference_ohm.as_slice()),
            (&[1e9, 2e9][..], &[75.0; 2][..])
        );
        assert_eq!(network.s(1, 2, 1), values[6]);
        assert!(unpack(&bytes[..bytes.len() - 1]).expect("packed").is_err());
        assert!(unpack(&bytes[..20]).expect("packed").is_err());
        let end = bytes.len();
        bytes[end - 8..].copy_from_slice(&f64::NAN.to_le_bytes());
        assert!(unpack(&bytes).expect("packed").is_err_and(|fault| fault.message.contains("not a number")));
        assert!(unpack(b"# GHz S RI R 50\n").is_none());
    }
}
