//! An aim at the default site, undisturbed and disturbed.

use super::*;
use crate::aiming::{Objective, Outcome};
use crate::analysis::Criteria;
use crate::fold::Fold;
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

/// Aims at the default site; the link drops in the middle of a dwell at `drop_s`, a step is made at `step_s`.
fn aim(drop_s: Option<f64>, step: Option<(f64, Step)>) -> (Fold, Vec<Event>) {
    let scenario = Scenario::named(Scenario::DEFAULT).unwrap();
    let mut link = SimulatorLink::new(Simulation::new(&scenario, 3));
    let mut fold = Fold::new(Criteria::default());
    let (mut drop_s, mut step) = (drop_s, step);
    let mut log = Vec::new();
    let mut push = |fold: &mut Fold, event: Event| {
        fold.apply(&event, &mut Vec::new());
        log.push(event);
    };
    let plan = plan(Vec::new());
    push(&mut fold, plan.event(SessionTime::ZERO).unwrap());
    link.simulation_mut().turn(plan.bearings_deg[0]);
    let mut due: Option<(usize, f64)> = Some((0, 1.0));
    while fold.aim().prompt() != Some(Prompt::Done) {
        let event = link.next_event().unwrap();
        let at = event.at;
        assert!(at.seconds() < 3_000.0, "no end");
        if let Some((stop, _)) = due.filter(|(_, rest)| *rest <= at.seconds()) {
            due = None;
            push(&mut fold, Step::turned(plan.bearings_deg[stop]).event(at));
        }
        push(&mut fold, event);
        if drop_s.is_some_and(|drop| drop <= at.seconds()) {
            drop_s = None;
            link.simulation_mut().apply(&Action::Disconnect { away_s: 3.0 });
        }
        if let Some((_, step)) = step.take_if(|(key, _)| *key <= at.seconds()) {
            push(&mut fold, step.event(at));
        }
        if let (Some(Prompt::Turn(stop)), None) = (fold.aim().prompt(), due) {
            link.simulation_mut().turn(plan.bearings_deg[stop]);
            due = Some((stop, at.seconds() + 15.0));
        }
    }
    (fold, log)
}

#[test]
fn the_same_events_give_the_same_result() {
    let (fold, log) = aim(None, None);
    let outcome = Outcome::of(fold.aim()).unwrap();
    // The wanted cells stand at 140°.
    assert_eq!(outcome.best_bearing_deg, 135.0);
    assert!(outcome.complete && outcome.probability_within_1db >= 0.98);
    assert!(
        outcome
            .stops
            .iter()
            .any(|s| s.bearing_deg == 135.0 && s.visits > 0)
    );
    let mut again = Fold::new(Criteria::default());
    log.iter().for_each(|event| again.apply(event, &mut Vec::new()));
    assert_eq!(Outcome::of(again.aim()), Some(outcome));
}

#[test]
fn a_dropped_link_costs_one_dwell() {
    let (undisturbed, _) = aim(None, None);
    // Two seconds into the first dwell.
    let (fold, _) = aim(Some(3.0), None);
    assert_eq!((undisturbed.aim().repeated(), fold.aim().repeated()), (0, 1));
    let outcome = Outcome::of(fold.aim()).unwrap();
    assert_eq!(outcome.best_bearing_deg, 135.0);
    // The lost dwell is in no account.
    let first = &outcome.stops[0];
    assert_eq!(first.visits, 1);
    assert!(first.dwell_s < 9.0, "{}", first.dwell_s);
}

#[test]
fn a_bad_dwell_is_repeated_and_an_aim_ended_by_key() {
    let (fold, _) = aim(None, Some((2.5, Step::Repeat)));
    assert_eq!(fold.aim().repeated(), 1);
    assert_eq!(Outcome::of(fold.aim()).unwrap().stops[0].visits, 1);
    let (fold, _) = aim(None, Some((30.0, Step::Finish)));
    assert!(Outcome::of(fold.aim()).unwrap().total_dwell_s < 31.0);
}

/// Two seconds into a dwell that begins at 1 s the person sees that the antenna points elsewhere.
#[test]
fn a_dwell_that_is_undone_leaves_nothing() {
    let (fold, log) = aim(None, Some((2.5, Step::Undo)));
    let outcome = Outcome::of(fold.aim()).unwrap();
    assert_eq!(outcome.best_bearing_deg, 135.0);
    assert_eq!(outcome.stops[0].visits, 1);
    let undone = log
        .iter()
        .position(|e| Step::of(&e.kind) == Some(Step::Undo))
        .unwrap();
    let mut fold = Fold::new(Criteria::default());
    log[..=undone]
        .iter()
        .for_each(|event| fold.apply(event, &mut Vec::new()));
    assert_eq!(fold.aim().prompt(), Some(Prompt::Turn(0)));
    assert!(fold.aim().visits().is_empty());
}

/// Nothing that is heard while hands are on the antenna counts.
#[test]
fn moving_and_settling_begin_the_dwell_anew() {
    let (_, log) = aim(None, None);
    let mut fold = Fold::new(Criteria::default());
    let mut steps = vec![(4.0, Step::Settled), (3.0, Step::Moving), (0.5, Step::Settled)];
    for event in &log {
        if let Some((_, step)) = steps.pop_if(|(at, _)| *at <= event.at.seconds()) {
            fold.apply(&step.event(event.at), &mut Vec::new());
        }
        fold.apply(event, &mut Vec::new());
        match event.at.seconds() {
            at if (3.1..3.9).contains(&at) => assert_eq!(fold.aim().prompt(), Some(Prompt::Settle)),
            at if at > 4.5 => break,
            _ => {}
        }
    }
    let visit = fold.aim().visits().last().unwrap();
    assert!((4.0..4.2).contains(&visit.began_s), "{visit:?}");
    assert!(visit.heard.iter().all(|h| h.at_s >= 4.0));
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
