//! Band Telemetry: one reading of one band, in one notification or several.

use crate::bytes::{Reader, Writer};
use crate::error::DecodeError;
use crate::level::{TenthDb, TenthDbm};
use crate::open::open_enum;
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

open_enum! {
    /// What one direction of a band is doing (a nibble).
    pub enum DirectionState: u8 {
        /// Switched off.
        Off = 0 => "off",
        /// Starting up, not yet passing signal.
        Starting = 1 => "starting",
        /// Running at the gain that was set.
        Normal = 2 => "normal",
        /// Running with less gain than was set; the reasons say why.
        Limited = 3 => "limited",
        /// Not passing signal on purpose (idle uplink, aim-safe, command).
        Muted = 4 => "muted",
        /// The oscillation guard is acting.
        Guard = 5 => "guard",
        /// The guard gave up; a person must act.
        LatchedOff = 6 => "latched-off",
    }
}

/// Why a direction runs with less gain than was set: a bit each.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Reasons(pub u8);

impl Reasons {
    /// The input is too strong.
    pub const INPUT: Reasons = Reasons(1 << 0);
    /// The output would exceed its rating.
    pub const OUTPUT: Reasons = Reasons(1 << 1);
    /// The antennas are not isolated enough.
    pub const ISOLATION: Reasons = Reasons(1 << 2);
    /// A regulation caps the gain.
    pub const RULE: Reasons = Reasons(1 << 3);
    /// The unit is too hot.
    pub const HEAT: Reasons = Reasons(1 << 4);
    /// The supply is too weak.
    pub const SUPPLY: Reasons = Reasons(1 << 5);
    /// A setting or command.
    pub const SETTING: Reasons = Reasons(1 << 6);
    /// The oscillation guard.
    pub const GUARD: Reasons = Reasons(1 << 7);

    /// Every reason with its name, in order of its bit.
    pub const NAMES: &[(Reasons, &'static str)] = &[
        (Reasons::INPUT, "input"),
        (Reasons::OUTPUT, "output"),
        (Reasons::ISOLATION, "isolation"),
        (Reasons::RULE, "rule"),
        (Reasons::HEAT, "heat"),
        (Reasons::SUPPLY, "supply"),
        (Reasons::SETTING, "setting"),
        (Reasons::GUARD, "guard"),
    ];

    /// Whether every bit of `other` is set here.
    pub const fn contains(self, other: Reasons) -> bool {
        self.0 & other.0 == other.0
    }

    /// Both sets together.
    pub const fn with(self, other: Reasons) -> Reasons {
        Reasons(self.0 | other.0)
    }

    /// Whether no reason is given.
    pub const fn is_empty(self) -> bool {
        self.0 == 0
    }

    /// Names of the reasons given, in order of their bit.
    pub fn names(self) -> impl Iterator<Item = &'static str> {
        Self::NAMES
            .iter()
            .filter(move |(r, _)| self.contains(*r))
            .map(|(_, name)| *name)
    }
}

/// Which optional fields a value carries: bits 6 to 15 of its flags. Fields follow in the order of their bits; bits 13
/// to 15 are reserved, and fields that later versions give them come after all of these.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Fields(pub u16);

impl Fields {
    /// Downlink isolation, 2 bytes.
    pub const DL_ISOLATION: Fields = Fields(1 << 6);
    /// Uplink isolation, 2 bytes.
    pub const UL_ISOLATION: Fields = Fields(1 << 7);
    /// Downlink output, 2 bytes.
    pub const DL_OUTPUT: Fields = Fields(1 << 8);
    /// Uplink input, 2 bytes.
    pub const UL_INPUT: Fields = Fields(1 << 9);
    /// The wanted cell: RSRP, RSRQ, SINR, physical cell identity, age, 10 bytes.
    pub const WANTED_CELL: Fields = Fields(1 << 10);
    /// Gain set, downlink then uplink, 4 bytes.
    pub const GAIN_SET: Fields = Fields(1 << 11);
    /// Gain that the rules allow now, downlink then uplink, 4 bytes.
    pub const GAIN_ALLOWED: Fields = Fields(1 << 12);
    /// Every field of this version.
    pub const ALL: Fields = Fields(0x1FC0);

    /// Each field with its length in bytes, in their order in the value.
    pub const LAYOUT: &[(Fields, usize)] = &[
        (Fields::DL_ISOLATION, 2),
        (Fields::UL_ISOLATION, 2),
        (Fields::DL_OUTPUT, 2),
        (Fields::UL_INPUT, 2),
        (Fields::WANTED_CELL, 10),
        (Fields::GAIN_SET, 4),
        (Fields::GAIN_ALLOWED, 4),
    ];

    /// Whether every bit of `other` is set here.
    pub const fn contains(self, other: Fields) -> bool {
        self.0 & other.0 == other.0
    }

    /// Both sets together.
    pub const fn with(self, other: Fields) -> Fields {
        Fields(self.0 | other.0)
    }

    /// Bytes that the known fields of this set take.
    pub fn len(self) -> usize {
        Self::LAYOUT
            .iter()
            .filter(|(f, _)| self.contains(*f))
            .map(|(_, len)| len)
            .sum()
    }

    /// Whether no field is present.
    pub const fn is_empty(self) -> bool {
        self.0 == 0
    }
}

/// The cell that the unit is meant to serve, as last measured.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct WantedCell {
    /// RSRP (TS 36.214 5.1.1) or SS-RSRP (TS 38.215 5.1.1) at the donor port.
    pub rsrp: Option<TenthDbm>,
    /// RSRQ or SS-RSRQ.
    pub rsrq: Option<TenthDb>,
    /// RS-SINR or SS-SINR.
    pub sinr: Option<TenthDb>,
    /// Physical cell identity.
    pub identity: Option<u16>,
    /// Age of the measurement when the reading was sent, in 0.1 s (0…6553.4 s).
    pub age_tenths_s: Option<u16>,
}

/// Optional fields of a reading. A field is `None` when it was not sent or is not known.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Extra {
    /// Which fields were sent, reserved bits included.
    pub fields: Fields,
    /// Isolation between the antennas at downlink frequencies.
    pub dl_isolation: Option<TenthDb>,
    /// Isolation between the antennas at uplink frequencies.
    pub ul_isolation: Option<TenthDb>,
    /// Composite downlink output at the server port.
    pub dl_output: Option<TenthDbm>,
    /// Composite uplink input at the server port.
    pub ul_input: Option<TenthDbm>,
    /// The wanted cell.
    pub cell: WantedCell,
    /// Downlink gain that was set.
    pub dl_gain_set: Option<TenthDb>,
    /// Uplink gain that was set.
    pub ul_gain_set: Option<TenthDb>,
    /// Downlink gain that the rules allow now.
    pub dl_gain_allowed: Option<TenthDb>,
    /// Uplink gain that the rules allow now.
    pub ul_gain_allowed: Option<TenthDb>,
}

impl Extra {
    fn decode(fields: Fields, r: &mut Reader<'_>) -> Result<Self, DecodeError> {
        let mut extra = Self {
            fields,
            ..Self::default()
        };
        let has = |field| fields.contains(field);
        if has(Fields::DL_ISOLATION) {
            extra.dl_isolation = r.s16()?.map(TenthDb);
        }
        if has(Fields::UL_ISOLATION) {
            extra.ul_isolation = r.s16()?.map(TenthDb);
        }
        if has(Fields::DL_OUTPUT) {
            extra.dl_output = r.s16()?.map(TenthDbm);
        }
        if has(Fields::UL_INPUT) {
            extra.ul_input = r.s16()?.map(TenthDbm);
        }
        if has(Fields::WANTED_CELL) {
            extra.cell = WantedCell {
                rsrp: r.s16()?.map(TenthDbm),
                rsrq: r.s16()?.map(TenthDb),
                sinr: r.s16()?.map(TenthDb),
                identity: r.u16_known()?,
                age_tenths_s: r.u16_known()?,
            };
        }
        if has(Fields::GAIN_SET) {
            extra.dl_gain_set = r.s16()?.map(TenthDb);
            extra.ul_gain_set = r.s16()?.map(TenthDb);
        }
        if has(Fields::GAIN_ALLOWED) {
            extra.dl_gain_allowed = r.s16()?.map(TenthDb);
            extra.ul_gain_allowed = r.s16()?.map(TenthDb);
        }
        Ok(extra)
    }

    fn encode<const N: usize>(&self, fields: Fields, w: &mut Writer<N>) {
        let has = |field| fields.contains(field);
        if has(Fields::DL_ISOLATION) {
            w.s16(self.dl_isolation.map(|v| v.0));
        }
        if has(Fields::UL_ISOLATION) {
            w.s16(self.ul_isolation.map(|v| v.0));
        }
        if has(Fields::DL_OUTPUT) {
            w.s16(self.dl_output.map(|v| v.0));
        }
        if has(Fields::UL_INPUT) {
            w.s16(self.ul_input.map(|v| v.0));
        }
        if has(Fields::WANTED_CELL) {
            w.s16(self.cell.rsrp.map(|v| v.0));
            w.s16(self.cell.rsrq.map(|v| v.0));
            w.s16(self.cell.sinr.map(|v| v.0));
            w.u16(self.cell.identity.unwrap_or(u16::MAX));
            w.u16(self.cell.age_tenths_s.unwrap_or(u16::MAX));
        }
        if has(Fields::GAIN_SET) {
            w.s16(self.dl_gain_set.map(|v| v.0));
            w.s16(self.ul_gain_set.map(|v| v.0));
        }
        if has(Fields::GAIN_ALLOWED) {
            w.s16(self.dl_gain_allowed.map(|v| v.0));
            w.s16(self.ul_gain_allowed.map(|v| v.0));
        }
    }

    /// Takes over the fields that `other` carries.
    ///
    /// # Errors
    /// [`DecodeError::Contradictory`] when a field was there already.
    pub fn merge(&mut self, other: &Extra) -> Result<(), DecodeError> {
        if self.fields.0 & other.fields.0 != 0 {
            return Err(DecodeError::Contradictory(
                "two parts of a reading carry the same field",
            ));
        }
        self.fields = self.fields.with(other.fields);
        self.dl_isolation = self.dl_isolation.or(other.dl_isolation);
        self.ul_isolation = self.ul_isolation.or(other.ul_isolation);
        self.dl_output = self.dl_output.or(other.dl_output);
        self.ul_input = self.ul_input.or(other.ul_input);
        if other.fields.contains(Fields::WANTED_CELL) {
            self.cell = other.cell;
        }
        self.dl_gain_set = self.dl_gain_set.or(other.dl_gain_set);
        self.ul_gain_set = self.ul_gain_set.or(other.ul_gain_set);
        self.dl_gain_allowed = self.dl_gain_allowed.or(other.dl_gain_allowed);
        self.ul_gain_allowed = self.ul_gain_allowed.or(other.ul_gain_allowed);
        Ok(())
    }
}

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
        let (band, sequence, time_ms) = (r.u8()?, r.u16()?, r.u32()?);
        let dl_input = r.s16()?.map(TenthDbm);
        let dl_gain = r.s16()?.map(TenthDb);
        let ul_gain = r.s16()?.map(TenthDb);
        let ul_output = r.s16()?.map(TenthDbm);
        let states = r.u8()?;
        let (dl_reasons, ul_reasons) = (Reasons(r.u8()?), Reasons(r.u8()?));
        let reading = BandTelemetry {
            boot,
            band,
            sequence,
            time_ms,
            dl_input,
            dl_gain,
            ul_gain,
            ul_output,
            dl_state: DirectionState::from_raw(states & 0x0F),
            ul_state: DirectionState::from_raw(states >> 4),
            dl_reasons,
            ul_reasons,
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
