//! Loss inside a building, floors included: the older form of ITU-R P.1238.

use crate::range::{Check, RangeError};
use crate::units::{Db, Megahertz, Metres};

/// The kind of building, which sets how loss grows with distance and with floors.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Building {
    /// Dwellings: 28 dB a decade, 4 dB a floor.
    Residential,
    /// Offices: 30 dB a decade, 15 dB for the first floor and 4 dB for each more.
    Office,
    /// Shops, halls, stations: 22 dB a decade, 6 dB for the first floor and 3 dB for each more.
    Commercial,
}

impl Building {
    /// Loss per decade of distance, dB. The coefficients belong to about 1.8 to 2 GHz; other bands differ by
    /// up to 3 dB a decade (memory).
    #[must_use]
    pub fn distance_coefficient(self) -> f64 {
        match self {
            Self::Residential => 28.0,
            Self::Office => 30.0,
            Self::Commercial => 22.0,
        }
    }

    /// Loss through `floors` floors; none for zero.
    #[must_use]
    pub fn floor_loss(self, floors: u32) -> Db {
        let more = f64::from(floors) - 1.0;
        match (floors, self) {
            (0, _) => Db(0.0),
            (_, Self::Residential) => Db(4.0 * f64::from(floors)),
            (_, Self::Office) => Db(15.0 + 4.0 * more),
            (_, Self::Commercial) => Db(6.0 + 3.0 * more),
        }
    }
}

/// Share of the distance that is still served when so much gain is missing: 10^(−loss/N), N the loss per decade of
/// distance. The share of the area is its square.
///
/// Range: loss 0 to 200 dB. Source: derived from [`indoor_loss`].
///
/// # Errors
/// When the loss is out of range.
pub fn reach_share(building: Building, loss: Db) -> Result<f64, RangeError> {
    let loss = Check("reach indoors").within(
        "loss",
        loss.0,
        " dB",
        0.0..=200.0,
        "give the gain that is missing",
    )?;
    Ok(libm::exp10(-loss / building.distance_coefficient()))
}

/// Site-general indoor loss, 20·log f(MHz) + N·log d(m) + Lf(n) − 28.
///
/// Range: 900 MHz to 100 GHz, 1 to 1000 m, up to 20 floors. Scatter about it is 8 to 12 dB.
/// Source: ITU-R P.1238 up to edition 9 (secondary: as coded in an open-source simulator). The edition in
/// force (13, 2025) has another form, whose coefficients were not seen.
///
/// # Errors
/// When an input is out of range.
pub fn indoor_loss(
    building: Building,
    frequency: Megahertz,
    distance: Metres,
    floors: u32,
) -> Result<Db, RangeError> {
    let check = Check("indoor loss");
    let f = check.within(
        "frequency",
        frequency.0,
        " MHz",
        900.0..=100_000.0,
        "use a measured loss below it",
    )?;
    let d = check.within(
        "distance",
        distance.0,
        " m",
        1.0..=1000.0,
        "use free space below one metre",
    )?;
    check.within(
        "floors",
        f64::from(floors),
        "",
        0.0..=20.0,
        "count the floors between the antennas",
    )?;
    let open = 20.0 * libm::log10(f) + building.distance_coefficient() * libm::log10(d) - 28.0;
    Ok(Db(open) + building.floor_loss(floors))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn floors_add_up() {
        assert_eq!(Building::Residential.floor_loss(3), Db(12.0));
        assert_eq!(Building::Office.floor_loss(0), Db(0.0));
        assert_eq!(Building::Office.floor_loss(3), Db(23.0));
        assert_eq!(Building::Commercial.floor_loss(2), Db(9.0));
    }

    #[test]
    fn kinds_of_building() {
        // By hand: 20·log 1900 = 65.575, log 20 = 1.301.
        for (building, loss) in [
            (Building::Residential, 74.004),
            (Building::Office, 76.606),
            (Building::Commercial, 66.198),
        ] {
            let got = indoor_loss(building, Megahertz(1900.0), Metres(20.0), 0).unwrap();
            assert!((got.0 - loss).abs() < 0.001, "{building:?}: {got}");
        }
    }

    #[test]
    fn less_gain_reaches_less_far() {
        // 30 dB a decade: 30 dB less serve a tenth of the distance, 9.03 dB half of it (by hand).
        let share = |db| reach_share(Building::Office, Db(db)).unwrap();
        assert!((share(30.0) - 0.1).abs() < 1e-12 && (share(9.031) - 0.5).abs() < 1e-4);
        assert!(reach_share(Building::Office, Db(-1.0)).is_err());
    }

    #[test]
    fn out_of_range_is_refused() {
        let loss = |f, d, n| indoor_loss(Building::Office, Megahertz(f), Metres(d), n);
        assert!(loss(1900.0, 20.0, 0).is_ok());
        assert!(loss(800.0, 20.0, 0).is_err());
        assert!(loss(1900.0, 0.5, 0).is_err());
        assert!(loss(1900.0, 20.0, 21).is_err());
    }
}
