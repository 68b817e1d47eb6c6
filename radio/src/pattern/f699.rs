//! Reference pattern of ITU-R F.699 for dishes.

use crate::range::{Check, RangeError};
use crate::units::{Db, Dbi, Degrees};

const DISH: Check = Check("F.699 dish pattern");

/// Peak gain of a dish from its diameter in wavelengths, 20·log(D/λ) + 7.7.
///
/// Range: D/λ 0.63 to 10 000. Source: ITU-R F.699-7 (secondary: open-source code).
///
/// # Errors
/// When the diameter is out of range.
pub fn peak_gain(diameter_wavelengths: f64) -> Result<Dbi, RangeError> {
    let d = checked_diameter(diameter_wavelengths)?;
    Ok(Dbi(20.0 * libm::log10(d) + 7.7))
}

/// Half-power width of a dish, about 70·λ/D degrees. Range and source: as [`peak_gain`].
///
/// # Errors
/// When the diameter is out of range.
pub fn beamwidth(diameter_wavelengths: f64) -> Result<Degrees, RangeError> {
    Ok(Degrees(70.0 / checked_diameter(diameter_wavelengths)?))
}

/// Gain of a dish `off_axis` degrees from its axis: envelope of the side lobes of a single dish.
///
/// Range: D/λ 0.63 to 10 000, any angle, 1 to 70 GHz.
/// Source: ITU-R F.699-7 recommends 2.1 and 2.2 (secondary: open-source code; side lobes from memory).
///
/// # Errors
/// When the diameter or the angle is out of range.
pub fn gain(diameter_wavelengths: f64, off_axis: Degrees) -> Result<Dbi, RangeError> {
    let d = checked_diameter(diameter_wavelengths)?;
    let angle = DISH.within("angle", off_axis.0, "°", -1e9..=1e9, "give degrees from the axis")?;
    let angle = Degrees(angle).wrapped().0.abs();
    let peak = peak_gain(d)?;
    let log_d = libm::log10(d);
    let first_side_lobe = Dbi(2.0 + 15.0 * log_d);
    let lobe_end = 20.0 / d * libm::sqrt((peak - first_side_lobe).0.max(0.0));
    let large = d > 100.0;
    let skirt_start = if large {
        15.85 * libm::pow(d, -0.6)
    } else {
        100.0 / d
    };
    let skirt = |angle: f64| {
        let at_one_degree = if large { 32.0 } else { 52.0 - 10.0 * log_d };
        Dbi(at_one_degree - 25.0 * libm::log10(angle))
    };
    Ok(if angle < lobe_end {
        peak - Db(2.5e-3 * (d * angle) * (d * angle))
    } else if angle < lobe_end.max(skirt_start) {
        first_side_lobe
    } else if angle < 48.0 {
        skirt(angle)
    } else if large {
        Dbi(-10.0)
    } else {
        Dbi(10.0 - 10.0 * log_d)
    })
}

fn checked_diameter(diameter_wavelengths: f64) -> Result<f64, RangeError> {
    DISH.within(
        "diameter in wavelengths",
        diameter_wavelengths,
        "",
        0.63..=10_000.0,
        "use F.1336 for small antennas",
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn half_the_width_is_three_decibels_down() {
        let d = 10.0;
        let half = Degrees(beamwidth(d).unwrap().0 / 2.0);
        let loss = peak_gain(d).unwrap() - gain(d, half).unwrap();
        assert!((loss.0 - 3.06).abs() < 0.01, "{loss}");
        assert!(gain(0.5, half).is_err());
        assert!(gain(d, Degrees(f64::NAN)).is_err());
    }

    #[test]
    fn a_large_dish_by_hand() {
        // D/λ 150: first side lobe 2 + 15·log 150 = 34.64 dBi from 0.54° to 15.85·150^−0.6 = 0.784°, then
        // 32 − 25·log φ to 48°, then −10 dBi.
        for (angle, expected) in [
            (0.6, 34.641),
            (0.77, 34.641),
            (0.8, 34.423),
            (10.0, 7.0),
            (48.0, -10.0),
            (180.0, -10.0),
        ] {
            let got = gain(150.0, Degrees(angle)).unwrap();
            assert!((got.0 - expected).abs() < 0.001, "{angle}: {got}");
        }
    }

    proptest! {
        #[test]
        fn gain_never_exceeds_the_peak(d in 1.0..2000.0f64, phi in -180.0..180.0f64) {
            prop_assert!(gain(d, Degrees(phi)).unwrap() <= peak_gain(d).unwrap());
        }
    }
}
