//! The prompted disturbance: what people do during the test, in words at set times of the session.

use crate::event::SessionTime;
use std::time::Duration;

/// Prompts and the share of the period at which each comes. The best case proves nothing: doors and people are what
/// loop margin has to be kept for.
const PROMPTS: [(f64, &str); 4] = [
    (
        0.0,
        "Hands off the donor antenna and its cable; step away from it. Doors as in daily use.",
    ),
    (
        0.25,
        "Open and shut the doors and windows between the two antennas, slowly, one after the other.",
    ),
    (
        0.5,
        "One or two people stand right before the server antenna, then walk about near it; one of them sends data with \
         a phone.",
    ),
    (
        0.75,
        "Everybody away from the antennas; doors as in daily use. Leave everything at rest to the end.",
    ),
];

/// The prompts of a test of this length.
pub fn prompts(length: Duration) -> impl Iterator<Item = (SessionTime, &'static str)> {
    PROMPTS
        .into_iter()
        .map(move |(share, words)| (SessionTime::from(length.mul_f64(share)), words))
}
