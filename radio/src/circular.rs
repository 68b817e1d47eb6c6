//! Statistics of directions (Mardia and Jupp, textbook).

use crate::units::{Bearing, Degrees};

/// Mean resultant length below which directions are taken to have no mean.
const NO_DIRECTION: f64 = 1e-9;

/// Mean direction; nothing without directions, or where they cancel.
#[must_use]
pub fn circular_mean(directions: impl IntoIterator<Item = Bearing>) -> Option<Bearing> {
    let resultant = Resultant::of(directions)?;
    (resultant.length() > NO_DIRECTION)
        .then(|| Bearing::new(libm::atan2(resultant.east, resultant.north).to_degrees()))
}

/// Mean resultant length R̄: 1 where all directions agree, 0 where they cancel; nothing without directions.
#[must_use]
pub fn resultant_length(directions: impl IntoIterator<Item = Bearing>) -> Option<f64> {
    Some(Resultant::of(directions)?.length())
}

/// Circular standard deviation √(−2·ln R̄); nothing without directions, or where they cancel.
#[must_use]
pub fn circular_deviation(directions: impl IntoIterator<Item = Bearing>) -> Option<Degrees> {
    let length = resultant_length(directions)?;
    (length > NO_DIRECTION).then(|| Degrees(libm::sqrt(-2.0 * libm::log(length.min(1.0))).to_degrees()))
}

/// Sum of unit vectors.
struct Resultant {
    north: f64,
    east: f64,
    count: f64,
}

impl Resultant {
    fn of(directions: impl IntoIterator<Item = Bearing>) -> Option<Self> {
        let mut sum = Self {
            north: 0.0,
            east: 0.0,
            count: 0.0,
        };
        for direction in directions {
            let radians = direction.degrees().to_radians();
            sum.north += libm::cos(radians);
            sum.east += libm::sin(radians);
            sum.count += 1.0;
        }
        (sum.count > 0.0 && sum.north.is_finite()).then_some(sum)
    }

    fn length(&self) -> f64 {
        libm::hypot(self.north, self.east) / self.count
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn all(degrees: &[f64]) -> Vec<Bearing> {
        degrees.iter().copied().map(Bearing::new).collect()
    }

    #[test]
    fn directions_that_cancel_have_no_mean() {
        assert_eq!(circular_mean([]), None);
        assert_eq!(circular_mean(all(&[0.0, 180.0])), None);
        assert_eq!(circular_deviation(all(&[0.0, 120.0, 240.0])), None);
        assert_eq!(resultant_length([]), None);
        assert_eq!(circular_mean(all(&[f64::NAN])), None);
        assert_eq!(
            circular_deviation(all(&[90.0, 90.0])).map(|d| d.0 < 1e-6),
            Some(true)
        );
    }

    proptest! {
        #[test]
        fn turning_everything_turns_the_mean(turn in 0.0..360.0f64) {
            let turned = |degrees: &[f64]| circular_mean(degrees.iter().map(|d| Bearing::new(d + turn))).unwrap();
            let mean = turned(&[350.0, 10.0, 20.0]);
            prop_assert!(((mean - turned(&[350.0])).0 - (turned(&[350.0, 10.0, 20.0]) - turned(&[350.0])).0).abs() < 1e-9);
            let still = circular_mean(all(&[350.0, 10.0, 20.0])).unwrap();
            prop_assert!(((mean - still).0 - Degrees(turn).wrapped().0).abs() % 360.0 < 1e-6);
        }
    }
}
