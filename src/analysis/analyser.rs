//! Runs the rules over readings, statuses and events, and keeps the findings.

use super::catalogue::{Facts, Figures, Known, Situation};
use super::findings::Findings;
use super::latch::{Change, Judgement, Latch};
use super::memory::Memory;
use super::rules::{BandFacts, Context, RULES, UNIT_RULES, UnitContext, all_dropped};
use super::unit::UnitMemory;
use super::{Code, Criteria, Evidence, Finding, Severity, Subject};
use crate::event::SessionTime;
use crate::telemetry::{Accounts, Identity, Reading};
use booster_profile::{CellReport, UnitEvent, UnitStatus};
use std::time::Duration;

/// A rule that cannot judge a band or the unit, and the thing that the unit does not report.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct NotJudged {
    /// Code of the finding that cannot be judged.
    pub code: Code,
    /// Position of the band; `None` for the unit as a whole.
    pub band: Option<usize>,
    /// Completes "the unit does not report …".
    pub missing: &'static str,
}

/// What is known of one band.
#[derive(Clone, Debug, Default)]
pub(super) struct BandState {
    pub(super) memory: Memory,
    /// The last reading in order.
    pub(super) latest: Option<Reading>,
    facts: Option<BandFacts>,
    latches: [[Latch; 2]; RULES.len()],
    not_judged: [Option<&'static str>; RULES.len()],
}

/// The fold from readings, statuses and events to findings.
#[derive(Debug)]
pub struct Analyser {
    criteria: Criteria,
    bands: Vec<BandState>,
    unit: UnitMemory,
    unit_latches: [Latch; UNIT_RULES.len()],
    unit_not_judged: [Option<&'static str>; UNIT_RULES.len()],
    /// When the rules about the unit were last asked.
    unit_judged: Option<SessionTime>,
    findings: Findings,
    last_reading: Option<SessionTime>,
    stale: bool,
}

impl Analyser {
    /// An analyser that compares with these limits.
    pub fn new(criteria: Criteria) -> Self {
        Self {
            criteria,
            bands: Vec::new(),
            unit: UnitMemory::default(),
            unit_latches: Default::default(),
            unit_not_judged: Default::default(),
            unit_judged: None,
            findings: Findings::default(),
            last_reading: None,
            stale: false,
        }
    }

    /// The limits in effect.
    pub fn criteria(&self) -> &Criteria {
        &self.criteria
    }

    /// Open findings, worst first, then oldest first.
    pub fn open(&self) -> &[Finding] {
        self.findings.open()
    }

    /// Moves the findings that were raised or cleared since the last call to `into`.
    pub fn drain_changes(&mut self, into: &mut Vec<Finding>) {
        self.findings.drain_changes(into);
    }

    /// What cannot be judged, by code and band.
    pub fn not_judged(&self) -> Vec<NotJudged> {
        let entry = |code, band, missing: Option<&'static str>| {
            Some(NotJudged {
                code,
                band,
                missing: missing?,
            })
        };
        let unit = UNIT_RULES
            .iter()
            .zip(self.unit_not_judged)
            .filter_map(|(rule, missing)| entry(rule.code(), None, missing));
        let bands = self.bands.iter().enumerate().flat_map(|(band, state)| {
            RULES
                .iter()
                .zip(state.not_judged)
                .filter_map(move |(rule, missing)| entry(rule.code(), Some(band), missing))
        });
        let mut all: Vec<NotJudged> = unit.chain(bands).collect();
        all.sort();
        all
    }

    /// A reading in order.
    pub fn reading(&mut self, reading: &Reading, identity: &Identity, accounts: Accounts) {
        if identity.band(reading.position).is_none() {
            return;
        }
        if self.bands.len() < identity.bands.bands.len() {
            self.bands
                .resize_with(identity.bands.bands.len(), BandState::default);
        }
        self.last_reading = Some(reading.at);
        if self.stale {
            self.stale = false;
            self.findings
                .clear(Code::StaleTelemetry, Subject::UNIT, reading.at);
        }
        self.judge_band(reading, identity, accounts);
        self.judge_unit(reading.at, identity);
    }

    fn judge_band(&mut self, reading: &Reading, identity: &Identity, accounts: Accounts) {
        let Self {
            criteria,
            bands,
            unit,
            findings,
            ..
        } = self;
        let (Some(band), Some(state)) = (identity.band(reading.position), bands.get_mut(reading.position))
        else {
            return;
        };
        let BandState {
            memory,
            latest,
            facts,
            latches,
            not_judged,
        } = state;
        let step = memory.step(reading, default_interval(identity));
        memory.account(reading, accounts);
        if unit.aim_safe() {
            memory.antenna_moves();
        }
        *latest = Some(*reading);
        if !facts.as_ref().is_some_and(|f| f.are_of(band)) {
            *facts = Some(BandFacts::new(band, criteria));
        }
        let Some(facts) = facts.as_ref() else { return };
        for (index, rule) in RULES.iter().enumerate() {
            let mut missing = None;
            for path in rule.paths() {
                let context = Context {
                    criteria,
                    identity,
                    band,
                    facts,
                    reading,
                    memory,
                    unit,
                    path: *path,
                };
                let judgement = rule.judge(&context);
                if let Judgement::NotJudged(what) = judgement {
                    missing = Some(what);
                }
                let change = latches[index][*path as usize].judge(judgement, step, rule.timing());
                let subject = Subject {
                    band: Some(reading.position),
                    path: rule.names_path().then_some(*path),
                };
                let came_about = latches[index][*path as usize].was_good();
                let facts = |figures| Facts {
                    name: identity.name(reading.position),
                    path: subject.path,
                    figures,
                    situation: rule.situation(&context),
                    came_about,
                    known: Known::of(&context),
                };
                match change {
                    Some(Change::Raise) => {
                        let facts = facts(rule.figures(&context));
                        let (severity, evidence) = (rule.severity(&context), rule.evidence(&context));
                        findings.raise(rule.code(), severity, subject, reading.at, evidence, &facts);
                    }
                    Some(Change::Clear) => findings.clear(rule.code(), subject, reading.at),
                    // Advice keeps pace with a finding that grows or shrinks while it is open.
                    None if judgement == Judgement::Bad && findings.is_open(rule.code(), subject) => {
                        let (figures, situation) = (rule.figures(&context), rule.situation(&context));
                        if findings.outgrown(rule.code(), subject, reading.at, &figures, situation) {
                            let evidence = rule.evidence(&context);
                            findings.renew(rule.code(), subject, reading.at, evidence, &facts(figures));
                        }
                    }
                    None => {}
                }
            }
            not_judged[index] = missing;
        }
    }

    /// Asks the rules about the unit. Time counts between two askings that are no further apart than readings or
    /// statuses may be.
    fn judge_unit(&mut self, at: SessionTime, identity: &Identity) {
        let before = self.unit_judged.replace(at);
        if before == Some(at) {
            return;
        }
        let longest = self.interval(identity).max(STATUS_INTERVAL) * 3;
        let step = before.map(|b| at - b).filter(|step| *step <= longest);
        let context = UnitContext {
            criteria: &self.criteria,
            identity,
            unit: &self.unit,
            bands: &self.bands,
            at,
        };
        let dropped = all_dropped(&context);
        for (index, rule) in UNIT_RULES.iter().enumerate() {
            let judgement = rule.judge(&context);
            self.unit_not_judged[index] = match judgement {
                Judgement::NotJudged(what) => Some(what),
                _ => None,
            };
            let change = self.unit_latches[index].judge(judgement, step, rule.timing());
            let came_about = self.unit_latches[index].was_good();
            let facts = |figures| Facts {
                name: "The unit",
                path: None,
                figures,
                situation: rule.situation(&context),
                came_about,
                known: Known::default(),
            };
            match change {
                Some(Change::Raise) => {
                    let facts = facts(rule.figures(&context));
                    let (severity, evidence) = (rule.severity(&context), rule.evidence(&context));
                    self.findings
                        .raise(rule.code(), severity, Subject::UNIT, at, evidence, &facts);
                }
                Some(Change::Clear) => self.findings.clear(rule.code(), Subject::UNIT, at),
                None if judgement == Judgement::Bad && self.findings.is_open(rule.code(), Subject::UNIT) => {
                    let (figures, situation) = (rule.figures(&context), rule.situation(&context));
                    if self
                        .findings
                        .outgrown(rule.code(), Subject::UNIT, at, &figures, situation)
                    {
                        let evidence = rule.evidence(&context);
                        self.findings
                            .renew(rule.code(), Subject::UNIT, at, evidence, &facts(figures));
                    }
                }
                None => {}
            }
        }
        self.unit.all_dropped = dropped;
    }

    /// A unit event as it happens; what was fetched from the log is history and raises nothing.
    pub fn unit_event(&mut self, at: SessionTime, event: &UnitEvent, identity: &Identity) {
        self.unit.event(event);
        match event.band {
            Some(index) => {
                if let Some(state) = identity.position(index).and_then(|p| self.bands.get_mut(p)) {
                    state.memory.event(event);
                }
            }
            None => self.bands.iter_mut().for_each(|s| s.memory.event(event)),
        }
        self.judge_unit(at, identity);
    }

    /// A cell report.
    pub fn cell(&mut self, at: SessionTime, cell: &CellReport, identity: &Identity) {
        let Some(position) = identity.position(cell.band) else {
            return;
        };
        if self.bands.len() <= position {
            self.bands.resize_with(position + 1, BandState::default);
        }
        if let Some(state) = self.bands.get_mut(position) {
            state.memory.cells.report(at, cell);
        }
    }

    /// The unit started anew.
    pub fn restarted(&mut self, at: SessionTime) {
        self.unit.restarted(at);
        self.bands.iter_mut().for_each(|s| s.memory.restarted());
    }

    /// A unit status.
    pub fn unit(&mut self, at: SessionTime, status: &UnitStatus, identity: &Identity) {
        self.unit.status(status);
        self.judge_unit(at, identity);
    }

    /// When the next rule about absence is due, if nothing arrives before.
    pub fn next_deadline(&self, identity: &Identity) -> Option<SessionTime> {
        if self.stale {
            return None;
        }
        self.last_reading.map(|t| t + self.stale_after(identity))
    }

    /// Time has come to `at` without anything arriving.
    pub fn advance(&mut self, at: SessionTime, identity: &Identity) {
        if self.next_deadline(identity).is_none_or(|deadline| deadline > at) {
            return;
        }
        self.stale = true;
        let age = self.last_reading.map_or(Duration::ZERO, |t| at - t);
        let evidence = vec![Evidence::number("age_s", age.as_secs_f64())];
        let facts = Facts {
            name: "The unit",
            path: None,
            figures: Figures::default(),
            situation: Situation::Plain,
            came_about: true,
            known: Known::default(),
        };
        self.findings.raise(
            Code::StaleTelemetry,
            Severity::Warning,
            Subject::UNIT,
            at,
            evidence,
            &facts,
        );
    }

    /// Longest report interval in force.
    fn interval(&self, identity: &Identity) -> Duration {
        let seen = self.bands.iter().filter_map(|s| s.memory.interval()).max();
        seen.unwrap_or(default_interval(identity))
    }

    fn stale_after(&self, identity: &Identity) -> Duration {
        let limits = &self.criteria.telemetry;
        let least = Duration::try_from_secs_f64(limits.stale_min_s).unwrap_or(Duration::from_secs(1));
        self.interval(identity)
            .saturating_mul(limits.stale_intervals)
            .max(least)
    }
}

/// A unit tells its status once a second at least (profile).
const STATUS_INTERVAL: Duration = Duration::from_secs(1);

fn default_interval(identity: &Identity) -> Duration {
    Duration::from_millis(
        identity
            .feature
            .map_or(1_000, |f| u64::from(f.default_interval_ms)),
    )
}
