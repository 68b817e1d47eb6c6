//! Stored Record: what record access sends back; never mixed into live telemetry.

use crate::bytes::{Reader, Writer};
use crate::error::DecodeError;
use crate::event::{UNIT_EVENT_LEN, UnitEvent};
use crate::level::{TenthDb, TenthDbm};
use crate::telemetry::DirectionState;
use arrayvec::ArrayVec;

/// Length of a stored history record: one notification at the default MTU.
pub const STORED_HISTORY_LEN: usize = 20;
const KIND_EVENT: u8 = 1;
const KIND_HISTORY: u8 = 2;

/// A second of one band, as the unit remembers it. Stored as 20 bytes:
///
/// | offset | field | type | unit |
/// | --- | --- | --- | --- |
/// | 0 | kind = 2 | u8 | |
/// | 1 | sequence, goes on over restarts | u32 | |
/// | 5 | low byte of the boot id | u8 | |
/// | 6 | device time since that start | u32 | ms |
/// | 10 | band index | u8 | |
/// | 11 | mean downlink input over the second | s16 | 0.1 dBm |
/// | 13 | smallest downlink gain in effect | s16 | 0.1 dB |
/// | 15 | smallest uplink gain in effect | s16 | 0.1 dB |
/// | 17 | largest uplink output | s16 | 0.1 dBm |
/// | 19 | states at its end: low nibble downlink, high nibble uplink | u8 | |
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct HistoryRecord {
    /// Number of the record, going on over restarts.
    pub sequence: u32,
    /// Low byte of the boot id.
    pub boot: u8,
    /// Device time since that start, ms.
    pub time_ms: u32,
    /// Band index.
    pub band: u8,
    /// Mean composite downlink input.
    pub dl_input: Option<TenthDbm>,
    /// Smallest downlink gain in effect.
    pub dl_gain: Option<TenthDb>,
    /// Smallest uplink gain in effect.
    pub ul_gain: Option<TenthDb>,
    /// Largest uplink output.
    pub ul_output: Option<TenthDbm>,
    /// State of the downlink at the end of the second.
    pub dl_state: DirectionState,
    /// State of the uplink at the end of the second.
    pub ul_state: DirectionState,
}

/// Stored Record: a kind byte (1 event, 2 history), then the record.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StoredRecord {
    /// A Unit Event, laid out as in its own characteristic, after the kind byte: 18 bytes.
    Event(UnitEvent),
    /// A second of one band.
    History(HistoryRecord),
    /// A kind that this version does not know: to be ignored.
    Unknown(u8),
}

impl StoredRecord {
    /// Decodes a notified value.
    ///
    /// # Errors
    /// [`DecodeError::Short`] when the record of a known kind is cut.
    pub fn decode(bytes: &[u8]) -> Result<Self, DecodeError> {
        let mut r = Reader::new(bytes);
        match r.u8()? {
            KIND_EVENT => {
                r.need(1 + UNIT_EVENT_LEN)?;
                UnitEvent::decode(&bytes[1..]).map(Self::Event)
            }
            KIND_HISTORY => {
                r.need(STORED_HISTORY_LEN)?;
                let (sequence, boot, time_ms, band) = (r.u32()?, r.u8()?, r.u32()?, r.u8()?);
                let dl_input = r.s16()?.map(TenthDbm);
                let (dl_gain, ul_gain) = (r.s16()?.map(TenthDb), r.s16()?.map(TenthDb));
                let ul_output = r.s16()?.map(TenthDbm);
                let states = r.u8()?;
                Ok(Self::History(HistoryRecord {
                    sequence,
                    boot,
                    time_ms,
                    band,
                    dl_input,
                    dl_gain,
                    ul_gain,
                    ul_output,
                    dl_state: DirectionState::from_raw(states & 0x0F),
                    ul_state: DirectionState::from_raw(states >> 4),
                }))
            }
            kind => Ok(Self::Unknown(kind)),
        }
    }

    /// Encodes the record; an unknown kind is its kind byte alone.
    pub fn encode(&self) -> ArrayVec<u8, STORED_HISTORY_LEN> {
        let mut w = Writer::new();
        match self {
            Self::Event(event) => {
                w.u8(KIND_EVENT);
                w.bytes(&event.encode());
            }
            Self::History(h) => {
                w.u8(KIND_HISTORY);
                w.u32(h.sequence);
                w.u8(h.boot);
                w.u32(h.time_ms);
                w.u8(h.band);
                w.s16(h.dl_input.map(|v| v.0));
                w.s16(h.dl_gain.map(|v| v.0));
                w.s16(h.ul_gain.map(|v| v.0));
                w.s16(h.ul_output.map(|v| v.0));
                w.u8((h.dl_state.raw() & 0x0F) | (h.ul_state.raw() << 4));
            }
            Self::Unknown(kind) => w.u8(*kind),
        }
        w.0
    }
}
