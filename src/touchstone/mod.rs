//! The open file standard for network parameters: bytes to [`Network`] and back. Knows nothing of control words.

mod network;

pub use network::{Network, Warning};
