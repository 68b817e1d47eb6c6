//! Only one console records to a file: a lock on a side file, which the system releases when its owner dies.

use std::ffi::OsString;
use std::fs::{self, File, OpenOptions, TryLockError};
use std::io;
use std::path::{Path, PathBuf};

/// A lock held; released when dropped.
#[derive(Debug)]
pub struct Lock {
    path: PathBuf,
    /// Open as long as the lock is held.
    _file: File,
}

impl Lock {
    /// Takes the lock of `path`, which is the file `path` with `.lock` appended. `None` if another process, or another
    /// recorder of this one, holds it.
    ///
    /// # Errors
    /// When the side file cannot be created.
    pub fn take(path: &Path) -> io::Result<Option<Self>> {
        let mut name = OsString::from(path);
        name.push(".lock");
        let path = PathBuf::from(name);
        let file = OpenOptions::new()
            .write(true)
            .create(true)
            .truncate(false)
            .open(&path)?;
        match file.try_lock() {
            // The owner before removed the side file after we had opened it: what we locked is nobody's any more.
            Ok(()) if !is_at(&file, &path) => Ok(None),
            Ok(()) => Ok(Some(Self { path, _file: file })),
            Err(TryLockError::WouldBlock) => Ok(None),
            Err(TryLockError::Error(error)) => Err(error),
        }
    }
}

impl Drop for Lock {
    fn drop(&mut self) {
        // A side file that stays behind does no harm: the lock is what counts.
        let _ = fs::remove_file(&self.path);
    }
}

#[cfg(unix)]
fn is_at(file: &File, path: &Path) -> bool {
    use std::os::unix::fs::MetadataExt;
    let identity = |m: &fs::Metadata| (m.dev(), m.ino());
    matches!((file.metadata(), fs::metadata(path)), (Ok(a), Ok(b)) if identity(&a) == identity(&b))
}

/// An open file cannot be removed under its owner there.
#[cfg(not(unix))]
fn is_at(_: &File, _: &Path) -> bool {
    true
}
