//! A value over time in bounded memory: as fine as its length allows.

use crate::event::SessionTime;

/// Most spans of a curve; a drawing has hardly more columns.
const MOST: usize = 480;
/// Length of a span at first, µs.
const FINEST_US: u64 = 250_000;

/// What a value did within a span.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Span {
    /// Smallest.
    pub(super) min: f64,
    /// Largest.
    pub(super) max: f64,
    sum: f64,
    count: f64,
}

impl Span {
    fn of(value: f64) -> Self {
        Self {
            min: value,
            max: value,
            sum: value,
            count: 1.0,
        }
    }

    fn join(self, other: Self) -> Self {
        Self {
            min: self.min.min(other.min),
            max: self.max.max(other.max),
            sum: self.sum + other.sum,
            count: self.count + other.count,
        }
    }

    /// Arithmetic mean.
    pub(super) fn mean(self) -> f64 {
        self.sum / self.count
    }
}

/// A value over a session. A span without a value stays empty: a gap is a gap.
#[derive(Clone, Debug)]
pub(super) struct Curve {
    span_us: u64,
    spans: Vec<Option<Span>>,
}

impl Default for Curve {
    fn default() -> Self {
        Self {
            span_us: FINEST_US,
            spans: Vec::new(),
        }
    }
}

impl Curve {
    /// Takes in a value.
    pub(super) fn push(&mut self, at: SessionTime, value: f64) {
        while at.0 / self.span_us >= MOST as u64 {
            self.coarsen();
        }
        let index = usize::try_from(at.0 / self.span_us).unwrap_or(MOST);
        if self.spans.len() <= index {
            self.spans.resize(index + 1, None);
        }
        let span = Span::of(value);
        if let Some(slot) = self.spans.get_mut(index) {
            *slot = Some(slot.map_or(span, |s| s.join(span)));
        }
    }

    fn coarsen(&mut self) {
        let pair = |pair: &[Option<Span>]| match pair {
            [Some(a), Some(b)] => Some(a.join(*b)),
            [a, b] => a.or(*b),
            _ => pair.first().copied().flatten(),
        };
        self.spans = self.spans.chunks(2).map(pair).collect();
        self.span_us = self.span_us.saturating_mul(2);
    }

    /// Length of a span, µs.
    pub(super) fn span_us(&self) -> u64 {
        self.span_us
    }

    /// Spans with a value, each with the µs of its middle.
    pub(super) fn points(&self) -> impl Iterator<Item = (u64, Span)> {
        let middle = |i: usize| self.span_us * i as u64 + self.span_us / 2;
        self.spans
            .iter()
            .enumerate()
            .filter_map(move |(i, s)| Some((middle(i), (*s)?)))
    }

    /// Smallest and largest value; `None` without any.
    pub(super) fn extent(&self) -> Option<(f64, f64)> {
        self.points()
            .map(|(_, s)| (s.min, s.max))
            .reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_gap_stays_a_gap() {
        let mut curve = Curve::default();
        for second in [0, 1, 2, 60, 61] {
            curve.push(SessionTime::from_millis(1_000 * second), second as f64);
        }
        let points: Vec<u64> = curve.points().map(|(at, _)| at / 1_000_000).collect();
        assert_eq!(points, [0, 1, 2, 60, 61]);
        assert_eq!(curve.extent(), Some((0.0, 61.0)));
    }

    proptest! {
        /// However long the session: no value is lost, and the memory is bounded.
        #[test]
        fn extremes_and_mean_survive(
            values in prop::collection::vec((0..u64::MAX / 4, -100.0..100.0f64), 1..200)
        ) {
            let mut curve = Curve::default();
            for (at, value) in &values {
                curve.push(SessionTime(*at), *value);
            }
            prop_assert!(curve.points().count() <= MOST);
            let all = values.iter().map(|(_, v)| *v);
            let (min, max) = (all.clone().fold(f64::MAX, f64::min), all.clone().fold(f64::MIN, f64::max));
            prop_assert_eq!(curve.extent(), Some((min, max)));
            let (sum, count) = curve.points().fold((0.0, 0.0), |(s, n), (_, p)| (s + p.sum, n + p.count));
            prop_assert_eq!(count as usize, values.len());
            prop_assert!((sum - all.sum::<f64>()).abs() < 1e-6);
        }
    }
}
