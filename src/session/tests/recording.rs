//! Recording to files and to things that fail.

use super::damage::recorded;
use super::*;
use crate::session::tape::{Sink, Tape};
use crate::session::zstd::Squeezer;
use crate::session::{DirectRecorder, LiveRecorder, Overwrite, Record, RecordError, RecorderState, Totals};
use std::fs;
use std::io::{self, Write};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::sync::{Arc, Mutex};

/// Takes a few bytes at a time and fails at one of its operations, as a disk that fills up does.
#[derive(Clone, Default)]
struct Disk {
    bytes: Vec<u8>,
    /// Operations until the failure.
    left: usize,
}

impl Disk {
    fn operation(&mut self) -> io::Result<()> {
        self.left = self.left.checked_sub(1).ok_or(io::ErrorKind::StorageFull)?;
        Ok(())
    }
}

impl Write for Disk {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.operation()?;
        let some = &bytes[..bytes.len().min(7)];
        self.bytes.extend_from_slice(some);
        Ok(some.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

impl Sink for Disk {
    fn sync(&mut self) -> io::Result<()> {
        self.operation()
    }
}

/// Records a session and returns the totals, what is on the disk, and whether something failed.
fn record(left: usize, flush_each: bool, compressed: bool) -> (Totals, Vec<u8>, bool) {
    let squeezer = compressed.then(|| Squeezer::new().unwrap());
    let mut tape = Tape::new(
        Disk {
            left,
            ..Disk::default()
        },
        squeezer,
    );
    tape.begin(&header());
    for event in events() {
        tape.event(&event);
        if flush_each {
            tape.flush();
            tape.sync();
        }
    }
    let totals = tape.close();
    let failed = tape.standing().2.is_some();
    (totals, tape.into_sink().bytes, failed)
}

#[test]
fn whichever_operation_fails_the_accounts_add_up_and_the_file_opens() {
    let given = recorded(events()).len() as u64;
    for (flush_each, compressed) in [(false, false), (true, false), (false, true), (true, true)] {
        let mut left = 0;
        loop {
            let (totals, bytes, failed) = record(left, flush_each, compressed);
            assert_eq!(totals.lines + totals.not_recorded, given, "failure after {left}");
            assert_eq!(totals.bytes, bytes.len() as u64);
            let (back, _) = salvage(&bytes);
            assert_eq!(recorded(back).len() as u64, totals.lines, "failure after {left}");
            if !failed {
                assert!(compressed || bytes == file(&header(), &events(), true));
                break;
            }
            left += 1;
        }
        assert!(left > 100);
    }
}

#[test]
fn a_full_disk_says_so() {
    let (mut tape, free) = (Tape::new(Disk::default(), None), "free some space");
    tape.begin(&header());
    tape.flush();
    let (_, _, failure) = tape.standing();
    assert!(failure.is_some_and(|f| f.contains(free)), "{failure:?}");
}

#[test]
fn live_and_direct_recordings_hold_the_same_events() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name| folder.path().join(name);
    let live =
        |name| -> Box<dyn Record> { Box::new(LiveRecorder::create(&at(name), Overwrite::Refuse).unwrap()) };
    let direct =
        |name| -> Box<dyn Record> { Box::new(DirectRecorder::create(&at(name), Overwrite::Refuse).unwrap()) };
    let recorders = [
        live("l.jsonl"),
        direct("d.jsonl"),
        live("l.jsonl.zst"),
        direct("d.jsonl.zst"),
    ];
    for mut recorder in recorders {
        recorder.begin(&header());
        events().iter().for_each(|event| recorder.event(event));
        assert_eq!(recorder.status().unwrap().state, RecorderState::Recording);
        let totals = recorder.finish();
        assert_eq!(
            (totals.lines, totals.not_recorded),
            (recorded(events()).len() as u64, 0)
        );
        assert_eq!(recorder.finish(), totals);
        let status = recorder.status().unwrap();
        assert_eq!(
            (status.state, status.bytes),
            (RecorderState::Finished, totals.bytes)
        );
        let (back, integrity) = salvage(&fs::read(status.path).unwrap());
        assert_eq!(back, events());
        assert!(integrity.is_sound());
    }
    // A generated file depends on nothing but what is in it.
    assert_eq!(fs::read(at("d.jsonl")).unwrap(), file(&header(), &events(), true));
}

#[test]
fn a_recorder_that_goes_away_leaves_a_file_that_opens() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("visit.jsonl");
    let mut recorder = LiveRecorder::create(&path, Overwrite::Refuse).unwrap();
    recorder.begin(&header());
    events().iter().for_each(|event| recorder.event(event));
    drop(recorder);
    let (back, integrity) = salvage(&fs::read(path).unwrap());
    assert_eq!(back, events());
    assert_eq!(integrity.closed, None);
    assert!(integrity.skipped.is_empty());
}

#[test]
fn a_file_is_never_replaced_unless_told_and_never_written_twice_at_once() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("visit.jsonl");
    fs::write(&path, "precious").unwrap();
    let refused = DirectRecorder::create(&path, Overwrite::Refuse).unwrap_err();
    assert!(matches!(refused, RecordError::Exists(_)));
    assert_eq!(fs::read(&path).unwrap(), b"precious");

    let mut first = LiveRecorder::create(&path, Overwrite::Allow).unwrap();
    for overwrite in [Overwrite::Allow, Overwrite::Refuse] {
        let second = DirectRecorder::create(&path, overwrite).unwrap_err();
        assert!(matches!(second, RecordError::Locked(_)), "{second}");
    }
    first.begin(&header());
    first.finish();
    assert_eq!(fs::read(&path).unwrap(), file(&header(), &[], true));
    assert_eq!(
        fs::read_dir(folder.path()).unwrap().count(),
        1,
        "the lock is gone"
    );
    DirectRecorder::create(&path, Overwrite::Allow).unwrap();
    let nowhere = DirectRecorder::create(&folder.path().join("no/where"), Overwrite::Refuse).unwrap_err();
    assert!(
        nowhere.to_string().contains("create the folder first"),
        "{nowhere}"
    );
}

/// Says when it is asked to write, and then waits until it is let go.
struct Stuck {
    asked: Sender<()>,
    go: Receiver<()>,
    bytes: Arc<Mutex<Vec<u8>>>,
}

impl Write for Stuck {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let _ = self.asked.send(());
        // Once the other end is dropped, everything passes.
        let _ = self.go.recv();
        self.bytes.lock().unwrap().write(bytes)
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

impl Sink for Stuck {
    fn sync(&mut self) -> io::Result<()> {
        Ok(())
    }
}

#[test]
fn a_disk_that_hangs_blocks_nobody_and_the_file_tells_what_it_misses() {
    let (go_on, go) = channel();
    let (asked, is_asked) = channel();
    let bytes = Arc::new(Mutex::new(Vec::new()));
    let sink = Stuck {
        asked,
        go,
        bytes: bytes.clone(),
    };
    let mut recorder = LiveRecorder::start("stuck".as_ref(), Tape::new(sink, None), None, 8).unwrap();
    recorder.begin(&header());
    is_asked.recv().unwrap();
    let key = |at| Event {
        at: SessionTime(at),
        kind: EventKind::Key { name: at.to_string() },
    };
    (0..100).for_each(|at| recorder.event(&key(at)));
    assert_eq!(recorder.status().unwrap().not_recorded, 92);
    drop(go_on);
    (100..200).for_each(|at| recorder.event(&key(at)));
    let totals = recorder.finish();
    assert_eq!(totals.lines + totals.not_recorded, 200);
    assert_eq!(recorder.status().unwrap().not_recorded, totals.not_recorded);

    let (back, integrity) = salvage(&bytes.lock().unwrap());
    assert_eq!(integrity.closed, Some(totals.not_recorded));
    let missing: u64 = back
        .iter()
        .filter_map(|e| match e.kind {
            EventKind::Unreadable { lines } => lines,
            _ => None,
        })
        .sum();
    assert_eq!(missing, totals.not_recorded);
    assert_eq!(recorded(back).len() as u64, totals.lines);
}
