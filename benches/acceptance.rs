//! What the acceptance test says of simulated sites: `cargo bench --bench acceptance -- --seed N --sites M --json`.
//!
//! Sites are drawn by the simulator's generator. Healthy ones should pass, those with a fault should not; a second
//! visit to an unchanged site should find nothing changed, and one after a change of 3 dB should find it.

use booster_simulator::generate::{self, Family, Reporting};
use booster_simulator::{Scenario, Simulation};
use loopmargin::analysis::Criteria;
use loopmargin::analysis::acceptance::{Acceptance, Survey, Verdict};
use loopmargin::event::{Event, EventKind, SessionTime};
use loopmargin::fold::Fold;
use loopmargin::link::Pull;
use loopmargin::link::simulator::SimulatorLink;
use serde_json::{Map, Value, json};
use std::collections::BTreeMap;
use std::process::ExitCode;

/// Length of a test, s.
const TEST_S: f64 = 60.0;
/// A fault is there for this long before the test ends, s.
const WITH_FAULT_S: f64 = 60.0;
/// What is changed between two visits, dB.
const CHANGE_DB: f64 = 3.0;

/// Runs the acceptance test at a site for `until_s` of simulated time.
fn test(scenario: &Scenario, seed: u64, until_s: f64) -> Acceptance {
    let mut link = SimulatorLink::new(Simulation::new(scenario, seed));
    let (mut fold, mut survey, mut updates) = (Fold::new(Criteria::default()), Survey::default(), Vec::new());
    while let Some(event) = link.next_event() {
        let at = event.at;
        if at.seconds() > until_s {
            break;
        }
        while let Some(deadline) = fold.next_deadline().filter(|d| *d <= at) {
            let kind = EventKind::Deadline;
            fold.apply(&Event { at: deadline, kind }, &mut updates);
        }
        fold.apply(&event, &mut updates);
        fold.take_requests().into_iter().for_each(|r| link.request(r));
        updates.drain(..).for_each(|update| survey.update(&update, &fold));
    }
    let end = Event {
        at: SessionTime((until_s * 1e6) as u64),
        kind: EventKind::End,
    };
    fold.apply(&end, &mut updates);
    updates.drain(..).for_each(|update| survey.update(&update, &fold));
    survey.outcome(&fold)
}

/// Results counted.
#[derive(Default)]
struct Results([usize; 3]);

impl Results {
    fn add(&mut self, verdict: Verdict) {
        self.0[verdict as usize] += 1;
    }

    fn share(&self, verdict: Verdict) -> f64 {
        self.0[verdict as usize] as f64 / self.0.iter().sum::<usize>().max(1) as f64
    }
}

/// Comparisons counted: how many, and how many changed.
#[derive(Default)]
struct Changes {
    compared: usize,
    changed: usize,
}

impl Changes {
    fn share(&self) -> f64 {
        self.changed as f64 / self.compared.max(1) as f64
    }
}

/// Compares two visits and counts the criteria of this name and direction (of any, if none is named).
fn visits(
    before: &Scenario,
    now: &Scenario,
    seed: u64,
    of: Option<(&str, &str)>,
    into: &mut BTreeMap<&'static str, Changes>,
) -> bool {
    let earlier = test(before, seed, TEST_S);
    let mut later = test(now, seed ^ 0x5A5A_5A5A, TEST_S);
    later.compare(&earlier, &Criteria::default().acceptance);
    let comparisons = later.baseline.unwrap_or_default();
    let counted = comparisons
        .iter()
        .filter(|c| c.uncertainty.is_some())
        .filter(|c| of.is_none_or(|(name, direction)| c.name == name && c.direction == Some(direction)));
    let mut any = false;
    for comparison in counted {
        let changes = into.entry(comparison.name).or_default();
        changes.compared += 1;
        changes.changed += usize::from(comparison.changed);
        any |= comparison.changed;
    }
    any
}

fn run(first_seed: u64, sites: usize) -> Value {
    let (mut healthy, mut faulty) = (Results::default(), Results::default());
    let mut limiting: BTreeMap<&'static str, usize> = BTreeMap::new();
    let mut passed: BTreeMap<&'static str, usize> = BTreeMap::new();
    let (mut same, mut weaker, mut tighter) = (BTreeMap::new(), BTreeMap::new(), BTreeMap::new());
    let mut sessions_with_a_false_change = 0;
    let families: Vec<Family> = Family::ALL
        .into_iter()
        .filter(|f| *f != Family::Healthy)
        .collect();
    for i in 0..sites {
        let seed = first_seed.wrapping_mul(1_000_003).wrapping_add(i as u64);
        let site = generate::site(seed, Family::Healthy, &Reporting::FULL).scenario;
        let result = test(&site, seed, TEST_S);
        healthy.add(result.result);
        if result.result > Verdict::Pass {
            *limiting
                .entry(result.limiting.unwrap_or("not judged"))
                .or_default() += 1;
        }

        let family = families[i % families.len()];
        let broken = generate::site(seed, family, &Reporting::FULL);
        let until = broken.fault.map_or(TEST_S, |f| f.onset_s + WITH_FAULT_S);
        let result = test(&broken.scenario, seed, until).result;
        faulty.add(result);
        if result == Verdict::Pass {
            *passed.entry(family.code().unwrap_or("healthy")).or_default() += 1;
        }

        let mut quiet = site.clone();
        quiet.at.clear();
        sessions_with_a_false_change += usize::from(visits(&quiet, &quiet, seed, None, &mut same));
        let mut less_signal = quiet.clone();
        less_signal.cell.iter_mut().for_each(|c| c.rsrp_dbm -= CHANGE_DB);
        visits(
            &quiet,
            &less_signal,
            seed,
            Some(("donor-rsrp", "dl")),
            &mut weaker,
        );
        let mut less_isolation = quiet.clone();
        less_isolation
            .band
            .iter_mut()
            .for_each(|b| b.isolation_dl_db -= CHANGE_DB);
        visits(
            &quiet,
            &less_isolation,
            seed,
            Some(("loop-margin", "dl")),
            &mut tighter,
        );
    }
    let shares = |changes: &BTreeMap<&'static str, Changes>| {
        let entries = changes
            .iter()
            .map(|(name, c)| ((*name).to_owned(), json!(c.share())));
        Value::Object(entries.collect::<Map<_, _>>())
    };
    let all = Changes {
        compared: same.values().map(|c| c.compared).sum(),
        changed: same.values().map(|c| c.changed).sum(),
    };
    json!({
        "sites": sites,
        "healthy": {
            "pass": healthy.share(Verdict::Pass),
            "marginal": healthy.share(Verdict::Marginal),
            "fail": healthy.share(Verdict::Fail),
            "limiting": limiting,
        },
        "faulty": {
            "pass": faulty.share(Verdict::Pass),
            "marginal": faulty.share(Verdict::Marginal),
            "fail": faulty.share(Verdict::Fail),
            "passed": passed,
        },
        "unchanged_site": {
            "criteria_said_changed": all.share(),
            "sessions_with_one": f64::from(sessions_with_a_false_change as u32) / sites.max(1) as f64,
            "by_criterion": shares(&same),
        },
        "found_3db_less_signal": shares(&weaker),
        "found_3db_less_isolation": shares(&tighter),
    })
}

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    if !arguments.iter().any(|a| a == "--bench") {
        return ExitCode::SUCCESS;
    }
    let number = |name: &str, default: u64| {
        let given = arguments
            .iter()
            .position(|a| a == name)
            .and_then(|i| arguments.get(i + 1));
        given.map_or(Some(default), |text| text.parse().ok())
    };
    let (Some(seed), Some(sites)) = (number("--seed", 1), number("--sites", 230)) else {
        eprintln!("acceptance: --seed and --sites take whole numbers");
        return ExitCode::from(2);
    };
    let result = run(seed, usize::try_from(sites).unwrap_or(usize::MAX).min(100_000));
    if arguments.iter().any(|a| a == "--json") {
        println!("{result}");
    } else {
        println!("{result:#}");
    }
    ExitCode::SUCCESS
}
