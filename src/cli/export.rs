//! `export`: recordings for other programs.

use super::args::{ExportFormat, ExportOptions};
use super::exit::Failure;
use super::progress::{Progress, Watched};
use super::signals::Interrupt;
use crate::export::{Exported, Format, export};
use crate::replay::{Found, find};
use crate::session::Reader;
use anyhow::{Context, anyhow};
use serde::Serialize;
use std::fs::File;
use std::io::{self, Read, Write};
use std::path::Path;
use std::sync::Mutex;
use std::sync::atomic::AtomicU64;

/// What was done, as one JSON object.
#[derive(Default, Serialize)]
struct Done {
    sessions: u64,
    failed: u64,
    rows: u64,
    files: Vec<String>,
}

pub(super) fn run(options: &ExportOptions) -> Result<(), Failure> {
    let sessions =
        find(&options.sessions).map_err(|(path, error)| anyhow!("open {}: {error}", path.display()))?;
    let format = match options.format {
        ExportFormat::Csv => Format::Csv,
        ExportFormat::Parquet => Format::Parquet,
        ExportFormat::Pcapng => Format::Pcapng,
    };
    let interrupt = Interrupt::listen()?;
    let read = AtomicU64::new(0);
    let progress = Mutex::new(Progress::new(&sessions, &read));
    let mut done = Done::default();
    for session in &sessions {
        let result = one(session, format, &options.out, &read, &progress, &interrupt);
        if let Ok(mut progress) = progress.lock() {
            progress.clear();
        }
        if let Some(number) = interrupt.signal() {
            // Only whole sessions stay.
            for file in result.iter().flat_map(|e| &e.files) {
                let _ = std::fs::remove_file(file);
            }
            return Err(Failure::Signal(number));
        }
        match result {
            Ok(exported) => {
                done.sessions += 1;
                done.rows += exported.rows;
                let files = exported.files.iter().map(|f| f.display().to_string());
                done.files.extend(files);
            }
            Err(error) if sessions.len() == 1 => return Err(error.into()),
            Err(error) => {
                done.failed += 1;
                eprintln!("loopmargin: {error:#}");
            }
        }
    }
    let mut out = io::stdout().lock();
    if options.json {
        writeln!(out, "{}", serde_json::to_string(&done)?)?;
    } else {
        for file in &done.files {
            writeln!(out, "{file}")?;
        }
        let what = if format == Format::Pcapng {
            "values"
        } else {
            "readings"
        };
        writeln!(
            out,
            "{} sessions, {} {what}, {} files",
            done.sessions,
            done.rows,
            done.files.len()
        )?;
    }
    match done.failed {
        0 => Ok(()),
        failed => {
            let all = sessions.len();
            Err(anyhow!("export: {failed} of {all} sessions could not be exported; see above").into())
        }
    }
}

fn one(
    session: &Found,
    format: Format,
    out: &Path,
    read: &AtomicU64,
    progress: &Mutex<Progress<'_>>,
    interrupt: &Interrupt,
) -> anyhow::Result<Exported> {
    let shown = session.path.display().to_string();
    let file = File::open(&session.path).with_context(|| format!("open {shown}; check the path"))?;
    let source = Shown {
        source: Watched::new(file, read),
        progress,
        interrupt,
    };
    let mut reader = Reader::open(source).with_context(|| shown.clone())?;
    let exported = export(&mut reader, format, session.stem(), out).with_context(|| shown.clone())?;
    if !reader.integrity().is_sound() {
        eprintln!("loopmargin: {shown}: {}", reader.integrity());
    }
    Ok(exported)
}

/// A source that moves the bar on as it is read, and ends when a signal came.
struct Shown<'a, 'p, R> {
    source: R,
    progress: &'a Mutex<Progress<'p>>,
    interrupt: &'a Interrupt,
}

impl<R: Read> Read for Shown<'_, '_, R> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        if let Ok(mut progress) = self.progress.lock() {
            progress.show();
        }
        match self.interrupt.signal() {
            Some(_) => Ok(0),
            None => self.source.read(buffer),
        }
    }
}
