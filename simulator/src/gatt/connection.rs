//! One connection: what is subscribed, what waits to be indicated, which procedures run.

use super::record_access::Transfer;
use super::{AttError, PushedBytes, Value, pushed};
use crate::booster::Unit;
use booster_profile::Characteristic as C;
use booster_profile::control::{ControlResponse, ControlResult, ReportRequest, UnitRequest};
use std::collections::VecDeque;

/// Time without confirmation after which the connection is useless (Core specification Vol 3 Part F 3.3.3), µs.
const CONFIRMATION_US: u64 = 30_000_000;
/// Indications that may wait; events beyond are fetched through record access.
const WAITING: usize = 32;

/// What both sides agreed on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LinkParameters {
    /// ATT MTU, 23 to 517.
    pub mtu: u16,
    /// The link is encrypted.
    pub encrypted: bool,
    /// The keys are authenticated.
    pub authenticated: bool,
}

/// The server. It serves one client at a time.
#[derive(Clone, Debug, Default)]
pub struct Server {
    pub(super) connection: Option<Connection>,
}

#[derive(Clone, Debug)]
pub(super) struct Connection {
    pub(super) link: LinkParameters,
    subscribed: [bool; C::ALL.len()],
    pub(super) interval_ms: Option<u16>,
    pub(super) fast: bool,
    pub(super) next_status_us: u64,
    pub(super) last_status: Option<PushedBytes>,
    /// Per cell, when the measurement was made that was reported last, µs.
    pub(super) told_cells: Vec<u64>,
    /// Event that is indicated next.
    pub(super) event_cursor: u32,
    waiting: VecDeque<Value>,
    unconfirmed: Option<(C, u64)>,
    pub(super) transfer: Option<Transfer>,
}

fn slot(c: C) -> usize {
    C::ALL.iter().position(|x| *x == c).unwrap_or(0)
}

impl Connection {
    pub(super) fn is_on(&self, c: C) -> bool {
        self.subscribed[slot(c)]
    }

    /// Bytes of a notification.
    pub(super) fn payload(&self) -> usize {
        usize::from(self.link.mtu.clamp(23, 517)) - 3
    }

    /// Lines up an indication; says whether there was room.
    pub(super) fn indicate(&mut self, characteristic: C, bytes: &[u8]) -> bool {
        if self.waiting.len() >= WAITING {
            return false;
        }
        self.waiting.push_back(Value {
            characteristic,
            bytes: pushed(bytes),
        });
        true
    }

    /// The next indication, if the one before is confirmed.
    pub(super) fn next_indication(&mut self, now_us: u64) -> Option<Value> {
        if self.unconfirmed.is_some() {
            return None;
        }
        let value = self.waiting.pop_front()?;
        self.unconfirmed = Some((value.characteristic, now_us));
        Some(value)
    }

    /// Whether an answer of this control point waits to be sent or confirmed.
    fn answer_is_due(&self, c: C) -> bool {
        self.unconfirmed.is_some_and(|(of, _)| of == c) || self.waiting.iter().any(|v| v.characteristic == c)
    }
}

impl Server {
    /// A client connects; one that was connected is replaced.
    pub fn connect(&mut self, link: LinkParameters) {
        self.connection = Some(Connection {
            link,
            subscribed: [false; C::ALL.len()],
            interval_ms: None,
            fast: false,
            next_status_us: u64::MAX,
            last_status: None,
            told_cells: Vec::new(),
            event_cursor: 0,
            waiting: VecDeque::with_capacity(WAITING),
            unconfirmed: None,
            transfer: None,
        });
    }

    /// The connection ends, and with it everything that was asked for on it.
    pub fn disconnect(&mut self) {
        self.connection = None;
    }

    /// Whether a client is connected.
    pub fn is_connected(&self) -> bool {
        self.connection.is_some()
    }

    /// Whether the client has enabled values of this characteristic.
    pub fn is_subscribed(&self, c: C) -> bool {
        self.connection.as_ref().is_some_and(|n| n.is_on(c))
    }

    /// The client's MTU changed.
    pub fn set_mtu(&mut self, mtu: u16) {
        if let Some(connection) = &mut self.connection {
            connection.link.mtu = mtu;
        }
    }

    /// The client confirms the outstanding indication.
    pub fn confirm(&mut self) {
        if let Some(connection) = &mut self.connection {
            connection.unconfirmed = None;
        }
    }

    /// When the client will have waited too long with its confirmation.
    pub fn confirmation_deadline_us(&self) -> Option<u64> {
        self.connection
            .as_ref()?
            .unconfirmed
            .map(|(_, since)| since + CONFIRMATION_US)
    }

    /// Interval of readings in effect, ms.
    pub fn interval_ms(&self, unit: &Unit) -> u16 {
        let spec = unit.spec();
        match &self.connection {
            Some(c) if c.fast => spec.min_report_ms,
            Some(c) => c.interval_ms.unwrap_or(spec.report_ms),
            None => spec.report_ms,
        }
    }

    /// Enables or disables notifications or indications.
    ///
    /// # Errors
    /// [`AttError::RequestNotSupported`] for a characteristic that has none.
    pub fn subscribe(&mut self, now_us: u64, c: C, on: bool, unit: &Unit) -> Result<(), AttError> {
        let connection = self.connection.as_mut().ok_or(AttError::NotConnected)?;
        if !c.is_subscribable() {
            return Err(AttError::RequestNotSupported(c));
        }
        let was = connection.is_on(c);
        connection.subscribed[slot(c)] = on;
        if on {
            match c {
                C::UnitStatus => connection.next_status_us = now_us,
                C::CellReport if !was => connection.told_cells.clear(),
                C::UnitEvent if !was => connection.event_cursor = unit.memory().events.next_sequence(),
                _ => {}
            }
        }
        Ok(())
    }

    /// A write with response. The client learns the outcome of a request through an indication.
    ///
    /// # Errors
    /// The ATT error that the client gets.
    pub fn write(&mut self, now_us: u64, c: C, value: &[u8], unit: &mut Unit) -> Result<(), AttError> {
        let connection = self.connection.as_mut().ok_or(AttError::NotConnected)?;
        match c {
            C::RecordAccess | C::ReportControl => {}
            C::UnitControl if !connection.link.encrypted => return Err(AttError::InsufficientEncryption(c)),
            C::UnitControl if !connection.link.authenticated => {
                return Err(AttError::InsufficientAuthentication(c));
            }
            C::UnitControl => {}
            _ => return Err(AttError::WriteNotPermitted(c)),
        }
        if !connection.is_on(c) {
            return Err(AttError::ImproperlyConfigured(c));
        }
        if connection.answer_is_due(c) {
            return Err(AttError::ProcedureInProgress(c));
        }
        match c {
            C::RecordAccess => return connection.access(now_us, value, unit),
            C::ReportControl => {
                let response = connection.report_control(value, unit);
                connection.indicate(c, &response.encode());
            }
            _ => {
                let response = match UnitRequest::decode(value) {
                    Ok(request) => unit.control(now_us, request),
                    Err(refused) => refusal(refused.op_code, refused.result),
                };
                connection.indicate(c, &response.encode());
            }
        }
        Ok(())
    }
}

fn refusal(op_code: u8, result: ControlResult) -> ControlResponse {
    ControlResponse {
        op_code,
        result,
        value: None,
    }
}

impl Connection {
    fn report_control(&mut self, value: &[u8], unit: &Unit) -> ControlResponse {
        let request = match ReportRequest::decode(value) {
            Ok(request) => request,
            Err(refused) => return refusal(refused.op_code, refused.result),
        };
        let spec = unit.spec();
        match request {
            ReportRequest::Interval(ms) => {
                if !(spec.min_report_ms..=spec.max_report_ms).contains(&ms) {
                    return refusal(request.op_code(), ControlResult::InvalidParameter);
                }
                self.interval_ms = Some(ms);
            }
            ReportRequest::Fast(on) => self.fast = on,
        }
        let normal = self.interval_ms.unwrap_or(spec.report_ms);
        ControlResponse {
            op_code: request.op_code(),
            result: ControlResult::Success,
            value: Some(if self.fast { spec.min_report_ms } else { normal }),
        }
    }
}
