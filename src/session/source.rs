//! The bytes of a session file, compressed or not.

use super::zstd::{Frames, MAGIC};
use std::io::{self, Cursor, Read};

/// The bytes of a session file; its first ones tell whether it is compressed.
#[derive(Debug)]
pub enum Source<R> {
    /// JSON Lines as they are.
    Plain(Rewound<R>),
    /// Zstandard frames.
    Zstd(Box<Frames<Rewound<R>>>),
}

/// A source whose first bytes were read already, put together again.
type Rewound<R> = io::Chain<Cursor<Vec<u8>>, R>;

impl<R: Read> Source<R> {
    /// Looks at the beginning of `source`.
    ///
    /// # Errors
    /// Whatever reading gives.
    pub fn new(mut source: R) -> io::Result<Self> {
        let mut first = Vec::new();
        source.by_ref().take(MAGIC.len() as u64).read_to_end(&mut first)?;
        // By majority, so that a damaged byte does not mislead.
        let alike = |known: [u8; 4]| first.iter().zip(known).filter(|(a, b)| **a == *b).count();
        let compressed = alike(MAGIC) > alike(*b"{\"fo");
        let whole = Cursor::new(first).chain(source);
        Ok(if compressed {
            Self::Zstd(Box::new(Frames::new(whole)?))
        } else {
            Self::Plain(whole)
        })
    }
}

impl<R: Read> Read for Source<R> {
    fn read(&mut self, out: &mut [u8]) -> io::Result<usize> {
        match self {
            Self::Plain(source) => source.read(out),
            Self::Zstd(frames) => frames.read(out),
        }
    }
}
