//! What rules remember of a band: constant size, updated in constant time.

use super::Path;
use crate::telemetry::{Accounts, Reading};
use booster_profile::{Direction, EventCode, TenthDbm, UnitEvent};
use std::time::Duration;

/// Length of a block of the loss window; three blocks make the half minute.
const BLOCK: Duration = Duration::from_secs(10);

/// Memory of one band.
#[derive(Clone, Debug, Default)]
pub(super) struct Memory {
    last_unit_ms: Option<u64>,
    interval: Option<Duration>,
    /// Oscillation that the unit reported and has not taken back, by path.
    oscillating: [bool; 2],
    frozen: Option<([Option<TenthDbm>; 2], Duration)>,
    loss: LossWindow,
}

impl Memory {
    /// Takes in a reading; the time since the one before, unless readings are missing in between.
    pub(super) fn step(&mut self, reading: &Reading, default_interval: Duration) -> Option<Duration> {
        let before = self.last_unit_ms.replace(reading.unit_ms)?;
        let step = Duration::from_millis(reading.unit_ms.saturating_sub(before));
        let interval = self.interval.unwrap_or(default_interval);
        // The shortest recent step is the interval in force; it creeps up again after a change to a longer one.
        self.interval = Some(if step < interval {
            step
        } else {
            interval + (step - interval) / 8
        });
        let whole = step <= interval * 3;
        self.watch_frozen(reading, if whole { step } else { Duration::ZERO });
        whole.then_some(step)
    }

    /// The unit starts anew: its clock and what it said about oscillation begin again.
    pub(super) fn restarted(&mut self) {
        self.last_unit_ms = None;
        self.oscillating = [false; 2];
    }

    pub(super) fn event(&mut self, event: &UnitEvent) {
        let now = match event.code {
            EventCode::OscillationDetected | EventCode::GuardActed => true,
            EventCode::OscillationCleared | EventCode::LatchedOff => false,
            _ => return,
        };
        if event.direction != Direction::Uplink {
            self.oscillating[Path::Downlink as usize] = now;
        }
        if event.direction != Direction::Downlink {
            self.oscillating[Path::Uplink as usize] = now;
        }
    }

    pub(super) fn oscillating(&self, path: Path) -> bool {
        self.oscillating[path as usize]
    }

    /// Report interval in force, as seen.
    pub(super) fn interval(&self) -> Option<Duration> {
        self.interval
    }

    /// How long the levels have not moved by a tenth of a dB.
    pub(super) fn frozen_for(&self) -> Duration {
        self.frozen.map_or(Duration::ZERO, |(_, d)| d)
    }

    fn watch_frozen(&mut self, reading: &Reading, step: Duration) {
        let levels = [reading.telemetry.dl_input, reading.telemetry.extra.dl_output];
        self.frozen = match self.frozen {
            Some((same, so_far)) if same == levels && levels[0].is_some() => Some((same, so_far + step)),
            _ => Some((levels, Duration::ZERO)),
        };
    }

    pub(super) fn account(&mut self, reading: &Reading, accounts: Accounts) {
        self.loss.add(Duration::from_millis(reading.unit_ms), accounts);
    }

    pub(super) fn loss(&self) -> Loss {
        self.loss.now()
    }
}

/// Missing readings over the last half minute, outages left out.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Loss {
    pub(super) expected: u64,
    pub(super) missing: u64,
}

impl Loss {
    /// Share of missing readings, 0 to 1.
    pub(super) fn share(self) -> f64 {
        if self.expected == 0 {
            0.0
        } else {
            self.missing as f64 / self.expected as f64
        }
    }
}

#[derive(Clone, Debug, Default)]
struct LossWindow {
    /// Totals at the start of the last three blocks, oldest first.
    marks: [Option<Loss>; 3],
    total: Loss,
    block: u128,
}

impl LossWindow {
    fn add(&mut self, unit_time: Duration, accounts: Accounts) {
        let block = unit_time.as_millis() / BLOCK.as_millis();
        if block != self.block || self.marks[2].is_none() {
            self.block = block;
            self.marks = [self.marks[1], self.marks[2], Some(self.total)];
        }
        let missing = accounts.missing() - accounts.outage;
        self.total = Loss {
            expected: accounts.expected - accounts.outage,
            missing,
        };
    }

    fn now(&self) -> Loss {
        let start = self.marks.iter().flatten().next().copied().unwrap_or_default();
        Loss {
            expected: self.total.expected - start.expected,
            // A late arrival takes back what was counted before the window.
            missing: self.total.missing.saturating_sub(start.missing),
        }
    }
}
