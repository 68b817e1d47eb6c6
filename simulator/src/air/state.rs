//! The state file: events, history, sequences and boot id survive, also a kill. It is replaced as a whole, so that it
//! is either the old or the new one.

use super::AirError;
use crate::booster::Memory;
use crate::simulation::Simulation;
use booster_profile::{StoredRecord, UnitEvent};
use serde::{Deserialize, Serialize};
use std::fs::File;
use std::hash::{BuildHasher, Hasher, RandomState};
use std::io::Write;
use std::path::PathBuf;

/// History records that are kept over restarts: enough for a visit, small enough to write at each event.
const HISTORY_KEPT: usize = 3_600;
/// Time between writings for the sake of history alone, µs.
const HISTORY_EVERY_US: u64 = 10_000_000;

#[derive(Serialize, Deserialize)]
struct Saved {
    boot_id: u32,
    next_event: u32,
    next_history: u32,
    /// Stored Records as on the air, hexadecimal, oldest first.
    events: Vec<String>,
    history: Vec<String>,
}

pub(super) struct StateFile {
    path: Option<PathBuf>,
    written_event: u32,
    written_us: u64,
}

impl StateFile {
    /// Reads what an earlier run left and starts the unit with it.
    pub(super) fn open(path: Option<PathBuf>, simulation: &mut Simulation) -> Result<Self, AirError> {
        let spec = simulation.unit().spec();
        let mut memory = Memory::new(spec.event_capacity, spec.history_capacity);
        let mut last_boot = None;
        if let Some(path) = path.as_ref().filter(|p| p.exists()) {
            let saved = read(path)?;
            let damaged = |what: &str| AirError::State {
                path: path.clone(),
                what: what.to_owned(),
            };
            let events = saved
                .events
                .iter()
                .map(|hex| event(hex))
                .collect::<Option<Vec<_>>>();
            memory
                .events
                .restore(events.ok_or_else(|| damaged("an event"))?, saved.next_event);
            let history = saved.history.iter().map(|hex| match record(hex)? {
                StoredRecord::History(h) => Some(h),
                _ => None,
            });
            let history = history.collect::<Option<Vec<_>>>();
            memory.history.restore(
                history.ok_or_else(|| damaged("a history record"))?,
                saved.next_history,
            );
            last_boot = Some(saved.boot_id);
        }
        // Random keys of the standard library's hasher: entropy without a further dependency.
        let boot_id = RandomState::new().build_hasher().finish() as u32;
        let now = simulation.now_us();
        simulation.unit_mut().begin_boot(now, memory, boot_id, last_boot);
        let mut file = Self {
            path,
            written_event: 0,
            written_us: 0,
        };
        file.save(simulation)?;
        Ok(file)
    }

    /// Writes if there is a new event, or history of some length.
    pub(super) fn keep_up(&mut self, simulation: &Simulation) -> Result<(), AirError> {
        let events = simulation.unit().memory().events.next_sequence();
        let due = simulation.now_us() >= self.written_us + HISTORY_EVERY_US;
        if events == self.written_event && !due {
            return Ok(());
        }
        self.save(simulation)
    }

    pub(super) fn save(&mut self, simulation: &Simulation) -> Result<(), AirError> {
        let memory = simulation.unit().memory();
        self.written_event = memory.events.next_sequence();
        self.written_us = simulation.now_us();
        let Some(path) = &self.path else { return Ok(()) };
        let history = memory.history.iter();
        let skip = history.size_hint().0.saturating_sub(HISTORY_KEPT);
        let saved = Saved {
            boot_id: simulation.unit().boot_id(),
            next_event: memory.events.next_sequence(),
            next_history: memory.history.next_sequence(),
            events: memory
                .events
                .iter()
                .map(|e| hex(&StoredRecord::Event(*e)))
                .collect(),
            history: history
                .skip(skip)
                .map(|h| hex(&StoredRecord::History(*h)))
                .collect(),
        };
        let temporary = path.with_extension("new");
        let write = || -> std::io::Result<()> {
            let mut file = File::create(&temporary)?;
            serde_json::to_writer(&mut file, &saved)?;
            file.write_all(b"\n")?;
            file.sync_all()?;
            std::fs::rename(&temporary, path)
        };
        write().map_err(|source| AirError::File {
            doing: "writing the state file",
            path: path.clone(),
            source,
        })
    }
}

fn read(path: &PathBuf) -> Result<Saved, AirError> {
    let text = std::fs::read_to_string(path).map_err(|source| AirError::File {
        doing: "reading the state file",
        path: path.clone(),
        source,
    })?;
    serde_json::from_str(&text).map_err(|e| AirError::State {
        path: path.clone(),
        what: e.to_string(),
    })
}

fn hex(record: &StoredRecord) -> String {
    record.encode().iter().map(|b| format!("{b:02x}")).collect()
}

fn record(hex: &str) -> Option<StoredRecord> {
    let pairs = hex.as_bytes().chunks(2);
    let bytes = pairs.map(|pair| u8::from_str_radix(std::str::from_utf8(pair).ok()?, 16).ok());
    StoredRecord::decode(&bytes.collect::<Option<Vec<u8>>>()?).ok()
}

fn event(hex: &str) -> Option<UnitEvent> {
    match record(hex)? {
        StoredRecord::Event(event) => Some(event),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::Scenario;

    fn unit() -> Simulation {
        Simulation::new(&Scenario::named(Scenario::DEFAULT).unwrap(), 1)
    }

    #[test]
    fn memory_survives_and_the_boot_is_told_apart() {
        let path = std::env::temp_dir().join(format!("booster-state-{}", std::process::id()));
        let mut first = unit();
        let mut file = StateFile::open(Some(path.clone()), &mut first).unwrap();
        first.restart_unit();
        first.advance(20_000_000);
        file.save(&first).unwrap();

        let mut second = unit();
        StateFile::open(Some(path.clone()), &mut second).unwrap();
        std::fs::remove_file(&path).unwrap();
        let (before, after) = (first.unit().memory(), second.unit().memory());
        assert_ne!(first.unit().boot_id() & 0xF, second.unit().boot_id() & 0xF);
        assert_eq!(after.events.next_sequence(), before.events.next_sequence() + 1);
        let kept: Vec<_> = after.events.iter().take(before.events.iter().count()).collect();
        assert_eq!(kept, before.events.iter().collect::<Vec<_>>());
        assert_eq!(after.history.next_sequence(), before.history.next_sequence());
    }

    #[test]
    fn a_damaged_file_is_refused_by_name() {
        let path = std::env::temp_dir().join(format!("booster-state-bad-{}", std::process::id()));
        std::fs::write(
            &path,
            r#"{"boot_id":1,"next_event":2,"next_history":1,"events":["0z"],"history":[]}"#,
        )
        .unwrap();
        let error = StateFile::open(Some(path.clone()), &mut unit()).err().unwrap();
        std::fs::remove_file(&path).unwrap();
        assert!(error.to_string().contains("an event"), "{error}");
    }
}
