//! The log is the input: stamps every event once, records it, and folds that same value.
//!
//! Absence is an event too. A deadline that the fold asks for and that passes before the next event is stamped with
//! the deadline and recorded in its place, so live and replay see the same sequence whenever a thread woke up.

use crate::event::{Event, EventKind, SessionTime};
use crate::fold::{Fold, Update};
use crate::link::Request;
use crate::session::{Header, Record, RecorderStatus, Totals, UnitInfo};
use crate::telemetry::Identity;

/// Owner of a session's state and of its recording.
pub struct Sequencer<R> {
    fold: Fold,
    recorder: R,
    /// The header, until the unit is known (or known to be out of reach) and the recording can begin with it.
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
        while !self.ended
            && let Some(deadline) = self.fold.next_deadline().filter(|d| *d <= now)
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
        self.fold.next_deadline().filter(|_| !self.ended)
    }

    /// What the link should be asked for.
    pub fn take_requests(&mut self) -> Vec<Request> {
        self.fold.take_requests()
    }

    /// The state of the session.
    pub fn fold(&self) -> &Fold {
        &self.fold
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
        if self.fold.has_begun()
            && let Some(mut header) = self.header.take()
        {
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
