//! How a value is spread over time: every tenth counted, so that percentiles are exact and memory is bounded.

use serde::Serialize;

/// Values counted, in tenths: −250.0 to 250.0 dB or dBm; beyond, the outermost.
const EDGE: i32 = 2_500;

/// Counts of a value given in tenths.
#[derive(Clone, Debug, Default)]
pub(super) struct Spread {
    counts: Vec<u64>,
    total: u64,
}

/// Percentiles of a value.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub(super) struct Percentiles {
    /// 5 % are at or below this.
    pub(super) p5: f64,
    /// Half.
    pub(super) median: f64,
    /// 95 %.
    pub(super) p95: f64,
}

impl Spread {
    /// Counts a value.
    pub(super) fn push(&mut self, tenths: i16) {
        if self.counts.is_empty() {
            self.counts = vec![0; 2 * EDGE as usize + 1];
        }
        let index = i32::from(tenths).clamp(-EDGE, EDGE) + EDGE;
        if let Some(count) = usize::try_from(index).ok().and_then(|i| self.counts.get_mut(i)) {
            *count += 1;
            self.total += 1;
        }
    }

    /// Percentiles by the nearest rank; `None` without values.
    pub(super) fn percentiles(&self) -> Option<Percentiles> {
        Some(Percentiles {
            p5: self.rank(5)?,
            median: self.rank(50)?,
            p95: self.rank(95)?,
        })
    }

    fn rank(&self, percent: u64) -> Option<f64> {
        let wanted = (self.total * percent).div_ceil(100).max(1);
        let mut seen = 0;
        let index = self.counts.iter().position(|n| {
            seen += n;
            seen >= wanted
        })?;
        Some((index as f64 - f64::from(EDGE)) / 10.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn nothing_has_no_percentiles() {
        assert_eq!(Spread::default().percentiles(), None);
    }

    proptest! {
        #[test]
        fn percentiles_are_the_nearest_ranks_of_the_sorted_values(mut values in prop::collection::vec(-2_000i16..2_000, 1..300)) {
            let mut spread = Spread::default();
            values.iter().for_each(|v| spread.push(*v));
            values.sort_unstable();
            let rank = |percent: usize| f64::from(values[(values.len() * percent).div_ceil(100).max(1) - 1]) / 10.0;
            prop_assert_eq!(
                spread.percentiles(),
                Some(Percentiles { p5: rank(5), median: rank(50), p95: rank(95) })
            );
        }
    }
}
