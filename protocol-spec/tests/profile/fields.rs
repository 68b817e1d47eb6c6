//! Typed values of the codec as the named fields of `profile.toml`.

use crate::hex;
use crate::schema::Fields;
use booster_profile::advertising::ServiceData;
use booster_profile::control::{ControlResponse, ReportRequest, UnitRequest};
use booster_profile::record_access::{Log, Request, Response, Select};
use booster_profile::{
    Band, BandTable, BandTelemetry, BoosterFeature, CellReport, Continuation, Extra, Features, HistoryRecord,
    Part, Reasons, StoredRecord, TenthDb, TenthDbm, UnitEvent, UnitStatus,
};
use serde_json::{Value, json};

/// Name of a code, or its number where it has none.
macro_rules! code {
    ($value:expr) => {
        match $value.name() {
            "unknown" => json!($value.raw()),
            name => json!(name),
        }
    };
}

macro_rules! fields {
    ($($name:literal: $value:expr),* $(,)?) => {
        Fields::from_iter([$(($name.to_owned(), json!($value)),)*])
    };
}

fn db(value: Option<TenthDb>) -> Option<i16> {
    value.map(|v| v.0)
}

fn dbm(value: Option<TenthDbm>) -> Option<i16> {
    value.map(|v| v.0)
}

/// Names of the set bits, `bit-N` where a bit has none.
fn names(bits: u32, known: &[(u32, &str)]) -> Vec<String> {
    (0..32)
        .filter(|n| bits >> n & 1 == 1)
        .map(|n| {
            known
                .iter()
                .find(|(bit, _)| *bit == 1 << n)
                .map_or(format!("bit-{n}"), |(_, name)| (*name).to_owned())
        })
        .collect()
}

fn reasons(value: Reasons) -> Vec<String> {
    let known: Vec<_> = Reasons::NAMES.iter().map(|(r, n)| (u32::from(r.0), *n)).collect();
    names(value.0.into(), &known)
}

/// Names of the optional telemetry fields, in the order of `Fields::LAYOUT`.
pub const TELEMETRY_FIELDS: [&str; 7] = [
    "dl-isolation",
    "ul-isolation",
    "dl-output",
    "ul-input",
    "wanted-cell",
    "gain-set",
    "gain-allowed",
];

fn telemetry_fields(value: booster_profile::Fields) -> Vec<String> {
    let known: Vec<_> = booster_profile::Fields::LAYOUT
        .iter()
        .zip(TELEMETRY_FIELDS)
        .map(|((field, _), name)| (u32::from(field.0), name))
        .collect();
    names(value.0.into(), &known)
}

/// Booster Feature.
pub fn feature(v: &BoosterFeature) -> Fields {
    let known: Vec<_> = Features::NAMES.iter().map(|(f, n)| (f.0, *n)).collect();
    fields! {
        "major": v.version.major, "minor": v.version.minor, "features": names(v.features.0, &known),
        "bands": v.bands, "regulation": code!(v.regulation), "min-interval": v.min_interval_ms,
        "max-interval": v.max_interval_ms, "default-interval": v.default_interval_ms, "boot-id": v.boot_id,
        "event-capacity": v.event_capacity, "history-capacity": v.history_capacity,
    }
}

/// One entry of the Band Table.
pub fn band(v: &Band) -> Fields {
    fields! {
        "index": v.index, "technology": code!(v.technology), "duplex": code!(v.duplex), "band-number": v.number,
        "dl-centre": v.dl_centre_khz, "ul-centre": v.ul_centre_khz, "bandwidth": v.bandwidth_khz,
        "max-dl-gain": db(v.max_dl_gain), "max-ul-gain": db(v.max_ul_gain),
        "rated-dl-output": dbm(v.rated_dl_output), "rated-ul-output": dbm(v.rated_ul_output),
        "overload-level": dbm(v.overload_level), "damage-level": dbm(v.damage_level),
        "dl-noise-figure": db(v.dl_noise_figure), "ul-noise-figure": db(v.ul_noise_figure),
        "accuracy": db(v.accuracy),
    }
}

/// Band Table.
pub fn band_table(v: &BandTable) -> Fields {
    fields! { "bands": v.bands.iter().map(band).collect::<Vec<_>>() }
}

fn extra(v: &Extra) -> Fields {
    use booster_profile::Fields as F;
    let all = [
        (F::DL_ISOLATION, fields! { "dl-isolation": db(v.dl_isolation) }),
        (F::UL_ISOLATION, fields! { "ul-isolation": db(v.ul_isolation) }),
        (F::DL_OUTPUT, fields! { "dl-output": dbm(v.dl_output) }),
        (F::UL_INPUT, fields! { "ul-input": dbm(v.ul_input) }),
        (
            F::WANTED_CELL,
            fields! {
                "cell-rsrp": dbm(v.cell.rsrp), "cell-rsrq": db(v.cell.rsrq), "cell-sinr": db(v.cell.sinr),
                "cell-identity": v.cell.identity, "cell-age": v.cell.age_tenths_s,
            },
        ),
        (
            F::GAIN_SET,
            fields! { "dl-gain-set": db(v.dl_gain_set), "ul-gain-set": db(v.ul_gain_set) },
        ),
        (
            F::GAIN_ALLOWED,
            fields! { "dl-gain-allowed": db(v.dl_gain_allowed), "ul-gain-allowed": db(v.ul_gain_allowed) },
        ),
    ];
    all.into_iter()
        .filter(|(field, _)| v.fields.contains(*field))
        .flat_map(|(_, fields)| fields)
        .collect()
}

fn reading(v: &BandTelemetry, more: bool) -> Fields {
    let mut fields = fields! {
        "boot": v.boot, "continuation": 0, "more": u8::from(more), "fields": telemetry_fields(v.extra.fields),
        "band": v.band, "sequence": v.sequence, "time": v.time_ms, "dl-input": dbm(v.dl_input),
        "dl-gain": db(v.dl_gain), "ul-gain": db(v.ul_gain), "ul-output": dbm(v.ul_output),
        "dl-state": code!(v.dl_state), "ul-state": code!(v.ul_state),
        "dl-reasons": reasons(v.dl_reasons), "ul-reasons": reasons(v.ul_reasons),
    };
    fields.extend(extra(&v.extra));
    fields
}

fn continuation(v: &Continuation) -> Fields {
    let mut fields = fields! {
        "boot": v.boot, "continuation": 1, "more": u8::from(v.part + 1 < v.parts),
        "fields": telemetry_fields(v.extra.fields), "band": v.band, "sequence": v.sequence,
        "part": v.part, "parts": v.parts,
    };
    fields.extend(extra(&v.extra));
    fields
}

/// One notification of Band Telemetry.
pub fn part(v: &Part) -> Fields {
    match v {
        Part::First { reading: v, more } => reading(v, *more),
        Part::Continuation(v) => continuation(v),
    }
}

/// Cell Report.
pub fn cell(v: &CellReport) -> Fields {
    fields! {
        "band": v.band, "technology": code!(v.technology), "spacing": code!(v.spacing), "channel": v.channel,
        "resource-blocks": v.resource_blocks, "wanted": u8::from(v.wanted), "identity": v.identity,
        "operator": v.operator.map(|o| hex(&o.0)), "rsrp": dbm(v.rsrp), "rsrq": db(v.rsrq), "sinr": db(v.sinr),
        "age": v.age_tenths_s,
    }
}

/// Unit Status.
pub fn status(v: &UnitStatus) -> Fields {
    let mut fields = fields! {
        "boot-id": v.boot_id, "uptime": v.uptime_s, "state": code!(v.state), "authorization": code!(v.authorization),
        "temperature": v.temperature_centi_c, "voltage": v.voltage_64ths, "current": v.current_centi_a,
        "front-end": code!(v.health.front_end), "tdd-sync": code!(v.health.tdd_sync), "fan": code!(v.health.fan),
        "enclosure": code!(v.health.enclosure), "aim-safe-timed": u8::from(v.aim_safe_left_s.is_some()),
        "donor-port": code!(v.donor_port), "server-port": code!(v.server_port), "restarts": v.restarts,
    };
    if let Some(left) = v.aim_safe_left_s {
        fields.extend(fields! { "aim-safe-left": left });
    }
    fields
}

/// Unit Event.
pub fn event(v: &UnitEvent) -> Fields {
    fields! {
        "sequence": v.sequence, "boot-id": v.boot_id, "time": v.time_ms, "code": code!(v.code), "band": v.band,
        "direction": code!(v.direction), "value": v.value,
    }
}

fn history(v: &HistoryRecord) -> Fields {
    fields! {
        "kind": 2, "sequence": v.sequence, "boot": v.boot, "time": v.time_ms, "band": v.band,
        "dl-input": dbm(v.dl_input), "dl-gain": db(v.dl_gain), "ul-gain": db(v.ul_gain),
        "ul-output": dbm(v.ul_output), "dl-state": code!(v.dl_state), "ul-state": code!(v.ul_state),
    }
}

/// Stored Record.
pub fn stored(v: &StoredRecord) -> Fields {
    match v {
        StoredRecord::Event(v) => fields! { "kind": 1 }.into_iter().chain(event(v)).collect(),
        StoredRecord::History(v) => history(v),
        StoredRecord::Unknown(kind) => fields! { "kind": kind },
    }
}

/// Request of the Record Access Control Point.
pub fn record_request(v: &Request) -> Fields {
    let (op, log, select) = match *v {
        Request::Abort => return fields! { "op": "abort" },
        Request::Report(log, select) => ("report", log, select),
        Request::Count(log, select) => ("count", log, select),
    };
    let (operator, numbers) = match select {
        Select::All => ("all", fields! {}),
        Select::AtMost(max) => ("at-most", fields! { "maximum": max }),
        Select::AtLeast(min) => ("at-least", fields! { "minimum": min }),
        Select::Within(min, max) => ("within", fields! { "minimum": min, "maximum": max }),
        Select::First => ("first", fields! {}),
        Select::Last => ("last", fields! {}),
    };
    let filter = match log {
        Log::Events => "events",
        Log::History => "history",
    };
    let head = fields! { "op": op, "operator": operator, "filter": filter };
    head.into_iter().chain(numbers).collect()
}

/// Response of the Record Access Control Point.
pub fn record_response(v: &Response) -> Fields {
    match *v {
        Response::Number(number) => fields! { "op": 5, "operator": 0, "number": number },
        Response::Outcome { op_code, code } => {
            fields! { "op": 6, "operator": 0, "request": op_code, "response": code!(code) }
        }
    }
}

/// Request of the Report Control Point.
pub fn report_request(v: &ReportRequest) -> Fields {
    match *v {
        ReportRequest::Interval(ms) => fields! { "op": "interval", "interval": ms },
        ReportRequest::Fast(on) => fields! { "op": "fast", "on": u8::from(on) },
    }
}

/// Request of the Unit Control Point.
pub fn unit_request(v: &UnitRequest) -> Fields {
    match *v {
        UnitRequest::AimSafeOn { restore_s } => fields! { "op": "aim-safe-on", "restore": restore_s },
        UnitRequest::AimSafeOff => fields! { "op": "aim-safe-off" },
        UnitRequest::IsolationTest { band } => fields! { "op": "isolation-test", "band": band },
        UnitRequest::Attenuation {
            band,
            direction,
            value,
        } => fields! {
            "op": "attenuation", "band": band, "direction": code!(direction), "attenuation": value.0,
        },
        UnitRequest::Restart => fields! { "op": "restart" },
        UnitRequest::Locate { seconds } => fields! { "op": "locate", "seconds": seconds },
        UnitRequest::Mute { band, direction, on } => fields! {
            "op": "mute", "band": band, "direction": code!(direction), "on": u8::from(on),
        },
    }
}

/// Response of either control point.
pub fn control_response(v: &ControlResponse) -> Fields {
    fields! { "response": 0x80, "op": v.op_code, "result": code!(v.result), "value": v.value }
}

/// Service data of the scan response.
pub fn service_data(v: &ServiceData) -> Fields {
    fields! {
        "major": v.major, "attention": code!(v.attention), "worst-state": code!(v.worst_state),
        "loop-margin": v.loop_margin_db,
    }
}

/// The fields as one JSON value.
pub fn value(fields: Fields) -> Value {
    Value::Object(fields)
}
