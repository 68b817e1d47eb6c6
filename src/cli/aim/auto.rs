//! The simulated mount turns when asked: the same procedure in virtual time.

use super::said::Said;
use super::words;
use crate::aiming::{ASK, Keeper, Outcome, Plan, Prompt, Safety, Step};
use crate::analysis::Criteria;
use crate::cli::args::AimOptions;
use crate::cli::exit::Failure;
use crate::cli::source::{scenario, simulated_start};
use crate::event::{Event, LinkState, SessionTime};
use crate::fold::{Fold, Update};
use crate::link::simulator::SimulatorLink;
use crate::link::{Pull, Request};
use crate::sequencer::Sequencer;
use crate::session::{Clock, DirectRecorder, Header, NotRecording, Overwrite, Record};
use anyhow::anyhow;
use booster_simulator::Simulation;
use std::time::Duration;

/// Time that a turn of the mount takes (common practice, no source).
const TURN: Duration = Duration::from_secs(15);
/// A site at which no aim ends is given up after this much simulated time.
const LIMIT: SessionTime = SessionTime(4 * 3_600 * 1_000_000);

/// An aim at a simulated site, in virtual time.
pub(super) struct Simulated<'a> {
    sequencer: Sequencer<Box<dyn Record>>,
    link: SimulatorLink,
    plan: &'a Plan,
    keeper: Keeper,
    said: Said,
    turning: Option<(f64, SessionTime)>,
    now: SessionTime,
    updates: Vec<Update>,
}

/// What comes next.
pub(super) enum Next {
    /// Time goes on.
    Goes,
    /// The antenna should be turned to this bearing, degrees; time stands still until it is.
    Turn(f64),
    /// The aim is over.
    Over,
}

impl<'a> Simulated<'a> {
    /// The aim before its first event.
    pub(super) fn new(
        options: &AimOptions,
        site: Option<&str>,
        plan: &'a Plan,
        allow_control: bool,
    ) -> Result<Self, Failure> {
        let scenario = scenario(site)?;
        let criteria = Criteria::default();
        let mut header = Header::new(&options.from, simulated_start()?, Clock::Simulated);
        header.criteria = Some(toml::to_string(&criteria)?);
        let recorder: Box<dyn Record> = match &options.record {
            Some(path) => Box::new(DirectRecorder::create(path, Overwrite::Refuse)?),
            None => Box::new(NotRecording),
        };
        words::cautions(allow_control);
        let mut aim = Self {
            sequencer: Sequencer::new(Fold::new(criteria), recorder, header),
            link: SimulatorLink::new(Simulation::new(&scenario, options.seed)),
            plan,
            keeper: Keeper::new(allow_control),
            said: Said::default(),
            turning: None,
            now: SessionTime::ZERO,
            updates: Vec::new(),
        };
        let begin = plan.event(aim.now)?;
        aim.push(begin);
        Ok(aim)
    }

    /// One event of the simulator.
    pub(super) fn advance(&mut self) -> Next {
        let Some(event) = self.link.next_event() else {
            return Next::Over;
        };
        self.now = event.at;
        // The antenna comes to rest before what is heard afterwards.
        if let Some((bearing, at)) = self.turning.filter(|(_, at)| *at <= self.now) {
            self.turning = None;
            self.push(Step::turned(bearing).event(at));
        }
        self.push(event);
        for request in self.sequencer.take_requests() {
            self.link.request(request);
        }
        if self.now > LIMIT {
            return Next::Over;
        }
        let fold = self.sequencer.fold();
        self.said.safety(fold);
        if self.keeper.asks(fold, self.now) {
            self.link.request(ASK.request());
        }
        self.next()
    }

    /// What the aim wants at this moment.
    pub(super) fn next(&self) -> Next {
        let fold = self.sequencer.fold();
        let live = fold.link().state == LinkState::Live && fold.has_begun();
        let ready = live && !self.keeper.waits(fold, self.now);
        match fold.aim().prompt() {
            Some(Prompt::Turn(stop)) if self.turning.is_none() && ready => {
                Next::Turn(self.plan.bearings_deg[stop])
            }
            Some(Prompt::Done) => Next::Over,
            _ => Next::Goes,
        }
    }

    /// Turns the antenna; it rests after a while.
    pub(super) fn turn(&mut self, bearing_deg: f64) {
        self.link.simulation_mut().turn(bearing_deg);
        self.turning = Some((bearing_deg, self.now + TURN));
    }

    /// Something that was done or marked, now.
    pub(super) fn push(&mut self, event: Event) {
        self.sequencer.push(event, &mut self.updates);
        self.updates.clear();
    }

    /// Passes a request to the unit.
    pub(super) fn request(&mut self, request: Request) {
        self.link.request(request);
    }

    /// The state.
    pub(super) fn fold(&self) -> &Fold {
        self.sequencer.fold()
    }

    /// Session time.
    pub(super) fn now(&self) -> SessionTime {
        self.now
    }

    /// Closes the recording.
    pub(super) fn end(&mut self) -> Result<Option<Outcome>, Failure> {
        let totals = self.sequencer.end(self.now, &mut self.updates);
        if totals.not_recorded > 0 {
            return Err(Failure::Failed(anyhow!(
                "aim: {} events were not recorded; check the space on the disk",
                totals.not_recorded
            )));
        }
        let fold = self.fold();
        if let safety @ Safety::On { .. } = Safety::of(fold, fold.now()) {
            eprintln!("{}", words::still_on(safety));
        }
        Ok(Outcome::of(fold.aim()))
    }
}

/// Aims at a simulated site: the mount turns whenever the aim wants it to.
pub(super) fn run(mut aim: Simulated<'_>) -> Result<Option<Outcome>, Failure> {
    loop {
        match aim.advance() {
            Next::Goes => {}
            Next::Turn(bearing) => aim.turn(bearing),
            Next::Over => return aim.end(),
        }
    }
}
