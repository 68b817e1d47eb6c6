//! Summaries and repairs.

use super::damage::recorded;
use super::*;
use crate::session::{DirectRecorder, Overwrite, ReadError, repair, summarize};
use std::fs;

fn repaired(bytes: &[u8]) -> Result<Vec<u8>, ReadError> {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("copy.jsonl");
    let mut copy = DirectRecorder::create(&path, Overwrite::Refuse).unwrap();
    repair(bytes, &mut copy)?;
    Ok(fs::read(path).unwrap())
}

#[test]
fn a_summary_counts_what_is_there() {
    let summary = summarize(file(&header(), &events(), true).as_slice()).unwrap();
    // The header did not know the unit; a value read later tells its serial number.
    let unit = crate::session::UnitInfo {
        serial: Some("A-1".to_owned()),
        ..Default::default()
    };
    let completed = Header {
        unit: Some(unit),
        ..header()
    };
    assert_eq!(summary.header, completed);
    assert_eq!(summary.duration_s, 5.1);
    assert_eq!(summary.values["band-telemetry"], 2);
    assert_eq!((summary.marks, summary.connections), (1, 0));
    assert!(summary.integrity.is_sound());
    assert!(matches!(
        summarize(&b"nothing of ours"[..]),
        Err(ReadError::Nothing)
    ));
}

#[test]
fn a_sound_file_is_repaired_to_itself() {
    let bytes = file(&header(), &events(), true);
    assert_eq!(repaired(&bytes).unwrap(), bytes);
    assert!(matches!(repaired(b""), Err(ReadError::Nothing)));
}

#[test]
fn a_repaired_file_is_sound_and_gives_the_same_events_as_the_damaged_one() {
    let bytes = file(&header(), &events(), true);
    for place in (0..bytes.len()).step_by(11) {
        let mut damaged = bytes.clone();
        damaged[place] ^= 4;
        let (before, _) = salvage(&damaged);
        let (after, integrity) = salvage(&repaired(&damaged).unwrap());
        assert_eq!(before, after, "byte {place}");
        assert!(integrity.is_sound(), "byte {place}: {integrity}");
    }
}

#[test]
fn a_file_that_was_cut_off_is_closed_by_repair() {
    let events = recorded(events());
    let copy = repaired(&file(&header(), &events, false)).unwrap();
    let (back, integrity) = salvage(&copy);
    assert!(integrity.is_sound());
    // What followed the last checkpoint is gone; one line says so.
    assert_eq!(back.last().unwrap().kind, EventKind::Unreadable { lines: None });
    assert_eq!(back.len(), events.len());
}
