//! `replay`: analyse recordings as fast as possible, one or a whole archive.

use super::args::ReplayOptions;
use super::exit::Failure;
use super::progress::{Progress, Watched};
use super::signals::Interrupt;
use crate::analysis::Criteria;
use crate::output::Output;
use crate::output::brief::{self, Brief};
use crate::output::json::{Json, TotalsLine};
use crate::output::plain::Plain;
use crate::replay::{Expectations, Found, Outcome, Piece, Then, compare, find, in_order, junit, replay};
use anyhow::{Context, anyhow};
use std::fs::File;
use std::io::{self, Write};
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::AtomicU64;
use std::thread::available_parallelism;

pub(super) fn run(options: &ReplayOptions) -> Result<(), Failure> {
    let sessions =
        find(&options.paths).map_err(|(path, error)| anyhow!("open {}: {error}", path.display()))?;
    let bytes_read = AtomicU64::new(0);
    let work = Work {
        criteria: options.criteria.as_deref().map(read_criteria).transpose()?,
        style: Style::of(options),
        expect: options.expect,
        write_expect: options.write_expect,
        bytes_read: &bytes_read,
        interrupt: Interrupt::listen()?,
    };
    let jobs = options
        .jobs
        .map_or_else(|| available_parallelism().map_or(1, usize::from), usize::from);
    let mut progress = Progress::new(&sessions, &bytes_read);
    let mut tally = Tally::new(options, sessions.len());
    let mut stdout = io::stdout().lock();
    in_order(
        jobs,
        &sessions,
        |session, out| work.one(session, out),
        |piece| {
            let done = matches!(piece, Piece::Done(_));
            match piece {
                Piece::Tick => {}
                Piece::Bytes(bytes) => {
                    progress.clear();
                    stdout.write_all(&bytes)?;
                }
                Piece::Done(report) => {
                    progress.clear();
                    tally.add(report);
                }
            }
            progress.show();
            match work.interrupt.signal() {
                // The session in hand has told how far it came; nothing more is begun.
                Some(_) if done => Ok(Then::End),
                _ => Ok(Then::GoOn),
            }
        },
    )?;
    progress.clear();
    tally.finish(options, &mut stdout)?;
    work.interrupt
        .signal()
        .map_or(Ok(()), |number| Err(Failure::Signal(number)))
}

/// Reads limits from a file.
pub(super) fn read_criteria(path: &Path) -> anyhow::Result<Criteria> {
    let text = std::fs::read_to_string(path).with_context(|| format!("read criteria {}", path.display()))?;
    Criteria::parse(&text).with_context(|| path.display().to_string())
}

/// What is printed of a session.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Style {
    /// JSON Lines.
    Json,
    /// What happened, line by line.
    Plain,
    /// One line.
    Brief,
}

impl Style {
    /// One file that nothing is expected of is told in full; of many, a line each.
    fn of(options: &ReplayOptions) -> Self {
        let judged = options.expect || options.write_expect || options.junit.is_some();
        match options.paths.as_slice() {
            _ if options.json => Style::Json,
            [path] if !judged && !path.is_dir() => Style::Plain,
            _ => Style::Brief,
        }
    }
}

/// What is to be done with each session.
struct Work<'a> {
    criteria: Option<Criteria>,
    style: Style,
    expect: bool,
    write_expect: bool,
    bytes_read: &'a AtomicU64,
    interrupt: Arc<Interrupt>,
}

/// What became of a session.
struct Report {
    shown: String,
    result: anyhow::Result<Outcome>,
}

impl Work<'_> {
    fn one(&self, session: &Found, out: &mut dyn Write) -> Report {
        let shown = session.path.display().to_string();
        let result = self.replay(&session.path, &shown, out);
        Report { shown, result }
    }

    fn replay(&self, path: &Path, shown: &str, out: &mut dyn Write) -> anyhow::Result<Outcome> {
        let file = File::open(path).with_context(|| format!("open {shown}; check the path"))?;
        let session = replay(Watched::new(file, self.bytes_read), self.criteria.as_ref())
            .with_context(|| shown.to_owned())?;
        if !session.unknown_criteria().is_empty() {
            let unknown = session.unknown_criteria().join(", ");
            eprintln!("loopmargin: {shown}: criteria in the header not known here, left out: {unknown}");
        }
        let source = session.header().source.clone();
        let mut output: Box<dyn Output + '_> = match self.style {
            Style::Json => {
                let source = source.as_deref().unwrap_or("unknown");
                Box::new(Json::new(out, source, Some(shown)))
            }
            Style::Plain => Box::new(Plain::new(out)),
            Style::Brief => Box::new(Brief::new(out, shown)),
        };
        let expectations = Expectations::path_for(path);
        let stopped = || self.interrupt.signal().is_some();
        let judge = |outcome: &Outcome| match Expectations::load(&expectations) {
            // What was not replayed to its end cannot be judged.
            _ if !self.expect || stopped() => Vec::new(),
            Ok(expected) => compare(&expected, outcome),
            Err(error) => vec![error.to_string()],
        };
        let outcome = session
            .run(&mut *output, self.expect || self.write_expect, stopped, judge)
            .with_context(|| shown.to_owned())?;
        if self.write_expect && !stopped() {
            Expectations::of(&outcome).save(&expectations)?;
        }
        Ok(outcome)
    }
}

/// Sums up sessions as they come.
struct Tally {
    totals: TotalsLine,
    cases: Vec<junit::Case>,
    /// The only session's own error: it is told as such.
    error: Option<anyhow::Error>,
    sessions: usize,
}

impl Tally {
    fn new(options: &ReplayOptions, sessions: usize) -> Self {
        let totals = TotalsLine {
            kind: "totals",
            different: options.expect.then_some(0),
            ..TotalsLine::default()
        };
        Self {
            totals,
            cases: Vec::new(),
            error: None,
            sessions,
        }
    }

    fn add(&mut self, report: Report) {
        let totals = &mut self.totals;
        self.cases.push(junit::Case {
            name: report.shown.clone(),
            error: report.result.as_ref().err().map(|e| format!("{e:#}")),
            differences: report
                .result
                .as_ref()
                .map_or(Vec::new(), |o| o.differences.clone()),
        });
        match report.result {
            Ok(outcome) => {
                totals.sessions += 1;
                totals.damaged += u64::from(!outcome.integrity.is_sound());
                totals.readings += outcome.accounts.readings;
                totals.expected += outcome.accounts.expected;
                totals.not_recorded += outcome.not_recorded;
                totals.duration_s += outcome.duration.seconds();
                if let Some(different) = &mut totals.different {
                    *different += u64::from(!outcome.differences.is_empty());
                }
                for (code, count) in outcome.raised {
                    *totals.findings.entry(code).or_default() += count;
                }
                if !outcome.integrity.is_sound() {
                    eprintln!("loopmargin: {}: {}", report.shown, outcome.integrity);
                }
            }
            Err(error) => {
                totals.failed += 1;
                if self.sessions == 1 {
                    self.error = Some(error);
                } else {
                    eprintln!("loopmargin: {error:#}");
                }
            }
        }
    }

    fn finish(self, options: &ReplayOptions, out: &mut impl Write) -> Result<(), Failure> {
        if let Some(path) = &options.junit {
            let text = junit::xml("loopmargin replay", &self.cases);
            std::fs::write(path, text).with_context(|| format!("write {}", path.display()))?;
        }
        let totals = &self.totals;
        if self.sessions > 1 {
            if options.json {
                writeln!(out, "{}", serde_json::to_string(totals)?)?;
            } else {
                writeln!(out, "{}", words(totals))?;
            }
        }
        out.flush()?;
        if totals.different.is_some_and(|n| n > 0) {
            return Err(Failure::Fail);
        }
        match self.error {
            Some(error) => Err(error.into()),
            None if totals.failed > 0 => {
                let (failed, all) = (totals.failed, self.sessions);
                Err(anyhow!("replay: {failed} of {all} sessions could not be replayed; see above").into())
            }
            None => Ok(()),
        }
    }
}

fn words(totals: &TotalsLine) -> String {
    let different = match totals.different {
        None => String::new(),
        Some(0) => "; all as expected".to_owned(),
        Some(n) => format!("; {n} not as expected"),
    };
    format!(
        "{} sessions, {:.1} h: {} readings of {} expected; findings: {}; {} damaged, {} not readable{different}",
        totals.sessions,
        totals.duration_s / 3600.0,
        totals.readings,
        totals.expected,
        brief::findings(&totals.findings),
        totals.damaged,
        totals.failed,
    )
}
