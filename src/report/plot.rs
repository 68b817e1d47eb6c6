//! Axes: from values to places on the paper.

/// A straight axis.
#[derive(Clone, Copy, Debug)]
pub(super) struct Axis {
    /// Value at its beginning and its end.
    pub(super) values: (f64, f64),
    /// Place of both, in units of the drawing.
    pub(super) places: (f64, f64),
}

impl Axis {
    /// Place of a value, kept within the axis.
    pub(super) fn place(&self, value: f64) -> f64 {
        let ((v0, v1), (p0, p1)) = (self.values, self.places);
        let share = if v1 > v0 {
            ((value - v0) / (v1 - v0)).clamp(0.0, 1.0)
        } else {
            0.0
        };
        p0 + share * (p1 - p0)
    }
}

/// A place, with a tenth of a unit: finer than any printer.
pub(super) fn at(place: f64) -> String {
    let text = format!("{place:.1}");
    text.strip_suffix(".0").map_or(text.clone(), str::to_owned)
}

/// Round values within a range, at most `most` of them, by steps that are one of `steps`.
pub(super) fn ticks(range: (f64, f64), most: usize, steps: &[f64]) -> Vec<f64> {
    let (from, to) = range;
    let fits = |step: &&f64| (to - from) / **step < most as f64;
    let Some(step) = steps.iter().find(fits).or(steps.last()).copied() else {
        return Vec::new();
    };
    let first = (from / step).ceil();
    (0..=most)
        .map(|i| (first + i as f64) * step)
        .take_while(|v| *v <= to)
        .collect()
}

/// Steps of a time axis, s.
pub(super) const SECONDS: &[f64] = &[
    1.0, 2.0, 5.0, 10.0, 15.0, 30.0, 60.0, 120.0, 300.0, 600.0, 900.0, 1_800.0, 3_600.0, 7_200.0, 10_800.0,
    21_600.0, 43_200.0, 86_400.0, 604_800.0,
];

/// Steps of an axis in dB.
pub(super) const DECIBELS: &[f64] = &[5.0, 10.0, 20.0, 50.0, 100.0];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_are_round_and_few() {
        assert_eq!(ticks((-93.0, -52.0), 5, DECIBELS), [-90.0, -80.0, -70.0, -60.0]);
        assert_eq!(
            ticks((0.0, 61.0), 8, SECONDS),
            [0.0, 10.0, 20.0, 30.0, 40.0, 50.0, 60.0]
        );
        assert!(ticks((0.0, 1e12), 8, SECONDS).len() <= 9);
        assert_eq!(ticks((0.0, 0.0), 8, SECONDS), [0.0]);
    }

    #[test]
    fn what_lies_beyond_the_axis_stays_at_its_end() {
        let axis = Axis {
            values: (0.0, 10.0),
            places: (100.0, 0.0),
        };
        assert_eq!(
            [axis.place(-5.0), axis.place(2.5), axis.place(99.0)],
            [100.0, 75.0, 0.0]
        );
        assert_eq!([at(3.0), at(3.26)], ["3", "3.3"]);
    }
}
