//! Real time for sources that have their own: events are handed out when their time has come.

use super::{Pull, Request};
use crate::event::{Event, SessionTime};
use std::str::FromStr;
use std::time::Duration;
use tokio::time::Instant;

/// Events handed out in a row at full speed before other tasks get their turn.
const BURST: u32 = 1_024;

/// How fast a source is played.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Speed {
    /// So many seconds of the source in one second; above 0.
    Times(f64),
    /// As fast as it can be taken in.
    Max,
}

impl Speed {
    /// How fast session time runs against the clock on the wall; `None`: at the same pace.
    pub fn factor(self) -> Option<f64> {
        match self {
            Speed::Times(1.0) => None,
            Speed::Times(times) => Some(times),
            Speed::Max => Some(f64::INFINITY),
        }
    }
}

impl Default for Speed {
    fn default() -> Self {
        Speed::Times(1.0)
    }
}

impl FromStr for Speed {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        match (text, text.parse::<f64>()) {
            ("max", _) => Ok(Speed::Max),
            (_, Ok(times)) if times.is_finite() && times > 0.0 => Ok(Speed::Times(times)),
            _ => Err(format!("`{text}` is no speed: give a number above 0, or `max`")),
        }
    }
}

/// A source that is played in real time.
pub struct Paced<P> {
    source: P,
    speed: Speed,
    started: Instant,
    /// Pulled, and its time has not come.
    next: Option<Event>,
    burst: u32,
    /// Time of the last event handed out.
    last: SessionTime,
}

impl<P: Pull> Paced<P> {
    /// Plays a source from now on.
    pub fn new(source: P, speed: Speed) -> Self {
        Self {
            source,
            speed,
            started: Instant::now(),
            next: None,
            burst: 0,
            last: SessionTime::ZERO,
        }
    }

    /// The next event, in the source's order and with the source's time, not before that time has come; `None` when
    /// the source is exhausted. Dropping the future loses nothing.
    pub async fn next(&mut self) -> Option<Event> {
        let at = self.peek()?;
        match self.speed {
            Speed::Times(_) => match self.moment(at) {
                Some(due) => tokio::time::sleep_until(due).await,
                // A time that no clock can show is never reached.
                None => std::future::pending().await,
            },
            Speed::Max => {
                self.burst += 1;
                if self.burst >= BURST {
                    self.burst = 0;
                    tokio::task::yield_now().await;
                }
            }
        }
        self.last = self.last.max(at);
        self.next.take()
    }

    /// Time of the next event, before it is due; `None` when the source is exhausted.
    pub fn peek(&mut self) -> Option<SessionTime> {
        if self.next.is_none() {
            self.next = self.source.next_event();
        }
        self.next.as_ref().map(|e| e.at)
    }

    /// The moment at which the source's time reaches `at`; `None` at full speed, and where no clock can show it.
    pub fn moment(&self, at: SessionTime) -> Option<Instant> {
        let Speed::Times(times) = self.speed else {
            return None;
        };
        let wait = Duration::try_from_secs_f64(at.seconds() / times).ok()?;
        self.started.checked_add(wait)
    }

    /// The source's time now. At full speed time stands at the last event.
    pub fn now(&self) -> SessionTime {
        match self.speed {
            Speed::Times(times) => {
                SessionTime::from(self.started.elapsed().mul_f64(times.min(1e6))).max(self.last)
            }
            Speed::Max => self.last,
        }
    }

    /// Passes a request to the source.
    pub fn request(&mut self, request: Request) {
        self.source.request(request);
    }

    /// The source.
    pub fn source(&self) -> &P {
        &self.source
    }

    /// The source, to change it.
    pub fn source_mut(&mut self) -> &mut P {
        &mut self.source
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::event::EventKind;

    /// Yields a deadline event at each of the times, in ms.
    struct Times(std::vec::IntoIter<u64>);

    impl Pull for Times {
        fn next_event(&mut self) -> Option<Event> {
            let at = SessionTime::from_millis(self.0.next()?);
            Some(Event {
                at,
                kind: EventKind::Deadline,
            })
        }

        fn request(&mut self, _: Request) {}
    }

    fn paced(speed: Speed) -> Paced<Times> {
        Paced::new(Times(vec![0, 0, 100, 5_000].into_iter()), speed)
    }

    #[tokio::test(start_paused = true)]
    async fn events_come_when_their_time_has_come() {
        let mut paced = paced(Speed::Times(2.0));
        let started = Instant::now();
        for (at_ms, real_ms) in [(0, 0), (0, 0), (100, 50), (5_000, 2_500)] {
            let event = paced.next().await.expect("an event");
            assert_eq!(event.at, SessionTime::from_millis(at_ms));
            // Timers of tokio have a resolution of 1 ms.
            assert!(started.elapsed().as_millis().abs_diff(real_ms) <= 1);
            assert!(paced.now() >= event.at);
        }
        assert_eq!(paced.next().await, None);
    }

    #[tokio::test(start_paused = true)]
    async fn an_abandoned_wait_loses_nothing() {
        let mut paced = paced(Speed::Times(1.0));
        let mut seen = Vec::new();
        for _ in 0..1_000 {
            if let Ok(Some(event)) = tokio::time::timeout(Duration::from_millis(10), paced.next()).await {
                seen.push(event.at.0 / 1_000);
            }
        }
        assert_eq!(seen, [0, 0, 100, 5_000]);
    }

    #[tokio::test(start_paused = true)]
    async fn at_full_speed_no_time_passes() {
        let mut paced = paced(Speed::Max);
        let started = Instant::now();
        while paced.next().await.is_some() {}
        assert_eq!(started.elapsed(), Duration::ZERO);
        assert_eq!(paced.now(), SessionTime::from_millis(5_000));
    }

    #[test]
    fn speeds_in_words() {
        assert_eq!("max".parse(), Ok(Speed::Max));
        assert_eq!("1e3".parse(), Ok(Speed::Times(1_000.0)));
        for wrong in ["0", "-1", "nan", "inf", "", "fast"] {
            assert!(wrong.parse::<Speed>().is_err(), "{wrong}");
        }
    }
}
