//! United Kingdom: licence exemption of static indoor repeaters, SI 2022/595 as amended by SI 2024/136 (seen).

use core::time::Duration;

use crate::range::{Check, RangeError};
use crate::units::{Db, Dbm, DbmPerMegahertz};

/// Gain, uplink and downlink alike, is never above this (reg. 16).
pub const GAIN_CEILING: Db = Db(100.0);
/// Uplink noise (EIRP) when no phone is connected (reg. 10 and 14).
pub const IDLE_NOISE: DbmPerMegahertz = DbmPerMegahertz(-70.0);
/// Time without a connection after which that holds.
pub const INACTIVITY: Duration = Duration::from_secs(300);
/// EIRP in any 5 MHz on the uplink (reg. 15).
pub const UPLINK_IN_5_MHZ: Dbm = Dbm(17.0);
/// EIRP in any 5 MHz on the downlink (reg. 15).
pub const DOWNLINK_IN_5_MHZ: Dbm = Dbm(10.0);

/// Highest gain, min(100 dB, 10 dB − RSSI), the same both ways; RSSI is the total downlink power at the donor
/// port of all base stations. Range: −140 to 10 dBm (no gain is left there). Source: reg. 16 (seen).
///
/// # Errors
/// When the level is out of range.
pub fn max_gain(rssi: Dbm) -> Result<Db, RangeError> {
    let rssi = Check("UK gain limit").within(
        "RSSI",
        rssi.0,
        " dBm",
        -140.0..=10.0,
        "give the composite power at the donor port",
    )?;
    Ok(Db(10.0 - rssi).min(GAIN_CEILING))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_ceiling_begins_at_ninety_below() {
        assert_eq!(max_gain(Dbm(-90.0)), Ok(Db(100.0)));
        assert_eq!(max_gain(Dbm(-89.0)), Ok(Db(99.0)));
        assert_eq!(max_gain(Dbm(-139.0)), Ok(Db(100.0)));
        assert!(max_gain(Dbm(11.0)).is_err());
    }
}
