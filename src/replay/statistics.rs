//! What the readings of a session were like, band by band: exact, and in memory that depends on their spread alone.

use crate::telemetry::Reading;
use std::collections::VecDeque;

/// A quantity of a reading, in tenths of its unit.
#[derive(Clone, Copy, Debug)]
pub struct Quantity {
    /// Name as in JSON, with its unit.
    pub name: &'static str,
    of: fn(&Reading) -> Option<i16>,
}

impl Quantity {
    /// Every quantity that statistics are kept of.
    pub const ALL: [Quantity; 12] = [
        Quantity::new("dl_input_dbm", |r| r.telemetry.dl_input.map(|v| v.0)),
        Quantity::new("dl_gain_db", |r| r.telemetry.dl_gain.map(|v| v.0)),
        Quantity::new("ul_gain_db", |r| r.telemetry.ul_gain.map(|v| v.0)),
        Quantity::new("dl_output_dbm", |r| r.telemetry.extra.dl_output.map(|v| v.0)),
        Quantity::new("ul_input_dbm", |r| r.telemetry.extra.ul_input.map(|v| v.0)),
        Quantity::new("ul_output_dbm", |r| r.telemetry.ul_output.map(|v| v.0)),
        Quantity::new("dl_isolation_db", |r| r.telemetry.extra.dl_isolation.map(|v| v.0)),
        Quantity::new("ul_isolation_db", |r| r.telemetry.extra.ul_isolation.map(|v| v.0)),
        Quantity::new("loop_margin_db", |r| r.margin().map(|v| v.0)),
        Quantity::new("rsrp_dbm", |r| r.telemetry.extra.cell.rsrp.map(|v| v.0)),
        Quantity::new("rsrq_db", |r| r.telemetry.extra.cell.rsrq.map(|v| v.0)),
        Quantity::new("sinr_db", |r| r.telemetry.extra.cell.sinr.map(|v| v.0)),
    ];

    const fn new(name: &'static str, of: fn(&Reading) -> Option<i16>) -> Self {
        Self { name, of }
    }
}

/// How often each value of a quantity came.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Tally {
    /// The value, in tenths, that the first count belongs to.
    first: i32,
    counts: VecDeque<u64>,
    count: u64,
    sum: i64,
}

impl Tally {
    /// Counts a value, in tenths.
    pub fn add(&mut self, value: i16) {
        let value = i32::from(value);
        if self.counts.is_empty() {
            self.first = value;
        }
        while value < self.first {
            self.counts.push_front(0);
            self.first -= 1;
        }
        let place = usize::try_from(value - self.first).unwrap_or(0);
        if place >= self.counts.len() {
            self.counts.resize(place + 1, 0);
        }
        if let Some(count) = self.counts.get_mut(place) {
            *count += 1;
        }
        self.count += 1;
        self.sum += i64::from(value);
    }

    /// Values counted.
    pub fn count(&self) -> u64 {
        self.count
    }

    /// Mean, in the quantity's unit.
    pub fn mean(&self) -> Option<f64> {
        (self.count > 0).then(|| self.sum as f64 / self.count as f64 / 10.0)
    }

    /// The smallest value that at least this share (above 0 to 1) of the values does not exceed, in the quantity's unit:
    /// the nearest-rank percentile, so always a value that came.
    pub fn percentile(&self, share: f64) -> Option<f64> {
        let rank = ((share * self.count as f64).ceil() as u64).clamp(1, self.count.max(1));
        let mut seen = 0;
        let place = self.counts.iter().position(|count| {
            seen += count;
            seen >= rank
        })?;
        Some((f64::from(self.first) + place as f64) / 10.0)
    }

    /// A figure by its name in expectation files.
    pub fn figure(&self, bound: Bound) -> Option<f64> {
        match bound {
            Bound::Mean => self.mean(),
            Bound::P1 => self.percentile(0.01),
            Bound::P50 => self.percentile(0.5),
            Bound::P99 => self.percentile(0.99),
        }
    }
}

/// A figure of a tally that can be bounded.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Bound {
    /// Arithmetic mean of the values in dB or dBm.
    Mean,
    /// 1st percentile.
    P1,
    /// Median.
    P50,
    /// 99th percentile.
    P99,
}

impl Bound {
    /// Every figure, in the order of an expectation file.
    pub const ALL: [Bound; 4] = [Bound::Mean, Bound::P1, Bound::P50, Bound::P99];

    /// Name in expectation files.
    pub const fn name(self) -> &'static str {
        match self {
            Bound::Mean => "mean",
            Bound::P1 => "p1",
            Bound::P50 => "p50",
            Bound::P99 => "p99",
        }
    }
}

/// Tallies of a session, by position of the band and in the order of [`Quantity::ALL`]. A reading that came late
/// counts: it is a reading.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Statistics {
    bands: Vec<[Tally; Quantity::ALL.len()]>,
}

impl Statistics {
    /// Counts a reading.
    pub fn add(&mut self, reading: &Reading) {
        if self.bands.len() <= reading.position {
            self.bands.resize_with(reading.position + 1, Default::default);
        }
        if let Some(tallies) = self.bands.get_mut(reading.position) {
            for (tally, quantity) in tallies.iter_mut().zip(Quantity::ALL) {
                if let Some(value) = (quantity.of)(reading) {
                    tally.add(value);
                }
            }
        }
    }

    /// Quantities of the band at this position that were known at least once.
    pub fn of(&self, position: usize) -> impl Iterator<Item = (Quantity, &Tally)> {
        let tallies = self.bands.get(position).into_iter().flatten();
        Quantity::ALL
            .into_iter()
            .zip(tallies)
            .filter(|(_, t)| t.count > 0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        /// Against sorting all values.
        #[test]
        fn a_tally_says_what_sorting_says(mut values in proptest::collection::vec(-2_000_i16..2_000, 1..300)) {
            let mut tally = Tally::default();
            values.iter().for_each(|v| tally.add(*v));
            values.sort_unstable();
            let mean = values.iter().map(|v| f64::from(*v)).sum::<f64>() / values.len() as f64 / 10.0;
            prop_assert!((tally.mean().unwrap() - mean).abs() < 1e-9);
            for share in [0.01, 0.5, 0.99, 1.0] {
                let rank = (share * values.len() as f64).ceil() as usize;
                prop_assert_eq!(tally.percentile(share), Some(f64::from(values[rank - 1]) / 10.0));
            }
        }
    }

    #[test]
    fn nothing_has_no_figures() {
        let tally = Tally::default();
        assert_eq!(
            (tally.mean(), tally.percentile(0.5), tally.count()),
            (None, None, 0)
        );
    }
}
