//! Every built-in site, in virtual time: what should be found is found in time, and nothing else cries wolf.
#![allow(clippy::expect_used, clippy::panic)]

use booster_simulator::Simulation;
use booster_simulator::scenario::{Expectation, Scenario, Way};
use loopmargin::analysis::{Criteria, Finding, Path, Severity};
use loopmargin::event::SessionTime;
use loopmargin::fold::{Fold, Update};
use loopmargin::link::Pull;
use loopmargin::link::simulator::SimulatorLink;

/// Warnings that may come beside what a site expects, and why.
const MAY: &[(&str, &[&str], &str)] = &[
    (
        "bell-tower",
        &["oscillation"],
        "the ladder takes the margin altogether",
    ),
    (
        "grain-loft",
        &["low-loop-margin"],
        "the hoist door takes the margin as well",
    ),
    (
        "market-cross",
        &["stale-telemetry", "low-loop-margin"],
        "everything at once",
    ),
    (
        "canal-lock",
        &["stale-telemetry"],
        "the connection drops every minute",
    ),
    (
        "mill-race",
        &["stale-telemetry"],
        "a unit that restarts is silent",
    ),
    ("peat-cutters", &["step-loss"], "the only band falls at once"),
];

/// What was raised, with the time at which it cleared.
struct Raised {
    finding: Finding,
    band: Option<String>,
    cleared: Option<SessionTime>,
}

fn run(scenario: &Scenario, seconds: f64) -> Vec<Raised> {
    let mut link = SimulatorLink::new(Simulation::new(scenario, 1));
    let mut fold = Fold::new(Criteria::default());
    let mut updates = Vec::new();
    let mut raised: Vec<Raised> = Vec::new();
    while let Some(event) = link.next_event().filter(|e| e.at.seconds() <= seconds) {
        while let Some(at) = fold.next_deadline().filter(|d| *d <= event.at) {
            fold.apply(
                &loopmargin::event::Event {
                    at,
                    kind: loopmargin::event::EventKind::Deadline,
                },
                &mut updates,
            );
        }
        fold.apply(&event, &mut updates);
        fold.take_requests().into_iter().for_each(|r| link.request(r));
        for update in updates.drain(..) {
            let Update::Finding(finding) = update else {
                continue;
            };
            if finding.is_open() {
                let identity = fold.telemetry().identity();
                let band = finding.subject.band.map(|b| identity.name(b).to_owned());
                raised.push(Raised {
                    finding,
                    band,
                    cleared: None,
                });
            } else if let Some(open) = raised.iter_mut().rev().find(|r| {
                r.finding.code == finding.code && r.finding.subject == finding.subject && r.cleared.is_none()
            }) {
                open.cleared = finding.cleared;
            }
        }
    }
    raised
}

fn fits(expected: &Expectation, raised: &Raised) -> bool {
    let way = match raised.finding.subject.path {
        Some(Path::Downlink) => Some(Way::Dl),
        Some(Path::Uplink) => Some(Way::Ul),
        None => None,
    };
    raised.finding.code.name() == expected.code
        && expected.band == raised.band
        && expected.direction.is_none_or(|d| way == Some(d))
}

fn complaints(name: &str) -> Vec<String> {
    let scenario = Scenario::named(name).expect("a built-in site");
    let ends = scenario.expect.iter().map(|e| e.cleared_by_s.unwrap_or(e.by_s));
    let seconds = ends.chain(scenario.at.iter().map(|a| a.s)).fold(120.0, f64::max) + 30.0;
    let raised = run(&scenario, seconds);
    let mut wrong = Vec::new();
    for expected in &scenario.expect {
        let within = |r: &&Raised| {
            let at = r.finding.raised.seconds();
            fits(expected, r) && at >= expected.from_s && at <= expected.by_s
        };
        let Some(found) = raised.iter().find(within) else {
            wrong.push(format!(
                "{name}: {} {:?} is not found by {} s",
                expected.code, expected.band, expected.by_s
            ));
            continue;
        };
        if let Some(by) = expected.cleared_by_s
            && found.cleared.is_none_or(|at| at.seconds() > by)
        {
            wrong.push(format!(
                "{name}: {} is not cleared by {by} s but at {:?}",
                expected.code, found.cleared
            ));
        }
    }
    let may = MAY
        .iter()
        .filter(|(site, ..)| *site == name)
        .flat_map(|(_, codes, _)| *codes);
    let may: Vec<&str> = may.copied().collect();
    for r in raised.iter().filter(|r| r.finding.severity > Severity::Info) {
        let code = r.finding.code.name();
        if !may.contains(&code) && !scenario.expect.iter().any(|e| fits(e, r)) {
            wrong.push(format!(
                "{name}: unexpected {code} {:?} {:?} at {}: {:?}",
                r.band, r.finding.subject.path, r.finding.raised, r.finding.evidence
            ));
        }
    }
    for code in may {
        if !raised.iter().any(|r| r.finding.code.name() == code) {
            wrong.push(format!(
                "{name}: {code} may be raised, and is not: take it out of the list"
            ));
        }
    }
    wrong
}

#[test]
fn every_site_shows_what_is_the_matter_and_nothing_else() {
    let wrong: Vec<String> = Scenario::names().flat_map(complaints).collect();
    assert!(wrong.is_empty(), "\n{}", wrong.join("\n"));
}
