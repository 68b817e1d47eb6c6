//! Oscillation guard of one direction: detects, switches off, holds, tries again, gives up.
//!
//! The US rule (47 CFR 20.21(e)(8)(ii)(A), from memory): detect and mitigate within 0.3 s uplink and 1 s downlink, stay
//! mitigated for at least 1 minute, and after five restarts stay off until somebody resets the unit.

use crate::scenario::GuardSpec;

/// How long a direction must be quiet before the oscillation counts as gone, µs.
const QUIET_US: u64 = 10_000_000;
/// How long it must be quiet before earlier restarts are forgotten, µs.
const FORGIVE_US: u64 = 600_000_000;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Phase {
    Watching,
    Suspecting { since_us: u64 },
    Holding { until_us: u64 },
    Latched,
}

/// What the guard did.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum GuardAct {
    /// Oscillation was found; without a guard nothing else happens.
    Detected,
    /// The direction is switched off, for the n-th time.
    Acted(u8),
    /// It gave up after this many restarts.
    LatchedOff(u8),
    /// Oscillation is gone.
    Cleared,
}

/// The guard.
#[derive(Clone, Debug)]
pub struct Guard {
    present: bool,
    detect_us: u64,
    hold_us: u64,
    limit: u8,
    phase: Phase,
    restarts: u8,
    /// Restarts since power was applied or a person reset the guard.
    total: u8,
    /// Set from detection until the oscillation counts as gone.
    known: bool,
    quiet_since_us: u64,
}

impl Guard {
    /// A guard that needs `detect_s` to act.
    pub fn new(spec: &GuardSpec, detect_s: f64) -> Self {
        Self {
            present: spec.present,
            detect_us: (detect_s * 1e6) as u64,
            hold_us: (spec.hold_s * 1e6) as u64,
            limit: spec.restarts,
            phase: Phase::Watching,
            restarts: 0,
            total: 0,
            known: false,
            quiet_since_us: 0,
        }
    }

    /// Looks at the direction. At most two things happen at once: detection and what follows from it.
    pub fn watch(&mut self, now_us: u64, oscillating: bool) -> [Option<GuardAct>; 2] {
        if oscillating {
            self.quiet_since_us = now_us;
        }
        match self.phase {
            Phase::Latched => [None, None],
            Phase::Holding { until_us } => {
                if now_us >= until_us {
                    self.phase = Phase::Watching;
                    self.quiet_since_us = now_us;
                }
                [None, None]
            }
            Phase::Watching if oscillating => {
                self.phase = Phase::Suspecting { since_us: now_us };
                [None, None]
            }
            Phase::Watching => [self.quiet(now_us), None],
            Phase::Suspecting { .. } if !oscillating => {
                self.phase = Phase::Watching;
                [None, None]
            }
            Phase::Suspecting { since_us } if now_us >= since_us + self.detect_us => self.detect(now_us),
            Phase::Suspecting { .. } => [None, None],
        }
    }

    fn detect(&mut self, now_us: u64) -> [Option<GuardAct>; 2] {
        let first = (!self.known || self.present).then_some(GuardAct::Detected);
        self.known = true;
        if !self.present {
            return [first, None];
        }
        if self.restarts >= self.limit {
            self.phase = Phase::Latched;
            return [first, Some(GuardAct::LatchedOff(self.total))];
        }
        self.restarts += 1;
        self.total = self.total.saturating_add(1);
        self.phase = Phase::Holding {
            until_us: now_us + self.hold_us,
        };
        [first, Some(GuardAct::Acted(self.total))]
    }

    fn quiet(&mut self, now_us: u64) -> Option<GuardAct> {
        let quiet_us = now_us.saturating_sub(self.quiet_since_us);
        if quiet_us >= FORGIVE_US {
            self.restarts = 0;
        }
        if self.known && quiet_us >= QUIET_US {
            self.known = false;
            return Some(GuardAct::Cleared);
        }
        None
    }

    /// When it must look again even if nothing changes.
    pub fn deadline_us(&self) -> Option<u64> {
        match self.phase {
            Phase::Suspecting { since_us } if self.present || !self.known => Some(since_us + self.detect_us),
            Phase::Holding { until_us } => Some(until_us),
            _ => None,
        }
    }

    /// Whether the direction must be off.
    pub fn holds_off(&self) -> bool {
        matches!(self.phase, Phase::Holding { .. } | Phase::Latched)
    }

    /// Whether it gave up.
    pub fn is_latched(&self) -> bool {
        self.phase == Phase::Latched
    }

    /// A person resets it; says whether it had given up.
    pub fn reset(&mut self) -> bool {
        let was = self.is_latched();
        if was {
            self.phase = Phase::Watching;
            self.restarts = 0;
            self.total = 0;
            self.known = false;
        }
        was
    }
}
