//! Levels and ratios in tenths, as they travel.
//!
//! There is no SIG unit for dB or dBm: on the air both are bel (0x2787) with exponent −2; the reference of a level,
//! 1 mW, stands in the definition of its characteristic.

use core::fmt;

/// A ratio in tenths of a dB: a gain, a loss, an isolation, RSRQ or SINR. −3276.7 … 3276.7 dB.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct TenthDb(pub i16);

/// A level in tenths of a dBm (dB over 1 mW). −3276.7 … 3276.7 dBm.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct TenthDbm(pub i16);

macro_rules! tenths {
    ($name:ident, $unit:literal, $getter:ident) => {
        impl $name {
            /// The value in whole units. Division, not multiplication by 0.1: it gives the nearest double, so that
            /// −47.3 prints as −47.3.
            pub fn $getter(self) -> f64 {
                f64::from(self.0) / 10.0
            }

            /// The nearest tenth to `value`; `None` for a value outside the range or not a number.
            pub fn from_units(value: f64) -> Option<Self> {
                let tenths = value * 10.0;
                let half = if tenths < 0.0 { -0.5 } else { 0.5 };
                let rounded = tenths + half;
                // −32768 is "not known"; the cast truncates towards zero, which completes the rounding.
                (rounded > -32_768.0 && rounded < 32_768.0).then(|| Self(rounded as i16))
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                write!(f, "{:.1} {}", self.$getter(), $unit)
            }
        }
    };
}

tenths!(TenthDb, "dB", db);
tenths!(TenthDbm, "dBm", dbm);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rounds_to_the_nearest_tenth_on_both_sides_of_zero() {
        assert_eq!(TenthDbm::from_units(-47.26), Some(TenthDbm(-473)));
        assert_eq!(TenthDb::from_units(0.04), Some(TenthDb(0)));
        assert_eq!(TenthDb::from_units(15.25), Some(TenthDb(153)));
    }

    #[test]
    fn refuses_what_a_sint16_cannot_hold() {
        assert_eq!(TenthDb::from_units(f64::NAN), None);
        assert_eq!(TenthDb::from_units(-3276.8), None);
        assert_eq!(TenthDb::from_units(3276.8), None);
        assert_eq!(TenthDb::from_units(3276.7), Some(TenthDb(32767)));
    }
}
