//! An encoder and what its bytes go to, with the accounts of both.

use super::{Encoder, Header, Totals};
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
    /// An empty tape.
    pub fn new(sink: S) -> Self {
        Self {
            encoder: Encoder::new(),
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
        let (written, result) = write_all(&mut self.sink, self.encoder.pending());
        self.bytes += written as u64;
        if let Some(events) = self.encoder.vouched(written) {
            self.kept = events;
        }
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
