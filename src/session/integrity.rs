//! What a reader found out about a file: what it read, what it skipped, and where.

use serde::Serialize;
use std::fmt;

/// Places that are kept one by one; the rest is only counted, so that memory stays bounded.
const PLACES_MAX: usize = 64;

/// Condition of a session file, as far as it has been read.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Integrity {
    /// Sound chunks.
    pub chunks: u64,
    /// Events read from them.
    pub events: u64,
    /// Lines known to be missing, by the counts of sound checkpoints.
    pub missing: u64,
    /// Places that were skipped, in the file's order: the first 64.
    pub skipped: Vec<Skipped>,
    /// Places skipped beyond those.
    pub more_skipped: u64,
    /// Whether the header could be trusted. If not, nothing is taken from it.
    pub header_damaged: bool,
    /// Whether the file was closed properly; then how many events were not recorded.
    pub closed: Option<u64>,
}

/// A place in a file that was skipped.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Skipped {
    /// First byte, counted from 0 (in a compressed file: of its content).
    pub offset: u64,
    /// How many bytes.
    pub bytes: u64,
    /// Why.
    pub why: Why,
}

/// Why a place was skipped.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Why {
    /// No checkpoint vouches for it: damaged.
    Damaged {
        /// Lines known to be lost, by the next sound checkpoint.
        lines: u64,
    },
    /// It follows the last checkpoint: the recording was cut off, or its end is damaged.
    AfterLastCheckpoint {
        /// Complete lines among it.
        lines: u64,
    },
    /// A chunk that was read before.
    Repeated,
    /// It follows the line that closes the file.
    AfterEnd,
    /// A line that is sound, but no event of this format version, or stamped earlier than the line before it.
    NotUnderstood,
    /// The file could not be read further.
    Io(String),
}

impl Integrity {
    /// Whether everything that was ever recorded in the file was read.
    pub fn is_sound(&self) -> bool {
        self.skipped.is_empty() && self.closed.is_some() && !self.header_damaged && self.missing == 0
    }

    pub(super) fn skip(&mut self, offset: u64, bytes: u64, why: Why) {
        if self.skipped.len() < PLACES_MAX {
            self.skipped.push(Skipped { offset, bytes, why });
        } else {
            self.more_skipped += 1;
        }
    }
}

impl fmt::Display for Integrity {
    /// One line: what was read and what was not.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} events in {} sound chunks", self.events, self.chunks)?;
        if self.header_damaged {
            write!(f, "; header damaged, nothing taken from it")?;
        }
        if self.missing > 0 {
            write!(f, "; {} lines missing", self.missing)?;
        }
        if let Some(first) = self.skipped.first() {
            let places = self.skipped.len() as u64 + self.more_skipped;
            write!(f, "; {places} places skipped, the first {first}")?;
        }
        match self.closed {
            None => write!(f, "; not closed"),
            Some(0) => Ok(()),
            Some(n) => write!(f, "; {n} events were not recorded"),
        }
    }
}

impl fmt::Display for Skipped {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "at byte {} ({} bytes): ", self.offset, self.bytes)?;
        match &self.why {
            Why::Damaged { lines } => write!(f, "damaged, {lines} lines lost"),
            Why::AfterLastCheckpoint { lines } => {
                write!(f, "after the last checkpoint, {lines} lines dropped")
            }
            Why::AfterEnd => write!(f, "follows the end of the recording"),
            Why::Repeated => write!(f, "repeats an earlier part"),
            Why::NotUnderstood => write!(f, "a line that this version does not understand"),
            Why::Io(error) => write!(f, "cannot be read: {error}"),
        }
    }
}
