//! An aim at the default site, undisturbed and disturbed.

use super::*;
use crate::aiming::Outcome;
use crate::analysis::Criteria;
use crate::event::Mark;
use crate::link::Pull;
use crate::link::simulator::SimulatorLink;
use booster_simulator::{Action, Scenario, Simulation};

fn plan(bands: Vec<u16>) -> Plan {
    Plan {
        bearings_deg: (0..8).map(|i| 45.0 * f64::from(i)).collect(),
        start: 0,
        objective: Objective::Level,
        bands,
        weights: Vec::new(),
        beam_width_deg: Some(65.0),
    }
}

/// Aims at the default site; the link drops in the middle of a dwell at `drop_s`, a key comes at `key_s`.
fn aim(drop_s: Option<f64>, key_s: Option<(f64, &str)>) -> (Session, Vec<Event>) {
    let scenario = Scenario::named(Scenario::DEFAULT).unwrap();
    let mut link = SimulatorLink::new(Simulation::new(&scenario, 3));
    let mut fold = Fold::new(Criteria::default());
    let mut session = Session::default();
    let (mut drop_s, mut key_s) = (drop_s, key_s);
    let mut log = Vec::new();
    let mut push = |session: &mut Session, fold: &mut Fold, event: Event| {
        feed(session, fold, &event);
        log.push(event);
    };
    let plan = plan(Vec::new());
    let value = serde_json::to_string(&plan).unwrap();
    let name = PLAN_SETTING.to_owned();
    push(
        &mut session,
        &mut fold,
        Event {
            at: SessionTime::ZERO,
            kind: EventKind::Setting { name, value },
        },
    );
    link.simulation_mut().turn(plan.bearings_deg[0]);
    let mut due: Option<(usize, f64)> = Some((0, 1.0));
    while session.advice() != Some(Advice::Done) {
        let event = link.next_event().unwrap();
        let at = event.at;
        assert!(at.seconds() < 3_000.0, "no end");
        if let Some((stop, _)) = due.filter(|(_, rest)| *rest <= at.seconds()) {
            due = None;
            let bearing_deg = Some(plan.bearings_deg[stop]);
            push(
                &mut session,
                &mut fold,
                Event {
                    at,
                    kind: EventKind::Mark(Mark {
                        bearing_deg,
                        ..Mark::default()
                    }),
                },
            );
        }
        push(&mut session, &mut fold, event);
        if drop_s.is_some_and(|drop| drop <= at.seconds()) {
            drop_s = None;
            link.simulation_mut().apply(&Action::Disconnect { away_s: 3.0 });
        }
        if let Some((_, name)) = key_s.filter(|(key, _)| *key <= at.seconds()) {
            key_s = None;
            let name = name.to_owned();
            push(
                &mut session,
                &mut fold,
                Event {
                    at,
                    kind: EventKind::Key { name },
                },
            );
        }
        if let (Some(Advice::Turn(stop)), None) = (session.advice(), due) {
            link.simulation_mut().turn(plan.bearings_deg[stop]);
            due = Some((stop, at.seconds() + 15.0));
        }
    }
    (session, log)
}

fn feed(session: &mut Session, fold: &mut Fold, event: &Event) {
    let mut updates = Vec::new();
    session.event(event);
    fold.apply(event, &mut updates);
    updates.iter().for_each(|update| session.update(update, fold));
}

#[test]
fn the_same_events_give_the_same_result() {
    let (session, log) = aim(None, None);
    let outcome = Outcome::of(&session).unwrap();
    // The wanted cells stand at 140°.
    assert_eq!(outcome.best_bearing_deg, 135.0);
    assert!(outcome.complete && outcome.probability_within_1db >= 0.98);
    assert!(
        outcome
            .stops
            .iter()
            .any(|s| s.bearing_deg == 135.0 && s.visits > 0)
    );
    let (mut again, mut fold) = (Session::default(), Fold::new(Criteria::default()));
    log.iter().for_each(|event| feed(&mut again, &mut fold, event));
    assert_eq!(Outcome::of(&again), Some(outcome));
}

#[test]
fn a_dropped_link_costs_one_dwell() {
    let (undisturbed, _) = aim(None, None);
    // Two seconds into the first dwell.
    let (session, _) = aim(Some(3.0), None);
    assert_eq!((undisturbed.repeated(), session.repeated()), (0, 1));
    let outcome = Outcome::of(&session).unwrap();
    assert_eq!(outcome.best_bearing_deg, 135.0);
    // The lost dwell is in no account.
    let first = &outcome.stops[0];
    assert_eq!(first.visits, 1);
    assert!(first.dwell_s < 9.0, "{}", first.dwell_s);
}

#[test]
fn a_bad_dwell_is_repeated_and_an_aim_ended_by_key() {
    let (session, _) = aim(None, Some((2.5, REPEAT_KEY)));
    assert_eq!(session.repeated(), 1);
    assert_eq!(Outcome::of(&session).unwrap().stops[0].visits, 1);
    let (session, _) = aim(None, Some((30.0, FINISH_KEY)));
    assert!(Outcome::of(&session).unwrap().total_dwell_s < 31.0);
}

#[test]
fn nonsense_in_a_recording_is_no_aim() {
    let mut session = Session::default();
    for value in [
        "",
        "{}",
        "[1]",
        r#"{"bearings_deg":[0],"start":9,"objective":"level","bands":[],"weights":[],"beam_width_deg":null}"#,
    ] {
        let kind = EventKind::Setting {
            name: PLAN_SETTING.to_owned(),
            value: value.to_owned(),
        };
        session.event(&Event {
            at: SessionTime::ZERO,
            kind,
        });
        assert!(session.plan().is_none() && Outcome::of(&session).is_none());
    }
}
