//! The two control points.
//!
//! *Report Control Point*: how often this connection is told; no pairing, ends with the connection. *Unit Control
//! Point*: what changes the unit; needs an encrypted and authenticated link, and presence at the unit where emission
//! rises. They are two characteristics because permissions belong to an attribute: the stack itself enforces them.
//! A request is an op code u8 and parameters; the server indicates 0x80, the op code, a result, and parameters.

use crate::bytes::{Reader, Writer};
use crate::error::DecodeError;
use crate::event::{Direction, WHOLE_UNIT};
use crate::level::TenthDb;
use crate::open::open_enum;
use arrayvec::ArrayVec;

/// Length of the longest request or response.
pub const MAX_CONTROL_LEN: usize = 8;
const RESPONSE: u8 = 0x80;

open_enum! {
    /// How a request ended.
    pub enum ControlResult: u8 {
        /// Done.
        Success = 0x01 => "success",
        /// Op code not supported by this unit.
        OpCodeNotSupported = 0x02 => "op-code-not-supported",
        /// Parameters missing or out of range.
        InvalidParameter = 0x03 => "invalid-parameter",
        /// Tried and failed.
        Failed = 0x04 => "failed",
        /// Emission would rise: press the button at the unit first.
        PresenceNeeded = 0x05 => "presence-needed",
        /// Another procedure runs.
        Busy = 0x06 => "busy",
        /// The rule set in force forbids it.
        NotPermitted = 0x07 => "not-permitted",
        /// Not possible in the present state.
        WrongState = 0x08 => "wrong-state",
    }
}

/// Requests on the Report Control Point.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ReportRequest {
    /// 0x01: report interval u16 in ms; the response carries the one in effect.
    Interval(u16),
    /// 0x02: fast reporting for aiming, u8 0 or 1; the response carries the interval in effect.
    Fast(bool),
}

/// Requests on the Unit Control Point.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum UnitRequest {
    /// 0x01: aim-safe on, u16 seconds until it ends by itself (1…3600); lowers emission, no presence needed.
    AimSafeOn {
        /// Seconds until restore.
        restore_s: u16,
    },
    /// 0x02: aim-safe off; raises emission, presence needed.
    AimSafeOff,
    /// 0x03: isolation test, u8 band index or 0xFF for all; radiates, presence needed.
    IsolationTest {
        /// Band index; `None` for all.
        band: Option<u8>,
    },
    /// 0x04: attenuation, u8 band (one, not 0xFF), u8 direction, u16 in 0.1 dB (0…600); presence needed when it falls.
    Attenuation {
        /// Band index.
        band: u8,
        /// Direction; both at once is allowed.
        direction: Direction,
        /// Attenuation before the amplifier.
        value: TenthDb,
    },
    /// 0x05: restart after latching off; presence needed.
    Restart,
    /// 0x06: blink for u8 seconds, 0 stops.
    Locate {
        /// Seconds.
        seconds: u8,
    },
    /// 0x07: mute, u8 band or 0xFF, u8 direction, u8 1 mute or 0 unmute; presence needed to unmute.
    Mute {
        /// Band index; `None` for all.
        band: Option<u8>,
        /// Direction.
        direction: Direction,
        /// Mute (true) or unmute.
        on: bool,
    },
}

/// A request that cannot be decoded: the op code and the result to send.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Refused {
    /// The op code as it arrived.
    pub op_code: u8,
    /// The result to indicate.
    pub result: ControlResult,
}

fn op_code(r: &mut Reader<'_>) -> Result<u8, Refused> {
    r.u8().map_err(|_| Refused {
        op_code: 0,
        result: ControlResult::InvalidParameter,
    })
}

impl ReportRequest {
    /// Op code of the request.
    pub const fn op_code(self) -> u8 {
        match self {
            Self::Interval(_) => 0x01,
            Self::Fast(_) => 0x02,
        }
    }

    /// Encodes the request for writing.
    pub fn encode(&self) -> ArrayVec<u8, MAX_CONTROL_LEN> {
        let mut w = Writer::new();
        w.u8(self.op_code());
        match *self {
            Self::Interval(ms) => w.u16(ms),
            Self::Fast(on) => w.u8(u8::from(on)),
        }
        w.0
    }

    /// Decodes a written request.
    ///
    /// # Errors
    /// [`Refused`] with the result to indicate.
    pub fn decode(bytes: &[u8]) -> Result<Self, Refused> {
        let mut r = Reader::new(bytes);
        let op_code = op_code(&mut r)?;
        let invalid = |_| Refused {
            op_code,
            result: ControlResult::InvalidParameter,
        };
        match op_code {
            0x01 => r.u16().map(Self::Interval).map_err(invalid),
            0x02 => match r.u8().map_err(invalid)? {
                0 => Ok(Self::Fast(false)),
                1 => Ok(Self::Fast(true)),
                _ => Err(Refused {
                    op_code,
                    result: ControlResult::InvalidParameter,
                }),
            },
            _ => Err(Refused {
                op_code,
                result: ControlResult::OpCodeNotSupported,
            }),
        }
    }
}

impl UnitRequest {
    /// Op code of the request.
    pub const fn op_code(self) -> u8 {
        match self {
            Self::AimSafeOn { .. } => 0x01,
            Self::AimSafeOff => 0x02,
            Self::IsolationTest { .. } => 0x03,
            Self::Attenuation { .. } => 0x04,
            Self::Restart => 0x05,
            Self::Locate { .. } => 0x06,
            Self::Mute { .. } => 0x07,
        }
    }

    /// Encodes the request for writing.
    pub fn encode(&self) -> ArrayVec<u8, MAX_CONTROL_LEN> {
        let mut w = Writer::new();
        w.u8(self.op_code());
        match *self {
            Self::AimSafeOn { restore_s } => w.u16(restore_s),
            Self::AimSafeOff | Self::Restart => {}
            Self::IsolationTest { band } => w.u8(band.unwrap_or(WHOLE_UNIT)),
            Self::Attenuation {
                band,
                direction,
                value,
            } => {
                w.bytes(&[band, direction.raw()]);
                w.s16(Some(value.0));
            }
            Self::Locate { seconds } => w.u8(seconds),
            Self::Mute { band, direction, on } => {
                w.bytes(&[band.unwrap_or(WHOLE_UNIT), direction.raw(), u8::from(on)]);
            }
        }
        w.0
    }

    /// Decodes a written request.
    ///
    /// # Errors
    /// [`Refused`] with the result to indicate: unknown op code, missing or out-of-range parameters.
    pub fn decode(bytes: &[u8]) -> Result<Self, Refused> {
        let mut r = Reader::new(bytes);
        let op_code = op_code(&mut r)?;
        let bad = Refused {
            op_code,
            result: ControlResult::InvalidParameter,
        };
        let band = |raw: u8| Some(raw).filter(|b| *b != WHOLE_UNIT);
        let direction = |raw: u8| match Direction::from_raw(raw) {
            Direction::Unknown(_) => Err(bad),
            known => Ok(known),
        };
        let mut byte = || r.u8().map_err(|_| bad);
        match op_code {
            0x01 => match u16::from_le_bytes([byte()?, byte()?]) {
                restore_s @ 1..=3600 => Ok(Self::AimSafeOn { restore_s }),
                _ => Err(bad),
            },
            0x02 => Ok(Self::AimSafeOff),
            0x03 => Ok(Self::IsolationTest { band: band(byte()?) }),
            0x04 => {
                let (band, direction) = (byte()?, direction(byte()?)?);
                match i16::from_le_bytes([byte()?, byte()?]) {
                    // Attenuation is set band by band: "all" would hide which ones fell.
                    _ if band == WHOLE_UNIT => Err(bad),
                    value @ 0..=600 => Ok(Self::Attenuation {
                        band,
                        direction,
                        value: TenthDb(value),
                    }),
                    _ => Err(bad),
                }
            }
            0x05 => Ok(Self::Restart),
            0x06 => Ok(Self::Locate { seconds: byte()? }),
            0x07 => {
                let (band, direction) = (band(byte()?), direction(byte()?)?);
                match byte()? {
                    on @ 0..=1 => Ok(Self::Mute {
                        band,
                        direction,
                        on: on == 1,
                    }),
                    _ => Err(bad),
                }
            }
            _ => Err(Refused {
                op_code,
                result: ControlResult::OpCodeNotSupported,
            }),
        }
    }
}

/// What either control point indicates: 0x80, op code u8, result u8, then a u16 where the op code defines one (report
/// interval in effect in ms; seconds until aim-safe ends).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ControlResponse {
    /// Op code of the request.
    pub op_code: u8,
    /// How it ended.
    pub result: ControlResult,
    /// Parameter of the response.
    pub value: Option<u16>,
}

impl ControlResponse {
    /// Encodes the response.
    pub fn encode(&self) -> ArrayVec<u8, MAX_CONTROL_LEN> {
        let mut w = Writer::new();
        w.bytes(&[RESPONSE, self.op_code, self.result.raw()]);
        if let Some(value) = self.value {
            w.u16(value);
        }
        w.0
    }

    /// Decodes an indicated response.
    ///
    /// # Errors
    /// [`DecodeError::Short`] below 3 bytes, [`DecodeError::Contradictory`] when it does not begin with 0x80.
    pub fn decode(bytes: &[u8]) -> Result<Self, DecodeError> {
        let mut r = Reader::new(bytes);
        r.need(3)?;
        if r.u8()? != RESPONSE {
            return Err(DecodeError::Contradictory(
                "control point indication that is no response",
            ));
        }
        Ok(Self {
            op_code: r.u8()?,
            result: ControlResult::from_raw(r.u8()?),
            value: r.u16().ok(),
        })
    }
}
