//! Angles, and directions on the compass.

use core::cmp::Ordering;
use core::fmt;
use core::ops::{Add, Neg, Sub};

use super::Degrees;

impl Neg for Degrees {
    type Output = Self;
    fn neg(self) -> Self {
        Self(-self.0)
    }
}

impl Degrees {
    /// The angle in radians.
    #[must_use]
    pub fn to_radians(self) -> f64 {
        self.0.to_radians()
    }

    /// The same direction within −180 (exclusive) to +180 (inclusive).
    #[must_use]
    pub fn wrapped(self) -> Self {
        let turned = wrap_turn(self.0);
        Self(if turned > 180.0 { turned - 360.0 } else { turned })
    }

    /// The magnitude.
    #[must_use]
    pub fn abs(self) -> Self {
        Self(self.0.abs())
    }
}

/// A compass direction in degrees clockwise from north, always 0 ≤ x < 360 (NaN for a value that is not
/// finite).
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Bearing(f64);

impl Bearing {
    /// A direction from any number of degrees: −10 is 350.
    #[must_use]
    pub fn new(degrees: f64) -> Self {
        Self(wrap_turn(degrees))
    }

    /// Degrees clockwise from north, 0 ≤ x < 360.
    #[must_use]
    pub fn degrees(self) -> f64 {
        self.0
    }

    /// Order by degrees, NaN last.
    #[must_use]
    pub fn total_cmp(&self, other: &Self) -> Ordering {
        self.0.total_cmp(&other.0)
    }

    /// The opposite direction.
    #[must_use]
    pub fn reversed(self) -> Self {
        Self::new(self.0 + 180.0)
    }

    /// The true bearing of a magnetic one: declination counts east as positive.
    #[must_use]
    pub fn corrected_for_declination(self, declination_east: Degrees) -> Self {
        self + declination_east
    }
}

impl fmt::Display for Bearing {
    /// Three whole digits as on a compass, for example `007°`. A precision gives decimals: `{:.1}` is `007.0°`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let decimals = f.precision().unwrap_or(0);
        let width = if decimals == 0 { 3 } else { 4 + decimals };
        let text = format!("{:0width$.decimals$}", self.0);
        // Rounding may reach the full circle.
        let text = if text.starts_with("360") {
            format!("{:0width$.decimals$}", 0.0)
        } else {
            text
        };
        write!(f, "{text}°")
    }
}

/// From the second direction to the first by the shorter way, clockwise positive, −180 < x ≤ 180.
impl Sub for Bearing {
    type Output = Degrees;
    fn sub(self, other: Self) -> Degrees {
        Degrees(self.0 - other.0).wrapped()
    }
}

impl Add<Degrees> for Bearing {
    type Output = Self;
    fn add(self, turn: Degrees) -> Self {
        Self::new(self.0 + turn.0)
    }
}

impl Sub<Degrees> for Bearing {
    type Output = Self;
    fn sub(self, turn: Degrees) -> Self {
        Self::new(self.0 - turn.0)
    }
}

/// Into 0 ≤ x < 360. A tiny negative angle would round up to 360, which is 0.
fn wrap_turn(degrees: f64) -> f64 {
    let turned = degrees.rem_euclid(360.0);
    if turned >= 360.0 { 0.0 } else { turned }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn bearings_go_round() {
        assert_eq!(Bearing::new(-10.0).degrees(), 350.0);
        assert_eq!(Bearing::new(-1e-20).degrees(), 0.0);
        assert_eq!(Bearing::new(10.0) - Bearing::new(350.0), Degrees(20.0));
        assert_eq!(Bearing::new(350.0) - Bearing::new(10.0), Degrees(-20.0));
        assert_eq!(Bearing::new(200.0).reversed().degrees(), 20.0);
        assert_eq!((Bearing::new(350.0) + Degrees(20.0)).degrees(), 10.0);
        assert!(Bearing::new(f64::INFINITY).degrees().is_nan());
    }

    #[test]
    fn shown_as_on_a_compass() {
        assert_eq!(format!("{}", Bearing::new(7.2)), "007°");
        assert_eq!(format!("{:.1}", Bearing::new(7.2)), "007.2°");
        assert_eq!(format!("{}", Bearing::new(359.9)), "000°");
    }

    proptest! {
        #[test]
        fn a_bearing_is_in_the_circle(degrees in -1e6..1e6f64, other in -1e6..1e6f64) {
            let (a, b) = (Bearing::new(degrees), Bearing::new(other));
            prop_assert!((0.0..360.0).contains(&a.degrees()));
            let turn = a - b;
            prop_assert!(turn.0 > -180.0 && turn.0 <= 180.0);
            prop_assert!(((b + turn) - a).0.abs() < 1e-6);
        }
    }
}
