//! Cell Report: one cell as the unit's modem hears it.

use crate::band::Technology;
use crate::bytes::{Reader, Writer};
use crate::error::DecodeError;
use crate::level::{TenthDb, TenthDbm};
use crate::open::open_enum;
use arrayvec::ArrayVec;
use core::fmt;

/// Length of a Cell Report: one notification at the default MTU.
pub const CELL_REPORT_LEN: usize = 20;

open_enum! {
    /// Spacing of the subcarriers (a nibble).
    pub enum SubcarrierSpacing: u8 {
        /// Not known or not applicable.
        NotKnown = 0 => "not-known",
        /// 15 kHz.
        Khz15 = 1 => "15-khz",
        /// 30 kHz.
        Khz30 = 2 => "30-khz",
        /// 60 kHz.
        Khz60 = 3 => "60-khz",
        /// 120 kHz.
        Khz120 = 4 => "120-khz",
    }
}

/// Operator code (mobile country and network code) in the three BCD bytes of TS 24.008 10.5.1.3; all 0xFF: not known.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Plmn(pub [u8; 3]);

impl Plmn {
    /// "Not known".
    pub const NOT_KNOWN: Plmn = Plmn([0xFF; 3]);

    /// Packs a country code (0…999) and a network code of two or three digits; `None` if a number does not fit.
    pub fn new(mcc: u16, mnc: u16, three_digits: bool) -> Option<Self> {
        if mcc > 999 || mnc > if three_digits { 999 } else { 99 } {
            return None;
        }
        let digit = |value: u16, weight: u16| ((value / weight) % 10) as u8;
        let (n1, n2, n3) = if three_digits {
            (digit(mnc, 100), digit(mnc, 10), digit(mnc, 1))
        } else {
            (digit(mnc, 10), digit(mnc, 1), 0xF)
        };
        Some(Self([
            digit(mcc, 100) | (digit(mcc, 10) << 4),
            digit(mcc, 1) | (n3 << 4),
            n1 | (n2 << 4),
        ]))
    }
}

impl fmt::Display for Plmn {
    /// Digits in reading order, country then network, `00101` or `001001`; "?" for a nibble that is no digit.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let [a, b, c] = self.0;
        for nibble in [a & 0xF, a >> 4, b & 0xF, c & 0xF, c >> 4] {
            match char::from_digit(u32::from(nibble), 10) {
                Some(digit) => write!(f, "{digit}")?,
                None => write!(f, "?")?,
            }
        }
        match b >> 4 {
            0xF => Ok(()),
            digit => write!(f, "{}", char::from_digit(u32::from(digit), 10).unwrap_or('?')),
        }
    }
}

/// Cell Report, 20 bytes:
///
/// | offset | field | type | unit |
/// | --- | --- | --- | --- |
/// | 0 | band index | u8 | |
/// | 1 | low nibble technology, high nibble subcarrier spacing | u8 | |
/// | 2 | downlink channel number (EARFCN, NR-ARFCN …) | u24 | |
/// | 5 | bits 0–9 bandwidth, bit 15 wanted, others reserved | u16 | resource blocks, 0 not known |
/// | 7 | physical cell identity | u16 | 0xFFFF not known |
/// | 9 | operator code | 3 × u8 | BCD of TS 24.008 |
/// | 12 | RSRP | s16 | 0.1 dBm |
/// | 14 | RSRQ | s16 | 0.1 dB |
/// | 16 | SINR | s16 | 0.1 dB |
/// | 18 | age of the measurement | u16 | 0.1 s, 0xFFFF not known |
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct CellReport {
    /// Band index of the Band Table.
    pub band: u8,
    /// Technology of the cell.
    pub technology: Technology,
    /// Subcarrier spacing.
    pub spacing: SubcarrierSpacing,
    /// Downlink channel number: EARFCN (TS 36.104 5.7.3) or NR-ARFCN (TS 38.104 5.4.2.1), 0…16,777,215.
    pub channel: u32,
    /// Bandwidth in resource blocks, 1…1023.
    pub resource_blocks: Option<u16>,
    /// Whether the unit is meant to serve this cell.
    pub wanted: bool,
    /// Physical cell identity.
    pub identity: Option<u16>,
    /// Operator code.
    pub operator: Option<Plmn>,
    /// RSRP at the donor port.
    pub rsrp: Option<TenthDbm>,
    /// RSRQ.
    pub rsrq: Option<TenthDb>,
    /// SINR.
    pub sinr: Option<TenthDb>,
    /// Age of the measurement when sent, in 0.1 s.
    pub age_tenths_s: Option<u16>,
}

impl CellReport {
    /// Decodes a notified value.
    ///
    /// # Errors
    /// [`DecodeError::Short`] below 20 bytes.
    pub fn decode(bytes: &[u8]) -> Result<Self, DecodeError> {
        let mut r = Reader::new(bytes);
        r.need(CELL_REPORT_LEN)?;
        let band = r.u8()?;
        let kind = r.u8()?;
        let channel = r.u24()?;
        let width = r.u16()?;
        let identity = r.u16_known()?;
        let operator = Plmn(r.array()?);
        Ok(Self {
            band,
            technology: Technology::from_raw(kind & 0x0F),
            spacing: SubcarrierSpacing::from_raw(kind >> 4),
            channel,
            resource_blocks: Some(width & 0x03FF).filter(|n| *n != 0),
            wanted: width & 0x8000 != 0,
            identity,
            operator: (operator != Plmn::NOT_KNOWN).then_some(operator),
            rsrp: r.s16()?.map(TenthDbm),
            rsrq: r.s16()?.map(TenthDb),
            sinr: r.s16()?.map(TenthDb),
            age_tenths_s: r.u16_known()?,
        })
    }

    /// Encodes the report, 20 bytes.
    pub fn encode(&self) -> ArrayVec<u8, CELL_REPORT_LEN> {
        let mut w = Writer::new();
        w.u8(self.band);
        w.u8((self.technology.raw() & 0x0F) | (self.spacing.raw() << 4));
        w.u24(self.channel);
        w.u16((self.resource_blocks.unwrap_or(0) & 0x03FF) | if self.wanted { 0x8000 } else { 0 });
        w.u16(self.identity.unwrap_or(u16::MAX));
        w.bytes(&self.operator.unwrap_or(Plmn::NOT_KNOWN).0);
        w.s16(self.rsrp.map(|v| v.0));
        w.s16(self.rsrq.map(|v| v.0));
        w.s16(self.sinr.map(|v| v.0));
        w.u16(self.age_tenths_s.unwrap_or(u16::MAX));
        w.0
    }
}
