//! Band Telemetry: one reading of one band, in one notification or several.

mod extra;
mod state;

pub use extra::{Extra, Fields, WantedCell};
pub use state::{DirectionState, Reasons};

use crate::bytes::{Reader, Writer, known};
use crate::error::DecodeError;
use crate::level::{TenthDb, TenthDbm};
use arrayvec::ArrayVec;

/// Length of the mandatory part: exactly what fits into a notification at the default MTU of 23.
pub const TELEMETRY_LEN: usize = 20;
/// Length with every optional field of this version.
pub const MAX_TELEMETRY_LEN: usize = 46;
/// Most notifications that one reading takes (at the default MTU).
pub const MAX_PARTS: usize = 4;
/// Most notifications that a reading of any minor version takes: each reserved field bit can add one.
const LATER_MAX_PARTS: u8 = 7;
/// Header of a continuation: flags, band, sequence, part.
const CONTINUATION_HEADER: usize = 6;

const CONTINUATION: u16 = 1 << 4;
const MORE: u16 = 1 << 5;

/// Band Telemetry, 20 mandatory bytes, then the optional fields by flag:
///
/// | offset | field | type | unit |
/// | --- | --- | --- | --- |
/// | 0 | flags: bits 0–3 low bits of the boot id, 4 continuation, 5 more parts follow, 6–15 fields | u16 | |
/// | 2 | band index | u8 | |
/// | 3 | sequence, per band and boot | u16 | wraps |
/// | 5 | device time since start | u32 | ms, wraps |
/// | 9 | downlink composite input | s16 | 0.1 dBm |
/// | 11 | downlink gain in effect | s16 | 0.1 dB |
/// | 13 | uplink gain in effect | s16 | 0.1 dB |
/// | 15 | uplink output | s16 | 0.1 dBm |
/// | 17 | states: low nibble downlink, high nibble uplink | u8 | |
/// | 18 | downlink limiting reasons | u8 | bits |
/// | 19 | uplink limiting reasons | u8 | bits |
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct BandTelemetry {
    /// Low four bits of the boot id.
    pub boot: u8,
    /// Band index of the Band Table.
    pub band: u8,
    /// Number of the reading, per band and boot; wraps at 65,536. The unit takes a reading at every report interval
    /// from its start (at the default interval while nobody is connected) and counts it whether or not anyone listens:
    /// a console that comes back can say exactly how many it missed.
    pub sequence: u16,
    /// Device time since its start in ms; wraps at 2³².
    pub time_ms: u32,
    /// Composite power at the donor port over the band: every carrier and all noise in it, averaged over the report
    /// interval. Not RSRP, not one carrier's RSSI, not the Bluetooth link's RSSI.
    pub dl_input: Option<TenthDbm>,
    /// Downlink gain in effect.
    pub dl_gain: Option<TenthDb>,
    /// Uplink gain in effect.
    pub ul_gain: Option<TenthDb>,
    /// Composite uplink output at the donor port.
    pub ul_output: Option<TenthDbm>,
    /// State of the downlink.
    pub dl_state: DirectionState,
    /// State of the uplink.
    pub ul_state: DirectionState,
    /// Why the downlink is limited.
    pub dl_reasons: Reasons,
    /// Why the uplink is limited.
    pub ul_reasons: Reasons,
    /// Optional fields.
    pub extra: Extra,
}

/// A further notification of a reading, 6 bytes of header and at least one field:
///
/// | offset | field | type |
/// | --- | --- | --- |
/// | 0 | flags as above, bit 4 set | u16 |
/// | 2 | band index | u8 |
/// | 3 | sequence of the reading that it belongs to | u16 |
/// | 5 | low nibble: number of this part (the first is 0); high nibble: parts in all | u8 |
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Continuation {
    /// Low four bits of the boot id.
    pub boot: u8,
    /// Band index.
    pub band: u8,
    /// Sequence of the reading.
    pub sequence: u16,
    /// Number of this part, 1…6 (in this version at most 3).
    pub part: u8,
    /// Parts in all, 2…7 (in this version at most 4).
    pub parts: u8,
    /// Fields of this part.
    pub extra: Extra,
}

/// One notification of Band Telemetry.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// The mandatory part, and whether further parts follow.
    First {
        /// The reading so far.
        reading: BandTelemetry,
        /// Whether continuations follow.
        more: bool,
    },
    /// A continuation.
    Continuation(Continuation),
}

impl Part {
    /// Decodes a notified value without allocating.
    ///
    /// # Errors
    /// [`DecodeError::Short`] when the flagged fields do not fit into the value, [`DecodeError::Contradictory`] for a
    /// continuation without a field, with part number 0, beyond its count, a count above 7, or whose "more" bit
    /// disagrees with it.
    pub fn decode(bytes: &[u8]) -> Result<Self, DecodeError> {
        let mut r = Reader::new(bytes);
        let flags = r.u16()?;
        let fields = Fields(flags & 0xFFC0);
        let boot = (flags & 0x0F) as u8;
        let more = flags & MORE != 0;
        if flags & CONTINUATION != 0 {
            r.need(CONTINUATION_HEADER + fields.len())?;
            let (band, sequence, part) = (r.u8()?, r.u16()?, r.u8()?);
            let (part, parts) = (part & 0x0F, part >> 4);
            if fields.is_empty() {
                return Err(DecodeError::Contradictory("continuation without a field"));
            }
            if part == 0 || part >= parts || parts > LATER_MAX_PARTS {
                return Err(DecodeError::Contradictory(
                    "part number outside the count of parts",
                ));
            }
            if more != (part + 1 < parts) {
                return Err(DecodeError::Contradictory(
                    "the more bit disagrees with the part number",
                ));
            }
            let extra = Extra::decode(fields, &mut r)?;
            return Ok(Self::Continuation(Continuation {
                boot,
                band,
                sequence,
                part,
                parts,
                extra,
            }));
        }
        r.need(TELEMETRY_LEN + fields.len())?;
        // One check of the length for the mandatory fields.
        let b: [u8; TELEMETRY_LEN - 2] = r.array()?;
        let s16 = |at: usize| known(i16::from_le_bytes([b[at], b[at + 1]]));
        let states = b[15];
        let reading = BandTelemetry {
            boot,
            band: b[0],
            sequence: u16::from_le_bytes([b[1], b[2]]),
            time_ms: u32::from_le_bytes([b[3], b[4], b[5], b[6]]),
            dl_input: s16(7).map(TenthDbm),
            dl_gain: s16(9).map(TenthDb),
            ul_gain: s16(11).map(TenthDb),
            ul_output: s16(13).map(TenthDbm),
            dl_state: DirectionState::from_raw(states & 0x0F),
            ul_state: DirectionState::from_raw(states >> 4),
            dl_reasons: Reasons(b[16]),
            ul_reasons: Reasons(b[17]),
            extra: Extra::decode(fields, &mut r)?,
        };
        Ok(Self::First { reading, more })
    }
}

impl BandTelemetry {
    /// Encodes the reading into as few notifications as `payload` bytes each (ATT MTU − 3) allow. Fields keep their
    /// order and are never split. Reserved field bits are not sent: their content is not known here.
    pub fn encode(&self, payload: usize) -> ArrayVec<ArrayVec<u8, MAX_TELEMETRY_LEN>, MAX_PARTS> {
        let mut sets: ArrayVec<Fields, MAX_PARTS> = ArrayVec::new();
        let mut set = Fields::default();
        let mut room = payload.max(TELEMETRY_LEN) - TELEMETRY_LEN;
        for (field, len) in Fields::LAYOUT {
            if !self.extra.fields.contains(*field) {
                continue;
            }
            if *len > room {
                sets.push(set);
                set = Fields::default();
                room = payload.max(TELEMETRY_LEN) - CONTINUATION_HEADER;
            }
            set = set.with(*field);
            room -= len;
        }
        sets.push(set);

        let parts = sets.len() as u8;
        sets.iter()
            .enumerate()
            .map(|(number, fields)| {
                let mut w = Writer::new();
                let number = number as u8;
                let more = if number + 1 < parts { MORE } else { 0 };
                let flags = u16::from(self.boot & 0x0F) | more | fields.0;
                if number == 0 {
                    w.u16(flags);
                    self.encode_mandatory(&mut w);
                } else {
                    w.u16(flags | CONTINUATION);
                    w.u8(self.band);
                    w.u16(self.sequence);
                    w.u8(number | (parts << 4));
                }
                self.extra.encode(*fields, &mut w);
                w.0
            })
            .collect()
    }

    fn encode_mandatory(&self, w: &mut Writer<MAX_TELEMETRY_LEN>) {
        w.u8(self.band);
        w.u16(self.sequence);
        w.u32(self.time_ms);
        w.s16(self.dl_input.map(|v| v.0));
        w.s16(self.dl_gain.map(|v| v.0));
        w.s16(self.ul_gain.map(|v| v.0));
        w.s16(self.ul_output.map(|v| v.0));
        w.u8((self.dl_state.raw() & 0x0F) | (self.ul_state.raw() << 4));
        w.u8(self.dl_reasons.0);
        w.u8(self.ul_reasons.0);
    }
}
