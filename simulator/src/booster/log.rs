//! What the unit remembers over restarts: events and one history record per band and second.

use booster_profile::record_access::{Log as Which, Select};
use booster_profile::{HistoryRecord, StoredRecord, UnitEvent};
use std::collections::VecDeque;

/// A ring of records with sequences that go on over restarts.
#[derive(Clone, Debug)]
pub struct Ring<T> {
    records: VecDeque<T>,
    capacity: usize,
    next: u32,
}

impl<T> Ring<T> {
    fn new(capacity: usize) -> Self {
        Self {
            records: VecDeque::with_capacity(capacity),
            capacity,
            next: 1,
        }
    }

    /// Sequence of the next record.
    pub fn next_sequence(&self) -> u32 {
        self.next
    }

    /// Adds what `make` builds for the next sequence; the oldest record makes room.
    pub fn push(&mut self, make: impl FnOnce(u32) -> T) {
        if self.capacity == 0 {
            return;
        }
        if self.records.len() == self.capacity {
            self.records.pop_front();
        }
        self.records.push_back(make(self.next));
        self.next = self.next.wrapping_add(1);
    }

    /// Sequence of the oldest record.
    fn first_sequence(&self) -> u32 {
        self.next.wrapping_sub(self.records.len() as u32)
    }

    /// The record with this sequence, if it is still there.
    pub fn get(&self, sequence: u32) -> Option<&T> {
        let index = sequence.wrapping_sub(self.first_sequence());
        self.records.get(index as usize)
    }

    /// All records, oldest first.
    pub fn iter(&self) -> impl Iterator<Item = &T> {
        self.records.iter()
    }

    /// Puts back what an earlier run of the unit remembered.
    pub fn restore(&mut self, records: impl IntoIterator<Item = T>, next: u32) {
        self.records = records.into_iter().collect();
        while self.records.len() > self.capacity {
            self.records.pop_front();
        }
        self.next = next;
    }

    /// Selected sequences as a half-open range.
    fn range(&self, select: Select) -> (u32, u32) {
        let (first, end) = (self.first_sequence(), self.next);
        let (from, to) = match select {
            Select::All => (first, end),
            Select::AtMost(max) => (first, max.saturating_add(1)),
            Select::AtLeast(min) => (min, end),
            Select::Within(min, max) => (min, max.saturating_add(1)),
            Select::First => (first, first.saturating_add(1)),
            Select::Last => (end.saturating_sub(1), end),
        };
        (from.max(first), to.min(end))
    }
}

/// Both logs.
#[derive(Clone, Debug)]
pub struct Memory {
    /// Unit events.
    pub events: Ring<UnitEvent>,
    /// 1 Hz history.
    pub history: Ring<HistoryRecord>,
}

impl Memory {
    /// Logs of these capacities.
    pub fn new(events: u16, history: u32) -> Self {
        Self {
            events: Ring::new(usize::from(events)),
            history: Ring::new(history as usize),
        }
    }

    /// Selected sequences of a log as a half-open range.
    pub fn range(&self, which: Which, select: Select) -> (u32, u32) {
        match which {
            Which::Events => self.events.range(select),
            Which::History => self.history.range(select),
        }
    }

    /// A record as it is sent.
    pub fn record(&self, which: Which, sequence: u32) -> Option<StoredRecord> {
        match which {
            Which::Events => self.events.get(sequence).copied().map(StoredRecord::Event),
            Which::History => self.history.get(sequence).copied().map(StoredRecord::History),
        }
    }
}
