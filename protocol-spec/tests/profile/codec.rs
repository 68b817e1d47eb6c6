//! The codec by the name that a vector file uses.

use crate::fields;
use crate::schema::Fields;
use booster_profile::advertising::ServiceData;
use booster_profile::control::{self, ControlResponse, ReportRequest, UnitRequest};
use booster_profile::record_access::{self, Request, Response};
use booster_profile::{
    BandTable, BandTelemetry, BoosterFeature, CellReport, DecodeError, Part, StoredRecord, UnitEvent,
    UnitStatus,
};
use serde_json::{Value, json};

/// What came out of decoding: the fields, and the value encoded again (not for one part of a longer reading).
pub struct Decoded {
    /// Named fields.
    pub fields: Fields,
    /// Encoded again.
    pub again: Option<Vec<u8>>,
}

/// Every name that [`decode`] knows.
pub const KINDS: [&str; 14] = [
    "booster-feature",
    "band-table",
    "band-telemetry",
    "cell-report",
    "unit-status",
    "unit-event",
    "stored-record",
    "record-access request",
    "record-access response",
    "report-control request",
    "report-control response",
    "unit-control request",
    "unit-control response",
    "service-data",
];

fn malformed(error: DecodeError) -> Value {
    match error {
        DecodeError::Short { needed, got } => json!({"kind": "short", "needed": needed, "got": got}),
        DecodeError::Contradictory(what) => json!({"kind": "contradictory", "what": what}),
        DecodeError::MajorVersion { major } => json!({"kind": "major-version", "major": major}),
    }
}

fn record_refused(r: record_access::Refused) -> Value {
    json!({"kind": "refused", "op": r.op_code, "result": r.code.name()})
}

fn control_refused(r: control::Refused) -> Value {
    json!({"kind": "refused", "op": r.op_code, "result": r.result.name()})
}

/// Decodes `bytes` as the named kind of value.
///
/// # Errors
/// The reason in the form that the vectors use.
pub fn decode(kind: &str, bytes: &[u8]) -> Result<Decoded, Value> {
    /// One arm: decode, then name the fields and encode again.
    macro_rules! with {
        ($decode:expr, $refuse:path, $fields:path) => {
            $decode.map_err($refuse).map(|v| Decoded {
                fields: $fields(&v),
                again: Some(v.encode().to_vec()),
            })
        };
    }
    match kind {
        "booster-feature" => with!(BoosterFeature::decode(bytes), malformed, fields::feature),
        "band-table" => with!(BandTable::decode(bytes), malformed, fields::band_table),
        "band-telemetry" => Part::decode(bytes).map_err(malformed).map(|part| Decoded {
            fields: fields::part(&part),
            again: match part {
                Part::First { reading, more: false } => Some(whole(&reading)),
                _ => None,
            },
        }),
        "cell-report" => with!(CellReport::decode(bytes), malformed, fields::cell),
        "unit-status" => UnitStatus::decode(bytes).map_err(malformed).map(|v| Decoded {
            fields: fields::status(&v),
            again: Some(v.encode(usize::MAX).to_vec()),
        }),
        "unit-event" => with!(UnitEvent::decode(bytes), malformed, fields::event),
        "stored-record" => with!(StoredRecord::decode(bytes), malformed, fields::stored),
        "record-access request" => with!(Request::decode(bytes), record_refused, fields::record_request),
        "record-access response" => with!(Response::decode(bytes), malformed, fields::record_response),
        "report-control request" => with!(
            ReportRequest::decode(bytes),
            control_refused,
            fields::report_request
        ),
        "unit-control request" => with!(UnitRequest::decode(bytes), control_refused, fields::unit_request),
        "report-control response" | "unit-control response" => {
            with!(
                ControlResponse::decode(bytes),
                malformed,
                fields::control_response
            )
        }
        "service-data" => with!(ServiceData::decode(bytes), malformed, fields::service_data),
        other => panic!("no kind {other}"),
    }
}

/// A reading in one notification.
fn whole(reading: &BandTelemetry) -> Vec<u8> {
    let parts = reading.encode(512);
    assert_eq!(parts.len(), 1);
    parts[0].to_vec()
}
