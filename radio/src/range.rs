//! What a function says when it is asked for something outside the range of its formula.

use core::fmt;
use core::ops::{Bound, RangeBounds};

use thiserror::Error;

/// A quantity outside the range in which a formula holds.
#[derive(Clone, Copy, Debug, Error, PartialEq)]
#[error("{operation}: {quantity} {value}{unit} is out of range ({range}{unit}); {advice}")]
pub struct RangeError {
    /// What was being worked out, for example "free-space loss".
    pub operation: &'static str,
    /// The quantity that is out of range, for example "distance".
    pub quantity: &'static str,
    /// The value that was given.
    pub value: f64,
    /// The unit of value and range with a leading space, or nothing for a plain number.
    pub unit: &'static str,
    /// The values allowed.
    pub range: Range,
    /// What to do instead.
    pub advice: &'static str,
}

/// A range of finite numbers.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Range {
    low: Bound<f64>,
    high: Bound<f64>,
}

impl Range {
    fn contains(&self, value: f64) -> bool {
        value.is_finite() && (self.low, self.high).contains(&value)
    }
}

impl fmt::Display for Range {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match (self.low, self.high) {
            (Bound::Included(low), Bound::Included(high)) => write!(f, "{low} to {high}"),
            (low, high) => {
                let mut joiner = "";
                match low {
                    Bound::Included(low) => write!(f, "at least {low}")?,
                    Bound::Excluded(low) => write!(f, "above {low}")?,
                    Bound::Unbounded => {}
                }
                if !matches!(low, Bound::Unbounded) {
                    joiner = ", ";
                }
                match high {
                    Bound::Included(high) => write!(f, "{joiner}at most {high}"),
                    Bound::Excluded(high) => write!(f, "{joiner}below {high}"),
                    Bound::Unbounded if joiner.is_empty() => f.write_str("any number"),
                    Bound::Unbounded => Ok(()),
                }
            }
        }
    }
}

/// Above `low` and up to `high`.
pub(crate) fn above(low: f64, high: f64) -> (Bound<f64>, Bound<f64>) {
    (Bound::Excluded(low), Bound::Included(high))
}

/// The checks of one operation, whose name every error carries.
pub(crate) struct Check(pub &'static str);

impl Check {
    /// `value` when it is a finite number within `range`.
    pub fn within(
        &self,
        quantity: &'static str,
        value: f64,
        unit: &'static str,
        range: impl RangeBounds<f64>,
        advice: &'static str,
    ) -> Result<f64, RangeError> {
        let range = Range {
            low: range.start_bound().cloned(),
            high: range.end_bound().cloned(),
        };
        if range.contains(value) {
            Ok(value)
        } else {
            Err(RangeError {
                operation: self.0,
                quantity,
                value,
                unit,
                range,
                advice,
            })
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_error_says_what_is_allowed_and_what_to_do() {
        let check = Check("entry loss");
        let error = check
            .within("frequency", 0.01, " GHz", 0.08..=100.0, "use another model")
            .unwrap_err();
        assert_eq!(
            error.to_string(),
            "entry loss: frequency 0.01 GHz is out of range (0.08 to 100 GHz); use another model"
        );
        let error = check
            .within("margin", 0.0, " dB", above(0.0, 200.0), "lower the gain")
            .unwrap_err();
        assert!(error.to_string().contains("(above 0, at most 200 dB)"), "{error}");
    }

    #[test]
    fn what_is_not_a_number_is_never_in_range() {
        assert!(Check("x").within("y", f64::NAN, "", .., "").is_err());
        assert!(Check("x").within("y", f64::INFINITY, "", 0.0.., "").is_err());
        assert_eq!(Check("x").within("y", 1.0, "", 0.0.., ""), Ok(1.0));
    }
}
