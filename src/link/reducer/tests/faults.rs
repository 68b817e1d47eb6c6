//! Every fault that the Bluetooth stack was seen to surface, as a script.

use super::*;

#[test]
fn a_dropped_link_comes_back_by_itself() {
    let mut s = Script::live();
    assert_eq!(
        s.see(Observation::Disconnected),
        ["link backing-off", "> disconnecting"]
    );
    s.done();
    assert_eq!(s.wait(), ["link connecting", "> connecting"]);
    assert_eq!(s.at, SessionTime::from_millis(250));
    assert_eq!(s.go_live().last().map(String::as_str), Some("link live"));
}

#[test]
fn pauses_grow_and_then_the_person_is_asked() {
    let mut s = Script::live();
    s.see(Observation::Disconnected);
    s.done();
    let mut begun = s.at;
    for (pause, next) in [
        (250, "> connecting"),
        (500, "> starting to scan"),
        (1_000, "> starting to scan"),
        (4_000, "> starting to scan"),
        (30_000, "> starting to scan"),
    ] {
        let out = s.wait();
        assert_eq!(s.at.since(begun), Duration::from_millis(pause));
        assert_eq!(out.last().map(String::as_str), Some(next));
        s.answer(failed(Cause::Busy));
        assert_eq!(s.reducer.state(), LinkState::BackingOff);
        begun = s.at;
        s.done();
    }
    assert_eq!(
        s.see(Observation::Request(Request::Retry)),
        ["> starting to scan"]
    );
}

#[test]
fn a_unit_that_is_away_costs_no_attempts() {
    let mut s = Script::live();
    s.see(Observation::Disconnected);
    s.done();
    s.wait();
    assert_eq!(
        s.answer(failed(Cause::Refused)),
        ["link backing-off", "> disconnecting"]
    );
    s.done();
    assert_eq!(s.wait(), ["> starting to scan"]);
    s.done();
    for _ in 0..10 {
        s.wait();
        s.done();
        s.done();
    }
    assert_eq!(s.reducer.history.failed, 2);
    assert_eq!(s.see(Observation::UnitSeen(unit("a"))), ["> stopping the scan"]);
    assert_eq!(s.go_live().last().map(String::as_str), Some("link live"));
}

#[test]
fn staying_live_clears_the_attempts() {
    let mut s = Script::live();
    s.see(Observation::Disconnected);
    s.done();
    s.wait();
    s.go_live();
    s.value();
    assert_eq!(s.reducer.history.failed, 1);
    s.at = s.at + STABLE;
    s.value();
    assert_eq!(s.reducer.history.failed, 0);
}

#[test]
fn silence_is_probed_and_a_value_ends_it() {
    let mut s = Script::live();
    assert_eq!(s.wait(), ["link stalled", "> reading booster-feature"]);
    assert_eq!(
        s.at,
        SessionTime::from_millis(3_500),
        "three report intervals and a half second"
    );
    assert_eq!(
        s.value(),
        ["link live"],
        "as after a radio silence or a hung service"
    );
    assert_eq!(s.answer(Answer::Value(feature(1))), ["read booster-feature"]);
    assert_eq!(
        s.reducer.next_deadline(),
        Some(s.at + Duration::from_millis(3_500))
    );
}

#[test]
fn a_unit_that_answers_but_does_not_report_is_enabled_again() {
    let mut s = Script::live();
    s.wait();
    assert_eq!(
        s.answer(Answer::Value(feature(1))),
        ["read booster-feature", "link discovering", "> finding services"]
    );
    for _ in 0..16 {
        s.succeed();
    }
    assert_eq!(s.reducer.state(), LinkState::AwaitingFirstValue);
    assert_eq!(s.wait(), ["link backing-off", "> disconnecting"], "still silent");
}

#[test]
fn a_call_that_never_returns_costs_its_limit() {
    let mut s = Script::live();
    s.wait();
    assert_eq!(s.wait(), ["link backing-off", "> disconnecting"]);
    assert!(s.wait_ms(250).is_empty(), "the farewell still runs");
    // Two calls unanswered: the connection to the bus is taken for dead.
    assert_eq!(s.wait(), ["> opening the Bluetooth adapter"]);
    assert_eq!(s.at, SessionTime::from_millis(3_500 + 10_000));
    assert!(matches!(
        s.reducer.running,
        Some(Running {
            command: Command::Open { rebuild: true },
            ..
        })
    ));
}

#[test]
fn connecting_that_never_returns_is_given_up() {
    let mut s = Script::live();
    s.see(Observation::Disconnected);
    s.done();
    s.wait();
    let begun = s.at;
    let late = s.ticket;
    assert_eq!(s.wait(), ["link backing-off", "> disconnecting"]);
    assert_eq!(s.at.since(begun), CONNECT_LIMIT);
    assert!(
        s.see(Observation::Answer(late, Answer::Done)).is_empty(),
        "a late answer"
    );
}

#[test]
fn a_service_that_dies_is_waited_for() {
    let mut s = Script::live();
    s.wait();
    assert_eq!(
        s.answer(failed(Cause::NoService)),
        ["link no-bluetooth-service", "> disconnecting"]
    );
    s.answer(failed(Cause::NoService));
    assert_eq!(s.wait(), ["> opening the Bluetooth adapter"]);
    assert!(
        s.answer(failed(Cause::NoService)).is_empty(),
        "still absent: no news"
    );
    assert_eq!(s.wait(), ["> opening the Bluetooth adapter"]);
    s.done();
    assert_eq!(s.done(), ["link scanning"]);
    s.see(Observation::UnitSeen(unit("a")));
    assert_eq!(s.go_live().last().map(String::as_str), Some("link live"));
}

#[test]
fn an_adapter_that_is_switched_off_and_on() {
    let mut s = Script::live();
    assert_eq!(s.see(Observation::AdapterPowered(false)), ["link adapter-off"]);
    assert!(s.see(Observation::Disconnected).is_empty(), "either order");
    assert_eq!(
        s.see(Observation::AdapterPowered(true)),
        ["> opening the Bluetooth adapter"]
    );
}

#[test]
fn controllers_removed_and_back() {
    let mut s = Script::live();
    assert_eq!(
        s.see(Observation::Disconnected),
        ["link backing-off", "> disconnecting"]
    );
    assert_eq!(s.see(Observation::AdapterPowered(false)), ["link adapter-off"]);
    assert_eq!(s.wait(), ["> opening the Bluetooth adapter"]);
    assert_eq!(s.answer(failed(Cause::NoAdapter)), ["link no-adapter"]);
    assert_eq!(
        s.wait(),
        ["> opening the Bluetooth adapter"],
        "no signal announces its return"
    );
}

#[test]
fn nothing_to_work_with_from_the_start() {
    for (cause, state) in [
        (Cause::NoService, LinkState::NoBluetoothService),
        (Cause::NoPermission, LinkState::NoPermission),
        (Cause::NoAdapter, LinkState::NoAdapter),
        (Cause::AdapterOff, LinkState::AdapterOff),
    ] {
        let mut s = Script::new(Target::Only);
        s.see(Observation::Start);
        assert_eq!(s.answer(failed(cause)), [format!("link {state}")]);
        assert_eq!(s.see(Observation::Stop), ["link ended"]);
    }
}

#[test]
fn the_program_behind_the_unit_dies_while_the_link_stands() {
    let mut s = Script::live();
    s.wait();
    assert_eq!(
        s.answer(failed(Cause::UnitForgotten)),
        ["link backing-off", "> disconnecting"]
    );
    s.done();
    assert_eq!(s.wait(), ["> starting to scan"], "it has to be seen again");
}

#[test]
fn services_half_resolved() {
    let mut s = Script::live();
    s.see(Observation::Disconnected);
    s.done();
    s.wait();
    s.done();
    let out = s.answer(found(&[C::BoosterFeature, C::BandTable]));
    assert_eq!(out, ["link backing-off", "> disconnecting"]);
}

#[test]
fn another_major_version_is_refused_until_asked_again() {
    let mut s = Script::live();
    s.see(Observation::Disconnected);
    s.done();
    s.wait();
    s.done();
    s.succeed();
    assert_eq!(
        s.answer(Answer::Value(feature(2))),
        ["read booster-feature", "link profile-mismatch", "> disconnecting"]
    );
    assert!(s.reducer.detail.as_deref().is_some_and(|d| d.contains("2.x")));
    s.done();
    assert_eq!(s.reducer.next_deadline(), None, "no hammering");
    assert_eq!(
        s.see(Observation::Request(Request::Retry)),
        ["> opening the Bluetooth adapter"]
    );
}

#[test]
fn another_serial_number_is_another_unit() {
    let mut s = Script::live();
    s.see(Observation::Disconnected);
    s.done();
    s.wait();
    for _ in 0..4 {
        s.succeed();
    }
    assert_eq!(
        s.answer(Answer::Value(RawBytes::from_slice(b"y"))),
        ["read serial-number", "link backing-off", "> disconnecting"]
    );
    s.done();
    s.wait();
    s.done();
    assert!(s.see(Observation::UnitSeen(unit("a"))).is_empty());
    let moved = Unit::new("c", unit("a").name);
    assert_eq!(s.see(Observation::UnitSeen(moved)), ["> stopping the scan"]);
}
