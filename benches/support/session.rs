//! A session in virtual time: simulator → profile bytes → telemetry → analysis, as a user would see it.

use booster_simulator::Simulation;
use loopmargin::analysis::{Criteria, Finding};
use loopmargin::event::{Event, EventKind, SessionTime};
use loopmargin::fold::{Fold, Update};
use loopmargin::link::Pull;
use loopmargin::link::simulator::SimulatorLink;

/// A session.
pub struct Session {
    pub link: SimulatorLink,
    pub fold: Fold,
    updates: Vec<Update>,
}

impl Session {
    /// A console that connects to this unit.
    pub fn new(simulation: Simulation) -> Self {
        Self {
            link: SimulatorLink::new(simulation),
            fold: Fold::new(Criteria::default()),
            updates: Vec::new(),
        }
    }

    /// The next event; its time, and findings that it raises into `raised`.
    pub fn step(&mut self, mut raised: impl FnMut(Finding)) -> Option<SessionTime> {
        let event = self.link.next_event()?;
        let at = event.at;
        while let Some(deadline) = self.fold.next_deadline().filter(|d| *d <= at) {
            let kind = EventKind::Deadline;
            self.fold.apply(&Event { at: deadline, kind }, &mut self.updates);
        }
        self.fold.apply(&event, &mut self.updates);
        for request in self.fold.take_requests() {
            self.link.request(request);
        }
        for update in self.updates.drain(..) {
            if let Update::Finding(finding) = update
                && finding.is_open()
            {
                raised(finding);
            }
        }
        Some(at)
    }

    /// Runs until this session time, s; findings that are raised meanwhile.
    pub fn run_to(&mut self, until_s: f64) -> Vec<Finding> {
        let mut raised = Vec::new();
        while self
            .step(|f| raised.push(f))
            .is_some_and(|at| at.seconds() < until_s)
        {}
        raised
    }

    /// Session time, s.
    pub fn now_s(&self) -> f64 {
        self.fold.now().seconds()
    }
}
