//! Every vector decoded, compared with its fields, and encoded again; every malformed one refused for its reason.

use crate::codec::{KINDS, decode};
use crate::{fields, hex, read, unhex};
use booster_profile::{BandTelemetry, Part};
use serde_json::Value;

/// The vector file of a kind.
pub fn file(kind: &str) -> Value {
    let path = format!("vectors/{}.json", kind.replace(' ', "-"));
    let file: Value = serde_json::from_str(&read(&path)).unwrap_or_else(|e| panic!("{path}: {e}"));
    assert_eq!(file["characteristic"], kind, "{path}");
    file
}

/// Rows of one list of a vector file, with their name and bytes.
pub fn rows(file: &Value, list: &str) -> Vec<(String, Vec<u8>, Value)> {
    let rows = file[list].as_array().unwrap();
    rows.iter()
        .map(|row| {
            let name = row["name"].as_str().unwrap().to_owned();
            (name, unhex(row["hex"].as_str().unwrap()), row.clone())
        })
        .collect()
}

#[test]
fn valid_vectors_decode_to_their_fields_and_encode_to_their_bytes() {
    for kind in KINDS {
        for (name, bytes, row) in rows(&file(kind), "valid") {
            let decoded = decode(kind, &bytes).unwrap_or_else(|e| panic!("{kind}, {name}: {e}"));
            assert_eq!(fields::value(decoded.fields), row["fields"], "{kind}, {name}");
            let expected = row.get("canonical").unwrap_or(&row["hex"]);
            if let Some(again) = decoded.again {
                assert_eq!(hex(&again), *expected, "{kind}, {name}");
            }
        }
    }
}

#[test]
fn malformed_vectors_are_refused_for_their_reason() {
    for kind in KINDS {
        for (name, bytes, row) in rows(&file(kind), "malformed") {
            match decode(kind, &bytes) {
                Ok(decoded) => panic!("{kind}, {name}: accepted as {:?}", decoded.fields),
                Err(reason) => assert_eq!(reason, row["reason"], "{kind}, {name}"),
            }
        }
    }
}

#[test]
fn vector_names_are_unique_and_every_file_is_used() {
    let mut files = 0;
    for entry in std::fs::read_dir(concat!(env!("CARGO_MANIFEST_DIR"), "/vectors")).unwrap() {
        let name = entry.unwrap().file_name().into_string().unwrap();
        assert!(
            KINDS
                .iter()
                .any(|kind| format!("{}.json", kind.replace(' ', "-")) == name),
            "{name} belongs to no kind"
        );
        files += 1;
    }
    assert_eq!(files, KINDS.len());
    for kind in KINDS {
        let file = file(kind);
        for list in ["valid", "malformed"] {
            let mut names: Vec<_> = rows(&file, list).into_iter().map(|(name, ..)| name).collect();
            names.sort();
            let all = names.len();
            names.dedup();
            assert_eq!(names.len(), all, "{kind}, {list}: a name occurs twice");
            assert!(all > 0, "{kind}: no {list} vector");
        }
    }
}

/// Puts the parts of a reading together, as a console does.
pub fn assemble(parts: &[Vec<u8>]) -> BandTelemetry {
    let mut parts = parts.iter().map(|p| Part::decode(p).unwrap());
    let Some(Part::First {
        mut reading,
        mut more,
    }) = parts.next()
    else {
        panic!("does not begin with a first part");
    };
    for (number, part) in (1..).zip(parts) {
        let Part::Continuation(c) = part else {
            panic!("a second first part");
        };
        assert!(more, "a part after the last");
        assert_eq!(
            (c.boot, c.band, c.sequence),
            (reading.boot, reading.band, reading.sequence)
        );
        assert_eq!(c.part, number);
        reading.extra.merge(&c.extra).unwrap();
        more = c.part + 1 < c.parts;
    }
    assert!(!more, "parts are missing");
    reading
}

#[test]
fn readings_split_and_assemble_as_the_vectors_say() {
    let file = file("band-telemetry");
    let whole = rows(&file, "valid")
        .into_iter()
        .find(|(name, ..)| name == "all fields in one notification")
        .map(|(_, bytes, _)| assemble(&[bytes]))
        .unwrap();
    for row in file["readings"].as_array().unwrap() {
        let payload = row["payload"].as_u64().unwrap() as usize;
        let expected: Vec<_> = row["parts"]
            .as_array()
            .unwrap()
            .iter()
            .map(|p| unhex(p.as_str().unwrap()))
            .collect();
        let parts: Vec<_> = whole.encode(payload).iter().map(|p| p.to_vec()).collect();
        assert_eq!(parts, expected, "payload {payload}");
        assert_eq!(assemble(&expected), whole, "payload {payload}");
    }
}
