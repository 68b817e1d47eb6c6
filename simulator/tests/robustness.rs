//! Whatever a client does and whatever a file says: no panic, and what is sent follows the profile.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use booster_profile::control::ControlResponse;
use booster_profile::record_access::Response;
use booster_profile::{CellReport, Characteristic as C, Part, StoredRecord, UnitEvent, UnitStatus};
use booster_simulator::{LinkParameters, Scenario, Simulation, What, explain};
use proptest::prelude::*;

#[derive(Clone, Debug)]
enum Step {
    Connect(u16, bool),
    Disconnect,
    Subscribe(usize, bool),
    Write(usize, Vec<u8>),
    Read(usize),
    Confirm,
    Restart,
    Button,
    Turn(f64),
    Advance(u64),
}

fn step() -> impl Strategy<Value = Step> {
    let characteristic = 0..C::ALL.len();
    prop_oneof![
        1 => (0_u16..600, any::<bool>()).prop_map(|(mtu, secure)| Step::Connect(mtu, secure)),
        1 => Just(Step::Disconnect),
        6 => (characteristic.clone(), prop::bool::weighted(0.9)).prop_map(|(c, on)| Step::Subscribe(c, on)),
        6 => (characteristic.clone(), prop::collection::vec(0_u8..10, 0..12)).prop_map(|(c, b)| Step::Write(c, b)),
        2 => characteristic.prop_map(Step::Read),
        4 => Just(Step::Confirm),
        1 => Just(Step::Restart),
        1 => Just(Step::Button),
        1 => any::<f64>().prop_map(Step::Turn),
        6 => (0_u64..40_000_000).prop_map(Step::Advance),
    ]
}

fn check(c: C, bytes: &[u8], mtu: u16) {
    assert!(
        bytes.len() <= usize::from(mtu.clamp(23, 517)) - 3,
        "{c:?}: {} bytes at MTU {mtu}",
        bytes.len()
    );
    let sound = match c {
        C::BandTelemetry => Part::decode(bytes).is_ok(),
        C::CellReport => CellReport::decode(bytes).is_ok(),
        C::UnitStatus => UnitStatus::decode(bytes).is_ok(),
        C::UnitEvent => UnitEvent::decode(bytes).is_ok(),
        C::StoredRecord => StoredRecord::decode(bytes).is_ok(),
        C::RecordAccess => Response::decode(bytes).is_ok(),
        C::ReportControl | C::UnitControl => ControlResponse::decode(bytes).is_ok(),
        _ => false,
    };
    assert!(sound, "{c:?}: {bytes:?}");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn no_client_can_upset_the_unit(steps in prop::collection::vec(step(), 1..60)) {
        let mut scenario = Scenario::named("bell-tower").unwrap();
        scenario.transport.mtu = 517;
        let mut simulation = Simulation::new(&scenario, 3);
        let mut mtu = 23;
        for step in steps {
            match step {
                Step::Connect(m, secure) => {
                    simulation.connect(LinkParameters { mtu: m, encrypted: secure, authenticated: secure });
                    if simulation.is_connected() {
                        mtu = m;
                    }
                }
                Step::Disconnect => simulation.disconnect(),
                Step::Subscribe(c, on) => { let _ = simulation.subscribe(C::ALL[c], on); }
                Step::Write(c, bytes) => { let _ = simulation.write(C::ALL[c], &bytes); }
                Step::Read(c) => { let _ = simulation.read(C::ALL[c]); }
                Step::Confirm => simulation.confirm(),
                Step::Restart => simulation.restart_unit(),
                Step::Button => simulation.apply(&booster_simulator::Action::Button),
                Step::Turn(bearing) => simulation.turn(bearing),
                Step::Advance(us) => {
                    let limit = simulation.now_us() + us;
                    let mut last = simulation.now_us();
                    while let Some(sent) = simulation.advance(limit) {
                        prop_assert!(sent.at_us >= last && sent.at_us <= limit);
                        last = sent.at_us;
                        if let What::Value { characteristic, bytes } = sent.what {
                            check(characteristic, &bytes, mtu);
                        }
                    }
                    prop_assert_eq!(simulation.now_us(), limit);
                }
            }
        }
    }

    #[test]
    fn no_text_upsets_the_parser(text in "\\PC*", at in 0_usize..4_000, cut in 0_usize..400) {
        let _ = Scenario::parse(&text, "text");
        // A sound file with something in the middle replaced.
        let sound = std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/scenarios/market-cross.toml")).unwrap();
        let head: String = sound.chars().take(at).collect();
        let tail: String = sound.chars().skip(at + cut).collect();
        if let Ok(scenario) = Scenario::parse(&format!("{head}{text}{tail}"), "text") {
            let _ = explain(&scenario);
            let mut simulation = Simulation::new(&scenario, 1);
            simulation.advance(1_000_000);
        }
    }
}

#[test]
fn numbers_out_of_range_are_refused_in_words() {
    let sound = std::fs::read_to_string(concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/scenarios/weavers-yard.toml"
    ))
    .unwrap();
    for (from, to, words) in [
        ("isolation_dl_db = 88", "isolation_dl_db = nan", "isolation_dl_db"),
        ("max_gain_db = 65", "max_gain_db = 1e9", "max_gain_db"),
        ("width_mhz = 60.0", "width_mhz = -1.0", "width_mhz"),
        ("rsrp_dbm = -88", "rsrp_dbm = inf", "rsrp_dbm"),
        ("report_ms = 100", "report_ms = 10", "min_report_ms"),
        ("\ns = 40", "\ns = -1", "`s`"),
        ("ramp_s = 1.5", "ramp_s = 0.0", "`ramp_s`"),
        (
            "band = \"B2\"\ndirection",
            "band = \"B9\"\ndirection",
            "no band is called `B9`",
        ),
        ("operator = \"00101\"", "operator = \"1\"", "operator"),
        (
            "short_name = \"Weavers\"",
            "short_name = \"WeaversYard\"",
            "short_name",
        ),
    ] {
        let text = sound.replacen(from, to, 1);
        assert_ne!(text, sound, "{from}");
        let error = Scenario::parse(&text, "yard").expect_err(to).to_string();
        assert!(error.contains(words), "{to}: {error}");
    }
}
