//! Files that come into being whole or not at all, and never in place of others.

use std::fs::{self, File, OpenOptions};
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};

/// Why a session could not be exported.
#[derive(Debug, thiserror::Error)]
pub enum ExportError {
    /// The file is there already.
    #[error("export to {}: the file exists; choose another folder", .0.display())]
    Exists(PathBuf),
    /// The file or its folder cannot be written.
    #[error("export to {}: {error}; check the space on the disk and that you may write there", path.display())]
    Write {
        /// The file.
        path: PathBuf,
        /// What the system says.
        error: io::Error,
    },
    /// The Parquet writer refused.
    #[error("export to {}: {why}; please report this", path.display())]
    Parquet {
        /// The file.
        path: PathBuf,
        /// What it says.
        why: String,
    },
}

/// A file about to be: written under another name until it is complete, removed if it never is.
#[derive(Debug)]
pub struct NewFile {
    path: PathBuf,
    partial: PathBuf,
    out: Option<BufWriter<File>>,
}

impl NewFile {
    /// Begins a file, and the folders above it.
    ///
    /// # Errors
    /// [`ExportError::Exists`] or [`ExportError::Write`].
    pub fn create(path: PathBuf) -> Result<Self, ExportError> {
        if path.exists() {
            return Err(ExportError::Exists(path));
        }
        let mut partial = path.clone().into_os_string();
        partial.push(".partial");
        let partial = PathBuf::from(partial);
        let open = || {
            path.parent().map_or(Ok(()), fs::create_dir_all)?;
            OpenOptions::new().write(true).create_new(true).open(&partial)
        };
        match open() {
            Ok(file) => Ok(Self {
                out: Some(BufWriter::with_capacity(1 << 17, file)),
                path,
                partial,
            }),
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists => Err(ExportError::Exists(partial)),
            Err(error) => Err(ExportError::Write { path, error }),
        }
    }

    /// Where it will be.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// An error of writing, with the file's name.
    pub fn failed(&self, error: io::Error) -> ExportError {
        let path = self.path.clone();
        ExportError::Write { path, error }
    }

    /// Gives the file its name.
    ///
    /// # Errors
    /// [`ExportError`]; then there is no file.
    pub fn finish(mut self) -> Result<PathBuf, ExportError> {
        let done = self.flush().and_then(|()| {
            if self.path.exists() {
                return Err(io::ErrorKind::AlreadyExists.into());
            }
            fs::rename(&self.partial, &self.path)
        });
        match done {
            Ok(()) => {
                self.out = None;
                Ok(self.path.clone())
            }
            Err(error) => Err(self.failed(error)),
        }
    }
}

impl Write for NewFile {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        match &mut self.out {
            Some(out) => out.write(bytes),
            None => Err(io::ErrorKind::NotConnected.into()),
        }
    }

    fn flush(&mut self) -> io::Result<()> {
        self.out.as_mut().map_or(Ok(()), Write::flush)
    }
}

impl Drop for NewFile {
    fn drop(&mut self) {
        if let Some(out) = self.out.take() {
            // Without flushing: nobody will read it.
            drop(out.into_parts());
            let _ = fs::remove_file(&self.partial);
        }
    }
}
