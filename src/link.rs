//! Where attribute values come from: Bluetooth, the simulator, a session file.
//!
//! A link carries bytes and reports its own state; what the values mean is not its business.

pub mod bluetooth;
pub mod command;
pub mod pace;
pub mod policy;
pub mod recording;
pub mod reducer;
pub mod simulator;
pub mod words;

use crate::event::{Event, RawBytes};
use booster_profile::Characteristic;

/// What the console asks of a link.
#[derive(Clone, Debug, PartialEq)]
pub enum Request {
    /// Write a value with response. The link reports [`crate::event::EventKind::Written`] once the unit accepted it.
    Write {
        /// To which characteristic.
        characteristic: Characteristic,
        /// The value.
        bytes: RawBytes,
    },
    /// Try again now, after a state that waits for a person.
    Retry,
    /// Connect to another unit.
    Choose {
        /// Its name or identifier; `None`: the only one in range, else a new choice.
        unit: Option<String>,
    },
}

/// A source that yields its next event whenever it is asked: the simulator in virtual time, or a recording. Events
/// carry the source's own time.
pub trait Pull {
    /// The next event, or `None` when the source is exhausted. Never blocks on real time.
    fn next_event(&mut self) -> Option<Event>;

    /// Passes a request to the source; a recording ignores it.
    fn request(&mut self, request: Request);

    /// The donor antenna has been turned to a bearing, degrees: only a simulated one has to be told. True if it was.
    fn turned(&mut self, _bearing_deg: f64) -> bool {
        false
    }
}

impl<P: Pull + ?Sized> Pull for Box<P> {
    fn next_event(&mut self) -> Option<Event> {
        (**self).next_event()
    }

    fn request(&mut self, request: Request) {
        (**self).request(request);
    }

    fn turned(&mut self, bearing_deg: f64) -> bool {
        (**self).turned(bearing_deg)
    }
}
