//! Loss between two antennas in the open, and in the street and hall models of 3GPP.

use crate::range::{Check, RangeError};
use crate::units::{Db, Megahertz, Metres};

/// Free-space loss between isotropic antennas, 20·log10(4πd/λ).
///
/// Range: 1 MHz to 300 GHz, from one wavelength upwards (nearer there is no far field).
/// ITU-R P.525 equation (4) gives the same with its constant rounded to 32.4 (here 32.4478).
/// Source: ITU-R P.525 (secondary), constant derived.
///
/// # Errors
/// When the frequency or the distance is out of range.
pub fn free_space_loss(frequency: Megahertz, distance: Metres) -> Result<Db, RangeError> {
    let check = Check("free-space loss");
    check.within(
        "frequency",
        frequency.0,
        " MHz",
        1.0..=300_000.0,
        "give the frequency in MHz",
    )?;
    let wavelength = frequency.wavelength();
    check.within(
        "distance",
        distance.0,
        " m",
        wavelength.0..,
        "the formula needs at least one wavelength; measure at shorter distances",
    )?;
    Ok(Db::from_amplitude(
        4.0 * core::f64::consts::PI * (distance / wavelength),
    ))
}

/// Distance at which isotropic antennas have this free-space loss, the inverse of [`free_space_loss`].
///
/// Range: 1 MHz to 300 GHz; the distance that comes out may be below a wavelength, where it says no more than "near".
/// Source: as [`free_space_loss`].
///
/// # Errors
/// When the frequency is out of range or the loss not between 0 and 300 dB.
pub fn free_space_distance(frequency: Megahertz, loss: Db) -> Result<Metres, RangeError> {
    let check = Check("distance for a free-space loss");
    check.within(
        "frequency",
        frequency.0,
        " MHz",
        1.0..=300_000.0,
        "give the frequency in MHz",
    )?;
    check.within(
        "loss",
        loss.0,
        " dB",
        0.0..=300.0,
        "give the loss as a positive number",
    )?;
    let wavelength = frequency.wavelength().0;
    Ok(Metres(
        loss.to_amplitude() * wavelength / (4.0 * core::f64::consts::PI),
    ))
}

/// Places that the path-loss models of TR 38.901 describe.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Place {
    /// Urban macro cell, antenna above the roofs.
    UrbanMacro,
    /// Urban micro cell, antenna below the roofs.
    UrbanMicro,
    /// Open or mixed office.
    IndoorOffice,
}

/// Path loss with a line of sight, before the breakpoint distance (PL1).
///
/// Range: 0.5 to 100 GHz; 10 m to 5 km outdoors, 1 to 150 m indoors. Beyond the breakpoint, which depends on
/// both antenna heights, outdoor loss grows faster than this.
/// Source: TR 38.901 Table 7.4.1-1 (seen).
///
/// # Errors
/// When the frequency or the distance is out of range.
pub fn line_of_sight_loss(place: Place, frequency: Megahertz, distance: Metres) -> Result<Db, RangeError> {
    let (f, d) = model_inputs("line-of-sight path loss", place, frequency, distance)?;
    Ok(Db(match place {
        Place::UrbanMacro => 28.0 + 22.0 * d + 20.0 * f,
        Place::UrbanMicro => 32.4 + 21.0 * d + 20.0 * f,
        Place::IndoorOffice => 32.4 + 17.3 * d + 20.0 * f,
    }))
}

/// Path loss without a line of sight; never less than with one.
///
/// Range: as [`line_of_sight_loss`]; handset height 1.5 to 22.5 m outdoors (not used indoors).
/// Source: TR 38.901 Table 7.4.1-1 (seen).
///
/// # Errors
/// When an input is out of range.
pub fn obstructed_loss(
    place: Place,
    frequency: Megahertz,
    distance: Metres,
    handset_height: Metres,
) -> Result<Db, RangeError> {
    let operation = "obstructed path loss";
    let (f, d) = model_inputs(operation, place, frequency, distance)?;
    let height = if place == Place::IndoorOffice {
        0.0
    } else {
        Check(operation).within(
            "handset height",
            handset_height.0,
            " m",
            1.5..=22.5,
            "use 1.5 m for a person at ground level",
        )?
    };
    let obstructed = match place {
        Place::UrbanMacro => 13.54 + 39.08 * d + 20.0 * f - 0.6 * (height - 1.5),
        Place::UrbanMicro => 35.3 * d + 22.4 + 21.3 * f - 0.3 * (height - 1.5),
        Place::IndoorOffice => 38.3 * d + 17.30 + 24.9 * f,
    };
    Ok(Db(obstructed).max(line_of_sight_loss(place, frequency, distance)?))
}

/// The logarithms of frequency in GHz and distance in metres, both checked.
fn model_inputs(
    operation: &'static str,
    place: Place,
    frequency: Megahertz,
    distance: Metres,
) -> Result<(f64, f64), RangeError> {
    let check = Check(operation);
    let f = check.within(
        "frequency",
        frequency.0,
        " MHz",
        500.0..=100_000.0,
        "the model starts at 500 MHz",
    )?;
    let range = if place == Place::IndoorOffice {
        1.0..=150.0
    } else {
        10.0..=5000.0
    };
    let d = check.within(
        "distance",
        distance.0,
        " m",
        range,
        "choose the model made for this distance",
    )?;
    Ok((libm::log10(f / 1000.0), libm::log10(d)))
}

/// Correlation of the shadowing at two spots, exp(−Δx/d).
///
/// Range: spacing ≥ 0, correlation distance > 0 (13 m for an urban micro cell without line of sight, 50 m
/// for a macro cell, 6 m in an office: Table 7.5-6, seen).
/// Source: TR 38.901 clause 7.4.4 (seen).
///
/// # Errors
/// When an input is out of range.
pub fn shadow_correlation(spacing: Metres, correlation_distance: Metres) -> Result<f64, RangeError> {
    let check = Check("shadow correlation");
    let spacing = check.within(
        "spacing",
        spacing.0,
        " m",
        0.0..,
        "give the distance between the spots",
    )?;
    let scale = check.within(
        "correlation distance",
        correlation_distance.0,
        " m",
        1e-3..,
        "take it from TR 38.901 Table 7.5-6",
    )?;
    Ok(libm::exp(-spacing / scale))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn the_distance_of_a_loss() {
        // Row C05 of the worked values: 51.0362 dB at 850 MHz are 10 m.
        let metres = free_space_distance(Megahertz(850.0), Db(51.0362)).unwrap();
        assert!((metres.0 - 10.0).abs() < 1e-3, "{metres:?}");
        assert!(free_space_distance(Megahertz(850.0), Db(-1.0)).is_err());
    }

    #[test]
    fn nothing_is_lost_quietly_out_of_range() {
        assert!(free_space_loss(Megahertz(850.0), Metres(0.1)).is_err());
        assert!(free_space_loss(Megahertz(f64::NAN), Metres(10.0)).is_err());
        assert!(line_of_sight_loss(Place::UrbanMacro, Megahertz(2000.0), Metres(9.0)).is_err());
        assert!(obstructed_loss(Place::UrbanMicro, Megahertz(2000.0), Metres(50.0), Metres(0.0)).is_err());
        assert!(shadow_correlation(Metres(-1.0), Metres(10.0)).is_err());
    }

    #[test]
    fn obstructed_paths_by_hand() {
        // 35.3·2 + 22.4 + 21.3·log 2, and 38.3·1 + 17.3 + 24.9·log 2.
        for (place, d, expected) in [
            (Place::UrbanMicro, 100.0, 99.412),
            (Place::IndoorOffice, 10.0, 63.096),
        ] {
            let got = obstructed_loss(place, Megahertz(2000.0), Metres(d), Metres(1.5)).unwrap();
            assert!((got.0 - expected).abs() < 0.001, "{place:?}: {got}");
        }
    }

    #[test]
    fn an_obstruction_never_helps() {
        let (f, d) = (Megahertz(2000.0), Metres(10.0));
        for place in [Place::UrbanMacro, Place::UrbanMicro, Place::IndoorOffice] {
            let clear = line_of_sight_loss(place, f, d).unwrap();
            assert!(obstructed_loss(place, f, d, Metres(22.5)).unwrap() >= clear);
        }
    }

    proptest! {
        #[test]
        fn free_space_is_symmetric_in_scale(f in 100.0..10_000.0f64, d in 10.0..1e5f64, k in 1.0..10.0f64) {
            let base = free_space_loss(Megahertz(f), Metres(d)).unwrap();
            let farther = free_space_loss(Megahertz(f), Metres(d * k)).unwrap();
            let higher = free_space_loss(Megahertz(f * k), Metres(d)).unwrap();
            prop_assert!((farther - higher).abs() < Db(1e-9));
            prop_assert!(((farther - base) - Db::from_amplitude(k)).abs() < Db(1e-9));
        }
    }
}
