//! What the server sends unasked, and when.

use super::connection::Connection;
use super::record_access::{Step, outcome};
use super::{Server, Value, pushed};
use crate::booster::Unit;
use crate::world::World;
use booster_profile::Characteristic as C;
use booster_profile::record_access::OpCode;

/// Time between Unit Status notifications, µs.
const STATUS_US: u64 = 1_000_000;
/// Oldest measurement that is reported when a client begins to listen, µs.
const FRESH_US: u64 = 60_000_000;

impl Server {
    /// When it has something to send, readings apart.
    pub fn next_us(&self) -> u64 {
        let Some(c) = &self.connection else {
            return u64::MAX;
        };
        let transfer = c.transfer.map_or(u64::MAX, |t| t.next_us);
        let confirmation = self.confirmation_deadline_us().unwrap_or(u64::MAX);
        c.next_status_us.min(transfer).min(confirmation)
    }

    /// Sends the readings of all bands. They are taken and numbered whether or not anybody listens.
    pub fn send_readings(&mut self, now_us: u64, unit: &mut Unit, mut send: impl FnMut(Value)) {
        let payload = self
            .connection
            .as_ref()
            .filter(|c| c.is_on(C::BandTelemetry))
            .map(Connection::payload);
        for band in 0..unit.bands().len() {
            let Some(reading) = unit.reading(band, now_us) else {
                continue;
            };
            let Some(payload) = payload else { continue };
            for part in reading.encode(payload) {
                send(Value {
                    characteristic: C::BandTelemetry,
                    bytes: pushed(&part),
                });
            }
        }
    }

    /// Sends everything else that is due.
    pub fn send_due(&mut self, now_us: u64, unit: &Unit, world: &World, mut send: impl FnMut(Value)) {
        let Some(c) = &mut self.connection else { return };
        c.send_status(now_us, unit, &mut send);
        c.send_cells(now_us, unit, world, &mut send);
        c.queue_events(unit);
        c.send_records(now_us, unit, &mut send);
        if let Some(indication) = c.next_indication(now_us) {
            send(indication);
        }
    }
}

impl Connection {
    fn send_status(&mut self, now_us: u64, unit: &Unit, send: &mut impl FnMut(Value)) {
        if !self.is_on(C::UnitStatus) {
            self.next_status_us = u64::MAX;
            return;
        }
        let due = now_us >= self.next_status_us;
        let status = unit.status(now_us);
        // Between the seconds only a change of what matters is told, not of the clock or the temperature.
        let mut core = status;
        core.uptime_s = 0;
        core.temperature_centi_c = None;
        core.aim_safe_left_s = None;
        let core = pushed(&core.encode(self.payload()));
        if !due && self.last_status.as_ref() == Some(&core) {
            return;
        }
        self.last_status = Some(core);
        self.next_status_us = now_us + STATUS_US;
        send(Value {
            characteristic: C::UnitStatus,
            bytes: pushed(&status.encode(self.payload())),
        });
    }

    /// Every new measurement once; right after enabling, also what is not older than a minute.
    fn send_cells(&mut self, now_us: u64, unit: &Unit, world: &World, send: &mut impl FnMut(Value)) {
        if !self.is_on(C::CellReport) || !unit.reports_cells() {
            return;
        }
        let cells = unit.modem().cells();
        self.told_cells.resize(cells, u64::MAX);
        for cell in 0..cells {
            let Some(measured) = unit.modem().last(cell) else {
                continue;
            };
            let old = now_us.saturating_sub(measured.at_us) > FRESH_US;
            if self.told_cells[cell] == measured.at_us || old {
                continue;
            }
            self.told_cells[cell] = measured.at_us;
            if let Some(report) = unit.cell_report(cell, now_us, world) {
                send(Value {
                    characteristic: C::CellReport,
                    bytes: pushed(&report.encode()),
                });
            }
        }
    }

    fn queue_events(&mut self, unit: &Unit) {
        if !self.is_on(C::UnitEvent) {
            return;
        }
        let events = &unit.memory().events;
        while self.event_cursor < events.next_sequence() {
            // One that was overwritten meanwhile can't be told any more.
            let told = events
                .get(self.event_cursor)
                .is_none_or(|event| self.indicate(C::UnitEvent, &event.encode()));
            if !told {
                return;
            }
            self.event_cursor += 1;
        }
    }

    fn send_records(&mut self, now_us: u64, unit: &Unit, send: &mut impl FnMut(Value)) {
        while let Some(transfer) = &mut self.transfer {
            if now_us < transfer.next_us {
                return;
            }
            match transfer.step(unit.memory()) {
                Step::Record(bytes) => send(Value {
                    characteristic: C::StoredRecord,
                    bytes: pushed(&bytes),
                }),
                Step::End(code) => {
                    self.transfer = None;
                    let response = outcome(OpCode::Report.raw(), code);
                    self.indicate(C::RecordAccess, &response.encode());
                }
            }
        }
    }
}
