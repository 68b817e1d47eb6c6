//! The way to live, and what a healthy connection does.

use super::*;

#[test]
fn the_way_to_live() {
    let mut s = Script::new(Target::Named("a".into()));
    assert_eq!(s.see(Observation::Start), ["> opening the Bluetooth adapter"]);
    assert_eq!(s.done(), ["> starting to scan"]);
    assert_eq!(s.done(), ["link scanning"]);
    assert!(s.see(Observation::UnitSeen(unit("b"))).is_empty(), "another unit");
    assert_eq!(s.see(Observation::UnitSeen(unit("a"))), ["> stopping the scan"]);
    assert_eq!(s.done(), ["link connecting", "> connecting"]);
    assert_eq!(s.done(), ["link discovering", "> finding services"]);
    assert_eq!(
        s.succeed(),
        ["link checking-profile", "> reading booster-feature"]
    );
    assert_eq!(s.succeed(), ["read booster-feature", "> reading band-table"]);
    for _ in 0..5 {
        s.succeed();
    }
    assert_eq!(
        s.succeed(),
        [
            "read hardware-revision",
            "link subscribing",
            "> enabling unit-event"
        ]
    );
    for _ in 0..7 {
        s.succeed();
    }
    assert_eq!(
        s.succeed(),
        ["link awaiting-first-value"],
        "enabling proves nothing"
    );
    assert_eq!(s.value(), ["link live"]);
    assert!(s.value().is_empty());
}

#[test]
fn the_only_unit_is_taken_after_a_look_round() {
    let mut s = Script::new(Target::Only);
    s.see(Observation::Start);
    s.done();
    s.done();
    assert!(s.see(Observation::UnitSeen(unit("a"))).is_empty());
    assert_eq!(s.reducer.next_deadline(), Some(s.at + SETTLE));
    assert_eq!(s.wait(), ["> stopping the scan"]);
    assert_eq!(s.done(), ["link connecting", "> connecting"]);
}

#[test]
fn several_units_wait_for_a_choice() {
    let mut s = Script::new(Target::Only);
    s.see(Observation::Start);
    s.done();
    s.done();
    s.see(Observation::UnitSeen(unit("a")));
    assert_eq!(s.see(Observation::UnitSeen(unit("b"))), ["link scanning"]);
    assert!(s.see(Observation::UnitSeen(unit("b"))).is_empty(), "no news");
    assert_eq!(s.wait(), ["> stopping the scan"]);
    assert_eq!(s.done(), ["> starting to scan"], "and looks on");
    assert!(s.done().is_empty());
    let choice = Request::Choose {
        unit: Some("name-b".into()),
    };
    assert_eq!(s.see(Observation::Request(choice)), ["> stopping the scan"]);
    assert_eq!(s.done(), ["link connecting", "> connecting"]);
    assert_eq!(s.reducer.unit().map(|u| u.id.as_str()), Some("b"));
}

#[test]
fn a_scan_that_finds_nothing_is_started_afresh() {
    let mut s = Script::new(Target::Only);
    s.see(Observation::Start);
    s.done();
    s.done();
    assert_eq!(s.reducer.next_deadline(), Some(s.at + SCAN_RESTART));
    assert_eq!(s.wait(), ["link scanning", "> stopping the scan"]);
    assert_eq!(s.answer(failed(Cause::Refused)), ["> starting to scan"]);
}

#[test]
fn what_is_optional_may_be_missing_or_refused() {
    let mut s = Script::live();
    s.see(Observation::Disconnected);
    s.done();
    s.wait();
    s.done();
    s.answer(found(&[
        C::BoosterFeature,
        C::BandTable,
        C::BandTelemetry,
        C::UnitControl,
    ]));
    s.succeed();
    assert_eq!(
        s.succeed(),
        ["read band-table", "link subscribing", "> enabling band-telemetry"]
    );
    assert_eq!(
        s.value(),
        ["link live"],
        "values may come before everything is enabled"
    );
    assert_eq!(s.done(), ["> enabling unit-control"]);
    assert_eq!(s.answer(failed(Cause::PairingNeeded)), ["link live"], "noted");
    assert!(s.reducer.next_deadline().is_some());
}

#[test]
fn writes_are_carried_out_one_by_one() {
    let mut s = Script::live();
    let write = |c| {
        Observation::Request(Request::Write {
            characteristic: c,
            bytes: RawBytes::new(),
        })
    };
    assert_eq!(s.see(write(C::RecordAccess)), ["> writing record-access"]);
    assert!(s.see(write(C::ReportControl)).is_empty());
    assert_eq!(s.done(), ["written record-access", "> writing report-control"]);
    assert_eq!(
        s.answer(failed(Cause::Refused)),
        ["link live"],
        "refused, and said so"
    );
    s.see(Observation::Disconnected);
    assert_eq!(
        s.see(write(C::UnitControl)),
        ["link backing-off"],
        "not kept for later"
    );
}

#[test]
fn a_slower_report_interval_moves_the_watchdog() {
    let mut s = Script::live();
    let response = booster_profile::control::ControlResponse {
        op_code: 1,
        result: booster_profile::control::ControlResult::Success,
        value: Some(5_000),
    };
    s.reducer.value(s.at, C::ReportControl, &response.encode());
    assert_eq!(
        s.reducer.next_deadline(),
        Some(s.at + Duration::from_millis(15_500))
    );
}

#[test]
fn nothing_stays_behind_on_any_way_out() {
    let mut live = Script::live();
    assert_eq!(live.see(Observation::Stop), ["> disconnecting"]);
    assert_eq!(live.done(), ["link ended"]);

    let mut hung = Script::live();
    hung.see(Observation::Stop);
    assert_eq!(hung.wait(), ["link ended"]);
    assert_eq!(hung.at, SessionTime::from(CLOSE_LIMIT));

    let mut scanning = Script::new(Target::Only);
    scanning.see(Observation::Start);
    scanning.done();
    scanning.done();
    assert_eq!(scanning.see(Observation::Stop), ["> stopping the scan"]);
    assert_eq!(scanning.done(), ["link ended"]);

    let mut connecting = Script::live();
    connecting.see(Observation::Disconnected);
    connecting.done();
    connecting.wait();
    assert_eq!(connecting.see(Observation::Stop), ["> disconnecting"]);
}
