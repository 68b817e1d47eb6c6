//! Reference patterns of ITU-R F.1336 for small directional and for sector antennas.

use crate::range::{Check, RangeError, above};
use crate::units::{Db, Dbi, Degrees};

const DIRECTIONAL: Check = Check("F.1336 directional pattern");
const SECTOR: Check = Check("F.1336 sector pattern");

/// Half-power width of a rotationally symmetric antenna from its gain, √(27000·10^(−G/10)).
///
/// Range: 0 to 20 dBi. Source: ITU-R F.1336-5 recommends 4.1 (secondary: notes on it).
///
/// # Errors
/// When the gain is out of range.
pub fn beamwidth(peak: Dbi) -> Result<Degrees, RangeError> {
    let gain = DIRECTIONAL.within(
        "gain",
        peak.0,
        " dBi",
        0.0..=20.0,
        "this pattern is for small antennas; use F.699 for dishes",
    )?;
    Ok(Degrees(libm::sqrt(27_000.0 * Db(-gain).to_ratio())))
}

/// Gain of a small rotationally symmetric antenna `off_axis` degrees from its axis.
///
/// Range: 0 to 20 dBi, any angle, 1 to 3 GHz. Below about 5 dBi the beam is wider than the far skirts.
/// Source: ITU-R F.1336-5 recommends 4.1 (secondary: notes on it).
///
/// # Errors
/// When the gain or the angle is out of range.
pub fn directional_gain(peak: Dbi, off_axis: Degrees) -> Result<Dbi, RangeError> {
    let width = beamwidth(peak)?.0;
    let angle = DIRECTIONAL.within("angle", off_axis.0, "°", -1e9..=1e9, "give degrees from the axis")?;
    let angle = Degrees(angle).wrapped().0.abs();
    let shoulder = 1.9 * width;
    let skirt_end = shoulder * libm::exp10((peak.0 - 6.0) / 32.0);
    Ok(if angle < 1.08 * width {
        peak - Db(12.0 * (angle / width) * (angle / width))
    } else if angle < shoulder {
        peak - Db(14.0)
    } else if angle < skirt_end {
        peak - Db(14.0 + 32.0 * libm::log10(angle / shoulder))
    } else {
        Dbi(-8.0)
    })
}

/// Which envelope of the side lobes to follow.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SideLobes {
    /// Peaks: one antenna, worst case.
    Peak,
    /// Average: many antennas or directions.
    Average,
}

/// A sector antenna between 400 MHz and 6 GHz, untilted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sector {
    peak: Dbi,
    horizontal: f64,
    vertical: f64,
    side_lobes: SideLobes,
    quality: Quality,
}

/// The adjustment factors k_h, k_v of the recommendation; k_p = k_a = 0.7 for both.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Quality {
    /// Typical antennas: k_h 0.8, k_v 0.7.
    Typical,
    /// Antennas with improved side lobes: k_h 0.7, k_v 0.3.
    Improved,
}

/// k_p and k_a: relative minimum gain.
const K_MINIMUM: f64 = 0.7;

impl Sector {
    /// A sector antenna of given gain and horizontal width. Its vertical width follows from
    /// θ3 = 31000·10^(−G/10)/φ3 (recommends 3.3).
    ///
    /// Range: 6 to 30 dBi, 10 to 120°, as long as the vertical width comes out between 1 and 90°.
    /// Source: ITU-R F.1336-5 recommends 3.1 and 3.3 (secondary: two open-source programs; the slope factor C
    /// derived here from the pattern being continuous).
    ///
    /// # Errors
    /// When the gain, the width or the vertical width that follows is out of range.
    pub fn new(
        peak: Dbi,
        horizontal: Degrees,
        side_lobes: SideLobes,
        quality: Quality,
    ) -> Result<Self, RangeError> {
        let gain = SECTOR.within(
            "gain",
            peak.0,
            " dBi",
            6.0..=30.0,
            "use the directional pattern below it",
        )?;
        let phi3 = SECTOR.within("width", horizontal.0, "°", 10.0..=120.0, "use a pattern file")?;
        let theta3 = SECTOR.within(
            "vertical width",
            31_000.0 * Db(-gain).to_ratio() / phi3,
            "°",
            above(1.0, 90.0),
            "gain and width do not belong to one antenna; check both",
        )?;
        Ok(Self {
            peak,
            horizontal: phi3,
            vertical: theta3,
            side_lobes,
            quality,
        })
    }

    /// The vertical half-power width that belongs to gain and horizontal width.
    #[must_use]
    pub fn vertical_beamwidth(&self) -> Degrees {
        Degrees(self.vertical)
    }

    /// Gain towards `azimuth` (any angle) and `elevation` (−90° to 90°), both from the peak.
    ///
    /// # Errors
    /// When an angle is out of range.
    pub fn gain(&self, azimuth: Degrees, elevation: Degrees) -> Result<Dbi, RangeError> {
        let azimuth = SECTOR.within(
            "azimuth",
            azimuth.0,
            "°",
            -1e9..=1e9,
            "give degrees from the peak",
        )?;
        let elevation = SECTOR.within(
            "elevation",
            elevation.0,
            "°",
            -90.0..=90.0,
            "measure from the horizon",
        )?;
        let horizontal = self.horizontal_cut(Degrees(azimuth).wrapped().0.abs() / self.horizontal);
        let back = self.horizontal_cut(180.0 / self.horizontal);
        // The vertical cut fades out towards the back, where the horizontal one alone counts.
        let compression = if back < 0.0 {
            (horizontal - back) / -back
        } else {
            1.0
        };
        Ok(self.peak + Db(horizontal + compression * self.vertical_cut(elevation.abs() / self.vertical)))
    }

    fn k(&self) -> (f64, f64) {
        match self.quality {
            Quality::Typical => (0.8, 0.7),
            Quality::Improved => (0.7, 0.3),
        }
    }

    /// Three decibels between the two envelopes.
    fn offset(&self) -> f64 {
        match self.side_lobes {
            SideLobes::Peak => 12.0,
            SideLobes::Average => 15.0,
        }
    }

    /// G180: relative gain at the back.
    fn minimum(&self) -> f64 {
        -self.offset() + 10.0 * libm::log10(1.0 + 8.0 * K_MINIMUM) - 15.0 * libm::log10(180.0 / self.vertical)
    }

    /// Ghr over x = |φ|/φ3.
    fn horizontal_cut(&self, x: f64) -> f64 {
        let (k_h, _) = self.k();
        let lobe = if x <= 0.5 {
            -12.0 * x * x
        } else {
            -12.0 * libm::pow(x, 2.0 - k_h) - 3.0 * (1.0 - libm::pow(0.5, -k_h))
        };
        lobe.max(self.minimum())
    }

    /// Gvr over x = |θ|/θ3.
    fn vertical_cut(&self, x: f64) -> f64 {
        let (_, k_v) = self.k();
        let lobe_end = libm::sqrt(match self.side_lobes {
            SideLobes::Peak => 1.0 - 0.36 * k_v,
            SideLobes::Average => 1.33 - 0.33 * k_v,
        });
        let near = |x: f64| -self.offset() + 10.0 * libm::log10(libm::pow(x, -1.5) + k_v);
        let overhead = 90.0 / self.vertical;
        if x < lobe_end {
            -12.0 * x * x
        } else if x >= overhead {
            self.minimum()
        } else if x < 4.0 {
            near(x)
        } else {
            // Straight in log x from where the near side lobes end to the minimum overhead.
            let slope = (near(4.0) - self.minimum()) / libm::log10(overhead / 4.0);
            near(4.0) - slope * libm::log10(x / 4.0)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn out_of_range_is_refused() {
        assert!(beamwidth(Dbi(-1.0)).is_err());
        assert!(directional_gain(Dbi(21.0), Degrees(0.0)).is_err());
        assert!(Sector::new(Dbi(30.0), Degrees(120.0), SideLobes::Peak, Quality::Typical).is_err());
        assert!(Sector::new(Dbi(6.0), Degrees(65.0), SideLobes::Peak, Quality::Typical).is_err());
    }

    #[test]
    fn half_the_width_is_three_decibels_down() {
        let sector = Sector::new(Dbi(17.0), Degrees(65.0), SideLobes::Peak, Quality::Improved).unwrap();
        let at = |phi, theta| sector.gain(Degrees(phi), Degrees(theta)).unwrap().0;
        assert!((at(32.5, 0.0) - 14.0).abs() < 1e-9);
        assert!((at(0.0, sector.vertical_beamwidth().0 / 2.0) - 14.0).abs() < 1e-9);
        assert_eq!(at(0.0, 0.0), 17.0);
        // Towards the back the vertical angle no longer matters.
        assert!((at(180.0, 0.0) - at(180.0, 40.0)).abs() < 1e-9);
    }

    proptest! {
        #[test]
        fn a_small_antenna_falls_off_from_its_axis(g in 6.0..20.0f64, phi in 0.0..179.0f64) {
            let near = directional_gain(Dbi(g), Degrees(phi)).unwrap();
            let far = directional_gain(Dbi(g), Degrees(phi + 1.0)).unwrap();
            // 0.003 dB: the constants of the recommendation do not join exactly.
            prop_assert!(far <= near + Db(0.01));
        }

        #[test]
        fn a_sector_pattern_is_continuous(phi in -180.0..180.0f64, theta in -89.0..89.0f64, typical: bool) {
            let quality = if typical { Quality::Typical } else { Quality::Improved };
            for side_lobes in [SideLobes::Peak, SideLobes::Average] {
                let sector = Sector::new(Dbi(17.0), Degrees(65.0), side_lobes, quality).unwrap();
                let here = sector.gain(Degrees(phi), Degrees(theta)).unwrap();
                let there = sector.gain(Degrees(phi + 0.01), Degrees(theta + 0.01)).unwrap();
                prop_assert!((here - there).abs() < Db(0.6), "{here} {there}");
                prop_assert!(here <= Dbi(17.0));
            }
        }
    }
}
