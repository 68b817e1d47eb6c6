//! How near a person may come to a transmitting antenna. Information, not a certificate: check local rules.

use core::f64::consts::PI;

use crate::range::{Check, RangeError, above};
use crate::units::{Dbm, Megahertz, Metres, WattsPerSquareMetre};

/// Whom a limit protects.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Tier {
    /// Everyone; averaged over 30 minutes.
    General,
    /// People who know and control their exposure; averaged over 6 minutes.
    Occupational,
}

/// Reflections assumed in an exposure distance, as a factor on power density.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ReflectionFactor {
    /// Free space, 1.
    None,
    /// Field raised 1.6 times by the ground, 2.56 in power (OET-65, memory).
    Typical,
    /// Perfect reflection in phase, 4 (OET-65, memory).
    Worst,
}

impl ReflectionFactor {
    /// The factor on power density.
    #[must_use]
    pub fn power(self) -> f64 {
        match self {
            Self::None => 1.0,
            Self::Typical => 2.56,
            Self::Worst => 4.0,
        }
    }

    /// The reflection with this factor.
    #[must_use]
    pub fn from_power(factor: f64) -> Option<Self> {
        [Self::None, Self::Typical, Self::Worst]
            .into_iter()
            .find(|reflection| reflection.power() == factor)
    }
}

/// US limit on power density: f/1500 or f/300 mW/cm² up to 1500 MHz, then 1 or 5 mW/cm².
///
/// Range: 300 MHz to 100 GHz. Source: 47 CFR 1.1310 Table 1 (seen).
///
/// # Errors
/// When the frequency is out of range.
pub fn us_limit(tier: Tier, frequency: Megahertz) -> Result<WattsPerSquareMetre, RangeError> {
    let f = Check("US exposure limit").within(
        "frequency",
        frequency.0,
        " MHz",
        300.0..=100_000.0,
        "other limits apply outside this range: see 47 CFR 1.1310",
    )?;
    let divisor = match tier {
        Tier::General => 1500.0,
        Tier::Occupational => 300.0,
    };
    // 1 mW/cm² is 10 W/m².
    Ok(WattsPerSquareMetre(10.0 * f.min(1500.0) / divisor))
}

/// EU reference level for the public: f/200 W/m² from 400 to 2000 MHz, 10 W/m² above.
///
/// Range: 400 MHz to 300 GHz. Source: Recommendation 1999/519/EC Annex III table 2 (memory).
///
/// # Errors
/// When the frequency is out of range.
pub fn eu_reference_level(frequency: Megahertz) -> Result<WattsPerSquareMetre, RangeError> {
    let f = Check("EU reference level").within(
        "frequency",
        frequency.0,
        " MHz",
        400.0..=300_000.0,
        "other levels apply outside this range: see 1999/519/EC",
    )?;
    Ok(WattsPerSquareMetre(f.min(2000.0) / 200.0))
}

/// What one band sends, and the limit in it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Emission {
    /// Radiated power towards the person.
    pub eirp: Dbm,
    /// Limit on power density at its frequency.
    pub limit: WattsPerSquareMetre,
}

/// Distance at which all bands together just reach the limit: Σ S/limit = 1 with S = EIRP/(4πR²) times the
/// reflection factor. No emission at all needs no distance.
///
/// Range: EIRP −100 to 100 dBm, limits above 0. Far field; nearer than 2D²/λ it tends to overstate.
/// Source: OET-65 clause 2 (secondary); the sum over bands is that of 47 CFR 1.1310 and ICNIRP (memory).
///
/// # Errors
/// When an input is out of range.
pub fn safe_distance(emissions: &[Emission], reflection: ReflectionFactor) -> Result<Metres, RangeError> {
    let check = Check("exposure distance");
    let mut area = 0.0;
    for emission in emissions {
        let eirp = check.within(
            "EIRP",
            emission.eirp.0,
            " dBm",
            -100.0..=100.0,
            "give power plus antenna gain",
        )?;
        let limit = check.within(
            "limit",
            emission.limit.0,
            " W/m²",
            above(0.0, 1e6),
            "work it out first",
        )?;
        area += Dbm(eirp).to_milliwatts().0 / 1000.0 / limit;
    }
    Ok(Metres(libm::sqrt(reflection.power() * area / (4.0 * PI))))
}

/// Where the far field of an antenna begins, 2D²/λ (Fraunhofer, textbook).
///
/// Range: greatest dimension above 0 to 100 m, 1 MHz to 300 GHz.
///
/// # Errors
/// When an input is out of range.
pub fn far_field_distance(dimension: Metres, frequency: Megahertz) -> Result<Metres, RangeError> {
    let check = Check("far-field distance");
    let size = check.within(
        "dimension",
        dimension.0,
        " m",
        above(0.0, 100.0),
        "give the antenna's longest side",
    )?;
    check.within(
        "frequency",
        frequency.0,
        " MHz",
        1.0..=300_000.0,
        "give the frequency in MHz",
    )?;
    Ok(Metres(2.0 * size * size / frequency.wavelength().0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn bands_add_up() {
        // FACTS, corrections, item 4: five bands of 30 dBm against the 850 MHz limit.
        let limit = us_limit(Tier::General, Megahertz(850.0)).unwrap();
        let five = [Emission {
            eirp: Dbm(30.0),
            limit,
        }; 5];
        let distance = |reflection| safe_distance(&five, reflection).unwrap().0;
        assert!((distance(ReflectionFactor::None) - 0.265).abs() < 0.001);
        assert!((distance(ReflectionFactor::Typical) - 0.424).abs() < 0.001);
        assert_eq!(safe_distance(&[], ReflectionFactor::Worst), Ok(Metres(0.0)));
        assert!(us_limit(Tier::General, Megahertz(299.0)).is_err());
        assert!(far_field_distance(Metres(0.0), Megahertz(850.0)).is_err());
        assert_eq!(
            ReflectionFactor::from_power(2.56),
            Some(ReflectionFactor::Typical)
        );
        assert_eq!(ReflectionFactor::from_power(3.0), None);
    }

    proptest! {
        #[test]
        fn at_the_distance_the_limit_is_just_met(
            powers in proptest::collection::vec((-20.0..60.0f64, 300.0..6000.0f64), 1..6),
        ) {
            let emissions: Vec<_> = powers.iter().map(|(eirp, f)| Emission {
                eirp: Dbm(*eirp),
                limit: us_limit(Tier::General, Megahertz(*f)).unwrap(),
            }).collect();
            let r = safe_distance(&emissions, ReflectionFactor::None).unwrap().0;
            let sum: f64 = emissions.iter()
                .map(|e| e.eirp.to_milliwatts().0 / 1000.0 / (4.0 * PI * r * r) / e.limit.0).sum();
            prop_assert!((sum - 1.0).abs() < 1e-9);
        }
    }
}
