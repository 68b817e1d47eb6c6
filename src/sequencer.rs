//! The log is the input: stamps every event once, records it, and folds that same value.
//!
//! Absence is an event too. A deadline that the fold asks for and that passes before the next event is stamped with
//! the deadline and recorded in its place, so live and replay see the same sequence whenever a thread woke up.

use crate::event::{Event, EventKind, SessionTime};
use crate::fold::{Fold, Update};
use crate::link::Request;
use crate::session::{Header, Record, RecorderStatus, Totals, UnitInfo};
use crate::telemetry::Identity;

/// The header of a recording waits so long for the unit to say who it is. A unit that takes longer, or is never found,
/// must not keep the recording from beginning: what it says later follows as events.
const HEADER_DUE: SessionTime = SessionTime(1_000_000);

/// Owner of a session's state and of its recording.
pub struct Sequencer<R> {
    fold: Fold,
    recorder: R,
    /// The header, until the unit is known (or known to be out of reach) or [`HEADER_DUE`] is there, and the recording
    /// begins with it.
    header: Option<Header>,
    waiting: Vec<Event>,
    band_table: Vec<u8>,
    last: SessionTime,
    ended: bool,
}

impl<R: Record> Sequencer<R> {
    /// A sequencer before the first event. The header is completed with what the unit says about itself.
    pub fn new(fold: Fold, recorder: R, header: Header) -> Self {
        Self {
            fold,
            recorder,
            header: Some(header),
            waiting: Vec::new(),
            band_table: Vec::new(),
            last: SessionTime::ZERO,
            ended: false,
        }
    }

    /// Takes an event in. Its time is raised to that of the event before, should it be earlier: a deadline may have
    /// fired while it waited in a queue. What there is to show is appended to `out`.
    pub fn push(&mut self, event: Event, out: &mut Vec<Update>) {
        if self.ended {
            return;
        }
        let at = event.at.max(self.last);
        self.advance(at, out);
        self.ended = event.kind == EventKind::End;
        self.take(Event { at, ..event }, out);
    }

    /// Lets deadlines fire that have passed by `now`.
    pub fn advance(&mut self, now: SessionTime, out: &mut Vec<Update>) {
        if now >= HEADER_DUE {
            self.begin_recording();
        }
        while !self.ended
            && let Some(deadline) = self.fold.deadline_by(now)
        {
            self.take(
                Event {
                    at: deadline.max(self.last),
                    kind: EventKind::Deadline,
                },
                out,
            );
        }
    }

    /// Ends the session: deadlines up to `at` fire, the end is recorded, the recording is closed.
    pub fn end(&mut self, at: SessionTime, out: &mut Vec<Update>) -> Totals {
        self.push(
            Event {
                at,
                kind: EventKind::End,
            },
            out,
        );
        self.recorder.finish()
    }

    /// When the next deadline is due.
    pub fn next_deadline(&self) -> Option<SessionTime> {
        let header = self.header.as_ref().map(|_| HEADER_DUE);
        let next = match (self.fold.next_deadline(), header) {
            (Some(a), Some(b)) => Some(a.min(b)),
            (a, b) => a.or(b),
        };
        next.filter(|_| !self.ended)
    }

    /// What the link should be asked for.
    pub fn take_requests(&mut self) -> Vec<Request> {
        self.fold.take_requests()
    }

    /// The state of the session.
    pub fn fold(&self) -> &Fold {
        &self.fold
    }

    /// The state of the session, when nothing more is to come.
    pub fn into_fold(self) -> Fold {
        self.fold
    }

    /// How the recording stands.
    pub fn recorder_status(&self) -> Option<RecorderStatus> {
        self.recorder.status()
    }

    fn take(&mut self, event: Event, out: &mut Vec<Update>) {
        self.last = event.at;
        self.fold.apply(&event, out);
        self.record(event);
    }

    fn record(&mut self, event: Event) {
        if self.header.is_none() {
            self.recorder.event(&event);
            return;
        }
        if let EventKind::Value {
            characteristic: booster_profile::Characteristic::BandTable,
            bytes,
            ..
        } = &event.kind
        {
            self.band_table = bytes.to_vec();
        }
        self.waiting.push(event);
        if self.fold.has_begun() {
            self.begin_recording();
        }
    }

    fn begin_recording(&mut self) {
        if let Some(mut header) = self.header.take() {
            complete(&mut header, self.fold.telemetry().identity(), &self.band_table);
            self.recorder.begin(&header);
            for event in self.waiting.drain(..) {
                self.recorder.event(&event);
            }
        }
    }
}

fn complete(header: &mut Header, identity: &Identity, band_table: &[u8]) {
    let device = &identity.device;
    header.unit = identity.feature.is_some().then(|| UnitInfo {
        manufacturer: device.manufacturer.clone(),
        model: device.model.clone(),
        serial: device.serial.clone(),
        firmware: device.firmware.clone(),
        hardware: device.hardware.clone(),
    });
    if !band_table.is_empty() {
        header.set_band_table(band_table);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analysis::Criteria;
    use crate::event::LinkState;
    use crate::session::{Clock, DirectRecorder, Overwrite, Reader};
    use std::fs::File;

    fn link(at_ms: u64, state: LinkState) -> Event {
        Event {
            at: SessionTime::from_millis(at_ms),
            kind: EventKind::Link { state, detail: None },
        }
    }

    #[test]
    fn a_recording_begins_though_no_unit_is_found() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("visit.jsonl");
        let header = Header::new("ble", "2026-03-01T08:00:00Z".parse().unwrap(), Clock::Host);
        let recorder = DirectRecorder::create(&path, Overwrite::Refuse).unwrap();
        let mut sequencer = Sequencer::new(Fold::new(Criteria::default()), recorder, header);
        let mut updates = Vec::new();
        sequencer.push(link(10, LinkState::Scanning), &mut updates);
        // Time alone brings the header: no event has to come.
        assert_eq!(sequencer.next_deadline(), Some(HEADER_DUE));
        sequencer.advance(SessionTime::from_millis(999), &mut updates);
        assert!(sequencer.header.is_some());
        sequencer.advance(HEADER_DUE, &mut updates);
        assert!(sequencer.header.is_none() && sequencer.waiting.is_empty());
        assert_eq!(sequencer.next_deadline(), None);
        sequencer.push(link(60_000, LinkState::Connecting), &mut updates);
        sequencer.end(SessionTime::from_millis(61_000), &mut updates);

        let mut reader = Reader::open(File::open(&path).unwrap()).unwrap();
        assert_eq!(
            (reader.header().unit.as_ref(), reader.header().source.as_deref()),
            (None, Some("ble"))
        );
        let kinds: Vec<Event> = std::iter::from_fn(|| reader.next_event()).collect();
        assert_eq!(
            kinds[..2],
            [link(10, LinkState::Scanning), link(60_000, LinkState::Connecting)]
        );
        assert!(reader.integrity().is_sound());
    }
}
