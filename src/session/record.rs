//! What the sequencer asks of whatever records a session.

use super::Header;
use crate::event::Event;
use std::path::PathBuf;

/// Takes the events of a session in their order. Recording never fails towards the caller: what could not be
/// recorded is counted, and [`Record::status`] says why.
pub trait Record {
    /// Begins the session. Called once, before the first event.
    fn begin(&mut self, header: &Header);

    /// Records one event.
    fn event(&mut self, event: &Event);

    /// Closes the recording; waits until everything is on the disk. Further calls give the same totals.
    fn finish(&mut self) -> Totals;

    /// How the recording stands; `None` if nothing was to be recorded.
    fn status(&self) -> Option<RecorderStatus>;
}

/// What became of the events that a recorder was given: `lines + not_recorded` of them in all.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Totals {
    /// Events that a reader of the file gets back.
    pub lines: u64,
    /// Bytes in the file.
    pub bytes: u64,
    /// Events that are not in the file, or stand in it without a checkpoint that vouches for them.
    pub not_recorded: u64,
}

/// How a recording stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RecorderStatus {
    /// The file.
    pub path: PathBuf,
    /// Bytes written so far.
    pub bytes: u64,
    /// Whether events still go into the file.
    pub state: RecorderState,
    /// Events that did not get into the file, so far.
    pub not_recorded: u64,
}

/// Whether events go into the file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum RecorderState {
    /// They do.
    Recording,
    /// The recording was closed.
    Finished,
    /// They do not: the disk is full, was taken away, or refused.
    NotRecording {
        /// Why, and what to do, in words.
        reason: String,
    },
}

/// Records nothing.
#[derive(Clone, Copy, Debug, Default)]
pub struct NotRecording;

impl Record for NotRecording {
    fn begin(&mut self, _: &Header) {}

    fn event(&mut self, _: &Event) {}

    fn finish(&mut self) -> Totals {
        Totals::default()
    }

    fn status(&self) -> Option<RecorderStatus> {
        None
    }
}

impl<R: Record + ?Sized> Record for Box<R> {
    fn begin(&mut self, header: &Header) {
        (**self).begin(header);
    }

    fn event(&mut self, event: &Event) {
        (**self).event(event);
    }

    fn finish(&mut self) -> Totals {
        (**self).finish()
    }

    fn status(&self) -> Option<RecorderStatus> {
        (**self).status()
    }
}
