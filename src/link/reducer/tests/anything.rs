//! Any sequence of observations at all.

use super::*;
use proptest::prelude::*;

/// Anything that a driver could see.
fn any_observation() -> impl Strategy<Value = Option<Observation>> {
    let cause = proptest::sample::select(Cause::ALL);
    let answer = prop_oneof![
        Just(Answer::Done),
        Just(found(ALL_FOUND)),
        Just(Answer::Value(feature(1))),
        cause.prop_map(failed),
    ];
    prop_oneof![
        4 => Just(None),
        1 => Just(Some(Observation::Disconnected)),
        1 => any::<bool>().prop_map(|on| Some(Observation::AdapterPowered(on))),
        2 => proptest::sample::select(vec!["a", "b"]).prop_map(|id| Some(Observation::UnitSeen(unit(id)))),
        1 => Just(Some(Observation::Request(Request::Retry))),
        1 => Just(Some(Observation::Request(Request::Choose { unit: None }))),
        6 => answer.prop_map(|a| Some(Observation::Answer(Ticket(0), a))),
    ]
}

proptest! {
    /// Whatever happens, the machine waits for an answer, for a time, for a unit or for a person: it never hangs, and a
    /// healthy world brings it back to live.
    #[test]
    fn never_stuck(script in proptest::collection::vec(any_observation(), 0..60)) {
        let mut s = Script::new(Target::Named("a".into()));
        s.see(Observation::Start);
        for seen in script {
            match seen {
                Some(Observation::Answer(_, answer)) => { s.answer(answer); }
                Some(other) => { s.see(other); }
                None if s.reducer.next_deadline().is_some() => { s.wait(); }
                None => {}
            }
            let person = s.reducer.state().waits_for_person();
            prop_assert!(person || s.reducer.next_deadline().is_some(), "{:?}", s.reducer.step);
        }
        s.see(Observation::Request(Request::Choose { unit: Some("a".into()) }));
        for _ in 0..200 {
            if s.reducer.state() == LinkState::Live && s.reducer.step == Step::Flowing {
                return Ok(());
            }
            s.see(Observation::Request(Request::Retry));
            s.see(Observation::UnitSeen(unit("a")));
            s.value();
            if s.reducer.running.is_some() { s.succeed(); } else { s.wait(); }
        }
        prop_assert!(false, "stuck in {:?} {:?}", s.reducer.step, s.reducer.state());
    }
}
