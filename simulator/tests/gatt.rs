//! The GATT server against the profile document; requirement numbers in the names of the tests' comments.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use booster_profile::control::{ControlResponse, ControlResult, ReportRequest, UnitRequest};
use booster_profile::record_access::{Log, Request, Response, ResponseCode, Select};
use booster_profile::{
    BandTable, BoosterFeature, CellReport, Characteristic as C, Direction, DirectionState, EventCode,
    OperatingState, Part, Reasons, StoredRecord, TenthDb, UnitEvent, UnitStatus,
};
use booster_simulator::{Action, AttError, LinkParameters, Scenario, Simulation, What};

fn open(mtu: u16) -> Simulation {
    let mut scenario = Scenario::named("weavers-yard").unwrap();
    scenario.transport.interval_ms = 0.0;
    scenario.transport.mtu = 517;
    let mut simulation = Simulation::new(&scenario, 1);
    simulation.connect(LinkParameters {
        mtu,
        encrypted: true,
        authenticated: true,
    });
    simulation
}

fn subscribed(mtu: u16) -> Simulation {
    let mut simulation = open(mtu);
    for c in C::ALL.iter().filter(|c| c.is_subscribable()) {
        simulation.subscribe(*c, true).unwrap();
    }
    simulation
}

/// Everything of one characteristic until `until_us`, with the times; indications are confirmed.
fn collect(simulation: &mut Simulation, wanted: C, until_us: u64) -> Vec<(u64, Vec<u8>)> {
    let mut all = Vec::new();
    while let Some(sent) = simulation.advance(until_us) {
        let What::Value {
            characteristic,
            bytes,
        } = sent.what
        else {
            panic!("disconnected")
        };
        if characteristic == wanted {
            all.push((sent.at_us, bytes.to_vec()));
        }
        if characteristic.is_indicated() {
            simulation.confirm();
        }
    }
    all
}

fn answer(simulation: &mut Simulation, c: C) -> Vec<u8> {
    let until = simulation.now_us() + 1_000_000;
    collect(simulation, c, until)
        .into_iter()
        .next()
        .expect("one answer within 1 s")
        .1
}

fn control(simulation: &mut Simulation, request: UnitRequest) -> ControlResponse {
    simulation.write(C::UnitControl, &request.encode()).unwrap();
    ControlResponse::decode(&answer(simulation, C::UnitControl)).unwrap()
}

fn records(simulation: &mut Simulation, request: Request) -> Response {
    simulation.write(C::RecordAccess, &request.encode()).unwrap();
    Response::decode(&answer(simulation, C::RecordAccess)).unwrap()
}

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
fn the_interval_and_fast_reporting_belong_to_the_connection() {
    let mut simulation = subscribed(517);
    simulation
        .write(C::ReportControl, &ReportRequest::Interval(1_000).encode())
        .unwrap();
    assert_eq!(
        ControlResponse::decode(&answer(&mut simulation, C::ReportControl))
            .unwrap()
            .value,
        Some(1_000)
    );
    let from = simulation.now_us();
    assert_eq!(
        collect(&mut simulation, C::BandTelemetry, from + 10_000_000).len(),
        20
    );
    simulation
        .write(C::ReportControl, &ReportRequest::Fast(true).encode())
        .unwrap();
    assert_eq!(
        ControlResponse::decode(&answer(&mut simulation, C::ReportControl))
            .unwrap()
            .value,
        Some(100)
    );
    let from = simulation.now_us();
    assert_eq!(
        collect(&mut simulation, C::BandTelemetry, from + 1_000_000).len(),
        20
    );
    // While fast reporting is on, another interval is kept for later; the one in effect is told.
    simulation
        .write(C::ReportControl, &ReportRequest::Interval(2_000).encode())
        .unwrap();
    assert_eq!(
        ControlResponse::decode(&answer(&mut simulation, C::ReportControl))
            .unwrap()
            .value,
        Some(100)
    );
    // Beyond the limits: refused, nothing changes.
    simulation
        .write(C::ReportControl, &ReportRequest::Interval(50).encode())
        .unwrap();
    let refused = ControlResponse::decode(&answer(&mut simulation, C::ReportControl)).unwrap();
    assert_eq!(
        (refused.result, refused.value),
        (ControlResult::InvalidParameter, None)
    );
    // BTP-038.
    simulation.disconnect();
    simulation.connect(LinkParameters {
        mtu: 517,
        encrypted: true,
        authenticated: true,
    });
    simulation.subscribe(C::BandTelemetry, true).unwrap();
    let from = simulation.now_us();
    assert_eq!(
        collect(&mut simulation, C::BandTelemetry, from + 1_000_000).len(),
        20
    );
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
fn record_access_counts_reports_and_aborts() {
    // BTP-055 and the table of response codes in section 11.
    let mut simulation = subscribed(517);
    collect(&mut simulation, C::BandTelemetry, 20_000_000);
    let history = match records(&mut simulation, Request::Count(Log::History, Select::All)) {
        Response::Number(n) => n,
        other => panic!("{other:?}"),
    };
    assert!(
        (40..=42).contains(&history),
        "two bands for twenty seconds: {history}"
    );
    assert_eq!(
        records(&mut simulation, Request::Count(Log::Events, Select::AtLeast(99))),
        Response::Number(0)
    );

    simulation
        .write(
            C::RecordAccess,
            &Request::Report(Log::History, Select::Within(3, 7)).encode(),
        )
        .unwrap();
    let until = simulation.now_us() + 500_000;
    let mut sequences = Vec::new();
    let mut outcome = None;
    while let Some(sent) = simulation.advance(until) {
        if let What::Value {
            characteristic,
            bytes,
        } = sent.what
        {
            match characteristic {
                C::StoredRecord => match StoredRecord::decode(&bytes).unwrap() {
                    StoredRecord::History(h) => sequences.push(h.sequence),
                    other => panic!("{other:?}"),
                },
                C::RecordAccess => {
                    assert_eq!(sequences.len(), 5, "the outcome comes after the records");
                    outcome = Some(Response::decode(&bytes).unwrap());
                    simulation.confirm();
                }
                _ => {}
            }
        }
    }
    assert_eq!(sequences, [3, 4, 5, 6, 7]);
    assert_eq!(
        outcome,
        Some(Response::Outcome {
            op_code: 1,
            code: ResponseCode::Success
        })
    );

    let none = records(&mut simulation, Request::Report(Log::Events, Select::AtLeast(99)));
    assert_eq!(
        none,
        Response::Outcome {
            op_code: 1,
            code: ResponseCode::NoRecords
        }
    );
    assert_eq!(
        records(&mut simulation, Request::Abort),
        Response::Outcome {
            op_code: 3,
            code: ResponseCode::AbortUnsuccessful
        }
    );
    // BTP-057: while a report runs only an abort gets through, and its answer is the only one.
    simulation
        .write(
            C::RecordAccess,
            &Request::Report(Log::History, Select::All).encode(),
        )
        .unwrap();
    let busy = simulation.write(
        C::RecordAccess,
        &Request::Count(Log::Events, Select::All).encode(),
    );
    assert_eq!(busy.unwrap_err().code(), Some(0xFE));
    assert_eq!(
        records(&mut simulation, Request::Abort),
        Response::Outcome {
            op_code: 3,
            code: ResponseCode::Success
        }
    );
    let until = simulation.now_us() + 2_000_000;
    assert!(collect(&mut simulation, C::RecordAccess, until).is_empty());
    for (bytes, code) in [
        (&[0x02, 0x01][..], ResponseCode::OpCodeNotSupported),
        (&[0x01, 0x00], ResponseCode::InvalidOperator),
        (&[0x01, 0x07], ResponseCode::OperatorNotSupported),
        (&[0x01, 0x03, 0x01, 0x2A], ResponseCode::InvalidOperand),
        (&[0x01, 0x01, 0x09], ResponseCode::OperandNotSupported),
        (&[], ResponseCode::InvalidOperator),
    ] {
        simulation.write(C::RecordAccess, bytes).unwrap();
        match Response::decode(&answer(&mut simulation, C::RecordAccess)).unwrap() {
            Response::Outcome { code: got, .. } => assert_eq!(got, code, "{bytes:?}"),
            other => panic!("{other:?}"),
        }
    }
}

#[test]
fn control_points_need_their_indications_and_unit_control_a_secure_link() {
    let mut simulation = open(517);
    for c in [C::RecordAccess, C::ReportControl, C::UnitControl] {
        assert_eq!(
            simulation.write(c, &[1, 1]).unwrap_err().code(),
            Some(0xFD),
            "{c:?}"
        );
    }
    simulation.subscribe(C::RecordAccess, true).unwrap();
    let no_records = simulation.write(C::RecordAccess, &[1, 1]);
    assert_eq!(
        no_records.unwrap_err(),
        AttError::ImproperlyConfigured(C::StoredRecord)
    );
    assert_eq!(
        simulation.write(C::BandTelemetry, &[1]).unwrap_err().code(),
        Some(0x03)
    );
    for (encrypted, authenticated, code) in [(false, false, 0x0F), (true, false, 0x05)] {
        simulation.connect(LinkParameters {
            mtu: 517,
            encrypted,
            authenticated,
        });
        simulation.subscribe(C::UnitControl, true).unwrap();
        assert_eq!(
            simulation.write(C::UnitControl, &[6, 1]).unwrap_err().code(),
            Some(code)
        );
    }
}

#[test]
fn what_raises_emission_needs_presence() {
    let mut simulation = subscribed(517);
    assert_eq!(
        control(&mut simulation, UnitRequest::AimSafeOff).result,
        ControlResult::WrongState
    );
    let on = control(&mut simulation, UnitRequest::AimSafeOn { restore_s: 600 });
    assert_eq!((on.result, on.value), (ControlResult::Success, Some(600)));
    for request in [
        UnitRequest::AimSafeOff,
        UnitRequest::AimSafeOn { restore_s: 5 },
        UnitRequest::Mute {
            band: None,
            direction: Direction::Uplink,
            on: false,
        },
    ] {
        assert_eq!(
            control(&mut simulation, request).result,
            ControlResult::PresenceNeeded,
            "{request:?}"
        );
    }
    let test = UnitRequest::IsolationTest { band: None };
    assert_eq!(control(&mut simulation, test).result, ControlResult::WrongState);
    let more = UnitRequest::Attenuation {
        band: 0,
        direction: Direction::Both,
        value: TenthDb(60),
    };
    assert_eq!(control(&mut simulation, more).result, ControlResult::Success);
    let less = UnitRequest::Attenuation {
        band: 0,
        direction: Direction::Both,
        value: TenthDb(30),
    };
    assert_eq!(
        control(&mut simulation, less).result,
        ControlResult::PresenceNeeded
    );
    assert_eq!(
        control(&mut simulation, UnitRequest::Restart).result,
        ControlResult::WrongState
    );

    simulation.apply(&Action::Button);
    assert_eq!(control(&mut simulation, less).result, ControlResult::Success);
    assert_eq!(
        control(&mut simulation, UnitRequest::AimSafeOff).result,
        ControlResult::Success
    );
    assert_eq!(control(&mut simulation, test).result, ControlResult::Success);
    let unknown = UnitRequest::Mute {
        band: Some(9),
        direction: Direction::Both,
        on: true,
    };
    assert_eq!(
        control(&mut simulation, unknown).result,
        ControlResult::InvalidParameter
    );
    // The test ends with an event per band and direction.
    let until = simulation.now_us() + 4_000_000;
    collect(&mut simulation, C::UnitEvent, until);
    let events = simulation.unit().memory().events.iter();
    let tested = events.filter(|e| e.code == EventCode::IsolationTested && e.value.is_some());
    assert_eq!(tested.count(), 4);
}

#[test]
fn aim_safe_mutes_the_uplink_holds_the_downlink_down_and_ends_by_itself() {
    // BTP-051, BTP-052.
    let mut simulation = subscribed(517);
    let last = |simulation: &mut Simulation, until| {
        let parts = collect(simulation, C::BandTelemetry, until);
        match Part::decode(&parts[parts.len() - 2].1).unwrap() {
            Part::First { reading, .. } => reading,
            Part::Continuation(_) => panic!(),
        }
    };
    let before = last(&mut simulation, 2_000_000);
    assert_eq!(
        control(&mut simulation, UnitRequest::AimSafeOn { restore_s: 10 }).result,
        ControlResult::Success
    );
    let during = last(&mut simulation, 4_000_000);
    assert_eq!(
        (during.ul_state, during.dl_state),
        (DirectionState::Muted, DirectionState::Limited)
    );
    assert_eq!(
        (during.ul_reasons, during.dl_reasons),
        (Reasons::SETTING, Reasons::SETTING)
    );
    assert_eq!((during.ul_gain, during.ul_output), (None, None));
    assert_eq!(during.dl_gain, Some(TenthDb(before.dl_gain.unwrap().0 - 300)));
    simulation.disconnect();
    simulation.connect(LinkParameters {
        mtu: 517,
        encrypted: true,
        authenticated: true,
    });
    simulation.subscribe(C::BandTelemetry, true).unwrap();
    let still = last(&mut simulation, 6_000_000);
    assert_eq!(still.ul_state, DirectionState::Muted);
    let after = last(&mut simulation, 16_000_000);
    assert_eq!(
        (after.ul_state, after.dl_gain),
        (DirectionState::Normal, before.dl_gain)
    );
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
