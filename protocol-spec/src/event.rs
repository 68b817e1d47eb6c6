//! Unit Event: something happened that must not be missed.

use crate::bytes::{Reader, Writer};
use crate::error::DecodeError;
use crate::open::open_enum;
use arrayvec::ArrayVec;

/// Length of a Unit Event.
pub const UNIT_EVENT_LEN: usize = 17;
/// Band index that stands for the whole unit.
pub const WHOLE_UNIT: u8 = 0xFF;

open_enum! {
    /// Direction of a band that a value refers to.
    pub enum Direction: u8 {
        /// Both, or not applicable.
        Both = 0 => "both",
        /// From the network to the handset.
        Downlink = 1 => "dl",
        /// From the handset to the network.
        Uplink = 2 => "ul",
    }
}

open_enum! {
    /// What happened. The meaning of the event's value depends on it.
    pub enum EventCode: u8 {
        /// Oscillation detected; value: gain in effect then, 0.1 dB.
        OscillationDetected = 1 => "oscillation-detected",
        /// Oscillation gone; value: gain in effect now, 0.1 dB.
        OscillationCleared = 2 => "oscillation-cleared",
        /// The guard acted; value: number of this guard restart, 1…
        GuardActed = 3 => "guard-acted",
        /// The guard gave up; value: number of restarts before.
        LatchedOff = 4 => "latched-off",
        /// Input above the overload level; value: input, 0.1 dBm.
        OverloadStart = 5 => "overload-start",
        /// Input back below it; value: input, 0.1 dBm.
        OverloadEnd = 6 => "overload-end",
        /// Too hot, gain reduced; value: temperature, 0.1 °C.
        HeatStart = 7 => "heat-start",
        /// Cool again; value: temperature, 0.1 °C.
        HeatEnd = 8 => "heat-end",
        /// Supply too low; value: voltage, 0.1 V.
        SupplyLow = 9 => "supply-low",
        /// Supply good again; value: voltage, 0.1 V.
        SupplyRestored = 10 => "supply-restored",
        /// The unit started; value: not known.
        Started = 11 => "started",
        /// A setting changed; value: op code of the control point, or not known when changed at the unit.
        ConfigurationChanged = 12 => "configuration-changed",
        /// Aim-safe began; value: seconds until it ends by itself.
        AimSafeOn = 13 => "aim-safe-on",
        /// Aim-safe ended; value: not known.
        AimSafeOff = 14 => "aim-safe-off",
        /// An isolation test ended; value: isolation, 0.1 dB.
        IsolationTested = 15 => "isolation-tested",
        /// Authorization changed; value: code of the new authorization.
        AuthorizationChanged = 16 => "authorization-changed",
        /// TDD synchronisation lost; value: not known.
        SyncLost = 17 => "sync-lost",
        /// TDD synchronisation back; value: not known.
        SyncRegained = 18 => "sync-regained",
    }
}

/// Unit Event, 17 bytes:
///
/// | offset | field | type | unit |
/// | --- | --- | --- | --- |
/// | 0 | sequence, goes on over restarts | u32 | |
/// | 4 | boot id at the time of the event | u32 | |
/// | 8 | device time since that start | u32 | ms |
/// | 12 | code | u8 | |
/// | 13 | band index, 0xFF whole unit | u8 | |
/// | 14 | direction | u8 | |
/// | 15 | value | s16 | by code |
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct UnitEvent {
    /// Number of the event, going on over restarts of the unit.
    pub sequence: u32,
    /// Boot id at the time of the event.
    pub boot_id: u32,
    /// Device time since that start, ms.
    pub time_ms: u32,
    /// What happened.
    pub code: EventCode,
    /// Band index, `None` for the whole unit.
    pub band: Option<u8>,
    /// Direction.
    pub direction: Direction,
    /// Value whose meaning depends on the code.
    pub value: Option<i16>,
}

impl UnitEvent {
    /// Decodes an indicated value.
    ///
    /// # Errors
    /// [`DecodeError::Short`] below 17 bytes.
    pub fn decode(bytes: &[u8]) -> Result<Self, DecodeError> {
        let mut r = Reader::new(bytes);
        r.need(UNIT_EVENT_LEN)?;
        Ok(Self {
            sequence: r.u32()?,
            boot_id: r.u32()?,
            time_ms: r.u32()?,
            code: EventCode::from_raw(r.u8()?),
            band: Some(r.u8()?).filter(|b| *b != WHOLE_UNIT),
            direction: Direction::from_raw(r.u8()?),
            value: r.s16()?,
        })
    }

    /// Encodes the event, 17 bytes.
    pub fn encode(&self) -> ArrayVec<u8, UNIT_EVENT_LEN> {
        let mut w = Writer::new();
        w.u32(self.sequence);
        w.u32(self.boot_id);
        w.u32(self.time_ms);
        w.u8(self.code.raw());
        w.u8(self.band.unwrap_or(WHOLE_UNIT));
        w.u8(self.direction.raw());
        w.s16(self.value);
        w.0
    }
}
