//! An encoder and what its bytes go to, with the accounts of both.

use super::zstd::Squeezer;
use super::{Encoder, Header, Totals, checkpoint, zstd};
use crate::event::{Event, EventKind};
use std::fs::File;
use std::io::{self, ErrorKind, Write};

/// Where the bytes of a recording go.
pub trait Sink: Write {
    /// Makes what was written survive a loss of power.
    ///
    /// # Errors
    /// Whatever the medium gives.
    fn sync(&mut self) -> io::Result<()>;
}

impl Sink for File {
    fn sync(&mut self) -> io::Result<()> {
        self.sync_data()
    }
}

/// Records onto a sink until that fails; from then on it only counts.
#[derive(Debug)]
pub struct Tape<S> {
    encoder: Encoder,
    /// Present if the file is compressed.
    squeezer: Option<Squeezer>,
    sink: S,
    /// Events given; gaps are none.
    given: u64,
    /// Of these, in the file with a checkpoint that vouches for them.
    kept: u64,
    /// Of these, left out because no room or no time was left for them.
    left_out: u64,
    /// Bytes that the sink took.
    bytes: u64,
    failure: Option<String>,
}

impl<S: Sink> Tape<S> {
    /// An empty tape, compressed by `squeezer` if there is one.
    pub fn new(sink: S, squeezer: Option<Squeezer>) -> Self {
        Self {
            encoder: Encoder::new(),
            squeezer,
            sink,
            given: 0,
            kept: 0,
            left_out: 0,
            bytes: 0,
            failure: None,
        }
    }

    /// Encodes the header.
    pub fn begin(&mut self, header: &Header) {
        if let Err(error) = self.encoder.header(header) {
            self.fail("encoding the header", &error.to_string());
        }
    }

    /// Encodes an event.
    pub fn event(&mut self, event: &Event) {
        self.given += u64::from(!matches!(event.kind, EventKind::Unreadable { .. }));
        if self.failure.is_none() && self.encoder.event(event).is_err() {
            self.left_out += 1;
        }
    }

    /// Counts events that never got here.
    pub fn left_out(&mut self, count: u64) {
        self.given += count;
        self.left_out += count;
    }

    /// Encodes a checkpoint, if anything needs one.
    pub fn checkpoint(&mut self) {
        self.encoder.checkpoint();
    }

    /// Bytes encoded and not yet written.
    pub fn pending(&self) -> usize {
        self.encoder.pending().len()
    }

    /// Writes what was encoded.
    pub fn flush(&mut self) {
        if self.failure.is_some() {
            self.encoder.clear();
            return;
        }
        let plain = (self.encoder.pending(), self.encoder.checkpoints());
        // A reader does without the last bytes of a checkpoint's line, and without a frame's own checksum.
        let (ready, spare) = match &mut self.squeezer {
            Some(squeezer) => (squeezer.squeeze(plain.0, plain.1), zstd::CHECKSUM_LEN),
            None => (Ok(plain), checkpoint::TAIL.len()),
        };
        let result = ready.and_then(|(bytes, checkpoints)| {
            let (written, result) = write_all(&mut self.sink, bytes);
            self.bytes += written as u64;
            let safe = checkpoints.iter().rev().find(|(end, _)| *end <= written + spare);
            self.kept = safe.map_or(self.kept, |(_, events)| *events);
            result
        });
        if let Err(error) = result {
            self.fail("writing", &words(&error));
        }
        self.encoder.clear();
    }

    /// Writes what was encoded and makes it survive a loss of power.
    pub fn sync(&mut self) {
        self.flush();
        if self.failure.is_none()
            && let Err(error) = self.sink.sync()
        {
            self.fail("syncing", &words(&error));
        }
    }

    /// Ends the file and says what became of the events.
    pub fn close(&mut self) -> Totals {
        self.encoder.close(self.left_out);
        self.sync();
        self.totals()
    }

    /// What became of the events so far; those not yet vouched for count as not recorded.
    pub fn totals(&self) -> Totals {
        Totals {
            lines: self.kept,
            bytes: self.bytes,
            not_recorded: self.given - self.kept,
        }
    }

    /// Events that are lost for certain by now, bytes that the sink took, and why recording stopped, if it did.
    pub fn standing(&self) -> (u64, u64, Option<&str>) {
        let lost = if self.failure.is_some() {
            self.given - self.kept
        } else {
            self.left_out
        };
        (lost, self.bytes, self.failure.as_deref())
    }

    /// The sink, to look at what it got.
    #[cfg(test)]
    pub fn into_sink(self) -> S {
        self.sink
    }

    fn fail(&mut self, operation: &str, why: &str) {
        self.failure = Some(format!("{operation}: {why}"));
    }
}

/// Writes everything, or tells how far it got.
fn write_all(sink: &mut impl Write, bytes: &[u8]) -> (usize, io::Result<()>) {
    let mut written = 0;
    while written < bytes.len() {
        match sink.write(&bytes[written..]) {
            Ok(0) => return (written, Err(ErrorKind::WriteZero.into())),
            // A sink that claims more than it was given cannot push us out of bounds.
            Ok(n) => written = bytes.len().min(written + n),
            Err(error) if error.kind() == ErrorKind::Interrupted => {}
            Err(error) => return (written, Err(error)),
        }
    }
    (written, Ok(()))
}

/// An error of the file system with the next step.
pub fn words(error: &io::Error) -> String {
    let step = match error.kind() {
        ErrorKind::StorageFull | ErrorKind::QuotaExceeded => "free some space",
        ErrorKind::PermissionDenied | ErrorKind::ReadOnlyFilesystem => {
            "choose a folder that you may write to"
        }
        ErrorKind::NotFound => "create the folder first",
        _ => "check the disk",
    };
    format!("{error}; {step}, then record to a new file")
}
