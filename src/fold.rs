//! Everything that is known about the session so far: what views draw and outputs print.
//!
//! One owner; drawing code takes `&Fold`.

use crate::aiming::{self, Around};
use crate::analysis::{Analyser, Criteria, Finding};
use crate::control;
use crate::event::{Event, EventKind, LinkState, Mark, SessionTime};
use crate::link::Request;
use crate::telemetry::{LoggedEvent, Output, Reading, Telemetry};
use booster_profile::{CellReport, Features, OperatingState, UnitStatus};
use std::collections::{BTreeMap, VecDeque};
use std::time::Duration;

/// Link transitions and unit events kept for the screen; the session file keeps all of them.
const KEPT: usize = 200;
/// Past findings kept for the screen.
const KEPT_FINDINGS: usize = 500;
/// Updates that wait for the session line at most: a link that never identifies its unit must not fill memory.
const HELD: usize = 1_000;

/// Something to show or print.
#[derive(Clone, Debug, PartialEq)]
pub enum Update {
    /// The unit is known, or the session is past the point where it should be: printed once, first.
    Session,
    /// A reading; `late` if a later one came first.
    Reading {
        /// The reading.
        reading: Reading,
        /// It arrived after a later one and was not analysed.
        late: bool,
    },
    /// A cell report and when it came.
    Cell(SessionTime, CellReport),
    /// A unit status and when it came.
    Unit(SessionTime, UnitStatus),
    /// A unit event and when it came.
    UnitEvent(SessionTime, LoggedEvent),
    /// A finding was raised or, if it says so, cleared.
    Finding(Finding),
    /// The link entered a state.
    Link {
        /// When.
        at: SessionTime,
        /// The state.
        state: LinkState,
        /// More about it.
        detail: Option<String>,
    },
    /// A mark and when it was made.
    Mark(SessionTime, Mark),
}

/// The link as the views show it.
#[derive(Clone, Debug)]
pub struct LinkView {
    /// State now.
    pub state: LinkState,
    /// Since when.
    pub since: SessionTime,
    /// More about it.
    pub detail: Option<String>,
    /// Past transitions, oldest first.
    pub history: VecDeque<(SessionTime, LinkState, Option<String>)>,
}

/// A band as the views show it.
#[derive(Clone, Debug, Default)]
pub struct BandView {
    /// The last reading in order.
    pub latest: Option<Reading>,
}

/// The state of a session.
#[derive(Debug)]
pub struct Fold {
    now: SessionTime,
    link: LinkView,
    telemetry: Telemetry,
    analyser: Analyser,
    aim: aiming::Session,
    bands: Vec<BandView>,
    unit: Option<(SessionTime, UnitStatus)>,
    cells: Vec<(SessionTime, CellReport)>,
    unit_events: VecDeque<(SessionTime, LoggedEvent)>,
    control: control::Log,
    past_findings: VecDeque<Finding>,
    raised: BTreeMap<&'static str, u64>,
    /// No deadline is due before, whatever the report interval is.
    quiet_until: SessionTime,
    stale_min: Duration,
    /// Updates that wait for the session line, which comes first; `None` once it has come.
    held: Option<Vec<Update>>,
    outputs: Vec<Output>,
    changes: Vec<Finding>,
}

impl Fold {
    /// The state before the first event.
    pub fn new(criteria: Criteria) -> Self {
        let stale_min = Duration::try_from_secs_f64(criteria.telemetry.stale_min_s).unwrap_or_default();
        Self {
            now: SessionTime::ZERO,
            link: LinkView {
                state: LinkState::Idle,
                since: SessionTime::ZERO,
                detail: None,
                history: VecDeque::new(),
            },
            telemetry: Telemetry::default(),
            analyser: Analyser::new(criteria),
            aim: aiming::Session::default(),
            bands: Vec::new(),
            unit: None,
            cells: Vec::new(),
            unit_events: VecDeque::new(),
            control: control::Log::default(),
            past_findings: VecDeque::new(),
            raised: BTreeMap::new(),
            quiet_until: SessionTime::ZERO,
            stale_min,
            held: Some(Vec::new()),
            outputs: Vec::new(),
            changes: Vec::new(),
        }
    }

    /// Folds one event; what there is to show or print is appended to `out`.
    pub fn apply(&mut self, event: &Event, out: &mut Vec<Update>) {
        let begins = self.begins_session(event);
        let from = out.len();
        self.now = event.at;
        self.fold(event, out);
        let Some(held) = &mut self.held else { return };
        held.extend(out.drain(from..));
        let known = self.telemetry.identity().is_known();
        if begins || held.len() > HELD || (known && !self.bands.iter().all(|b| b.latest.is_none())) {
            out.push(Update::Session);
            out.append(held);
            self.held = None;
        }
    }

    /// Whether this event shows that the unit has said all it will say about itself, or cannot be reached.
    fn begins_session(&self, event: &Event) -> bool {
        use LinkState as S;
        match &event.kind {
            EventKind::End => true,
            EventKind::Link { state, .. } => {
                state.waits_for_person()
                    || matches!(
                        state,
                        S::Subscribing
                            | S::AwaitingFirstValue
                            | S::Live
                            | S::Stalled
                            | S::BackingOff
                            | S::Ended
                    )
            }
            _ => false,
        }
    }

    fn fold(&mut self, event: &Event, out: &mut Vec<Update>) {
        self.aim.event(event);
        match &event.kind {
            EventKind::Link { state, detail } => {
                self.link.history.push_back((event.at, *state, detail.clone()));
                keep(&mut self.link.history, KEPT);
                (self.link.state, self.link.since, self.link.detail) = (*state, event.at, detail.clone());
                out.push(Update::Link {
                    at: event.at,
                    state: *state,
                    detail: detail.clone(),
                });
            }
            EventKind::Deadline => {
                self.analyser.advance(event.at, self.telemetry.identity());
            }
            EventKind::Mark(mark) => out.push(Update::Mark(event.at, (**mark).clone())),
            EventKind::Value { .. }
            | EventKind::Written { .. }
            | EventKind::Dropped { .. }
            | EventKind::Key { .. }
            | EventKind::Setting { .. }
            | EventKind::Unreadable { .. }
            | EventKind::End => {}
        }
        self.control.apply(event);
        let mut outputs = std::mem::take(&mut self.outputs);
        self.telemetry.apply(event, &mut outputs);
        for output in &outputs {
            self.output(event.at, output, out);
        }
        outputs.clear();
        self.outputs = outputs;
        self.findings_to(out);
    }

    fn output(&mut self, at: SessionTime, output: &Output, out: &mut Vec<Update>) {
        match *output {
            Output::Reading(reading) => {
                let bands = self.telemetry.identity().bands.bands.len();
                if self.bands.len() != bands {
                    self.bands = vec![BandView::default(); bands];
                }
                if let Some(band) = self.bands.get_mut(reading.position) {
                    band.latest = Some(reading);
                }
                self.quiet_until = at + self.stale_min;
                let accounts = self.telemetry.accounts(reading.position);
                self.analyser
                    .reading(&reading, self.telemetry.identity(), accounts);
                self.aim.reading(
                    &reading,
                    Around {
                        bands: &self.telemetry.identity().bands.bands,
                        cells: &self.cells,
                    },
                );
                out.push(Update::Reading { reading, late: false });
            }
            Output::LateReading(reading) => out.push(Update::Reading { reading, late: true }),
            Output::Cell(cell) => {
                let same = |c: &CellReport| {
                    (c.band, c.channel, c.identity) == (cell.band, cell.channel, cell.identity)
                };
                self.cells.retain(|(_, c)| !same(c));
                self.cells.push((at, cell));
                self.analyser.cell(at, &cell, self.telemetry.identity());
                if self.cells.len() > KEPT {
                    self.cells.remove(0);
                }
                let around = Around {
                    bands: &self.telemetry.identity().bands.bands,
                    cells: &self.cells,
                };
                self.aim.cell(at, &cell, around);
                out.push(Update::Cell(at, cell));
            }
            Output::Unit(status) => {
                self.unit = Some((at, status));
                self.analyser.unit(at, &status, self.telemetry.identity());
                let feature = self.telemetry.identity().feature;
                let can = feature.is_some_and(|f| f.features.contains(Features::AIM_SAFE));
                self.aim
                    .holds_down(can.then_some(status.state == OperatingState::AimSafe));
                out.push(Update::Unit(at, status));
            }
            Output::UnitEvent(logged) => {
                self.unit_events.push_back((at, logged));
                keep(&mut self.unit_events, KEPT);
                if !logged.stored {
                    self.analyser
                        .unit_event(at, &logged.event, self.telemetry.identity());
                }
                out.push(Update::UnitEvent(at, logged));
            }
            Output::Restarted { .. } => {
                self.analyser.restarted(at);
                self.aim.restarted(at);
            }
        }
    }

    fn findings_to(&mut self, out: &mut Vec<Update>) {
        self.analyser.drain_changes(&mut self.changes);
        for finding in self.changes.drain(..) {
            if finding.is_open() {
                *self.raised.entry(finding.code.name()).or_default() += 1;
            } else {
                self.past_findings.push_back(finding.clone());
                keep(&mut self.past_findings, KEPT_FINDINGS);
            }
            out.push(Update::Finding(finding));
        }
    }

    /// When the next rule about absence is due, if nothing happens before.
    pub fn next_deadline(&self) -> Option<SessionTime> {
        self.analyser.next_deadline(self.telemetry.identity())
    }

    /// The next deadline, if it has passed by `now`. Costs nothing as long as readings come: called for every event.
    pub fn deadline_by(&self, now: SessionTime) -> Option<SessionTime> {
        if now < self.quiet_until {
            return None;
        }
        self.next_deadline().filter(|deadline| *deadline <= now)
    }

    /// Takes what the link should be asked for.
    pub fn take_requests(&mut self) -> Vec<Request> {
        self.telemetry.take_requests()
    }

    /// Session time of the last event.
    pub fn now(&self) -> SessionTime {
        self.now
    }

    /// Whether the session line is out: the unit is known, or will not be.
    pub fn has_begun(&self) -> bool {
        self.held.is_none()
    }

    /// The link.
    pub fn link(&self) -> &LinkView {
        &self.link
    }

    /// Readings, accounts, identity.
    pub fn telemetry(&self) -> &Telemetry {
        &self.telemetry
    }

    /// Findings and what cannot be judged.
    pub fn analyser(&self) -> &Analyser {
        &self.analyser
    }

    /// The aim; without a plan there is none.
    pub fn aim(&self) -> &aiming::Session {
        &self.aim
    }

    /// Bands in the order of the band table; empty until the first reading.
    pub fn bands(&self) -> &[BandView] {
        &self.bands
    }

    /// The last unit status and when it came.
    pub fn unit(&self) -> Option<&(SessionTime, UnitStatus)> {
        self.unit.as_ref()
    }

    /// The last report of each cell and when it came.
    pub fn cells(&self) -> &[(SessionTime, CellReport)] {
        &self.cells
    }

    /// Unit events, oldest first.
    pub fn unit_events(&self) -> &VecDeque<(SessionTime, LoggedEvent)> {
        &self.unit_events
    }

    /// What was asked of the unit, and its answers.
    pub fn control(&self) -> &control::Log {
        &self.control
    }

    /// Open findings, worst first, then oldest first.
    pub fn findings(&self) -> &[Finding] {
        self.analyser.open()
    }

    /// Cleared findings, oldest first.
    pub fn past_findings(&self) -> &VecDeque<Finding> {
        &self.past_findings
    }

    /// How often each code was raised, in order of its name.
    pub fn raised(&self) -> &BTreeMap<&'static str, u64> {
        &self.raised
    }
}

fn keep<T>(queue: &mut VecDeque<T>, most: usize) {
    while queue.len() > most {
        queue.pop_front();
    }
}
