//! Decides what the link does next: a state machine without clock and without I/O.
//!
//! A driver tells it what was seen and when ([`Reducer::observe`], [`Reducer::value`]), carries out the commands it
//! puts out and answers them. Every command has a time limit here, so that a call that never returns costs one step
//! and not the session. The Bluetooth link and the simulated link share this one machine.

mod connected;
mod failure;
mod search;
#[cfg(test)]
mod tests;

use super::Request;
use super::command::{Answer, Command, Failure, Observation, Output, Target, Ticket, Unit};
use super::policy::{self, Cause, History, Via};
use crate::event::{EventKind, LinkState, RawBytes, SessionTime};
use booster_profile::Characteristic;
use std::collections::{BTreeMap, VecDeque};
use std::time::Duration;

/// Longest that any call but connecting may take. The system's own limit is 30 s, too long for a person on a ladder.
pub const CALL_LIMIT: Duration = Duration::from_secs(5);
/// Longest that connecting may take: it includes waiting for the unit's next advertisement and resolving services.
pub const CONNECT_LIMIT: Duration = Duration::from_secs(10);
/// Longest that a write may take that needs pairing, where a person may have to confirm: the Security Manager's own
/// timeout (Core specification Vol 3 Part H 3.4).
pub const PAIRING_LIMIT: Duration = Duration::from_secs(30);
/// Longest that the last farewell may take.
pub const CLOSE_LIMIT: Duration = Duration::from_secs(3);
/// Shortest silence that counts as stalled.
pub const LEAST_SILENCE: Duration = Duration::from_secs(3);
/// Longest wait for the first value once everything is enabled, unless the unit reports more slowly.
pub const FIRST_VALUE_LIMIT: Duration = Duration::from_secs(5);
/// A connection that stayed live for so long clears the count of failed attempts.
pub const STABLE: Duration = Duration::from_secs(5);
/// Writes that may wait for their turn.
const MAX_WRITES: usize = 16;

/// Where the machine stands; finer than [`LinkState`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Step {
    Idle,
    Opening,
    StartingScan,
    Scanning,
    StoppingScan { then_connect: bool },
    Connecting,
    Discovering,
    Reading(usize),
    Subscribing(usize),
    Flowing,
    Probing,
    Pausing(Via),
    Waiting,
    Closing,
    Ended,
}

/// The command that is being carried out.
struct Running {
    ticket: Ticket,
    limit: SessionTime,
    command: Command,
}

/// The state machine of one link.
pub struct Reducer {
    target: Target,
    step: Step,
    state: LinkState,
    detail: Option<String>,
    unit: Option<Unit>,
    serial: Option<RawBytes>,
    other_units: Vec<String>,
    seen: BTreeMap<String, (Unit, SessionTime)>,
    found: Vec<Characteristic>,
    history: History,
    last_ticket: Ticket,
    running: Option<Running>,
    /// When the present step wants to be looked at again.
    timer: Option<SessionTime>,
    /// The pause is over, but a farewell is still being carried out.
    due: bool,
    connected: bool,
    scanning: bool,
    writes: VecDeque<(Characteristic, RawBytes)>,
    last_value: SessionTime,
    live_since: SessionTime,
    silence: Duration,
    output: VecDeque<Output>,
}

impl Reducer {
    /// A machine that will look for `target` once it observes [`Observation::Start`].
    pub fn new(target: Target) -> Self {
        Self {
            target,
            step: Step::Idle,
            state: LinkState::Idle,
            detail: None,
            unit: None,
            serial: None,
            other_units: Vec::new(),
            seen: BTreeMap::new(),
            found: Vec::new(),
            history: History::default(),
            last_ticket: Ticket::default(),
            running: None,
            timer: None,
            due: false,
            connected: false,
            scanning: false,
            writes: VecDeque::new(),
            last_value: SessionTime::ZERO,
            live_since: SessionTime::ZERO,
            silence: LEAST_SILENCE,
            output: VecDeque::new(),
        }
    }

    /// The present state.
    pub fn state(&self) -> LinkState {
        self.state
    }

    /// The unit that was chosen, if one was.
    pub fn unit(&self) -> Option<&Unit> {
        self.unit.as_ref()
    }

    /// Units seen so far and when each was heard last, by identifier.
    pub fn seen(&self) -> impl Iterator<Item = (&Unit, SessionTime)> {
        self.seen.values().map(|(unit, at)| (unit, *at))
    }

    /// Whether several units are in range and a person has to choose.
    pub fn awaits_choice(&self) -> bool {
        self.unit.is_none() && self.target == Target::Only && self.seen.len() > 1
    }

    /// Whether the link is over.
    pub fn has_ended(&self) -> bool {
        self.step == Step::Ended
    }

    /// The next thing that the reducer wants done.
    pub fn next_output(&mut self) -> Option<Output> {
        self.output.pop_front()
    }

    /// When [`Observation::TimePassed`] is due at the latest.
    pub fn next_deadline(&self) -> Option<SessionTime> {
        let running = self.running.as_ref().map(|r| r.limit);
        let silence = self.watches_silence().then(|| self.last_value + self.silence);
        [running, self.timer, silence].into_iter().flatten().min()
    }

    /// Takes in a value that arrived unasked. Call it before passing the value on, so that the state change that it
    /// causes comes first.
    #[inline]
    pub fn value(&mut self, at: SessionTime, characteristic: Characteristic, bytes: &[u8]) {
        self.last_value = at;
        if self.state != LinkState::Live || characteristic == Characteristic::ReportControl {
            self.value_changes_state(at, characteristic, bytes);
        } else if self.history.failed > 0 && at.since(self.live_since) >= STABLE {
            self.history.failed = 0;
        }
    }

    /// Takes in what was seen at a time. Times must not decrease.
    pub fn observe(&mut self, at: SessionTime, seen: Observation) {
        if self.step == Step::Ended {
            return;
        }
        match seen {
            Observation::Start => self.open(at),
            Observation::Stop => self.close(at),
            Observation::Answer(ticket, answer) => {
                if let Some(running) = self.running.take_if(|r| r.ticket == ticket) {
                    self.count_answer(&answer);
                    self.answered(at, running.command, answer);
                }
            }
            Observation::UnitSeen(unit) => self.unit_seen(at, unit),
            Observation::Disconnected => {
                if self.is_connected_step() {
                    self.fail(at, Cause::Dropped, "the connection to the unit ended".into());
                }
            }
            Observation::AdapterPowered(on) => self.adapter_powered(at, on),
            Observation::TimePassed => self.time_passed(at),
            Observation::Request(request) => self.requested(at, request),
        }
        self.next_write(at);
    }

    fn count_answer(&mut self, answer: &Answer) {
        let silent = matches!(
            answer,
            Answer::Failed(Failure {
                cause: Cause::TimedOut,
                ..
            })
        );
        self.history.unanswered = if silent { self.history.unanswered + 1 } else { 0 };
    }

    fn answered(&mut self, at: SessionTime, command: Command, answer: Answer) {
        match (self.step, command) {
            (Step::Closing, _) => self.end(),
            // A farewell ended; whether it succeeded does not matter.
            (Step::Pausing(_) | Step::Waiting, _) => {
                if self.due {
                    self.resume(at);
                }
            }
            (Step::Flowing, Command::Write(characteristic, bytes)) => {
                self.write_ended(at, characteristic, bytes, answer);
            }
            (_, command) => match answer {
                Answer::Failed(failure) => self.command_failed(at, &command, failure),
                answer => self.command_done(at, &command, answer),
            },
        }
    }

    fn command_done(&mut self, at: SessionTime, command: &Command, answer: Answer) {
        match (command, answer) {
            (Command::Open { .. }, _) => self.start_scan(at),
            (Command::StartScan, _) => self.scan_started(at),
            (Command::StopScan, _) => self.scan_stopped(at),
            (Command::Connect { .. }, _) => self.discover(at),
            (Command::Discover, Answer::Found { characteristics, mtu }) => {
                self.discovered(at, characteristics, mtu);
            }
            (Command::Read(characteristic), Answer::Value(bytes)) => {
                self.value_read(at, *characteristic, bytes)
            }
            (Command::Subscribe(_), _) => self.subscribed(at),
            (Command::Write(..) | Command::Disconnect, _) => {}
            (Command::Discover | Command::Read(_), _) => {
                let words = format!("{} was answered with something else", describe(command));
                self.fail(at, Cause::Refused, words);
            }
        }
    }

    fn command_failed(&mut self, at: SessionTime, command: &Command, failure: Failure) {
        let essential = match command {
            // The probe failed, but values arrive again.
            Command::Read(_) if self.step == Step::Flowing => return,
            // It is over either way; what follows will tell if the adapter is in trouble.
            Command::StopScan => return self.scan_stopped(at),
            Command::Read(c) => connected::is_essential(*c) || self.step == Step::Probing,
            Command::Subscribe(c) => connected::is_essential(*c),
            _ => true,
        };
        if essential || failure.cause.ends_connection() {
            self.fail(at, failure.cause, failure.words);
        } else {
            self.note(failure.words);
            self.skip(at);
        }
    }

    fn time_passed(&mut self, at: SessionTime) {
        if let Some(Running { command, .. }) = self.running.take_if(|r| r.limit <= at) {
            let failure = Failure {
                cause: Cause::TimedOut,
                words: format!("{} was not answered", describe(&command)),
            };
            let answer = Answer::Failed(failure);
            self.count_answer(&answer);
            self.answered(at, command, answer);
        }
        if self.timer.take_if(|t| *t <= at).is_some() {
            match self.step {
                Step::Scanning => self.scan_timer(at),
                Step::Pausing(_) | Step::Waiting if self.running.is_some() => self.due = true,
                Step::Pausing(_) | Step::Waiting => self.resume(at),
                Step::Flowing => self.fail(
                    at,
                    Cause::Silent,
                    "everything is enabled and nothing was received".into(),
                ),
                _ => {}
            }
        }
        if self.watches_silence() && self.last_value + self.silence <= at {
            self.stalled(at);
        }
    }

    fn open(&mut self, at: SessionTime) {
        let rebuild = policy::must_rebuild(self.history);
        self.history.unanswered = 0;
        self.step = Step::Opening;
        self.command(at, Command::Open { rebuild });
    }

    fn adapter_powered(&mut self, at: SessionTime, on: bool) {
        match (on, self.step) {
            (true, Step::Waiting) if matches!(self.state, LinkState::AdapterOff | LinkState::NoAdapter) => {
                self.resume(at);
            }
            (false, step) if !matches!(step, Step::Idle | Step::Waiting) => {
                // There is nothing left to take leave of.
                self.connected = false;
                self.scanning = false;
                self.fail(at, Cause::AdapterOff, "the adapter was switched off".into());
            }
            _ => {}
        }
    }

    fn requested(&mut self, at: SessionTime, request: Request) {
        match request {
            Request::Write {
                characteristic,
                bytes,
            } => {
                let ready = matches!(self.step, Step::Subscribing(_) | Step::Flowing | Step::Probing);
                if ready && self.writes.len() < MAX_WRITES {
                    self.writes.push_back((characteristic, bytes));
                } else {
                    // Carried out later, on a ladder or in a call, it could do harm.
                    self.refuse_write(characteristic);
                }
            }
            Request::Retry => match self.step {
                Step::Pausing(_) | Step::Waiting => {
                    self.history.failed = 0;
                    if self.running.is_some() {
                        self.due = true;
                    } else {
                        self.resume(at);
                    }
                }
                _ => {}
            },
            Request::Choose { unit } => self.choose_by_words(at, unit),
        }
    }

    fn close(&mut self, at: SessionTime) {
        self.refuse_writes();
        self.running = None;
        self.timer = None;
        self.step = Step::Closing;
        if !self.take_leave(at, CLOSE_LIMIT) {
            self.end();
        }
    }

    fn end(&mut self) {
        self.step = Step::Ended;
        self.enter(LinkState::Ended, None);
    }

    fn command(&mut self, at: SessionTime, command: Command) {
        self.command_within(at, command, CALL_LIMIT);
    }

    fn command_within(&mut self, at: SessionTime, command: Command, limit: Duration) {
        self.last_ticket = Ticket(self.last_ticket.0.wrapping_add(1));
        self.running = Some(Running {
            ticket: self.last_ticket,
            limit: at + limit,
            command: command.clone(),
        });
        self.output.push_back(Output::Command(self.last_ticket, command));
    }

    /// Enters a state and reports it, unless nothing changed.
    fn enter(&mut self, state: LinkState, detail: Option<String>) {
        if (state, &detail) != (self.state, &self.detail) {
            self.state = state;
            self.detail = detail;
            self.report(self.detail.clone());
        }
    }

    /// Reports something about the present state.
    fn note(&mut self, words: String) {
        self.report(Some(words));
    }

    fn report(&mut self, detail: Option<String>) {
        let state = self.state;
        self.output
            .push_back(Output::Event(EventKind::Link { state, detail }));
    }
}

/// A command in words, for messages.
pub(super) fn describe(command: &Command) -> String {
    match command {
        Command::Open { .. } => "opening the Bluetooth adapter".into(),
        Command::StartScan => "starting to scan".into(),
        Command::StopScan => "stopping the scan".into(),
        Command::Connect { .. } => "connecting".into(),
        Command::Discover => "finding services".into(),
        Command::Read(c) => format!("reading {}", c.short_name()),
        Command::Subscribe(c) => format!("enabling {}", c.short_name()),
        Command::Write(c, _) => format!("writing {}", c.short_name()),
        Command::Disconnect => "disconnecting".into(),
    }
}
