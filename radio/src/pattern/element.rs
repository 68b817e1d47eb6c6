//! The sector antenna and antenna element of 3GPP.

use crate::range::{Check, RangeError, above};
use crate::units::{Db, Dbi, Degrees};

/// Horizontal or vertical cut, −min(12·(φ/φ3)², Am), relative to the peak.
///
/// `angle` is any angle and is taken the short way round. Range: beamwidth φ3 above 0 to 360°, greatest
/// suppression Am 0 to 100 dB.
/// Source: TR 38.901 Table 7.3-1 (seen): φ3 65°, Am 30 dB. TR 36.814: 70°, 25 dB (memory).
///
/// # Errors
/// When an input is out of range.
pub fn parabolic_cut(angle: Degrees, beamwidth: Degrees, floor: Db) -> Result<Db, RangeError> {
    let check = Check("element pattern");
    let angle = check.within("angle", angle.0, "°", -1e9..=1e9, "give degrees from the peak")?;
    let width = check.within(
        "beamwidth",
        beamwidth.0,
        "°",
        above(0.0, 360.0),
        "give the full −3 dB width",
    )?;
    let floor = check.within(
        "suppression",
        floor.0,
        " dB",
        0.0..=100.0,
        "give the front-to-back ratio as a number",
    )?;
    let ratio = Degrees(angle).wrapped().0 / width;
    Ok(Db(-(12.0 * ratio * ratio).min(floor)))
}

/// An antenna element with the same parabola in both planes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Element {
    /// Gain in the peak.
    pub peak: Dbi,
    /// Horizontal −3 dB width.
    pub horizontal: Degrees,
    /// Vertical −3 dB width.
    pub vertical: Degrees,
    /// Greatest suppression, front to back and in the vertical cut.
    pub floor: Db,
}

impl Element {
    /// The element of TR 38.901 Table 7.3-1 (seen): 8 dBi, 65° × 65°, 30 dB.
    pub const TR_38_901: Self = Self {
        peak: Dbi(8.0),
        horizontal: Degrees(65.0),
        vertical: Degrees(65.0),
        floor: Db(30.0),
    };

    /// Gain towards `azimuth` and `elevation`, both from the peak (elevation upwards, −90° to 90°).
    ///
    /// The suppressions of the two cuts add up to at most the floor.
    /// Source: TR 38.901 Table 7.3-1, combined pattern (seen).
    ///
    /// # Errors
    /// When a width, the floor or an angle is out of range.
    pub fn gain(&self, azimuth: Degrees, elevation: Degrees) -> Result<Dbi, RangeError> {
        let elevation = Check("element pattern").within(
            "elevation",
            elevation.0,
            "°",
            -90.0..=90.0,
            "measure from the horizon",
        )?;
        let horizontal = parabolic_cut(azimuth, self.horizontal, self.floor)?;
        let vertical = parabolic_cut(Degrees(elevation), self.vertical, self.floor)?;
        Ok(self.peak + (horizontal + vertical).max(-self.floor))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn half_the_width_is_three_decibels_down() {
        assert_eq!(
            parabolic_cut(Degrees(32.5), Degrees(65.0), Db(30.0)),
            Ok(Db(-3.0))
        );
        assert_eq!(
            parabolic_cut(Degrees(-327.5), Degrees(65.0), Db(30.0)),
            Ok(Db(-3.0))
        );
        assert!(parabolic_cut(Degrees(0.0), Degrees(0.0), Db(30.0)).is_err());
        assert!(parabolic_cut(Degrees(0.0), Degrees(65.0), Db(-1.0)).is_err());
        let element = Element::TR_38_901;
        assert_eq!(element.gain(Degrees(0.0), Degrees(0.0)), Ok(Dbi(8.0)));
        assert_eq!(element.gain(Degrees(180.0), Degrees(90.0)), Ok(Dbi(-22.0)));
    }

    proptest! {
        #[test]
        fn no_direction_beats_the_peak(phi in -720.0..720.0f64, theta in -90.0..90.0f64) {
            let gain = Element::TR_38_901.gain(Degrees(phi), Degrees(theta)).unwrap();
            prop_assert!(gain <= Dbi(8.0) && gain >= Dbi(-22.0));
        }
    }
}
