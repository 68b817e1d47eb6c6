//! How RSSI, RSRP and RSRQ of an LTE cell hang together (TS 36.214 clause 5.1, seen; relations derived).
//!
//! They hold for one antenna port, or two with boosted reference symbols; unboosted two-port cells read up
//! to 3 dB more RSSI. On NR the power and beam of the synchronisation block break them by several dB.

use crate::range::{Check, RangeError};
use crate::units::{Db, Dbm};

/// Subcarriers in a resource block.
const SUBCARRIERS: f64 = 12.0;

/// Resource blocks across a carrier: 6 to 100 on LTE (6, 15, 25, 50, 75, 100), up to 275 on NR.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct ResourceBlocks(u16);

impl ResourceBlocks {
    /// A carrier of so many resource blocks, 1 to 275.
    ///
    /// # Errors
    /// When the number is out of range.
    pub fn new(blocks: u16) -> Result<Self, RangeError> {
        Check("carrier width").within(
            "resource blocks",
            f64::from(blocks),
            "",
            1.0..=275.0,
            "LTE has 6, 15, 25, 50, 75 or 100; NR at most 275",
        )?;
        Ok(Self(blocks))
    }

    /// The number.
    #[must_use]
    pub fn get(self) -> u16 {
        self.0
    }

    /// RSSI − RSRP of a fully loaded cell without noise, 10·log(12N).
    #[must_use]
    pub fn rssi_above_rsrp(self) -> Db {
        Db::from_ratio(SUBCARRIERS * f64::from(self.0))
    }

    /// RSRP from RSSI and RSRQ measured over the same N blocks: RSSI + RSRQ − 10·log N.
    #[must_use]
    pub fn rsrp(self, rssi: Dbm, rsrq: Db) -> Dbm {
        rssi + rsrq - Db::from_ratio(f64::from(self.0))
    }

    /// RSRQ from RSRP and RSSI, N·RSRP/RSSI.
    #[must_use]
    pub fn rsrq(self, rsrp: Dbm, rssi: Dbm) -> Db {
        Db::from_ratio(f64::from(self.0)) + (rsrp - rssi)
    }

    /// Power of the whole carrier of a fully loaded cell, all resource elements at the level of the reference
    /// ones: what a power detector sees of it.
    #[must_use]
    pub fn loaded_power(self, rsrp: Dbm) -> Dbm {
        rsrp + self.rssi_above_rsrp()
    }

    /// Time-averaged power of an empty cell: cell reference signals only, 8 of 168 resource elements a port
    /// and resource block. Synchronisation and control channels add a little.
    #[must_use]
    pub fn empty_power(self, rsrp: Dbm, ports: ReferencePorts) -> Dbm {
        self.loaded_power(rsrp) + Db::from_ratio(8.0 * ports.count() / 168.0)
    }
}

/// Antenna ports that send cell reference signals.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ReferencePorts {
    /// One port.
    One,
    /// Two ports.
    Two,
}

impl ReferencePorts {
    fn count(self) -> f64 {
        match self {
            Self::One => 1.0,
            Self::Two => 2.0,
        }
    }

    /// RSRQ of an empty cell without noise, its RSSI taken in the symbols that carry reference signals
    /// (2 of 12 resource elements a port): −3.0 or −6.0 dB.
    #[must_use]
    pub fn empty_rsrq(self) -> Db {
        -Db::from_ratio(2.0 * self.count())
    }
}

/// RSRQ of a fully loaded cell without noise or neighbours, −10·log 12 = −10.8 dB. Less than about −11 dB
/// (−13 dB with two unboosted ports) needs noise or other cells.
#[must_use]
pub fn loaded_rsrq() -> Db {
    -Db::from_ratio(SUBCARRIERS)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn traffic_moves_a_power_detector() {
        // FACTS, B.2, composite check: 20 MHz at RSRP −80 dBm.
        let carrier = ResourceBlocks::new(100).unwrap();
        let rsrp = Dbm(-80.0);
        for (got, expected) in [
            (carrier.loaded_power(rsrp), -49.2),
            (carrier.empty_power(rsrp, ReferencePorts::One), -62.4),
            (carrier.empty_power(rsrp, ReferencePorts::Two), -59.4),
        ] {
            assert!((got.0 - expected).abs() < 0.05, "{got}");
        }
        assert!((ReferencePorts::Two.empty_rsrq().0 + 6.02).abs() < 0.01);
        assert!(ResourceBlocks::new(0).is_err());
        assert!(ResourceBlocks::new(276).is_err());
    }

    proptest! {
        #[test]
        fn rsrp_and_rsrq_agree(n in 1u16..=275, rsrp in -140.0..-40.0f64, rssi in -120.0..-10.0f64) {
            let carrier = ResourceBlocks::new(n).unwrap();
            let rsrq = carrier.rsrq(Dbm(rsrp), Dbm(rssi));
            prop_assert!((carrier.rsrp(Dbm(rssi), rsrq) - Dbm(rsrp)).abs() < Db(1e-9));
        }
    }
}
