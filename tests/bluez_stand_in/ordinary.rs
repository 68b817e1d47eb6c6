//! What happens when nothing is wrong.

use super::bus::with_bus;
use super::client::Client;
use super::stand_in::{StandIn, State};
use booster_profile::Characteristic;
use booster_profile::control::{ControlResponse, ReportRequest, UnitRequest};
use loopmargin::event::{EventKind, LinkState, Origin, RawBytes};
use loopmargin::link::Request;
use loopmargin::link::bluetooth::{doctor, scan};
use std::time::Duration;

#[test]
fn live_and_leaves_nothing_behind() {
    with_bus("ordinary::live_and_leaves_nothing_behind", async |_bus| {
        let stand_in = StandIn::start(State::new());
        let mut client = Client::start();
        client.until_state(LinkState::Live).await;
        client.until_values(30).await;
        let read = client.events.iter().filter(|e| {
            matches!(
                e.kind,
                EventKind::Value {
                    origin: Origin::Read,
                    ..
                }
            )
        });
        assert_eq!(read.count(), 7);
        // BlueZ announces what was read as if it had been notified; it must not pass for telemetry.
        assert!(client.events.iter().all(|e| match &e.kind {
            EventKind::Value {
                characteristic,
                origin,
                ..
            } => characteristic.is_readable() == (*origin == Origin::Read),
            _ => true,
        }));
        assert!(client.events.is_sorted_by_key(|e| e.at));
        client.end().await;
        let state = stand_in.state();
        assert!(!state.connected && !state.scanning);
    });
}

#[test]
fn a_request_is_written_and_answered() {
    with_bus("ordinary::a_request_is_written_and_answered", async |_bus| {
        let _stand_in = StandIn::start(State::new());
        let mut client = Client::start();
        client.until_state(LinkState::Live).await;
        client.link.request(Request::Write {
            characteristic: Characteristic::ReportControl,
            bytes: RawBytes::from_slice(&ReportRequest::Interval(1_000).encode()),
        });
        client
            .until("answered", |events| {
                events.iter().any(|e| match &e.kind {
                    EventKind::Value {
                        characteristic: Characteristic::ReportControl,
                        bytes,
                        ..
                    } => ControlResponse::decode(bytes).is_ok_and(|r| r.value == Some(1_000)),
                    _ => false,
                })
            })
            .await;
        let written = |e: &loopmargin::event::Event| matches!(e.kind, EventKind::Written { .. });
        assert!(client.events.iter().any(written));
        client.end().await;
    });
}

#[test]
fn a_unit_that_is_connected_already_is_adopted() {
    with_bus(
        "ordinary::a_unit_that_is_connected_already_is_adopted",
        async |_bus| {
            let mut state = State::new();
            state.connect();
            state.advertising = false;
            let _stand_in = StandIn::start(state);
            let mut client = Client::start();
            client.until_state(LinkState::Live).await;
            client.end().await;
        },
    );
}

#[test]
fn already_notifying_is_success() {
    with_bus("ordinary::already_notifying_is_success", async |_bus| {
        let mut state = State::new();
        state.connect();
        for c in Characteristic::ALL.iter().filter(|c| c.is_subscribable()) {
            state.notifying.insert(*c);
            state.simulation.subscribe(*c, true).expect("subscribed");
        }
        let _stand_in = StandIn::start(state);
        let mut client = Client::start();
        client.until_state(LinkState::Live).await;
        assert!(!client.saw(LinkState::BackingOff));
        client.end().await;
    });
}

#[test]
fn of_several_units_a_person_chooses_and_may_choose_again() {
    with_bus(
        "ordinary::of_several_units_a_person_chooses_and_may_choose_again",
        async |_bus| {
            let mut state = State::new();
            state.neighbour = true;
            let stand_in = StandIn::start(state);
            let mut client = Client::start();
            let choice = |events: &[loopmargin::event::Event]| {
                events.iter().any(|e| match &e.kind {
                    EventKind::Link {
                        state: LinkState::Scanning,
                        detail: Some(words),
                    } => words.contains("LM-Test") && words.contains("LM-Next"),
                    _ => false,
                })
            };
            client.until("asked to choose", choice).await;
            assert_eq!(client.link.units().count(), 2);
            let unit = Some("lm-test".to_owned());
            client.link.request(Request::Choose { unit });
            client.until_state(LinkState::Live).await;
            client.forget();
            client.link.request(Request::Choose { unit: None });
            client.until("asked again", choice).await;
            assert!(!stand_in.state().connected);
            client.end().await;
        },
    );
}

#[test]
fn the_smallest_mtu() {
    with_bus("ordinary::the_smallest_mtu", async |_bus| {
        let mut state = State::new();
        state.mtu = 23;
        let _stand_in = StandIn::start(state);
        let mut client = Client::start();
        client.until_state(LinkState::Live).await;
        client.until_values(30).await;
        let fits = |e: &loopmargin::event::Event| match &e.kind {
            EventKind::Value {
                origin: Origin::Pushed,
                bytes,
                ..
            } => bytes.len() <= 20,
            _ => true,
        };
        assert!(client.events.iter().all(fits));
        client.end().await;
    });
}

#[test]
fn scanning_lists_the_unit_and_stops() {
    with_bus("ordinary::scanning_lists_the_unit_and_stops", async |_bus| {
        let stand_in = StandIn::start(State::new());
        let units = scan(Duration::from_secs(2)).await.expect("a scan");
        assert_eq!(units.len(), 1);
        assert_eq!(units[0].name.as_deref(), Some("LM-Test"));
        assert_eq!(units[0].rssi_dbm, Some(-60));
        assert!(!stand_in.state().scanning);
    });
}

#[test]
fn the_doctor_finds_all_well() {
    with_bus("ordinary::the_doctor_finds_all_well", async |_bus| {
        let _stand_in = StandIn::start(State::new());
        let checks = doctor::bluetooth().await;
        assert!(
            checks.iter().all(|c| c.outcome == doctor::Outcome::Good),
            "{checks:?}"
        );
    });
}

#[test]
fn what_changes_the_unit_pairs_first_and_once() {
    with_bus(
        "ordinary::what_changes_the_unit_pairs_first_and_once",
        async |_bus| {
            let stand_in = StandIn::start(State::new());
            let mut client = Client::start();
            client.until_state(LinkState::Live).await;
            assert_eq!(stand_in.state().called("Pair"), 0, "reading needs no pairing");
            for _ in 0..2 {
                client.forget();
                client.link.request(aim_safe());
                client
                    .until("answered", |events| events.iter().any(is_answer))
                    .await;
            }
            assert_eq!(stand_in.state().called("Pair"), 1);
            client.end().await;
        },
    );
}

#[test]
fn a_unit_that_refuses_to_pair_is_not_written_to() {
    with_bus(
        "ordinary::a_unit_that_refuses_to_pair_is_not_written_to",
        async |_bus| {
            let stand_in = StandIn::start(State::new());
            stand_in.state().fails(
                "Pair",
                "org.bluez.Error.AuthenticationRejected",
                "Authentication Rejected",
            );
            let mut client = Client::start();
            client.until_state(LinkState::Live).await;
            client.forget();
            client.link.request(aim_safe());
            client
                .until("told", |events| {
                    events.iter().any(|e| {
                        matches!(&e.kind, EventKind::Link { state: LinkState::Live, detail: Some(words) }
                        if words.contains("Authentication Rejected"))
                    })
                })
                .await;
            client.until_values(5).await;
            assert_eq!(stand_in.state().called("WriteValue"), 0);
            client.end().await;
        },
    );
}

fn aim_safe() -> Request {
    Request::Write {
        characteristic: Characteristic::UnitControl,
        bytes: RawBytes::from_slice(&UnitRequest::AimSafeOn { restore_s: 60 }.encode()),
    }
}

fn is_answer(event: &loopmargin::event::Event) -> bool {
    matches!(
        event.kind,
        EventKind::Value {
            characteristic: Characteristic::UnitControl,
            ..
        }
    )
}
