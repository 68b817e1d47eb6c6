//! One recording replayed, and what came of it.

use super::Statistics;
use super::criteria::recorded;
use crate::analysis::acceptance::Verdict;
use crate::analysis::{Criteria, Finding, Severity};
use crate::event::{EventKind, SessionTime};
use crate::fold::{Fold, Update};
use crate::output::{Output, Summary};
use crate::sequencer::Sequencer;
use crate::session::{Header, Integrity, NotRecording, ReadError, Reader};
use crate::telemetry::Accounts;
use std::collections::BTreeMap;
use std::io::{self, Read};

/// What became of a session.
#[derive(Clone, Debug)]
pub struct Outcome {
    /// Accounts of all bands together.
    pub accounts: Accounts,
    /// Names of the bands, and the accounts of each.
    pub bands: Vec<(String, Accounts)>,
    /// Events that the recorder could not record.
    pub not_recorded: u64,
    /// How often each finding was raised, in order of its name.
    pub raised: BTreeMap<&'static str, u64>,
    /// Findings, in the order in which they were raised; only where it was asked for.
    pub findings: Vec<Seen>,
    /// Time of the last event.
    pub duration: SessionTime,
    /// Result as a whole.
    pub verdict: Verdict,
    /// What the readings were like; likewise.
    pub statistics: Option<Statistics>,
    /// Condition of the file.
    pub integrity: Integrity,
    /// In what it differs from what was expected of it.
    pub differences: Vec<String>,
}

/// A finding of a session.
#[derive(Clone, Debug, PartialEq)]
pub struct Seen {
    /// Code by its name.
    pub code: &'static str,
    /// Severity when raised.
    pub severity: Severity,
    /// Name of the band; `None` for the whole unit.
    pub band: Option<String>,
    /// `dl` or `ul`; `None` for both.
    pub direction: Option<&'static str>,
    /// When it was raised.
    pub raised: SessionTime,
    /// When it was cleared; `None` if it still held at the end.
    pub cleared: Option<SessionTime>,
}

/// Result of a session: by the worst finding that still holds at its end; without a reading it fails.
fn verdict(readings: u64, open: &[Finding]) -> Verdict {
    match open.iter().map(|f| f.severity).max() {
        _ if readings == 0 => Verdict::Fail,
        Some(Severity::Critical) => Verdict::Fail,
        Some(Severity::Warning) => Verdict::Marginal,
        Some(Severity::Info) | None => Verdict::Pass,
    }
}

/// Why a replay did not come to its end.
#[derive(Debug, thiserror::Error)]
pub enum ReplayError {
    /// The recording.
    #[error(transparent)]
    Read(#[from] ReadError),
    /// The limits in its header.
    #[error("criteria in the header: {0}; give others with --criteria")]
    Criteria(String),
    /// What it is printed to.
    #[error("printing: {0}")]
    Print(#[from] io::Error),
}

/// A replay about to run: the recording is open, its limits are known.
pub struct Replay<R> {
    reader: Reader<R>,
    criteria: Criteria,
    unknown: Vec<String>,
}

/// Opens a recording for replay, with limits of its own if none are given.
///
/// # Errors
/// [`ReplayError::Read`] or [`ReplayError::Criteria`].
pub fn replay<R: Read>(source: R, criteria: Option<&Criteria>) -> Result<Replay<R>, ReplayError> {
    let reader = Reader::open(source)?;
    let (criteria, unknown) = match (criteria, &reader.header().criteria) {
        (Some(given), _) => (given.clone(), Vec::new()),
        (None, Some(text)) => recorded(text).map_err(ReplayError::Criteria)?,
        (None, None) => (Criteria::default(), Vec::new()),
    };
    Ok(Replay {
        reader,
        criteria,
        unknown,
    })
}

impl<R: Read> Replay<R> {
    /// What the recording says about itself.
    pub fn header(&self) -> &Header {
        self.reader.header()
    }

    /// Limits in the header that this version does not know: the rest is in effect.
    pub fn unknown_criteria(&self) -> &[String] {
        &self.unknown
    }

    /// Runs to the end, or until `stop` says so. `in_detail`: findings one by one and statistics are kept, for a
    /// comparison. `judge` says in what the outcome differs from what was expected; that is printed before the summary.
    ///
    /// # Errors
    /// [`ReplayError::Print`].
    pub fn run(
        mut self,
        output: &mut dyn Output,
        in_detail: bool,
        stop: impl Fn() -> bool,
        judge: impl FnOnce(&Outcome) -> Vec<String>,
    ) -> Result<Outcome, ReplayError> {
        let header = self.reader.header().clone();
        let mut run = Run {
            sequencer: Sequencer::new(Fold::new(self.criteria), NotRecording, header),
            updates: Vec::new(),
            findings: Vec::new(),
            statistics: in_detail.then(Statistics::default),
        };
        let mut ended = false;
        while !stop()
            && let Some(event) = self.reader.next_event()
        {
            ended |= event.kind == EventKind::End;
            run.sequencer.push(event, &mut run.updates);
            run.pass_on(output)?;
        }
        if !ended {
            // The recording was cut off: it ends where its last sound line stands.
            let at = run.sequencer.fold().now();
            run.sequencer.end(at, &mut run.updates);
            run.pass_on(output)?;
        }
        let integrity = self.reader.integrity().clone();
        let fold = run.sequencer.fold();
        let telemetry = fold.telemetry();
        let accounts = telemetry.total();
        let bands = (0..telemetry.identity().bands.bands.len())
            .map(|i| (telemetry.identity().name(i).to_owned(), telemetry.accounts(i)));
        let mut outcome = Outcome {
            differences: Vec::new(),
            accounts,
            bands: bands.collect(),
            not_recorded: integrity.closed.unwrap_or(0),
            raised: fold.raised().clone(),
            findings: run.findings,
            duration: fold.now(),
            verdict: verdict(accounts.readings, fold.findings()),
            statistics: run.statistics,
            integrity,
        };
        outcome.differences = judge(&outcome);
        outcome
            .differences
            .iter()
            .try_for_each(|d| output.difference(d))?;
        output.summary(&Summary {
            fold,
            not_recorded: outcome.not_recorded,
            latency: None,
        })?;
        Ok(outcome)
    }
}

struct Run {
    sequencer: Sequencer<NotRecording>,
    updates: Vec<Update>,
    findings: Vec<Seen>,
    statistics: Option<Statistics>,
}

impl Run {
    fn pass_on(&mut self, output: &mut dyn Output) -> io::Result<()> {
        for update in &self.updates {
            if let Some(statistics) = &mut self.statistics {
                match update {
                    Update::Reading { reading, .. } => statistics.add(reading),
                    Update::Finding(finding) => note(&mut self.findings, finding, self.sequencer.fold()),
                    _ => {}
                }
            }
            output.update(update, self.sequencer.fold())?;
        }
        self.updates.clear();
        Ok(())
    }
}

fn note(findings: &mut Vec<Seen>, finding: &Finding, fold: &Fold) {
    let name = |position| fold.telemetry().identity().name(position).to_owned();
    let seen = Seen {
        code: finding.code.name(),
        severity: finding.severity,
        band: finding.subject.band.map(name),
        direction: finding.subject.path.map(|p| p.name()),
        raised: finding.raised,
        cleared: finding.cleared,
    };
    let same = |s: &&mut Seen| {
        (s.code, s.direction, s.raised) == (seen.code, seen.direction, seen.raised) && s.band == seen.band
    };
    match findings.iter_mut().rev().find(same) {
        Some(known) => *known = seen,
        None => findings.push(seen),
    }
}
