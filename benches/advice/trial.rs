//! One trial: a faulty site, what is found, the first remedy applied, what is found then, up to three times.

use crate::session::Session;
use crate::site::{self, Site};
use crate::technician::Technician;
use crate::truth::{Effect, Watch};
use booster_simulator::generate::Family;
use booster_simulator::{Simulation, Way};
use loopmargin::analysis::{Code, Finding, Path, Remedy, Severity, Subject, Work};

/// Steps that a trial has.
pub const STEPS: usize = 3;
/// From the finding, or from the fault's full size, until somebody acts, s.
const UNTIL_ACTS_S: f64 = 90.0;
/// Work on the antenna or its line takes twice this long, s.
const HANDS_ON_S: f64 = 20.0;
/// A finding that has cleared must stay so for this long, s.
const STAYS_S: f64 = 30.0;
/// How long a remedy may take to work, s; heat takes longer.
const WORKS_S: f64 = 300.0;
const COOLS_S: f64 = 1_800.0;
/// The effect is the mean over so many seconds.
const WATCH_S: usize = 10;
/// A finding that comes later than this is none of this fault, s.
const LATEST_S: f64 = 900.0;

/// How a trial ended.
#[derive(Clone, Debug, PartialEq)]
pub enum End {
    /// The finding cleared, after so many steps, and nothing else came of it.
    Cleared(usize),
    /// It did not, or something else came.
    NotCleared(String),
    /// Nothing at a simulated site corresponds to the remedy: the network's side, papers, a firmware fault.
    Outside,
    /// The fault was not found, or was gone before anybody acted.
    NotFound,
}

/// A trial.
pub struct Trial {
    pub code: &'static str,
    pub seed: u64,
    pub end: End,
    /// Warnings and criticals that came on the way to it, other than those a remedy announces.
    pub came: Vec<&'static str>,
    pub effects: Vec<Effect>,
    pub works: Vec<String>,
}

fn is_of(finding: &Finding, site: &Site) -> bool {
    let way = finding.subject.path.map(|p| match p {
        Path::Downlink => Way::Dl,
        Path::Uplink => Way::Ul,
    });
    let fault = &site.fault;
    finding.code.name() == fault.code
        && (finding.subject.band.is_none() || finding.subject.band == fault.band)
        && (way.is_none() || fault.way.is_none() || way == fault.way)
}

type Key = (Code, Subject);

fn key(f: &Finding) -> Key {
    (f.code, f.subject)
}

/// Warnings and criticals that are open, worst first.
fn alarms(session: &Session) -> impl Iterator<Item = &Finding> {
    session
        .fold
        .findings()
        .iter()
        .filter(|f| f.severity > Severity::Info)
}

/// Runs a trial; `None` for a family without a fault.
pub fn run(seed: u64, family: Family) -> Option<Trial> {
    let site = site::draw(seed, family)?;
    let mut trial = Trial {
        code: site.fault.code,
        seed,
        end: End::NotFound,
        came: Vec::new(),
        effects: Vec::new(),
        works: Vec::new(),
    };
    let mut session = Session::new(Simulation::new(&site.scenario, seed));
    let Some(target) = found(&mut session, &site) else {
        return Some(trial);
    };
    // What stands beside it by now came of the fault, not of a remedy.
    let beside: Vec<Key> = alarms(&session).map(key).collect();
    let mut technician = Technician::new(&site, seed);
    let mut tried: Vec<Work> = Vec::new();
    for step in 1..=STEPS {
        let is_new = |f: &&Finding| key(f) == target || !beside.contains(&key(f));
        let open = alarms(&session).find(|f| key(f) == target);
        let Some(finding) = open.or_else(|| alarms(&session).find(is_new)).cloned() else {
            // Nothing is open any more, but a remedy had raised something for a while.
            return Some(trial);
        };
        // What was tried and left it as it is, is not tried again.
        let fresh = |r: &&Remedy| !tried.contains(&r.work);
        let Some(remedy) = finding.remedies.iter().find(fresh).or(finding.remedies.first()) else {
            break;
        };
        tried.push(remedy.work);
        trial.works.push(format!("{:?}", remedy.work));
        let before = session.link.simulation().clone();
        if !work(&mut session, &mut technician, remedy.work) {
            trial.end = End::Outside;
            return Some(trial);
        }
        let raised = settle(&mut session, target, family);
        trial
            .effects
            .extend(effects(&mut session, before, remedy, finding.subject.band));
        let came: Vec<&'static str> = raised
            .iter()
            .filter(|f| f.severity > Severity::Info && !beside.contains(&key(f)))
            .chain(alarms(&session).filter(|f| !beside.contains(&key(f))))
            .filter(|f| key(f) != target)
            .map(|f| f.code.name())
            .collect();
        // Who switches a band off on advice does not learn from the next finding that it is off.
        let announced = |name: &str| tried.contains(&Work::SwitchTddOff) && name == "uplink-muted";
        trial.came.extend(came.iter().filter(|name| !announced(name)));
        if alarms(&session).any(|f| key(f) == target) {
            trial.end = End::NotCleared("still open".to_owned());
        } else if came.is_empty() {
            trial.end = End::Cleared(step);
            break;
        } else {
            trial.end = End::NotCleared(format!("raised {}", came.join(" ")));
        }
    }
    Some(trial)
}

/// Runs until the fault is found and somebody comes to act.
fn found(session: &mut Session, site: &Site) -> Option<Key> {
    let mut found = None;
    while found.is_none() {
        let at = session.step(|f| {
            if f.raised.seconds() >= site.fault.onset_s && is_of(&f, site) {
                found = Some(key(&f));
            }
        })?;
        if at.seconds() > site.fault.onset_s + LATEST_S {
            return None;
        }
    }
    session.run_to(session.now_s().max(site.grown_s) + UNTIL_ACTS_S);
    found.filter(|key| alarms(session).any(|f| (f.code, f.subject) == *key))
}

/// Carries out a remedy, aim-safe first where hands are on the antenna.
fn work(session: &mut Session, technician: &mut Technician<'_>, work: Work) -> bool {
    let hands_on = Technician::needs_aim_safe(work);
    if hands_on {
        Technician::aim_safe(session.link.simulation_mut(), true);
        session.run_to(session.now_s() + HANDS_ON_S);
    }
    let done = technician.carry_out(session.link.simulation_mut(), work);
    if hands_on {
        session.run_to(session.now_s() + HANDS_ON_S);
        Technician::aim_safe(session.link.simulation_mut(), false);
    }
    done
}

/// Runs until the finding has cleared and stayed so, or time is up; what was raised meanwhile.
fn settle(session: &mut Session, target: Key, family: Family) -> Vec<Finding> {
    let until_s = session.now_s()
        + if family == Family::HotUnit {
            COOLS_S
        } else {
            WORKS_S
        };
    let mut raised = Vec::new();
    let mut clear_since = None;
    while session.now_s() < until_s {
        raised.extend(session.run_to(session.now_s() + 1.0));
        if alarms(session).any(|f| key(f) == target) {
            clear_since = None;
        } else if *clear_since.get_or_insert(session.now_s()) + STAYS_S <= session.now_s() {
            break;
        }
    }
    raised
}

/// Predicted and realised effects: means over some seconds, here and at the site as it was left.
fn effects(
    session: &mut Session,
    mut before: Simulation,
    remedy: &Remedy,
    band: Option<usize>,
) -> Vec<Effect> {
    let (mut with, mut without) = (Watch::new(remedy, band), Watch::new(remedy, band));
    for _ in 0..WATCH_S {
        session.run_to(session.now_s() + 1.0);
        let now_us = session.link.simulation().now_us();
        while before.advance(now_us).is_some() {}
        with.look(session.link.simulation());
        without.look(&before);
    }
    with.against(&without, WATCH_S as f64)
}
