//! Every built-in scenario: it parses, runs, and what it expects can be told from what it states.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use booster_profile::{Characteristic as C, EventCode};
use booster_simulator::scenario::FINDING_CODES;
use booster_simulator::{LinkParameters, Scenario, Simulation, Way, What};

fn run(name: &str, until_s: u64) -> Simulation {
    let mut simulation = Simulation::new(&Scenario::named(name).unwrap(), 1);
    let mut seen = 0_u64;
    while simulation.now_us() < until_s * 1_000_000 {
        if simulation.is_advertising() {
            simulation.connect(LinkParameters {
                mtu: 517,
                encrypted: true,
                authenticated: true,
            });
            for c in C::ALL.iter().filter(|c| c.is_subscribable()) {
                simulation.subscribe(*c, true).unwrap();
            }
        }
        let limit = (simulation.now_us() + 500_000).min(until_s * 1_000_000);
        while let Some(sent) = simulation.advance(limit) {
            seen += 1;
            match sent.what {
                What::Value { characteristic, .. } if characteristic.is_indicated() => simulation.confirm(),
                What::Value { .. } => {}
                What::Disconnected => break,
            }
        }
    }
    assert!(seen > until_s, "{name}: {seen} values in {until_s} s");
    simulation
}

/// (seconds, code, band, direction) of the events of a unit that ran for an hour and a half before.
fn events(simulation: &Simulation) -> Vec<(f64, EventCode, Option<u8>, u8)> {
    let start_ms = f64::from(simulation.unit().spec().uptime_s) * 1e3;
    let of = |e: &booster_profile::UnitEvent| {
        (
            (f64::from(e.time_ms) - start_ms) / 1e3,
            e.code,
            e.band,
            e.direction.raw(),
        )
    };
    simulation.unit().memory().events.iter().map(of).collect()
}

fn happened(simulation: &Simulation, code: EventCode, band: Option<u8>, from: f64, to: f64) -> bool {
    events(simulation)
        .iter()
        .any(|(t, c, b, _)| *c == code && *b == band && (from..=to).contains(t))
}

#[test]
fn every_scenario_parses_runs_and_expects_known_codes() {
    for name in Scenario::names() {
        let scenario = Scenario::named(name).unwrap();
        assert_eq!(scenario.name, name);
        assert!(!scenario.story.is_empty(), "{name} has no story");
        for expected in &scenario.expect {
            assert!(
                FINDING_CODES.contains(&expected.code.as_str()),
                "{name}: {}",
                expected.code
            );
            assert!(expected.by_s > expected.from_s, "{name}: {}", expected.code);
        }
        run(name, 20);
    }
    assert!(Scenario::names().count() >= 16);
}

#[test]
fn healthy_sites_stay_healthy() {
    for name in ["lighthouse-row", "long-exchange", "narrow-stair"] {
        let simulation = run(name, 600);
        let codes: Vec<_> = events(&simulation).iter().map(|e| e.1).collect();
        assert_eq!(codes, [EventCode::Started], "{name}");
        for band in 0..simulation.unit().bands().len() {
            assert!(
                simulation.true_margin_db(band, Way::Dl).unwrap() > 17.0,
                "{name} {band}"
            );
            assert!(
                simulation.true_margin_db(band, Way::Ul).unwrap() > 17.0,
                "{name} {band}"
            );
        }
    }
}

#[test]
fn the_small_cell_overloads_the_unit() {
    for name in ["tannery-lane", "plain-cottage"] {
        let at = if name == "tannery-lane" { 25.0 } else { 40.0 };
        let simulation = run(name, 70);
        assert!(
            happened(&simulation, EventCode::OverloadStart, Some(0), at, at + 1.0),
            "{name}: {:?}",
            events(&simulation)
        );
        assert!(!happened(
            &simulation,
            EventCode::OverloadStart,
            Some(0),
            0.0,
            at - 0.1
        ));
    }
}

#[test]
fn the_ladder_makes_the_guard_act_once() {
    let simulation = run("bell-tower", 120);
    assert!(
        happened(&simulation, EventCode::OscillationDetected, Some(0), 30.0, 31.0),
        "{:?}",
        events(&simulation)
    );
    assert!(happened(&simulation, EventCode::GuardActed, Some(0), 30.0, 31.0));
    assert!(happened(
        &simulation,
        EventCode::OscillationCleared,
        Some(0),
        91.0,
        115.0
    ));
    let acted = events(&simulation)
        .iter()
        .filter(|e| e.1 == EventCode::GuardActed)
        .count();
    assert_eq!(acted, 1);
}

#[test]
fn the_old_mule_oscillates_and_says_nothing() {
    let simulation = run("grain-loft", 80);
    assert_eq!(events(&simulation).len(), 1, "{:?}", events(&simulation));
    assert!(simulation.true_margin_db(0, Way::Dl).unwrap() < 0.0);
    // The input is the output less the isolation, whatever the cell does.
    let input = simulation.true_input_dbm(0, Way::Dl).unwrap();
    let isolation = simulation.true_isolation_db(0, Way::Dl).unwrap();
    assert!((input - (17.0 - isolation)).abs() < 0.5, "{input} {isolation}");
}

#[test]
fn the_quarry_latches_off() {
    let simulation = run("quarry-office", 340);
    assert!(
        happened(&simulation, EventCode::LatchedOff, Some(0), 300.0, 335.0),
        "{:?}",
        events(&simulation)
    );
    let acted = events(&simulation)
        .iter()
        .filter(|e| e.1 == EventCode::GuardActed)
        .count();
    assert_eq!(acted, 5);
}

#[test]
fn other_sites_tell_what_they_should() {
    let told = |name, code, band, from, to| {
        let simulation = run(name, to as u64 + 20);
        assert!(
            happened(&simulation, code, band, from, to),
            "{name}: {:?}",
            events(&simulation)
        );
    };
    told("bakehouse", EventCode::HeatStart, None, 100.0, 300.0);
    told("gate-nine", EventCode::SyncLost, Some(0), 30.0, 30.2);
    told("new-chapel", EventCode::AuthorizationChanged, None, 90.0, 90.2);
    told("mill-race", EventCode::SupplyLow, None, 15.0, 17.0);
    told("depot-six", EventCode::OverloadStart, None, 30.0, 30.2);
    told("market-cross", EventCode::OverloadStart, Some(1), 30.0, 31.0);
    told(
        "market-cross",
        EventCode::OscillationDetected,
        Some(0),
        90.0,
        91.5,
    );
}

#[test]
fn unknown_keys_and_values_are_refused_with_their_line_and_the_nearest_word() {
    let text = std::fs::read_to_string(concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/scenarios/weavers-yard.toml"
    ))
    .unwrap();
    let wrong = text
        .replace("people_db", "poeple_db")
        .replace("isolation_db = -12", "isolaton_db = -12");
    let error = Scenario::parse(&wrong, "yard.toml").unwrap_err().to_string();
    let line = 1 + wrong.lines().position(|l| l.starts_with("isolaton_db")).unwrap();
    assert_eq!(
        error,
        format!("yard.toml, line {line}: unknown field `isolaton_db`; did you mean `isolation_db`?")
    );
    let wrong = text.replace("direction = \"dl\"", "direction = \"down\"");
    let error = Scenario::parse(&wrong, "yard.toml").unwrap_err().to_string();
    assert!(error.contains("unknown variant"), "{error}");
    let wrong = text.replace("code = \"low-loop-margin\"", "code = \"low-lop-margin\"");
    let error = Scenario::parse(&wrong, "yard.toml").unwrap_err().to_string();
    assert!(error.contains("did you mean `low-loop-margin`?"), "{error}");
    let error = Scenario::named("weavers-yrd").unwrap_err().to_string();
    assert!(error.contains("did you mean `weavers-yard`?"), "{error}");
    let wrong = text.replace("channel = 5110", "channel = 900");
    let error = Scenario::parse(&wrong, "yard.toml").unwrap_err().to_string();
    assert!(error.contains("belongs to band 2"), "{error}");
}
