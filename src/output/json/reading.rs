//! The reading line.

use super::number::{db, dbm, tenths_s};
use crate::telemetry::Reading;
use booster_profile::Reasons;
use serde::ser::SerializeSeq;
use serde::{Serialize, Serializer};

/// Names of the reasons, without a vector per reading.
pub(super) struct Names(Reasons);

impl Serialize for Names {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        let mut seq = s.serialize_seq(Some(self.0.0.count_ones() as usize))?;
        for name in self.0.names() {
            seq.serialize_element(name)?;
        }
        seq.end()
    }
}

#[derive(Serialize)]
pub(super) struct ReadingLine<'a> {
    #[serde(rename = "type")]
    pub(super) kind: &'static str,
    pub(super) t_s: f64,
    pub(super) unit_ms: u64,
    pub(super) band: &'a str,
    pub(super) seq: u64,
    pub(super) dl_input_dbm: Option<f64>,
    pub(super) dl_gain_db: Option<f64>,
    pub(super) ul_gain_db: Option<f64>,
    pub(super) dl_output_dbm: Option<f64>,
    pub(super) ul_input_dbm: Option<f64>,
    pub(super) ul_output_dbm: Option<f64>,
    pub(super) dl_isolation_db: Option<f64>,
    pub(super) ul_isolation_db: Option<f64>,
    pub(super) loop_margin_db: Option<f64>,
    pub(super) rsrp_dbm: Option<f64>,
    pub(super) rsrq_db: Option<f64>,
    pub(super) sinr_db: Option<f64>,
    pub(super) cell: Option<u16>,
    pub(super) cell_age_s: Option<f64>,
    pub(super) dl_state: &'static str,
    pub(super) ul_state: &'static str,
    pub(super) dl_limited_by: Names,
    pub(super) ul_limited_by: Names,
    /// Only where it is so: the reading arrived after a later one and was not analysed.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub(super) late: bool,
}

impl<'a> ReadingLine<'a> {
    pub(super) fn new(reading: &Reading, band: &'a str, late: bool) -> Self {
        let t = &reading.telemetry;
        let extra = &t.extra;
        Self {
            kind: "reading",
            t_s: reading.at.seconds(),
            unit_ms: reading.unit_ms,
            band,
            seq: reading.sequence,
            dl_input_dbm: dbm(t.dl_input),
            dl_gain_db: db(t.dl_gain),
            ul_gain_db: db(t.ul_gain),
            dl_output_dbm: dbm(extra.dl_output),
            ul_input_dbm: dbm(extra.ul_input),
            ul_output_dbm: dbm(t.ul_output),
            dl_isolation_db: db(extra.dl_isolation),
            ul_isolation_db: db(extra.ul_isolation),
            loop_margin_db: db(reading.margin()),
            rsrp_dbm: dbm(extra.cell.rsrp),
            rsrq_db: db(extra.cell.rsrq),
            sinr_db: db(extra.cell.sinr),
            cell: extra.cell.identity,
            cell_age_s: tenths_s(extra.cell.age_tenths_s),
            dl_state: t.dl_state.name(),
            ul_state: t.ul_state.name(),
            dl_limited_by: Names(t.dl_reasons),
            ul_limited_by: Names(t.ul_reasons),
            late,
        }
    }
}
