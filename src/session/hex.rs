//! Bytes as hexadecimal digits, by table: this runs for every value of a recording.

const DIGITS: &[u8; 16] = b"0123456789abcdef";

/// The value of a digit, or 0xFF for a byte that is none.
const VALUES: [u8; 256] = {
    let mut table = [0xFF; 256];
    let mut i = 0;
    while i < 16 {
        table[DIGITS[i] as usize] = i as u8;
        table[DIGITS[i].to_ascii_uppercase() as usize] = i as u8;
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
    for (pair, byte) in digits.chunks_exact(2).zip(out) {
        let (high, low) = (VALUES[usize::from(pair[0])], VALUES[usize::from(pair[1])]);
        seen |= high | low;
        *byte = (high << 4) | (low & 15);
    }
    // One check at the end: only a byte that is no digit sets the upper bits.
    (seen < 16).then_some(())
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
}
