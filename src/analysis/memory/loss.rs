//! Missing readings over the last half minute.

use crate::telemetry::Accounts;

/// Length of a block of the window; three blocks make the half minute.
const BLOCK_MS: u64 = 10_000;

/// Missing readings over the last half minute, outages left out.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(in crate::analysis) struct Loss {
    pub(in crate::analysis) expected: u64,
    pub(in crate::analysis) missing: u64,
}

impl Loss {
    /// Share of missing readings, 0 to 1.
    pub(in crate::analysis) fn share(self) -> f64 {
        if self.expected == 0 {
            0.0
        } else {
            self.missing as f64 / self.expected as f64
        }
    }
}

#[derive(Clone, Debug, Default)]
pub(super) struct LossWindow {
    /// Totals at the start of the last three blocks, oldest first.
    marks: [Option<Loss>; 3],
    total: Loss,
    block: u64,
}

impl LossWindow {
    pub(super) fn add(&mut self, unit_ms: u64, accounts: Accounts) {
        let block = unit_ms / BLOCK_MS;
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

    pub(super) fn now(&self) -> Loss {
        let start = self.marks.iter().flatten().next().copied().unwrap_or_default();
        Loss {
            expected: self.total.expected - start.expected,
            // A late arrival takes back what was counted before the window.
            missing: self.total.missing.saturating_sub(start.missing),
        }
    }
}
