//! What a person at the antenna, a page on a phone or the simulated mount does that bears on the result.
//!
//! One small vocabulary for all of them: whoever takes the press pushes [`Step::event`] through the sequencer, the
//! event is recorded, and the fold's [`Session`](super::Session) takes it in, live and in a replay alike.

use crate::event::{Event, EventKind, Mark, SessionTime};

/// Key: hands are on the antenna.
pub const MOVING_KEY: &str = "aim-moving";
/// Key: the antenna rests again where it was.
pub const SETTLED_KEY: &str = "aim-settled";
/// Key that throws the present or last dwell away and begins it anew.
pub const REPEAT_KEY: &str = "aim-repeat";
/// Key that takes the last dwell back, with the turn that led to it.
pub const UNDO_KEY: &str = "aim-undo";
/// Key that ends the aim with what is known.
pub const FINISH_KEY: &str = "aim-finish";

/// One thing done.
#[derive(Clone, Debug, PartialEq)]
pub enum Step {
    /// The antenna has been turned and rests: its bearing, and the spot where it stands if that is new. A mark with a
    /// spot, height, tilt or polarisation but no bearing says that it was moved there and is about to be turned.
    Turned(Box<Mark>),
    /// Hands are on the antenna: nothing that is heard counts until [`Step::Settled`] or [`Step::Turned`].
    Moving,
    /// Hands are off and the antenna rests at the bearing of the last mark: the dwell begins anew.
    Settled,
    /// The present dwell, or the one that ended last, was bad: it begins anew, the antenna being where it was.
    Repeat,
    /// The present dwell, or the one that ended last, is taken back; the advice is the one that led to it. Without a
    /// dwell nothing happens.
    Undo,
    /// The aim ends with what is known.
    Finish,
}

impl Step {
    /// The antenna rests at a bearing, degrees.
    pub fn turned(bearing_deg: f64) -> Self {
        Self::Turned(Box::new(Mark {
            bearing_deg: Some(bearing_deg),
            ..Mark::default()
        }))
    }

    /// The event to push through the sequencer.
    pub fn event(self, at: SessionTime) -> Event {
        let key = |name: &str| EventKind::Key {
            name: name.to_owned(),
        };
        let kind = match self {
            Self::Turned(mark) => EventKind::Mark(mark),
            Self::Moving => key(MOVING_KEY),
            Self::Settled => key(SETTLED_KEY),
            Self::Repeat => key(REPEAT_KEY),
            Self::Undo => key(UNDO_KEY),
            Self::Finish => key(FINISH_KEY),
        };
        Event { at, kind }
    }

    /// What an event says was done; `None` for events of other kinds, and for marks that say nothing of the antenna.
    pub fn of(event: &EventKind) -> Option<Self> {
        match event {
            EventKind::Mark(mark) => {
                let placed = mark.bearing_deg.is_some()
                    || mark.spot.is_some()
                    || mark.height_m.is_some()
                    || mark.tilt_deg.is_some()
                    || mark.polarisation.is_some();
                placed.then(|| Self::Turned(mark.clone()))
            }
            EventKind::Key { name } => match name.as_str() {
                MOVING_KEY => Some(Self::Moving),
                SETTLED_KEY => Some(Self::Settled),
                REPEAT_KEY => Some(Self::Repeat),
                UNDO_KEY => Some(Self::Undo),
                FINISH_KEY => Some(Self::Finish),
                _ => None,
            },
            _ => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_step_is_an_event_and_back() {
        for step in [
            Step::turned(135.0),
            Step::Moving,
            Step::Settled,
            Step::Repeat,
            Step::Undo,
            Step::Finish,
        ] {
            let event = step.clone().event(SessionTime::ZERO);
            assert_eq!(Step::of(&event.kind), Some(step));
        }
        assert_eq!(Step::of(&EventKind::Mark(Box::default())), None);
        assert_eq!(Step::of(&EventKind::End), None);
    }
}
