//! The three control points.

use super::client::{answer, collect, control, open, records, subscribed};
use booster_profile::control::{ControlResponse, ControlResult, ReportRequest, UnitRequest};
use booster_profile::record_access::{Log, Request, Response, ResponseCode, Select};
use booster_profile::{
    Characteristic as C, Direction, DirectionState, EventCode, Part, Reasons, StoredRecord, TenthDb,
};
use booster_simulator::{Action, AttError, LinkParameters, Simulation, What};

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
