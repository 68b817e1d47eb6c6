//! Values that break the profile: counted, shown, recorded raw; values of a later minor version: read.

// A failed assumption should stop the test.
#![allow(clippy::expect_used, clippy::panic)]

mod common;

use booster_profile::Characteristic;
use booster_simulator::{Scenario, Simulation};
use common::{Folder, assert_accounts_add_up, json_lines, lines_of, stdout};
use loopmargin::analysis::Criteria;
use loopmargin::event::{Event, EventKind, RawBytes};
use loopmargin::fold::Fold;
use loopmargin::link::Pull;
use loopmargin::link::simulator::SimulatorLink;
use loopmargin::sequencer::Sequencer;
use loopmargin::session::{DirectRecorder, Header, Overwrite};
use std::path::Path;

/// Records half a minute of the default site; `change` may alter the n-th telemetry value.
fn record(path: &Path, change: impl Fn(usize, &mut RawBytes)) {
    let recorder = DirectRecorder::create(path, Overwrite::Refuse).expect("a recording");
    let mut sequencer = Sequencer::new(Fold::new(Criteria::default()), recorder, Header::empty());
    let scenario = Scenario::named(Scenario::DEFAULT).expect("the default site");
    let mut link = SimulatorLink::new(Simulation::new(&scenario, 1));
    let (mut updates, mut n) = (Vec::new(), 0);
    while let Some(mut event) = link.next_event().filter(|e| e.at.seconds() <= 30.0) {
        if let Event {
            kind:
                EventKind::Value {
                    characteristic: Characteristic::BandTelemetry,
                    bytes,
                    ..
                },
            ..
        } = &mut event
        {
            change(n, bytes);
            n += 1;
        }
        sequencer.push(event, &mut updates);
    }
    let at = sequencer.fold().now();
    sequencer.end(at, &mut updates);
}

fn replayed(change: impl Fn(usize, &mut RawBytes)) -> (String, String) {
    let folder = Folder::new();
    record(&folder.path("s.jsonl"), change);
    let text = stdout(&["replay", &folder.file("s.jsonl"), "--json"]);
    let raw = std::fs::read_to_string(folder.path("s.jsonl")).expect("the recording");
    (text, raw)
}

#[test]
fn short_values_are_counted_shown_and_recorded_raw() {
    let (text, raw) = replayed(|n, bytes| {
        if (100..110).contains(&n) {
            bytes.truncate(7);
        }
    });
    let summary = json_lines(&text).pop().expect("a summary");
    assert_eq!(summary["malformed"], 10);
    assert_eq!(summary["malformed_values"], 10);
    assert_accounts_add_up(&summary);
    // Seven bytes are fourteen digits.
    let prefix = "\"v\":\"band-telemetry\",\"x\":\"";
    let digits = |l: &str| l.split_once(prefix).and_then(|(_, rest)| rest.find('"'));
    assert_eq!(
        raw.lines().filter(|l| digits(l) == Some(14)).count(),
        10,
        "the raw values stand in the recording"
    );
}

#[test]
fn contradictory_values_are_counted() {
    let (text, _) = replayed(|n, bytes| {
        if n == 50 {
            // A continuation without a field.
            bytes[0] |= 1 << 4;
            bytes[0] &= 0x3F;
            bytes[1] = 0;
        }
    });
    let summary = json_lines(&text).pop().expect("a summary");
    assert_eq!(summary["malformed"], 1);
    assert_accounts_add_up(&summary);
}

#[test]
fn reserved_flags_and_trailing_bytes_change_nothing() {
    let (plain, _) = replayed(|_, _| {});
    let (later, _) = replayed(|_, bytes| {
        bytes[1] |= 0xE0;
        bytes.extend_from_slice(&[1, 2, 3]);
    });
    assert_eq!(
        lines_of(&plain, &["reading", "finding"]),
        lines_of(&later, &["reading", "finding"])
    );
    assert_eq!(
        json_lines(&later).pop().expect("a summary")["malformed_values"],
        0
    );
}
