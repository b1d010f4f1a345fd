//! What standards allow, as a guide: the limits apply to a whole transmitter, of which the states are a part.

/// Where the limits of [`NR_BASE_STATION`] come from.
pub const NR_BASE_STATION_SOURCE: &str = "3GPP TS 38.104, Table 6.5.2.2-1";

/// A limit of the error vector magnitude.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EvmLimit {
    /// M of the square M-QAM; 4 is QPSK.
    pub order: u16,
    /// The largest error vector magnitude over the root mean square of the ideal points, linear.
    pub evm: f64,
    /// The value was not found in a source: it is from memory.
    pub from_memory: bool,
}

/// The limits for a base station of 5G New Radio. The first four are from two publications that quote the table, not
/// from the table itself; that for 1024-QAM is from memory.
pub const NR_BASE_STATION: [EvmLimit; 5] = [
    EvmLimit { order: 4, evm: 0.175, from_memory: false },
    EvmLimit { order: 16, evm: 0.125, from_memory: false },
    EvmLimit { order: 64, evm: 0.08, from_memory: false },
    EvmLimit { order: 256, evm: 0.035, from_memory: false },
    EvmLimit { order: 1024, evm: 0.025, from_memory: true },
];

#[cfg(test)]
mod tests {
    use super::*;
    use crate::signal::{ORDERS, evm_db};

    /// Percent and decibels; by hand. The last four are limits of IEEE Std 802.11 that are stated in decibels.
    #[test]
    fn limits_in_decibels() {
        let db = [-15.139_24, -18.061_80, -21.938_20, -29.118_64, -32.041_20];
        for (limit, db) in NR_BASE_STATION.iter().zip(db) {
            assert!((evm_db(limit.evm) - db).abs() < 5e-6, "{limit:?}");
        }
        for (pct, db) in [(5.623_413, -25.0), (2.511_886, -32.0), (1.778_279, -35.0), (1.258_925, -38.0)] {
            assert!((evm_db(pct / 100.0) - db).abs() < 5e-6);
        }
    }

    #[test]
    fn limits_are_of_orders_that_are_looked_at_and_tighten() {
        assert!(NR_BASE_STATION.iter().all(|limit| ORDERS.contains(&limit.order)));
        assert!(NR_BASE_STATION.is_sorted_by(|a, b| a.order < b.order && a.evm > b.evm));
    }
}
