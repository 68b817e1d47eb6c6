//! Analysis in constant memory: no reading allocates, except one that raises or clears a finding or sizes the advice of
//! an open one anew.
#![allow(clippy::expect_used)]

#[path = "../benches/analysis/recording.rs"]
mod recording;

use loopmargin::analysis::{Analyser, Criteria};
use recording::{Recording, What};

/// Readings until every band has its memory.
const FIRST: u64 = 8;

#[test]
fn a_reading_allocates_only_when_a_finding_changes() {
    let recording = Recording::healthy(1, 2, 600.0);
    assert!(recording.readings > 10_000);
    // A margin that people moving about cross again and again, so that findings come and go.
    let margin = recording.items.iter().find_map(|(_, what)| match what {
        What::Reading(reading, _) => reading.dl_margin(),
        _ => None,
    });
    let mut criteria = Criteria::default();
    criteria.margin.min_db = margin.expect("a unit that reports isolation").db();
    criteria.margin.hysteresis_db = 0.1;
    criteria.durations.factor = 0.1;
    let mut analyser = Analyser::new(criteria);
    let (mut seen, mut quiet, mut changed) = (0, 0, 0);
    let (mut changes, mut open) = (Vec::with_capacity(64), Vec::new());
    for (at, what) in &recording.items {
        let used = allocation_counter::measure(|| match what {
            What::Reading(reading, accounts) => analyser.reading(reading, &recording.identity, *accounts),
            What::Cell(cell) => analyser.cell(*at, cell, &recording.identity),
            What::Unit(status) => analyser.unit(*at, status, &recording.identity),
        });
        seen += 1;
        changes.clear();
        analyser.drain_changes(&mut changes);
        let renewed = open != analyser.open();
        if renewed {
            open = analyser.open().to_vec();
        }
        if renewed || !changes.is_empty() {
            changed += 1;
        } else if seen > FIRST {
            assert_eq!(used.count_total, 0, "at {at}: {used:?}");
            quiet += 1;
        }
    }
    assert!(quiet > 10_000 && changed > 10, "{quiet} {changed}");
}
