//! A whole run as `NumPy` arrays: an `.npz` file, which is a zip archive of `.npy` files, here stored without compression.
//!
//! | array | type | shape |
//! | --- | --- | --- |
//! | `s` | complex, 2 × 8 bytes | word, frequency, 2, 2: `s[w, f, i, j]` is S(i+1)(j+1) |
//! | `frequency_hz` | 8-byte float | frequency |
//! | `word` | unsigned integer | word |
//! | `file` | text | word |
//! | `reference_ohm` | 8-byte float | none: one number for both ports |
//!
//! Formats: the `NumPy` enhancement proposal 1 (`.npy`), and the zip specification APPNOTE 6.3 (.ZIP).
//!
//! Writing goes word by word, so that a run never has to exist twice in memory; reading goes through [`ReadAt`], so
//! that a page can look into a file of hundreds of megabytes without loading it. A word then travels as a
//! [packed state](pack_head), the bytes of its slice of `s` behind a short head.

mod error;
mod npy;
mod packed;
mod reader;
mod writer;
mod zip;

pub use error::NpzError;
pub use packed::{pack_head, unpack};
pub use reader::{ReadAt, RunFile, open};
pub use writer::{Parts, RunWriter};

use num_complex::Complex64;

/// Bytes of the four S-parameters of one word at one frequency.
const BYTES_A_POINT: usize = 4 * 16;

fn push_point(bytes: &mut Vec<u8>, s: [Complex64; 4]) {
    for part in s.iter().flat_map(|s| [s.re, s.im]) {
        bytes.extend_from_slice(&part.to_le_bytes());
    }
}
