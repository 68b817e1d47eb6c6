//! Runs the rules over readings, statuses and events, and keeps the findings.

use super::catalogue::{Facts, Figures, Known, Situation};
use super::findings::Findings;
use super::latch::{Change, Latch, Timing};
use super::memory::Memory;
use super::rules::{BandFacts, Context, RULES, Rule, UNIT_RULES, UnitContext, Values, all_dropped, swings};
use super::unit::UnitMemory;
use super::{Code, Criteria, Evidence, Finding, Path, Severity, Subject};
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
    /// What follows from this revision of the Band Table.
    facts: Option<(u32, BandFacts)>,
    latches: [[Latch; 2]; RULES.len()],
}

/// A rule about readings for one path.
#[derive(Clone, Copy)]
struct Slot {
    rule: &'static dyn Rule,
    index: usize,
    path: Path,
    timing: Timing,
}

/// Every rule for each of its paths.
fn slots(factor: f64) -> Vec<Slot> {
    let of = |(index, rule): (usize, &'static dyn Rule)| {
        rule.paths().iter().map(move |path| Slot {
            rule,
            index,
            path: *path,
            timing: rule.timing().scaled(factor),
        })
    };
    RULES.into_iter().enumerate().flat_map(of).collect()
}

/// The fold from readings, statuses and events to findings.
#[derive(Debug)]
pub struct Analyser {
    criteria: Criteria,
    bands: Vec<BandState>,
    unit: UnitMemory,
    unit_latches: [Latch; UNIT_RULES.len()],
    /// When the rules about the unit were last asked.
    unit_judged: Option<SessionTime>,
    slots: Vec<Slot>,
    unit_timing: [Timing; UNIT_RULES.len()],
    /// Bands that have reported since the rules about the unit were last asked, a bit each.
    round: u64,
    last_round: Option<SessionTime>,
    findings: Findings,
    last_reading: Option<SessionTime>,
    stale: bool,
}

impl std::fmt::Debug for Slot {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{} {}", self.rule.code().name(), self.path.name())
    }
}

impl Analyser {
    /// An analyser that compares with these limits.
    pub fn new(criteria: Criteria) -> Self {
        let factor = criteria.durations.factor;
        Self {
            slots: slots(factor),
            unit_timing: UNIT_RULES.map(|r| r.timing().scaled(factor)),
            round: 0,
            last_round: None,
            criteria,
            bands: Vec::new(),
            unit: UnitMemory::default(),
            unit_latches: Default::default(),
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
        let entry = |code, band, latch: &Latch| {
            Some(NotJudged {
                code,
                band,
                missing: latch.missing()?,
            })
        };
        let unit = UNIT_RULES
            .iter()
            .zip(&self.unit_latches)
            .filter_map(|(rule, latch)| entry(rule.code(), None, latch));
        let bands = self.bands.iter().enumerate().flat_map(|(band, state)| {
            self.slots.iter().filter_map(move |slot| {
                let latch = &state.latches[slot.index][slot.path as usize];
                entry(slot.rule.code(), Some(band), latch)
            })
        });
        let mut all: Vec<NotJudged> = unit.chain(bands).collect();
        all.sort();
        all.dedup();
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
        // The rules about the unit are asked once a round: when every band has reported, or one for the second time.
        let bit = 1 << (reading.position % 64);
        let all = identity.bands.bands.len();
        if self.round & bit != 0 || (self.round | bit).count_ones() as usize >= all {
            // A band that reports for the second time has begun the next round.
            self.round &= bit;
            self.end_round(reading.at, identity);
        } else {
            self.round |= bit;
        }
    }

    /// Every band has reported.
    fn end_round(&mut self, at: SessionTime, identity: &Identity) {
        let before = self.last_round.replace(at);
        let step_us = before.map_or(0, |before| at.0.saturating_sub(before.0));
        let longest_us = self.longest_step_us(identity);
        let context = UnitContext {
            criteria: &self.criteria,
            identity,
            unit: &self.unit,
            bands: &self.bands,
            at,
        };
        let swings = swings(&context);
        let dt_s = step_us.min(longest_us) as f64 / 1e6;
        if self.unit.aim_safe() {
            self.unit.antenna_moves();
        }
        self.unit.sway.follow(swings, dt_s);
        self.judge_unit(at, identity);
    }

    fn judge_band(&mut self, reading: &Reading, identity: &Identity, accounts: Accounts) {
        let Self {
            criteria,
            bands,
            unit,
            slots,
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
        } = state;
        let step_us = memory.step(reading, default_interval_us(identity));
        memory.account(reading, accounts);
        if unit.aim_safe() {
            memory.antenna_moves();
        }
        *latest = Some(*reading);
        let revision = identity.band_revision();
        if facts.as_ref().is_none_or(|(of, _)| *of != revision) {
            *facts = Some((revision, BandFacts::new(band, criteria)));
        }
        let Some((_, facts)) = facts.as_ref() else { return };
        let rsrp = reading.telemetry.extra.cell.rsrp;
        unit.note_spare(reading.position, rsrp.map(|r| r.dbm() - facts.weak_rsrp_dbm));
        let unit = &*unit;
        let values = |path| Values::new(path, &reading.telemetry, facts, memory);
        let values = [values(Path::Downlink), values(Path::Uplink)];
        let context = |path: Path| Context {
            criteria,
            identity,
            band,
            facts,
            reading,
            memory,
            unit,
            path,
            values: &values[path as usize],
        };
        let contexts = [context(Path::Downlink), context(Path::Uplink)];
        for slot in slots.iter() {
            let context = &contexts[slot.path as usize];
            let latch = &mut latches[slot.index][slot.path as usize];
            let judgement = slot.rule.judge(context);
            let change = latch.judge(judgement, step_us, slot.timing);
            if change.is_some() || latch.holds_on() {
                tell(findings, slot.rule, context, change, latch.was_good());
            }
        }
    }

    /// Asks the rules about the unit. Time counts between two askings that are no further apart than readings or
    /// statuses may be.
    fn judge_unit(&mut self, at: SessionTime, identity: &Identity) {
        let before = self.unit_judged.replace(at);
        if before == Some(at) {
            return;
        }
        let longest = self.longest_step_us(identity);
        let step_us = before
            .map(|b| at.0.saturating_sub(b.0))
            .filter(|step| *step <= longest);
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
            let latch = &mut self.unit_latches[index];
            let change = latch.judge(judgement, step_us, self.unit_timing[index]);
            if change.is_none() && !latch.holds_on() {
                continue;
            }
            let (figures, situation) = (rule.figures(&context), rule.situation(&context));
            let facts = Facts {
                name: "The unit",
                path: None,
                figures,
                situation,
                came_about: latch.was_good(),
                known: Known::default(),
            };
            let (code, subject) = (rule.code(), Subject::UNIT);
            match change {
                Some(Change::Raise) => {
                    let (severity, evidence) = (rule.severity(&context), rule.evidence(&context));
                    self.findings.raise(code, severity, subject, at, evidence, &facts);
                }
                Some(Change::Clear) => self.findings.clear(code, subject, at),
                // Advice keeps pace with a finding that grows or shrinks while it is open.
                None if self.findings.outgrown(code, subject, at, &figures, situation) => {
                    self.findings
                        .renew(code, subject, rule.evidence(&context), &facts);
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

    /// Longest time between two judgements of the unit that counts, µs: no further apart than readings or statuses may
    /// be.
    fn longest_step_us(&self, identity: &Identity) -> u64 {
        self.interval_us(identity)
            .max(STATUS_INTERVAL_US)
            .saturating_mul(3)
    }

    /// Longest report interval in force, µs.
    fn interval_us(&self, identity: &Identity) -> u64 {
        let seen = self.bands.iter().filter_map(|s| s.memory.interval_us()).max();
        seen.unwrap_or(default_interval_us(identity))
    }

    fn stale_after(&self, identity: &Identity) -> Duration {
        let limits = &self.criteria.telemetry;
        let least = Duration::try_from_secs_f64(limits.stale_min_s).unwrap_or(Duration::from_secs(1));
        Duration::from_micros(self.interval_us(identity))
            .saturating_mul(limits.stale_intervals)
            .max(least)
    }
}

/// A unit tells its status once a second at least (profile), µs.
const STATUS_INTERVAL_US: u64 = 1_000_000;

fn default_interval_us(identity: &Identity) -> u64 {
    let default_ms = identity.feature.map_or(1_000, |f| f.default_interval_ms);
    u64::from(default_ms) * 1_000
}

/// Raises, clears or renews the finding of a rule about readings.
#[cold]
fn tell(
    findings: &mut Findings,
    rule: &dyn Rule,
    context: &Context<'_>,
    change: Option<Change>,
    came_about: bool,
) {
    let (code, at) = (rule.code(), context.reading.at);
    let subject = Subject {
        band: Some(context.reading.position),
        path: rule.names_path().then_some(context.path),
    };
    if change == Some(Change::Clear) {
        findings.clear(code, subject, at);
        return;
    }
    let (figures, situation) = (rule.figures(context), rule.situation(context));
    // Advice keeps pace with a finding that grows or shrinks while it is open.
    if change.is_none() && !findings.outgrown(code, subject, at, &figures, situation) {
        return;
    }
    let facts = Facts {
        name: context.identity.name(context.reading.position),
        path: subject.path,
        figures,
        situation,
        came_about,
        known: Known::of(context),
    };
    let evidence = rule.evidence(context);
    if change.is_some() {
        findings.raise(code, rule.severity(context), subject, at, evidence, &facts);
    } else {
        findings.renew(code, subject, evidence, &facts);
    }
}
