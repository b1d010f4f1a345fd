//! The open file standard for network parameters: bytes to [`Network`] and back. Knows nothing of control words.
//!
//! [`read`] takes versions 1.0 to 2.1 of the Touchstone file format (IBIS Open Forum, 2.1 of January 2024), and
//! the habits of real files that leave no doubt about what they mean; whatever leaves doubt is refused with the
//! line and column. [`write()`] makes version 1 files.
//!
//! ```text
//! bytes ─ cursor ─ number ─┐
//!            ├─ keyword ─ header ─┐
//!            ├─ option_line ──────┼─ ports ─ rows ─ convert ─> Network
//!            ├─ noise, comments ──┘
//! ```

mod comments;
mod convert;
mod cursor;
mod decimal;
mod error;
mod error_kind;
mod header;
mod keyword;
mod network;
mod noise;
mod number;
mod option_line;
mod ports;
mod read;
mod rows;
mod write;

pub use error::ReadError;
pub use error_kind::ReadErrorKind;
pub use network::{Network, Warning};
pub use option_line::{FrequencyUnit, NumberFormat, Parameter};
pub use read::read;
pub use write::{Digits, WriteOptions, write};
