//! A recording that could not begin.

use crate::event::{Event, EventKind};
use crate::session::{Header, Record, RecorderState, RecorderStatus, Totals};
use std::path::{Path, PathBuf};

/// Counts what is not recorded, and says why.
#[derive(Debug)]
pub struct Unwritable {
    path: PathBuf,
    reason: String,
    not_recorded: u64,
}

impl Unwritable {
    /// A recording to `path` that does not take place.
    pub fn new(path: &Path, reason: String) -> Self {
        Self {
            path: path.to_owned(),
            reason,
            not_recorded: 0,
        }
    }
}

impl Record for Unwritable {
    fn begin(&mut self, _: &Header) {}

    fn event(&mut self, event: &Event) {
        self.not_recorded += u64::from(!matches!(event.kind, EventKind::Unreadable { .. }));
    }

    fn finish(&mut self) -> Totals {
        Totals {
            not_recorded: self.not_recorded,
            ..Totals::default()
        }
    }

    fn status(&self) -> Option<RecorderStatus> {
        Some(RecorderStatus {
            path: self.path.clone(),
            bytes: 0,
            state: RecorderState::NotRecording {
                reason: self.reason.clone(),
            },
            not_recorded: self.not_recorded,
        })
    }
}
