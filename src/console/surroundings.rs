//! What the screen shows about the program itself; the run loop passes it in with each drawing.

use crate::event::SessionTime;
use crate::session::RecorderStatus;
use std::time::Duration;

/// About the program rather than the unit.
#[derive(Clone, Debug, Default)]
pub struct Surroundings {
    /// Session time now, on the clock of the source: simulated for the simulator, recorded for a file.
    pub now: SessionTime,
    /// Where values come from, as the person asked for it: `sim`, `ble:…`, a file.
    pub source: String,
    /// How fast session time runs against the clock on the wall; `None`: at the same pace.
    pub speed: Option<f64>,
    /// The source is held.
    pub paused: bool,
    /// How the recording stands; `None` if nothing is recorded.
    pub recorder: Option<RecorderStatus>,
    /// Time from the arrival of a value to its being in the state; `None` before the first value.
    pub latency: Option<Latency>,
    /// Queue between link and state; `None` where the source is pulled.
    pub queue: Option<Queue>,
    /// A fault inside the program that did not end it, see [`super::background_fault`].
    pub fault: Option<String>,
}

/// Percentiles of the time from arrival to state, µs.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Latency {
    /// Median.
    pub p50_us: u64,
    /// 99th percentile.
    pub p99_us: u64,
    /// Largest.
    pub max_us: u64,
}

/// The queue between link and state.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Queue {
    /// Age of the value taken from it last.
    pub age: Duration,
    /// Values waiting in it.
    pub waiting: usize,
    /// Values dropped because it was full.
    pub dropped: u64,
}
