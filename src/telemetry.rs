//! From attribute values to readings: reassembly, sequence gaps, restarts, device clock, loss accounts, gap filling.
//!
//! A deterministic fold over events. It knows what the bytes mean and nothing of detectors, screens or clocks.

mod accounts;
mod assembly;
mod device_clock;
mod event_log;
mod identity;
mod reading;
mod sequence;

pub use accounts::{Accounts, Cause};
pub use device_clock::DeviceClock;
pub use event_log::LoggedEvent;
pub use identity::{DeviceInformation, Identity, band_names};
pub use reading::{Reading, loop_margin};

use crate::event::{Event, EventKind, LinkState, Origin, SessionTime};
use crate::link::Request;
use assembly::Assembler;
use booster_profile::{
    BandTable, BoosterFeature, CellReport, Characteristic, DecodeError, Part, StoredRecord, UnitEvent,
    UnitStatus, record_access,
};
use event_log::EventLog;
use sequence::{Arrival, SequenceTracker};

/// What telemetry makes of an event.
#[derive(Clone, Debug, PartialEq)]
pub enum Output {
    /// A reading of a band, in order.
    Reading(Reading),
    /// A reading that arrived after a later one: shown and exported, but not analysed.
    LateReading(Reading),
    /// A cell that the unit's modem hears.
    Cell(CellReport),
    /// Health of the whole unit.
    Unit(UnitStatus),
    /// A unit event, live or fetched from the log.
    UnitEvent(LoggedEvent),
    /// The unit started anew since it was last heard.
    Restarted {
        /// Boot id, where it is known whole.
        boot_id: Option<u32>,
    },
}

/// State of one band's stream.
#[derive(Clone, Debug, Default)]
struct Stream {
    assembler: Assembler,
    tracker: SequenceTracker,
}

/// The fold from events to readings.
#[derive(Clone, Debug, Default)]
pub struct Telemetry {
    identity: Identity,
    streams: Vec<Stream>,
    clock: DeviceClock,
    events: EventLog,
    requests: Vec<Request>,
    /// Readings arrive.
    live: bool,
    boot_id: Option<u32>,
    /// Low bits of the boot that telemetry of any band was heard of last: every stream that knows its boot is in it.
    heard: Option<u8>,
    /// Values that could not be decoded, of any characteristic, and why the last one could not.
    malformed_values: u64,
    last_malformed: Option<(SessionTime, Characteristic, DecodeError)>,
    /// Values of characteristics or bands that this version does not know: ignored by rule, but not unseen.
    ignored_values: u64,
    /// Values dropped on this computer and not yet charged to a gap.
    dropped_pool: u64,
    /// Malformed telemetry values whose band cannot be told, not yet charged to a gap.
    malformed_pool: u64,
    dropped_values: u64,
    unreadable_lines: u64,
}

impl Telemetry {
    /// Folds one event; what it yields is appended to `out`.
    pub fn apply(&mut self, event: &Event, out: &mut Vec<Output>) {
        match &event.kind {
            EventKind::Value {
                characteristic,
                origin,
                bytes,
            } => {
                self.value(event.at, *characteristic, *origin, bytes, out);
            }
            EventKind::Link { state, .. } => self.link(*state),
            EventKind::Dropped { count } => {
                self.dropped_values += u64::from(*count);
                self.dropped_pool += u64::from(*count);
                self.streams.iter_mut().for_each(|s| s.tracker.values_dropped());
            }
            EventKind::Unreadable { lines } => {
                self.unreadable_lines += lines.unwrap_or(0);
                self.streams
                    .iter_mut()
                    .for_each(|s| s.tracker.recording_damaged());
            }
            EventKind::End => self.streams.iter_mut().for_each(|s| {
                s.assembler.flush(&mut s.tracker);
                s.tracker.finish();
            }),
            EventKind::Written { .. }
            | EventKind::Deadline
            | EventKind::Mark(_)
            | EventKind::Key { .. }
            | EventKind::Setting { .. } => {}
        }
    }

    /// Takes what the link should be asked for: requests that fill gaps.
    pub fn take_requests(&mut self) -> Vec<Request> {
        std::mem::take(&mut self.requests)
    }

    /// Who the unit is, as far as it has said.
    pub fn identity(&self) -> &Identity {
        &self.identity
    }

    /// Accounts of the band at this position of the band table, over all boots.
    pub fn accounts(&self, position: usize) -> Accounts {
        self.streams
            .get(position)
            .map(|s| s.tracker.accounts())
            .unwrap_or_default()
    }

    /// Accounts of all bands together.
    pub fn total(&self) -> Accounts {
        self.streams.iter().map(|s| s.tracker.accounts()).sum()
    }

    /// Values of any characteristic that could not be decoded.
    pub fn malformed_values(&self) -> u64 {
        self.malformed_values
    }

    /// The last value that could not be decoded: when, whose, why.
    pub fn last_malformed(&self) -> Option<&(SessionTime, Characteristic, DecodeError)> {
        self.last_malformed.as_ref()
    }

    /// Values that were understood to be of no use here: unknown record kinds, bands that are not in the table.
    pub fn ignored_values(&self) -> u64 {
        self.ignored_values
    }

    /// Values that were dropped on this computer, of any characteristic.
    pub fn dropped_values(&self) -> u64 {
        self.dropped_values
    }

    /// Lines that a damaged recording is known to have lost.
    pub fn unreadable_lines(&self) -> u64 {
        self.unreadable_lines
    }

    /// Relation of the unit's clock to session time.
    pub fn clock(&self) -> &DeviceClock {
        &self.clock
    }

    /// Boot id of the running start, once read or reported whole.
    pub fn boot_id(&self) -> Option<u32> {
        self.boot_id
    }

    fn link(&mut self, state: LinkState) {
        let was_live = std::mem::replace(&mut self.live, state == LinkState::Live);
        match state {
            // A remark while live, such as a write that failed, is no arrival. What failed may be what was asked for: the
            // next hole asks again, not the remark itself, lest failures follow each other without a pause.
            LinkState::Live if was_live => self.events.on_down(),
            LinkState::Live => self.requests.extend(self.events.on_live()),
            // Connected, but the unit went quiet: what it sends later is still the same connection.
            LinkState::Stalled | LinkState::AwaitingFirstValue => {}
            _ => {
                self.events.on_down();
                self.streams.iter_mut().for_each(|s| {
                    s.assembler.flush(&mut s.tracker);
                    s.tracker.link_down();
                });
            }
        }
    }

    fn value(
        &mut self,
        at: SessionTime,
        characteristic: Characteristic,
        origin: Origin,
        bytes: &[u8],
        out: &mut Vec<Output>,
    ) {
        use Characteristic as C;
        let decoded = match characteristic {
            C::BandTelemetry => self.band_telemetry(at, bytes, out),
            C::BoosterFeature => BoosterFeature::decode(bytes).map(|f| self.feature(f, out)),
            C::BandTable => BandTable::decode(bytes).map(|t| self.band_table(t)),
            C::CellReport => CellReport::decode(bytes).map(|c| out.push(Output::Cell(c))),
            C::UnitStatus => UnitStatus::decode(bytes).map(|s| {
                self.boot(s.boot_id, out);
                out.push(Output::Unit(s));
            }),
            C::UnitEvent => UnitEvent::decode(bytes).map(|e| self.unit_event(e, false, out)),
            C::StoredRecord => StoredRecord::decode(bytes).map(|r| match r {
                StoredRecord::Event(e) => self.unit_event(e, true, out),
                StoredRecord::History(_) | StoredRecord::Unknown(_) => self.ignored_values += 1,
            }),
            C::RecordAccess => record_access::Response::decode(bytes).map(|r| {
                self.requests.extend(self.events.on_response(r));
            }),
            C::ReportControl | C::UnitControl => Ok(()),
            C::ManufacturerName
            | C::ModelNumber
            | C::SerialNumber
            | C::FirmwareRevision
            | C::HardwareRevision => {
                if origin == Origin::Read {
                    self.identity.device.set(characteristic, bytes);
                }
                Ok(())
            }
        };
        if let Err(error) = decoded {
            self.malformed_values += 1;
            self.last_malformed = Some((at, characteristic, error));
            if characteristic == C::BandTelemetry {
                self.malformed_telemetry(bytes);
            }
        }
    }

    fn feature(&mut self, feature: BoosterFeature, out: &mut Vec<Output>) {
        self.identity.feature = Some(feature);
        self.boot(feature.boot_id, out);
    }

    fn band_table(&mut self, table: BandTable) {
        // The same table again after a reconnect keeps the streams and their accounts.
        if self.identity.bands != table {
            self.streams = vec![Stream::default(); table.bands.len()];
            self.heard = None;
            self.identity.set_bands(table);
        }
    }

    /// A boot id that is known whole. The telemetry nibble of the same start follows it.
    fn boot(&mut self, boot_id: u32, out: &mut Vec<Output>) {
        let before = self.boot_id.replace(boot_id);
        if before.is_some_and(|b| b != boot_id) {
            self.restarted((boot_id & 0x0F) as u8, out, Some(boot_id));
        }
    }

    fn restarted(&mut self, nibble: u8, out: &mut Vec<Output>, boot_id: Option<u32>) {
        self.clock = DeviceClock::default();
        self.heard = (!self.streams.is_empty()).then_some(nibble);
        self.streams.iter_mut().for_each(|s| {
            s.assembler.flush(&mut s.tracker);
            s.tracker.restarted(nibble);
        });
        out.push(Output::Restarted { boot_id });
    }

    fn unit_event(&mut self, event: UnitEvent, stored: bool, out: &mut Vec<Output>) {
        let (fresh, request) = self.events.admit(event.sequence, stored);
        self.requests.extend(request);
        if fresh {
            out.push(Output::UnitEvent(LoggedEvent { event, stored }));
        }
    }

    fn band_telemetry(
        &mut self,
        at: SessionTime,
        bytes: &[u8],
        out: &mut Vec<Output>,
    ) -> Result<(), DecodeError> {
        let part = Part::decode(bytes)?;
        let (boot, band) = match &part {
            Part::First { reading, .. } => (reading.boot, reading.band),
            Part::Continuation(c) => (c.boot, c.band),
        };
        let Some(position) = self.identity.position(band) else {
            self.ignored_values += 1;
            return Ok(());
        };
        if self.heard.is_some_and(|b| b != boot) {
            // The nibble alone tells a restart; the whole id follows with the next status.
            self.boot_id = self.boot_id.filter(|id| (id & 0x0F) as u8 == boot);
            self.restarted(boot, out, self.boot_id);
        }
        let Some(stream) = self.streams.get_mut(position) else {
            return Ok(());
        };
        let Some(telemetry) = stream.assembler.add(part, &mut stream.tracker)? else {
            return Ok(());
        };
        let mut pools = sequence::Pools {
            dropped: &mut self.dropped_pool,
            malformed: &mut self.malformed_pool,
        };
        let interval = self
            .identity
            .feature
            .map_or(1_000, |f| u64::from(f.default_interval_ms));
        self.heard = Some(boot);
        let arrival =
            stream
                .tracker
                .observe(boot, telemetry.sequence, telemetry.time_ms, interval, &mut pools);
        let (sequence, unit_ms, late) = match arrival {
            Arrival::InOrder { sequence, unit_ms } => (sequence, unit_ms, false),
            Arrival::Late { sequence, unit_ms } => (sequence, unit_ms, true),
            Arrival::Duplicate => return Ok(()),
        };
        let reading = Reading {
            at,
            position,
            sequence,
            unit_ms,
            telemetry,
        };
        if late {
            out.push(Output::LateReading(reading));
        } else {
            self.clock.observe(at, unit_ms);
            out.push(Output::Reading(reading));
        }
        if self.dropped_pool > 0 && self.streams.iter().all(|s| !s.tracker.awaits_dropped()) {
            // Every band has been heard since the drop: what is left of it was not telemetry.
            self.dropped_pool = 0;
        }
        Ok(())
    }

    /// A malformed telemetry value is charged to the reading that its header names, or to the next gap of any band.
    fn malformed_telemetry(&mut self, bytes: &[u8]) {
        let header = bytes.get(2).zip(bytes.get(3)).zip(bytes.get(4));
        if let Some(((band, low), high)) = header
            && let Some(position) = self.identity.position(*band)
            && let Some(stream) = self.streams.get_mut(position)
        {
            stream
                .tracker
                .spoiled(u16::from_le_bytes([*low, *high]), Cause::Malformed);
        } else {
            self.malformed_pool += 1;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn link(telemetry: &mut Telemetry, state: LinkState) -> usize {
        let event = Event {
            at: SessionTime::ZERO,
            kind: EventKind::Link { state, detail: None },
        };
        telemetry.apply(&event, &mut Vec::new());
        telemetry.take_requests().len()
    }

    /// A write that fails is reported as a remark of the live link; it used to be taken for a new arrival, which asked
    /// the unit for records, which failed, and so on without end.
    #[test]
    fn a_remark_while_live_asks_for_nothing() {
        let mut telemetry = Telemetry::default();
        assert_eq!(link(&mut telemetry, LinkState::Live), 1);
        assert_eq!(link(&mut telemetry, LinkState::Live), 0);
        assert_eq!(link(&mut telemetry, LinkState::Stalled), 0);
        assert_eq!(link(&mut telemetry, LinkState::Live), 1, "back after a silence");
    }
}
