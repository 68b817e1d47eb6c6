//! Bytes as hexadecimal digits and back: this runs for every value of a recording.

const DIGITS: &[u8; 16] = b"0123456789abcdef";

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
    // Eight digits at a time, all in one register; one check at the end.
    let (eights, rest) = digits.as_chunks::<8>();
    let (fours, rest_out) = out.as_chunks_mut::<4>();
    let mut wrong = 0;
    for (eight, four) in eights.iter().zip(fours) {
        let (bytes, bad) = decode_eight(u64::from_le_bytes(*eight));
        *four = bytes.to_le_bytes();
        wrong |= bad;
    }
    let mut last = [b'0'; 8];
    last.get_mut(..rest.len())?.copy_from_slice(rest);
    let (bytes, bad) = decode_eight(u64::from_le_bytes(last));
    rest_out.copy_from_slice(bytes.to_le_bytes().get(..rest_out.len())?);
    (wrong | bad == 0).then_some(())
}

/// Eight digits, the first in the lowest byte, to four bytes; and a number that is 0 if all are digits.
fn decode_eight(digits: u64) -> (u32, u64) {
    const ONES: u64 = 0x0101_0101_0101_0101;
    const TOP: u64 = 0x80 * ONES;
    // The top bit of a byte of `at_least(x, n)` tells whether that byte of `x`, below 0x80, is n or more.
    let at_least = |x: u64, n: u64| x + (0x80 - n) * ONES;
    let low = digits & !TOP;
    let lower_case = low | (0x20 * ONES);
    let number = at_least(low, 0x30) & !at_least(low, 0x3A);
    let letter = at_least(lower_case, 0x61) & !at_least(lower_case, 0x67);
    let wrong = (!(number | letter) | digits) & TOP;
    // A letter's low bits count from 1 on: 9 more make its value.
    let values = (low & (0x0F * ONES)) + 9 * ((letter & TOP) >> 7);
    // Two digits to a byte, then the bytes together.
    let pairs = ((values << 4) | (values >> 8)) & 0x00FF_00FF_00FF_00FF;
    let fours = (pairs | (pairs >> 8)) & 0x0000_FFFF_0000_FFFF;
    ((fours | (fours >> 16)) as u32, wrong)
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
