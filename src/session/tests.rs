//! Tests of writing and reading together.

mod care;
mod compressed;
mod damage;
mod golden;
mod recording;
mod round_trip;

use super::{Clock, Encoder, Header, Integrity, Reader};
use crate::event::*;
use booster_profile::Characteristic;

/// A header with everything in it.
fn header() -> Header {
    let mut header = Header::new(
        "sim:two-bands",
        "2026-03-01T08:00:00Z".parse().unwrap(),
        Clock::Simulated,
    );
    header.software = Some("loopmargin test".into());
    header.criteria = Some("margin_db = 15.0\n".into());
    header.site = Some("Attic above \"Hall 3\", key at the desk".into());
    header.set_band_table(&[0; 3]);
    header
}

/// A few seconds with an event of every kind.
fn events() -> Vec<Event> {
    let value = |characteristic, origin, bytes: &[u8]| EventKind::Value {
        characteristic,
        origin,
        bytes: RawBytes::from_slice(bytes),
    };
    let text = |s: &str| s.to_owned();
    let kinds = [
        (
            0,
            EventKind::Link {
                state: LinkState::Connecting,
                detail: None,
            },
        ),
        (250_000, value(Characteristic::SerialNumber, Origin::Read, b"A-1")),
        (
            300_000,
            EventKind::Written {
                characteristic: Characteristic::ReportControl,
                bytes: RawBytes::from_slice(&[1, 100, 0]),
            },
        ),
        (
            400_001,
            value(Characteristic::BandTelemetry, Origin::Pushed, &[0xA5; 46]),
        ),
        (999_999, value(Characteristic::BandTelemetry, Origin::Pushed, &[])),
        (1_000_000, EventKind::Dropped { count: 3 }),
        (
            1_200_000,
            value(Characteristic::StoredRecord, Origin::Pushed, &[7; 60]),
        ),
        (2_500_000, EventKind::Deadline),
        (
            2_500_000,
            EventKind::Link {
                state: LinkState::Stalled,
                detail: Some(text("nothing for 2 s\n\"crc\":\"00000000\"}")),
            },
        ),
        (
            4_000_000,
            EventKind::Mark(Box::new(Mark {
                bearing_deg: Some(217.3),
                spot: Some(text("north gable")),
                height_m: Some(6.1),
                tilt_deg: Some(-0.1),
                polarisation: Some(Polarisation::Slant),
                room: Some(text("archive, 2nd floor")),
                stage: Some(Stage::After),
                level_dbm: Some(-97.5),
                quality_db: Some(11.0),
                call_ok: Some(true),
                upload_ok: Some(false),
                note: Some(text("ladder, λ/2 off the wall")),
            })),
        ),
        (4_100_000, EventKind::Key { name: text("settle") }),
        (
            4_200_000,
            EventKind::Setting {
                name: text("report-interval"),
                value: text("100 ms"),
            },
        ),
        (5_000_000, EventKind::Unreadable { lines: Some(2) }),
        (5_000_000, EventKind::Unreadable { lines: None }),
        (5_100_000, EventKind::End),
    ];
    kinds
        .into_iter()
        .map(|(at, kind)| Event {
            at: SessionTime(at),
            kind,
        })
        .collect()
}

/// The bytes of a session.
fn file(header: &Header, events: &[Event], closed: bool) -> Vec<u8> {
    let mut encoder = Encoder::new();
    encoder.header(header).unwrap();
    for event in events {
        encoder.event(event).unwrap();
    }
    if closed {
        encoder.close(0);
    }
    encoder.pending().to_vec()
}

/// Everything that is left in a file, however damaged.
fn salvage(bytes: &[u8]) -> (Vec<Event>, Integrity) {
    drain(Reader::salvage(bytes).unwrap())
}

fn drain(mut reader: Reader<&[u8]>) -> (Vec<Event>, Integrity) {
    let events = std::iter::from_fn(|| reader.next_event()).collect();
    (events, reader.integrity().clone())
}
