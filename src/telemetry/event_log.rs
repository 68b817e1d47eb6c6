//! Unit events: which ones are known, and what to ask the unit for so that none is missing.

use crate::event::RawBytes;
use crate::link::Request;
use booster_profile::record_access::{self, Log, Response, Select};
use booster_profile::{Characteristic, UnitEvent};
use std::collections::BTreeSet;

/// Events ahead of a hole that are remembered; a hole that stays open longer is given up.
const AHEAD: usize = 256;

/// A unit event and how it came.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LoggedEvent {
    /// The event.
    pub event: UnitEvent,
    /// Fetched from the unit's log rather than indicated when it happened.
    pub stored: bool,
}

/// Follows the event sequence, which goes on over restarts of the unit.
#[derive(Clone, Debug, Default)]
pub(super) struct EventLog {
    /// Every event before this one is known or was before the session.
    next: Option<u32>,
    ahead: BTreeSet<u32>,
    asked: bool,
}

impl EventLog {
    /// The link is live. The first time, the newest record tells where the sequence stands; after an absence,
    /// everything since is asked for.
    pub(super) fn on_live(&mut self) -> Option<Request> {
        self.asked = false;
        self.ask()
    }

    /// The link is gone, and with it a request that may have been under way.
    pub(super) fn on_down(&mut self) {
        self.asked = false;
    }

    /// The unit answered; a hole that is still open is asked for again, unless the unit does not have the records.
    pub(super) fn on_response(&mut self, response: Response) -> Option<Request> {
        self.asked = false;
        match response {
            Response::Outcome {
                code: record_access::ResponseCode::Success,
                ..
            } if !self.ahead.is_empty() => self.ask(),
            Response::Outcome {
                code: record_access::ResponseCode::ServerBusy,
                ..
            } => self.ask(),
            Response::Outcome { .. } => {
                self.give_up();
                None
            }
            Response::Number(_) => None,
        }
    }

    /// An event arrived: whether it is new, and what to ask for if others are missing before it.
    pub(super) fn admit(&mut self, sequence: u32, stored: bool) -> (bool, Option<Request>) {
        let next = *self.next.get_or_insert(sequence);
        if sequence < next || self.ahead.contains(&sequence) {
            return (false, None);
        }
        self.ahead.insert(sequence);
        self.close_up();
        if self.ahead.len() > AHEAD {
            self.give_up();
        }
        let request = if self.ahead.is_empty() || stored {
            None
        } else {
            self.ask()
        };
        (true, request)
    }

    fn close_up(&mut self) {
        while let Some(next) = self.next
            && self.ahead.remove(&next)
        {
            self.next = Some(next.wrapping_add(1));
        }
    }

    /// The unit no longer has the missing records: go on from what is known.
    fn give_up(&mut self) {
        if let Some(first) = self.ahead.first() {
            self.next = Some(*first);
            self.close_up();
        }
    }

    fn ask(&mut self) -> Option<Request> {
        if self.asked {
            return None;
        }
        self.asked = true;
        let select = match (self.next, self.ahead.first()) {
            (None, _) => Select::Last,
            (Some(next), Some(first)) => Select::Within(next, first.saturating_sub(1)),
            (Some(next), None) => Select::AtLeast(next),
        };
        let request = record_access::Request::Report(Log::Events, select);
        Some(Request::Write {
            characteristic: Characteristic::RecordAccess,
            bytes: RawBytes::from_slice(&request.encode()),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use record_access::ResponseCode;

    fn asked(request: Option<Request>) -> Option<record_access::Request> {
        match request? {
            Request::Write { bytes, .. } => Some(record_access::Request::decode(&bytes).unwrap()),
            _ => None,
        }
    }

    fn done(code: ResponseCode) -> Response {
        Response::Outcome { op_code: 1, code }
    }

    #[test]
    fn the_first_live_moment_asks_where_the_log_stands() {
        let mut log = EventLog::default();
        assert_eq!(
            asked(log.on_live()),
            Some(record_access::Request::Report(Log::Events, Select::Last))
        );
        assert!(log.admit(41, true).0);
        log.on_down();
        assert_eq!(
            asked(log.on_live()),
            Some(record_access::Request::Report(Log::Events, Select::AtLeast(42)))
        );
    }

    #[test]
    fn a_hole_is_asked_for_once_and_filled() {
        let mut log = EventLog::default();
        log.admit(5, false);
        let (fresh, request) = log.admit(8, false);
        assert!(fresh);
        assert_eq!(
            asked(request),
            Some(record_access::Request::Report(Log::Events, Select::Within(6, 7)))
        );
        assert_eq!(log.admit(9, false), (true, None));
        assert_eq!(log.admit(6, true), (true, None));
        assert_eq!(log.admit(7, true), (true, None));
        assert_eq!(log.on_response(done(ResponseCode::Success)), None);
        assert_eq!(log.admit(7, true), (false, None));
        assert_eq!(log.admit(10, false), (true, None));
    }

    #[test]
    fn records_that_the_unit_no_longer_has_are_given_up() {
        let mut log = EventLog::default();
        log.admit(5, false);
        log.admit(8, false);
        assert_eq!(log.on_response(done(ResponseCode::NoRecords)), None);
        assert_eq!(log.admit(9, false), (true, None));
    }
}
