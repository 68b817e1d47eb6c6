//! Care of recordings: what is in a file, whether it is sound, and a sound copy of a damaged one.

use super::{DirectRecorder, Header, Integrity, ReadError, Reader, Record, Totals};
use crate::event::{EventKind, Origin, SessionTime};
use serde::Serialize;
use std::collections::BTreeMap;
use std::io::Read;

/// What is in a session file.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Summary {
    /// The file's header, completed by what the unit said later if it was not known when the recording began.
    pub header: Header,
    /// Whether it is sound, and what was skipped.
    pub integrity: Integrity,
    /// Stamp of the last event, seconds.
    pub duration_s: f64,
    /// Values received or read, by the characteristic's short name.
    pub values: BTreeMap<&'static str, u64>,
    /// Marks made.
    pub marks: u64,
    /// Times that the link came live.
    pub connections: u64,
}

/// Reads a session file through and sums it up, however damaged it is.
///
/// # Errors
/// [`ReadError`] if no part of it can be read.
pub fn summarize(source: impl Read) -> Result<Summary, ReadError> {
    let mut reader = Reader::salvage(source)?;
    let mut last = SessionTime::ZERO;
    let (mut values, mut marks, mut connections) = (BTreeMap::new(), 0, 0);
    let mut header = reader.header().clone();
    let began_without_unit = header.unit.is_none() && !reader.integrity().header_damaged;
    while let Some(event) = reader.next_event() {
        last = event.at;
        match event.kind {
            EventKind::Value {
                characteristic,
                origin,
                bytes,
            } => {
                if began_without_unit && origin == Origin::Read {
                    header.learn(characteristic, &bytes);
                }
                *values.entry(characteristic.short_name()).or_default() += 1;
            }
            EventKind::Mark(_) => marks += 1,
            EventKind::Link {
                state: crate::event::LinkState::Live,
                ..
            } => connections += 1,
            _ => {}
        }
    }
    if reader.integrity().chunks == 0 {
        return Err(ReadError::Nothing);
    }
    Ok(Summary {
        header,
        integrity: reader.integrity().clone(),
        duration_s: last.seconds(),
        values,
        marks,
        connections,
    })
}

/// Copies every sound part of a session file to a new one, with a line in place of each part that is lost, and closes
/// it. The copy is sound; what was read from the original, and what became of the copy, come back.
///
/// # Errors
/// [`ReadError`] if no part can be read; then nothing was written.
pub fn repair(source: impl Read, copy: &mut DirectRecorder) -> Result<(Integrity, Totals), ReadError> {
    let mut reader = Reader::salvage(source)?;
    if reader.integrity().chunks == 0 {
        return Err(ReadError::Nothing);
    }
    copy.begin(reader.header());
    while let Some(event) = reader.next_event() {
        copy.event(&event);
    }
    copy.not_recorded(reader.integrity().closed.unwrap_or(0));
    Ok((reader.integrity().clone(), copy.finish()))
}
