//! Isolation between the antennas: reciprocal, and the same on both sides of the line between them.
#![allow(clippy::unwrap_used, reason = "a failed assumption should stop the test")]

use booster_simulator::{Scenario, Simulation, Way};
use proptest::prelude::*;

const SERVER_DEG: f64 = 200.0;

fn isolation_db(bearing_deg: f64, base_db: f64) -> [f64; 2] {
    let text = format!(
        r#"
        title = "A bench"
        [donor]
        bearing_deg = 20
        server_bearing_deg = {SERVER_DEG}
        [[band]]
        name = "B3"
        dl_mhz = 1842.5
        ul_mhz = 1747.5
        width_mhz = 75.0
        max_gain_db = 50.0
        people_db = 0.0
        isolation_dl_db = {base_db}
        isolation_ul_db = {base_db}
        "#
    );
    let mut simulation = Simulation::new(&Scenario::parse(&text, "bench").unwrap(), 1);
    simulation.turn(bearing_deg.rem_euclid(360.0));
    simulation.advance(1_000_000);
    [Way::Dl, Way::Ul].map(|way| simulation.true_isolation_db(0, way).unwrap())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// Antennas are reciprocal (textbook; Friis): what is the same for both frequencies is the same in both directions,
    /// and left is like right.
    #[test]
    fn isolation_is_symmetric(off_deg in 0.0..180.0f64, base_db in 60.0..120.0f64) {
        let [dl, ul] = isolation_db(SERVER_DEG + off_deg, base_db);
        prop_assert_eq!(dl, ul);
        let [mirrored, _] = isolation_db(SERVER_DEG - off_deg, base_db);
        prop_assert!((dl - mirrored).abs() < 1e-9, "{dl} and {mirrored}");
        // Turning towards the server antenna never adds isolation.
        let [nearer, _] = isolation_db(SERVER_DEG + off_deg / 2.0, base_db);
        prop_assert!(nearer <= dl + 1e-9, "{nearer} at {} and {dl} at {off_deg}", off_deg / 2.0);
    }
}
