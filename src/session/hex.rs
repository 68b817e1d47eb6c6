//! Bytes as hexadecimal digits and back: this runs for every value of a recording.

const DIGITS: &[u8; 16] = b"0123456789abcdef";

/// Mark of a pair of bytes that are not both digits.
const NO_DIGIT: u16 = 0x100;

/// The byte that two digits mean, by both at once, the first in the low byte. Of this table only the few lines are ever
/// touched that hold digits.
static BYTES: [u16; 65_536] = {
    let digits = b"0123456789abcdefABCDEF";
    let mut table = [NO_DIGIT; 65_536];
    let mut i = 0;
    while i < digits.len() * digits.len() {
        let (first, second) = (i / digits.len(), i % digits.len());
        let pair = u16::from_le_bytes([digits[first], digits[second]]);
        // Capital letters stand six places behind the others.
        let high = if first < 16 { first } else { first - 6 };
        let low = if second < 16 { second } else { second - 6 };
        table[pair as usize] = ((high << 4) | low) as u16;
        i += 1;
    }
    table
};

/// Both digits of every byte.
const PAIRS: [[u8; 2]; 256] = {
    let mut table = [[0; 2]; 256];
    let mut i = 0;
    while i < 256 {
        table[i] = [DIGITS[i >> 4], DIGITS[i & 15]];
        i += 1;
    }
    table
};

/// Appends the digits of `bytes`, lower case.
pub fn push(out: &mut Vec<u8>, bytes: &[u8]) {
    out.reserve(2 * bytes.len());
    for b in bytes {
        out.extend_from_slice(&PAIRS[usize::from(*b)]);
    }
}

/// The digits of `bytes`, lower case.
pub fn encode(bytes: &[u8]) -> String {
    bytes
        .iter()
        .flat_map(|b| PAIRS[usize::from(*b)])
        .map(char::from)
        .collect()
}

/// Decodes two digits a byte, of either case, into `out`, which has half as many bytes as there are digits. `None` if
/// the lengths differ or a byte is no digit.
pub fn decode(digits: &[u8], out: &mut [u8]) -> Option<()> {
    if digits.len() != 2 * out.len() {
        return None;
    }
    let mut seen = 0;
    for (pair, byte) in digits.as_chunks::<2>().0.iter().zip(out) {
        let value = BYTES[usize::from(u16::from_le_bytes(*pair))];
        seen |= value;
        *byte = value as u8;
    }
    // One check at the end.
    (seen & NO_DIGIT == 0).then_some(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_byte_comes_back() {
        let all: Vec<u8> = (0..=255).collect();
        let mut digits = Vec::new();
        push(&mut digits, &all);
        assert_eq!(digits, encode(&all).into_bytes());
        let mut back = [0; 256];
        assert_eq!(decode(&digits, &mut back), Some(()));
        assert_eq!(back.as_slice(), all);
        assert_eq!(decode(&digits.to_ascii_uppercase(), &mut back), Some(()));
        assert_eq!(back.as_slice(), all);
    }

    #[test]
    fn what_is_no_hex_is_refused() {
        for bad in ["0", "000", "0g", "g0", "é", " 0"] {
            assert_eq!(decode(bad.as_bytes(), &mut [0]), None, "{bad}");
        }
        assert_eq!(decode(b"", &mut []), Some(()));
    }

    #[test]
    fn every_byte_in_every_place_is_a_digit_or_refused() {
        for place in 0..20 {
            for byte in 0..=255_u8 {
                let mut digits = *b"01234567890123456789";
                digits[place] = byte;
                let mut out = [0; 10];
                let expected = char::from(byte).to_digit(16).filter(|_| byte < 0x80);
                assert_eq!(
                    decode(&digits, &mut out).is_some(),
                    expected.is_some(),
                    "{byte:#x} at {place}"
                );
                if let Some(value) = expected {
                    let half = (out[place / 2] >> (4 * (1 - place % 2))) & 15;
                    assert_eq!(u32::from(half), value, "{byte:#x} at {place}");
                }
            }
        }
    }
}
