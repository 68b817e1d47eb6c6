//! From a recording to a visit: one pass, bounded memory.

use super::visit::{Gatherer, Visit};
use crate::analysis::Criteria;
use crate::event::EventKind;
use crate::fold::Fold;
use crate::replay::ReplayError;
use crate::sequencer::Sequencer;
use crate::session::{NotRecording, Reader};
use sha2::{Digest, Sha256};
use std::fmt::Write;
use std::io::{self, Read};

/// Reads a recording through. `name` is what the report calls it; `criteria` replace those of its header.
///
/// # Errors
/// [`ReplayError`], when the recording cannot be read at all or its criteria are wrong.
pub fn read(source: impl Read, name: &str, criteria: Option<&Criteria>) -> Result<Visit, ReplayError> {
    let mut source = Hashing {
        source,
        hash: Sha256::new(),
    };
    let mut reader = Reader::open(&mut source)?;
    let header = reader.header().clone();
    let criteria = match (criteria, &header.criteria) {
        (Some(given), _) => given.clone(),
        (None, Some(text)) => Criteria::parse(text).map_err(|e| ReplayError::Criteria(e.to_string()))?,
        (None, None) => Criteria::default(),
    };
    let mut sequencer = Sequencer::new(Fold::new(criteria), NotRecording, header.clone());
    let mut gatherer = Gatherer::default();
    let mut updates = Vec::new();
    let mut ended = false;
    while let Some(event) = reader.next_event() {
        ended |= event.kind == EventKind::End;
        sequencer.push(event.clone(), &mut updates);
        gatherer.take(&event, &updates, sequencer.fold());
        updates.clear();
    }
    if !ended {
        // The recording was cut off: it ends where its last sound line stands.
        let at = sequencer.fold().now();
        sequencer.end(at, &mut updates);
    }
    let integrity = reader.integrity().clone();
    drop(reader);
    let digest = source.digest();
    Ok(gatherer.finish(name.to_owned(), digest, header, integrity, sequencer.into_fold()))
}

/// A source whose bytes are summed up as they are read: the document names the recording that it rests on.
struct Hashing<R> {
    source: R,
    hash: Sha256,
}

impl<R: Read> Hashing<R> {
    /// SHA-256 of everything; `None` if the rest cannot be read.
    fn digest(mut self) -> Option<String> {
        io::copy(&mut self, &mut io::sink()).ok()?;
        Some(self.hash.finalize().iter().fold(String::new(), |mut text, byte| {
            let _ = write!(text, "{byte:02x}");
            text
        }))
    }
}

impl<R: Read> Read for Hashing<R> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        let n = self.source.read(buffer)?;
        self.hash.update(buffer.get(..n).unwrap_or_default());
        Ok(n)
    }
}
