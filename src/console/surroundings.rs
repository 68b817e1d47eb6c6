//! What the screen shows about the program itself; the run loop passes it in with each drawing.

use super::choice::Heard;
use crate::analysis::Severity;
use crate::event::SessionTime;
use crate::output::Latency;
use crate::session::RecorderStatus;
use crate::share::Link;
use std::net::IpAddr;
use std::sync::Arc;
use std::time::Duration;

/// What kind of source the values come from.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum SourceKind {
    /// A unit over Bluetooth.
    #[default]
    Radio,
    /// The simulator.
    Simulator,
    /// A recording.
    Recording,
}

/// What lies in a recording.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Outline {
    /// Its length.
    pub length: SessionTime,
    /// When findings were raised, in order.
    pub findings: Vec<(SessionTime, Severity)>,
}

impl Outline {
    /// The first finding raised after a time.
    pub fn finding_after(&self, at: SessionTime) -> Option<SessionTime> {
        self.findings.iter().map(|(t, _)| *t).find(|t| *t > at)
    }

    /// The last finding raised before a time.
    pub fn finding_before(&self, at: SessionTime) -> Option<SessionTime> {
        self.findings.iter().rev().map(|(t, _)| *t).find(|t| *t < at)
    }
}

/// Where a recording stands.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Position {
    /// What lies in it, once it was looked through.
    pub outline: Option<Arc<Outline>>,
    /// A place that it is on its way to.
    pub seeking: Option<SessionTime>,
}

/// About the program rather than the unit.
#[derive(Clone, Debug, Default)]
pub struct Surroundings {
    /// Session time now, on the clock of the source: simulated for the simulator, recorded for a file.
    pub now: SessionTime,
    /// Where values come from, as the person asked for it: `sim`, `ble:…`, a file.
    pub source: String,
    /// How fast session time runs against the clock on the wall; `None`: at the same pace.
    pub speed: Option<f64>,
    /// What kind of source that is.
    pub kind: SourceKind,
    /// Whether the unit may be asked to change.
    pub allow_control: bool,
    /// Units in range, as far as they were heard.
    pub units: Vec<Heard>,
    /// Several units are in range and a person has to choose.
    pub choosing: bool,
    /// Where a recording stands; `None` for other sources.
    pub position: Option<Position>,
    /// The source is held.
    pub paused: bool,
    /// How the recording stands; `None` if nothing is recorded.
    pub recorder: Option<RecorderStatus>,
    /// Time from the arrival of a value to its being in the state; `None` before the first value.
    pub latency: Option<Latency>,
    /// Queue between link and state; `None` where the source is pulled.
    pub queue: Option<Queue>,
    /// The roof page; `None` if it is not shared.
    pub roof: Option<RoofPage>,
    /// A fault inside the program that did not end it, see [`super::background_fault`].
    pub fault: Option<String>,
}

/// The roof page as the console shows it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RoofPage {
    /// How to open it.
    pub link: Link,
    /// Addresses of those who look, and for how long they have.
    pub viewers: Vec<(IpAddr, Duration)>,
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
