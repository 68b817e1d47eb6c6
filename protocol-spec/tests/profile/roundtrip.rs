//! Property tests: what the codec reads, `profile.toml` reads alike; what it writes, it reads back.

use crate::codec::{KINDS, decode};
use crate::fields;
use crate::schema::{Fields, Profile};
use crate::vectors::assemble;
use booster_profile::{BandTelemetry, Part, UnitStatus};
use proptest::collection::vec;
use proptest::prelude::*;
use serde_json::json;
use std::sync::LazyLock;

static PROFILE: LazyLock<Profile> = LazyLock::new(Profile::load);

/// Kinds whose value is one layout without rules of its own, and that layout.
const PLAIN: [(&str, &str); 6] = [
    ("booster-feature", "booster-feature"),
    ("cell-report", "cell-report"),
    ("unit-event", "unit-event"),
    ("service-data", "service-data"),
    ("stored-record", "stored-event"),
    ("stored-record", "stored-history"),
];

/// Makes random bytes obey the few rules of a layout.
fn obey(layout: &str, bytes: &mut [u8]) {
    match layout {
        "booster-feature" => {
            bytes[0] = 1;
            bytes[6] = bytes[6] % 16 + 1;
            let mut limits: Vec<u16> = (0..3)
                .map(|n| u16::from_le_bytes([bytes[8 + 2 * n], bytes[9 + 2 * n]]).max(1))
                .collect();
            limits.sort();
            for (at, limit) in [(8, limits[0]), (12, limits[1]), (10, limits[2])] {
                bytes[at..at + 2].copy_from_slice(&limit.to_le_bytes());
            }
        }
        "stored-event" => bytes[0] = 1,
        "stored-history" => bytes[0] = 2,
        _ => {}
    }
}

fn masked(layout: &str, bytes: &[u8]) -> Vec<u8> {
    bytes
        .iter()
        .zip(PROFILE.mask(layout))
        .map(|(b, m)| b & m)
        .collect()
}

/// Any reading: random mandatory bytes, and random content for the optional fields that `set` names.
fn any_reading() -> impl Strategy<Value = BandTelemetry> {
    (vec(any::<u8>(), 46), 0_u16..128).prop_map(|(mut bytes, set)| {
        let flags = u16::from(bytes[0] & 0x0F) | set << 6;
        bytes[..2].copy_from_slice(&flags.to_le_bytes());
        match Part::decode(&bytes).unwrap() {
            Part::First { reading, .. } => reading,
            Part::Continuation(_) => unreachable!("the continuation bit is clear"),
        }
    })
}

proptest! {
    #[test]
    fn any_value_of_a_plain_layout_reads_as_the_table_says_and_writes_back(
        which in 0..PLAIN.len(),
        mut bytes in vec(any::<u8>(), 24),
        trailing in vec(any::<u8>(), 0..8),
    ) {
        let (kind, layout) = PLAIN[which];
        bytes.truncate(PROFILE.length(layout));
        obey(layout, &mut bytes);
        let expected = PROFILE.unpack(layout, &bytes);
        let decoded = decode(kind, &bytes).unwrap();
        prop_assert_eq!(&decoded.fields, &expected);
        prop_assert_eq!(decoded.again.unwrap(), masked(layout, &bytes));

        bytes.extend(trailing);
        prop_assert_eq!(decode(kind, &bytes).unwrap().fields, expected);
    }

    #[test]
    fn any_band_table_reads_as_the_table_says_and_writes_back(
        entries in vec(vec(any::<u8>(), 31), 1..=16),
        longer in 0_usize..3,
        first_index in 0_u8..=200,
    ) {
        let mut value = vec![31 + longer as u8, entries.len() as u8];
        let mut expected = Vec::new();
        let mut shortest = vec![31, entries.len() as u8];
        for (mut entry, index) in entries.into_iter().zip(first_index..) {
            entry[0] = index;
            expected.push(PROFILE.unpack("band-entry", &entry));
            shortest.extend(&entry);
            value.extend(&entry);
            value.extend(vec![0xEE; longer]);
        }
        let decoded = decode("band-table", &value).unwrap();
        prop_assert_eq!(fields::value(decoded.fields), json!({ "bands": expected }));
        prop_assert_eq!(decoded.again.unwrap(), shortest);
    }

    #[test]
    fn any_reading_survives_every_payload(reading in any_reading(), payload in 20_usize..=512) {
        let parts: Vec<Vec<u8>> = reading.encode(payload).iter().map(|p| p.to_vec()).collect();
        let fits = 20 + reading.extra.fields.len() <= payload;
        prop_assert_eq!(parts.len() == 1, fits);
        let mut merged = Fields::new();
        for (number, part) in parts.iter().enumerate() {
            prop_assert!(part.len() <= payload);
            let flags = u16::from_le_bytes([part[0], part[1]]);
            let layout = if number == 0 { "band-telemetry" } else { "telemetry-continuation" };
            let mut expected = PROFILE.unpack(layout, part);
            expected.extend(PROFILE.unpack_optional("telemetry-fields", flags, &part[PROFILE.length(layout)..]));
            prop_assert_eq!(&fields::part(&Part::decode(part).unwrap()), &expected);
            merged.extend(expected);
        }
        prop_assert_eq!(assemble(&parts), reading);
        // Every value of the whole stands in exactly one part.
        let whole = fields::part(&Part::First { reading, more: false });
        for (name, value) in whole {
            if !["fields", "more", "continuation"].contains(&name.as_str()) {
                prop_assert_eq!(merged.get(&name), Some(&value));
            }
        }
    }

    #[test]
    fn any_status_reads_as_the_table_says_at_every_payload(
        mut bytes in vec(any::<u8>(), 22),
        payload in 20_usize..=512,
    ) {
        let timed = bytes[17] & 1 == 1;
        let mut expected = PROFILE.unpack("unit-status", &bytes);
        expected.extend(PROFILE.unpack_optional("status-fields", u16::from(bytes[17]) << 8, &bytes[20..]));
        let status = UnitStatus::decode(&bytes).unwrap();
        prop_assert_eq!(fields::status(&status), expected);

        let again = status.encode(payload);
        prop_assert_eq!(again.len(), if timed && payload >= 22 { 22 } else { 20 });
        if payload < 22 {
            bytes[17] &= !1;
        }
        prop_assert_eq!(&again[..20], &masked("unit-status", &bytes[..20])[..]);
    }

    #[test]
    fn arbitrary_bytes_never_panic_and_what_is_accepted_writes_back(
        which in 0..KINDS.len(),
        bytes in vec(any::<u8>(), 0..600),
    ) {
        accept_or_refuse(KINDS[which], &bytes)?;
    }

    #[test]
    fn arbitrary_short_bytes_never_panic_and_what_is_accepted_writes_back(
        which in 0..KINDS.len(),
        op in 0_u8..9,
        bytes in vec(any::<u8>(), 0..24),
    ) {
        accept_or_refuse(KINDS[which], &[&[op][..], &bytes].concat())?;
    }

    #[test]
    fn reserved_bits_change_nothing(mut bytes in vec(any::<u8>(), 20), set in any::<[bool; 20]>()) {
        for (layout, kind) in [("cell-report", "cell-report"), ("unit-status", "unit-status")] {
            bytes[17] &= !1;
            let plain = decode(kind, &masked(layout, &bytes)).unwrap().fields;
            for ((byte, mask), set) in bytes.iter_mut().zip(PROFILE.mask(layout)).zip(set) {
                if set {
                    *byte |= !mask;
                }
            }
            prop_assert_eq!(decode(kind, &bytes).unwrap().fields, plain);
        }
    }
}

fn accept_or_refuse(kind: &str, bytes: &[u8]) -> Result<(), TestCaseError> {
    if let Ok(decoded) = decode(kind, bytes)
        && let Some(again) = decoded.again
    {
        let second = decode(kind, &again).unwrap();
        prop_assert_eq!(second.again.unwrap(), again);
    }
    Ok(())
}

#[test]
fn merging_a_field_twice_is_refused() {
    let mut reading = assemble(&[vec![0; 20]]);
    let Part::Continuation(part) = Part::decode(&[0x50, 0, 0, 0, 0, 0x21, 1, 0]).unwrap() else {
        panic!("not a continuation");
    };
    reading.extra.merge(&part.extra).unwrap();
    assert!(reading.extra.merge(&part.extra).is_err());
}
