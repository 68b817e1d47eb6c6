//! Sites drawn from seeds: they can run, the fault is where the truth says, healthy ones are healthy.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use booster_profile::EventCode;
use booster_simulator::generate::{Family, Reporting, Site, site};
use booster_simulator::scenario::{FINDING_CODES, Timeline};
use booster_simulator::{Simulation, Way};

fn sites(family: Family, count: u64) -> impl Iterator<Item = Site> {
    (0..count).map(move |seed| site(seed, family, &Reporting::FULL))
}

fn at(site: &Site, s: f64) -> Simulation {
    let mut simulation = Simulation::new(&site.scenario, 99);
    while simulation.advance((s * 1e6) as u64).is_some() {}
    simulation
}

#[test]
fn every_family_draws_sites_that_can_run() {
    for family in Family::ALL {
        for drawn in sites(family, 20) {
            let name = &drawn.scenario.name;
            assert!(
                Timeline::new(&drawn.scenario).is_ok(),
                "{name}: {:?}",
                Timeline::new(&drawn.scenario)
            );
            match (family.code(), drawn.fault) {
                (None, None) => {}
                (Some(code), Some(fault)) => {
                    assert_eq!(fault.code, code);
                    assert!(FINDING_CODES.contains(&code));
                    assert!(fault.until_s >= fault.onset_s + 60.0, "{name}: {fault:?}");
                    assert!(fault.band.is_none_or(|b| b < drawn.scenario.band.len()));
                }
                other => panic!("{name}: {other:?}"),
            }
        }
    }
}

#[test]
fn the_same_seed_draws_the_same_site() {
    let draw = |seed| site(seed, Family::NearFar, &Reporting::FULL);
    assert_eq!(draw(5), draw(5));
    assert_ne!(draw(5), draw(6));
}

#[test]
fn healthy_sites_keep_their_margin_and_tell_nothing() {
    for drawn in sites(Family::Healthy, 12) {
        let name = &drawn.scenario.name;
        let mut simulation = Simulation::new(&drawn.scenario, 99);
        for second in 1..=1_800_u64 {
            while simulation.advance(second * 1_000_000).is_some() {}
            for band in 0..drawn.scenario.band.len() {
                for way in [Way::Dl, Way::Ul] {
                    let margin = simulation.true_margin_db(band, way).unwrap();
                    assert!(
                        margin > 15.0,
                        "{name} at {second} s, band {band} {way:?}: {margin}"
                    );
                }
            }
        }
        let told: Vec<_> = simulation.unit().memory().events.iter().map(|e| e.code).collect();
        assert_eq!(told, [EventCode::Started], "{name}");
    }
}

#[test]
fn the_true_size_is_the_one_drawn() {
    for drawn in sites(Family::LowLoopMargin, 15) {
        let fault = drawn.fault.unwrap();
        let simulation = at(&drawn, fault.onset_s + 5.0);
        let margin = simulation
            .true_margin_db(fault.band.unwrap(), fault.way.unwrap())
            .unwrap();
        assert!((margin - (15.0 - fault.size)).abs() < 2.5, "{fault:?}: {margin}");
        assert!(simulation.unit().memory().events.iter().count() == 1);
    }
    for drawn in sites(Family::DonorOverload, 15) {
        let fault = drawn.fault.unwrap();
        let band = fault.band.unwrap();
        let overload = drawn.scenario.band[band].overload_dbm();
        let before = at(&drawn, fault.onset_s - 1.0)
            .true_input_dbm(band, Way::Dl)
            .unwrap();
        assert!(before < overload - 3.0, "{fault:?}: {before}");
        let during = at(&drawn, fault.onset_s + 25.0)
            .true_input_dbm(band, Way::Dl)
            .unwrap();
        assert!(
            (during - overload - fault.size).abs() < 4.0,
            "{fault:?}: {during} {overload}"
        );
    }
}

#[test]
fn flagged_and_unflagged_oscillation() {
    for family in [
        Family::Oscillation,
        Family::OscillationUnflagged,
        Family::LatchedOff,
    ] {
        for drawn in sites(family, 8) {
            let fault = drawn.fault.unwrap();
            let (band, way) = (fault.band.unwrap(), fault.way.unwrap());
            let mut simulation = at(&drawn, fault.onset_s - 0.2);
            assert!(
                !simulation.unit().bands()[band]
                    .lane(way)
                    .amplifier
                    .working()
                    .oscillating
            );
            while simulation
                .advance((fault.onset_s * 1e6) as u64 + 10_000)
                .is_some()
            {}
            assert!(
                simulation.unit().bands()[band]
                    .lane(way)
                    .amplifier
                    .working()
                    .oscillating,
                "{fault:?}"
            );
            while simulation
                .advance((fault.onset_s * 1e6) as u64 + 350_000_000)
                .is_some()
            {}
            let count = |code| {
                simulation
                    .unit()
                    .memory()
                    .events
                    .iter()
                    .filter(|e| e.code == code)
                    .count()
            };
            match family {
                Family::OscillationUnflagged => {
                    assert_eq!(simulation.unit().memory().events.iter().count(), 1)
                }
                Family::LatchedOff => assert_eq!(count(EventCode::LatchedOff), 1, "{fault:?}"),
                _ => assert!(
                    count(EventCode::GuardActed) >= 1 && count(EventCode::LatchedOff) == 0,
                    "{fault:?}"
                ),
            }
        }
    }
}

#[test]
fn variants_report_as_asked() {
    let reporting = Reporting {
        report_ms: 1_000,
        mandatory_only: true,
        loss: 0.1,
    };
    let drawn = site(3, Family::DonorOverload, &reporting);
    assert_eq!(drawn.scenario.unit.report_ms, 1_000);
    assert!(Simulation::new(&drawn.scenario, 1).unit().fields().is_empty());
    assert_eq!(drawn.scenario.transport.loss, 0.1);
}
