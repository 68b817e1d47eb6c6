//! The truth record of the transport against what a client can count.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use booster_profile::{Characteristic as C, Part};
use booster_simulator::{LinkParameters, Scenario, Simulation, What};
use std::collections::HashMap;

fn scenario(faults: &str) -> Scenario {
    let text = std::fs::read_to_string(concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/scenarios/long-exchange.toml"
    ))
    .unwrap();
    Scenario::parse(&format!("{text}\n[transport]\n{faults}"), "faults").unwrap()
}

/// Received copies by band and sequence, refused values, and whether an older value came after a newer one.
fn receive(simulation: &mut Simulation, until_us: u64) -> (HashMap<(u8, u16), u64>, u64, u64) {
    let (mut seen, mut refused, mut late) = (HashMap::new(), 0, 0);
    let mut newest = HashMap::new();
    while let Some(sent) = simulation.advance(until_us) {
        let What::Value {
            characteristic,
            bytes,
        } = sent.what
        else {
            break;
        };
        if characteristic.is_indicated() {
            simulation.confirm();
        }
        if characteristic != C::BandTelemetry {
            continue;
        }
        match Part::decode(&bytes) {
            Ok(Part::First { reading, .. }) => {
                *seen.entry((reading.band, reading.sequence)).or_insert(0) += 1;
                let latest = newest.entry(reading.band).or_insert(0);
                late += u64::from(reading.sequence < *latest);
                *latest = reading.sequence.max(*latest);
            }
            Ok(Part::Continuation(_)) => panic!("one part at this MTU"),
            Err(_) => refused += 1,
        }
    }
    (seen, refused, late)
}

fn open(scenario: &Scenario) -> Simulation {
    let mut simulation = Simulation::new(scenario, 7);
    simulation.connect(LinkParameters {
        mtu: 247,
        encrypted: false,
        authenticated: false,
    });
    simulation.subscribe(C::BandTelemetry, true).unwrap();
    simulation
}

#[test]
fn losses_copies_and_damage_are_what_the_record_says() {
    let mut simulation = open(&scenario(
        "loss = 0.05\nduplicate = 0.03\ntruncate = 0.02\ngarble = 0.02",
    ));
    // To the end of a connection interval, so that nothing is on its way.
    let (seen, refused, _) = receive(&mut simulation, 120_030_000);
    let truth = simulation.transport_truth();
    let sum = |f: fn(&booster_simulator::transport::BandTruth) -> u64| {
        truth.bands.iter().map(f).sum::<u64>() + f(&truth.other)
    };
    let (sent, lost, doubled, malformed) = (
        sum(|t| t.sent),
        sum(|t| t.lost),
        sum(|t| t.duplicated),
        sum(|t| t.malformed),
    );
    assert_eq!(sent, 6 * 1200);
    for (count, share) in [(lost, 0.05), (doubled, 0.03), (malformed, 0.03)] {
        let got = count as f64 / sent as f64;
        // Four standard deviations of a binomial share.
        assert!(
            (got - share).abs() < 4.0 * (share / sent as f64).sqrt(),
            "{got} {share}"
        );
    }
    let copies: u64 = seen.values().sum();
    // A damaged value that was doubled arrives damaged twice.
    assert!(refused >= malformed && refused <= malformed + doubled);
    assert_eq!(copies + refused, sent - lost + doubled);
}

#[test]
fn order_holds_without_faults_and_breaks_with_them() {
    let (seen, refused, late) = receive(&mut open(&scenario("")), 30_030_000);
    assert_eq!((seen.len(), refused, late), (6 * 300, 0, 0));
    let mut simulation = open(&scenario("reorder = 0.1"));
    let (seen, _, late) = receive(&mut simulation, 31_000_000);
    let reordered: u64 = simulation
        .transport_truth()
        .bands
        .iter()
        .map(|t| t.reordered)
        .sum();
    assert!(late > 0 && late <= reordered, "{late} {reordered}");
    assert!(seen.values().all(|n| *n == 1));
}

#[test]
fn a_dropped_connection_loses_what_was_on_its_way_and_comes_back() {
    let mut simulation = open(&scenario("drop_every_s = 5\naway_s = 2"));
    let (mut drops, mut away) = (0, Vec::new());
    while simulation.now_us() < 120_000_000 {
        match simulation.advance((simulation.now_us() + 50_000).min(120_000_000)) {
            Some(sent) if sent.what == What::Disconnected => {
                drops += 1;
                away.push(sent.at_us);
                assert!(!simulation.is_advertising());
            }
            _ => {
                if simulation.is_advertising() {
                    if let Some(at) = away.last() {
                        let gone = simulation.now_us() - at;
                        assert!((2_000_000..2_200_000).contains(&gone), "{gone}");
                    }
                    simulation.connect(LinkParameters {
                        mtu: 247,
                        encrypted: false,
                        authenticated: false,
                    });
                    simulation.subscribe(C::BandTelemetry, true).unwrap();
                }
            }
        }
    }
    assert_eq!(drops, simulation.transport_truth().drops);
    assert!((8..30).contains(&drops), "{drops}");
}

#[test]
fn a_storm_sends_everything_several_times() {
    let mut simulation = open(&scenario("storm = 5"));
    let (seen, _, _) = receive(&mut simulation, 2_030_000);
    assert_eq!(seen.len(), 6 * 20);
    assert!(seen.values().all(|n| *n == 5));
}
