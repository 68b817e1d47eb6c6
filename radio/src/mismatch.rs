//! Reflections where impedances differ.

use crate::range::{Check, RangeError, above};
use crate::units::Db;

/// A reflection coefficient's magnitude, 0 ≤ Γ < 1.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Reflection(f64);

impl Reflection {
    /// From a standing-wave ratio: Γ = (s − 1)/(s + 1). Range: 1 to 1e6. Textbook (derived).
    ///
    /// # Errors
    /// When the ratio is out of range.
    pub fn from_vswr(vswr: f64) -> Result<Self, RangeError> {
        let s = Check("mismatch").within(
            "standing-wave ratio",
            vswr,
            "",
            1.0..=1e6,
            "a standing-wave ratio is at least 1; give 1.5 for 1.5:1",
        )?;
        Ok(Self((s - 1.0) / (s + 1.0)))
    }

    /// At a step between two real impedances. Range: 0 < Z ≤ 1e6 Ω. Textbook (derived).
    ///
    /// # Errors
    /// When an impedance is out of range.
    pub fn at_step(first_ohm: f64, second_ohm: f64) -> Result<Self, RangeError> {
        let check = Check("mismatch");
        let impedance = |z| {
            check.within(
                "impedance",
                z,
                " Ω",
                above(0.0, 1e6),
                "give real impedances, such as 50 and 75",
            )
        };
        let (a, b) = (impedance(first_ohm)?, impedance(second_ohm)?);
        Ok(Self((a - b).abs() / (a + b)))
    }

    /// The magnitude Γ.
    #[must_use]
    pub fn magnitude(self) -> f64 {
        self.0
    }

    /// Return loss −20·log Γ, or nothing where nothing returns (it would be infinite).
    #[must_use]
    pub fn return_loss(self) -> Option<Db> {
        (self.0 > 0.0).then(|| -Db::from_amplitude(self.0))
    }

    /// Power that does not get through, −10·log(1 − Γ²).
    #[must_use]
    pub fn mismatch_loss(self) -> Db {
        Db(-10.0 * core::f64::consts::LOG10_E * libm::log1p(-self.0 * self.0))
    }

    /// How far the level may lie above and below the plain sum of losses when two reflections face each other
    /// over a line of unknown length: 20·log(1 + Γ1Γ2) and 20·log(1 − Γ1Γ2).
    #[must_use]
    pub fn ripple_with(self, other: Self) -> (Db, Db) {
        let product = self.0 * other.0;
        (
            Db::from_amplitude(1.0 + product),
            Db::from_amplitude(1.0 - product),
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_perfect_match_returns_nothing() {
        let matched = Reflection::from_vswr(1.0).unwrap();
        assert_eq!(matched.return_loss(), None);
        assert_eq!(matched.mismatch_loss(), Db(0.0));
        assert!(Reflection::from_vswr(0.9).is_err());
        assert!(Reflection::from_vswr(f64::INFINITY).is_err());
        assert!(Reflection::at_step(0.0, 50.0).is_err());
    }

    proptest! {
        #[test]
        fn energy_is_conserved(vswr in 1.001..1e5f64) {
            let reflection = Reflection::from_vswr(vswr).unwrap();
            let returned = (-reflection.return_loss().unwrap()).to_ratio();
            let passed = (-reflection.mismatch_loss()).to_ratio();
            prop_assert!((returned + passed - 1.0).abs() < 1e-9);
        }

        #[test]
        fn a_step_is_a_standing_wave(z in 1.0..1000.0f64, s in 1.0..100.0f64) {
            let step = Reflection::at_step(z * s, z).unwrap();
            prop_assert!((step.magnitude() - Reflection::from_vswr(s).unwrap().magnitude()).abs() < 1e-12);
        }
    }
}
