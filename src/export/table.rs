//! From a session to rows.

use super::{ExportError, Exported, Row};
use crate::session::Reader;
use crate::telemetry::{Output, Telemetry};
use std::io::Read;
use std::path::PathBuf;

/// Where rows go.
pub trait Table {
    /// Takes a row; `unit` is the serial number of the unit that it is from.
    ///
    /// # Errors
    /// [`ExportError`].
    fn row(&mut self, row: &Row<'_>, unit: Option<&str>) -> Result<(), ExportError>;

    /// Completes every file.
    ///
    /// # Errors
    /// [`ExportError`].
    fn finish(self) -> Result<Vec<PathBuf>, ExportError>;
}

/// Writes the readings of a session, in the order in which they arrived.
pub fn write<R: Read>(
    reader: &mut Reader<R>,
    mut table: impl Table,
    name: &str,
) -> Result<Exported, ExportError> {
    let started = reader.header().started;
    let mut telemetry = Telemetry::default();
    let mut outputs = Vec::new();
    let mut rows = 0;
    while let Some(event) = reader.next_event() {
        telemetry.apply(&event, &mut outputs);
        // What would be asked of the unit was asked when the session took place.
        telemetry.take_requests();
        let identity = telemetry.identity();
        for output in outputs.drain(..) {
            let (reading, late) = match output {
                Output::Reading(reading) => (reading, false),
                Output::LateReading(reading) => (reading, true),
                _ => continue,
            };
            let row = Row {
                session: name,
                started,
                band: identity.name(reading.position),
                reading: &reading,
                late,
            };
            table.row(&row, identity.device.serial.as_deref())?;
            rows += 1;
        }
    }
    let files = table.finish()?;
    Ok(Exported { files, rows })
}
