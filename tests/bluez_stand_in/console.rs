//! The console itself, in a terminal, on the stand-in: keys go first whatever arrives.

use super::bus::with_bus;
use super::common::terminal::Terminal;
use super::stand_in::{StandIn, State};
use hdrhistogram::Histogram;
use std::time::Instant;

/// Values a second; the unit itself sends about twenty.
const STORM_PER_S: u64 = 5_000;
/// Key presses under the storm.
const PRESSES: usize = 1_000;

/// Under a storm every key changes the screen. How long that takes is printed, not asserted.
#[test]
fn keys_are_alive_under_a_storm() {
    with_bus("console::keys_are_alive_under_a_storm", async |_bus| {
        let stand_in = StandIn::start(State::new());
        let mut terminal = Terminal::start(&["watch", "--from", "ble"]);
        terminal.wait_for_text("B2");
        stand_in.state().storm(STORM_PER_S);
        let mut took = Histogram::<u64>::new(3).expect("a histogram");
        for press in 0..PRESSES {
            let link = press % 2 == 0;
            let pressed = Instant::now();
            terminal.press(if link { "3" } else { "1" });
            terminal.wait_for("the other view", |screen| {
                screen.contents().contains("expected readings") == link
            });
            took.saturating_record(pressed.elapsed().as_micros() as u64);
        }
        let (sent, rate) = stand_in.state().stormed();
        println!(
            "key to screen under {rate:.0} values/s ({sent} in all): p50 {} ms, p99 {} ms, max {} ms",
            took.value_at_quantile(0.5) / 1_000,
            took.value_at_quantile(0.99) / 1_000,
            took.max() / 1_000
        );
        assert!(sent > 0, "the storm blew");
        terminal.press("q");
        assert_eq!(terminal.end(), 0);
    });
}
