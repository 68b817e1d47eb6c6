//! What is read and what comes unasked.

use super::client::{collect, open, subscribed};
use booster_profile::control::UnitRequest;
use booster_profile::{
    BandTable, BoosterFeature, CellReport, Characteristic as C, OperatingState, Part, UnitEvent, UnitStatus,
};
use booster_simulator::{Action, AttError, LinkParameters, What};

#[test]
fn what_can_be_read_decodes_and_the_rest_is_refused() {
    let mut simulation = open(23);
    let feature = BoosterFeature::decode(&simulation.read(C::BoosterFeature).unwrap()).unwrap();
    let table = BandTable::decode(&simulation.read(C::BandTable).unwrap()).unwrap();
    assert_eq!(usize::from(feature.bands), table.bands.len());
    assert_eq!((table.bands[0].number, table.bands[1].number), (2, 12));
    for c in C::ALL {
        match simulation.read(*c) {
            Ok(value) => assert!(c.is_readable() && !value.is_empty() && value.len() <= 512),
            Err(e) => {
                assert_eq!((e, e.code()), (AttError::ReadNotPermitted(*c), Some(2)));
                assert!(c.is_subscribable());
            }
        }
    }
    simulation.disconnect();
    assert_eq!(simulation.read(C::BandTable), Err(AttError::NotConnected));
}

#[test]
fn readings_begin_at_once_and_keep_their_pace() {
    // BTP-031, BTP-034, BTP-035, BTP-036.
    let mut simulation = subscribed(517);
    let parts = collect(&mut simulation, C::BandTelemetry, 10_000_000);
    assert!(parts[0].0 <= 100_000);
    let mut next = [None; 2];
    for (i, (_, bytes)) in parts.iter().enumerate() {
        let Part::First { reading, more: false } = Part::decode(bytes).unwrap() else {
            panic!("split")
        };
        assert_eq!(usize::from(reading.band), i % 2);
        let (sequence, time) = (reading.sequence, reading.time_ms);
        if let Some((s, t)) = next[i % 2] {
            assert_eq!((sequence, time), (s, t));
        }
        next[i % 2] = Some((sequence + 1, time + 100));
    }
    assert_eq!(parts.len(), 200);
}

#[test]
fn at_the_smallest_mtu_a_reading_takes_four_parts() {
    // BTP-040, BTP-041; the budget of section 8.2.
    let mut simulation = subscribed(23);
    let parts = collect(&mut simulation, C::BandTelemetry, 1_000_000);
    for group in parts.chunks(4) {
        let lengths: Vec<_> = group.iter().map(|(_, b)| b.len()).collect();
        assert_eq!(lengths, [20, 14, 20, 10]);
        let numbers = group.iter().map(|(_, b)| match Part::decode(b).unwrap() {
            Part::First { reading, more } => (reading.band, reading.sequence, 0, more),
            Part::Continuation(c) => (c.band, c.sequence, c.part, c.part + 1 < c.parts),
        });
        let numbers: Vec<_> = numbers.collect();
        let (band, sequence) = (numbers[0].0, numbers[0].1);
        for (i, n) in numbers.iter().enumerate() {
            assert_eq!(*n, (band, sequence, i as u8, i < 3));
        }
    }
}

#[test]
fn numbering_goes_on_while_nobody_listens() {
    // Section 6.2: a reading that is made but cannot be sent uses up its number.
    let mut simulation = subscribed(517);
    collect(&mut simulation, C::BandTelemetry, 2_000_000);
    simulation.disconnect();
    assert_eq!(simulation.advance(5_000_000), None);
    simulation.connect(LinkParameters {
        mtu: 517,
        encrypted: true,
        authenticated: true,
    });
    simulation.subscribe(C::BandTelemetry, true).unwrap();
    let first = collect(&mut simulation, C::BandTelemetry, 5_200_000);
    let Part::First { reading, .. } = Part::decode(&first[0].1).unwrap() else {
        panic!()
    };
    assert_eq!(reading.sequence, 50);
}

#[test]
fn status_comes_at_once_and_with_every_change() {
    // BTP-021, BTP-022, BTP-023.
    let mut simulation = open(517);
    simulation.subscribe(C::UnitStatus, true).unwrap();
    let first = collect(&mut simulation, C::UnitStatus, 1_000);
    assert_eq!(first.len(), 1);
    simulation.subscribe(C::UnitStatus, true).unwrap();
    assert_eq!(collect(&mut simulation, C::UnitStatus, 2_000).len(), 1);
    simulation.apply(&Action::Fan { good: false });
    assert_eq!(collect(&mut simulation, C::UnitStatus, 500_000).len(), 1);
    simulation.subscribe(C::UnitControl, true).unwrap();
    simulation
        .write(C::UnitControl, &UnitRequest::AimSafeOn { restore_s: 60 }.encode())
        .unwrap();
    let told = collect(&mut simulation, C::UnitStatus, 900_000);
    let status = UnitStatus::decode(&told[0].1).unwrap();
    assert_eq!(
        (status.state, status.aim_safe_left_s),
        (OperatingState::AimSafe, Some(60))
    );
    assert_eq!(told[0].1.len(), 22);
}

#[test]
fn cells_are_reported_once_a_measurement_with_their_true_age() {
    // BTP-020: three cells, 0.4 s each, of which the third drowns in the first.
    let mut simulation = subscribed(517);
    let reports = collect(&mut simulation, C::CellReport, 12_000_000);
    assert_eq!(reports.iter().filter(|(t, _)| *t == 0).count(), 2);
    let later = reports.iter().filter(|(t, _)| *t > 0).count();
    assert!((18..=21).contains(&later), "{later}");
    for (_, bytes) in &reports {
        let report = CellReport::decode(bytes).unwrap();
        assert!(report.age_tenths_s.unwrap() <= 1);
        assert_eq!(report.operator.unwrap().to_string(), "00101");
    }
}

#[test]
fn events_are_indicated_one_at_a_time_in_order() {
    // BTP-024, BTP-025.
    let mut simulation = subscribed(517);
    simulation.apply(&Action::Supply { v: 9.0 });
    simulation.advance(1_500_000);
    for _ in 0..3 {
        simulation.apply(&Action::Attenuation {
            band: None,
            way: None,
            db: 1.0,
        });
    }
    let mut waiting = 0;
    while let Some(sent) = simulation.advance(5_000_000) {
        waiting += u32::from(matches!(
            sent.what,
            What::Value {
                characteristic: C::UnitEvent,
                ..
            }
        ));
    }
    assert_eq!(waiting, 1, "without confirmation the next one waits");
    simulation.confirm();
    let rest = collect(&mut simulation, C::UnitEvent, 6_000_000);
    let sequences: Vec<_> = rest
        .iter()
        .map(|(_, b)| UnitEvent::decode(b).unwrap().sequence)
        .collect();
    assert!(sequences.windows(2).all(|w| w[1] == w[0] + 1), "{sequences:?}");
    assert_eq!(sequences.len(), 3);
}

#[test]
fn a_client_that_never_confirms_is_disconnected_after_thirty_seconds() {
    // Core specification Vol 3 Part F 3.3.3.
    let mut simulation = subscribed(517);
    simulation.apply(&Action::Attenuation {
        band: None,
        way: None,
        db: 1.0,
    });
    let end = loop {
        match simulation.advance(60_000_000) {
            Some(sent) if sent.what == What::Disconnected => break sent.at_us,
            Some(_) => {}
            None => panic!("still connected"),
        }
    };
    assert!((30_000_000..30_200_000).contains(&end), "{end}");
}

#[test]
fn a_restart_changes_the_boot_and_keeps_the_log() {
    // BTP-029, BTP-030, BTP-033.
    let mut simulation = subscribed(517);
    collect(&mut simulation, C::BandTelemetry, 3_000_000);
    let (boot, next) = (
        simulation.unit().boot_id(),
        simulation.unit().memory().events.next_sequence(),
    );
    simulation.restart_unit();
    assert_eq!(simulation.advance(3_000_000).unwrap().what, What::Disconnected);
    assert!(!simulation.is_advertising());
    simulation.connect(LinkParameters {
        mtu: 517,
        encrypted: true,
        authenticated: true,
    });
    assert!(!simulation.is_connected());
    assert_eq!(simulation.advance(8_000_000), None);
    assert!(simulation.is_advertising());
    assert_ne!(simulation.unit().boot_id() & 0xF, boot & 0xF);
    assert_eq!(simulation.unit().memory().events.next_sequence(), next + 1);
    simulation.connect(LinkParameters {
        mtu: 517,
        encrypted: true,
        authenticated: true,
    });
    simulation.subscribe(C::BandTelemetry, true).unwrap();
    let first = collect(&mut simulation, C::BandTelemetry, 8_200_000);
    let Part::First { reading, .. } = Part::decode(&first[0].1).unwrap() else {
        panic!()
    };
    assert_eq!(u32::from(reading.boot), simulation.unit().boot_id() & 0xF);
    assert!(reading.time_ms < 6_000 && reading.sequence < 60, "{reading:?}");
}
