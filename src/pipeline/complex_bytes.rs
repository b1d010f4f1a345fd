//! Complex values in a message as one block of bytes, little-endian.
//!
//! A run's transmission crosses from the workers that read it over the page to those that analyse it, encoded and
//! decoded twice; as a block that is copying, where value by value it took longer than the scoring.

use num_complex::Complex64;
use serde::de::{Error, Visitor};
use serde::{Deserializer, Serializer};

const BYTES_A_VALUE: usize = 16;

pub fn serialize<S: Serializer>(values: &[Complex64], serializer: S) -> Result<S::Ok, S::Error> {
    let mut bytes = vec![0_u8; values.len() * BYTES_A_VALUE];
    for (slot, value) in bytes.chunks_exact_mut(BYTES_A_VALUE).zip(values) {
        slot[..8].copy_from_slice(&value.re.to_le_bytes());
        slot[8..].copy_from_slice(&value.im.to_le_bytes());
    }
    serializer.serialize_bytes(&bytes)
}

pub fn deserialize<'de, D: Deserializer<'de>>(deserializer: D) -> Result<Vec<Complex64>, D::Error> {
    deserializer.deserialize_bytes(Block)
}

struct Block;

impl Visitor<'_> for Block {
    type Value = Vec<Complex64>;

    fn expecting(&self, formatter: &mut std::fmt::Formatter) -> std::fmt::Result {
        formatter.write_str("a block of complex values")
    }

    fn visit_bytes<E: Error>(self, bytes: &[u8]) -> Result<Self::Value, E> {
        if !bytes.len().is_multiple_of(BYTES_A_VALUE) {
            return Err(E::invalid_length(bytes.len(), &self));
        }
        let half = |bytes: &[u8]| f64::from_le_bytes(bytes.try_into().unwrap_or([0; 8]));
        let value = |slot: &[u8]| Complex64::new(half(&slot[..8]), half(&slot[8..]));
        Ok(bytes.chunks_exact(BYTES_A_VALUE).map(value).collect())
    }
}

#[cfg(test)]
mod tests {
    use super::super::protocol::{Parcel, decode, encode};
    use super::*;

    #[test]
    fn values_arrive_to_the_bit() {
        let transmission = vec![
            Complex64::new(0.1 + 0.2, -f64::MIN_POSITIVE),
            Complex64::new(f64::NEG_INFINITY, -0.0),
            Complex64::new(f64::MAX, 5e-324),
        ];
        let sent = Parcel { positions: vec![3, 1], transmission };
        let message = encode(&sent).expect("encodes");
        let arrived: Parcel = decode(&message).expect("decodes");
        assert_eq!(arrived.positions, sent.positions);
        let bits = |parcel: &Parcel| -> Vec<(u64, u64)> {
            parcel.transmission.iter().map(|value| (value.re.to_bits(), value.im.to_bits())).collect()
        };
        assert_eq!(bits(&arrived), bits(&sent));
        assert!(decode::<Parcel>(&message[..message.len() - 1]).is_err());
    }
}
