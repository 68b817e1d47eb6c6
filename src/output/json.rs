//! JSON Lines, exactly as the command-line contract says. Numbers carry their unit in the field name; unknown is null.

use super::{Output, Summary};
use crate::analysis::{Evidence, EvidenceValue, Finding, Remedy};
use crate::event::{Mark, SessionTime};
use crate::fold::{Fold, Update};
use crate::telemetry::{LoggedEvent, Reading};
use booster_profile::{Band, CellReport, Features, Reasons, TenthDb, TenthDbm, UnitStatus};
use serde::ser::{SerializeMap, SerializeSeq};
use serde::{Serialize, Serializer};
use std::io::{self, Write};

/// Prints one session as JSON Lines.
pub struct Json<W> {
    out: W,
    source: String,
    path: Option<String>,
    at_once: bool,
}

impl<W: Write> Json<W> {
    /// Prints to `out`; `path` is the recording that is read, if one is.
    pub fn new(out: W, source: &str, path: Option<&str>) -> Self {
        Self {
            out,
            source: source.to_owned(),
            path: path.map(str::to_owned),
            at_once: false,
        }
    }

    /// Whether each line is sent on at once: live data must not wait in a buffer.
    pub fn flushing(self, at_once: bool) -> Self {
        Self { at_once, ..self }
    }

    fn line(&mut self, line: &impl Serialize) -> io::Result<()> {
        serde_json::to_writer(&mut self.out, line)?;
        self.out.write_all(b"\n")?;
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
                self.line(&ReadingLine::new(reading, identity.name(reading.position), *late))
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

    fn summary(&mut self, summary: &Summary<'_>) -> io::Result<()> {
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

fn dbm(level: Option<TenthDbm>) -> Option<f64> {
    level.map(TenthDbm::dbm)
}

fn db(ratio: Option<TenthDb>) -> Option<f64> {
    ratio.map(TenthDb::db)
}

fn tenths_s(age: Option<u16>) -> Option<f64> {
    age.map(|a| f64::from(a) / 10.0)
}

#[derive(Serialize)]
struct SessionLine<'a> {
    #[serde(rename = "type")]
    kind: &'static str,
    path: Option<String>,
    source: String,
    unit: Option<UnitLine<'a>>,
    bands: Vec<BandLine<'a>>,
}

#[derive(Serialize)]
struct UnitLine<'a> {
    manufacturer: Option<&'a str>,
    model: Option<&'a str>,
    serial: Option<&'a str>,
    firmware: Option<&'a str>,
    hardware: Option<&'a str>,
    profile: String,
    regulation: &'static str,
    report_interval_s: f64,
    features: Vec<&'static str>,
}

#[derive(Serialize)]
struct BandLine<'a> {
    band: &'a str,
    number: u16,
    technology: &'static str,
    duplex: &'static str,
    dl_centre_mhz: f64,
    ul_centre_mhz: f64,
    bandwidth_mhz: f64,
    max_dl_gain_db: Option<f64>,
    max_ul_gain_db: Option<f64>,
    rated_dl_output_dbm: Option<f64>,
    rated_ul_output_dbm: Option<f64>,
    overload_level_dbm: Option<f64>,
    damage_level_dbm: Option<f64>,
    dl_noise_figure_db: Option<f64>,
    ul_noise_figure_db: Option<f64>,
    accuracy_db: Option<f64>,
}

impl<'a> BandLine<'a> {
    fn new(name: &'a str, b: &Band) -> Self {
        let mhz = |khz: u32| f64::from(khz) / 1e3;
        Self {
            band: name,
            number: b.number,
            technology: b.technology.name(),
            duplex: b.duplex.name(),
            dl_centre_mhz: mhz(b.dl_centre_khz),
            ul_centre_mhz: mhz(b.ul_centre_khz),
            bandwidth_mhz: mhz(b.bandwidth_khz),
            max_dl_gain_db: db(b.max_dl_gain),
            max_ul_gain_db: db(b.max_ul_gain),
            rated_dl_output_dbm: dbm(b.rated_dl_output),
            rated_ul_output_dbm: dbm(b.rated_ul_output),
            overload_level_dbm: dbm(b.overload_level),
            damage_level_dbm: dbm(b.damage_level),
            dl_noise_figure_db: db(b.dl_noise_figure),
            ul_noise_figure_db: db(b.ul_noise_figure),
            accuracy_db: db(b.accuracy),
        }
    }
}

/// Names of the reasons, without a vector per reading.
struct Names(Reasons);

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
struct ReadingLine<'a> {
    #[serde(rename = "type")]
    kind: &'static str,
    t_s: f64,
    unit_ms: u64,
    band: &'a str,
    seq: u64,
    dl_input_dbm: Option<f64>,
    dl_gain_db: Option<f64>,
    ul_gain_db: Option<f64>,
    dl_output_dbm: Option<f64>,
    ul_input_dbm: Option<f64>,
    ul_output_dbm: Option<f64>,
    dl_isolation_db: Option<f64>,
    ul_isolation_db: Option<f64>,
    loop_margin_db: Option<f64>,
    rsrp_dbm: Option<f64>,
    rsrq_db: Option<f64>,
    sinr_db: Option<f64>,
    cell: Option<u16>,
    cell_age_s: Option<f64>,
    dl_state: &'static str,
    ul_state: &'static str,
    dl_limited_by: Names,
    ul_limited_by: Names,
    /// Only where it is so: the reading arrived after a later one and was not analysed.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    late: bool,
}

impl<'a> ReadingLine<'a> {
    fn new(reading: &Reading, band: &'a str, late: bool) -> Self {
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

#[derive(Serialize)]
struct CellLine<'a> {
    #[serde(rename = "type")]
    kind: &'static str,
    t_s: f64,
    band: Option<&'a str>,
    technology: &'static str,
    channel: u32,
    subcarrier_spacing: &'static str,
    resource_blocks: Option<u16>,
    identity: Option<u16>,
    operator: Option<String>,
    rsrp_dbm: Option<f64>,
    rsrq_db: Option<f64>,
    sinr_db: Option<f64>,
    age_s: Option<f64>,
    wanted: bool,
}

impl<'a> CellLine<'a> {
    fn new(t_s: f64, band: Option<&'a str>, c: &CellReport) -> Self {
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
struct StatusLine {
    #[serde(rename = "type")]
    kind: &'static str,
    t_s: f64,
    boot_id: u32,
    uptime_s: u32,
    state: &'static str,
    authorization: &'static str,
    temperature_c: Option<f64>,
    voltage_v: Option<f64>,
    current_a: Option<f64>,
    front_end: &'static str,
    tdd_sync: &'static str,
    fan: &'static str,
    enclosure: &'static str,
    donor_port: &'static str,
    server_port: &'static str,
    restarts: u8,
    aim_safe_left_s: Option<u16>,
}

impl StatusLine {
    fn new(t_s: f64, s: &UnitStatus) -> Self {
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
struct EventLine<'a> {
    #[serde(rename = "type")]
    kind: &'static str,
    t_s: f64,
    seq: u32,
    boot_id: u32,
    unit_ms: u32,
    code: &'static str,
    band: Option<&'a str>,
    direction: Option<&'static str>,
    value: Option<i16>,
    stored: bool,
}

impl<'a> EventLine<'a> {
    fn new(t_s: f64, band: Option<&'a str>, logged: &LoggedEvent) -> Self {
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

struct EvidenceMap<'a>(&'a [Evidence]);

impl Serialize for EvidenceMap<'_> {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        let mut map = s.serialize_map(Some(self.0.len()))?;
        for evidence in self.0 {
            match &evidence.value {
                EvidenceValue::Number(n) => map.serialize_entry(evidence.name, n)?,
                EvidenceValue::Text(t) => map.serialize_entry(evidence.name, t)?,
            }
        }
        map.end()
    }
}

#[derive(Serialize)]
struct FindingLine<'a> {
    #[serde(rename = "type")]
    kind: &'static str,
    t_s: f64,
    code: &'static str,
    severity: &'static str,
    change: &'static str,
    band: Option<&'a str>,
    direction: Option<&'static str>,
    evidence: EvidenceMap<'a>,
    meaning: &'a str,
    causes: &'a [&'static str],
    remedies: Vec<RemedyLine<'a>>,
}

#[derive(Serialize)]
struct RemedyLine<'a> {
    action: &'a str,
    dl_effect_db: Option<f64>,
    ul_effect_db: Option<f64>,
    cost: Option<&'a str>,
    caution: Option<&'a str>,
}

impl<'a> From<&'a Remedy> for RemedyLine<'a> {
    fn from(r: &'a Remedy) -> Self {
        Self {
            action: &r.action,
            dl_effect_db: r.dl_effect_db,
            ul_effect_db: r.ul_effect_db,
            cost: r.cost.as_deref(),
            caution: r.caution.as_deref(),
        }
    }
}

impl<'a> FindingLine<'a> {
    fn new(f: &'a Finding, band: Option<&'a str>) -> Self {
        Self {
            kind: "finding",
            t_s: f.cleared.unwrap_or(f.raised).seconds(),
            code: f.code.name(),
            severity: f.severity.name(),
            change: if f.is_open() { "raised" } else { "cleared" },
            band,
            direction: f.subject.path.map(|p| p.name()),
            evidence: EvidenceMap(&f.evidence),
            meaning: &f.meaning,
            causes: &f.causes,
            remedies: f.remedies.iter().map(RemedyLine::from).collect(),
        }
    }
}

#[derive(Serialize)]
struct LinkLine<'a> {
    #[serde(rename = "type")]
    kind: &'static str,
    t_s: f64,
    state: &'static str,
    detail: Option<&'a str>,
}

#[derive(Serialize)]
struct MarkLine<'a> {
    #[serde(rename = "type")]
    kind: &'static str,
    t_s: f64,
    bearing_deg: Option<f64>,
    spot: Option<&'a str>,
    height_m: Option<f64>,
    tilt_deg: Option<f64>,
    polarisation: Option<crate::event::Polarisation>,
    note: Option<&'a str>,
}

impl<'a> MarkLine<'a> {
    fn new(at: SessionTime, mark: &'a Mark) -> Self {
        Self {
            kind: "mark",
            t_s: at.seconds(),
            bearing_deg: mark.bearing_deg,
            spot: mark.spot.as_deref(),
            height_m: mark.height_m,
            tilt_deg: mark.tilt_deg,
            polarisation: mark.polarisation,
            note: mark.note.as_deref(),
        }
    }
}

#[derive(Serialize)]
struct SummaryLine<'a> {
    #[serde(rename = "type")]
    kind: &'static str,
    readings: u64,
    expected: u64,
    lost_on_air: u64,
    dropped_on_host: u64,
    malformed: u64,
    incomplete: u64,
    unreadable: u64,
    outage: u64,
    duplicates: u64,
    out_of_order: u64,
    not_recorded: u64,
    malformed_values: u64,
    ignored_values: u64,
    findings: &'a std::collections::BTreeMap<&'static str, u64>,
    duration_s: f64,
    latency_us: Option<super::Latency>,
}
