//! What happens while a connection stands: discover, read, enable, watch, write.

use super::{
    Answer, CALL_LIMIT, Cause, Characteristic, Command, EventKind, FIRST_VALUE_LIMIT, Failure, LEAST_SILENCE,
    LinkState, PAIRING_LIMIT, RawBytes, Reducer, SessionTime, Step,
};
use crate::event::Origin;
use crate::link::words::{Unwritten, not_written};
use booster_profile::control::{ControlResponse, ControlResult, ReportRequest};
use booster_profile::{BoosterFeature, DecodeError, MAX_TELEMETRY_LEN};
use std::time::Duration;

use Characteristic as C;

/// Read in this order: the feature first, because a stale cache or another version shows there.
pub const READ_ORDER: [Characteristic; 7] = [
    C::BoosterFeature,
    C::BandTable,
    C::SerialNumber,
    C::ManufacturerName,
    C::ModelNumber,
    C::FirmwareRevision,
    C::HardwareRevision,
];

/// Enabled in this order: events first, so that none is missed once telemetry flows.
pub const SUBSCRIBE_ORDER: [Characteristic; 8] = [
    C::UnitEvent,
    C::UnitStatus,
    C::BandTelemetry,
    C::CellReport,
    C::StoredRecord,
    C::RecordAccess,
    C::ReportControl,
    C::UnitControl,
];

/// Whether there is no session without this characteristic.
pub(super) const fn is_essential(characteristic: Characteristic) -> bool {
    matches!(
        characteristic,
        C::BoosterFeature | C::BandTable | C::BandTelemetry
    )
}

/// Silence that counts as stalled at a report interval.
fn silence_at(interval_ms: u16) -> Duration {
    (Duration::from_millis(u64::from(interval_ms)) * 3 + Duration::from_millis(500)).max(LEAST_SILENCE)
}

impl Reducer {
    pub(super) fn is_connected_step(&self) -> bool {
        matches!(
            self.step,
            Step::Discovering | Step::Reading(_) | Step::Subscribing(_) | Step::Flowing | Step::Probing
        )
    }

    pub(super) fn watches_silence(&self) -> bool {
        self.step == Step::Flowing && self.state == LinkState::Live
    }

    pub(super) fn discover(&mut self, at: SessionTime) {
        self.step = Step::Discovering;
        self.enter(LinkState::Discovering, None);
        self.command(at, Command::Discover);
    }

    pub(super) fn discovered(&mut self, at: SessionTime, found: Vec<Characteristic>, mtu: u16) {
        let missing = [C::BoosterFeature, C::BandTable, C::BandTelemetry]
            .into_iter()
            .find(|c| !found.contains(c));
        if let Some(missing) = missing {
            let words = format!("the unit offers no {} now", missing.short_name());
            return self.fail(at, Cause::NotABooster, words);
        }
        self.found = found;
        self.enter(LinkState::CheckingProfile, Some(mtu_in_words(mtu)));
        self.read_from(at, 0);
    }

    fn read_from(&mut self, at: SessionTime, index: usize) {
        match self.first_found(&READ_ORDER, index) {
            Some((index, characteristic)) => {
                self.step = Step::Reading(index);
                self.command(at, Command::Read(characteristic));
            }
            None => {
                self.enter(LinkState::Subscribing, None);
                self.subscribe_from(at, 0);
            }
        }
    }

    fn subscribe_from(&mut self, at: SessionTime, index: usize) {
        match self.first_found(&SUBSCRIBE_ORDER, index) {
            Some((index, characteristic)) => {
                self.step = Step::Subscribing(index);
                self.command(at, Command::Subscribe(characteristic));
            }
            None => {
                self.step = Step::Flowing;
                if self.state != LinkState::Live {
                    self.timer = Some(at + FIRST_VALUE_LIMIT.max(self.silence));
                    self.enter(LinkState::AwaitingFirstValue, None);
                }
            }
        }
    }

    fn first_found(&self, order: &[Characteristic], from: usize) -> Option<(usize, Characteristic)> {
        let mut rest = order.iter().copied().enumerate().skip(from);
        rest.find(|(_, c)| self.found.contains(c))
    }

    pub(super) fn value_read(&mut self, at: SessionTime, characteristic: Characteristic, bytes: RawBytes) {
        self.output.push_back(super::Output::Event(EventKind::Value {
            characteristic,
            origin: Origin::Read,
            bytes: bytes.clone(),
        }));
        match (self.step, characteristic) {
            (Step::Reading(index), C::BoosterFeature) => match BoosterFeature::decode(&bytes) {
                Ok(feature) => {
                    self.silence = silence_at(feature.default_interval_ms);
                    self.read_from(at, index + 1);
                }
                Err(error) => self.fail(at, Cause::ProfileMismatch, mismatch(error)),
            },
            (Step::Reading(_), C::SerialNumber) if self.serial.as_ref().is_some_and(|s| *s != bytes) => {
                self.refuse_unit(at);
            }
            (Step::Reading(index), _) => {
                if characteristic == C::SerialNumber {
                    self.serial = Some(bytes);
                }
                self.read_from(at, index + 1);
            }
            // The unit answers but does not report: enable everything again.
            (Step::Probing, _) => self.discover(at),
            _ => {}
        }
    }

    pub(super) fn subscribed(&mut self, at: SessionTime) {
        if let Step::Subscribing(index) = self.step {
            self.subscribe_from(at, index + 1);
        }
    }

    /// Goes on without what could not be read or enabled.
    pub(super) fn skip(&mut self, at: SessionTime) {
        match self.step {
            Step::Reading(index) => self.read_from(at, index + 1),
            Step::Subscribing(index) => self.subscribe_from(at, index + 1),
            _ => {}
        }
    }

    /// The rare part of [`Reducer::value`].
    #[cold]
    pub(super) fn value_changes_state(
        &mut self,
        at: SessionTime,
        characteristic: Characteristic,
        bytes: &[u8],
    ) {
        if characteristic == C::ReportControl
            && let Ok(response) = ControlResponse::decode(bytes)
            && let (ControlResult::Success, Some(interval_ms)) = (response.result, response.value)
            && [
                ReportRequest::Interval(0).op_code(),
                ReportRequest::Fast(true).op_code(),
            ]
            .contains(&response.op_code)
        {
            self.silence = silence_at(interval_ms);
        }
        if self.state == LinkState::Live {
            return;
        }
        // Values of an earlier subscription may arrive sooner; they are passed on but prove nothing yet.
        if matches!(self.step, Step::Subscribing(_) | Step::Flowing | Step::Probing) {
            if self.step == Step::Probing {
                self.step = Step::Flowing;
            }
            self.timer = None;
            self.live_since = at;
            self.enter(LinkState::Live, None);
        }
    }

    /// Nothing arrived for too long. A read of the feature goes over the air and, unlike the system's own idea of
    /// being connected, proves that the unit is there; it never notifies, so that it cannot pass for telemetry.
    pub(super) fn stalled(&mut self, at: SessionTime) {
        let seconds = self.silence.as_secs_f64();
        self.enter(
            LinkState::Stalled,
            Some(format!("nothing received for {seconds} s")),
        );
        self.step = Step::Probing;
        if let Some(running) = self.running.take()
            && let Command::Write(characteristic, _) = running.command
        {
            self.note(not_written(characteristic, Unwritten::Unanswered, ""));
        }
        self.command(at, Command::Read(C::BoosterFeature));
    }

    /// Begins the next write if the link is free.
    pub(super) fn next_write(&mut self, at: SessionTime) {
        if self.step == Step::Flowing
            && self.running.is_none()
            && let Some((characteristic, bytes)) = self.writes.pop_front()
        {
            let limit = if characteristic.needs_pairing() {
                PAIRING_LIMIT
            } else {
                CALL_LIMIT
            };
            self.command_within(at, Command::Write(characteristic, bytes), limit);
        }
    }

    pub(super) fn write_ended(
        &mut self,
        at: SessionTime,
        characteristic: Characteristic,
        bytes: RawBytes,
        answer: Answer,
    ) {
        match answer {
            Answer::Failed(Failure { cause, words }) => {
                let why = match cause {
                    Cause::PairingNeeded => Unwritten::PairFirst,
                    Cause::TimedOut => Unwritten::Unanswered,
                    _ => Unwritten::Refused,
                };
                self.note(not_written(characteristic, why, &words));
                // A write that is not answered says nothing about telemetry; the watchdog looks after that.
                if cause.ends_connection() && !matches!(cause, Cause::TimedOut | Cause::Busy) {
                    self.fail(at, cause, "the link was lost while writing".into());
                }
            }
            _ => self.output.push_back(super::Output::Event(EventKind::Written {
                characteristic,
                bytes,
            })),
        }
    }

    pub(super) fn refuse_writes(&mut self) {
        while let Some((characteristic, _)) = self.writes.pop_front() {
            self.refuse_write(characteristic);
        }
    }

    pub(super) fn refuse_write(&mut self, characteristic: Characteristic) {
        self.note(not_written(characteristic, Unwritten::NotReady, ""));
    }
}

fn mtu_in_words(mtu: u16) -> String {
    // Op code and handle take three bytes of every notification.
    let whole = MAX_TELEMETRY_LEN + 3;
    if usize::from(mtu) < whole {
        format!("MTU {mtu}: a reading with every field takes several notifications (one from MTU {whole} on)")
    } else {
        format!("MTU {mtu}")
    }
}

fn mismatch(error: DecodeError) -> String {
    match error {
        DecodeError::MajorVersion { .. } => error.to_string(),
        _ => format!("the unit's feature value cannot be understood: {error}"),
    }
}
