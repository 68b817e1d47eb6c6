//! What was done and what happened, in order: antenna turned, unit asked, notes, link lost, unit restarted.

use super::walk::WalkList;
use crate::aiming::{FINISH_KEY, MOVING_KEY, REPEAT_KEY, SETTLED_KEY, Step, UNDO_KEY};
use crate::control::Ask;
use crate::event::{Event, EventKind, LinkState, SessionTime};
use crate::telemetry::Identity;

/// Entries told in full; further ones are counted.
const TOLD: usize = 300;

/// Who or what did it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    /// A person marked or noted something.
    Mark,
    /// The antenna was moved.
    Antenna,
    /// The unit was asked for something.
    Control,
    /// The link or the unit went away or came back.
    Link,
}

/// One thing.
#[derive(Clone, Debug)]
pub(super) struct Entry {
    pub(super) at: SessionTime,
    pub(super) kind: Kind,
    pub(super) what: String,
}

/// The log of a session.
#[derive(Clone, Debug, Default)]
pub(super) struct Work {
    pub(super) entries: Vec<Entry>,
    /// Entries that are only counted.
    pub(super) more: u64,
    pub(super) walk: WalkList,
    was_live: bool,
}

impl Work {
    /// Takes in an event; whether it unsettles what is measured, so that a result counts from here on only.
    pub(super) fn event(&mut self, event: &Event, identity: &Identity) -> bool {
        match &event.kind {
            EventKind::Mark(mark) if mark.is_walk_entry() => {
                self.walk.push(event.at, mark);
                false
            }
            EventKind::Mark(mark) => {
                let moved = Step::of(&event.kind).is_some();
                let said = mark.to_string();
                let what = match (moved, said.is_empty()) {
                    (true, _) => format!("Antenna: {said}"),
                    (false, true) => "Marked".to_owned(),
                    (false, false) => said,
                };
                let kind = if moved { Kind::Antenna } else { Kind::Mark };
                self.add(event.at, kind, what);
                moved
            }
            EventKind::Key { name } => {
                let moved = [MOVING_KEY, SETTLED_KEY].contains(&name.as_str());
                let what = match name.as_str() {
                    MOVING_KEY => "Hands on the antenna",
                    SETTLED_KEY => "Hands off the antenna",
                    REPEAT_KEY => "Dwell repeated",
                    UNDO_KEY => "Last dwell taken back",
                    FINISH_KEY => "Aim ended by hand",
                    _ => return false,
                };
                self.add(event.at, Kind::Antenna, what.to_owned());
                moved
            }
            EventKind::Written {
                characteristic,
                bytes,
            } => match Ask::of(*characteristic, bytes) {
                Some(ask) if ask.touches_radio() => {
                    self.add(event.at, Kind::Control, ask.title(identity));
                    true
                }
                _ => false,
            },
            EventKind::Link { state, .. } => {
                self.link(event.at, *state);
                false
            }
            EventKind::Unreadable { lines } => {
                let lines = lines.map_or_else(|| "A part".to_owned(), |n| format!("{n} lines"));
                self.add(
                    event.at,
                    Kind::Link,
                    format!("{lines} of the recording cannot be read"),
                );
                false
            }
            _ => false,
        }
    }

    /// Only what interrupts a link that was live, and its return.
    fn link(&mut self, at: SessionTime, state: LinkState) {
        let live = match state {
            LinkState::Live => true,
            LinkState::Stalled | LinkState::BackingOff => false,
            s if s.waits_for_person() => false,
            _ => return,
        };
        if live != self.was_live {
            let what = if live { "Link live" } else { "Link lost" };
            self.add(at, Kind::Link, what.to_owned());
            self.was_live = live;
        }
    }

    /// The unit started anew.
    pub(super) fn restarted(&mut self, at: SessionTime) {
        self.add(at, Kind::Link, "Unit restarted".to_owned());
    }

    fn add(&mut self, at: SessionTime, kind: Kind, what: String) {
        if self.entries.len() < TOLD {
            self.entries.push(Entry { at, kind, what });
        } else {
            self.more += 1;
        }
    }

    /// What was done within a time: by people, not by the link.
    pub(super) fn done_within(&self, from: SessionTime, to: SessionTime) -> impl Iterator<Item = &Entry> {
        self.entries
            .iter()
            .filter(move |e| e.kind != Kind::Link && from <= e.at && e.at <= to)
    }
}
