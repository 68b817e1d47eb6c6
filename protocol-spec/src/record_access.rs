//! Record Access Control Point 0x2A52: standard op codes, operators and response codes; the profile defines the filter.
//!
//! A request is op code u8, operator u8, operand. The operand begins with a filter type u8 (1 event sequence, 2 history
//! sequence) and carries one or two u32 sequence numbers as the operator needs. Without an operand, *all*, *first* and
//! *last* mean events.

use crate::bytes::{Reader, Writer};
use crate::error::DecodeError;
use crate::open::open_enum;
use arrayvec::ArrayVec;

/// Length of the longest request: op code, operator, filter type, two sequence numbers.
pub const MAX_REQUEST_LEN: usize = 11;
const NUMBER_RESPONSE: u8 = 0x05;
const RESPONSE: u8 = 0x06;

open_enum! {
    /// What is asked for.
    pub enum OpCode: u8 {
        /// Send the records.
        Report = 0x01 => "report",
        /// Delete the records; this profile never allows it.
        Delete = 0x02 => "delete",
        /// Stop the procedure that runs.
        Abort = 0x03 => "abort",
        /// Say how many records there are.
        Count = 0x04 => "count",
    }
}

open_enum! {
    /// Response codes of the Record Access Control Point.
    pub enum ResponseCode: u8 {
        /// Done.
        Success = 0x01 => "success",
        /// Op code not supported.
        OpCodeNotSupported = 0x02 => "op-code-not-supported",
        /// The operator makes no sense with this op code.
        InvalidOperator = 0x03 => "invalid-operator",
        /// Operator not supported.
        OperatorNotSupported = 0x04 => "operator-not-supported",
        /// The operand is malformed.
        InvalidOperand = 0x05 => "invalid-operand",
        /// No record matches.
        NoRecords = 0x06 => "no-records",
        /// Nothing could be aborted.
        AbortUnsuccessful = 0x07 => "abort-unsuccessful",
        /// Started and not finished.
        NotCompleted = 0x08 => "not-completed",
        /// Filter type not supported.
        OperandNotSupported = 0x09 => "operand-not-supported",
        /// Another procedure runs.
        ServerBusy = 0x0A => "server-busy",
    }
}

/// Which log a filter refers to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Log {
    /// Unit events; filter type 1.
    Events,
    /// 1 Hz history; filter type 2.
    History,
}

/// Which records of a log.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Select {
    /// Every record; operator 0x01.
    All,
    /// Sequence at most this; operator 0x02.
    AtMost(u32),
    /// Sequence at least this; operator 0x03.
    AtLeast(u32),
    /// Sequence within, both ends included; operator 0x04.
    Within(u32, u32),
    /// The oldest record; operator 0x05.
    First,
    /// The newest record; operator 0x06.
    Last,
}

impl Select {
    /// Whether a record with this sequence is selected; *first* and *last* depend on the log and are not decided here.
    pub const fn admits(self, sequence: u32) -> bool {
        match self {
            Select::All | Select::First | Select::Last => true,
            Select::AtMost(max) => sequence <= max,
            Select::AtLeast(min) => sequence >= min,
            Select::Within(min, max) => min <= sequence && sequence <= max,
        }
    }
}

/// A request that the profile supports.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Request {
    /// Send the selected records as Stored Record notifications, then confirm.
    Report(Log, Select),
    /// Say how many records are selected.
    Count(Log, Select),
    /// Stop the report that runs.
    Abort,
}

/// A request that the server answers with an error response: the op code and why.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Refused {
    /// The op code as it arrived.
    pub op_code: u8,
    /// The response code to send.
    pub code: ResponseCode,
}

impl Request {
    /// Encodes the request for writing.
    pub fn encode(&self) -> ArrayVec<u8, MAX_REQUEST_LEN> {
        let mut w = Writer::new();
        let (op, log, select) = match *self {
            Request::Abort => {
                w.bytes(&[OpCode::Abort.raw(), 0x00]);
                return w.0;
            }
            Request::Report(log, select) => (OpCode::Report, log, select),
            Request::Count(log, select) => (OpCode::Count, log, select),
        };
        w.u8(op.raw());
        let (operator, from, to) = match select {
            Select::All => (0x01, None, None),
            Select::AtMost(max) => (0x02, Some(max), None),
            Select::AtLeast(min) => (0x03, Some(min), None),
            Select::Within(min, max) => (0x04, Some(min), Some(max)),
            Select::First => (0x05, None, None),
            Select::Last => (0x06, None, None),
        };
        w.u8(operator);
        w.u8(match log {
            Log::Events => 1,
            Log::History => 2,
        });
        for sequence in [from, to].into_iter().flatten() {
            w.u32(sequence);
        }
        w.0
    }

    /// Decodes a written request.
    ///
    /// # Errors
    /// [`Refused`] with the standard response code for everything that the profile does not support; the operator is
    /// looked at before the filter, so that a server of one log and a server of several answer alike.
    pub fn decode(bytes: &[u8]) -> Result<Self, Refused> {
        let mut r = Reader::new(bytes);
        let op_code = r.u8().unwrap_or(0);
        let refuse = |code| Refused { op_code, code };
        let operator = r.u8().map_err(|_| refuse(ResponseCode::InvalidOperator))?;
        match OpCode::from_raw(op_code) {
            OpCode::Report | OpCode::Count => match operator {
                0x00 => return Err(refuse(ResponseCode::InvalidOperator)),
                0x01..=0x06 => {}
                _ => return Err(refuse(ResponseCode::OperatorNotSupported)),
            },
            OpCode::Abort if operator == 0 => return Ok(Request::Abort),
            OpCode::Abort => return Err(refuse(ResponseCode::InvalidOperator)),
            OpCode::Delete | OpCode::Unknown(_) => return Err(refuse(ResponseCode::OpCodeNotSupported)),
        }
        let filter = r.u8().ok();
        let log = match filter {
            None | Some(1) => Log::Events,
            Some(2) => Log::History,
            Some(_) => return Err(refuse(ResponseCode::OperandNotSupported)),
        };
        let mut sequence = || r.u32().map_err(|_| refuse(ResponseCode::InvalidOperand));
        let select = match operator {
            0x01 => Select::All,
            0x02 => Select::AtMost(sequence()?),
            0x03 => Select::AtLeast(sequence()?),
            0x04 => {
                let (min, max) = (sequence()?, sequence()?);
                if min > max {
                    return Err(refuse(ResponseCode::InvalidOperand));
                }
                Select::Within(min, max)
            }
            0x05 => Select::First,
            0x06 => Select::Last,
            _ => return Err(refuse(ResponseCode::OperatorNotSupported)),
        };
        Ok(if op_code == OpCode::Report.raw() {
            Request::Report(log, select)
        } else {
            Request::Count(log, select)
        })
    }
}

/// What the server indicates.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Response {
    /// `05 00` and a u16 count.
    Number(u16),
    /// `06 00`, the op code that it answers, the response code.
    Outcome {
        /// Op code of the request.
        op_code: u8,
        /// How it went.
        code: ResponseCode,
    },
}

impl Response {
    /// Encodes the response, 4 bytes.
    pub fn encode(&self) -> ArrayVec<u8, 4> {
        let mut w = Writer::new();
        match *self {
            Response::Number(count) => {
                w.bytes(&[NUMBER_RESPONSE, 0]);
                w.u16(count);
            }
            Response::Outcome { op_code, code } => w.bytes(&[RESPONSE, 0, op_code, code.raw()]),
        }
        w.0
    }

    /// Decodes an indicated response.
    ///
    /// # Errors
    /// [`DecodeError::Short`], or [`DecodeError::Contradictory`] for an op code that is no response.
    pub fn decode(bytes: &[u8]) -> Result<Self, DecodeError> {
        let mut r = Reader::new(bytes);
        r.need(4)?;
        let (op, _operator) = (r.u8()?, r.u8()?);
        match op {
            NUMBER_RESPONSE => Ok(Response::Number(r.u16()?)),
            RESPONSE => Ok(Response::Outcome {
                op_code: r.u8()?,
                code: ResponseCode::from_raw(r.u8()?),
            }),
            _ => Err(DecodeError::Contradictory(
                "record access indication that is no response",
            )),
        }
    }
}
