//! A reading: one band at one moment, complete.

use crate::event::SessionTime;
use booster_profile::{BandTelemetry, TenthDb};

/// One band at one moment.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Reading {
    /// When its last part arrived.
    pub at: SessionTime,
    /// Position of the band in the band table.
    pub position: usize,
    /// Sequence within the boot, unwrapped.
    pub sequence: u64,
    /// Device time within the boot in ms, unwrapped.
    pub unit_ms: u64,
    /// The values as the unit sent them.
    pub telemetry: BandTelemetry,
}

/// Loop margin: isolation − gain, both at the same frequencies. `None` when either is not known.
pub fn loop_margin(isolation: Option<TenthDb>, gain: Option<TenthDb>) -> Option<TenthDb> {
    Some(TenthDb(isolation?.0.saturating_sub(gain?.0)))
}

impl Reading {
    /// Downlink loop margin at the gain in effect.
    pub fn dl_margin(&self) -> Option<TenthDb> {
        loop_margin(self.telemetry.extra.dl_isolation, self.telemetry.dl_gain)
    }

    /// Uplink loop margin at the gain in effect.
    pub fn ul_margin(&self) -> Option<TenthDb> {
        loop_margin(self.telemetry.extra.ul_isolation, self.telemetry.ul_gain)
    }

    /// The smaller of both margins, of those that are known.
    pub fn margin(&self) -> Option<TenthDb> {
        match (self.dl_margin(), self.ul_margin()) {
            (Some(a), Some(b)) => Some(a.min(b)),
            (a, b) => a.or(b),
        }
    }
}
