//! United States: consumer signal boosters, 47 CFR 20.21.
//!
//! The numbers of paragraph (e)(8)(i) are from memory (high confidence), its sub-clause letters too; only
//! paragraph (a) was seen. RSSI here is the composite downlink power at the donor port of all base stations
//! in the band; f is the centre of the uplink band.

use core::time::Duration;

use crate::range::{Check, RangeError};
use crate::units::{Db, Dbm, DbmPerMegahertz, Megahertz};

const CHECK: Check = Check("US booster limit");

/// Bands of paragraph (a)(4) in which such boosters may work, as uplink ranges in MHz: 700 MHz lower A–E and
/// upper C, 800 MHz SMR, cellular, AWS-1, PCS.
pub const UPLINK_BANDS: [(f64, f64); 6] = [
    (698.0, 716.0),
    (776.0, 787.0),
    (817.0, 824.0),
    (824.0, 849.0),
    (1710.0, 1755.0),
    (1850.0, 1915.0),
];

/// Uplink composite output, conducted and EIRP, per band: 1 W. (D)
pub const UPLINK_POWER: Dbm = Dbm(30.0);
/// Downlink composite output: 0.05 W. (D)
pub const DOWNLINK_POWER: Dbm = Dbm(17.0);
/// Noise when the unit has to switch its transmission off, and uplink noise when no phone is active. (H), (I)
pub const OFF_NOISE: DbmPerMegahertz = DbmPerMegahertz(-70.0);
/// Gain, at most, when the unit has to switch its transmission off (and never above MSCL). (H)
pub const OFF_GAIN: Db = Db(23.0);
/// Without an active phone the uplink falls silent after this time. (I)
pub const INACTIVITY: Duration = Duration::from_secs(300);
/// Oscillation on the uplink must be detected and mitigated within this time. (e)(8)(ii)(A)
pub const UPLINK_MITIGATION: Duration = Duration::from_millis(300);
/// The same on the downlink.
pub const DOWNLINK_MITIGATION: Duration = Duration::from_secs(1);
/// Mitigation lasts at least this long before a restart.
pub const MITIGATION_HOLD: Duration = Duration::from_secs(60);
/// After so many restarts the unit stays off until someone resets it.
pub const RESTARTS: u32 = 5;

/// Installations with different gain limits. (C)(2)
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Installation {
    /// Fixed: 6.5 + 20·log f.
    Fixed,
    /// Fixed, for one provider: 19.5 + 20·log f (text not seen). (e)(9)
    FixedProviderSpecific,
    /// In a vehicle with an antenna inside: 50 dB.
    MobileAntenna,
    /// In a vehicle with a cradle: 23 dB.
    MobileCradle,
    /// In a vehicle, coupled by direct contact: 15 dB.
    MobileContact,
}

/// Highest gain of an installation. Range: 600 to 3000 MHz. Source: (C)(2), memory.
///
/// # Errors
/// When the frequency is out of range.
pub fn max_gain(installation: Installation, frequency: Megahertz) -> Result<Db, RangeError> {
    let log_f = log_frequency(frequency)?;
    Ok(Db(match installation {
        Installation::Fixed => 6.5 + 20.0 * log_f,
        Installation::FixedProviderSpecific => 19.5 + 20.0 * log_f,
        Installation::MobileAntenna => 50.0,
        Installation::MobileCradle => 23.0,
        Installation::MobileContact => 15.0,
    }))
}

/// Highest uplink gain beside a strong donor signal, −34 − RSSI + MSCL; MSCL is the minimum coupling loss
/// between a phone and the server port. Range: RSSI −140 to 0 dBm, MSCL 0 to 100 dB. Source: (C)(1), memory.
///
/// # Errors
/// When an input is out of range.
pub fn uplink_gain_limit(rssi: Dbm, coupling_loss: Db) -> Result<Db, RangeError> {
    let rssi = checked_rssi(rssi)?;
    let mscl = CHECK.within(
        "MSCL",
        coupling_loss.0,
        " dB",
        0.0..=100.0,
        "it is stated in the unit's papers",
    )?;
    Ok(Db(-34.0 - rssi + mscl))
}

/// Highest noise density beside a strong donor signal, −103 − RSSI. Range: RSSI −140 to 0 dBm.
/// Source: (A)(1), memory.
///
/// # Errors
/// When the level is out of range.
pub fn noise_limit(rssi: Dbm) -> Result<DbmPerMegahertz, RangeError> {
    Ok(DbmPerMegahertz(-103.0 - checked_rssi(rssi)?))
}

/// Highest noise density of a fixed unit whatever the donor signal, −102.5 + 20·log f. Range: 600 to
/// 3000 MHz. Source: (A)(2)(i), memory.
///
/// # Errors
/// When the frequency is out of range.
pub fn fixed_noise_cap(frequency: Megahertz) -> Result<DbmPerMegahertz, RangeError> {
    Ok(DbmPerMegahertz(-102.5 + 20.0 * log_frequency(frequency)?))
}

/// True within the bands in which these boosters may work.
#[must_use]
pub fn allowed_uplink(frequency: Megahertz) -> bool {
    UPLINK_BANDS
        .iter()
        .any(|(low, high)| (*low..=*high).contains(&frequency.0))
}

fn log_frequency(frequency: Megahertz) -> Result<f64, RangeError> {
    CHECK
        .within(
            "frequency",
            frequency.0,
            " MHz",
            600.0..=3000.0,
            "give the centre of the uplink band",
        )
        .map(libm::log10)
}

fn checked_rssi(rssi: Dbm) -> Result<f64, RangeError> {
    CHECK.within(
        "RSSI",
        rssi.0,
        " dBm",
        -140.0..=0.0,
        "give the composite power at the donor port as a negative level",
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_strong_donor_takes_gain_one_for_one() {
        let limit = |rssi| uplink_gain_limit(Dbm(rssi), Db(40.0)).unwrap();
        assert_eq!(limit(-40.0) - limit(-50.0), Db(-10.0));
        // FACTS A.1: at 850 MHz and MSCL 40 dB the two limits cross at about −59 dBm.
        let fixed = max_gain(Installation::Fixed, Megahertz(850.0)).unwrap();
        assert!((limit(-59.0) - fixed).abs() < Db(0.2));
        assert_eq!(
            max_gain(Installation::MobileCradle, Megahertz(850.0)),
            Ok(Db(23.0))
        );
    }

    #[test]
    fn timing_of_the_oscillation_guard() {
        // FACTS A.1: 0.3 s uplink, 1 s downlink, at least a minute held, five restarts.
        assert_eq!(
            (UPLINK_MITIGATION.as_millis(), DOWNLINK_MITIGATION.as_millis()),
            (300, 1000)
        );
        assert_eq!(
            (MITIGATION_HOLD.as_secs(), RESTARTS, INACTIVITY.as_secs()),
            (60, 5, 300)
        );
    }

    #[test]
    fn out_of_range_is_refused() {
        assert!(max_gain(Installation::Fixed, Megahertz(100.0)).is_err());
        assert!(noise_limit(Dbm(1.0)).is_err());
        assert!(uplink_gain_limit(Dbm(-60.0), Db(-1.0)).is_err());
        assert!(allowed_uplink(Megahertz(836.5)) && !allowed_uplink(Megahertz(2535.0)));
    }
}
