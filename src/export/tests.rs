//! What is exported is what a replay reads, and nothing is overwritten.

use super::*;
use crate::analysis::Criteria;
use crate::event::SessionTime;
use crate::fold::{Fold, Update};
use crate::link::Pull;
use crate::link::simulator::SimulatorLink;
use crate::output::Output;
use crate::output::json::Json;
use crate::sequencer::Sequencer;
use crate::session::{Clock, DirectRecorder, Header, Overwrite};
use booster_simulator::{Scenario, Simulation};
use std::fs::{self, File};

/// A recording of the default site that crosses midnight, and its reading lines as JSON.
fn recorded(folder: &Path) -> (PathBuf, Vec<serde_json::Value>) {
    let path = folder.join("night.jsonl");
    let header = Header::new("sim", "2026-01-01T23:59:50Z".parse().unwrap(), Clock::Simulated);
    let recorder = DirectRecorder::create(&path, Overwrite::Refuse).unwrap();
    let mut sequencer = Sequencer::new(Fold::new(Criteria::default()), recorder, header);
    let scenario = Scenario::named(Scenario::DEFAULT).unwrap();
    let mut link = SimulatorLink::new(Simulation::new(&scenario, 1));
    let until = SessionTime::from_millis(20_000);
    let (mut updates, mut text) = (Vec::new(), Vec::new());
    let mut json = Json::new(&mut text, "sim", None);
    while let Some(event) = link.next_event().filter(|e| e.at <= until) {
        sequencer.push(event, &mut updates);
        for update in updates.drain(..) {
            if matches!(update, Update::Reading { .. }) {
                json.update(&update, sequencer.fold()).unwrap();
            }
        }
        sequencer
            .take_requests()
            .into_iter()
            .for_each(|r| link.request(r));
    }
    sequencer.end(until, &mut updates);
    let text = String::from_utf8(text).unwrap();
    let lines = text.lines().map(|l| serde_json::from_str(l).unwrap());
    (path, lines.collect())
}

fn run(path: &Path, format: Format, out: &Path) -> Result<Exported, ExportError> {
    let mut reader = Reader::open(File::open(path).unwrap()).unwrap();
    export(&mut reader, format, "night", out)
}

/// A value of a reading line as it stands in CSV.
fn field(value: &serde_json::Value) -> String {
    match value {
        serde_json::Value::Null => String::new(),
        serde_json::Value::String(text) => text.clone(),
        serde_json::Value::Array(names) => {
            let names: Vec<&str> = names.iter().filter_map(|n| n.as_str()).collect();
            names.join(";")
        }
        other => other.to_string(),
    }
}

#[test]
fn csv_says_what_json_says_letter_by_letter() {
    let folder = tempfile::tempdir().unwrap();
    let (path, lines) = recorded(folder.path());
    let exported = run(&path, Format::Csv, folder.path()).unwrap();
    let text = fs::read_to_string(&exported.files[0]).unwrap();
    let mut rows = text
        .split_terminator("\r\n")
        .map(|row| row.split(',').collect::<Vec<_>>());
    let names = rows.next().unwrap();
    let rows: Vec<_> = rows.collect();
    assert_eq!(rows.len(), lines.len());
    assert_eq!(exported.rows, lines.len() as u64);
    for (row, line) in rows.iter().zip(&lines) {
        for (name, value) in names.iter().zip(row) {
            match *name {
                "session" => assert_eq!(*value, "night"),
                "time" => assert!(value.starts_with("2026-01-0") && value.ends_with('Z'), "{value}"),
                "late" => assert_eq!(*value, "false"),
                name => assert_eq!(*value, field(&line[name]), "{name} in {line}"),
            }
        }
    }
}

#[test]
fn every_field_of_a_reading_line_is_a_column() {
    let folder = tempfile::tempdir().unwrap();
    let (_, lines) = recorded(folder.path());
    for name in lines[0].as_object().unwrap().keys().filter(|k| *k != "type") {
        assert!(COLUMNS.iter().any(|c| c.name == name), "{name}");
    }
}

#[test]
fn parquet_is_partitioned_by_unit_and_day() {
    let folder = tempfile::tempdir().unwrap();
    let (path, lines) = recorded(folder.path());
    let out = folder.path().join("archive");
    let exported = run(&path, Format::Parquet, &out).unwrap();
    let below: Vec<String> = exported
        .files
        .iter()
        .map(|f| f.strip_prefix(&out).unwrap().display().to_string())
        .collect();
    assert_eq!(below.len(), 2, "{below:?}");
    assert!(below[0].starts_with("unit=") && below[0].ends_with("/date=2026-01-01/night.parquet"));
    assert!(below[1].ends_with("/date=2026-01-02/night.parquet"));
    assert_eq!(exported.rows, lines.len() as u64);
    for file in &exported.files {
        let bytes = fs::read(file).unwrap();
        assert!(bytes.starts_with(b"PAR1") && bytes.ends_with(b"PAR1"));
    }
}

#[test]
fn nothing_is_overwritten_and_nothing_half_done_stays() {
    let folder = tempfile::tempdir().unwrap();
    let (path, _) = recorded(folder.path());
    for format in [Format::Csv, Format::Parquet, Format::Pcapng] {
        let out = folder.path().join(format!("{format:?}"));
        let first = run(&path, format, &out).unwrap();
        let before = fs::read(&first.files[0]).unwrap();
        assert!(matches!(run(&path, format, &out), Err(ExportError::Exists(_))));
        assert_eq!(fs::read(&first.files[0]).unwrap(), before);
    }
    let names = walk(folder.path());
    assert!(names.iter().all(|n| !n.ends_with(".partial")), "{names:?}");
}

fn walk(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder).unwrap().map(|e| e.unwrap().path());
    entries
        .flat_map(|path| {
            if path.is_dir() {
                walk(&path)
            } else {
                vec![path.display().to_string()]
            }
        })
        .collect()
}
