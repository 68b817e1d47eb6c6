//! A bounded window onto a file that is read from front to back.

use super::encoder::MAX_LINE;
use std::io::{self, Read};

/// Bytes asked for at a time.
const STEP: usize = 256 * 1024;

/// Room made at first.
const SMALL: usize = 16 * 1024;

/// Largest window: more than the largest chunk that a writer makes.
const LIMIT: usize = 2 * MAX_LINE;

/// Part of a file, held in memory.
#[derive(Debug)]
pub struct Window<R> {
    source: R,
    /// Room; the first `held` bytes of it are of the file.
    room: Vec<u8>,
    held: usize,
    /// Offset of the first byte held.
    offset: u64,
    ended: bool,
}

impl<R: Read> Window<R> {
    /// A window onto the beginning of `source`, empty as yet.
    pub fn new(source: R) -> Self {
        Self {
            source,
            room: Vec::new(),
            held: 0,
            offset: 0,
            ended: false,
        }
    }

    /// What is held.
    pub fn bytes(&self) -> &[u8] {
        self.room.get(..self.held).unwrap_or_default()
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
        self.held.saturating_sub(LIMIT)
    }

    /// Forgets the first `forget` bytes and reads on.
    ///
    /// # Errors
    /// Whatever reading gives. The window has ended then, with what was read before.
    pub fn slide(&mut self, forget: usize) -> io::Result<()> {
        let forget = forget.min(self.held);
        self.room.copy_within(forget..self.held, 0);
        self.held -= forget;
        self.offset += forget as u64;
        let wanted = self.held + STEP;
        while self.held < wanted {
            // Room is made as it is needed: a short file needs little.
            let end = wanted.min((2 * self.held).max(SMALL));
            if self.room.len() < end {
                self.room.resize(end, 0);
            }
            let end = self.room.len().min(wanted);
            let Some(room) = self.room.get_mut(self.held..end) else {
                break;
            };
            match self.source.read(room) {
                Ok(0) => {
                    self.ended = true;
                    break;
                }
                // A source that claims more than it was given cannot push us out of bounds.
                Ok(read) => self.held += read.min(room.len()),
                Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
                Err(error) => {
                    self.ended = true;
                    return Err(error);
                }
            }
        }
        Ok(())
    }
}
