//! Isolation between donor and server antenna, as far as formulas go. They know no reflections from roofs,
//! ducts and metal walls: figures for planning. A measured margin always wins.

use crate::entry::{Insulation, entry_loss};
use crate::propagation::free_space_loss;
use crate::range::{Check, RangeError};
use crate::units::{Db, Dbi, Degrees, Megahertz, Metres, Probability};

/// Above this the vertical formula is not to be believed: other paths take over.
pub const VERTICAL_CEILING: Db = Db(70.0);

/// Two antennas side by side in the open, 22 + 20·log(d/λ) less both gains *towards each other*.
///
/// Range: 1 MHz to 300 GHz, from one wavelength; both antennas in each other's far field (2D²/λ, see
/// [`crate::exposure::far_field_distance`]; 15 m is a common rule for gain antennas, secondary), same
/// polarisation. Gains −60 to 60 dBi. The result may be negative for large gains at short distance.
/// Source: derived (Friis, whose constant is 21.98); with the constant 22 in co-site texts (memory).
///
/// # Errors
/// When an input is out of range.
pub fn horizontal(frequency: Megahertz, distance: Metres, first: Dbi, second: Dbi) -> Result<Db, RangeError> {
    let check = Check("horizontal isolation");
    let wavelengths = checked_wavelengths(&check, frequency, distance)?;
    for gain in [first, second] {
        check.within(
            "gain",
            gain.0,
            " dBi",
            -60.0..=60.0,
            "give the gain towards the other antenna",
        )?;
    }
    Ok(Db(22.0 + 20.0 * libm::log10(wavelengths)) - first.over_isotropic() - second.over_isotropic())
}

/// Distance in wavelengths, at least one.
fn checked_wavelengths(check: &Check, frequency: Megahertz, distance: Metres) -> Result<f64, RangeError> {
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
        wavelength.0..=10_000.0,
        "the formula needs at least one wavelength; measure at shorter distances",
    )?;
    Ok(distance / wavelength)
}

/// Two vertical dipole-like antennas one above the other, 28 + 40·log(d/λ). Gains are not subtracted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct VerticalIsolation {
    /// What the formula gives.
    pub formula: Db,
    /// True above [`VERTICAL_CEILING`]: read it as "at least 70 dB".
    pub capped: bool,
}

/// Vertical isolation, centre to centre.
///
/// Range: 1 MHz to 300 GHz, one wavelength to 10 km, antennas on one vertical line.
/// Source: co-site formula (secondary: page of a radio club; ceiling and conditions from a general
/// calculator).
///
/// # Errors
/// When the frequency or the distance is out of range.
pub fn vertical(frequency: Megahertz, distance: Metres) -> Result<VerticalIsolation, RangeError> {
    let wavelengths = checked_wavelengths(&Check("vertical isolation"), frequency, distance)?;
    let formula = Db(28.0 + 40.0 * libm::log10(wavelengths));
    Ok(VerticalIsolation {
        formula,
        capped: formula > VERTICAL_CEILING,
    })
}

/// How many times as far apart two antennas must be for so much more isolation: field falls with the distance side by
/// side, with its square one above the other (the slopes of [`horizontal`] and [`vertical`]).
///
/// Range: 0 to 60 dB, both distances beyond a wavelength; the vertical slope ends at [`VERTICAL_CEILING`].
/// Source: derived from the two formulas.
///
/// # Errors
/// When the isolation is out of range.
pub fn times_as_far(more: Db, one_above_the_other: bool) -> Result<f64, RangeError> {
    let more = Check("distance for isolation").within(
        "isolation",
        more.0,
        " dB",
        0.0..=60.0,
        "lower the gain as well; distance alone does not bring more",
    )?;
    let slope = if one_above_the_other { 40.0 } else { 20.0 };
    Ok(libm::exp10(more / slope))
}

/// Between horizontal and vertical: IH + (IV − IH)·θ/90°, θ the angle of the line between the antennas above
/// the horizon.
///
/// Range: 0 to 90°; isolations −60 to 300 dB. An interpolation, no more. Source: co-site texts (memory).
///
/// # Errors
/// When an input is out of range.
pub fn slant(horizontal: Db, vertical: Db, angle: Degrees) -> Result<Db, RangeError> {
    let check = Check("slant isolation");
    let share = check.within("angle", angle.0, "°", 0.0..=90.0, "measure from the horizontal")? / 90.0;
    for isolation in [horizontal, vertical] {
        check.within(
            "isolation",
            isolation.0,
            " dB",
            -60.0..=300.0,
            "work both out first",
        )?;
    }
    Ok(horizontal + (vertical - horizontal) * share)
}

/// What lies between the antennas.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Wall {
    /// Known only by its kind: the spread of building entry loss.
    Kind(Insulation),
    /// A loss measured or agreed on.
    Loss(Db),
}

/// A donor antenna outside and a server antenna inside one building.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ThroughBuilding {
    /// Frequency of the link.
    pub frequency: Megahertz,
    /// Distance between the antennas.
    pub distance: Metres,
    /// What lies between them.
    pub wall: Wall,
    /// Donor antenna: suppression towards the building (front to back).
    pub donor_back: Db,
    /// Server antenna: suppression towards the donor antenna.
    pub server_back: Db,
    /// Peak gain of the donor antenna.
    pub donor_gain: Dbi,
    /// Peak gain of the server antenna.
    pub server_gain: Dbi,
}

/// Isolation to plan with: nine of ten buildings of a kind have more than `low`, half more than `typical`, one
/// of ten more than `high`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlannedIsolation {
    /// For planning.
    pub low: Db,
    /// The median.
    pub typical: Db,
    /// Not to be counted on.
    pub high: Db,
}

impl ThroughBuilding {
    /// Free-space loss plus wall plus what both antennas suppress, less their gains.
    ///
    /// Range: distance from one wavelength, wall 0 to 100 dB, suppression 0 to 60 dB, gains −10 to 40 dBi. A
    /// wall known by its loss has no spread: all three values are the same.
    /// Source: derived from Friis; wall from ITU-R P.2109-2 at p = 0.1, 0.5 and 0.9 (see
    /// [`crate::entry::entry_loss`]).
    ///
    /// # Errors
    /// When an input is out of range.
    pub fn isolation(&self) -> Result<PlannedIsolation, RangeError> {
        let check = Check("isolation through a building");
        let path = free_space_loss(self.frequency, self.distance)?;
        for back in [self.donor_back, self.server_back] {
            check.within(
                "suppression",
                back.0,
                " dB",
                0.0..=60.0,
                "give the front-to-back ratio as a number",
            )?;
        }
        for gain in [self.donor_gain, self.server_gain] {
            check.within(
                "gain",
                gain.0,
                " dBi",
                -10.0..=40.0,
                "give the peak gain of the antenna",
            )?;
        }
        let rest = path + self.donor_back + self.server_back
            - self.donor_gain.over_isotropic()
            - self.server_gain.over_isotropic();
        let wall = |p: f64| match (self.wall, Probability::new(p)) {
            (Wall::Kind(insulation), Some(p)) => entry_loss(insulation, self.frequency, Degrees(0.0), p),
            (Wall::Kind(_), None) => Ok(Db(f64::NAN)),
            (Wall::Loss(loss), _) => check
                .within(
                    "wall",
                    loss.0,
                    " dB",
                    0.0..=100.0,
                    "give the wall's loss as a number",
                )
                .map(Db),
        };
        Ok(PlannedIsolation {
            low: rest + wall(0.1)?,
            typical: rest + wall(0.5)?,
            high: rest + wall(0.9)?,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_wall_between() {
        let plan = ThroughBuilding {
            frequency: Megahertz(1900.0),
            distance: Metres(10.0),
            wall: Wall::Kind(Insulation::Traditional),
            donor_back: Db(20.0),
            server_back: Db(10.0),
            donor_gain: Dbi(10.0),
            server_gain: Dbi(5.0),
        };
        let isolation = plan.isolation().unwrap();
        // 58.02 free space + 30 suppression − 15 gain, then 5.8 / 14.9 / 27.0 for the wall.
        for (got, expected) in [
            (isolation.low, 78.8),
            (isolation.typical, 87.9),
            (isolation.high, 100.0),
        ] {
            assert!((got.0 - expected).abs() < 0.1, "{got}");
        }
        let known = ThroughBuilding {
            wall: Wall::Loss(Db(12.0)),
            ..plan
        }
        .isolation()
        .unwrap();
        assert_eq!(known.low, known.high);
        assert!(
            ThroughBuilding {
                wall: Wall::Loss(Db(-1.0)),
                ..plan
            }
            .isolation()
            .is_err()
        );
        assert!(
            ThroughBuilding {
                donor_back: Db(-1.0),
                ..plan
            }
            .isolation()
            .is_err()
        );
        assert!(
            ThroughBuilding {
                donor_gain: Dbi(41.0),
                ..plan
            }
            .isolation()
            .is_err()
        );
    }

    #[test]
    fn farther_apart_brings_what_the_formulas_say() {
        // Rows C41/C43 (side by side, 850 MHz, 5 and 10 m: 45.0314 and 51.0520 dB) and C42/C44 (one above the other:
        // 74.0627 and 86.1039 dB) of the worked values.
        let side = times_as_far(Db(51.0520 - 45.0314), false).unwrap();
        let above = times_as_far(Db(86.1039 - 74.0627), true).unwrap();
        assert!(
            (side - 2.0).abs() < 1e-4 && (above - 2.0).abs() < 1e-4,
            "{side} {above}"
        );
        assert!(times_as_far(Db(-1.0), false).is_err());
    }

    #[test]
    fn the_vertical_formula_is_capped() {
        let at = |d| vertical(Megahertz(850.0), Metres(d)).unwrap();
        assert!(!at(3.0).capped);
        assert!(at(5.0).capped);
        assert!(vertical(Megahertz(850.0), Metres(0.3)).is_err());
        assert!(slant(Db(45.0), Db(74.0), Degrees(91.0)).is_err());
        assert!(horizontal(Megahertz(850.0), Metres(0.3), Dbi(0.0), Dbi(0.0)).is_err());
    }
}
