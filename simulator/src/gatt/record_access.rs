//! Record Access Control Point: the standard procedures over both logs.

use super::AttError;
use super::connection::Connection;
use crate::booster::{Memory, Unit};
use booster_profile::Characteristic as C;
use booster_profile::record_access::{Log, OpCode, Request, Response, ResponseCode};

/// Pace of stored records, µs.
const PACE_US: u64 = 10_000;

/// A report that runs.
#[derive(Clone, Copy, Debug)]
pub(super) struct Transfer {
    log: Log,
    next: u32,
    end: u32,
    sent: u32,
    pub(super) next_us: u64,
}

/// What a running report does next.
pub(super) enum Step {
    /// Send this record.
    Record(arrayvec::ArrayVec<u8, 20>),
    /// Say that it ended.
    End(ResponseCode),
}

impl Transfer {
    /// The next record, or the end. Records that were overwritten meanwhile are skipped.
    pub(super) fn step(&mut self, memory: &Memory) -> Step {
        while self.next < self.end {
            let record = memory.record(self.log, self.next);
            self.next += 1;
            if let Some(record) = record {
                self.sent += 1;
                self.next_us += PACE_US;
                return Step::Record(record.encode());
            }
        }
        Step::End(if self.sent > 0 {
            ResponseCode::Success
        } else {
            ResponseCode::NotCompleted
        })
    }
}

impl Connection {
    /// A request on the control point.
    pub(super) fn access(&mut self, now_us: u64, value: &[u8], unit: &Unit) -> Result<(), AttError> {
        let request = Request::decode(value);
        // While a report runs only an abort gets through (common profile error 0xFE).
        if self.transfer.is_some() && request != Ok(Request::Abort) {
            return Err(AttError::ProcedureInProgress(C::RecordAccess));
        }
        let response = match request {
            Err(refused) => Some(outcome(refused.op_code, refused.code)),
            Ok(Request::Abort) => {
                let code = match self.transfer.take() {
                    Some(_) => ResponseCode::Success,
                    None => ResponseCode::AbortUnsuccessful,
                };
                Some(outcome(OpCode::Abort.raw(), code))
            }
            Ok(Request::Count(Log::History, _)) if unit.spec().history_capacity == 0 => {
                Some(outcome(OpCode::Count.raw(), ResponseCode::OperandNotSupported))
            }
            Ok(Request::Report(Log::History, _)) if unit.spec().history_capacity == 0 => {
                Some(outcome(OpCode::Report.raw(), ResponseCode::OperandNotSupported))
            }
            Ok(Request::Count(log, select)) => {
                let (from, to) = unit.memory().range(log, select);
                let count = to.saturating_sub(from);
                Some(Response::Number(u16::try_from(count).unwrap_or(u16::MAX)))
            }
            Ok(Request::Report(log, select)) => {
                let (from, to) = unit.memory().range(log, select);
                if !self.is_on(C::StoredRecord) {
                    return Err(AttError::ImproperlyConfigured(C::StoredRecord));
                }
                if from >= to {
                    Some(outcome(OpCode::Report.raw(), ResponseCode::NoRecords))
                } else {
                    self.transfer = Some(Transfer {
                        log,
                        next: from,
                        end: to,
                        sent: 0,
                        next_us: now_us + PACE_US,
                    });
                    None
                }
            }
        };
        if let Some(response) = response {
            self.indicate(C::RecordAccess, &response.encode());
        }
        Ok(())
    }
}

pub(super) fn outcome(op_code: u8, code: ResponseCode) -> Response {
    Response::Outcome { op_code, code }
}
