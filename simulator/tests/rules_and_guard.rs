//! Guard timing and gain limits of the rule sets, measured on the running unit.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use booster_profile::control::{ControlResponse, ControlResult, UnitRequest};
use booster_profile::{Characteristic as C, DirectionState, EventCode};
use booster_simulator::{Action, LinkParameters, Scenario, Simulation, Way, What};
use radio::limits::us;

fn bench(rule: &str, gain_db: f64) -> Simulation {
    let text = format!(
        r#"
        title = "A bench"
        [unit]
        rule = "{rule}"
        uptime_s = 0
        [[band]]
        name = "B5"
        dl_mhz = 881.5
        ul_mhz = 836.5
        width_mhz = 25.0
        max_gain_db = {gain_db}
        people_db = 0.0
        isolation_dl_db = 150
        isolation_ul_db = 150
        "#
    );
    Simulation::new(&Scenario::parse(&text, "bench").unwrap(), 1)
}

fn run_to(simulation: &mut Simulation, s: f64) {
    while simulation.advance((s * 1e6) as u64).is_some() {}
}

fn state(simulation: &Simulation, way: Way) -> DirectionState {
    simulation.unit().bands()[0].lane(way).state
}

/// Times in s of the events of one code.
fn times(simulation: &Simulation, code: EventCode) -> Vec<f64> {
    let events = simulation.unit().memory().events.iter();
    events
        .filter(|e| e.code == code)
        .map(|e| f64::from(e.time_ms) / 1e3)
        .collect()
}

#[test]
fn the_guard_keeps_the_times_of_the_us_rule() {
    // 47 CFR 20.21(e)(8)(ii)(A), from memory; constants of the radio crate.
    for (way, limit) in [
        (Way::Ul, us::UPLINK_MITIGATION),
        (Way::Dl, us::DOWNLINK_MITIGATION),
    ] {
        for offset in [0.0, 0.013, 0.05, 0.087] {
            let mut simulation = bench("us-wideband", 63.0);
            let onset = 10.0 + offset;
            run_to(&mut simulation, onset);
            simulation.apply(&Action::Isolation {
                band: None,
                way: Some(way),
                db: -88.0,
            });
            assert!(
                simulation.unit().bands()[0]
                    .lane(way)
                    .amplifier
                    .working()
                    .oscillating
            );
            // Measured from outside: until the output has gone.
            let mut t = onset;
            while simulation.unit().bands()[0]
                .lane(way)
                .amplifier
                .working()
                .output_mw
                > 0.0
            {
                t += 0.001;
                run_to(&mut simulation, t);
                assert!(t < onset + 2.0);
            }
            assert!(t - onset <= limit.as_secs_f64(), "{way:?}: {}", t - onset);
            assert_eq!(state(&simulation, way), DirectionState::Guard);
            let acted = times(&simulation, EventCode::GuardActed);
            assert!((acted[0] - t).abs() <= 0.002, "{acted:?} {t}");
            // Held for at least a minute.
            run_to(&mut simulation, t + us::MITIGATION_HOLD.as_secs_f64() - 0.01);
            assert_eq!(state(&simulation, way), DirectionState::Guard);
        }
    }
}

#[test]
fn after_five_restarts_the_direction_stays_off_until_a_person_with_presence_resets_it() {
    let mut simulation = bench("us-wideband", 63.0);
    run_to(&mut simulation, 10.0);
    simulation.apply(&Action::Isolation {
        band: None,
        way: Some(Way::Dl),
        db: -88.0,
    });
    run_to(&mut simulation, 1_200.0);
    assert_eq!(
        times(&simulation, EventCode::GuardActed).len(),
        us::RESTARTS as usize
    );
    let latched = times(&simulation, EventCode::LatchedOff);
    assert_eq!(latched.len(), 1);
    // Five minutes of holding, and each time the level has to fall before the rule leaves the gain that oscillates.
    assert!((310.0..350.0).contains(&latched[0]), "{latched:?}");
    assert_eq!(state(&simulation, Way::Dl), DirectionState::LatchedOff);
    assert_eq!(state(&simulation, Way::Ul), DirectionState::Normal);

    // Neither time nor a restart of the unit nor a request without presence brings it back.
    let restart = |simulation: &mut Simulation| {
        simulation
            .write(C::UnitControl, &UnitRequest::Restart.encode())
            .unwrap();
        let limit = simulation.now_us() + 1_000_000;
        while let Some(sent) = simulation.advance(limit) {
            if let What::Value {
                characteristic: C::UnitControl,
                bytes,
            } = sent.what
            {
                simulation.confirm();
                return ControlResponse::decode(&bytes).unwrap().result;
            }
        }
        panic!("no answer");
    };
    simulation.connect(LinkParameters {
        mtu: 247,
        encrypted: true,
        authenticated: true,
    });
    simulation.subscribe(C::UnitControl, true).unwrap();
    assert_eq!(restart(&mut simulation), ControlResult::PresenceNeeded);
    simulation.disconnect();
    simulation.restart_unit();
    run_to(&mut simulation, 1_500.0);
    assert_eq!(state(&simulation, Way::Dl), DirectionState::LatchedOff);

    simulation.apply(&Action::Isolation {
        band: None,
        way: Some(Way::Dl),
        db: 88.0,
    });
    simulation.apply(&Action::Button);
    simulation.connect(LinkParameters {
        mtu: 247,
        encrypted: true,
        authenticated: true,
    });
    simulation.subscribe(C::UnitControl, true).unwrap();
    assert_eq!(restart(&mut simulation), ControlResult::Success);
    run_to(&mut simulation, 1_510.0);
    assert_eq!(state(&simulation, Way::Dl), DirectionState::Normal);
}

#[test]
fn a_fault_that_goes_away_is_told_as_cleared() {
    let mut simulation = bench("none", 63.0);
    run_to(&mut simulation, 5.0);
    simulation.apply(&Action::Isolation {
        band: None,
        way: Some(Way::Ul),
        db: -88.0,
    });
    run_to(&mut simulation, 8.0);
    simulation.apply(&Action::Isolation {
        band: None,
        way: Some(Way::Ul),
        db: 88.0,
    });
    run_to(&mut simulation, 100.0);
    let cleared = times(&simulation, EventCode::OscillationCleared);
    assert!(
        cleared.len() == 1 && (75.0..77.0).contains(&cleared[0]),
        "{cleared:?}"
    );
}

fn gains(simulation: &mut Simulation, rssi_dbm: f64) -> (f64, f64) {
    simulation.apply(&Action::Interference {
        band: 0,
        dbm: Some(rssi_dbm),
    });
    let limit = simulation.now_us() + 60_000_000;
    while simulation.advance(limit).is_some() {}
    let gain = |w| simulation.unit().bands()[0].lane(w).amplifier.working().gain_db;
    (gain(Way::Dl), gain(Way::Ul))
}

#[test]
fn under_the_uk_rule_gain_is_ten_less_rssi_and_equal_both_ways() {
    // SI 2022/595 regulation 16 (seen): RSSI −60 → 70 dB, −95 → 100 dB (facts A.3).
    let mut simulation = bench("uk-static-indoor", 105.0);
    for (rssi, expected) in [(-95.0, 100.0), (-60.0, 70.0), (-75.0, 85.0), (-80.0, 90.0)] {
        let (dl, ul) = gains(&mut simulation, rssi);
        // AGC may take more on the downlink: output 17 dBm at most, which 10 dBm of the rule never reaches.
        assert!((dl - expected).abs() < 0.3, "{rssi}: {dl}");
        assert!((dl - ul).abs() < 1e-9, "{rssi}: {dl} {ul}");
    }
}

#[test]
fn under_the_us_rule_gain_falls_with_a_strong_donor() {
    // 47 CFR 20.21(e)(8)(i)(C), fixed, MSCL 40 dB (from memory; facts A.1): 64.95 dB at 836.5 MHz, 41 dB at RSSI −35.
    let mut simulation = bench("us-wideband", 70.0);
    for (rssi, expected) in [(-70.0, 64.95), (-60.0, 64.95), (-50.0, 56.0), (-35.0, 41.0)] {
        let (dl, ul) = gains(&mut simulation, rssi);
        assert!((ul - expected).abs() < 0.1, "{rssi}: {ul}");
        assert!((dl - ul).abs() < 1e-9, "{rssi}: {dl} {ul}");
    }
}
