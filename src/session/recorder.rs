//! Recording to a file: on a thread of its own behind a bounded queue for a live session, or directly when a session
//! is generated.

use super::lock::Lock;
use super::tape::{Tape, words};
use super::zstd::Squeezer;
use super::{Header, Record, RecorderState, RecorderStatus, Totals};
use crate::event::Event;
use std::fs::{File, OpenOptions};
use std::io;
use std::path::{Path, PathBuf};

mod live;
mod unwritable;

pub use live::LiveRecorder;
pub use unwritable::Unwritable;

/// Bytes that a generated recording collects before it writes.
const BATCH: usize = 128 * 1024;

/// Whether a file that is there already may be replaced.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Overwrite {
    /// It may not.
    Refuse,
    /// It may: the person said so.
    Allow,
}

/// Why a recording cannot begin.
#[derive(Debug, thiserror::Error)]
pub enum RecordError {
    /// The file exists.
    #[error("recording to {}: the file exists; choose another name", .0.display())]
    Exists(PathBuf),
    /// Another console records to it.
    #[error("recording to {}: another console is recording to it; choose another name", .0.display())]
    Locked(PathBuf),
    /// The file, or the lock beside it, cannot be created.
    #[error("recording to {}: {}", path.display(), words(error))]
    Create {
        /// The file.
        path: PathBuf,
        /// What the system says.
        error: io::Error,
    },
    /// The system refused another thread.
    #[error("recording: no thread to write with ({0}); close other programs and try again")]
    Thread(io::Error),
}

/// Records a live session to a new file. Where nothing can be written (the disk is full, the folder may not be written
/// to), the session goes on all the same: the recorder that comes back counts, and its status says why.
///
/// # Errors
/// [`RecordError`] for what the person should put right first: the file exists, another console records to it, or there
/// is no such folder.
pub fn record_live(path: &Path) -> Result<Box<dyn Record>, RecordError> {
    use io::ErrorKind as E;
    match LiveRecorder::create(path, Overwrite::Refuse) {
        Ok(recorder) => Ok(Box::new(recorder)),
        Err(RecordError::Create { error, .. })
            if matches!(
                error.kind(),
                E::PermissionDenied | E::ReadOnlyFilesystem | E::StorageFull | E::QuotaExceeded
            ) =>
        {
            Ok(Box::new(Unwritable::new(path, words(&error))))
        }
        Err(other) => Err(other),
    }
}

/// Creates the file, exclusively, and takes its lock. A name that ends in `.zst` asks for compression.
fn create(path: &Path, overwrite: Overwrite) -> Result<(Tape<File>, Lock), RecordError> {
    let failed = |error: io::Error| match error.kind() {
        io::ErrorKind::AlreadyExists => RecordError::Exists(path.to_owned()),
        _ => RecordError::Create {
            path: path.to_owned(),
            error,
        },
    };
    let lock = Lock::take(path)
        .map_err(failed)?
        .ok_or_else(|| RecordError::Locked(path.to_owned()))?;
    let compressed = path.extension().is_some_and(|end| end == "zst");
    let squeezer = compressed.then(Squeezer::new).transpose().map_err(failed)?;
    let mut options = OpenOptions::new();
    match overwrite {
        Overwrite::Refuse => options.write(true).create_new(true),
        Overwrite::Allow => options.write(true).create(true).truncate(true),
    };
    let file = options.open(path).map_err(failed)?;
    // The name has to survive a loss of power too, where the system can sync a folder at all.
    if let Some(folder) = path.parent().and_then(|folder| File::open(folder).ok()) {
        let _ = folder.sync_all();
    }
    Ok((Tape::new(file, squeezer), lock))
}

/// Records in the caller's thread and syncs once, at the end: for sessions that are generated, faster than any disk
/// could sync them.
#[derive(Debug)]
pub struct DirectRecorder {
    path: PathBuf,
    tape: Tape<File>,
    /// Held until the recording is closed.
    lock: Option<Lock>,
    totals: Option<Totals>,
}

impl DirectRecorder {
    /// Creates the file.
    ///
    /// # Errors
    /// [`RecordError`], which says what to do.
    pub fn create(path: &Path, overwrite: Overwrite) -> Result<Self, RecordError> {
        let (tape, lock) = create(path, overwrite)?;
        Ok(Self {
            path: path.to_owned(),
            tape,
            lock: Some(lock),
            totals: None,
        })
    }

    /// States that so many events of the session are not in the file, for reasons of their own.
    pub fn not_recorded(&mut self, count: u64) {
        self.tape.left_out(count);
    }
}

impl Record for DirectRecorder {
    fn begin(&mut self, header: &Header) {
        self.tape.begin(header);
    }

    fn event(&mut self, event: &Event) {
        self.tape.event(event);
        if self.tape.pending() >= BATCH {
            self.tape.flush();
        }
    }

    fn finish(&mut self) -> Totals {
        let totals = *self.totals.get_or_insert_with(|| self.tape.close());
        self.lock = None;
        totals
    }

    fn status(&self) -> Option<RecorderStatus> {
        let (not_recorded, bytes, failure) = self.tape.standing();
        Some(RecorderStatus {
            path: self.path.clone(),
            bytes,
            state: state(failure, self.totals.is_some()),
            not_recorded,
        })
    }
}

fn state(failure: Option<&str>, finished: bool) -> RecorderState {
    match failure {
        Some(reason) => RecorderState::NotRecording {
            reason: reason.to_owned(),
        },
        None if finished => RecorderState::Finished,
        None => RecorderState::Recording,
    }
}
