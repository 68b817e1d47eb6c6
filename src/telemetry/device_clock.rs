//! The unit's clock against session time.

use crate::event::SessionTime;
use std::time::Duration;

/// Least delay seen between the unit's time stamp and arrival, and how much the last reading exceeded it. The excess
/// has a floor of one connection interval: it describes the path, never the unit.
#[derive(Clone, Debug, Default)]
pub struct DeviceClock {
    /// Session time − device time of the fastest reading so far, µs.
    offset_us: Option<i64>,
    last_excess_us: Option<u64>,
}

impl DeviceClock {
    pub(super) fn observe(&mut self, at: SessionTime, unit_ms: u64) {
        let at_us = i64::try_from(at.0).unwrap_or(i64::MAX);
        let unit_us = i64::try_from(unit_ms.saturating_mul(1_000)).unwrap_or(i64::MAX);
        let difference = at_us.saturating_sub(unit_us);
        let offset = self.offset_us.map_or(difference, |o| o.min(difference));
        self.offset_us = Some(offset);
        self.last_excess_us = Some(difference.saturating_sub(offset).unsigned_abs());
    }

    /// How much later than the fastest reading of this boot the last one arrived.
    pub fn last_excess(&self) -> Option<Duration> {
        self.last_excess_us.map(Duration::from_micros)
    }
}
