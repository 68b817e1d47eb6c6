//! What a unit says before anyone connects.
//!
//! Advertising data (31 bytes at most): flags 3, complete list of 128-bit service UUIDs 2 + 16 = 21 bytes.
//! Scan response (31 at most): service data 2 + 16 + 4 = 22 bytes, shortened name 2 + up to 7 = 9 bytes.

use crate::bytes::{Reader, Writer};
use crate::error::DecodeError;
use crate::open::open_enum;
use crate::telemetry::DirectionState;
use arrayvec::ArrayVec;

/// Length of the service data after the UUID.
pub const SERVICE_DATA_LEN: usize = 4;
/// Longest name that still fits into the scan response, in bytes.
pub const MAX_NAME_LEN: usize = 7;

open_enum! {
    /// How much the unit needs a person.
    pub enum Attention: u8 {
        /// Not known.
        NotKnown = 0 => "not-known",
        /// Nothing to do.
        None = 1 => "none",
        /// Should be looked at.
        Wanted = 2 => "wanted",
        /// Must be looked at: oscillating, latched off, overloaded, not authorized.
        Urgent = 3 => "urgent",
    }
}

/// Service data, 4 bytes:
///
/// | offset | field | type | unit |
/// | --- | --- | --- | --- |
/// | 0 | profile major version | u8 | |
/// | 1 | attention | u8 | |
/// | 2 | worst state of any direction of any band (codes of Band Telemetry) | u8 | |
/// | 3 | smallest loop margin of any direction of any band | s8 | dB, 0x80 not known |
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ServiceData {
    /// Major version of the profile.
    pub major: u8,
    /// Whether a person is needed.
    pub attention: Attention,
    /// Worst state.
    pub worst_state: DirectionState,
    /// Smallest loop margin in whole dB, −127…127.
    pub loop_margin_db: Option<i8>,
}

impl ServiceData {
    /// Decodes the service data after the UUID.
    ///
    /// # Errors
    /// [`DecodeError::Short`] below 4 bytes. Another major version is not an error here: a list may show the unit.
    pub fn decode(bytes: &[u8]) -> Result<Self, DecodeError> {
        let mut r = Reader::new(bytes);
        r.need(SERVICE_DATA_LEN)?;
        Ok(Self {
            major: r.u8()?,
            attention: Attention::from_raw(r.u8()?),
            worst_state: DirectionState::from_raw(r.u8()?),
            loop_margin_db: Some(r.u8()? as i8).filter(|v| *v != i8::MIN),
        })
    }

    /// Encodes the service data, 4 bytes.
    pub fn encode(&self) -> ArrayVec<u8, SERVICE_DATA_LEN> {
        let mut w = Writer::new();
        w.bytes(&[self.major, self.attention.raw(), self.worst_state.raw()]);
        w.u8(self.loop_margin_db.unwrap_or(i8::MIN) as u8);
        w.0
    }
}
