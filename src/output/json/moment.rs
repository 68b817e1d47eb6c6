//! Lines about the session itself: link, marks, summary.

use crate::event::{Mark, Polarisation, SessionTime, Stage};
use crate::output::Latency;
use serde::Serialize;

#[derive(Serialize)]
pub(super) struct LinkLine<'a> {
    #[serde(rename = "type")]
    pub(super) kind: &'static str,
    pub(super) t_s: f64,
    pub(super) state: &'static str,
    pub(super) detail: Option<&'a str>,
}

#[derive(Serialize)]
pub(super) struct MarkLine<'a> {
    #[serde(rename = "type")]
    pub(super) kind: &'static str,
    pub(super) t_s: f64,
    pub(super) bearing_deg: Option<f64>,
    pub(super) spot: Option<&'a str>,
    pub(super) height_m: Option<f64>,
    pub(super) tilt_deg: Option<f64>,
    pub(super) polarisation: Option<Polarisation>,
    pub(super) room: Option<&'a str>,
    pub(super) stage: Option<Stage>,
    pub(super) level_dbm: Option<f64>,
    pub(super) quality_db: Option<f64>,
    pub(super) call_ok: Option<bool>,
    pub(super) upload_ok: Option<bool>,
    pub(super) note: Option<&'a str>,
}

impl<'a> MarkLine<'a> {
    pub(super) fn new(at: SessionTime, mark: &'a Mark) -> Self {
        Self {
            kind: "mark",
            t_s: at.seconds(),
            bearing_deg: mark.bearing_deg,
            spot: mark.spot.as_deref(),
            height_m: mark.height_m,
            tilt_deg: mark.tilt_deg,
            polarisation: mark.polarisation,
            room: mark.room.as_deref(),
            stage: mark.stage,
            level_dbm: mark.level_dbm,
            quality_db: mark.quality_db,
            call_ok: mark.call_ok,
            upload_ok: mark.upload_ok,
            note: mark.note.as_deref(),
        }
    }
}

#[derive(Serialize)]
pub(super) struct SummaryLine<'a> {
    #[serde(rename = "type")]
    pub(super) kind: &'static str,
    pub(super) readings: u64,
    pub(super) expected: u64,
    pub(super) lost_on_air: u64,
    pub(super) dropped_on_host: u64,
    pub(super) malformed: u64,
    pub(super) incomplete: u64,
    pub(super) unreadable: u64,
    pub(super) outage: u64,
    pub(super) duplicates: u64,
    pub(super) out_of_order: u64,
    pub(super) not_recorded: u64,
    pub(super) malformed_values: u64,
    pub(super) ignored_values: u64,
    pub(super) findings: &'a std::collections::BTreeMap<&'static str, u64>,
    pub(super) duration_s: f64,
    pub(super) latency_us: Option<Latency>,
}

#[derive(Serialize)]
pub(super) struct DifferenceLine<'a> {
    #[serde(rename = "type")]
    pub(super) kind: &'static str,
    pub(super) path: Option<&'a str>,
    pub(super) difference: &'a str,
}

/// Several sessions together: the last line where there is more than one.
#[derive(Clone, Debug, Default, Serialize)]
pub struct TotalsLine {
    /// `totals`.
    #[serde(rename = "type")]
    pub kind: &'static str,
    /// Sessions replayed to their end.
    pub sessions: u64,
    /// Sessions of which nothing could be read.
    pub failed: u64,
    /// Of those replayed, how many are damaged.
    pub damaged: u64,
    /// Of those replayed, how many are not as expected; null where nothing was expected.
    pub different: Option<u64>,
    /// Readings.
    pub readings: u64,
    /// Readings expected.
    pub expected: u64,
    /// Events that did not get into the recordings.
    pub not_recorded: u64,
    /// How often each finding was raised.
    pub findings: std::collections::BTreeMap<&'static str, u64>,
    /// Length of all sessions together, s.
    pub duration_s: f64,
}
