//! When to send the state to the viewers: at once if it has been quiet, else a few times a second, and now and then
//! without news, so that a page knows the difference between silence and a lost connection.

use std::time::Duration;
use tokio::time::Instant;

/// Between two states at least: five a second at most.
const LEAST: Duration = Duration::from_millis(200);
/// Between two states at most.
const MOST: Duration = Duration::from_millis(500);

/// The rhythm of one sender.
#[derive(Clone, Copy, Debug, Default)]
pub struct Cadence {
    sent: Option<Instant>,
    news: bool,
}

impl Cadence {
    /// There is something new to send.
    pub fn news(&mut self) {
        self.news = true;
    }

    /// When to send next; `None`: at once.
    pub fn due(&self) -> Option<Instant> {
        let wait = if self.news { LEAST } else { MOST };
        self.sent.map(|sent| sent + wait)
    }

    /// The state was sent.
    pub fn sent(&mut self, now: Instant) {
        (self.sent, self.news) = (Some(now), false);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Times in ms at which a state is sent, with readings at these times.
    fn sent(readings: &[u64], until: u64) -> Vec<u64> {
        let start = Instant::now();
        let mut cadence = Cadence::default();
        let mut out = Vec::new();
        for ms in 0..until {
            let now = start + Duration::from_millis(ms);
            if readings.contains(&ms) {
                cadence.news();
            }
            if cadence.due().is_none_or(|due| due <= now) {
                cadence.sent(now);
                out.push(ms);
            }
        }
        out
    }

    #[test]
    fn news_after_quiet_goes_out_at_once_and_a_flood_five_times_a_second() {
        assert_eq!(sent(&[], 1_200), [0, 500, 1_000]);
        assert_eq!(sent(&[300], 1_000), [0, 300, 800]);
        let flood: Vec<u64> = (0..1_000).collect();
        assert_eq!(sent(&flood, 1_000), [0, 200, 400, 600, 800]);
    }
}
