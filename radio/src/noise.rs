//! Noise: thermal, man-made, and what a repeater sends towards the base station.

use crate::range::{Check, RangeError, above};
use crate::units::{Db, Dbm, DbmPerMegahertz, Megahertz};

/// Boltzmann's constant, J/K (SI, exact).
const BOLTZMANN: f64 = 1.380_649e-23;

/// Reference temperature of noise figures, K.
const REFERENCE_TEMPERATURE: f64 = 290.0;

/// Thermal noise density at 290 K: −113.98 dBm/MHz.
#[must_use]
pub fn thermal_density() -> DbmPerMegahertz {
    DbmPerMegahertz(10.0 * libm::log10(BOLTZMANN * REFERENCE_TEMPERATURE * 1e6 * 1e3))
}

/// Noise floor kTB at 290 K, referred to the input of a device with this noise figure.
///
/// Range: bandwidth above 0 to 1e6 MHz, noise figure 0 to 60 dB. Textbook (derived).
///
/// # Errors
/// When an input is out of range.
pub fn noise_floor(bandwidth: Megahertz, noise_figure: Db) -> Result<Dbm, RangeError> {
    let check = Check("noise floor");
    check.within(
        "bandwidth",
        bandwidth.0,
        " MHz",
        above(0.0, 1e6),
        "give the receiver's bandwidth",
    )?;
    let figure = checked_noise_figure(&check, noise_figure)?;
    Ok(thermal_density().in_bandwidth(bandwidth) + figure)
}

/// Signal to noise of a reference signal whose power per resource element is `rsrp`.
///
/// Range: RSRP −200 to 30 dBm, subcarriers of 15, 30, 60, 120 or 240 kHz (any from 0.001 to 1 MHz), noise figure
/// 0 to 60 dB. The floor is −132.2 dBm at 15 kHz and −129.2 dBm at 30 kHz. Derived.
///
/// # Errors
/// When an input is out of range.
pub fn snr_per_resource_element(
    rsrp: Dbm,
    subcarrier: Megahertz,
    noise_figure: Db,
) -> Result<Db, RangeError> {
    let check = Check("signal to noise of a reference signal");
    check.within(
        "RSRP",
        rsrp.0,
        " dBm",
        -200.0..=30.0,
        "give the power per resource element",
    )?;
    check.within("subcarrier", subcarrier.0, " MHz", 0.001..=1.0, "15 kHz is 0.015")?;
    Ok(rsrp - noise_floor(subcarrier, noise_figure)?)
}

/// Noise a repeater's uplink sends out, referred to its donor port: kT + noise figure + gain.
///
/// Range: noise figure 0 to 60 dB, gain −50 to 150 dB. Derived.
///
/// # Errors
/// When an input is out of range.
pub fn uplink_noise(noise_figure: Db, gain: Db) -> Result<DbmPerMegahertz, RangeError> {
    let check = Check("uplink noise");
    let figure = checked_noise_figure(&check, noise_figure)?;
    let gain = check.within("gain", gain.0, " dB", -50.0..=150.0, "give the gain in effect")?;
    Ok(thermal_density() + figure + Db(gain))
}

/// How much the base station's own noise rises by a repeater `coupling_loss` away (donor port to base-station
/// port, antennas included): 10·log(1 + 10^((noise − coupling loss − own)/10)).
///
/// Range: coupling loss 0 to 250 dB, noise figure of the base station 0 to 60 dB. Derived.
///
/// # Errors
/// When an input is out of range.
pub fn base_station_noise_rise(
    repeater_noise: DbmPerMegahertz,
    coupling_loss: Db,
    cell_noise_figure: Db,
) -> Result<Db, RangeError> {
    let check = Check("noise rise at the base station");
    check.within(
        "noise",
        repeater_noise.0,
        " dBm/MHz",
        -200.0..=150.0,
        "work it out from gain and noise figure",
    )?;
    check.within(
        "coupling loss",
        coupling_loss.0,
        " dB",
        0.0..=250.0,
        "give path loss less antenna gains",
    )?;
    let own = thermal_density() + checked_noise_figure(&check, cell_noise_figure)?;
    let ratio = (repeater_noise - coupling_loss - own).to_ratio();
    Ok(Db(10.0 * core::f64::consts::LOG10_E * libm::log1p(ratio)))
}

/// Composite input level at which a repeater starts to lower its gain: rated output less gain in effect.
///
/// Range: rated output −50 to 60 dBm, gain −50 to 150 dB. Derived; no fixed level exists.
///
/// # Errors
/// When an input is out of range.
pub fn agc_onset(rated_output: Dbm, gain: Db) -> Result<Dbm, RangeError> {
    let check = Check("AGC onset");
    check.within(
        "rated output",
        rated_output.0,
        " dBm",
        -50.0..=60.0,
        "give the composite rating per band",
    )?;
    check.within(
        "gain",
        gain.0,
        " dB",
        -50.0..=150.0,
        "give the greatest gain the unit may use",
    )?;
    Ok(rated_output - gain)
}

/// Surroundings of ITU-R P.372 man-made noise, and the galaxy.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Surroundings {
    /// City.
    City,
    /// Residential.
    Residential,
    /// Rural.
    Rural,
    /// Quiet rural.
    QuietRural,
    /// Galactic noise.
    Galactic,
}

/// Median external noise figure Fam = c − d·log f(MHz).
///
/// Range: 0.3 to 250 MHz. Above 1 GHz the receiver's own noise rules.
/// Source: ITU-R P.372-17 clause 6.1.1 (secondary: open-source code).
///
/// # Errors
/// When the frequency is out of range.
pub fn external_noise_figure(surroundings: Surroundings, frequency: Megahertz) -> Result<Db, RangeError> {
    let f = Check("external noise").within(
        "frequency",
        frequency.0,
        " MHz",
        0.3..=250.0,
        "above it use the business-area figure or the receiver's own noise",
    )?;
    let (c, d) = match surroundings {
        Surroundings::City => (76.8, 27.7),
        Surroundings::Residential => (72.5, 27.7),
        Surroundings::Rural => (67.2, 27.7),
        Surroundings::QuietRural => (53.6, 28.6),
        Surroundings::Galactic => (52.0, 23.0),
    };
    Ok(Db(c - d * libm::log10(f)))
}

/// Man-made noise figure of a business area above the range of the edition in force, 44.3 − 12.3·log f(MHz).
///
/// Range: 129 to 900 MHz. Source: ITU-R P.372-8 (secondary: open-source model).
///
/// # Errors
/// When the frequency is out of range.
pub fn business_area_noise_figure(frequency: Megahertz) -> Result<Db, RangeError> {
    let f = Check("man-made noise").within(
        "frequency",
        frequency.0,
        " MHz",
        129.0..=900.0,
        "above it the receiver's own noise rules",
    )?;
    Ok(Db(44.3 - 12.3 * libm::log10(f)))
}

fn checked_noise_figure(check: &Check, figure: Db) -> Result<Db, RangeError> {
    check
        .within(
            "noise figure",
            figure.0,
            " dB",
            0.0..=60.0,
            "5 to 8 dB is usual for a repeater",
        )
        .map(Db)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn floor_of_a_resource_element() {
        // FACTS, corrections, item 3.
        let snr = |khz: f64| {
            snr_per_resource_element(Dbm(-110.0), Megahertz(khz / 1000.0), Db(6.0))
                .unwrap()
                .0
        };
        assert!((snr(15.0) - 16.2).abs() < 0.02);
        assert!((snr(30.0) - 13.2).abs() < 0.02);
    }

    #[test]
    fn a_repeater_at_the_cell_s_own_noise_costs_three_decibels() {
        let noise = uplink_noise(Db(5.0), Db(70.0)).unwrap();
        let rise = base_station_noise_rise(noise, Db(70.0), Db(5.0)).unwrap();
        assert!((rise.0 - 3.0103).abs() < 1e-4);
        assert!(base_station_noise_rise(noise, Db(-1.0), Db(5.0)).is_err());
        assert!(uplink_noise(Db(-1.0), Db(70.0)).is_err());
    }

    #[test]
    fn onset_follows_the_gain() {
        // FACTS, corrections, item 1.
        assert_eq!(agc_onset(Dbm(17.0), Db(65.0)), Ok(Dbm(-48.0)));
        assert_eq!(agc_onset(Dbm(10.0), Db(100.0)), Ok(Dbm(-90.0)));
        assert!(agc_onset(Dbm(17.0), Db(f64::NAN)).is_err());
    }

    #[test]
    fn external_noise_by_hand() {
        for (surroundings, at_10_mhz) in [
            (Surroundings::City, 49.1),
            (Surroundings::Residential, 44.8),
            (Surroundings::Rural, 39.5),
            (Surroundings::QuietRural, 25.0),
            (Surroundings::Galactic, 29.0),
        ] {
            let got = external_noise_figure(surroundings, Megahertz(10.0)).unwrap();
            assert!((got.0 - at_10_mhz).abs() < 1e-9, "{surroundings:?}: {got}");
        }
    }

    #[test]
    fn external_noise_has_its_range() {
        let figure = |s, f| external_noise_figure(s, Megahertz(f)).unwrap();
        assert!(external_noise_figure(Surroundings::Rural, Megahertz(300.0)).is_err());
        assert!(business_area_noise_figure(Megahertz(901.0)).is_err());
        assert!(figure(Surroundings::City, 100.0) > figure(Surroundings::Residential, 100.0));
        assert!(figure(Surroundings::Rural, 100.0) > figure(Surroundings::QuietRural, 100.0));
        // The two formulas for cities meet where the second begins.
        let city = figure(Surroundings::City, 129.0);
        assert!((city - business_area_noise_figure(Megahertz(129.0)).unwrap()).abs() < Db(0.01));
    }

    proptest! {
        #[test]
        fn more_gain_more_noise(gain in 0.0..100.0f64, loss in 50.0..150.0f64) {
            let rise = |gain| {
                base_station_noise_rise(uplink_noise(Db(6.0), Db(gain)).unwrap(), Db(loss), Db(3.0)).unwrap()
            };
            prop_assert!(rise(gain) > Db(0.0) && rise(gain + 1.0) > rise(gain));
        }
    }
}
