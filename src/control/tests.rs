//! Asked of the simulated unit, through the same reducer as over the air, in virtual time.

use super::*;
use crate::analysis::Criteria;
use crate::event::SessionTime;
use crate::link::Pull;
use crate::link::simulator::SimulatorLink;
use crate::link::words::{System, Unwritten, not_written};
use crate::sequencer::Sequencer;
use crate::session::{Clock, Header, NotRecording};
use booster_profile::control::{ControlResponse, ControlResult};
use booster_profile::{EventCode, OperatingState};
use booster_simulator::{Action, Scenario, Simulation};
use std::time::Duration;

struct Visit {
    link: SimulatorLink,
    sequencer: Sequencer<NotRecording>,
}

impl Visit {
    fn to(site: &str) -> Self {
        let scenario = Scenario::named(site).unwrap();
        let header = Header::new("sim", "2026-01-01T08:00:00Z".parse().unwrap(), Clock::Simulated);
        let mut visit = Self {
            link: SimulatorLink::new(Simulation::new(&scenario, 1)),
            sequencer: Sequencer::new(Fold::new(Criteria::default()), NotRecording, header),
        };
        visit.go_on(2.0);
        visit
    }

    fn fold(&self) -> &Fold {
        self.sequencer.fold()
    }

    fn go_on(&mut self, seconds: f64) {
        let until = self.fold().now() + Duration::from_secs_f64(seconds);
        let mut updates = Vec::new();
        while self.fold().now() < until
            && let Some(event) = self.link.next_event()
        {
            self.sequencer.push(event, &mut updates);
            updates.clear();
        }
    }

    /// Asks, lets three seconds pass, and says what came of it.
    fn ask(&mut self, ask: Ask) -> Reply {
        ask.check(self.fold()).unwrap();
        let asked = self.fold().now();
        self.link.request(ask.request());
        self.go_on(3.0);
        match self.fold().control().standing(ask, asked, self.fold().now()) {
            Standing::Over(outcome) => reply(ask, Some(outcome), System::Linux),
            other => panic!("{ask:?}: {other:?}"),
        }
    }

    fn says(&mut self, ask: Ask, meaning: &str) {
        let reply = self.ask(ask);
        assert!(reply.meaning.contains(meaning), "{ask:?}: {reply:?}");
    }
}

const SAFE: Ask = Ask::AimSafeOn { restore_s: 300 };

fn attenuation(direction: Direction, tenths: i16) -> Ask {
    Ask::Attenuation {
        band: 0,
        direction,
        value: TenthDb(tenths),
    }
}

#[test]
fn hands_are_on_the_antenna_and_off_again() {
    let mut v = Visit::to(Scenario::DEFAULT);
    v.says(SAFE, "ends by itself in 5 min");
    let state = |v: &Visit| v.fold().unit().unwrap().1.state;
    assert_eq!(state(&v), OperatingState::AimSafe);
    v.says(Ask::IsolationTest { band: None }, "not while aim-safe is on");
    v.says(Ask::AimSafeOff, "somebody has to be at the unit");
    assert_eq!(state(&v), OperatingState::AimSafe);
    v.link.simulation_mut().apply(&Action::Button);
    v.says(Ask::AimSafeOff, "uplink and gain are back");
    assert_ne!(state(&v), OperatingState::AimSafe);
    v.says(Ask::AimSafeOff, "Aim-safe is not on");
}

#[test]
fn aim_safe_ends_by_itself() {
    let mut v = Visit::to(Scenario::DEFAULT);
    v.says(Ask::AimSafeOn { restore_s: 10 }, "10 s");
    v.go_on(10.0);
    assert_ne!(v.fold().unit().unwrap().1.state, OperatingState::AimSafe);
}

#[test]
fn an_isolation_test_needs_somebody_there_and_brings_both_directions() {
    let mut v = Visit::to(Scenario::DEFAULT);
    let test = Ask::IsolationTest { band: Some(0) };
    let refused = v.ask(test);
    assert!(refused.next_step.contains("Press the button"), "{refused:?}");
    v.link.simulation_mut().apply(&Action::Button);
    v.says(test, "radiates");
    v.go_on(2.0);
    let measured =
        |e: &&(SessionTime, crate::telemetry::LoggedEvent)| e.1.event.code == EventCode::IsolationTested;
    assert_eq!(v.fold().unit_events().iter().filter(measured).count(), 2);
}

#[test]
fn more_attenuation_at_any_time_less_only_with_somebody_there() {
    let mut v = Visit::to(Scenario::DEFAULT);
    let gain = |v: &Visit| {
        v.fold().bands()[0]
            .latest
            .unwrap()
            .telemetry
            .extra
            .dl_gain_set
            .unwrap()
    };
    let before = gain(&v);
    v.says(attenuation(Direction::Downlink, 60), "the gain set has changed");
    assert_eq!(gain(&v), TenthDb(before.0 - 60));
    v.says(
        attenuation(Direction::Downlink, 30),
        "somebody has to be at the unit",
    );
    assert_eq!(gain(&v), TenthDb(before.0 - 60));
}

#[test]
fn nothing_latched_off_nothing_to_restart() {
    let mut v = Visit::to(Scenario::DEFAULT);
    v.says(Ask::Restart, "Nothing has latched off");
}

#[test]
fn reporting_and_blinking_touch_nothing_that_radiates() {
    let mut v = Visit::to(Scenario::DEFAULT);
    v.says(Ask::Fast(true), "reports every");
    v.says(Ask::Fast(false), "reports every");
    v.says(Ask::Locate { seconds: 30 }, "blinking");
    v.says(Ask::Locate { seconds: 0 }, "no longer");
    let identity = v.fold().telemetry().identity();
    for ask in [Ask::Fast(true), Ask::Locate { seconds: 30 }] {
        let said = ask.confirmation(identity);
        assert!(said.cautions.is_empty() && said.presence.is_none(), "{said:?}");
        assert!(said.downlink.starts_with("unchanged") && said.uplink.starts_with("unchanged"));
    }
}

#[test]
fn whatever_touches_the_radio_warns_in_both_directions() {
    let identity = Identity::default();
    for ask in every() {
        assert_eq!(Ask::of(ask.characteristic(), &ask.bytes()), Some(ask));
        if !ask.touches_radio() {
            continue;
        }
        let said = ask.confirmation(&identity);
        assert!(!said.downlink.is_empty() && !said.uplink.is_empty());
        assert_eq!(said.cautions.first(), Some(&CALLS), "{ask:?}");
        assert!(said.cautions.contains(&PROTECTION), "{ask:?}");
        assert_eq!(said.afterwards, AFTERWARDS, "{ask:?}");
        assert!(said.presence.is_some(), "{ask:?}");
    }
}

fn every() -> Vec<Ask> {
    vec![
        Ask::Fast(true),
        SAFE,
        Ask::AimSafeOff,
        Ask::IsolationTest { band: None },
        attenuation(Direction::Uplink, 30),
        Ask::Restart,
        Ask::Locate { seconds: 9 },
    ]
}

#[test]
fn every_answer_of_the_profile_is_explained_for_every_request() {
    for ask in every() {
        for code in 1..=9 {
            let result = ControlResult::from_raw(code);
            let outcome = Outcome::Answered(ControlResponse {
                op_code: 1,
                result,
                value: None,
            });
            let said = reply(ask, Some(&outcome), System::Linux);
            assert!(said.meaning.ends_with('.'), "{ask:?} {result:?}: {said:?}");
            let may_be_silent = result == ControlResult::Success || ask == Ask::AimSafeOff;
            assert!(
                may_be_silent || said.next_step.ends_with('.'),
                "{ask:?} {result:?}"
            );
            let changed = matches!(result, ControlResult::Success | ControlResult::Failed);
            assert!(!said.meaning.starts_with("Done") || changed, "{said:?}");
        }
        assert!(reply(ask, None, System::Linux).meaning.contains("not known"));
        assert!(
            reply(ask, Some(&Outcome::LinkLost), System::Linux)
                .meaning
                .contains("not known")
        );
    }
}

#[test]
fn a_write_that_does_not_get_through_is_told_apart() {
    let said = |kind| {
        let mut v = Visit::to(Scenario::DEFAULT);
        let asked = v.fold().now();
        let note = not_written(Characteristic::UnitControl, kind, "told");
        let event = crate::event::Event {
            at: asked,
            kind: crate::event::EventKind::Link {
                state: LinkState::Live,
                detail: Some(note),
            },
        };
        v.sequencer.push(event, &mut Vec::new());
        match v.fold().control().standing(SAFE, asked, asked) {
            Standing::Over(outcome) => reply(SAFE, Some(outcome), System::Linux),
            other => panic!("{other:?}"),
        }
    };
    assert!(said(Unwritten::PairFirst).next_step.contains("pairing mode"));
    assert!(said(Unwritten::Refused).meaning.contains("told"));
    assert!(said(Unwritten::Unanswered).meaning.contains("not known"));
    assert!(said(Unwritten::NotReady).next_step.contains("live"));
}

#[test]
fn a_unit_without_the_feature_is_not_asked() {
    let mut v = Visit::to(Scenario::DEFAULT);
    assert!(Ask::Restart.is_offered(v.fold().telemetry().identity()));
    assert!(!Ask::Restart.is_offered(&Identity::default()));
    v.link
        .simulation_mut()
        .apply(&Action::Disconnect { away_s: 60.0 });
    v.go_on(1.0);
    assert!(SAFE.check(v.fold()).unwrap_err().meaning.contains("the link is"));
}

#[test]
fn an_answer_that_never_comes_is_not_waited_for() {
    let v = Visit::to(Scenario::DEFAULT);
    let asked = v.fold().now();
    let at = |s| {
        v.fold()
            .control()
            .standing(SAFE, asked, asked + Duration::from_secs(s))
    };
    assert_eq!(at(1), Standing::Asking);
    assert_eq!(at(11), Standing::NoAnswer);
}
