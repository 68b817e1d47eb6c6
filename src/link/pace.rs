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
    /// The source's time at a moment; it goes on from there.
    anchor: (Instant, SessionTime),
    held: bool,
    /// Events up to this time are handed out at once, whatever the speed; `None`: none are.
    rush: Option<SessionTime>,
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
            anchor: (Instant::now(), SessionTime::ZERO),
            held: false,
            rush: None,
            next: None,
            burst: 0,
            last: SessionTime::ZERO,
        }
    }

    /// The next event, in the source's order and with the source's time, not before that time has come; `None` when
    /// the source is exhausted. Dropping the future loses nothing.
    pub async fn next(&mut self) -> Option<Event> {
        let at = self.peek()?;
        if self.rush.is_some_and(|to| at > to) {
            self.arrive();
        }
        match self.speed {
            _ if self.rush.is_some() => self.breathe().await,
            _ if self.held => std::future::pending().await,
            Speed::Times(_) => match self.moment(at) {
                Some(due) => tokio::time::sleep_until(due).await,
                // A time that no clock can show is never reached.
                None => std::future::pending().await,
            },
            Speed::Max => self.breathe().await,
        }
        self.last = self.last.max(at);
        self.next.take()
    }

    async fn breathe(&mut self) {
        self.burst += 1;
        if self.burst >= BURST {
            self.burst = 0;
            tokio::task::yield_now().await;
        }
    }

    /// The next event on the way of [`Paced::rush`], without waiting; `None` where none is due.
    pub fn next_in_rush(&mut self) -> Option<Event> {
        let to = self.rush?;
        let at = self.peek()?;
        if at > to {
            self.arrive();
            return None;
        }
        self.last = self.last.max(at);
        self.next.take()
    }

    /// Hands out every event up to a time at once; goes on from there as before.
    pub fn rush(&mut self, to: SessionTime) {
        self.rush = Some(to);
    }

    /// The end of [`Paced::rush`], while it goes on.
    pub fn rushing(&self) -> Option<SessionTime> {
        self.rush
    }

    /// Ends [`Paced::rush`] here: time goes on from its end, or from the last event if that lies before.
    pub fn arrive(&mut self) {
        if let Some(to) = self.rush.take() {
            let here = match self.next {
                Some(_) => to.min(self.next.as_ref().map_or(to, |e| e.at)),
                None => self.last,
            };
            self.anchor = (Instant::now(), here.max(self.last));
        }
    }

    /// Holds the source's time, or lets it go on.
    pub fn hold(&mut self, held: bool) {
        self.anchor = (Instant::now(), self.now());
        self.held = held;
    }

    /// Whether the source's time is held.
    pub fn is_held(&self) -> bool {
        self.held
    }

    /// Plays at another speed from now on.
    pub fn set_speed(&mut self, speed: Speed) {
        self.anchor = (Instant::now(), self.now());
        self.speed = speed;
    }

    /// How fast the source is played.
    pub fn speed(&self) -> Speed {
        self.speed
    }

    /// Plays another source from its beginning; held or not, and as fast, as this one.
    pub fn replace(&mut self, source: P) {
        self.source = source;
        (self.next, self.last, self.rush) = (None, SessionTime::ZERO, None);
        self.anchor = (Instant::now(), SessionTime::ZERO);
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
        if self.held || self.rush.is_some() {
            return None;
        }
        let wait = Duration::try_from_secs_f64(at.since(self.anchor.1).as_secs_f64() / times).ok()?;
        self.anchor.0.checked_add(wait)
    }

    /// The source's time now. At full speed time stands at the last event.
    pub fn now(&self) -> SessionTime {
        let (moment, then) = self.anchor;
        match self.speed {
            _ if self.rush.is_some() => self.last,
            _ if self.held => then.max(self.last),
            Speed::Times(times) => (then + moment.elapsed().mul_f64(times.min(1e6))).max(self.last),
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

    #[tokio::test(start_paused = true)]
    async fn held_time_stands_still_and_goes_on_at_another_speed() {
        let mut paced = paced(Speed::Times(1.0));
        for _ in 0..3 {
            paced.next().await;
        }
        tokio::time::advance(Duration::from_millis(900)).await;
        paced.hold(true);
        let held = paced.now();
        assert!(held.0.abs_diff(1_000_000) <= 2_000, "{held:?}");
        let waited = tokio::time::timeout(Duration::from_secs(60), paced.next()).await;
        assert!(waited.is_err() && paced.now() == held);
        assert_eq!(paced.moment(SessionTime::from_millis(5_000)), None);
        paced.set_speed(Speed::Times(4.0));
        paced.hold(false);
        let started = Instant::now();
        assert_eq!(paced.next().await.map(|e| e.at.0), Some(5_000_000));
        assert!(started.elapsed().as_millis().abs_diff(1_000) <= 2);
    }

    #[tokio::test(start_paused = true)]
    async fn a_rush_costs_no_time_and_ends_where_it_was_to() {
        let mut paced = paced(Speed::Times(1.0));
        let started = Instant::now();
        paced.rush(SessionTime::from_millis(3_000));
        let mut seen = Vec::new();
        while let Some(event) = paced.next_in_rush() {
            seen.push(event.at.0 / 1_000);
        }
        assert_eq!(seen, [0, 0, 100]);
        assert_eq!((paced.rushing(), started.elapsed()), (None, Duration::ZERO));
        assert_eq!(paced.now(), SessionTime::from_millis(3_000));
        paced.next().await;
        assert!(started.elapsed().as_millis().abs_diff(2_000) <= 1);
        // The end of the source is the end of the way.
        paced.rush(SessionTime::from_millis(60_000));
        assert_eq!(paced.next().await, None);
        paced.arrive();
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
