//! A long visit over a bad link: drops, restarts, loss, damage, disorder, all at random from a seed. The link always
//! comes back, every reading is accounted for, and nothing grows with time.
//!
//! Twenty seeds of half an hour each; `LOOPMARGIN_FULL_DAY=1 cargo test --release --test flaky_day` takes a day each.

#![allow(clippy::expect_used, reason = "a failed assumption should stop the test")]

use booster_simulator::rng::Rng;
use booster_simulator::{Action, Scenario, Simulation};
use loopmargin::analysis::Criteria;
use loopmargin::event::{EventKind, LinkState, SessionTime};
use loopmargin::fold::Fold;
use loopmargin::link::Pull;
use loopmargin::link::simulator::SimulatorLink;

const HALF_AN_HOUR_S: u64 = 1_800;
const DAY_S: u64 = 86_400;
/// Longest that the link may take to be live again once the unit can be heard: a probe, the farewells and the longest
/// pause of the policy.
const BACK_S: f64 = 45.0;
/// Longest that the unit is out of reach at once.
const LONGEST_AWAY_S: f64 = 60.0;

/// One visit over a link that is as bad as the seed says.
fn visit(seed: u64, length_s: u64) -> (Fold, u64) {
    let mut dice = Rng::stream(seed, "flaky day", 0);
    let mut scenario = Scenario::named(Scenario::DEFAULT).expect("the default site");
    let way = &mut scenario.transport;
    way.mtu = [23, 64, 185, 517][dice.below(4)];
    way.loss = dice.uniform() * 0.2;
    way.duplicate = dice.uniform() * 0.05;
    way.reorder = dice.uniform() * 0.05;
    way.truncate = dice.uniform() * 0.02;
    way.garble = dice.uniform() * 0.02;
    way.drop_every_s = 20.0 + dice.uniform() * 600.0;
    way.away_s = dice.uniform() * LONGEST_AWAY_S;
    let mut link = SimulatorLink::new(Simulation::new(&scenario, seed));
    let mut fold = Fold::new(Criteria::default());
    let (mut updates, mut lives, mut down_since_s) = (Vec::new(), 0, Some(0.0));
    let mut next_fault_s = dice.exponential(120.0);
    let end = SessionTime::from_millis(length_s * 1_000);
    while let Some(event) = link.next_event().filter(|e| e.at <= end) {
        let now_s = event.at.seconds();
        match event.kind {
            EventKind::Link {
                state: LinkState::Live,
                ..
            } => {
                lives += 1;
                if let Some(since_s) = down_since_s.take() {
                    let back = now_s - since_s < LONGEST_AWAY_S + BACK_S;
                    assert!(back, "seed {seed}: down {since_s} s to {now_s} s");
                }
            }
            EventKind::Link { .. } if down_since_s.is_none() => down_since_s = Some(now_s),
            _ => {}
        }
        fold.apply(&event, &mut updates);
        updates.clear();
        for request in fold.take_requests() {
            link.request(request);
        }
        if now_s >= next_fault_s {
            next_fault_s = now_s + dice.exponential(120.0);
            let fault = match dice.below(3) {
                0 => Action::Restart,
                1 => Action::Disconnect { away_s: 0.0 },
                _ => Action::Disconnect {
                    away_s: dice.uniform() * LONGEST_AWAY_S,
                },
            };
            // A fault that hits a link that is down keeps it down anew.
            down_since_s = down_since_s.and(Some(now_s));
            link.simulation_mut().apply(&fault);
        }
    }
    (fold, lives)
}

#[test]
fn twenty_seeds() {
    let length_s = if std::env::var_os("LOOPMARGIN_FULL_DAY").is_some() {
        DAY_S
    } else {
        HALF_AN_HOUR_S
    };
    for seed in 0..20 {
        let (fold, lives) = visit(seed, length_s);
        let total = fold.telemetry().total();
        assert!(total.balanced(), "seed {seed}: {total:?}");
        assert!(
            lives > 1 && total.outage > 0,
            "seed {seed}: went live {lives} times, {total:?}"
        );
        // Two bands at 10 Hz, except while the unit was restarting.
        assert!(total.expected >= length_s * 20 * 8 / 10, "seed {seed}: {total:?}");
        assert!(total.readings > total.expected / 4, "seed {seed}: {total:?}");
    }
}
