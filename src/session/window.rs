//! A bounded window onto a file that is read from front to back.

use super::encoder::MAX_LINE;
use std::io::{self, Read};

/// Bytes asked for at a time.
const STEP: usize = 256 * 1024;

/// Largest window: more than the largest chunk that a writer makes.
const LIMIT: usize = 2 * MAX_LINE;

/// Part of a file, held in memory.
#[derive(Debug)]
pub struct Window<R> {
    source: R,
    bytes: Vec<u8>,
    /// Offset of the first byte held.
    offset: u64,
    ended: bool,
}

impl<R: Read> Window<R> {
    /// A window onto the beginning of `source`, empty as yet.
    pub fn new(source: R) -> Self {
        Self {
            source,
            bytes: Vec::new(),
            offset: 0,
            ended: false,
        }
    }

    /// What is held.
    pub fn bytes(&self) -> &[u8] {
        &self.bytes
    }

    /// Offset in the file of the first byte held.
    pub fn offset(&self) -> u64 {
        self.offset
    }

    /// Whether the file's end is reached.
    pub fn ended(&self) -> bool {
        self.ended
    }

    /// How many of the bytes held have to be forgotten before the next [`Window::slide`], so that memory stays bounded.
    pub fn excess(&self) -> usize {
        self.bytes.len().saturating_sub(LIMIT)
    }

    /// Forgets the first `forget` bytes and reads on.
    ///
    /// # Errors
    /// Whatever reading gives. The window has ended then, with what was read before.
    pub fn slide(&mut self, forget: usize) -> io::Result<()> {
        let forget = forget.min(self.bytes.len());
        self.bytes.drain(..forget);
        self.offset += forget as u64;
        let read = self
            .source
            .by_ref()
            .take(STEP as u64)
            .read_to_end(&mut self.bytes);
        self.ended = !matches!(read, Ok(n) if n == STEP);
        read.map(|_| ())
    }
}
