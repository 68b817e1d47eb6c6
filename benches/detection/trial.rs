//! One site, run as a user would see it.

use crate::cause::right_cause;
use crate::onset::Onset;
use booster_simulator::generate::{self, Family, Fault, Reporting, Site};
use booster_simulator::scenario::Way;
use booster_simulator::{Simulation, TICK_US};
use loopmargin::analysis::{Criteria, Finding, Path, Severity};
use loopmargin::event::{Event, EventKind, SessionTime};
use loopmargin::fold::{Fold, Update};
use loopmargin::link::Pull;
use loopmargin::link::simulator::SimulatorLink;

/// Healthy sites run this long, s.
const HOUR_S: f64 = 3_600.0;
/// A finding that comes later than this after the limit was crossed is no finding of that fault, s.
const LATEST_S: f64 = 60.0;

/// What became of a fault.
pub enum Verdict {
    Found { delay_ms: u64, right_cause: bool },
    Missed,
}

/// A fault and what became of it.
pub struct Outcome {
    pub code: &'static str,
    pub site: String,
    pub verdict: Verdict,
}

/// A session in virtual time.
struct Session {
    link: SimulatorLink,
    fold: Fold,
    updates: Vec<Update>,
}

impl Session {
    fn new(site: &Site, seed: u64) -> Self {
        Self {
            link: SimulatorLink::new(Simulation::new(&site.scenario, seed)),
            fold: Fold::new(Criteria::default()),
            updates: Vec::new(),
        }
    }

    /// The next event; its time, and findings into `raised`.
    fn step(&mut self, mut raised: impl FnMut(Finding)) -> Option<SessionTime> {
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
}

fn is_of(finding: &Finding, fault: &Fault) -> bool {
    let way = match finding.subject.path {
        Some(Path::Downlink) => Some(Way::Dl),
        Some(Path::Uplink) => Some(Way::Ul),
        None => None,
    };
    finding.code.name() == fault.code
        && (finding.subject.band.is_none() || finding.subject.band == fault.band)
        && (way.is_none() || fault.way.is_none() || way == fault.way)
}

/// Runs a site with one fault; `None` where the limit was never crossed for as long as counts.
pub fn fault(seed: u64, family: Family, reporting: &Reporting) -> Option<Outcome> {
    let site = generate::site(seed, family, reporting);
    let fault = site.fault?;
    let mut session = Session::new(&site, seed);
    let mut onset = Onset::new(family, &site, &fault);
    let mut raised: Option<Finding> = None;
    let mut seen_us = 0;
    loop {
        let at = session.step(|finding| {
            if raised.is_none() && finding.raised.seconds() >= fault.onset_s && is_of(&finding, &fault) {
                raised = Some(finding);
            }
        })?;
        // Truth is looked at once per step of the physics.
        if at.0 / TICK_US > seen_us {
            seen_us = at.0 / TICK_US;
            onset.look(at.seconds(), session.link.simulation());
        }
        let since = onset.crossed_s();
        let found = raised.is_some() && onset.counts();
        if found || since.is_some_and(|s| at.seconds() > s + LATEST_S) || at.seconds() > onset.give_up_s() {
            break;
        }
    }
    let crossed_s = onset.crossed_s().filter(|_| onset.counts())?;
    let verdict = match raised.filter(|f| f.raised.seconds() <= crossed_s + LATEST_S) {
        Some(finding) => Verdict::Found {
            delay_ms: ((finding.raised.seconds() - crossed_s).max(0.0) * 1e3).round() as u64,
            right_cause: right_cause(family, &site, &finding),
        },
        None => Verdict::Missed,
    };
    Some(Outcome {
        code: fault.code,
        site: format!("{seed}"),
        verdict,
    })
}

/// Runs a healthy site for an hour; codes of what should not have been raised.
pub fn healthy(seed: u64, reporting: &Reporting) -> Vec<&'static str> {
    let site = generate::site(seed, Family::Healthy, reporting);
    let mut session = Session::new(&site, seed);
    let mut wrong = Vec::new();
    while let Some(at) = session.step(|finding| {
        if finding.severity > Severity::Info {
            wrong.push(finding.code.name());
        }
    }) {
        if at.seconds() >= HOUR_S {
            break;
        }
    }
    wrong
}
