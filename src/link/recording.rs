//! A session file as a source of events.

use super::{Pull, Request};
use crate::event::Event;
use crate::session::{Header, Integrity, ReadError, Reader};
use std::fs::File;
use std::path::{Path, PathBuf};

/// Plays back a recording.
#[derive(Debug)]
pub struct Recording {
    path: PathBuf,
    reader: Reader<File>,
}

impl Recording {
    /// Opens a session file.
    ///
    /// # Errors
    /// [`ReadError`], which says what to do.
    pub fn open(path: &Path) -> Result<Self, ReadError> {
        let reader = Reader::open(File::open(path)?)?;
        Ok(Self {
            path: path.to_owned(),
            reader,
        })
    }

    /// The file.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// What the file says about itself.
    pub fn header(&self) -> &Header {
        self.reader.header()
    }

    /// What was read and what was skipped; complete once the recording is exhausted.
    pub fn integrity(&self) -> &Integrity {
        self.reader.integrity()
    }
}

impl Pull for Recording {
    fn next_event(&mut self) -> Option<Event> {
        self.reader.next_event()
    }

    /// What was asked for when the session took place stands in the recording; nothing more can be asked.
    fn request(&mut self, _: Request) {}
}
