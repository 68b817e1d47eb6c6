use super::*;
use crate::event::{LinkState, Origin, SessionTime};
use crate::session::{Clock, Encoder, Overwrite};
use booster_profile::{SubcarrierSpacing, Technology, TenthDb, TenthDbm};
use proptest::prelude::*;

fn copied(file: &[u8], mut stand_ins: StandIns, operators: bool, name: &str) -> Vec<u8> {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join(name);
    let mut copy = DirectRecorder::create(&path, Overwrite::Refuse).unwrap();
    anonymize(file, &mut copy, &mut stand_ins, operators).unwrap();
    std::fs::read(path).unwrap()
}

fn events(file: &[u8]) -> (Header, Vec<Event>) {
    let mut reader = Reader::open(file).unwrap();
    let events = std::iter::from_fn(|| reader.next_event()).collect();
    assert!(reader.integrity().is_sound());
    (reader.header().clone(), events)
}

fn report(operator: Plmn) -> CellReport {
    CellReport {
        band: 1,
        technology: Technology::Lte,
        spacing: SubcarrierSpacing::Khz15,
        channel: 66_936,
        resource_blocks: Some(50),
        wanted: true,
        identity: Some(217),
        operator: Some(operator),
        rsrp: Some(TenthDbm(-880)),
        rsrq: Some(TenthDb(-105)),
        sinr: Some(TenthDb(140)),
        age_tenths_s: Some(3),
    }
}

/// A session that names its unit, its place and its people wherever a session can.
fn telling(secret: &str) -> Vec<u8> {
    let of = |kind: &str| format!("{secret} {kind}");
    let mut header = Header::new(
        &format!("ble:{secret}"),
        "2026-03-01T08:00:00Z".parse().unwrap(),
        Clock::Host,
    );
    header.unit = Some(UnitInfo {
        model: Some("EX-4".to_owned()),
        serial: Some(secret.to_owned()),
        ..UnitInfo::default()
    });
    header.criteria = Some(format!("# {secret}\n[margin]\nmin_db = 15.0\n"));
    header.site = Some(of("site"));
    let value = |characteristic, bytes: &[u8]| EventKind::Value {
        characteristic,
        origin: Origin::Read,
        bytes: RawBytes::from_slice(bytes),
    };
    let cell = |mcc| {
        let mut bytes = report(Plmn::new(mcc, 1, false).unwrap()).encode().to_vec();
        bytes.push(0xA5);
        value(Characteristic::CellReport, &bytes)
    };
    let kinds = [
        EventKind::Link {
            state: LinkState::Connecting,
            detail: Some(of("detail")),
        },
        value(Characteristic::SerialNumber, secret.as_bytes()),
        value(Characteristic::ModelNumber, b"EX-4"),
        cell(262),
        cell(310),
        value(
            Characteristic::CellReport,
            &report(Plmn::new(262, 1, false).unwrap()).encode()[..14],
        ),
        EventKind::Mark(Box::new(Mark {
            spot: Some(of("spot")),
            room: Some(of("room")),
            note: Some(of("note")),
            level_dbm: Some(-97.0),
            ..Mark::default()
        })),
        EventKind::Key {
            name: "aim-settled".to_owned(),
        },
        EventKind::End,
    ];
    let mut encoder = Encoder::new();
    encoder.header(&header).unwrap();
    for (i, kind) in kinds.into_iter().enumerate() {
        let at = SessionTime::from_millis(700 * i as u64);
        encoder.event(&Event { at, kind }).unwrap();
    }
    encoder.close(3);
    encoder.pending().to_vec()
}

fn contains(haystack: &[u8], needle: &str) -> bool {
    memchr::memmem::find(haystack, needle.as_bytes()).is_some()
}

fn hex(bytes: &[u8]) -> String {
    crate::session::hex::encode(bytes)
}

proptest! {
    /// Nothing of an original is left, as text, as JSON text or as hexadecimal digits.
    #[test]
    fn no_original_is_left_anywhere(secret in "[A-Za-z0-9 \"\\\\äλ字-]{6,30}", keyed: bool) {
        let file = telling(&secret);
        let stand_ins = || if keyed { StandIns::keyed(b"key").unwrap() } else { StandIns::numbered() };
        for name in ["copy.jsonl", "copy.jsonl.zst"] {
            let copy = copied(&file, stand_ins(), true, name);
            let plain = if name.ends_with("zst") { zstd::decode_all(copy.as_slice()).unwrap() } else { copy };
            let json = serde_json::to_string(&secret).unwrap();
            prop_assert!(!contains(&plain, &secret));
            prop_assert!(!contains(&plain, json.trim_matches('"')));
            prop_assert!(!contains(&plain, &hex(secret.as_bytes())));
            for mcc in [262, 310] {
                prop_assert!(!contains(&plain, &hex(&Plmn::new(mcc, 1, false).unwrap().0)));
            }
        }
    }
}

#[test]
fn everything_else_is_as_it_was() {
    let file = telling("Kiln Lane 7");
    let (header, before) = events(&file);
    let (copy_header, after) = events(&copied(&file, StandIns::numbered(), true, "copy.jsonl"));
    assert!(copy_header.anonymized);
    assert_eq!(
        (copy_header.started, copy_header.software),
        (header.started, header.software)
    );
    assert_eq!(copy_header.source.as_deref(), Some("ble"));
    assert_eq!(copy_header.criteria.as_deref(), Some("[margin]\nmin_db = 15.0\n"));
    assert_eq!(copy_header.unit.unwrap().serial.as_deref(), Some("serial-1"));
    assert_eq!(before.len(), after.len());
    for (before, after) in before.iter().zip(&after) {
        assert_eq!(before.at, after.at);
        match (&before.kind, &after.kind) {
            (
                EventKind::Value {
                    characteristic,
                    bytes: a,
                    ..
                },
                EventKind::Value { bytes: b, .. },
            ) if *characteristic == Characteristic::CellReport => {
                assert_eq!(a.len(), b.len());
                assert_eq!((&a[..9], &a[12..]), (&b[..9], &b[12..]));
            }
            (
                _,
                EventKind::Value {
                    characteristic: Characteristic::SerialNumber,
                    bytes,
                    ..
                },
            ) => {
                assert_eq!(bytes.as_slice(), b"serial-1");
            }
            (EventKind::Mark(a), EventKind::Mark(b)) => {
                assert_eq!(a.level_dbm, b.level_dbm);
                assert_eq!(b.to_string(), "spot spot-1, room room-1, level -97 dBm, note-1");
            }
            (EventKind::Link { state: a, .. }, EventKind::Link { state: b, detail }) => {
                assert_eq!((a, detail.as_deref()), (b, Some("detail-1")));
            }
            (a, b) => assert_eq!(a, b),
        }
    }
}

#[test]
fn operators_stay_unless_asked_for() {
    let file = telling("secret");
    let operators = |all: bool| -> Vec<String> {
        let (_, events) = events(&copied(&file, StandIns::numbered(), all, "copy.jsonl"));
        let of = |event: Event| match event.kind {
            EventKind::Value { bytes, .. } => CellReport::decode(&bytes).ok()?.operator,
            _ => None,
        };
        events.into_iter().filter_map(of).map(|p| p.to_string()).collect()
    };
    assert_eq!(operators(false), ["26201", "31001"]);
    assert_eq!(operators(true), ["999001", "999002"]);
}

#[test]
fn an_anonymised_file_is_anonymised_to_itself() {
    let once = copied(&telling("secret"), StandIns::numbered(), true, "copy.jsonl");
    assert_eq!(copied(&once, StandIns::numbered(), true, "copy.jsonl"), once);
}

#[test]
fn what_is_no_session_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let mut copy = DirectRecorder::create(&folder.path().join("copy.jsonl"), Overwrite::Refuse).unwrap();
    let refused = anonymize(
        &b"nothing of ours"[..],
        &mut copy,
        &mut StandIns::numbered(),
        false,
    );
    assert!(matches!(refused, Err(ReadError::Nothing)));
}
