//! A recorder killed at random moments: the file opens, and loses at most what followed its last checkpoint.

use booster_profile::Characteristic;
use loopmargin::event::{Event, EventKind, Origin, RawBytes, SessionTime};
use loopmargin::session::{Clock, Header, LiveRecorder, Overwrite, Reader, Record, Why};
use std::fs::{self, File};
use std::path::Path;
use std::process::{Child, Command, Stdio};

/// Tells the child where to record.
const FILE: &str = "LOOPMARGIN_TEST_KILLED_RECORDING";

/// How often the child is killed.
const KILLS: u64 = 60;

/// The event with this number: what is in a file can be told to be what was recorded.
fn event(number: u64) -> Event {
    let bytes = RawBytes::from_slice(&number.to_le_bytes());
    let kind = EventKind::Value {
        characteristic: Characteristic::BandTelemetry,
        origin: Origin::Pushed,
        bytes,
    };
    Event {
        at: SessionTime(number * 20_000),
        kind,
    }
}

/// Not a test of its own: the process that the test kills.
#[test]
#[ignore = "run by the test beside it"]
fn record_until_killed() {
    let Ok(path) = std::env::var(FILE) else { return };
    let mut recorder = LiveRecorder::create(Path::new(&path), Overwrite::Allow).unwrap();
    let started = "2026-03-01T08:00:00Z".parse().unwrap();
    recorder.begin(&Header::new("sim", started, Clock::Simulated));
    for number in 0.. {
        recorder.event(&event(number));
        std::thread::yield_now();
    }
}

/// The child, killed when dropped.
struct Killed(Child);

impl Drop for Killed {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

/// Whether the child was killed while it was still recording.
fn record_and_kill(path: &Path, at_bytes: u64) -> std::io::Result<bool> {
    let child = Command::new(std::env::current_exe()?)
        .args(["--ignored", "--exact", "record_until_killed"])
        .env(FILE, path)
        .stdout(Stdio::null())
        .spawn()?;
    let mut child = Killed(child);
    while fs::metadata(path).map_or(0, |m| m.len()) < at_bytes {
        if child.0.try_wait()?.is_some() {
            return Ok(false);
        }
        std::thread::yield_now();
    }
    Ok(true)
}

#[test]
fn killed_at_any_moment_a_recording_opens_and_loses_at_most_its_last_second() {
    let folder = tempfile::tempdir().unwrap();
    for (kill, name) in (0..KILLS).zip(["visit.jsonl", "visit.jsonl.zst"].iter().cycle()) {
        let path = folder.path().join(name);
        let _ = fs::remove_file(&path);
        // Spread over some tens of kilobytes, by a fixed multiplicative sequence.
        assert!(
            record_and_kill(&path, 10_000 + (kill * 48_271) % 50_021).unwrap(),
            "the recorder ended by itself"
        );

        let mut reader = Reader::open(File::open(&path).unwrap()).unwrap();
        let mut next = 0;
        while let Some(got) = reader.next_event() {
            match got.kind {
                // Told in its place: the queue was full, because nothing paced the recording.
                EventKind::Unreadable { lines: Some(count) } => next += count,
                EventKind::Unreadable { lines: None } => {}
                _ => {
                    assert_eq!(got, event(next), "kill {kill}");
                    next += 1;
                }
            }
        }
        assert!(next > 0, "kill {kill}");
        let integrity = reader.integrity();
        assert_eq!(integrity.closed, None);
        assert!(integrity.skipped.len() <= 1, "kill {kill}: {integrity}");
        for skipped in &integrity.skipped {
            // A session second is 50 events here.
            assert!(
                matches!(skipped.why, Why::AfterLastCheckpoint { lines } if lines <= 50),
                "{skipped}"
            );
        }
    }
}
