//! One connection as the server sees it: who it is, and whether it still takes what it is sent.

use std::net::IpAddr;
use std::sync::Mutex;
use std::time::{Duration, Instant};

/// A viewer that has taken nothing for this long although there was something to take is cut off.
const PATIENCE: Duration = Duration::from_secs(10);
/// A connection that does not watch is closed after this long.
const ERRAND: Duration = Duration::from_secs(60);

/// A connection.
#[derive(Debug)]
pub(super) struct Line {
    pub(super) ip: IpAddr,
    opened: Instant,
    watching: Mutex<Watching>,
}

#[derive(Clone, Copy, Debug)]
enum Watching {
    /// Requests and answers.
    No,
    /// It waits for the next state.
    Waits,
    /// It was handed a state at this moment and has not come back for the next.
    Took(Instant),
}

impl Line {
    pub(super) fn new(ip: IpAddr, now: Instant) -> Self {
        Self {
            ip,
            opened: now,
            watching: Mutex::new(Watching::No),
        }
    }

    /// It has taken all it was given and waits for more.
    pub(super) fn waits(&self) {
        self.set(Watching::Waits);
    }

    /// It was handed a state.
    pub(super) fn took(&self, now: Instant) {
        self.set(Watching::Took(now));
    }

    fn set(&self, to: Watching) {
        *self
            .watching
            .lock()
            .unwrap_or_else(std::sync::PoisonError::into_inner) = to;
    }

    /// Whether it only takes up room.
    pub(super) fn is_stuck(&self, now: Instant) -> bool {
        let watching = *self
            .watching
            .lock()
            .unwrap_or_else(std::sync::PoisonError::into_inner);
        match watching {
            Watching::No => now.saturating_duration_since(self.opened) > ERRAND,
            Watching::Waits => false,
            Watching::Took(at) => now.saturating_duration_since(at) > PATIENCE,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn who_takes_nothing_is_cut_off_and_who_has_nothing_to_take_is_not() {
        let now = Instant::now();
        let line = Line::new([192, 168, 4, 7].into(), now);
        assert!(!line.is_stuck(now + ERRAND));
        assert!(line.is_stuck(now + ERRAND * 2));
        line.waits();
        assert!(!line.is_stuck(now + ERRAND * 2));
        line.took(now);
        assert!(!line.is_stuck(now + PATIENCE));
        assert!(line.is_stuck(now + PATIENCE * 2));
        line.waits();
        assert!(!line.is_stuck(now + PATIENCE * 2));
    }
}
