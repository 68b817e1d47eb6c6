//! The log: what was sent, a line of JSON each, out at once.

use super::AirError;
use booster_profile::Characteristic;
use std::fmt::Write as _;
use std::fs::File;
use std::io::Write;
use std::path::PathBuf;
use std::sync::{Arc, Mutex};
use std::time::Instant;

/// The log, shared by the tasks that send.
#[derive(Clone)]
pub(super) struct Journal {
    file: Option<Arc<(PathBuf, Mutex<File>)>>,
    start: Instant,
}

impl Journal {
    pub(super) fn open(path: Option<PathBuf>) -> Result<Self, AirError> {
        let start = Instant::now();
        let Some(path) = path else {
            return Ok(Self { file: None, start });
        };
        match File::options().create(true).append(true).open(&path) {
            Ok(file) => Ok(Self {
                file: Some(Arc::new((path, Mutex::new(file)))),
                start,
            }),
            Err(source) => Err(AirError::File {
                doing: "opening the log",
                path,
                source,
            }),
        }
    }

    /// The first line of a run says which boot it is.
    pub(super) fn boot(&self, boot_id: u32) -> Result<(), AirError> {
        self.line(&format!(r#""char":"boot","hex":"","boot_id":{boot_id}"#))
    }

    pub(super) fn sent(&self, characteristic: Characteristic, bytes: &[u8]) -> Result<(), AirError> {
        let mut hex = String::with_capacity(2 * bytes.len());
        for byte in bytes {
            // Writing to a string can't fail.
            let _ = write!(hex, "{byte:02x}");
        }
        self.line(&format!(
            r#""char":"{}","hex":"{hex}""#,
            characteristic.short_name()
        ))
    }

    fn line(&self, fields: &str) -> Result<(), AirError> {
        let Some(shared) = &self.file else { return Ok(()) };
        let (path, file) = &**shared;
        let text = format!("{{\"t_ms\":{},{fields}}}\n", self.start.elapsed().as_millis());
        // One write a line: a kill leaves whole lines.
        let written = match file.lock() {
            Ok(mut file) => file.write_all(text.as_bytes()),
            Err(poisoned) => poisoned.into_inner().write_all(text.as_bytes()),
        };
        written.map_err(|source| AirError::File {
            doing: "writing the log",
            path: path.clone(),
            source,
        })
    }
}
