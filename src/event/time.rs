//! Session time.

use std::fmt;
use std::ops::{Add, Sub};
use std::time::Duration;

/// Time since the session began, in whole microseconds: integers compare and print the same everywhere.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct SessionTime(pub u64);

impl SessionTime {
    /// The beginning of the session.
    pub const ZERO: SessionTime = SessionTime(0);

    /// Whole milliseconds since the session began.
    pub const fn from_millis(ms: u64) -> Self {
        Self(ms.saturating_mul(1_000))
    }

    /// Seconds since the session began.
    pub fn seconds(self) -> f64 {
        self.0 as f64 / 1e6
    }

    /// Time from `earlier` to this; zero if `earlier` is later.
    pub const fn since(self, earlier: SessionTime) -> Duration {
        Duration::from_micros(self.0.saturating_sub(earlier.0))
    }
}

impl From<Duration> for SessionTime {
    fn from(d: Duration) -> Self {
        Self(u64::try_from(d.as_micros()).unwrap_or(u64::MAX))
    }
}

impl Add<Duration> for SessionTime {
    type Output = SessionTime;
    fn add(self, d: Duration) -> SessionTime {
        Self(self.0.saturating_add(SessionTime::from(d).0))
    }
}

impl Sub for SessionTime {
    type Output = Duration;
    fn sub(self, earlier: SessionTime) -> Duration {
        self.since(earlier)
    }
}

impl fmt::Display for SessionTime {
    /// `12.3 s` below a minute, else `1:02:03` or `2:03`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let s = self.0 / 1_000_000;
        match (s / 3600, (s / 60) % 60, s % 60) {
            (0, 0, _) => write!(f, "{}.{} s", s, self.0 / 100_000 % 10),
            (0, m, s) => write!(f, "{m}:{s:02}"),
            (h, m, s) => write!(f, "{h}:{m:02}:{s:02}"),
        }
    }
}
