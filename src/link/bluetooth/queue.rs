//! The bounded queue between the tasks that receive and the link that decides.
//!
//! Receiving must never wait: some systems drop silently behind a task that is late, others queue without bound. So
//! the loss happens here, where it is counted, and the oldest value goes first: what is old must not look live.
//! Observations about the link itself are few and are never dropped.

use crate::event::{RawBytes, SessionTime};
use crate::link::command::Observation;
use booster_profile::Characteristic;
use std::collections::VecDeque;
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::Duration;
use tokio::sync::Notify;

/// Values that wait at most: over half a minute of a six-band unit at 10 Hz.
pub const CAPACITY: usize = 2_048;

/// What waits in the queue.
#[derive(Clone, Debug, PartialEq)]
pub enum Item {
    /// A value arrived unasked.
    Value(Characteristic, RawBytes),
    /// Something about the link.
    Seen(Observation),
    /// The unit with this identifier is no longer connected.
    Left(String),
    /// Values were dropped just before the next item.
    Dropped(u32),
}

/// The queue; shared by any number of pushing tasks and one popping link.
#[derive(Debug)]
pub struct Queue {
    inner: Mutex<Inner>,
    pushed: Notify,
    capacity: usize,
}

#[derive(Debug, Default)]
struct Inner {
    items: VecDeque<(SessionTime, Item)>,
    values: usize,
    dropped: u32,
    counts: Counts,
}

/// What went through the queue.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Counts {
    /// Values pushed.
    pub received: u64,
    /// Of these, dropped.
    pub dropped: u64,
    /// Values that wait now.
    pub waiting: usize,
    /// When the oldest item that waits was received.
    pub oldest: Option<SessionTime>,
}

impl Counts {
    /// How long the oldest item has waited.
    pub fn age(&self, now: SessionTime) -> Duration {
        self.oldest.map_or(Duration::ZERO, |at| now.since(at))
    }
}

impl Queue {
    /// A queue that holds up to `capacity` values.
    pub fn new(capacity: usize) -> Self {
        Self {
            inner: Mutex::default(),
            pushed: Notify::new(),
            capacity: capacity.max(1),
        }
    }

    /// A push cannot leave the queue half changed, so a poisoned lock is as good as any.
    fn lock(&self) -> MutexGuard<'_, Inner> {
        self.inner.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Takes in an item received at a time. Never waits; drops the oldest value when full.
    pub fn push(&self, at: SessionTime, item: Item) {
        let mut inner = self.lock();
        if matches!(item, Item::Value(..)) {
            inner.counts.received += 1;
            if inner.values >= self.capacity
                && let Some(oldest) = inner.items.iter().position(|(_, i)| matches!(i, Item::Value(..)))
            {
                inner.items.remove(oldest);
                inner.values -= 1;
                inner.dropped = inner.dropped.saturating_add(1);
                inner.counts.dropped += 1;
            }
            inner.values += 1;
        }
        inner.items.push_back((at, item));
        drop(inner);
        self.pushed.notify_one();
    }

    /// The oldest item, if one waits.
    pub fn try_pop(&self) -> Option<(SessionTime, Item)> {
        let mut inner = self.lock();
        let at = inner.items.front()?.0;
        if inner.dropped > 0 {
            return Some((at, Item::Dropped(std::mem::take(&mut inner.dropped))));
        }
        let (at, item) = inner.items.pop_front()?;
        if matches!(item, Item::Value(..)) {
            inner.values -= 1;
        }
        Some((at, item))
    }

    /// The oldest item; waits for one. Dropping the future loses nothing.
    pub async fn pop(&self) -> (SessionTime, Item) {
        loop {
            if let Some(item) = self.try_pop() {
                return item;
            }
            self.pushed.notified().await;
        }
    }

    /// What went through so far.
    pub fn counts(&self) -> Counts {
        let inner = self.lock();
        Counts {
            waiting: inner.values,
            oldest: inner.items.front().map(|(at, _)| *at),
            ..inner.counts
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn value(n: u8) -> Item {
        Item::Value(Characteristic::BandTelemetry, RawBytes::from_slice(&[n]))
    }

    fn at(ms: u64) -> SessionTime {
        SessionTime::from_millis(ms)
    }

    #[test]
    fn the_oldest_value_is_dropped_and_counted() {
        let queue = Queue::new(2);
        queue.push(at(1), Item::Seen(Observation::Disconnected));
        for n in 2..=5 {
            queue.push(at(u64::from(n)), value(n));
        }
        assert_eq!(
            queue.counts(),
            Counts {
                received: 4,
                dropped: 2,
                waiting: 2,
                oldest: Some(at(1)),
            }
        );
        assert_eq!(queue.counts().age(at(11)), Duration::from_millis(10));
        assert_eq!(queue.try_pop(), Some((at(1), Item::Dropped(2))));
        assert_eq!(
            queue.try_pop(),
            Some((at(1), Item::Seen(Observation::Disconnected)))
        );
        assert_eq!(queue.try_pop(), Some((at(4), value(4))));
        assert_eq!(queue.try_pop(), Some((at(5), value(5))));
        assert_eq!(queue.try_pop(), None);
        assert_eq!(queue.counts().oldest, None);
    }

    #[tokio::test]
    async fn a_waiting_reader_is_woken() {
        let queue = std::sync::Arc::new(Queue::new(8));
        let reader = tokio::spawn({
            let queue = queue.clone();
            async move { queue.pop().await }
        });
        tokio::task::yield_now().await;
        queue.push(at(7), value(1));
        assert_eq!(reader.await.expect("reader"), (at(7), value(1)));
    }

    proptest! {
        /// Every value comes out or is counted as dropped, in order, and never more than the capacity waits.
        #[test]
        fn nothing_is_lost_silently(capacity in 1_usize..8, script in proptest::collection::vec(any::<bool>(), 0..80)) {
            let queue = Queue::new(capacity);
            let (mut pushed, mut out, mut dropped) = (0_u8, Vec::new(), 0);
            let mut take = |item| match item {
                Some((_, Item::Value(_, bytes))) => out.push(bytes[0]),
                Some((_, Item::Dropped(n))) => dropped += n,
                _ => {}
            };
            for push in script {
                if push { queue.push(at(1), value(pushed)); pushed += 1; } else { take(queue.try_pop()); }
                prop_assert!(queue.counts().waiting <= capacity);
            }
            while let Some(item) = queue.try_pop() { take(Some(item)); }
            prop_assert!(out.is_sorted());
            prop_assert_eq!(out.len() as u32 + dropped, u32::from(pushed));
        }
    }
}
