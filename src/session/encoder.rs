//! Events to the bytes of a session file. Pure: the bytes depend on the header, the events and the moments at which a
//! checkpoint is asked for, and on nothing else.

use super::{Header, line};
use crate::event::{Event, EventKind, SessionTime};
use crc32fast::Hasher;

/// A chunk gets its checkpoint once it has so many bytes, even within a session second.
const CHUNK_FULL: u64 = 256 * 1024;

/// Longest line, in bytes: what a reader has to hold at once stays bounded.
pub const MAX_LINE: usize = 1024 * 1024;

/// Encodes a session. Bytes collect in [`Encoder::pending`] until [`Encoder::clear`].
#[derive(Debug, Default)]
pub struct Encoder {
    out: Vec<u8>,
    /// Bytes of `out` that `crc` has seen.
    hashed: usize,
    crc: Hasher,
    /// Lines and bytes since the last checkpoint.
    lines: u64,
    bytes: u64,
    /// Lines since the beginning, the header included, checkpoints not.
    total: u64,
    /// Events since the beginning that are no gaps.
    events: u64,
    /// Stamp of the last line.
    at: SessionTime,
    /// See [`Encoder::checkpoints`].
    checkpoints: Vec<(usize, u64)>,
}

/// A line is longer than [`MAX_LINE`]; it was left out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("a line of a session file has at most {MAX_LINE} bytes; shorten the note or the criteria")]
pub struct LineTooLong;

impl Encoder {
    /// An encoder at the beginning of a file.
    pub fn new() -> Self {
        Self::default()
    }

    /// Encodes the header, with a checkpoint of its own.
    ///
    /// # Errors
    /// [`LineTooLong`].
    pub fn header(&mut self, header: &Header) -> Result<(), LineTooLong> {
        let start = self.out.len();
        line::push_json(&mut self.out, header);
        self.out.push(b'\n');
        self.added(start)?;
        self.checkpoint();
        Ok(())
    }

    /// Encodes an event; before it a checkpoint, if a new session second begins.
    ///
    /// # Errors
    /// [`LineTooLong`].
    pub fn event(&mut self, event: &Event) -> Result<(), LineTooLong> {
        if event.at.0 / 1_000_000 != self.at.0 / 1_000_000 || self.bytes >= CHUNK_FULL {
            self.checkpoint();
        }
        let start = self.out.len();
        line::push(&mut self.out, event);
        self.added(start)?;
        self.at = event.at;
        self.events += u64::from(!matches!(event.kind, EventKind::Unreadable { .. }));
        Ok(())
    }

    /// Vouches for everything since the last checkpoint. Without effect if there is nothing.
    pub fn checkpoint(&mut self) {
        if self.lines > 0 {
            self.vouch(None);
        }
    }

    /// Ends the file with a checkpoint that says so, and how many events of the session are not in it.
    pub fn close(&mut self, not_recorded: u64) {
        self.vouch(Some(not_recorded));
    }

    /// Bytes to be written next.
    pub fn pending(&self) -> &[u8] {
        &self.out
    }

    /// Checkpoints among the pending bytes: where the line of each ends, and how many events (gaps apart) the file holds
    /// up to there.
    pub fn checkpoints(&self) -> &[(usize, u64)] {
        &self.checkpoints
    }

    /// Forgets the pending bytes: they were written.
    pub fn clear(&mut self) {
        self.hash();
        self.out.clear();
        self.hashed = 0;
        self.checkpoints.clear();
    }

    fn added(&mut self, start: usize) -> Result<(), LineTooLong> {
        let len = self.out.len() - start;
        if len > MAX_LINE {
            self.out.truncate(start);
            return Err(LineTooLong);
        }
        self.lines += 1;
        self.total += 1;
        self.bytes += len as u64;
        Ok(())
    }

    /// Takes the bytes that have come since into the checksum: many at once, which is much faster than line by line.
    fn hash(&mut self) {
        self.crc.update(&self.out[self.hashed..]);
        self.hashed = self.out.len();
    }

    fn vouch(&mut self, closed: Option<u64>) {
        let fields = [
            ("{\"t\":", self.at.0),
            (",\"total\":", self.total),
            (",\"lines\":", self.lines),
            (",\"bytes\":", self.bytes),
        ];
        for (key, number) in fields {
            self.out.extend_from_slice(key.as_bytes());
            line::push_number(&mut self.out, number);
        }
        if let Some(not_recorded) = closed {
            self.out.extend_from_slice(b",\"closed\":true,\"not_recorded\":");
            line::push_number(&mut self.out, not_recorded);
        }
        self.out.extend_from_slice(b",\"crc\":\"");
        self.hash();
        let crc = std::mem::take(&mut self.crc).finalize();
        super::hex::push(&mut self.out, &crc.to_be_bytes());
        self.out.extend_from_slice(b"\"}\n");
        self.checkpoints.push((self.out.len(), self.events));
        self.hashed = self.out.len();
        (self.lines, self.bytes) = (0, 0);
    }
}
