//! What was asked of the unit and what became of it, folded from the session's events.

use super::Ask;
use crate::event::{Event, EventKind, LinkState, Origin, SessionTime};
use crate::link::words::{Unwritten, why_not_written};
use booster_profile::Characteristic;
use booster_profile::control::{ControlResponse, ControlResult};
use std::collections::VecDeque;
use std::time::Duration;

/// Requests kept for the screen; the session file keeps all of them.
const KEPT: usize = 100;
/// The profile's limit for an answer (section 12).
const ANSWER_LIMIT: Duration = Duration::from_secs(5);
/// Longest that the link takes to write or to say that it could not.
const WRITE_LIMIT: Duration = Duration::from_secs(10);

/// A request that reached the link.
#[derive(Clone, Debug, PartialEq)]
pub struct Entry {
    /// When it was written, or could not be.
    pub at: SessionTime,
    /// The control point.
    pub characteristic: Characteristic,
    /// What was asked, where it was written and this program knows it.
    pub ask: Option<Ask>,
    /// Op code written.
    op_code: Option<u8>,
    /// What became of it, and when; `None`: not answered so far.
    pub outcome: Option<(SessionTime, Outcome)>,
}

/// What became of a request.
#[derive(Clone, Debug, PartialEq)]
pub enum Outcome {
    /// The unit answered.
    Answered(ControlResponse),
    /// It did not get to the unit, or nobody knows whether it did.
    NotWritten(Unwritten, String),
    /// The link was lost before the answer.
    LinkLost,
}

impl Outcome {
    /// Whether the unit did it, or began to.
    pub fn is_success(&self) -> bool {
        matches!(self, Self::Answered(r) if r.result == ControlResult::Success)
    }
}

/// How a request stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Standing<'a> {
    /// On its way to the unit.
    Asking,
    /// Written; the answer is due.
    Written,
    /// It is over.
    Over(&'a Outcome),
    /// The time for an answer is over.
    NoAnswer,
}

/// What was asked of the unit, oldest first.
#[derive(Clone, Debug, Default)]
pub struct Log {
    entries: VecDeque<Entry>,
}

impl Log {
    /// Folds one event.
    pub fn apply(&mut self, event: &Event) {
        match &event.kind {
            EventKind::Written {
                characteristic,
                bytes,
            } if is_control(*characteristic) => self.push(Entry {
                at: event.at,
                characteristic: *characteristic,
                ask: Ask::of(*characteristic, bytes),
                op_code: bytes.first().copied(),
                outcome: None,
            }),
            EventKind::Value {
                characteristic,
                origin: Origin::Pushed,
                bytes,
            } if is_control(*characteristic) => {
                if let Ok(response) = ControlResponse::decode(bytes) {
                    self.answer(event.at, *characteristic, response);
                }
            }
            EventKind::Link { state, detail } => {
                if let Some((characteristic, kind, words)) = detail.as_deref().and_then(why_not_written)
                    && is_control(characteristic)
                {
                    self.push(Entry {
                        at: event.at,
                        characteristic,
                        ask: None,
                        op_code: None,
                        outcome: Some((event.at, Outcome::NotWritten(kind, words.to_owned()))),
                    });
                }
                if !matches!(state, LinkState::Live | LinkState::Stalled) {
                    self.lose(event.at);
                }
            }
            _ => {}
        }
    }

    /// Every request, oldest first.
    pub fn entries(&self) -> impl DoubleEndedIterator<Item = &Entry> {
        self.entries.iter()
    }

    /// How a request stands that the link was asked for at `asked`. One request at a time is asked for.
    pub fn standing(&self, ask: Ask, asked: SessionTime, now: SessionTime) -> Standing<'_> {
        let Some(entry) = self.entry(ask, asked) else {
            return if now.since(asked) < WRITE_LIMIT {
                Standing::Asking
            } else {
                Standing::NoAnswer
            };
        };
        match &entry.outcome {
            Some((_, outcome)) => Standing::Over(outcome),
            None if now.since(entry.at) < ANSWER_LIMIT => Standing::Written,
            None => Standing::NoAnswer,
        }
    }

    /// The entry of a request that the link was asked for at `asked`.
    pub fn entry(&self, ask: Ask, asked: SessionTime) -> Option<&Entry> {
        let is_its = |e: &&Entry| {
            e.at >= asked
                && match e.ask {
                    Some(written) => written == ask,
                    None => e.characteristic == ask.characteristic() && e.op_code.is_none(),
                }
        };
        self.entries.iter().find(is_its)
    }

    fn push(&mut self, entry: Entry) {
        if self.entries.len() == KEPT {
            self.entries.pop_front();
        }
        self.entries.push_back(entry);
    }

    /// An answer belongs to the oldest request of its kind that waits for one.
    fn answer(&mut self, at: SessionTime, characteristic: Characteristic, response: ControlResponse) {
        let waits = |e: &&mut Entry| {
            e.outcome.is_none()
                && e.characteristic == characteristic
                && e.op_code == Some(response.op_code)
                && at.since(e.at) < ANSWER_LIMIT
        };
        if let Some(entry) = self.entries.iter_mut().find(waits) {
            entry.outcome = Some((at, Outcome::Answered(response)));
        }
    }

    fn lose(&mut self, at: SessionTime) {
        for entry in self.entries.iter_mut().filter(|e| e.outcome.is_none()) {
            entry.outcome = Some((at, Outcome::LinkLost));
        }
    }
}

const fn is_control(characteristic: Characteristic) -> bool {
    matches!(
        characteristic,
        Characteristic::ReportControl | Characteristic::UnitControl
    )
}
