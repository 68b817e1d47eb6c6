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
    let (blocks, rest) = digits.as_chunks::<16>();
    let (places, rest_place) = out.as_chunks_mut::<8>();
    let mut wrong = 0;
    for (block, place) in blocks.iter().zip(places) {
        wrong |= decode_block(block, place);
    }
    let mut last = ([b'0'; 16], [0; 8]);
    last.0.get_mut(..rest.len())?.copy_from_slice(rest);
    wrong |= decode_block(&last.0, &mut last.1);
    rest_place.copy_from_slice(last.1.get(..rest_place.len())?);
    (wrong == 0).then_some(())
}

/// Decodes sixteen digits; 0 if all are digits. Without a branch or a table, so that the compiler takes them all at once.
fn decode_block(digits: &[u8; 16], out: &mut [u8; 8]) -> u8 {
    let mut values = [0; 16];
    let mut wrong = 0;
    for (value, digit) in values.iter_mut().zip(digits) {
        let number = digit.wrapping_sub(b'0');
        let letter = (digit | 0x20).wrapping_sub(b'a');
        *value = if number < 10 {
            number
        } else {
            letter.wrapping_add(10)
        };
        wrong |= u8::from(number >= 10 && letter >= 6);
    }
    for (byte, pair) in out.iter_mut().zip(values.chunks_exact(2)) {
        *byte = (pair[0] << 4) | pair[1];
    }
    wrong
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
