//! The default site, end to end through the in-process front.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use booster_profile::{Characteristic as C, Part};
use booster_simulator::{LinkParameters, Scenario, Simulation, What};

const LINK: LinkParameters = LinkParameters {
    mtu: 247,
    encrypted: true,
    authenticated: true,
};

fn connected(name: &str, seed: u64) -> Simulation {
    let mut simulation = Simulation::new(&Scenario::named(name).unwrap(), seed);
    simulation.connect(LINK);
    for c in C::ALL.iter().filter(|c| c.is_subscribable()) {
        simulation.subscribe(*c, true).unwrap();
    }
    simulation
}

#[test]
fn the_first_reading_comes_within_half_a_second() {
    let mut simulation = connected(Scenario::DEFAULT, 1);
    while let Some(sent) = simulation.advance(500_000) {
        if let What::Value {
            characteristic: C::BandTelemetry,
            bytes,
        } = sent.what
        {
            assert!(matches!(
                Part::decode(&bytes),
                Ok(Part::First { more: false, .. })
            ));
            return;
        }
    }
    panic!("no reading within 0.5 s");
}

#[test]
fn the_door_takes_twelve_db_of_margin_and_gives_it_back() {
    let mut simulation = connected(Scenario::DEFAULT, 1);
    let mut seen = Vec::new();
    while let Some(sent) = simulation.advance(150_000_000) {
        let What::Value {
            characteristic,
            bytes,
        } = sent.what
        else {
            panic!("disconnected")
        };
        if characteristic.is_indicated() {
            simulation.confirm();
        }
        if characteristic != C::BandTelemetry {
            continue;
        }
        let Ok(Part::First { reading, .. }) = Part::decode(&bytes) else {
            panic!("not a reading")
        };
        if reading.band == 0 {
            let margin = reading.extra.dl_isolation.unwrap().db() - reading.dl_gain.unwrap().db();
            seen.push((sent.at_us as f64 / 1e6, margin, reading));
        }
    }
    let mean = |from: f64, to: f64| {
        let part: Vec<f64> = seen
            .iter()
            .filter(|(t, ..)| (from..to).contains(t))
            .map(|(_, m, _)| *m)
            .collect();
        part.iter().sum::<f64>() / part.len() as f64
    };
    let (before, during, after) = (mean(5.0, 40.0), mean(50.0, 95.0), mean(115.0, 150.0));
    assert!(before > 18.0, "{before}");
    assert!((before - during - 12.0).abs() < 1.0, "{before} {during}");
    assert!((after - before).abs() < 1.0, "{before} {after}");
}

#[test]
fn the_same_seed_gives_the_same_bytes() {
    let run = |seed| {
        let mut simulation = connected(Scenario::DEFAULT, seed);
        let mut all = Vec::new();
        while let Some(sent) = simulation.advance(20_000_000) {
            all.push(sent);
            simulation.confirm();
        }
        all
    };
    assert_eq!(run(1), run(1));
    assert_ne!(run(1), run(2));
}

#[test]
fn a_dipping_supply_is_told_and_undone() {
    let text = format!(
        "{}\n[[at]]\ns = 3\nsupply_v = 9.8\nfor_s = 2\n",
        std::fs::read_to_string(concat!(
            env!("CARGO_MANIFEST_DIR"),
            "/scenarios/weavers-yard.toml"
        ))
        .unwrap()
    );
    let mut simulation = Simulation::new(&Scenario::parse(&text, "dip").unwrap(), 1);
    while simulation.advance(10_000_000).is_some() {}
    let codes: Vec<_> = simulation
        .unit()
        .memory()
        .events
        .iter()
        .map(|e| (e.code.name(), e.value))
        .collect();
    assert_eq!(
        codes,
        [
            ("started", None),
            ("supply-low", Some(98)),
            ("supply-restored", Some(121))
        ]
    );
}
