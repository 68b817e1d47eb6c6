//! Unit Status: the health of the whole unit.

use crate::bytes::{Reader, Writer};
use crate::error::DecodeError;
use crate::open::open_enum;
use arrayvec::ArrayVec;

/// Length of the mandatory part of a Unit Status: one notification at the default MTU.
pub const UNIT_STATUS_LEN: usize = 20;
/// Length with the time left in aim-safe.
const WITH_AIM_SAFE_LEN: usize = 22;
const AIM_SAFE_LEFT: u16 = 1 << 8;

open_enum! {
    /// What the unit as a whole is doing.
    pub enum OperatingState: u8 {
        /// Amplifying.
        Normal = 0 => "normal",
        /// Passing signal without amplifying.
        Bypass = 1 => "bypass",
        /// Uplink off, gain held down, because hands are on the antenna.
        AimSafe = 2 => "aim-safe",
        /// Not amplifying.
        Off = 3 => "off",
        /// Starting up.
        Starting = 4 => "starting",
        /// Latched off after repeated oscillation in at least one direction.
        LatchedOff = 5 => "latched-off",
    }
}

open_enum! {
    /// Whether the operator has enabled or registered the unit.
    pub enum Authorization: u8 {
        /// None is needed.
        NotRequired = 0 => "not-required",
        /// Needed and not there: the unit must not amplify.
        Absent = 1 => "absent",
        /// Needed and there.
        Present = 2 => "present",
        /// Not known.
        NotKnown = 255 => "not-known",
    }
}

open_enum! {
    /// A yes-or-no condition that may not be known (two bits).
    pub enum Quality: u8 {
        /// Not known, or not applicable.
        NotKnown = 0 => "not-known",
        /// As it should be.
        Good = 1 => "good",
        /// Not as it should be.
        Bad = 2 => "bad",
    }
}

open_enum! {
    /// What the unit sees at an antenna port (a nibble).
    pub enum PortHealth: u8 {
        /// Not measured.
        NotKnown = 0 => "not-known",
        /// Matched.
        Good = 1 => "good",
        /// Open circuit.
        Open = 2 => "open",
        /// Short circuit.
        Short = 3 => "short",
        /// Poor return loss.
        PoorMatch = 4 => "poor-match",
    }
}

/// Two-bit conditions, packed into bits 0–7 of the flags; bit 8 says that the time left in aim-safe follows, bits 9–15
/// are reserved.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Health {
    /// Bits 0–1. The whole receiver, out-of-band carriers included; bad: overloaded.
    pub front_end: Quality,
    /// Bits 2–3. TDD frame synchronisation; bad: lost.
    pub tdd_sync: Quality,
    /// Bits 4–5. Fan.
    pub fan: Quality,
    /// Bits 6–7. Enclosure; bad: moisture or door open.
    pub enclosure: Quality,
}

/// Unit Status, 20 bytes, or 22 while aim-safe counts down and the MTU allows:
///
/// | offset | field | type | unit |
/// | --- | --- | --- | --- |
/// | 0 | boot id | u32 | |
/// | 4 | uptime | u32 | s |
/// | 8 | operating state | u8 | |
/// | 9 | authorization | u8 | |
/// | 10 | temperature (scale of 0x2A6E) | s16 | 0.01 °C |
/// | 12 | supply voltage (scale of 0x2B18) | u16 | 1/64 V, 0xFFFF not known |
/// | 14 | supply current | u16 | 0.01 A, 0xFFFF not known |
/// | 16 | conditions | u16 | see [`Health`] |
/// | 18 | ports: low nibble donor, high nibble server | u8 | |
/// | 19 | restarts since the power was applied, saturating | u8 | |
/// | 20 | time left in aim-safe, if bit 8 of the conditions is set | u16 | s |
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct UnitStatus {
    /// Boot id, whole.
    pub boot_id: u32,
    /// Seconds since the start.
    pub uptime_s: u32,
    /// Operating state.
    pub state: OperatingState,
    /// Authorization by the operator.
    pub authorization: Authorization,
    /// Temperature in 0.01 °C.
    pub temperature_centi_c: Option<i16>,
    /// Supply voltage in 1/64 V.
    pub voltage_64ths: Option<u16>,
    /// Supply current in 0.01 A.
    pub current_centi_a: Option<u16>,
    /// Two-bit conditions.
    pub health: Health,
    /// Donor port.
    pub donor_port: PortHealth,
    /// Server port.
    pub server_port: PortHealth,
    /// Restarts of the amplifier since power was applied (guard restarts included), 255 = 255 or more.
    pub restarts: u8,
    /// Seconds until aim-safe ends by itself.
    pub aim_safe_left_s: Option<u16>,
}

impl UnitStatus {
    /// Decodes a notified value.
    ///
    /// # Errors
    /// [`DecodeError::Short`] below 20 bytes, or 22 when the time left in aim-safe is flagged.
    pub fn decode(bytes: &[u8]) -> Result<Self, DecodeError> {
        let mut r = Reader::new(bytes);
        r.need(UNIT_STATUS_LEN)?;
        let (boot_id, uptime_s) = (r.u32()?, r.u32()?);
        let (state, authorization) = (
            OperatingState::from_raw(r.u8()?),
            Authorization::from_raw(r.u8()?),
        );
        let temperature_centi_c = r.s16()?;
        let (voltage_64ths, current_centi_a) = (r.u16_known()?, r.u16_known()?);
        let flags = r.u16()?;
        let ports = r.u8()?;
        let restarts = r.u8()?;
        let pair = |shift: u16| Quality::from_raw(((flags >> shift) & 0b11) as u8);
        let aim_safe_left_s = if flags & AIM_SAFE_LEFT != 0 {
            r.need(WITH_AIM_SAFE_LEN)?;
            Some(r.u16()?)
        } else {
            None
        };
        Ok(Self {
            boot_id,
            uptime_s,
            state,
            authorization,
            temperature_centi_c,
            voltage_64ths,
            current_centi_a,
            health: Health {
                front_end: pair(0),
                tdd_sync: pair(2),
                fan: pair(4),
                enclosure: pair(6),
            },
            donor_port: PortHealth::from_raw(ports & 0x0F),
            server_port: PortHealth::from_raw(ports >> 4),
            restarts,
            aim_safe_left_s,
        })
    }

    /// Encodes the status for a notification of `payload` bytes (ATT MTU − 3): the time left in aim-safe is left out
    /// where it does not fit.
    pub fn encode(&self, payload: usize) -> ArrayVec<u8, WITH_AIM_SAFE_LEN> {
        let left = self.aim_safe_left_s.filter(|_| payload >= WITH_AIM_SAFE_LEN);
        let pair = |quality: Quality, shift: u16| u16::from(quality.raw() & 0b11) << shift;
        let health = &self.health;
        let mut flags = pair(health.front_end, 0)
            | pair(health.tdd_sync, 2)
            | pair(health.fan, 4)
            | pair(health.enclosure, 6);
        if left.is_some() {
            flags |= AIM_SAFE_LEFT;
        }
        let mut w = Writer::new();
        w.u32(self.boot_id);
        w.u32(self.uptime_s);
        w.u8(self.state.raw());
        w.u8(self.authorization.raw());
        w.s16(self.temperature_centi_c);
        w.u16(self.voltage_64ths.unwrap_or(u16::MAX));
        w.u16(self.current_centi_a.unwrap_or(u16::MAX));
        w.u16(flags);
        w.u8((self.donor_port.raw() & 0x0F) | (self.server_port.raw() << 4));
        w.u8(self.restarts);
        if let Some(seconds) = left {
            w.u16(seconds);
        }
        w.0
    }

    /// Temperature in °C.
    pub fn temperature_c(&self) -> Option<f64> {
        self.temperature_centi_c.map(|v| f64::from(v) / 100.0)
    }

    /// Supply voltage in V.
    pub fn voltage_v(&self) -> Option<f64> {
        self.voltage_64ths.map(|v| f64::from(v) / 64.0)
    }

    /// Supply current in A.
    pub fn current_a(&self) -> Option<f64> {
        self.current_centi_a.map(|v| f64::from(v) / 100.0)
    }
}
