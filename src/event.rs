//! The event vocabulary that links, the session file and telemetry share.
//!
//! A session is a sequence of events, each stamped once by the sequencer. Folding the same events gives the same
//! readings and findings, live or replayed.

mod link_state;
mod mark;
mod time;

pub use link_state::LinkState;
pub use mark::{Mark, Polarisation, Stage};
pub use time::SessionTime;

use booster_profile::Characteristic;
use smallvec::SmallVec;

/// Raw bytes of an attribute value. The longest telemetry value of this profile version (46 bytes) stays inline, so
/// that a reading costs no allocation.
pub type RawBytes = SmallVec<[u8; 48]>;

/// Something that happened, and when.
#[derive(Clone, Debug, PartialEq)]
pub struct Event {
    /// Time since the session began. Never decreases from one event of a session to the next.
    pub at: SessionTime,
    /// What happened.
    pub kind: EventKind,
}

/// What happened.
#[derive(Clone, Debug, PartialEq)]
pub enum EventKind {
    /// An attribute value arrived, unasked (notification, indication) or as the answer to a read.
    Value {
        /// Whose value.
        characteristic: Characteristic,
        /// How it came.
        origin: Origin,
        /// The value as it arrived.
        bytes: RawBytes,
    },
    /// A value was written to the unit and the unit accepted the write.
    Written {
        /// To which characteristic.
        characteristic: Characteristic,
        /// The value written.
        bytes: RawBytes,
    },
    /// The link entered a state.
    Link {
        /// The new state.
        state: LinkState,
        /// Why, in words, where there is more to say than the state's name.
        detail: Option<String>,
    },
    /// Values were lost between their arrival on this computer and the sequencer, because a queue was full.
    Dropped {
        /// How many.
        count: u32,
    },
    /// A deadline that the fold had asked for passed: nothing arrived in time.
    Deadline,
    /// The person at the console marked this moment.
    Mark(Box<Mark>),
    /// The person pressed a key that bears on what is concluded, such as `settle` or `repeat` while aiming.
    Key {
        /// What the key asks for, in kebab-case.
        name: String,
    },
    /// A setting that bears on what is concluded took a value.
    Setting {
        /// Which, in kebab-case.
        name: String,
        /// Its value as text.
        value: String,
    },
    /// Part of a recording is missing: damaged, or never written because the recorder could not keep up. Only a replay
    /// yields this.
    Unreadable {
        /// Lines that are known to be missing, where a sound checkpoint tells.
        lines: Option<u64>,
    },
    /// The session ended.
    End,
}

/// How a value came.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Origin {
    /// The answer to a read.
    Read,
    /// A notification or an indication.
    Pushed,
}
