//! A copy of a recording without what tells whose it is.
//!
//! What is replaced, and what stays, is written down in `FORMAT.md`. Everything else keeps its value, so that readings
//! and findings of the copy are those of the original.

mod stand_in;

pub use stand_in::StandIns;

use super::{DirectRecorder, Header, Integrity, ReadError, Reader, Record, Totals, UnitInfo};
use crate::event::{Event, EventKind, Mark, RawBytes};
use booster_profile::{CELL_REPORT_LEN, CellReport, Characteristic, Plmn};
use std::io::Read;

/// Where the operator code begins in a Cell Report (profile, Cell Report).
const OPERATOR_OFFSET: usize = 9;

/// Copies a recording, with stand-ins for serial numbers, addresses and free text, and for operator codes if asked.
/// Damaged parts are left out as a repair leaves them out.
///
/// # Errors
/// [`ReadError`] if no part can be read; then nothing was written.
pub fn anonymize(
    source: impl Read,
    copy: &mut DirectRecorder,
    stand_ins: &mut StandIns,
    operators: bool,
) -> Result<(Integrity, Totals), ReadError> {
    let mut reader = Reader::salvage(source)?;
    if reader.integrity().chunks == 0 {
        return Err(ReadError::Nothing);
    }
    let mut replacer = Replacer { stand_ins, operators };
    let header = replacer.header(reader.header().clone());
    copy.begin(&header);
    while let Some(event) = reader.next_event() {
        copy.event(&replacer.event(event));
    }
    copy.not_recorded(reader.integrity().closed.unwrap_or(0));
    Ok((reader.integrity().clone(), copy.finish()))
}

struct Replacer<'a> {
    stand_ins: &'a mut StandIns,
    operators: bool,
}

impl Replacer<'_> {
    fn header(&mut self, header: Header) -> Header {
        Header {
            source: header.source.map(|source| self.source(&source)),
            unit: header.unit.map(|unit| UnitInfo {
                serial: unit.serial.map(|serial| self.text("serial", &serial)),
                ..unit
            }),
            // Comments are free text; what the criteria say is kept.
            criteria: header.criteria.and_then(|text| without_comments(&text)),
            site: header.site.map(|site| self.text("site", &site)),
            anonymized: true,
            ..header
        }
    }

    fn event(&mut self, event: Event) -> Event {
        let kind = match event.kind {
            EventKind::Value {
                characteristic,
                origin,
                bytes,
            } => EventKind::Value {
                characteristic,
                origin,
                bytes: self.value(characteristic, bytes),
            },
            EventKind::Written {
                characteristic,
                bytes,
            } => EventKind::Written {
                characteristic,
                bytes: self.value(characteristic, bytes),
            },
            EventKind::Link { state, detail } => EventKind::Link {
                state,
                detail: detail.map(|text| self.text("detail", &text)),
            },
            EventKind::Mark(mark) => EventKind::Mark(Box::new(self.mark(*mark))),
            other => other,
        };
        Event { kind, ..event }
    }

    fn mark(&mut self, mark: Mark) -> Mark {
        Mark {
            spot: mark.spot.map(|text| self.text("spot", &text)),
            room: mark.room.map(|text| self.text("room", &text)),
            note: mark.note.map(|text| self.text("note", &text)),
            ..mark
        }
    }

    fn value(&mut self, characteristic: Characteristic, bytes: RawBytes) -> RawBytes {
        match characteristic {
            Characteristic::SerialNumber => {
                let text = String::from_utf8_lossy(&bytes).into_owned();
                self.text("serial", &text).bytes().collect()
            }
            Characteristic::CellReport if self.operators => self.cell_report(bytes),
            _ => bytes,
        }
    }

    /// The report with another operator; what is too short to be one stays that, without the code's bytes.
    fn cell_report(&mut self, mut bytes: RawBytes) -> RawBytes {
        match CellReport::decode(&bytes) {
            Ok(mut report) => {
                report.operator = report.operator.map(|plmn| self.stand_ins.operator(plmn));
                // Bytes of a later minor version follow the ones known here.
                let rest = bytes.get(CELL_REPORT_LEN..).unwrap_or_default();
                report.encode().iter().chain(rest).copied().collect()
            }
            Err(_) => {
                for byte in bytes
                    .iter_mut()
                    .skip(OPERATOR_OFFSET)
                    .take(Plmn::NOT_KNOWN.0.len())
                {
                    *byte = u8::MAX;
                }
                bytes
            }
        }
    }

    /// Only the kind of source: names, addresses and paths follow it.
    fn source(&mut self, source: &str) -> String {
        match source.split(':').next() {
            Some(kind @ ("sim" | "ble")) => kind.to_owned(),
            _ => self.text("source", source),
        }
    }

    fn text(&mut self, kind: &'static str, text: &str) -> String {
        // As the unit's strings are read (telemetry): control characters are no part of them.
        let text: String = text.chars().filter(|c| !c.is_control()).collect();
        if text.is_empty() {
            return text;
        }
        self.stand_ins.text(kind, &text)
    }
}

/// TOML without its comments; `None` if it is no TOML.
fn without_comments(text: &str) -> Option<String> {
    let table: toml::Table = text.parse().ok()?;
    toml::to_string(&table).ok()
}

#[cfg(test)]
mod tests;
