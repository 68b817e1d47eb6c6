//! A series of values in constant memory: percentiles, the worst minute, the mean and how sure it is.

use crate::event::SessionTime;
use hdrhistogram::Histogram;
use radio::samples::effective_samples_short;

/// Tenths that a histogram of three digits tells apart exactly.
const TENTHS: u64 = 2_047;
/// Length of the parts of which the worst is looked for, s.
const PART_S: f64 = 60.0;
/// A part shorter than this says nothing of its own, s.
const LEAST_PART_S: f64 = 10.0;

/// Where the range of a series begins; it is 204.6 wide.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Scale {
    /// Levels, −160.0 to 44.6 dBm.
    Level,
    /// Ratios, −60.0 to 144.6 dB; also °C.
    Ratio,
}

impl Scale {
    fn lowest_tenth(self) -> f64 {
        match self {
            Scale::Level => -1_600.0,
            Scale::Ratio => -600.0,
        }
    }
}

/// One series.
#[derive(Clone, Debug)]
pub(super) struct Spread {
    scale: Scale,
    whole: Option<Histogram<u32>>,
    part: Option<Histogram<u32>>,
    part_began: SessionTime,
    part_s: f64,
    /// Worst 1st and 99th percentile of a part that is over.
    worst_low: Option<f64>,
    worst_high: Option<f64>,
    means: SecondMeans,
}

impl Spread {
    pub(super) fn new(scale: Scale) -> Self {
        Self {
            scale,
            whole: None,
            part: None,
            part_began: SessionTime::ZERO,
            part_s: 0.0,
            worst_low: None,
            worst_high: None,
            means: SecondMeans::default(),
        }
    }

    /// Takes in a value; one outside the range counts as the end of it.
    pub(super) fn record(&mut self, at: SessionTime, value: Option<f64>) {
        let Some(value) = value.filter(|v| v.is_finite()) else {
            return;
        };
        let tenth = ((value * 10.0).round() - self.scale.lowest_tenth()).clamp(0.0, TENTHS as f64 - 1.0);
        if self.whole.is_none() {
            self.part_began = at;
        }
        if at.since(self.part_began).as_secs_f64() >= PART_S {
            self.close_part();
            self.part_began = at;
        }
        self.part_s = at.since(self.part_began).as_secs_f64();
        for histogram in [&mut self.whole, &mut self.part] {
            if histogram.is_none() {
                *histogram = Histogram::new_with_bounds(1, TENTHS, 3).ok();
            }
            if let Some(histogram) = histogram {
                histogram.saturating_record(tenth as u64 + 1);
            }
        }
        self.means.record(at, value);
    }

    fn close_part(&mut self) {
        let low = self.of(&self.part, 1.0);
        let high = self.of(&self.part, 99.0);
        self.worst_low = least(self.worst_low, low);
        self.worst_high = most(self.worst_high, high);
        if let Some(part) = &mut self.part {
            part.reset();
        }
    }

    fn of(&self, histogram: &Option<Histogram<u32>>, percentile: f64) -> Option<f64> {
        let histogram = histogram.as_ref().filter(|h| !h.is_empty())?;
        self.value(histogram.value_at_percentile(percentile))
    }

    fn value(&self, recorded: u64) -> Option<f64> {
        Some((recorded as f64 - 1.0 + self.scale.lowest_tenth()) / 10.0)
    }

    /// A percentile of the whole period, 0 to 100.
    pub(super) fn percentile(&self, percentile: f64) -> Option<f64> {
        self.of(&self.whole, percentile)
    }

    /// 1st percentile of the minute in which it is lowest.
    pub(super) fn worst_minute_low(&self) -> Option<f64> {
        least(self.worst_low, self.last_part().and(self.of(&self.part, 1.0)))
    }

    /// 99th percentile of the minute in which it is highest.
    pub(super) fn worst_minute_high(&self) -> Option<f64> {
        most(self.worst_high, self.last_part().and(self.of(&self.part, 99.0)))
    }

    /// The part that is not over counts when it is long enough, or the only one.
    fn last_part(&self) -> Option<()> {
        (self.part_s >= LEAST_PART_S || self.worst_low.is_none()).then_some(())
    }

    pub(super) fn min(&self) -> Option<f64> {
        self.percentile(0.0)
    }

    pub(super) fn max(&self) -> Option<f64> {
        self.percentile(100.0)
    }

    pub(super) fn mean(&self) -> Option<f64> {
        self.means.mean()
    }

    /// Standard error of the mean, from the independent samples that the series is worth.
    pub(super) fn standard_error(&self) -> Option<f64> {
        self.means.standard_error()
    }
}

fn least(a: Option<f64>, b: Option<f64>) -> Option<f64> {
    a.map_or(b, |a| Some(b.map_or(a, |b| a.min(b))))
}

fn most(a: Option<f64>, b: Option<f64>) -> Option<f64> {
    a.map_or(b, |a| Some(b.map_or(a, |b| a.max(b))))
}

/// Means over whole seconds, their sums and their correlation from one second to the next. Values are taken relative
/// to the first one, so that nothing cancels.
#[derive(Clone, Debug, Default)]
struct SecondMeans {
    origin: Option<f64>,
    second: u64,
    sum: f64,
    count: u32,
    /// The mean of the second before, if it was the one directly before.
    before: Option<f64>,
    n: u32,
    total: f64,
    squares: f64,
    pairs: u32,
    products: f64,
}

impl SecondMeans {
    fn record(&mut self, at: SessionTime, value: f64) {
        let origin = *self.origin.get_or_insert(value);
        let second = at.0 / 1_000_000;
        if second != self.second && self.count > 0 {
            self.close();
            if second != self.second + 1 {
                self.before = None;
            }
        }
        self.second = second;
        self.sum += value - origin;
        self.count += 1;
    }

    fn close(&mut self) {
        let mean = self.sum / f64::from(self.count);
        self.n += 1;
        self.total += mean;
        self.squares += mean * mean;
        if let Some(before) = self.before {
            self.pairs += 1;
            self.products += before * mean;
        }
        self.before = Some(mean);
        (self.sum, self.count) = (0.0, 0);
    }

    /// With the second that is not over.
    fn closed(&self) -> Self {
        let mut all = self.clone();
        if all.count > 0 {
            all.close();
        }
        all
    }

    fn mean(&self) -> Option<f64> {
        let all = self.closed();
        Some(self.origin? + all.total / f64::from(all.n.max(1)))
    }

    fn standard_error(&self) -> Option<f64> {
        let all = self.closed();
        if all.n < 3 || all.pairs == 0 {
            return None;
        }
        let n = f64::from(all.n);
        let mean = all.total / n;
        let variance = (all.squares / n - mean * mean).max(0.0);
        if variance < 1e-9 {
            return Some(0.0);
        }
        let covariance = all.products / f64::from(all.pairs) - mean * mean;
        // A series is worth one sample at least, and a short one cannot show that it is anti-correlated.
        let rho = (covariance / variance).clamp(0.0, 0.99);
        let samples = effective_samples_short(all.n, rho).ok()?.max(1.0);
        Some((variance * n / (n - 1.0) / samples).sqrt())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn at(tenths_s: u64) -> SessionTime {
        SessionTime::from_millis(tenths_s * 100)
    }

    #[test]
    fn tenths_come_back_exactly_at_both_ends() {
        for (scale, values) in [
            (Scale::Level, [-160.0, -132.2, -47.3, 0.0, 44.6]),
            (Scale::Ratio, [-60.0, -0.1, 15.0, 83.7, 144.6]),
        ] {
            for value in values {
                let mut spread = Spread::new(scale);
                spread.record(at(0), Some(value));
                assert_eq!(spread.percentile(50.0), Some(value));
            }
        }
        assert_eq!(Spread::new(Scale::Level).percentile(50.0), None);
    }

    #[test]
    fn the_worst_minute_is_told_from_the_rest() {
        let mut spread = Spread::new(Scale::Ratio);
        for i in 0..1_800 {
            let dips = (600..700).contains(&i);
            spread.record(at(i), Some(if dips { 12.0 } else { 20.0 }));
        }
        assert_eq!(spread.worst_minute_low(), Some(12.0));
        assert_eq!(spread.worst_minute_high(), Some(20.0));
        assert_eq!(spread.percentile(50.0), Some(20.0));
        assert_eq!(spread.min(), Some(12.0));
    }

    #[test]
    fn one_bad_reading_is_the_worst_case_but_not_the_worst_minute() {
        let mut spread = Spread::new(Scale::Ratio);
        for i in 0..600 {
            spread.record(at(i), Some(if i == 300 { -5.0 } else { 20.0 }));
        }
        assert_eq!(spread.worst_minute_low(), Some(20.0));
        assert_eq!(spread.min(), Some(-5.0));
    }

    #[test]
    fn a_correlated_series_is_worth_fewer_samples() {
        // Two minutes at one value, two at another: very sure if the seconds were independent.
        let (mut slow, mut fast) = (Spread::new(Scale::Level), Spread::new(Scale::Level));
        for i in 0..2_400 {
            slow.record(at(i), Some(if i < 1_200 { -81.0 } else { -79.0 }));
            fast.record(at(i), Some(if i / 10 % 2 == 0 { -81.0 } else { -79.0 }));
        }
        assert!((slow.mean().unwrap() + 80.0).abs() < 1e-9);
        let (slow, fast) = (slow.standard_error().unwrap(), fast.standard_error().unwrap());
        assert!(slow > 0.5, "{slow}");
        assert!((fast - 1.0 / 240_f64.sqrt()).abs() < 0.01, "{fast}");
    }

    proptest! {
        #[test]
        fn nothing_breaks_on_any_values(values in prop::collection::vec((0u64..10_000_000_000, -1e9..1e9f64), 0..200)) {
            let mut times: Vec<u64> = values.iter().map(|v| v.0).collect();
            times.sort_unstable();
            let mut spread = Spread::new(Scale::Level);
            for (time, (_, value)) in times.iter().zip(&values) {
                spread.record(SessionTime(*time), Some(*value));
            }
            if !values.is_empty() {
                let (low, high) = (spread.min().unwrap(), spread.max().unwrap());
                prop_assert!(low <= spread.percentile(50.0).unwrap() && spread.percentile(50.0).unwrap() <= high);
                prop_assert!(spread.worst_minute_low().unwrap() >= low);
            }
            if let Some(error) = spread.standard_error() {
                prop_assert!(error.is_finite() && error >= 0.0);
            }
        }
    }
}
