//! JSON Lines, exactly as the command-line contract says. Numbers carry their unit in the field name; unknown is null.

mod finding;
mod moment;
mod number;
mod reading;
mod session;
mod unit;

use super::{Output, Summary};
use crate::aiming::Outcome;
use crate::fold::{Fold, Update};
use booster_profile::Features;
use finding::FindingLine;
pub use moment::TotalsLine;
use moment::{DifferenceLine, LinkLine, MarkLine, SummaryLine};
use serde::Serialize;
use session::{BandLine, SessionLine, UnitLine};
use std::io::{self, Write};
use unit::{CellLine, EventLine, StatusLine};

/// Prints one session as JSON Lines.
pub struct Json<W> {
    out: W,
    source: String,
    path: Option<String>,
    at_once: bool,
    /// The line in hand: sinks take one piece better than many.
    buffer: Vec<u8>,
}

impl<W: Write> Json<W> {
    /// Prints to `out`; `path` is the recording that is read, if one is.
    pub fn new(out: W, source: &str, path: Option<&str>) -> Self {
        Self {
            out,
            source: source.to_owned(),
            path: path.map(str::to_owned),
            at_once: false,
            buffer: Vec::new(),
        }
    }

    /// Whether each line is sent on at once: live data must not wait in a buffer.
    pub fn flushing(self, at_once: bool) -> Self {
        Self { at_once, ..self }
    }

    fn line(&mut self, line: &impl Serialize) -> io::Result<()> {
        self.buffer.clear();
        serde_json::to_writer(&mut self.buffer, line)?;
        self.buffer.push(b'\n');
        self.send()
    }

    fn send(&mut self) -> io::Result<()> {
        self.out.write_all(&self.buffer)?;
        if self.at_once { self.out.flush() } else { Ok(()) }
    }

    fn session(&mut self, fold: &Fold) -> io::Result<()> {
        let identity = fold.telemetry().identity();
        let device = &identity.device;
        let feature = identity.feature;
        let unit = feature.map(|f| UnitLine {
            manufacturer: device.manufacturer.as_deref(),
            model: device.model.as_deref(),
            serial: device.serial.as_deref(),
            firmware: device.firmware.as_deref(),
            hardware: device.hardware.as_deref(),
            profile: format!("{}.{}", f.version.major, f.version.minor),
            regulation: f.regulation.name(),
            report_interval_s: f64::from(f.default_interval_ms) / 1e3,
            features: Features::NAMES
                .iter()
                .filter(|(bit, _)| f.features.contains(*bit))
                .map(|(_, n)| *n)
                .collect(),
        });
        let bands = identity
            .bands
            .bands
            .iter()
            .enumerate()
            .map(|(i, b)| BandLine::new(identity.name(i), b))
            .collect();
        let line = SessionLine {
            kind: "session",
            path: self.path.clone(),
            source: self.source.clone(),
            unit,
            bands,
        };
        self.line(&line)
    }
}

impl<W: Write> Output for Json<W> {
    fn update(&mut self, update: &Update, fold: &Fold) -> io::Result<()> {
        let identity = fold.telemetry().identity();
        let band_name = |index: u8| identity.position(index).map(|p| identity.name(p));
        match update {
            Update::Session => self.session(fold),
            Update::Reading { reading, late } => {
                self.buffer.clear();
                reading::push(&mut self.buffer, reading, identity.name(reading.position), *late);
                self.send()
            }
            Update::Cell(at, cell) => self.line(&CellLine::new(at.seconds(), band_name(cell.band), cell)),
            Update::Unit(at, status) => self.line(&StatusLine::new(at.seconds(), status)),
            Update::UnitEvent(at, logged) => self.line(&EventLine::new(
                at.seconds(),
                logged.event.band.and_then(band_name),
                logged,
            )),
            Update::Finding(finding) => self.line(&FindingLine::new(
                finding,
                finding.subject.band.map(|p| identity.name(p)),
            )),
            Update::Link { at, state, detail } => self.line(&LinkLine {
                kind: "link",
                t_s: at.seconds(),
                state: state.name(),
                detail: detail.as_deref(),
            }),
            Update::Mark(at, mark) => self.line(&MarkLine::new(*at, mark)),
        }
    }

    fn difference(&mut self, difference: &str) -> io::Result<()> {
        let path = self.path.clone();
        self.line(&DifferenceLine {
            kind: "difference",
            path: path.as_deref(),
            difference,
        })
    }

    fn summary(&mut self, summary: &Summary<'_>) -> io::Result<()> {
        if let Some(outcome) = Outcome::of(summary.fold.aim()) {
            self.line(&outcome)?;
        }
        let total = summary.fold.telemetry().total();
        self.line(&SummaryLine {
            kind: "summary",
            readings: total.readings,
            expected: total.expected,
            lost_on_air: total.lost_on_air,
            dropped_on_host: total.dropped_on_host,
            malformed: total.malformed,
            incomplete: total.incomplete,
            unreadable: total.unreadable,
            outage: total.outage,
            duplicates: total.duplicates,
            out_of_order: total.out_of_order,
            not_recorded: summary.not_recorded,
            malformed_values: summary.fold.telemetry().malformed_values(),
            ignored_values: summary.fold.telemetry().ignored_values(),
            findings: summary.fold.raised(),
            duration_s: summary.fold.now().seconds(),
            latency_us: summary.latency,
        })?;
        self.out.flush()
    }
}
