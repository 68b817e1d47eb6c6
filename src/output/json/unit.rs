//! Lines about the unit: cells, status, events.

use super::number::{db, dbm, tenths_s};
use crate::telemetry::LoggedEvent;
use booster_profile::{CellReport, UnitStatus};
use serde::Serialize;

#[derive(Serialize)]
pub(super) struct CellLine<'a> {
    #[serde(rename = "type")]
    pub(super) kind: &'static str,
    pub(super) t_s: f64,
    pub(super) band: Option<&'a str>,
    pub(super) technology: &'static str,
    pub(super) channel: u32,
    pub(super) subcarrier_spacing: &'static str,
    pub(super) resource_blocks: Option<u16>,
    pub(super) identity: Option<u16>,
    pub(super) operator: Option<String>,
    pub(super) rsrp_dbm: Option<f64>,
    pub(super) rsrq_db: Option<f64>,
    pub(super) sinr_db: Option<f64>,
    pub(super) age_s: Option<f64>,
    pub(super) wanted: bool,
}

impl<'a> CellLine<'a> {
    pub(super) fn new(t_s: f64, band: Option<&'a str>, c: &CellReport) -> Self {
        Self {
            kind: "cell",
            t_s,
            band,
            technology: c.technology.name(),
            channel: c.channel,
            subcarrier_spacing: c.spacing.name(),
            resource_blocks: c.resource_blocks,
            identity: c.identity,
            operator: c.operator.map(|o| o.to_string()),
            rsrp_dbm: dbm(c.rsrp),
            rsrq_db: db(c.rsrq),
            sinr_db: db(c.sinr),
            age_s: tenths_s(c.age_tenths_s),
            wanted: c.wanted,
        }
    }
}

#[derive(Serialize)]
pub(super) struct StatusLine {
    #[serde(rename = "type")]
    pub(super) kind: &'static str,
    pub(super) t_s: f64,
    pub(super) boot_id: u32,
    pub(super) uptime_s: u32,
    pub(super) state: &'static str,
    pub(super) authorization: &'static str,
    pub(super) temperature_c: Option<f64>,
    pub(super) voltage_v: Option<f64>,
    pub(super) current_a: Option<f64>,
    pub(super) front_end: &'static str,
    pub(super) tdd_sync: &'static str,
    pub(super) fan: &'static str,
    pub(super) enclosure: &'static str,
    pub(super) donor_port: &'static str,
    pub(super) server_port: &'static str,
    pub(super) restarts: u8,
    pub(super) aim_safe_left_s: Option<u16>,
}

impl StatusLine {
    pub(super) fn new(t_s: f64, s: &UnitStatus) -> Self {
        Self {
            kind: "unit",
            t_s,
            boot_id: s.boot_id,
            uptime_s: s.uptime_s,
            state: s.state.name(),
            authorization: s.authorization.name(),
            temperature_c: s.temperature_c(),
            voltage_v: s.voltage_v(),
            current_a: s.current_a(),
            front_end: s.health.front_end.name(),
            tdd_sync: s.health.tdd_sync.name(),
            fan: s.health.fan.name(),
            enclosure: s.health.enclosure.name(),
            donor_port: s.donor_port.name(),
            server_port: s.server_port.name(),
            restarts: s.restarts,
            aim_safe_left_s: s.aim_safe_left_s,
        }
    }
}

#[derive(Serialize)]
pub(super) struct EventLine<'a> {
    #[serde(rename = "type")]
    pub(super) kind: &'static str,
    pub(super) t_s: f64,
    pub(super) seq: u32,
    pub(super) boot_id: u32,
    pub(super) unit_ms: u32,
    pub(super) code: &'static str,
    pub(super) band: Option<&'a str>,
    pub(super) direction: Option<&'static str>,
    pub(super) value: Option<i16>,
    pub(super) stored: bool,
}

impl<'a> EventLine<'a> {
    pub(super) fn new(t_s: f64, band: Option<&'a str>, logged: &LoggedEvent) -> Self {
        let e = &logged.event;
        let one_way = !matches!(e.direction, booster_profile::Direction::Both);
        Self {
            kind: "event",
            t_s,
            seq: e.sequence,
            boot_id: e.boot_id,
            unit_ms: e.time_ms,
            code: e.code.name(),
            band,
            direction: one_way.then(|| e.direction.name()),
            value: e.value,
            stored: logged.stored,
        }
    }
}
