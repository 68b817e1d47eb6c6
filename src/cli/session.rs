//! `session`: care of recordings.

use super::args::{SessionCommand, SessionOptions};
use super::exit::Failure;
use crate::session::{
    DirectRecorder, Integrity, Overwrite, ReadError, Record, RecorderState, StandIns, Summary, Totals,
    anonymize, repair, summarize,
};
use anyhow::Context;
use serde::Serialize;
use std::collections::BTreeMap;
use std::fs::File;
use std::io::{self, Write};
use std::path::Path;

pub(super) fn run(options: &SessionOptions) -> Result<(), Failure> {
    match &options.command {
        SessionCommand::Info { file, json } => info(file, *json),
        SessionCommand::Verify { file, json } => verify(file, *json),
        SessionCommand::Anonymize {
            file,
            out,
            operators,
            key,
            json,
        } => hide(file, out, *operators, key.as_deref(), *json),
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
    let (integrity, totals) = write_copy(path, copy, |recorder| repair(source, recorder))?;
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

/// Makes a copy with `write`; leaves no file behind if there was nothing to copy, because an empty copy would only look
/// like a recording.
fn write_copy(
    path: &Path,
    copy: &Path,
    write: impl FnOnce(&mut DirectRecorder) -> Result<(Integrity, Totals), ReadError>,
) -> Result<(Integrity, Totals), Failure> {
    let mut recorder = DirectRecorder::create(copy, Overwrite::Refuse)?;
    let written = write(&mut recorder).with_context(|| path.display().to_string());
    let failure = recorder.status().map(|status| status.state);
    drop(recorder);
    let failed = match (written, failure) {
        (Ok(_), Some(RecorderState::NotRecording { reason })) => {
            anyhow::anyhow!("writing {}: {reason}", copy.display())
        }
        (Ok(written), _) => return Ok(written),
        (Err(error), _) => error,
    };
    // What is left of it is of no use.
    let _ = std::fs::remove_file(copy);
    Err(failed.into())
}

#[derive(Serialize)]
struct Hidden<'a> {
    out: String,
    events: u64,
    /// Different originals replaced, by kind.
    replaced: BTreeMap<&'static str, u64>,
    integrity: &'a Integrity,
}

fn hide(path: &Path, copy: &Path, operators: bool, key: Option<&Path>, json: bool) -> Result<(), Failure> {
    let mut stand_ins = match key {
        None => StandIns::numbered(),
        Some(file) => {
            let key = std::fs::read(file).with_context(|| format!("read the key {}", file.display()))?;
            StandIns::keyed(&key).with_context(|| {
                format!(
                    "the key {} is empty; write something secret into it",
                    file.display()
                )
            })?
        }
    };
    let source = open(path)?;
    let (integrity, totals) = write_copy(path, copy, |recorder| {
        anonymize(source, recorder, &mut stand_ins, operators)
    })?;
    if !integrity.is_sound() {
        eprintln!("loopmargin: {}: {integrity}", path.display());
    }
    let replaced = stand_ins.counts();
    let mut out = io::stdout().lock();
    if json {
        let line = Hidden {
            out: copy.display().to_string(),
            events: totals.lines,
            replaced,
            integrity: &integrity,
        };
        writeln!(out, "{}", serde_json::to_string(&line)?)?;
        return Ok(());
    }
    let kinds: Vec<String> = replaced.iter().map(|(kind, n)| format!("{kind} {n}")).collect();
    let kinds = if kinds.is_empty() {
        "nothing".to_owned()
    } else {
        kinds.join(", ")
    };
    writeln!(
        out,
        "{}: {} events; replaced: {kinds}",
        copy.display(),
        totals.lines
    )?;
    writeln!(
        out,
        "what stays can still hint at a place: date, model, channel numbers, cell identities; look before you publish"
    )?;
    Ok(())
}
