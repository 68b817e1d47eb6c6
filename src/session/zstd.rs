//! Compressed recordings: a Zstandard frame (RFC 8878) for every chunk, so that damage to one costs no other.

use ::zstd::bulk::Compressor;
use ::zstd::stream::raw::{CParameter, DParameter, Decoder, Operation};
use std::fmt;
use std::io::{self, Read};

/// What every frame begins with.
pub const MAGIC: [u8; 4] = [0x28, 0xB5, 0x2F, 0xFD];

/// Length of the checksum at a frame's end, behind its content.
pub const CHECKSUM_LEN: usize = 4;

/// A chunk of a second is a few kilobytes; higher levels gain little on it.
const LEVEL: i32 = 3;

/// Bytes read at a time.
const STEP: usize = 64 * 1024;

/// Most bytes of a frame that are kept to look for the next one in, should this one turn out damaged.
const KEPT: usize = 4 * 1024 * 1024;

/// Largest window that a frame may ask for, as a power of two: 8 MiB, so that a damaged header cannot ask for all
/// memory.
const WINDOW_LOG: u32 = 23;

/// Turns chunks into frames. Bytes that no checkpoint vouches for wait here for theirs.
pub struct Squeezer {
    compressor: Compressor<'static>,
    waiting: Vec<u8>,
    frames: Vec<u8>,
    /// Where each frame ends, and how many events the file then holds.
    ends: Vec<(usize, u64)>,
}

impl fmt::Debug for Squeezer {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Squeezer")
            .field("waiting", &self.waiting.len())
            .finish_non_exhaustive()
    }
}

impl Squeezer {
    /// A squeezer whose frames carry their length and a checksum: a damaged frame is noticed at its end at the latest.
    ///
    /// # Errors
    /// When there is no memory for it.
    pub fn new() -> io::Result<Self> {
        let mut compressor = Compressor::new(LEVEL)?;
        compressor.set_parameter(CParameter::ChecksumFlag(true))?;
        Ok(Self {
            compressor,
            waiting: Vec::new(),
            frames: Vec::new(),
            ends: Vec::new(),
        })
    }

    /// Takes in what an encoder has pending, and where in it each checkpoint's line ends with how many events before
    /// it. Gives the frames that are complete, with where they end.
    ///
    /// # Errors
    /// When a frame cannot be compressed, for want of memory.
    pub fn squeeze(&mut self, pending: &[u8], checkpoints: &[(usize, u64)]) -> io::Result<Ready<'_>> {
        self.frames.clear();
        self.ends.clear();
        let mut from = 0;
        for &(end, events) in checkpoints {
            self.waiting.extend_from_slice(&pending[from..end]);
            self.frames
                .extend_from_slice(&self.compressor.compress(&self.waiting)?);
            self.ends.push((self.frames.len(), events));
            self.waiting.clear();
            from = end;
        }
        self.waiting.extend_from_slice(&pending[from..]);
        Ok((&self.frames, &self.ends))
    }
}

/// Bytes to be written, and the places in them at which so many events are safe.
pub type Ready<'a> = (&'a [u8], &'a [(usize, u64)]);

/// The content of a series of frames. A damaged frame gives what came out of it before the damage showed, or nothing;
/// then follows the next frame. The reader above checks what it gets.
pub struct Frames<R> {
    source: R,
    decoder: Decoder<'static>,
    input: Vec<u8>,
    /// Where the frame in hand begins in `input`, and how far the decoder has read.
    start: usize,
    fed: usize,
    ended: bool,
}

impl<R> fmt::Debug for Frames<R> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Frames")
            .field("held", &self.input.len())
            .finish_non_exhaustive()
    }
}

impl<R: Read> Frames<R> {
    /// The frames in `source`.
    ///
    /// # Errors
    /// When there is no memory for a decoder.
    pub fn new(source: R) -> io::Result<Self> {
        let mut decoder = Decoder::new()?;
        decoder.set_parameter(DParameter::WindowLogMax(WINDOW_LOG))?;
        Ok(Self {
            source,
            decoder,
            input: Vec::new(),
            start: 0,
            fed: 0,
            ended: false,
        })
    }

    /// Reads on, and forgets what will not be looked at again.
    fn read_on(&mut self) -> io::Result<()> {
        let forget = self.start.max(self.fed.saturating_sub(KEPT));
        self.input.drain(..forget);
        self.start = 0;
        self.fed -= forget;
        let read = self
            .source
            .by_ref()
            .take(STEP as u64)
            .read_to_end(&mut self.input)?;
        self.ended = read < STEP;
        Ok(())
    }

    /// Goes from a damaged frame to the next place that looks like one.
    fn resynchronise(&mut self) -> io::Result<()> {
        let behind = (self.start + 1).min(self.input.len());
        // The last three bytes may be the beginning of a magic number.
        let unknown = self.input.len().saturating_sub(MAGIC.len() - 1).max(behind);
        self.start = memchr::memmem::find(&self.input[behind..], &MAGIC).map_or(unknown, |i| behind + i);
        self.fed = self.start;
        self.decoder.reinit()
    }
}

impl<R: Read> Read for Frames<R> {
    fn read(&mut self, out: &mut [u8]) -> io::Result<usize> {
        while !out.is_empty() {
            if self.start == self.input.len() {
                if self.ended {
                    break;
                }
                self.read_on()?;
                continue;
            }
            let rest = &self.input[self.fed..];
            match self.decoder.run_on_buffers(rest, out) {
                Ok(step) => {
                    self.fed += step.bytes_read;
                    if step.remaining == 0 {
                        self.start = self.fed;
                        self.decoder.reinit()?;
                    }
                    if step.bytes_written > 0 {
                        return Ok(step.bytes_written);
                    }
                    // Nothing came and nothing is left: the frame goes on beyond what is here, or claims to.
                    if step.remaining > 0 && self.fed == self.input.len() {
                        if self.ended {
                            self.resynchronise()?;
                        } else {
                            self.read_on()?;
                        }
                    }
                }
                Err(_) => self.resynchronise()?,
            }
        }
        Ok(0)
    }
}
