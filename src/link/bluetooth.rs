//! The link over Bluetooth: btleplug below, the reducer above, a bounded queue between.
//!
//! One task (`actor`) uses the adapter. Tasks that receive (`receive`) stamp and push into the [`queue`]. The link
//! itself runs inside [`BluetoothLink::next`], in the caller's task: it pops the queue, lets the reducer decide and
//! hands out events. Streams of the Bluetooth stack are kept for the life of the process, because dropping one makes a
//! task inside its D-Bus layer panic.

mod actor;
pub mod doctor;
pub mod failure;
#[cfg(target_os = "linux")]
mod pairing;
pub mod queue;
mod radio;
mod receive;
mod scan;

pub use radio::ADAPTER_VARIABLE;
pub use scan::{Unavailable, scan};

use super::Request;
use super::command::{Command, Observation, Output, Target, Ticket, Unit};
use super::reducer::Reducer;
use crate::event::{Event, EventKind, LinkState, Origin, SessionTime};
use queue::{CAPACITY, Counts, Item, Queue};
use receive::Clock;
use std::collections::VecDeque;
use std::sync::Arc;
use std::time::{Duration, Instant};
use tokio::sync::mpsc;

/// What the link measured about itself.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LinkStatistics {
    /// Values received from the Bluetooth stack.
    pub received: u64,
    /// Of these, dropped on this computer because the queue was full.
    pub dropped: u64,
    /// Values that wait in the queue.
    pub waiting: usize,
    /// How long the oldest of them has waited.
    pub queue_age: Duration,
}

/// A live link over Bluetooth.
pub struct BluetoothLink {
    reducer: Reducer,
    clock: Clock,
    commands: mpsc::UnboundedSender<(Ticket, Command)>,
    ready: VecDeque<Event>,
    /// Time of the last event: events never go back in time, even if tasks pushed out of order.
    last: SessionTime,
}

impl BluetoothLink {
    /// Starts looking for a unit. `started_at` is the beginning of the session. Must be called within a tokio runtime
    /// with time and I/O enabled.
    pub fn start(target: Target, started_at: Instant) -> Self {
        let clock = Clock {
            queue: Arc::new(Queue::new(CAPACITY)),
            started_at,
        };
        let (commands, receiver) = mpsc::unbounded_channel();
        tokio::spawn(actor::run(
            radio::Radio::new(clock.clone()),
            clock.clone(),
            receiver,
        ));
        let mut link = Self {
            reducer: Reducer::new(target),
            clock,
            commands,
            ready: VecDeque::new(),
            last: SessionTime::ZERO,
        };
        link.observe_now(Observation::Start);
        link
    }

    /// The next event; `None` once the link has ended. Dropping the future loses nothing.
    pub async fn next(&mut self) -> Option<Event> {
        loop {
            if let Some(event) = self.ready.pop_front() {
                return Some(event);
            }
            if self.reducer.has_ended() {
                return None;
            }
            let deadline = self
                .reducer
                .next_deadline()
                .map(|at| self.clock.started_at + Duration::from_micros(at.0));
            tokio::select! {
                // What was received before a deadline counts before it.
                biased;
                (at, item) = self.clock.queue.pop() => self.take(at, item),
                () = sleep_until(deadline) => self.observe_now(Observation::TimePassed),
            }
        }
    }

    /// Passes on what the console asks.
    pub fn request(&mut self, request: Request) {
        self.observe_now(Observation::Request(request));
    }

    /// Begins to end: stops scanning, disconnects. [`Self::next`] yields the rest of the events and then `None`.
    pub fn stop(&mut self) {
        self.observe_now(Observation::Stop);
    }

    /// Ends the link and waits until the adapter is left as it was found, a few seconds at most.
    pub async fn shutdown(mut self) {
        self.stop();
        while self.next().await.is_some() {}
    }

    /// The present state.
    pub fn state(&self) -> LinkState {
        self.reducer.state()
    }

    /// The units seen so far and when each was heard last, to choose from.
    pub fn units(&self) -> impl Iterator<Item = (&Unit, SessionTime)> {
        self.reducer.seen()
    }

    /// Whether several units are in range and a person has to choose.
    pub fn awaits_choice(&self) -> bool {
        self.reducer.awaits_choice()
    }

    /// What the link measured about itself.
    pub fn statistics(&self) -> LinkStatistics {
        let counts: Counts = self.clock.queue.counts();
        LinkStatistics {
            received: counts.received,
            dropped: counts.dropped,
            waiting: counts.waiting,
            queue_age: counts.age(self.clock.now()),
        }
    }

    fn take(&mut self, at: SessionTime, item: Item) {
        let at = self.advance(at);
        match item {
            Item::Value(characteristic, bytes) => {
                self.reducer.value(at, characteristic, &bytes);
                self.carry_on(at);
                let origin = Origin::Pushed;
                self.push(
                    at,
                    EventKind::Value {
                        characteristic,
                        origin,
                        bytes,
                    },
                );
            }
            Item::Dropped(count) => self.push(at, EventKind::Dropped { count }),
            Item::Left(id) => {
                if self.reducer.unit().is_some_and(|unit| unit.id == id) {
                    self.observe(at, Observation::Disconnected);
                }
            }
            Item::Seen(seen) => self.observe(at, seen),
        }
    }

    fn observe_now(&mut self, seen: Observation) {
        let at = self.advance(self.clock.now());
        self.observe(at, seen);
    }

    fn observe(&mut self, at: SessionTime, seen: Observation) {
        self.reducer.observe(at, seen);
        self.carry_on(at);
    }

    fn carry_on(&mut self, at: SessionTime) {
        while let Some(output) = self.reducer.next_output() {
            match output {
                Output::Event(kind) => self.push(at, kind),
                // The actor lives as long as this sender.
                Output::Command(ticket, command) => drop(self.commands.send((ticket, command))),
            }
        }
    }

    fn push(&mut self, at: SessionTime, kind: EventKind) {
        self.ready.push_back(Event { at, kind });
    }

    fn advance(&mut self, at: SessionTime) -> SessionTime {
        self.last = self.last.max(at);
        self.last
    }
}

async fn sleep_until(deadline: Option<Instant>) {
    match deadline {
        Some(deadline) => tokio::time::sleep_until(deadline.into()).await,
        None => std::future::pending().await,
    }
}
