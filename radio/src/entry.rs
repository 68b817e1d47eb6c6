//! Loss on the way into a building.

use crate::normal::normal_quantile;
use crate::range::{Check, RangeError};
use crate::units::{Db, Degrees, Megahertz, Probability};

/// How well a building is insulated, which for radio means coated glass and foil.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Insulation {
    /// Brick, concrete, plain glass (P.2109 "traditional").
    Traditional,
    /// Metallised glass, foil-backed panels (P.2109 "thermally efficient").
    ThermallyEfficient,
}

/// Coefficients of P.2109: r, s, t (median), u, v (its spread), w, x, y, z (the second term).
struct EntryCoefficients {
    median: [f64; 3],
    spread: [f64; 2],
    second_median: [f64; 2],
    second_spread: [f64; 2],
}

const TRADITIONAL: EntryCoefficients = EntryCoefficients {
    median: [12.64, 3.72, 0.96],
    spread: [9.6, 2.0],
    second_median: [9.1, -3.0],
    second_spread: [4.5, -2.0],
};

const THERMALLY_EFFICIENT: EntryCoefficients = EntryCoefficients {
    median: [28.19, -3.00, 8.48],
    spread: [13.5, 3.8],
    second_median: [27.8, -2.9],
    second_spread: [9.4, -2.1],
};

/// Building entry loss that is not exceeded in the share `p` of cases.
///
/// A statistic over whole buildings, places indoors included: not the loss of one wall, and no bound on it.
/// Plan coverage on p ≥ 0.9 and isolation on p ≤ 0.1.
/// Range: 80 MHz to 100 GHz, 0 < p < 1, elevation of the path −90° to 90°.
/// Source: ITU-R P.2109-2 (secondary: open-source code; the ITU's validation values agree within 1e-4 dB).
///
/// # Errors
/// When an input is out of range.
pub fn entry_loss(
    insulation: Insulation,
    frequency: Megahertz,
    elevation: Degrees,
    p: Probability,
) -> Result<Db, RangeError> {
    let check = Check("building entry loss");
    let f = check.within(
        "frequency",
        frequency.0,
        " MHz",
        80.0..=100_000.0,
        "the model starts at 80 MHz",
    )?;
    let elevation = check.within(
        "elevation",
        elevation.0,
        "°",
        -90.0..=90.0,
        "give the angle above the horizon",
    )?;
    // The ends have no finite loss.
    let probability = check.within(
        "probability",
        p.get(),
        "",
        1e-12..=1.0 - 1e-12,
        "use 0.1, 0.5 or 0.9",
    )?;

    let c = match insulation {
        Insulation::Traditional => &TRADITIONAL,
        Insulation::ThermallyEfficient => &THERMALLY_EFFICIENT,
    };
    let lf = libm::log10(f / 1000.0);
    let quantile = Probability::new(probability).map_or(f64::NAN, normal_quantile);
    let horizontal = c.median[0] + c.median[1] * lf + c.median[2] * lf * lf;
    let a = horizontal + 0.212 * elevation.abs() + quantile * (c.spread[0] + c.spread[1] * lf);
    let b = c.second_median[0]
        + c.second_median[1] * lf
        + quantile * (c.second_spread[0] + c.second_spread[1] * lf);
    Ok(Db::from_ratio(
        Db(a).to_ratio() + Db(b).to_ratio() + Db(-3.0).to_ratio(),
    ))
}

/// Mean loss of an outer wall in the indoor-outdoor model of 3GPP: mostly plain glass and concrete, or
/// mostly infrared-reflecting glass. Standard deviation 4.4 or 6.5 dB; add 0.5 dB for each metre indoors.
///
/// Range: 0.5 to 100 GHz. Source: TR 38.901 Tables 7.4.3-1 and 7.4.3-2 (seen).
///
/// # Errors
/// When the frequency is out of range.
pub fn outer_wall_loss(insulation: Insulation, frequency: Megahertz) -> Result<Db, RangeError> {
    let f = Check("outer wall loss").within(
        "frequency",
        frequency.0,
        " MHz",
        500.0..=100_000.0,
        "the model starts at 500 MHz",
    )? / 1000.0;
    let through = |loss: f64| Db(-loss).to_ratio();
    let (plain_glass, coated_glass, concrete) = (2.0 + 0.2 * f, 25.4 + 0.11 * f, 5.0 + 4.0 * f);
    let passed = match insulation {
        Insulation::Traditional => 0.3 * through(plain_glass) + 0.7 * through(concrete),
        Insulation::ThermallyEfficient => 0.7 * through(coated_glass) + 0.3 * through(concrete),
    };
    Ok(Db(5.0) - Db::from_ratio(passed))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn loss(insulation: Insulation, f: f64, p: f64) -> f64 {
        entry_loss(
            insulation,
            Megahertz(f),
            Degrees(0.0),
            Probability::new(p).unwrap(),
        )
        .unwrap()
        .0
    }

    #[test]
    fn planning_values() {
        // FACTS, corrections, item 5.
        for (p, expected) in [(0.05, 4.0), (0.1, 5.8), (0.5, 14.9)] {
            assert!(
                (loss(Insulation::Traditional, 1900.0, p) - expected).abs() < 0.05,
                "{p}"
            );
        }
        assert!((loss(Insulation::ThermallyEfficient, 3500.0, 0.9) - 49.3).abs() < 0.05);
    }

    #[test]
    fn out_of_range_is_refused() {
        let at = |f, e, p| {
            entry_loss(
                Insulation::Traditional,
                Megahertz(f),
                Degrees(e),
                Probability::new(p).unwrap(),
            )
        };
        assert!(at(79.0, 0.0, 0.5).is_err());
        assert!(at(900.0, 91.0, 0.5).is_err());
        assert!(at(900.0, 0.0, 0.0).is_err());
        assert!(at(900.0, 0.0, 1.0).is_err());
        assert!(outer_wall_loss(Insulation::Traditional, Megahertz(400.0)).is_err());
    }

    proptest! {
        #[test]
        fn more_certainty_means_more_loss(f in 80.0..100_000.0f64, p in 0.001..0.998f64) {
            for insulation in [Insulation::Traditional, Insulation::ThermallyEfficient] {
                prop_assert!(loss(insulation, f, p) < loss(insulation, f, p + 0.001));
            }
        }
    }
}
