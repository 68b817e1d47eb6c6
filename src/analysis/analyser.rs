//! Runs the rules over readings and keeps the findings.

use super::catalogue::{Facts, words};
use super::latch::{Change, Judgement, Latch};
use super::memory::Memory;
use super::rules::{Context, RULES};
use super::{Code, Criteria, Evidence, Finding, Path, Severity, Subject};
use crate::event::SessionTime;
use crate::telemetry::{Accounts, Identity, Reading};
use booster_profile::{Authorization, Reasons, UnitEvent, UnitStatus};
use std::time::Duration;

/// A rule that cannot judge a band, and the thing that the unit does not report.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct NotJudged {
    /// Code of the finding that cannot be judged.
    pub code: Code,
    /// Position of the band.
    pub band: usize,
    /// Completes "the unit does not report …".
    pub missing: &'static str,
}

#[derive(Clone, Debug, Default)]
struct BandState {
    memory: Memory,
    latches: [[Latch; 2]; RULES.len()],
    not_judged: [Option<&'static str>; RULES.len()],
}

/// The fold from readings to findings.
#[derive(Debug)]
pub struct Analyser {
    criteria: Criteria,
    bands: Vec<BandState>,
    open: Vec<Finding>,
    changes: Vec<Finding>,
    last_reading: Option<SessionTime>,
    stale: bool,
}

impl Analyser {
    /// An analyser that compares with these limits.
    pub fn new(criteria: Criteria) -> Self {
        Self {
            criteria,
            bands: Vec::new(),
            open: Vec::new(),
            changes: Vec::new(),
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
        &self.open
    }

    /// Moves the findings that were raised or cleared since the last call to `into`.
    pub fn drain_changes(&mut self, into: &mut Vec<Finding>) {
        into.append(&mut self.changes);
    }

    /// What cannot be judged, by code and band.
    pub fn not_judged(&self) -> Vec<NotJudged> {
        let mut all: Vec<NotJudged> = self
            .bands
            .iter()
            .enumerate()
            .flat_map(|(band, state)| {
                RULES
                    .iter()
                    .zip(state.not_judged)
                    .filter_map(move |(rule, missing)| {
                        Some(NotJudged {
                            code: rule.code(),
                            band,
                            missing: missing?,
                        })
                    })
            })
            .collect();
        all.sort();
        all
    }

    /// A reading in order.
    pub fn reading(&mut self, reading: &Reading, identity: &Identity, accounts: Accounts) {
        let Some(band) = identity.band(reading.position) else {
            return;
        };
        if self.bands.len() < identity.bands.bands.len() {
            self.bands
                .resize_with(identity.bands.bands.len(), BandState::default);
        }
        self.last_reading = Some(reading.at);
        if self.stale {
            self.stale = false;
            self.clear(
                Code::StaleTelemetry,
                Subject {
                    band: None,
                    path: None,
                },
                reading.at,
            );
        }
        let Some(mut state) = self.bands.get_mut(reading.position).map(std::mem::take) else {
            return;
        };
        let step = state.memory.step(reading, default_interval(identity));
        state.memory.account(reading, accounts);
        for (index, rule) in RULES.iter().enumerate() {
            let paths = if rule.per_path() {
                &Path::BOTH[..]
            } else {
                &Path::BOTH[..1]
            };
            for path in paths {
                let context = Context {
                    criteria: &self.criteria,
                    identity,
                    band,
                    reading,
                    memory: &state.memory,
                    path: *path,
                };
                let judgement = rule.judge(&context);
                if *path == Path::Downlink || judgement != Judgement::Good {
                    state.not_judged[index] = match judgement {
                        Judgement::NotJudged(missing) => Some(missing),
                        _ => None,
                    };
                }
                let subject = Subject {
                    band: Some(reading.position),
                    path: rule.per_path().then_some(*path),
                };
                match state.latches[index][*path as usize].judge(judgement, step, rule.timing()) {
                    Some(Change::Raise) => {
                        let facts = Facts {
                            name: identity.name(reading.position),
                            path: subject.path,
                            shortfall_db: rule.shortfall_db(&context),
                            reasons: context.reasons(),
                        };
                        let (severity, evidence) = (rule.severity(&context), rule.evidence(&context));
                        self.raise(rule.code(), severity, subject, reading.at, evidence, &facts);
                    }
                    Some(Change::Clear) => self.clear(rule.code(), subject, reading.at),
                    None => {}
                }
            }
        }
        if let Some(slot) = self.bands.get_mut(reading.position) {
            *slot = state;
        }
    }

    /// A unit event as it happens; what was fetched from the log is history and raises nothing.
    pub fn unit_event(&mut self, event: &UnitEvent, identity: &Identity) {
        match event.band {
            Some(index) => {
                if let Some(state) = identity.position(index).and_then(|p| self.bands.get_mut(p)) {
                    state.memory.event(event);
                }
            }
            None => self.bands.iter_mut().for_each(|s| s.memory.event(event)),
        }
    }

    /// The unit started anew.
    pub fn restarted(&mut self) {
        self.bands.iter_mut().for_each(|s| s.memory.restarted());
    }

    /// A unit status.
    pub fn unit(&mut self, at: SessionTime, status: &UnitStatus) {
        let subject = Subject {
            band: None,
            path: None,
        };
        let is_open = self.is_open(Code::NotAuthorized, subject);
        match (status.authorization, is_open) {
            (Authorization::Absent, false) => {
                let evidence = vec![
                    Evidence::text("authorization", status.authorization.name()),
                    Evidence::text("operating_state", status.state.name()),
                ];
                self.raise(
                    Code::NotAuthorized,
                    Severity::Critical,
                    subject,
                    at,
                    evidence,
                    &UNIT,
                );
            }
            (Authorization::Present | Authorization::NotRequired, true) => {
                self.clear(Code::NotAuthorized, subject, at);
            }
            _ => {}
        }
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
        let subject = Subject {
            band: None,
            path: None,
        };
        self.raise(
            Code::StaleTelemetry,
            Severity::Warning,
            subject,
            at,
            evidence,
            &UNIT,
        );
    }

    fn stale_after(&self, identity: &Identity) -> Duration {
        let limits = &self.criteria.telemetry;
        let seen = self.bands.iter().filter_map(|s| s.memory.interval()).max();
        let interval = seen.unwrap_or(default_interval(identity));
        let least = Duration::try_from_secs_f64(limits.stale_min_s).unwrap_or(Duration::from_secs(1));
        interval.saturating_mul(limits.stale_intervals).max(least)
    }

    fn is_open(&self, code: Code, subject: Subject) -> bool {
        self.open.iter().any(|f| f.code == code && f.subject == subject)
    }

    fn raise(
        &mut self,
        code: Code,
        severity: Severity,
        subject: Subject,
        at: SessionTime,
        evidence: Vec<Evidence>,
        facts: &Facts<'_>,
    ) {
        let words = words(code, facts);
        let finding = Finding {
            code,
            severity,
            subject,
            raised: at,
            cleared: None,
            evidence,
            meaning: words.meaning,
            causes: words.causes,
            remedies: words.remedies,
        };
        self.changes.push(finding.clone());
        self.open.push(finding);
        self.open
            .sort_by(|a, b| b.severity.cmp(&a.severity).then(a.raised.cmp(&b.raised)));
    }

    fn clear(&mut self, code: Code, subject: Subject, at: SessionTime) {
        if let Some(index) = self
            .open
            .iter()
            .position(|f| f.code == code && f.subject == subject)
        {
            let mut finding = self.open.remove(index);
            finding.cleared = Some(at);
            self.changes.push(finding);
        }
    }
}

/// Words about the whole unit.
const UNIT: Facts<'static> = Facts {
    name: "The unit",
    path: None,
    shortfall_db: None,
    reasons: Reasons(0),
};

fn default_interval(identity: &Identity) -> Duration {
    Duration::from_millis(
        identity
            .feature
            .map_or(1_000, |f| u64::from(f.default_interval_ms)),
    )
}
