//! One site, run as a user would see it.

use crate::cause::right_cause;
use crate::onset::Onset;
use booster_simulator::generate::{self, Family, Fault, Reporting, Site};
use booster_simulator::scenario::Way;
use booster_simulator::{Simulation, TICK_US};
use loopmargin::analysis::{Code, Criteria, Finding, Path, Severity};
use loopmargin::event::{Event, EventKind, SessionTime};
use loopmargin::fold::{Fold, Update};
use loopmargin::link::Pull;
use loopmargin::link::simulator::SimulatorLink;
use std::collections::BTreeSet;

/// Healthy sites run this long, s.
const HOUR_S: f64 = 3_600.0;
/// A finding that comes later than this after the limit was crossed is no finding of that fault, s.
const LATEST_S: f64 = 60.0;
/// Until then a unit has sent everything that it ever sends, s.
const KNOWN_S: f64 = 20.0;

/// What became of a fault.
#[derive(Clone, Copy)]
pub enum Verdict {
    Found {
        delay_ms: u64,
        right_cause: bool,
    },
    Missed,
    /// The analyser says that it cannot judge this: the unit does not report what it takes.
    NotJudged,
}

/// A fault and what became of it, with each of the criteria.
pub struct Trial {
    pub code: &'static str,
    pub seed: u64,
    pub verdicts: Vec<Verdict>,
    /// Warnings and criticals beside it, with the first criteria.
    pub beside: BTreeSet<&'static str>,
}

/// A session in virtual time, analysed with several criteria at once.
struct Session {
    link: SimulatorLink,
    folds: Vec<Fold>,
    updates: Vec<Update>,
}

impl Session {
    fn new(site: &Site, seed: u64, criteria: &[Criteria]) -> Self {
        Self {
            link: SimulatorLink::new(Simulation::new(&site.scenario, seed)),
            folds: criteria.iter().cloned().map(Fold::new).collect(),
            updates: Vec::new(),
        }
    }

    /// The next event; its time, and findings with the number of the criteria into `raised`.
    fn step(&mut self, mut raised: impl FnMut(usize, Finding)) -> Option<SessionTime> {
        let event = self.link.next_event()?;
        let at = event.at;
        for (index, fold) in self.folds.iter_mut().enumerate() {
            while let Some(deadline) = fold.next_deadline().filter(|d| *d <= at) {
                let kind = EventKind::Deadline;
                fold.apply(&Event { at: deadline, kind }, &mut self.updates);
            }
            fold.apply(&event, &mut self.updates);
            let requests = fold.take_requests();
            if index == 0 {
                requests.into_iter().for_each(|r| self.link.request(r));
            }
            for update in self.updates.drain(..) {
                if let Update::Finding(finding) = update
                    && finding.is_open()
                {
                    raised(index, finding);
                }
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

/// What the unit does not report and the analyser would need to judge this fault.
fn missing(fold: &Fold, fault: &Fault) -> Option<&'static str> {
    let all = fold.analyser().not_judged();
    all.iter()
        .find(|n| n.code.name() == fault.code && (n.band.is_none() || n.band == fault.band))
        .map(|n| n.missing)
}

/// What units that report so do not report and this family needs; `None` where the fault can be judged.
pub fn unjudgeable(seed: u64, family: Family, reporting: &Reporting) -> Option<&'static str> {
    let site = generate::site(seed, family, reporting);
    let fault = site.fault?;
    let mut session = Session::new(&site, seed, &[Criteria::default()]);
    while session.step(|_, _| ())?.seconds() < KNOWN_S {}
    missing(session.folds.first()?, &fault)
}

/// Runs a site with one fault; `None` where the limit was never crossed for as long as counts.
pub fn fault(seed: u64, family: Family, reporting: &Reporting, criteria: &[Criteria]) -> Option<Trial> {
    let site = generate::site(seed, family, reporting);
    let fault = site.fault?;
    let mut session = Session::new(&site, seed, criteria);
    let mut onset = Onset::new(family, &site, &fault);
    let mut raised: Vec<Option<Finding>> = vec![None; criteria.len()];
    let mut beside = BTreeSet::new();
    let mut seen_us = 0;
    loop {
        let at = session.step(|index, finding| {
            if finding.raised.seconds() >= fault.onset_s && is_of(&finding, &fault) {
                raised[index].get_or_insert(finding);
            } else if index == 0 && finding.severity > Severity::Info && !belongs(finding.code, fault.code) {
                beside.insert(finding.code.name());
            }
        })?;
        // Truth is looked at once per step of the physics.
        if at.0 / TICK_US > seen_us {
            seen_us = at.0 / TICK_US;
            onset.look(at.seconds(), session.link.simulation());
        }
        let since = onset.crossed_s();
        let found = raised.iter().all(Option::is_some) && onset.counts();
        if found || since.is_some_and(|s| at.seconds() > s + LATEST_S) || at.seconds() > onset.give_up_s() {
            break;
        }
    }
    let crossed_s = onset.crossed_s().filter(|_| onset.counts())?;
    let verdict = |(fold, raised): (&Fold, Option<Finding>)| match raised
        .filter(|f| f.raised.seconds() <= crossed_s + LATEST_S)
    {
        Some(finding) => Verdict::Found {
            delay_ms: ((finding.raised.seconds() - crossed_s).max(0.0) * 1e3).round() as u64,
            right_cause: right_cause(family, &site, &finding),
        },
        None => match missing(fold, &fault) {
            Some(_) => Verdict::NotJudged,
            None => Verdict::Missed,
        },
    };
    Some(Trial {
        code: fault.code,
        seed,
        verdicts: session.folds.iter().zip(raised).map(verdict).collect(),
        beside,
    })
}

/// The same code of another band or direction is part of the fault.
fn belongs(code: Code, fault: &str) -> bool {
    code.name() == fault
}

/// Runs a healthy site for an hour; by criteria, the codes of what should not have been raised.
pub fn healthy(seed: u64, reporting: &Reporting, criteria: &[Criteria]) -> Vec<Vec<&'static str>> {
    let site = generate::site(seed, Family::Healthy, reporting);
    let mut session = Session::new(&site, seed, criteria);
    let mut wrong = vec![Vec::new(); criteria.len()];
    while let Some(at) = session.step(|index, finding| {
        if finding.severity > Severity::Info {
            wrong[index].push(finding.code.name());
        }
    }) {
        if at.seconds() >= HOUR_S {
            break;
        }
    }
    wrong
}
