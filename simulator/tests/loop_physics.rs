//! The feedback loop, measured on the running simulator and compared with the rows of facts D (derived there from
//! classical feedback theory); uplink and downlink each.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use booster_simulator::booster::probe::tone_gain_db;
use booster_simulator::{Action, Scenario, Simulation, Way};

const GAIN_DB: f64 = 65.0;

/// A unit at a standstill: no wander, no traffic, no people; input far below AGC onset; no guard.
fn still(dl_margin_db: f64, ul_margin_db: f64) -> Simulation {
    let text = format!(
        r#"
        title = "A bench"
        [unit]
        guard = {{ present = false }}
        [[band]]
        name = "B3"
        dl_mhz = 1842.5
        ul_mhz = 1747.5
        width_mhz = 75.0
        max_gain_db = {GAIN_DB}
        people_db = 0.0
        isolation_dl_db = {}
        isolation_ul_db = {}
        [[handset]]
        name = "tone"
        band = "B3"
        level_dbm = -90
        pause_s = 0
        on = false
        "#,
        GAIN_DB + dl_margin_db,
        GAIN_DB + ul_margin_db
    );
    let mut simulation = Simulation::new(&Scenario::parse(&text, "bench").unwrap(), 1);
    simulation.advance(60_000_000);
    simulation
}

fn output_dbm(simulation: &Simulation, way: Way) -> f64 {
    10.0 * simulation.unit().bands()[0]
        .lane(way)
        .amplifier
        .working()
        .output_mw
        .log10()
}

fn with_margin(way: Way, margin_db: f64) -> Simulation {
    match way {
        Way::Dl => still(margin_db, 60.0),
        Way::Ul => still(60.0, margin_db),
    }
}

#[test]
fn a_swept_tone_shows_the_ripple() {
    // Facts D: margin → peak, dip, ripple (dB).
    let rows = [
        (3.0, 10.69, -4.65, 15.34),
        (6.0, 6.04, -3.53, 9.57),
        (10.0, 3.30, -2.39, 5.69),
        (15.0, 1.70, -1.42, 3.12),
        (20.0, 0.915, -0.828, 1.74),
    ];
    for way in [Way::Dl, Way::Ul] {
        for (margin, peak, dip, ripple) in rows {
            let simulation = with_margin(way, margin);
            let amplifier = &simulation.unit().bands()[0].lane(way).amplifier;
            let delay_us = 0.5;
            let sweep: Vec<f64> = (0..=400)
                .map(|i| tone_gain_db(amplifier, delay_us, f64::from(i) * 0.01).unwrap())
                .collect();
            let highest = sweep.iter().copied().fold(f64::MIN, f64::max);
            let lowest = sweep.iter().copied().fold(f64::MAX, f64::min);
            assert!((highest - peak).abs() < 0.01, "{way:?} {margin}: {highest}");
            assert!((lowest - dip).abs() < 0.01, "{way:?} {margin}: {lowest}");
            assert!((highest - lowest - ripple).abs() < 0.01, "{way:?} {margin}");
            // Ripple period 1/τ: 0.5 µs → 2 MHz.
            let peaks: Vec<usize> = (0..sweep.len())
                .filter(|i| (sweep[*i] - highest).abs() < 1e-6)
                .collect();
            assert_eq!(peaks, [0, 200, 400], "{way:?} {margin}");
            // The mean of the gain in dB over all phases does not change.
            let mean = sweep[..400].iter().sum::<f64>() / 400.0;
            assert!(mean.abs() < 1e-3, "{way:?} {margin}: {mean}");
        }
    }
}

#[test]
fn noise_rises_as_the_margin_shrinks() {
    // Facts D: margin → mean power rise (dB).
    for way in [Way::Dl, Way::Ul] {
        let alone = output_dbm(&with_margin(way, 60.0), way);
        for (margin, rise) in [
            (3.0, 3.02),
            (6.0, 1.26),
            (10.0, 0.458),
            (15.0, 0.140),
            (20.0, 0.0436),
        ] {
            let measured = output_dbm(&with_margin(way, margin), way) - alone;
            assert!((measured - rise).abs() < 0.005, "{way:?} {margin}: {measured}");
        }
    }
}

#[test]
fn a_gain_step_down_lowers_the_output_by_more_than_the_step() {
    // Facts D: margin after the step down, step → excess (dB). Steps go down only.
    let rows = [
        (4.0, [0.82, 2.12, 4.66]),
        (6.0, [0.39, 0.95, 1.76]),
        (8.0, [0.22, 0.51, 0.90]),
        (10.0, [0.13, 0.29, 0.51]),
        (15.0, [0.04, 0.08, 0.14]),
    ];
    for way in [Way::Dl, Way::Ul] {
        for (margin, excesses) in rows {
            for (step, excess) in [1.0, 2.0, 3.0].into_iter().zip(excesses) {
                let mut simulation = with_margin(way, margin - step);
                let before = output_dbm(&simulation, way);
                simulation.apply(&Action::Attenuation {
                    band: Some(0),
                    way: Some(way),
                    db: step,
                });
                let limit = simulation.now_us() + 5_000_000;
                simulation.advance(limit);
                let fall = before - output_dbm(&simulation, way);
                assert!(
                    (fall - step - excess).abs() < 0.006,
                    "{way:?} {margin} {step}: {fall}"
                );
            }
        }
    }
}

#[test]
fn oscillation_begins_where_the_margin_reaches_zero_and_stays_in_its_own_direction() {
    for (way, other) in [(Way::Dl, Way::Ul), (Way::Ul, Way::Dl)] {
        let mut simulation = with_margin(way, 1.0);
        let other_before = output_dbm(&simulation, other);
        let mut onset = None;
        for _ in 0..40 {
            simulation.apply(&Action::Isolation {
                band: Some(0),
                way: Some(way),
                db: -0.05,
            });
            let limit = simulation.now_us() + 200_000;
            simulation.advance(limit);
            let lane = simulation.unit().bands()[0].lane(way);
            if lane.amplifier.working().oscillating {
                onset = onset.or(simulation.true_isolation_db(0, way));
            }
        }
        assert!((onset.unwrap() - GAIN_DB).abs() < 0.051, "{way:?}: {onset:?}");
        // Telemetry sees the plateau: output at its rating, input = output − isolation.
        let rated = if way == Way::Dl { 17.0 } else { 23.0 };
        let plateau = output_dbm(&simulation, way);
        assert!((plateau - rated).abs() < 0.1, "{way:?}: {plateau}");
        let input = simulation.true_input_dbm(0, way).unwrap();
        let isolation = simulation.true_isolation_db(0, way).unwrap();
        assert!((input - (plateau - isolation)).abs() < 0.1, "{way:?}: {input}");
        assert!(
            (output_dbm(&simulation, other) - other_before).abs() < 1e-9,
            "{way:?}"
        );
    }
}

#[test]
fn loss_in_the_donor_line_adds_isolation_both_ways_and_costs_level() {
    // Reciprocity: one line, one pair of antennas.
    let mut simulation = Simulation::new(&Scenario::named("lighthouse-row").unwrap(), 1);
    let before: Vec<f64> = [Way::Dl, Way::Ul]
        .map(|w| simulation.true_isolation_db(0, w).unwrap())
        .to_vec();
    let level = simulation.world().cells()[0].mean_rsrp_dbm();
    simulation.apply(&Action::FeederLoss {
        db: 5.0,
        db_per_ghz: 0.0,
    });
    for (way, before) in [Way::Dl, Way::Ul].into_iter().zip(before) {
        assert!((simulation.true_isolation_db(0, way).unwrap() - before - 5.0).abs() < 1e-9);
    }
    assert!((simulation.world().cells()[0].mean_rsrp_dbm() - (level - 5.0)).abs() < 1e-9);
}
