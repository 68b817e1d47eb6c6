//! What was recorded comes back.

use super::*;
use proptest::prelude::*;

fn any_value() -> impl Strategy<Value = EventKind> {
    let bytes = prop::collection::vec(any::<u8>(), 0..600);
    let characteristic = prop::sample::select(Characteristic::ALL);
    (characteristic, 0..3u8, bytes).prop_map(|(characteristic, way, bytes)| {
        let bytes = RawBytes::from_vec(bytes);
        match way {
            0 => EventKind::Value {
                characteristic,
                origin: Origin::Read,
                bytes,
            },
            1 => EventKind::Value {
                characteristic,
                origin: Origin::Pushed,
                bytes,
            },
            _ => EventKind::Written {
                characteristic,
                bytes,
            },
        }
    })
}

fn any_mark() -> impl Strategy<Value = Mark> {
    let number = || prop::option::of(prop::num::f64::NORMAL | prop::num::f64::ZERO);
    let text = || prop::option::of(".*");
    let polarisation = [
        Polarisation::Vertical,
        Polarisation::Horizontal,
        Polarisation::Slant,
    ];
    let polarisation = prop::option::of(prop::sample::select(polarisation.to_vec()));
    let stage = prop::option::of(prop::sample::select(vec![Stage::Before, Stage::After]));
    let antenna = (number(), text(), number(), number(), polarisation, text());
    let walk = (
        text(),
        stage,
        number(),
        number(),
        any::<Option<bool>>(),
        any::<Option<bool>>(),
    );
    (antenna, walk).prop_map(|(antenna, walk)| {
        let (bearing_deg, spot, height_m, tilt_deg, polarisation, note) = antenna;
        let (room, stage, level_dbm, quality_db, call_ok, upload_ok) = walk;
        Mark {
            bearing_deg,
            spot,
            height_m,
            tilt_deg,
            polarisation,
            room,
            stage,
            level_dbm,
            quality_db,
            call_ok,
            upload_ok,
            note,
        }
    })
}

fn any_kind() -> impl Strategy<Value = EventKind> {
    prop_oneof![
        4 => any_value(),
        1 => (prop::sample::select(LinkState::ALL), prop::option::of(".*"))
            .prop_map(|(state, detail)| EventKind::Link { state, detail }),
        1 => any::<u32>().prop_map(|count| EventKind::Dropped { count }),
        1 => Just(EventKind::Deadline),
        1 => any_mark().prop_map(|mark| EventKind::Mark(Box::new(mark))),
        1 => ".*".prop_map(|name| EventKind::Key { name }),
        1 => (".*", ".*").prop_map(|(name, value)| EventKind::Setting { name, value }),
        1 => any::<Option<u64>>().prop_map(|lines| EventKind::Unreadable { lines }),
        1 => Just(EventKind::End),
    ]
}

fn any_events() -> impl Strategy<Value = Vec<Event>> {
    prop::collection::vec((0..900_000u64, any_kind()), 0..40).prop_map(|steps| {
        let mut at = 0;
        let step = |(step, kind)| {
            at += step;
            Event {
                at: SessionTime(at),
                kind,
            }
        };
        steps.into_iter().map(step).collect()
    })
}

proptest! {
    #[test]
    fn events_come_back_as_they_were(events in any_events()) {
        let bytes = file(&header(), &events, true);
        let reader = Reader::open(bytes.as_slice()).unwrap();
        prop_assert_eq!(reader.header(), &header());
        let (back, integrity) = drain(reader);
        prop_assert_eq!(&back, &events);
        prop_assert!(integrity.is_sound(), "{}", integrity);
        // Recorded again, it is the same file.
        prop_assert_eq!(file(&header(), &back, true), bytes);
    }

    #[test]
    fn noise_is_refused_or_read_without_events(noise in prop::collection::vec(any::<u8>(), 0..5000)) {
        prop_assert!(Reader::open(noise.as_slice()).is_err());
        let (events, _) = salvage(&noise);
        let only_a_gap = events.iter().all(|e| matches!(e.kind, EventKind::Unreadable { lines: None }));
        prop_assert!(only_a_gap);
    }
}

#[test]
fn another_layout_of_a_line_reads_the_same() {
    let text = br#" {"x":"00fF", "v" : "cell-report", "comment": [1, 2], "t": 12 } "#;
    let (event, rest) = crate::session::line::take(text);
    assert!(rest.is_empty());
    assert_eq!(
        event.unwrap(),
        Event {
            at: SessionTime(12),
            kind: EventKind::Value {
                characteristic: Characteristic::CellReport,
                origin: Origin::Pushed,
                bytes: RawBytes::from_slice(&[0, 255]),
            }
        }
    );
}

#[test]
fn the_largest_stamp_comes_back() {
    let last = Event {
        at: SessionTime(u64::MAX),
        kind: EventKind::Deadline,
    };
    let (back, _) = salvage(&file(&header(), std::slice::from_ref(&last), true));
    assert_eq!(back, [last]);
}

#[test]
fn a_line_too_long_is_refused_and_leaves_no_trace() {
    let mut encoder = Encoder::new();
    encoder.header(&header()).unwrap();
    let before = encoder.pending().to_vec();
    let note = Mark {
        note: Some("x".repeat(crate::session::MAX_LINE)),
        ..Mark::default()
    };
    encoder
        .event(&Event {
            at: SessionTime(5),
            kind: EventKind::Mark(Box::new(note)),
        })
        .unwrap_err();
    assert_eq!(encoder.pending(), before);
}

#[test]
fn lines_of_a_later_minor_version_are_reported_and_passed_over() {
    let mut encoder = Encoder::new();
    encoder.header(&header()).unwrap();
    let key = |name: &str| Event {
        at: SessionTime(1),
        kind: EventKind::Key { name: name.into() },
    };
    encoder.event(&key("one")).unwrap();
    encoder.event(&key("two")).unwrap();
    encoder.close(0);
    let text = String::from_utf8(encoder.pending().to_vec()).unwrap();
    let altered = super::damage::reseal(text.replace("\"key\":\"one\"", "\"new\":\"one\"").as_bytes());
    let (events, integrity) = salvage(&altered);
    let gap = Event {
        at: SessionTime(0),
        kind: EventKind::Unreadable { lines: Some(1) },
    };
    assert_eq!(events, [gap, key("two")]);
    assert_eq!(integrity.skipped.len(), 1);
    assert!(!integrity.is_sound());
}
