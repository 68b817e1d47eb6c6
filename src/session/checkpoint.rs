//! Finding checkpoints, and checking what they vouch for.

use crate::event::SessionTime;
use memchr::memmem;

/// What comes before the checksum's digits. Cannot occur inside a JSON string, where the quotes would be escaped.
pub const KEY: &[u8] = b",\"crc\":\"";

/// What comes after them.
pub const TAIL: &[u8] = b"\"}\n";

/// Digits of the checksum.
const CRC_LEN: usize = 8;

/// From the beginning of [`KEY`] to the end of the line.
pub const END_LEN: usize = KEY.len() + CRC_LEN + TAIL.len();

/// Longest checkpoint line up to its [`KEY`]: five numbers of at most 20 digits and their keys, rounded up.
const HEAD_MAX: usize = 192;

/// A checkpoint whose checksum agrees. Positions count from the beginning of the buffer that it was found in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Checkpoint {
    /// First byte of the chunk.
    pub start: usize,
    /// End of the chunk's lines, where the checkpoint's own line begins.
    pub lines_end: usize,
    /// Just behind the digits of the checksum.
    pub end: usize,
    /// Session time of the last line.
    pub at: SessionTime,
    /// Lines in the file up to here.
    pub total: u64,
    /// Lines of the chunk.
    pub lines: u64,
    /// Present in the last checkpoint of a closed file: how many events it does not hold.
    pub closed: Option<u64>,
}

/// The checkpoint whose [`KEY`] stands at `key`, if there is one, its whole chunk lies within `bytes`, and the checksum
/// agrees. Each chunk can be checked without any other.
pub fn check(bytes: &[u8], key: usize) -> Option<Checkpoint> {
    let hashed_end = key.checked_add(KEY.len())?;
    let end = hashed_end.checked_add(CRC_LEN)?;
    let digits = bytes.get(hashed_end..end)?;

    let window = key.saturating_sub(HEAD_MAX);
    let lines_end = window + memmem::rfind(bytes.get(window..key)?, b"{\"t\":")?;
    let head = bytes.get(lines_end..key)?;
    let (at, head) = field(head, b"{\"t\":")?;
    let (total, head) = field(head, b",\"total\":")?;
    let (lines, head) = field(head, b",\"lines\":")?;
    let (len, head) = field(head, b",\"bytes\":")?;
    let closed = match head {
        b"" => None,
        head => match field(head, b",\"closed\":true,\"not_recorded\":")? {
            (not_recorded, b"") => Some(not_recorded),
            _ => return None,
        },
    };

    let start = lines_end.checked_sub(usize::try_from(len).ok()?)?;
    let crc = crc32fast::hash(bytes.get(start..hashed_end)?);
    let sound = super::hex::encode(&crc.to_be_bytes()).as_bytes() == digits && lines <= total;
    sound.then_some(Checkpoint {
        start,
        lines_end,
        end,
        at: SessionTime(at),
        total,
        lines,
        closed,
    })
}

fn field<'a>(text: &'a [u8], key: &[u8]) -> Option<(u64, &'a [u8])> {
    let text = text.strip_prefix(key)?;
    let digits = text.iter().take_while(|b| b.is_ascii_digit()).count();
    let (number, rest) = text.split_at(digits);
    Some((std::str::from_utf8(number).ok()?.parse().ok()?, rest))
}
