//! How often somebody may ask, and how long somebody waits who guesses. Time comes in as an argument.

use std::collections::BTreeMap;
use std::net::IpAddr;
use std::time::{Duration, Instant};

/// Addresses remembered at most; the one heard of least recently goes first.
const REMEMBERED: usize = 256;
/// Requests that may come at once: a page is about ten.
const BURST: f64 = 240.0;
/// Requests per second in the long run.
const RATE: f64 = 40.0;
/// Wait after the first wrong token; it doubles with each.
const FIRST_WAIT: Duration = Duration::from_millis(250);
/// Longest wait.
const LONGEST_WAIT: Duration = Duration::from_secs(16);
/// A quiet hour clears the record.
const FORGIVEN: Duration = Duration::from_secs(3_600);

/// What is remembered of each address.
#[derive(Debug, Default)]
pub struct Limits {
    known: BTreeMap<IpAddr, Record>,
}

#[derive(Clone, Copy, Debug)]
struct Record {
    seen: Instant,
    tokens: f64,
    wrong: u32,
    wrong_at: Instant,
}

impl Limits {
    /// Whether a request from this address is within the rate.
    pub fn allows(&mut self, who: IpAddr, now: Instant) -> bool {
        let record = self.record(who, now);
        let since = now.saturating_duration_since(record.seen).as_secs_f64();
        record.seen = now;
        record.tokens = (record.tokens + since * RATE).min(BURST);
        let allowed = record.tokens >= 1.0;
        if allowed {
            record.tokens -= 1.0;
        }
        allowed
    }

    /// A wrong token came from this address: how long its answer waits.
    pub fn wrong(&mut self, who: IpAddr, now: Instant) -> Duration {
        let record = self.record(who, now);
        if now.saturating_duration_since(record.wrong_at) > FORGIVEN {
            record.wrong = 0;
        }
        record.wrong_at = now;
        let wait = FIRST_WAIT
            .saturating_mul(1 << record.wrong.min(16))
            .min(LONGEST_WAIT);
        record.wrong = record.wrong.saturating_add(1);
        wait
    }

    fn record(&mut self, who: IpAddr, now: Instant) -> &mut Record {
        if !self.known.contains_key(&who)
            && self.known.len() >= REMEMBERED
            && let Some(oldest) = self.known.iter().min_by_key(|(_, r)| r.seen).map(|(ip, _)| *ip)
        {
            self.known.remove(&oldest);
        }
        self.known.entry(who).or_insert(Record {
            seen: now,
            tokens: BURST,
            wrong: 0,
            wrong_at: now,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const PHONE: IpAddr = IpAddr::V4(std::net::Ipv4Addr::new(192, 168, 4, 7));
    const OTHER: IpAddr = IpAddr::V4(std::net::Ipv4Addr::new(192, 168, 4, 8));

    #[test]
    fn a_storm_is_cut_to_the_rate_and_others_do_not_feel_it() {
        let (mut limits, start) = (Limits::default(), Instant::now());
        let allowed = (0..5_000)
            .filter(|i| limits.allows(PHONE, start + Duration::from_micros(200 * i)))
            .count();
        assert_eq!(allowed, 240 + 39);
        assert!(limits.allows(OTHER, start + Duration::from_secs(1)));
        assert!(limits.allows(PHONE, start + Duration::from_secs(2)));
    }

    #[test]
    fn who_guesses_waits_twice_as_long_each_time() {
        let (mut limits, now) = (Limits::default(), Instant::now());
        let waits: Vec<u64> = (0..9)
            .map(|_| limits.wrong(PHONE, now).as_millis() as u64)
            .collect();
        assert_eq!(
            waits,
            [250, 500, 1_000, 2_000, 4_000, 8_000, 16_000, 16_000, 16_000]
        );
        assert_eq!(limits.wrong(OTHER, now), FIRST_WAIT);
        assert_eq!(limits.wrong(PHONE, now + FORGIVEN * 2), FIRST_WAIT);
    }

    #[test]
    fn memory_is_bounded() {
        let (mut limits, start) = (Limits::default(), Instant::now());
        for i in 0..10_000_u32 {
            limits.allows(IpAddr::V4(i.into()), start + Duration::from_millis(i.into()));
        }
        assert_eq!(limits.known.len(), REMEMBERED);
        assert!(limits.known.contains_key(&IpAddr::V4(9_999.into())));
    }
}
