//! Quantities as types, so that a level cannot be added to a level and a gain cannot pass for a power.
//!
//! Each type wraps one `f64` in the unit its name says. Only operators that mean something exist:
//! a level plus a gain is a level, the difference of two levels is a ratio, and powers add in milliwatts.
//! The values are plain numbers: NaN and infinities are let through here and refused by the functions
//! that take them.

use core::cmp::Ordering;
use core::fmt;
use core::iter::Sum;
use core::ops::{Add, AddAssign, Div, Mul, Neg, Sub, SubAssign};

mod angle;

pub use angle::Bearing;

/// Speed of light in vacuum, m/s (SI, exact).
pub const SPEED_OF_LIGHT_M_S: f64 = 299_792_458.0;

macro_rules! unit {
    ($(#[$doc:meta])* $name:ident, $suffix:literal) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
        pub struct $name(pub f64);
        unit!(@common $name, $suffix);
    };
    (@common $name:ident, $suffix:literal) => {
        impl $name {
            /// Total order, NaN last, for sorting and for `max_by`/`min_by`.
            #[must_use]
            pub fn total_cmp(&self, other: &Self) -> Ordering {
                self.0.total_cmp(&other.0)
            }

            /// True for neither NaN nor infinity.
            #[must_use]
            pub fn is_finite(self) -> bool {
                self.0.is_finite()
            }

            /// The greater of two values; a NaN loses.
            #[must_use]
            pub fn max(self, other: Self) -> Self {
                Self(self.0.max(other.0))
            }

            /// The smaller of two values; a NaN loses.
            #[must_use]
            pub fn min(self, other: Self) -> Self {
                Self(self.0.min(other.0))
            }
        }

        impl fmt::Display for $name {
            /// The number (honouring a precision such as `{:.1}`) and its unit.
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                fmt::Display::fmt(&self.0, f)?;
                f.write_str($suffix)
            }
        }
    };
}

/// Operators of a quantity that can be added to itself and scaled.
macro_rules! linear {
    ($($name:ident),*) => {$(
        impl Add for $name {
            type Output = Self;
            fn add(self, other: Self) -> Self { Self(self.0 + other.0) }
        }
        impl Sub for $name {
            type Output = Self;
            fn sub(self, other: Self) -> Self { Self(self.0 - other.0) }
        }
        impl AddAssign for $name {
            fn add_assign(&mut self, other: Self) { self.0 += other.0; }
        }
        impl SubAssign for $name {
            fn sub_assign(&mut self, other: Self) { self.0 -= other.0; }
        }
        impl Mul<f64> for $name {
            type Output = Self;
            fn mul(self, factor: f64) -> Self { Self(self.0 * factor) }
        }
        impl Div<f64> for $name {
            type Output = Self;
            fn div(self, divisor: f64) -> Self { Self(self.0 / divisor) }
        }
        impl Div for $name {
            type Output = f64;
            fn div(self, divisor: Self) -> f64 { self.0 / divisor.0 }
        }
        impl Sum for $name {
            fn sum<I: Iterator<Item = Self>>(iter: I) -> Self { iter.fold(Self(0.0), Add::add) }
        }
    )*};
}

/// Operators of a level on a logarithmic scale: shifted by a ratio, never added to another level.
macro_rules! level {
    ($($name:ident),*) => {$(
        impl Add<Db> for $name {
            type Output = Self;
            fn add(self, gain: Db) -> Self { Self(self.0 + gain.0) }
        }
        impl Sub<Db> for $name {
            type Output = Self;
            fn sub(self, loss: Db) -> Self { Self(self.0 - loss.0) }
        }
        impl AddAssign<Db> for $name {
            fn add_assign(&mut self, gain: Db) { self.0 += gain.0; }
        }
        impl SubAssign<Db> for $name {
            fn sub_assign(&mut self, loss: Db) { self.0 -= loss.0; }
        }
        impl Sub for $name {
            type Output = Db;
            fn sub(self, other: Self) -> Db { Db(self.0 - other.0) }
        }
    )*};
}

unit! {
    /// A power ratio (gain, loss, isolation, margin) in decibels.
    Db, " dB"
}
unit! {
    /// A power level in decibels above one milliwatt.
    Dbm, " dBm"
}
unit! {
    /// A power spectral density in dBm per megahertz.
    DbmPerMegahertz, " dBm/MHz"
}
unit! {
    /// An antenna gain in decibels above an isotropic radiator.
    Dbi, " dBi"
}
unit! {
    /// A frequency or bandwidth in megahertz.
    Megahertz, " MHz"
}
unit! {
    /// A length in metres.
    Metres, " m"
}
unit! {
    /// A time in microseconds.
    Microseconds, " µs"
}
unit! {
    /// An angle or angular difference in degrees, not wrapped.
    Degrees, "°"
}
unit! {
    /// A power in milliwatts.
    Milliwatts, " mW"
}
unit! {
    /// A power density in watts per square metre (1 mW/cm² = 10 W/m²).
    WattsPerSquareMetre, " W/m²"
}

linear!(
    Db,
    Megahertz,
    Metres,
    Microseconds,
    Degrees,
    Milliwatts,
    WattsPerSquareMetre
);
level!(Dbm, DbmPerMegahertz, Dbi);

impl Neg for Db {
    type Output = Self;
    fn neg(self) -> Self {
        Self(-self.0)
    }
}

/// Transmit power plus antenna gain is an EIRP.
impl Add<Dbi> for Dbm {
    type Output = Self;
    fn add(self, gain: Dbi) -> Self {
        Self(self.0 + gain.0)
    }
}

impl Db {
    /// The power ratio as a plain factor, 10^(x/10).
    #[must_use]
    pub fn to_ratio(self) -> f64 {
        libm::exp10(self.0 / 10.0)
    }

    /// A power factor in decibels; 0 gives −∞, a negative factor NaN.
    #[must_use]
    pub fn from_ratio(ratio: f64) -> Self {
        Self(10.0 * libm::log10(ratio))
    }

    /// The amplitude ratio as a plain factor, 10^(x/20).
    #[must_use]
    pub fn to_amplitude(self) -> f64 {
        libm::exp10(self.0 / 20.0)
    }

    /// An amplitude factor in decibels; 0 gives −∞, a negative factor NaN.
    #[must_use]
    pub fn from_amplitude(amplitude: f64) -> Self {
        Self(20.0 * libm::log10(amplitude))
    }

    /// The magnitude.
    #[must_use]
    pub fn abs(self) -> Self {
        Self(self.0.abs())
    }
}

impl Dbm {
    /// The level as a power.
    #[must_use]
    pub fn to_milliwatts(self) -> Milliwatts {
        Milliwatts(libm::exp10(self.0 / 10.0))
    }

    /// The level of the sum of several powers. None of them is no power at all: −∞ dBm.
    #[must_use]
    pub fn power_sum(levels: impl IntoIterator<Item = Self>) -> Self {
        levels
            .into_iter()
            .map(Self::to_milliwatts)
            .sum::<Milliwatts>()
            .to_dbm()
    }
}

impl DbmPerMegahertz {
    /// The level in a bandwidth over which the density is constant.
    #[must_use]
    pub fn in_bandwidth(self, bandwidth: Megahertz) -> Dbm {
        Dbm(self.0 + 10.0 * libm::log10(bandwidth.0))
    }
}

impl Dbi {
    /// The same gain as a ratio, for a sum in which the isotropic reference is understood.
    #[must_use]
    pub fn over_isotropic(self) -> Db {
        Db(self.0)
    }

    /// A gain given in dB over a half-wave dipole: 0 dBd = 2.15 dBi (textbook, rounded by the trade).
    #[must_use]
    pub fn from_dbd(gain_dbd: f64) -> Self {
        Self(gain_dbd + 2.15)
    }
}

impl Milliwatts {
    /// The power as a level; nothing gives −∞ dBm, a negative power NaN.
    #[must_use]
    pub fn to_dbm(self) -> Dbm {
        Dbm(10.0 * libm::log10(self.0))
    }
}

impl Megahertz {
    /// The wavelength in vacuum.
    #[must_use]
    pub fn wavelength(self) -> Metres {
        Metres(SPEED_OF_LIGHT_M_S / (self.0 * 1e6))
    }
}

/// A probability, always 0 ≤ p ≤ 1.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Probability(f64);

impl Probability {
    /// A probability, or nothing outside 0 to 1 and for NaN.
    #[must_use]
    pub fn new(p: f64) -> Option<Self> {
        (0.0..=1.0).contains(&p).then_some(Self(p))
    }

    /// The number, 0 to 1.
    #[must_use]
    pub fn get(self) -> f64 {
        self.0
    }

    /// The probability of the opposite.
    #[must_use]
    pub fn complement(self) -> Self {
        Self(1.0 - self.0)
    }
}

impl fmt::Display for Probability {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(&(self.0 * 100.0), f)?;
        f.write_str(" %")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn levels_and_ratios() {
        assert_eq!(Dbm(-60.0) + Db(10.0), Dbm(-50.0));
        assert_eq!(Dbm(-50.0) - Dbm(-60.0), Db(10.0));
        assert_eq!(Dbm(20.0) + Dbi(10.0), Dbm(30.0));
        assert_eq!(-Db(3.0) - Db(1.0), Db(-4.0));
        assert!((Dbm(0.0).to_milliwatts().0 - 1.0).abs() < 1e-12);
        assert!((Dbm::power_sum([Dbm(-60.0), Dbm(-60.0)]).0 + 56.9897).abs() < 1e-4);
        assert_eq!(Dbm::power_sum([]).0, f64::NEG_INFINITY);
        assert!((DbmPerMegahertz(-113.98).in_bandwidth(Megahertz(5.0)).0 + 106.99).abs() < 0.005);
    }

    #[test]
    fn shown_with_their_unit() {
        assert_eq!(format!("{:.1}", Dbm(-61.25)), "-61.2 dBm");
        assert_eq!(format!("{}", Megahertz(1842.5)), "1842.5 MHz");
        assert_eq!(Probability::new(0.5).map(|p| p.to_string()), Some("50 %".into()));
        assert_eq!(Probability::new(1.5), None);
        assert_eq!(Probability::new(f64::NAN), None);
    }

    #[test]
    fn order_is_total() {
        let mut levels = [Dbm(f64::NAN), Dbm(-50.0), Dbm(-90.0)];
        levels.sort_by(Dbm::total_cmp);
        assert_eq!(levels[0], Dbm(-90.0));
        assert!(levels[2].0.is_nan());
    }

    proptest! {
        #[test]
        fn milliwatts_round_trip(level in -200.0..100.0f64) {
            prop_assert!((Dbm(level).to_milliwatts().to_dbm().0 - level).abs() < 1e-9);
        }
    }
}
