//! Recordings as tables and packets for other programs: CSV, Parquet, pcapng. Streaming, in constant memory; nothing is
//! ever overwritten.
//!
//! Tables have one row a reading. Their columns are those of the reading lines of `replay --json`, with the same values:
//! both take them from [`crate::telemetry::Reading`].

mod att;
mod columns;
mod csv;
mod destination;
mod parquet;
mod pcapng;
mod table;

pub use columns::{COLUMNS, Column, Kind, Row, Value};
pub use destination::ExportError;

use crate::session::Reader;
use std::io::Read;
use std::path::{Path, PathBuf};

/// What to write.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Format {
    /// Comma-separated values (RFC 4180), a file a session.
    Csv,
    /// Apache Parquet, in folders `unit=…/date=…`.
    Parquet,
    /// Packet capture with the attribute values, a file a session.
    Pcapng,
}

/// What was written of a session.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Exported {
    /// Files, in the order in which they were begun.
    pub files: Vec<PathBuf>,
    /// Rows, or packets with a value.
    pub rows: u64,
}

/// Writes one session below `folder`. `name` is the session's name there, with `/` between folders and without an end.
///
/// # Errors
/// [`ExportError`]; what was begun is removed then.
pub fn export<R: Read>(
    reader: &mut Reader<R>,
    format: Format,
    name: &str,
    folder: &Path,
) -> Result<Exported, ExportError> {
    match format {
        Format::Csv => table::write(reader, csv::Csv::new(folder, name), name),
        Format::Parquet => table::write(reader, parquet::Archive::new(folder, name, reader.header()), name),
        Format::Pcapng => pcapng::write(reader, folder, name),
    }
}

#[cfg(test)]
mod tests;
