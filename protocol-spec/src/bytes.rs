//! Little-endian cursor over a value, and the buffer that encoders fill.

use crate::error::DecodeError;
use arrayvec::ArrayVec;

/// An encoded attribute value; 512 bytes is the largest that ATT allows (Core specification Vol 3 Part F 3.2.9).
pub type AttributeBytes = ArrayVec<u8, 512>;

/// Reads fields in order; the caller has checked the length once, so a missing byte reads as an error, not a panic.
#[derive(Clone, Copy)]
pub(crate) struct Reader<'a> {
    rest: &'a [u8],
    total: usize,
}

impl<'a> Reader<'a> {
    pub(crate) fn new(bytes: &'a [u8]) -> Self {
        Self {
            rest: bytes,
            total: bytes.len(),
        }
    }

    /// Refuses a value with fewer than `needed` bytes in all.
    pub(crate) fn need(&self, needed: usize) -> Result<(), DecodeError> {
        if self.total < needed {
            Err(DecodeError::Short {
                needed,
                got: self.total,
            })
        } else {
            Ok(())
        }
    }

    pub(crate) fn array<const N: usize>(&mut self) -> Result<[u8; N], DecodeError> {
        match self.rest.split_first_chunk::<N>() {
            Some((head, rest)) => {
                self.rest = rest;
                Ok(*head)
            }
            None => {
                let needed = self.total - self.rest.len() + N;
                Err(DecodeError::Short {
                    needed,
                    got: self.total,
                })
            }
        }
    }

    pub(crate) fn u8(&mut self) -> Result<u8, DecodeError> {
        self.array::<1>().map(|[b]| b)
    }

    pub(crate) fn u16(&mut self) -> Result<u16, DecodeError> {
        self.array().map(u16::from_le_bytes)
    }

    pub(crate) fn u24(&mut self) -> Result<u32, DecodeError> {
        self.array::<3>()
            .map(|[a, b, c]| u32::from_le_bytes([a, b, c, 0]))
    }

    pub(crate) fn u32(&mut self) -> Result<u32, DecodeError> {
        self.array().map(u32::from_le_bytes)
    }

    /// A `sint16`, where 0x8000 means "not known".
    pub(crate) fn s16(&mut self) -> Result<Option<i16>, DecodeError> {
        self.array().map(i16::from_le_bytes).map(known)
    }

    /// A `uint16`, where 0xFFFF means "not known".
    pub(crate) fn u16_known(&mut self) -> Result<Option<u16>, DecodeError> {
        let raw = self.u16()?;
        Ok((raw != u16::MAX).then_some(raw))
    }
}

/// A `sint16` as it travels: 0x8000 means "not known".
pub(crate) fn known(raw: i16) -> Option<i16> {
    (raw != i16::MIN).then_some(raw)
}

/// Appends fields in order. Bytes past the capacity are cut: every layout here is shorter by construction, and a
/// test encodes the largest value of each.
pub(crate) struct Writer<const N: usize>(pub(crate) ArrayVec<u8, N>);

impl<const N: usize> Writer<N> {
    pub(crate) fn new() -> Self {
        Self(ArrayVec::new())
    }

    pub(crate) fn bytes(&mut self, bytes: &[u8]) {
        for &b in bytes {
            if self.0.try_push(b).is_err() {
                return;
            }
        }
    }

    pub(crate) fn u8(&mut self, value: u8) {
        self.bytes(&[value]);
    }

    pub(crate) fn u16(&mut self, value: u16) {
        self.bytes(&value.to_le_bytes());
    }

    pub(crate) fn u24(&mut self, value: u32) {
        let [a, b, c, _] = value.min(0xFF_FFFF).to_le_bytes();
        self.bytes(&[a, b, c]);
    }

    pub(crate) fn u32(&mut self, value: u32) {
        self.bytes(&value.to_le_bytes());
    }

    pub(crate) fn s16(&mut self, value: Option<i16>) {
        self.bytes(&value.unwrap_or(i16::MIN).to_le_bytes());
    }
}
