//! Optional fields of a reading.

use crate::bytes::{Reader, Writer, known};
use crate::error::DecodeError;
use crate::level::{TenthDb, TenthDbm};

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
    pub(super) fn decode(fields: Fields, r: &mut Reader<'_>) -> Result<Self, DecodeError> {
        if fields == Fields::ALL {
            return Ok(Self::decode_all(r.array()?));
        }
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

    /// Every field of this version at once: what most units send, and one check of the length for all of it.
    fn decode_all(b: [u8; 26]) -> Self {
        let s16 = |at: usize| known(i16::from_le_bytes([b[at], b[at + 1]]));
        let db = |at| s16(at).map(TenthDb);
        let dbm = |at| s16(at).map(TenthDbm);
        let u16 = |at: usize| Some(u16::from_le_bytes([b[at], b[at + 1]])).filter(|raw| *raw != u16::MAX);
        Self {
            fields: Fields::ALL,
            dl_isolation: db(0),
            ul_isolation: db(2),
            dl_output: dbm(4),
            ul_input: dbm(6),
            cell: WantedCell {
                rsrp: dbm(8),
                rsrq: db(10),
                sinr: db(12),
                identity: u16(14),
                age_tenths_s: u16(16),
            },
            dl_gain_set: db(18),
            ul_gain_set: db(20),
            dl_gain_allowed: db(22),
            ul_gain_allowed: db(24),
        }
    }

    pub(super) fn encode<const N: usize>(&self, fields: Fields, w: &mut Writer<N>) {
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
