//! Faults: in each the state that is shown, the way back to live by itself, nothing hung.

use super::bus::with_bus;
use super::client::{Client, pushed};
use super::stand_in::{StandIn, State};
use booster_profile::Characteristic;
use loopmargin::event::{EventKind, LinkState};
use loopmargin::link::Request;

/// A client that is live on a stand-in.
async fn live() -> (StandIn, Client) {
    let stand_in = StandIn::start(State::new());
    let mut client = Client::start();
    client.until_state(LinkState::Live).await;
    client.until_values(5).await;
    client.forget();
    (stand_in, client)
}

async fn live_again(mut client: Client) {
    client.until_state(LinkState::Live).await;
    client.until_values(5).await;
    client.end().await;
}

#[test]
fn the_unit_disconnects() {
    with_bus("faults::the_unit_disconnects", async |_bus| {
        let (stand_in, mut client) = live().await;
        stand_in.state().disconnect();
        client.until_state(LinkState::BackingOff).await;
        live_again(client).await;
    });
}

#[test]
fn the_unit_restarts() {
    with_bus("faults::the_unit_restarts", async |_bus| {
        let (stand_in, mut client) = live().await;
        stand_in.state().simulation.restart_unit();
        client.until_state(LinkState::BackingOff).await;
        client.until_state(LinkState::Live).await;
        let feature = |e: &loopmargin::event::Event| {
            matches!(
                e.kind,
                EventKind::Value {
                    characteristic: Characteristic::BoosterFeature,
                    ..
                }
            )
        };
        assert!(client.events.iter().any(feature), "the boot id is read again");
        client.end().await;
    });
}

#[test]
fn the_unit_goes_away_while_streaming_and_returns() {
    with_bus(
        "faults::the_unit_goes_away_while_streaming_and_returns",
        async |_bus| {
            let (stand_in, mut client) = live().await;
            {
                let mut state = stand_in.state();
                state.disconnect();
                state.advertising = false;
                state.known = false;
            }
            client.until_state(LinkState::Scanning).await;
            {
                let mut state = stand_in.state();
                state.advertising = true;
                state.known = true;
            }
            live_again(client).await;
        },
    );
}

#[test]
fn the_unit_is_forgotten_while_connecting() {
    with_bus("faults::the_unit_is_forgotten_while_connecting", async |_bus| {
        let stand_in = StandIn::start(State::new());
        stand_in.state().fails(
            "Connect",
            "org.freedesktop.DBus.Error.UnknownObject",
            "no such object",
        );
        let mut client = Client::start();
        client.until_state(LinkState::BackingOff).await;
        stand_in.state().errors.clear();
        live_again(client).await;
    });
}

#[test]
fn the_unit_is_lost_while_discovering() {
    with_bus("faults::the_unit_is_lost_while_discovering", async |_bus| {
        let stand_in = StandIn::start(State::new());
        stand_in
            .state()
            .fails("Introspect", "org.freedesktop.DBus.Error.UnknownObject", "gone");
        let mut client = Client::start();
        client.until_state(LinkState::BackingOff).await;
        stand_in.state().errors.clear();
        live_again(client).await;
    });
}

#[test]
fn services_are_half_resolved() {
    with_bus("faults::services_are_half_resolved", async |_bus| {
        let mut state = State::new();
        state.resolved = 6;
        let stand_in = StandIn::start(state);
        let mut client = Client::start();
        client.until_state(LinkState::BackingOff).await;
        stand_in.state().resolved = Characteristic::ALL.len();
        live_again(client).await;
    });
}

#[test]
fn connecting_never_returns() {
    with_bus("faults::connecting_never_returns", async |_bus| {
        let stand_in = StandIn::start(State::new());
        stand_in.state().hangs.insert("Connect");
        let mut client = Client::start();
        client.until_state(LinkState::Connecting).await;
        client.until_state(LinkState::BackingOff).await;
        stand_in.state().hangs.clear();
        live_again(client).await;
        assert!(stand_in.state().called("Disconnect") > 0, "the attempt was ended");
    });
}

#[test]
fn connecting_is_aborted_and_busy() {
    with_bus("faults::connecting_is_aborted_and_busy", async |_bus| {
        let stand_in = StandIn::start(State::new());
        for (name, text) in [
            ("org.bluez.Error.Failed", "le-connection-abort-by-local"),
            ("org.bluez.Error.InProgress", "Operation already in progress"),
        ] {
            stand_in.state().fails("Connect", name, text);
            let mut client = Client::start();
            client.until_state(LinkState::BackingOff).await;
            stand_in.state().errors.clear();
            live_again(client).await;
        }
    });
}

#[test]
fn enabled_and_silent() {
    with_bus("faults::enabled_and_silent", async |_bus| {
        let (stand_in, mut client) = live().await;
        stand_in.state().silent = true;
        client.until_state(LinkState::Stalled).await;
        client.until_state(LinkState::AwaitingFirstValue).await;
        client.until_state(LinkState::BackingOff).await;
        stand_in.state().silent = false;
        live_again(client).await;
    });
}

#[test]
fn silence_that_ends_by_itself() {
    with_bus("faults::silence_that_ends_by_itself", async |_bus| {
        let (stand_in, mut client) = live().await;
        {
            let mut state = stand_in.state();
            state.silent = true;
            state.hangs.insert("ReadValue");
        }
        client.until_state(LinkState::Stalled).await;
        stand_in.state().silent = false;
        client.until_state(LinkState::Live).await;
        assert!(!client.saw(LinkState::BackingOff));
        client.end().await;
    });
}

#[test]
fn the_bluetooth_service_is_killed() {
    with_bus("faults::the_bluetooth_service_is_killed", async |_bus| {
        let (mut stand_in, mut client) = live().await;
        stand_in.kill();
        client.until_state(LinkState::Stalled).await;
        client.until_state(LinkState::NoBluetoothService).await;
        stand_in.revive();
        live_again(client).await;
    });
}

#[test]
fn the_bus_itself_is_killed() {
    with_bus("faults::the_bus_itself_is_killed", async |bus| {
        let (mut stand_in, mut client) = live().await;
        bus.kill();
        stand_in.kill();
        client.until_state(LinkState::Stalled).await;
        client.until_state(LinkState::NoBluetoothService).await;
        assert!(bus.revive());
        stand_in.revive();
        live_again(client).await;
    });
}

#[test]
fn the_adapter_is_switched_off_and_on() {
    with_bus("faults::the_adapter_is_switched_off_and_on", async |_bus| {
        let (stand_in, mut client) = live().await;
        stand_in.state().switch(false);
        client.until_state(LinkState::AdapterOff).await;
        stand_in.state().switch(true);
        live_again(client).await;
    });
}

#[test]
fn the_adapter_is_unplugged_and_plugged_in() {
    with_bus("faults::the_adapter_is_unplugged_and_plugged_in", async |_bus| {
        let (stand_in, mut client) = live().await;
        {
            let mut state = stand_in.state();
            state.switch(false);
            state.adapter = false;
        }
        client.until_state(LinkState::NoAdapter).await;
        {
            let mut state = stand_in.state();
            state.adapter = true;
            state.powered = true;
        }
        live_again(client).await;
    });
}

#[test]
fn what_a_person_must_change() {
    with_bus("faults::what_a_person_must_change", async |_bus| {
        let mut state = State::new();
        state.adapter = false;
        let stand_in = StandIn::start(state);
        let mut client = Client::start();
        client.until_state(LinkState::NoAdapter).await;
        {
            let mut state = stand_in.state();
            state.adapter = true;
            state.powered = false;
        }
        client.until_state(LinkState::AdapterOff).await;
        stand_in.state().fails(
            "GetManagedObjects",
            "org.freedesktop.DBus.Error.AccessDenied",
            "rejected by policy",
        );
        client.until_state(LinkState::NoPermission).await;
        stand_in.state().errors.clear();
        client.until_state(LinkState::AdapterOff).await;
        stand_in.state().switch(true);
        live_again(client).await;
    });
}

#[test]
fn pairing_is_needed() {
    with_bus("faults::pairing_is_needed", async |_bus| {
        let stand_in = StandIn::start(State::new());
        stand_in
            .state()
            .fails("ReadValue", "org.bluez.Error.NotAuthorized", "Not Authorized");
        let mut client = Client::start();
        client.until_state(LinkState::PairingNeeded).await;
        stand_in.state().errors.clear();
        client.link.request(Request::Retry);
        live_again(client).await;
    });
}

/// 10,000 values as fast as the bus takes them while nobody takes them from the link: the link stays in charge, and
/// every one of them arrives or is counted as dropped.
#[test]
fn a_storm() {
    with_bus("faults::a_storm", async |_bus| {
        const STORM: u64 = 10_000;
        let (stand_in, mut client) = live().await;
        stand_in.state().silent = true;
        let before = stand_in.state().notified;
        let received_before = client.link.statistics().received;
        for _ in 0..STORM {
            stand_in.state().notify(Characteristic::CellReport, &[0; 20]);
        }
        let sent = stand_in.state().notified - before;
        assert_eq!(sent, STORM);
        // Without taking events out.
        let arrived = async {
            while client.link.statistics().received < received_before + STORM {
                tokio::time::sleep(std::time::Duration::from_millis(20)).await;
            }
        };
        tokio::time::timeout(std::time::Duration::from_secs(60), arrived)
            .await
            .expect("the storm to arrive");
        let statistics = client.link.statistics();
        assert!(statistics.dropped > 0 && statistics.waiting > 0, "{statistics:?}");
        stand_in.state().silent = false;
        client.until_values(statistics.waiting + 20).await;
        let dropped: u64 = client
            .events
            .iter()
            .map(|e| match e.kind {
                EventKind::Dropped { count } => u64::from(count),
                _ => 0,
            })
            .sum();
        assert_eq!(
            dropped,
            client.link.statistics().dropped,
            "every loss is reported"
        );
        assert!(pushed(&client.events) as u64 + dropped >= STORM);
        client.end().await;
    });
}
