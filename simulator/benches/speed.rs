//! How many times faster than real time a six-band unit at 10 Hz runs, every value drained as a link would. Reported,
//! never asserted. The goal, session file included, is 10,000.

use booster_profile::Characteristic;
use booster_simulator::{LinkParameters, Scenario, Simulation, What};
use std::time::Instant;

const HOURS: u64 = 2;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    // `cargo test` runs this too, without the argument that `cargo bench` appends.
    if !std::env::args().any(|a| a == "--bench") {
        return Ok(());
    }
    let mut simulation = Simulation::new(&Scenario::named("long-exchange")?, 1);
    simulation.connect(LinkParameters {
        mtu: 517,
        encrypted: true,
        authenticated: true,
    });
    for c in Characteristic::ALL.iter().filter(|c| c.is_subscribable()) {
        simulation.subscribe(*c, true)?;
    }
    let until_us = HOURS * 3_600_000_000;
    let (mut values, mut bytes_sum) = (0_u64, 0_u64);
    let start = Instant::now();
    while let Some(sent) = simulation.advance(until_us) {
        if let What::Value {
            characteristic,
            bytes,
        } = sent.what
        {
            values += 1;
            bytes_sum += bytes.len() as u64;
            if characteristic.is_indicated() {
                simulation.confirm();
            }
        }
    }
    let taken = start.elapsed().as_secs_f64();
    let ratio = until_us as f64 / 1e6 / taken;
    println!(
        "{HOURS} h of six bands at 10 Hz in {taken:.2} s: {ratio:.0} times real time, {:.2} µs a value, {values} values, {bytes_sum} bytes",
        taken * 1e6 / values as f64
    );
    Ok(())
}
