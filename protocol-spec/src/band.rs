//! Band Table: which bands the unit amplifies, and within which limits.

use crate::bytes::{AttributeBytes, Reader, Writer};
use crate::error::DecodeError;
use crate::level::{TenthDb, TenthDbm};
use crate::open::open_enum;
use arrayvec::ArrayVec;

/// Most bands a unit can have: 2 + 16 × 31 = 498 bytes stay below the 512 of an attribute value.
pub const MAX_BANDS: usize = 16;
/// Length of one entry in this version, in bytes. Later minor versions may lengthen entries at their end.
pub const BAND_ENTRY_LEN: usize = 31;

open_enum! {
    /// Radio technology that the band's wanted carriers use.
    pub enum Technology: u8 {
        /// Not stated, or several.
        Any = 0 => "any",
        /// GSM.
        Gsm = 1 => "gsm",
        /// UTRA.
        Utra = 2 => "utra",
        /// E-UTRA (LTE).
        Lte = 3 => "lte",
        /// NR.
        Nr = 4 => "nr",
    }
}

open_enum! {
    /// How uplink and downlink share the spectrum.
    pub enum Duplex: u8 {
        /// Frequency division.
        Fdd = 0 => "fdd",
        /// Time division.
        Tdd = 1 => "tdd",
    }
}

/// One entry of the Band Table, 31 bytes:
///
/// | offset | field | type | unit |
/// | --- | --- | --- | --- |
/// | 0 | index | u8 | |
/// | 1 | low nibble technology, high nibble duplex | u8 | |
/// | 2 | 3GPP band number | u16 | |
/// | 4 | downlink centre | u32 | kHz |
/// | 8 | uplink centre | u32 | kHz |
/// | 12 | bandwidth | u32 | kHz |
/// | 16 | maximum downlink gain | s16 | 0.1 dB |
/// | 18 | maximum uplink gain | s16 | 0.1 dB |
/// | 20 | rated downlink output | s16 | 0.1 dBm |
/// | 22 | rated uplink output | s16 | 0.1 dBm |
/// | 24 | overload input level, donor port | s16 | 0.1 dBm |
/// | 26 | damage input level, donor port | s16 | 0.1 dBm |
/// | 28 | downlink noise figure | u8 | 0.1 dB, 0xFF not known |
/// | 29 | uplink noise figure | u8 | 0.1 dB, 0xFF not known |
/// | 30 | stated accuracy of levels (±) | u8 | 0.1 dB, 0xFF not known |
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Band {
    /// Index that telemetry refers to; unique within the table, not necessarily its position.
    pub index: u8,
    /// Technology of the wanted carriers (16 codes).
    pub technology: Technology,
    /// Duplex mode (16 codes).
    pub duplex: Duplex,
    /// 3GPP operating band number (TS 36.104 table 5.5-1, TS 38.104 table 5.2-1).
    pub number: u16,
    /// Centre of the downlink pass band, kHz.
    pub dl_centre_khz: u32,
    /// Centre of the uplink pass band, kHz.
    pub ul_centre_khz: u32,
    /// Width of the pass band, kHz.
    pub bandwidth_khz: u32,
    /// Largest downlink gain of the unit.
    pub max_dl_gain: Option<TenthDb>,
    /// Largest uplink gain of the unit.
    pub max_ul_gain: Option<TenthDb>,
    /// Rated composite downlink output at the server port.
    pub rated_dl_output: Option<TenthDbm>,
    /// Rated composite uplink output at the donor port.
    pub rated_ul_output: Option<TenthDbm>,
    /// Composite input at the donor port above which the unit distorts or gives up gain beyond its AGC range.
    pub overload_level: Option<TenthDbm>,
    /// Composite input at the donor port that can damage the unit.
    pub damage_level: Option<TenthDbm>,
    /// Downlink noise figure.
    pub dl_noise_figure: Option<TenthDb>,
    /// Uplink noise figure.
    pub ul_noise_figure: Option<TenthDb>,
    /// Levels are within ± this of the truth.
    pub accuracy: Option<TenthDb>,
}

fn small_ratio(raw: u8) -> Option<TenthDb> {
    (raw != u8::MAX).then_some(TenthDb(i16::from(raw)))
}

fn small_raw(value: Option<TenthDb>) -> u8 {
    // 25.4 dB is the largest that fits beside "not known"; a negative noise figure cannot occur.
    value.map_or(u8::MAX, |TenthDb(raw)| raw.clamp(0, 254) as u8)
}

impl Band {
    fn decode(r: &mut Reader<'_>) -> Result<Self, DecodeError> {
        let index = r.u8()?;
        let kind = r.u8()?;
        Ok(Self {
            index,
            technology: Technology::from_raw(kind & 0x0F),
            duplex: Duplex::from_raw(kind >> 4),
            number: r.u16()?,
            dl_centre_khz: r.u32()?,
            ul_centre_khz: r.u32()?,
            bandwidth_khz: r.u32()?,
            max_dl_gain: r.s16()?.map(TenthDb),
            max_ul_gain: r.s16()?.map(TenthDb),
            rated_dl_output: r.s16()?.map(TenthDbm),
            rated_ul_output: r.s16()?.map(TenthDbm),
            overload_level: r.s16()?.map(TenthDbm),
            damage_level: r.s16()?.map(TenthDbm),
            dl_noise_figure: small_ratio(r.u8()?),
            ul_noise_figure: small_ratio(r.u8()?),
            accuracy: small_ratio(r.u8()?),
        })
    }

    fn encode(&self, w: &mut Writer<512>) {
        w.u8(self.index);
        w.u8((self.technology.raw() & 0x0F) | (self.duplex.raw() << 4));
        w.u16(self.number);
        w.u32(self.dl_centre_khz);
        w.u32(self.ul_centre_khz);
        w.u32(self.bandwidth_khz);
        w.s16(self.max_dl_gain.map(|v| v.0));
        w.s16(self.max_ul_gain.map(|v| v.0));
        w.s16(self.rated_dl_output.map(|v| v.0));
        w.s16(self.rated_ul_output.map(|v| v.0));
        w.s16(self.overload_level.map(|v| v.0));
        w.s16(self.damage_level.map(|v| v.0));
        w.u8(small_raw(self.dl_noise_figure));
        w.u8(small_raw(self.ul_noise_figure));
        w.u8(small_raw(self.accuracy));
    }
}

/// Band Table: entry length u8, number of entries u8, then the entries.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct BandTable {
    /// Entries in the order of the value.
    pub bands: ArrayVec<Band, MAX_BANDS>,
}

impl BandTable {
    /// Decodes a value read from the unit. Bytes that a later minor version added to each entry are skipped.
    ///
    /// # Errors
    /// [`DecodeError::Short`], or [`DecodeError::Contradictory`] for an entry length below 31, no entries or more than
    /// 16, or an index that occurs twice or is 255.
    pub fn decode(bytes: &[u8]) -> Result<Self, DecodeError> {
        let mut r = Reader::new(bytes);
        r.need(2)?;
        let entry_len = usize::from(r.u8()?);
        let count = usize::from(r.u8()?);
        if entry_len < BAND_ENTRY_LEN {
            return Err(DecodeError::Contradictory(
                "band entry shorter than its mandatory fields",
            ));
        }
        if count == 0 || count > MAX_BANDS {
            return Err(DecodeError::Contradictory("number of bands outside 1 to 16"));
        }
        r.need(2 + entry_len * count)?;
        let mut table = Self::default();
        for entry in bytes[2..].chunks_exact(entry_len).take(count) {
            let band = Band::decode(&mut Reader::new(entry))?;
            if band.index == crate::WHOLE_UNIT {
                return Err(DecodeError::Contradictory(
                    "band index 255 stands for the whole unit",
                ));
            }
            if table.get(band.index).is_some() {
                return Err(DecodeError::Contradictory("band index occurs twice"));
            }
            table.bands.push(band);
        }
        Ok(table)
    }

    /// Encodes the table, 2 + 31 × entries bytes.
    pub fn encode(&self) -> AttributeBytes {
        let mut w = Writer::new();
        w.u8(BAND_ENTRY_LEN as u8);
        w.u8(self.bands.len() as u8);
        for band in &self.bands {
            band.encode(&mut w);
        }
        w.0
    }

    /// The entry with this index.
    pub fn get(&self, index: u8) -> Option<&Band> {
        self.bands.iter().find(|b| b.index == index)
    }
}
