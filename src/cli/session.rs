//! `session`: care of recordings.

use super::args::{SessionCommand, SessionOptions};
use super::exit::Failure;
use crate::session::{DirectRecorder, Integrity, Overwrite, Summary, repair, summarize};
use anyhow::Context;
use serde::Serialize;
use std::fs::File;
use std::io::{self, Write};
use std::path::Path;

pub(super) fn run(options: &SessionOptions) -> Result<(), Failure> {
    match &options.command {
        SessionCommand::Info { file, json } => info(file, *json),
        SessionCommand::Verify { file, json } => verify(file, *json),
        SessionCommand::Repair { file, out, json } => mend(file, out, *json),
    }
}

fn open(path: &Path) -> anyhow::Result<File> {
    File::open(path).with_context(|| format!("open {}; check the path", path.display()))
}

fn read(path: &Path) -> anyhow::Result<Summary> {
    summarize(open(path)?).with_context(|| path.display().to_string())
}

fn info(path: &Path, json: bool) -> Result<(), Failure> {
    let summary = read(path)?;
    let mut out = io::stdout().lock();
    if json {
        writeln!(out, "{}", serde_json::to_string(&summary)?)?;
        return Ok(());
    }
    let header = &summary.header;
    let or_unknown = |text: Option<String>| text.unwrap_or_else(|| "not known".to_owned());
    let unit = header.unit.clone().unwrap_or_default();
    writeln!(
        out,
        "recorded by {} from {}",
        or_unknown(header.software.clone()),
        or_unknown(header.source.clone())
    )?;
    writeln!(
        out,
        "started {}, lasted {:.1} s",
        or_unknown(header.started.map(|t| t.to_string())),
        summary.duration_s
    )?;
    writeln!(
        out,
        "unit {}, serial {}, firmware {}",
        or_unknown(unit.model),
        or_unknown(unit.serial),
        or_unknown(unit.firmware)
    )?;
    for (characteristic, count) in &summary.values {
        writeln!(out, "{count:>9} {characteristic}")?;
    }
    writeln!(
        out,
        "{} marks, link live {} times",
        summary.marks, summary.connections
    )?;
    writeln!(out, "{}: {}", word(&summary.integrity), summary.integrity)?;
    Ok(())
}

fn word(integrity: &Integrity) -> &'static str {
    if integrity.is_sound() { "sound" } else { "damaged" }
}

#[derive(Serialize)]
struct Verdict<'a> {
    result: &'static str,
    integrity: &'a Integrity,
}

fn verify(path: &Path, json: bool) -> Result<(), Failure> {
    let summary = read(path)?;
    let integrity = &summary.integrity;
    let mut out = io::stdout().lock();
    if json {
        let result = if integrity.is_sound() { "pass" } else { "fail" };
        writeln!(out, "{}", serde_json::to_string(&Verdict { result, integrity })?)?;
    } else {
        writeln!(out, "{}: {integrity}", word(integrity))?;
        for place in &integrity.skipped {
            writeln!(out, "    {place}")?;
        }
    }
    if integrity.is_sound() {
        Ok(())
    } else {
        Err(Failure::Fail)
    }
}

#[derive(Serialize)]
struct Repaired<'a> {
    out: String,
    events: u64,
    integrity: &'a Integrity,
}

fn mend(path: &Path, copy: &Path, json: bool) -> Result<(), Failure> {
    let source = open(path)?;
    let mut recorder = DirectRecorder::create(copy, Overwrite::Refuse)?;
    let repaired = repair(source, &mut recorder).with_context(|| path.display().to_string());
    let (integrity, totals) = match repaired {
        Ok(repaired) => repaired,
        Err(error) => {
            drop(recorder);
            // Nothing sound was found: an empty copy would only look like a recording.
            let _ = std::fs::remove_file(copy);
            return Err(error.into());
        }
    };
    let mut out = io::stdout().lock();
    if json {
        let line = Repaired {
            out: copy.display().to_string(),
            events: totals.lines,
            integrity: &integrity,
        };
        writeln!(out, "{}", serde_json::to_string(&line)?)?;
    } else {
        writeln!(out, "{}: {integrity}", word(&integrity))?;
        writeln!(out, "{}: {} events in a sound copy", copy.display(), totals.lines)?;
    }
    Ok(())
}
