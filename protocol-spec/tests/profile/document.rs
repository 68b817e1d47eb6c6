//! The tables of the document, against `profile.toml`, the codec and the vectors.

use crate::codec::KINDS;
use crate::fields::TELEMETRY_FIELDS;
use crate::markdown::{DOCUMENT, table, tables};
use crate::schema::Profile;
use crate::vectors::{file, rows};
use crate::{hex, read};
use booster_profile::advertising::Attention;
use booster_profile::control::ControlResult;
use booster_profile::record_access::{OpCode, ResponseCode};
use booster_profile::{
    Authorization, Characteristic, Direction, DirectionState, Duplex, EventCode, Features, OperatingState,
    PROFILE_VERSION, PortHealth, Quality, Reasons, Regulation, SERVICE_UUID, SubcarrierSpacing, Technology,
    uuid,
};
use serde_json::Value;

fn text<'a>(value: &'a Value, key: &str) -> &'a str {
    value.get(key).and_then(Value::as_str).unwrap_or("")
}

/// Weight and unit as the document prints them: `0.1 dBm`, `1/64 V`, `ms`.
fn unit(field: &Value) -> String {
    let name = text(field, "unit");
    if let Some(b) = field.get("binary_exponent").and_then(Value::as_i64) {
        return format!("1/{} {name}", 1_u64 << -b);
    }
    match field.get("decimal_exponent").and_then(Value::as_i64) {
        Some(-1) => format!("0.1 {name}"),
        Some(-2) => format!("0.01 {name}"),
        Some(other) => panic!("weight 10^{other}"),
        None if name == "dB" => format!("1 {name}"),
        None => name.to_owned(),
    }
}

fn limits(field: &Value) -> String {
    field
        .get("range")
        .map_or(String::new(), |range| format!("{}…{}", range[0], range[1]))
}

#[test]
fn byte_tables_are_those_of_profile_toml() {
    let profile = Profile::load();
    let mut seen = 0;
    for (name, rows) in tables() {
        let Some(layout) = name.strip_prefix("layout ") else {
            continue;
        };
        seen += 1;
        let fields = profile.layout_fields(layout);
        assert_eq!(rows.len(), fields.len(), "{layout}");
        for (row, field) in rows.iter().zip(fields) {
            let place = match field.get("bit") {
                Some(bit) => format!("bit {bit}"),
                None => field["offset"].to_string(),
            };
            let kind = match field.get("bits") {
                Some(bits) if bits[0] == bits[1] => format!("{} bit {}", text(field, "type"), bits[0]),
                Some(bits) => format!("{} bits {}–{}", text(field, "type"), bits[0], bits[1]),
                None => text(field, "type").to_owned(),
            };
            let not_known = field.get("not_known").map_or(String::new(), |v| {
                format!("{:#X}", v.as_u64().unwrap()).replace("0X", "0x")
            });
            let expected = [
                place,
                text(field, "name").to_owned(),
                kind,
                unit(field),
                limits(field),
                not_known,
            ];
            assert_eq!(row[..6], expected, "{layout}");
        }
    }
    assert_eq!(seen, profile.array("layout").len(), "a layout has no table");
}

#[test]
fn characteristics_agree_in_document_tables_and_code() {
    let profile = Profile::load();
    let written = table("characteristics");
    let listed = profile.array("characteristic");
    assert_eq!(written.len(), Characteristic::ALL.len());
    assert_eq!(listed.len(), Characteristic::ALL.len());
    for ((row, entry), code) in written.iter().zip(listed).zip(Characteristic::ALL) {
        let properties: Vec<_> = entry["properties"]
            .as_array()
            .unwrap()
            .iter()
            .map(|p| p.as_str().unwrap())
            .collect();
        let expected = [
            text(entry, "name").to_owned(),
            text(entry, "short_name").to_owned(),
            text(entry, "service").to_owned(),
            format!("`{}`", text(entry, "uuid")),
            properties.join(", "),
            text(entry, "permission").to_owned(),
        ];
        assert_eq!(*row, expected);
        assert_eq!(code.short_name(), text(entry, "short_name"));
        assert_eq!(uuid(code.uuid()).as_str(), text(entry, "uuid"));
        assert_eq!(code.is_readable(), properties == ["read"]);
        assert_eq!(code.is_indicated(), properties.contains(&"indicate"));
        assert_eq!(
            code.is_subscribable(),
            properties.contains(&"notify") || properties.contains(&"indicate")
        );
    }
    assert_eq!(uuid(SERVICE_UUID).as_str(), profile.0["service"]["uuid"]);
    assert!(read(DOCUMENT).contains(&format!("The service UUID is `{}`", uuid(SERVICE_UUID))));
    assert_eq!(profile.0["version"]["major"], PROFILE_VERSION.major);
    assert_eq!(profile.0["version"]["minor"], PROFILE_VERSION.minor);
}

#[test]
fn vectors_keep_to_the_lengths_of_their_characteristic() {
    let profile = Profile::load();
    for kind in KINDS {
        let name = kind.split(' ').next().unwrap();
        let Some(entry) = profile
            .array("characteristic")
            .iter()
            .find(|c| c["short_name"] == name)
        else {
            assert_eq!(kind, "service-data");
            continue;
        };
        let length = &entry["length"];
        for (vector, bytes, row) in rows(&file(kind), "valid") {
            let (least, most) = (length[0].as_u64().unwrap(), length[1].as_u64().unwrap());
            let later_version = row.get("canonical").is_some() || vector.contains("later version");
            assert!(
                later_version || (least..=most).contains(&(bytes.len() as u64)),
                "{kind}, {vector}: {} bytes",
                bytes.len()
            );
        }
    }
}

/// Codes and names of an open enumeration of the codec.
macro_rules! open {
    ($name:literal, $kind:ty) => {
        (
            $name,
            <$kind>::ALL
                .iter()
                .map(|v| (u64::from(v.raw()), v.name().to_owned()))
                .collect::<Vec<_>>(),
        )
    };
}

#[test]
fn enumerations_agree_in_document_tables_and_code() {
    let profile = Profile::load();
    let code = [
        open!("regulation", Regulation),
        open!("technology", Technology),
        open!("duplex", Duplex),
        open!("direction-state", DirectionState),
        open!("subcarrier-spacing", SubcarrierSpacing),
        open!("operating-state", OperatingState),
        open!("authorization", Authorization),
        open!("quality", Quality),
        open!("port-health", PortHealth),
        open!("direction", Direction),
        open!("attention", Attention),
        open!("event-code", EventCode),
        open!("record-op-code", OpCode),
        open!("record-response", ResponseCode),
        open!("control-result", ControlResult),
    ];
    // These two have no type of their own in the codec; the vectors tie them to it.
    let by_vectors = ["record-operator", "record-filter"];
    assert_eq!(
        profile.0["enum"].as_object().unwrap().len(),
        code.len() + by_vectors.len()
    );
    for (name, codes) in code {
        assert_eq!(profile.codes("enum", name), codes, "{name}");
    }
    for name in profile.0["enum"].as_object().unwrap().keys() {
        let written: Vec<_> = match name.as_str() {
            "event-code" => table("events"),
            "record-operator" => table("operators"),
            other => table(&format!("enum {other}")),
        }
        .iter()
        .map(|row| (row[0].parse().unwrap(), row[1].clone()))
        .collect();
        assert_eq!(profile.codes("enum", name), written, "{name}");
    }
}

#[test]
fn flags_agree_in_document_tables_and_code() {
    let profile = Profile::load();
    let features: Vec<_> = Features::NAMES.iter().map(|(f, n)| (f.0.ilog2(), *n)).collect();
    let reasons: Vec<_> = Reasons::NAMES.iter().map(|(r, n)| (r.0.ilog2(), *n)).collect();
    let telemetry: Vec<_> = booster_profile::Fields::LAYOUT
        .iter()
        .zip(TELEMETRY_FIELDS)
        .map(|((f, _), n)| (f.0.ilog2(), n))
        .collect();
    for (name, code) in [
        ("features", features),
        ("reasons", reasons),
        ("telemetry-fields", telemetry),
    ] {
        let code: Vec<_> = code
            .into_iter()
            .map(|(bit, n)| (u64::from(bit), n.to_owned()))
            .collect();
        assert_eq!(profile.codes("flags", name), code, "{name}");
        let written: Vec<_> = table(&format!("flags {name}"))
            .iter()
            .map(|row| (row[0].parse().unwrap(), row[1].clone()))
            .collect();
        assert_eq!(written, code, "{name}");
    }
    for (row, (_, length)) in table("flags telemetry-fields")
        .iter()
        .zip(booster_profile::Fields::LAYOUT)
    {
        assert_eq!(row[2], length.to_string(), "{}", row[1]);
    }
    assert_eq!(profile.0["flags"].as_object().unwrap().len(), 3);
}

#[test]
fn values_of_events_agree() {
    let profile = Profile::load();
    let values = profile.0["event-value"].as_object().unwrap();
    let mut with_value = 0;
    for row in table("events") {
        match values.get(&row[1]) {
            Some(value) => {
                assert_eq!(row[3], unit(value), "{}", row[1]);
                with_value += 1;
            }
            None => assert_eq!(row[3], "", "{}", row[1]),
        }
    }
    assert_eq!(with_value, values.len());
}

#[test]
fn requests_agree_in_document_and_tables() {
    let profile = Profile::load();
    let written = table("requests");
    let listed = profile.array("request");
    assert_eq!(written.len(), listed.len());
    for (row, request) in written.iter().zip(listed) {
        let parameters: Vec<_> = request["parameters"]
            .as_array()
            .unwrap()
            .iter()
            .map(|p| {
                let words = [
                    text(p, "name").to_owned(),
                    text(p, "type").to_owned(),
                    unit(p),
                    limits(p),
                ];
                words
                    .iter()
                    .filter(|w| !w.is_empty())
                    .cloned()
                    .collect::<Vec<_>>()
                    .join(" ")
            })
            .collect();
        let response = request
            .get("response")
            .map_or(String::new(), |r| format!("{} {}", text(r, "name"), unit(r)));
        let expected = [
            text(request, "characteristic").to_owned(),
            format!("{:#04x}", request["op"].as_u64().unwrap()),
            text(request, "name").to_owned(),
            parameters.join(", "),
            response,
            text(request, "feature").to_owned(),
            text(request, "presence").to_owned(),
        ];
        assert_eq!(*row, expected);
    }
}

#[test]
fn operators_and_contradictions_agree() {
    let profile = Profile::load();
    for row in table("operators") {
        let numbers: Vec<_> = profile.0["record-operator-numbers"]
            .get(&row[1])
            .and_then(Value::as_array)
            .into_iter()
            .flatten()
            .map(|n| n.as_str().unwrap())
            .collect();
        assert_eq!(row[2], numbers.join(", "), "{}", row[1]);
    }
    let written: Vec<_> = table("contradictory");
    let mut listed = Vec::new();
    for name in [
        "booster-feature",
        "band-table",
        "band-telemetry",
        "record-access",
        "report-control",
        "unit-control",
    ] {
        for text in profile.0["contradictory"][name].as_array().unwrap() {
            listed.push([name, text.as_str().unwrap()]);
        }
    }
    assert_eq!(written, listed);
    // Each of them has a vector.
    for [name, what] in listed {
        let found = KINDS
            .iter()
            .filter(|kind| kind.split(' ').next() == Some(name))
            .any(|kind| {
                rows(&file(kind), "malformed")
                    .iter()
                    .any(|(_, _, row)| row["reason"]["what"] == what)
            });
        assert!(found, "{name}: no vector for “{what}”");
    }
}

#[test]
fn conformance_statements_are_numbered_and_stand_in_the_text() {
    let profile = Profile::load();
    let listed = profile.0["conformance"].as_object().unwrap();
    let document = read(DOCUMENT);
    let written = table("conformance");
    assert_eq!(written.len(), listed.len());
    let (body, _) = document.split_once("<!-- table: conformance -->").unwrap();
    let mut section = "";
    let mut named = Vec::new();
    for line in body.lines() {
        if let Some(heading) = line.strip_prefix('#') {
            section = heading.trim_start_matches('#').split_whitespace().next().unwrap();
        }
        for at in line.split("(BTP-").skip(1) {
            named.push((format!("BTP-{}", &at[..3]), section.to_owned()));
        }
    }
    named.sort();
    for (number, (row, (id, in_section))) in (1..).zip(written.iter().zip(&named)) {
        assert_eq!(row[0], format!("BTP-{number:03}"));
        assert_eq!((&row[0], &row[2]), (id, in_section), "where the statement stands");
        let entry = &listed[id.as_str()];
        let expected = ["who", "section", "statement", "checked_by"].map(|key| text(entry, key).to_owned());
        assert_eq!(row[1..], expected, "{id}");
        assert!(["booster", "console", "both"].contains(&row[1].as_str()), "{id}");
        assert!(
            ["read", "observe", "control", "vectors", "inspection"].contains(&row[4].as_str()),
            "{id}"
        );
    }
    assert_eq!(named.len(), written.len());
}

#[test]
fn examples_in_the_document_are_vectors() {
    let vector = |kind: &str, name: &str| {
        rows(&file(kind), "valid")
            .into_iter()
            .find(|(n, ..)| n == name)
            .map(|(_, bytes, _)| hex(&bytes))
            .unwrap_or_else(|| panic!("no vector {kind}, {name}"))
    };
    for row in table("examples") {
        assert_eq!(row[1].trim_matches('`'), vector(&row[0], &row[2]), "{}", row[2]);
    }
    let document = read(DOCUMENT);
    let mut examples = 0;
    let mut lines = document.lines();
    while let Some(line) = lines.next() {
        if let Some(title) = line.strip_prefix("```hex ") {
            let (kind, name) = title.split_once(" | ").unwrap();
            assert_eq!(lines.next(), Some(vector(kind, name).as_str()), "{title}");
            examples += 1;
        }
    }
    assert!(examples >= 20, "only {examples} examples");
}
