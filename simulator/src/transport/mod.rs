//! The way from the unit to the console: connection events, and on demand loss, delay, disorder, damage, dropped
//! connections. Everything that it does to a value is written down in the truth record.

mod truth;

pub use truth::{BandTruth, TransportTruth};

use crate::gatt::Value;
use crate::rng::Rng;
use crate::scenario::TransportSpec;
use booster_profile::{Characteristic, Part};
use std::collections::VecDeque;

/// Longest time that a reordered value is held back, µs.
const HELD_BACK_US: f64 = 250_000.0;

/// The way.
#[derive(Clone, Debug)]
pub struct Transport {
    spec: TransportSpec,
    interval_us: u64,
    pending: VecDeque<(u64, Value)>,
    last_due_us: u64,
    rng: Rng,
    drop_at_us: Option<u64>,
    truth: TransportTruth,
}

impl Transport {
    /// A way with these faults.
    pub fn new(spec: &TransportSpec, bands: usize, rng: Rng) -> Self {
        Self {
            spec: spec.clone(),
            interval_us: (spec.interval_ms * 1000.0) as u64,
            pending: VecDeque::with_capacity(256),
            last_due_us: 0,
            rng,
            drop_at_us: None,
            truth: TransportTruth::new(bands),
        }
    }

    /// What happened to the values so far.
    pub fn truth(&self) -> &TransportTruth {
        &self.truth
    }

    /// A connection begins.
    pub fn begin(&mut self, now_us: u64) {
        self.pending.clear();
        self.last_due_us = now_us;
        self.drop_at_us = (self.spec.drop_every_s > 0.0)
            .then(|| now_us + (self.rng.exponential(self.spec.drop_every_s) * 1e6) as u64);
    }

    /// The connection ends: what was on its way is lost.
    pub fn end(&mut self) {
        while let Some((_, value)) = self.pending.pop_front() {
            self.truth.lost(&value);
        }
        self.drop_at_us = None;
    }

    /// The connection dropped by itself.
    pub fn dropped(&mut self) {
        self.truth.dropped_connection();
        self.end();
    }

    /// How long the unit is out of reach after a dropped connection, s.
    pub fn away_s(&self) -> f64 {
        self.spec.away_s
    }

    /// When the connection drops by itself.
    pub fn drop_at_us(&self) -> Option<u64> {
        self.drop_at_us
    }

    /// When the next value arrives.
    pub fn next_us(&self) -> u64 {
        self.pending.front().map_or(u64::MAX, |(due, _)| *due)
    }

    /// The next value, if it has arrived by `now_us`.
    pub fn take(&mut self, now_us: u64) -> Option<(u64, Value)> {
        if self.next_us() > now_us {
            return None;
        }
        self.pending.pop_front()
    }

    /// The unit hands over a value.
    pub fn send(&mut self, now_us: u64, value: Value) {
        let due = match self.interval_us {
            0 => now_us,
            interval => (now_us / interval + 1) * interval,
        }
        .max(self.last_due_us);
        // Indications are confirmed, so that the radio repeats them until they arrive.
        if value.characteristic.is_indicated() {
            self.last_due_us = due;
            self.pending.push_back((due, value));
            return;
        }
        self.truth.sent(&value);
        for _ in 1..self.spec.storm {
            self.truth.duplicated(&value);
            self.queue(due, value.clone());
        }
        if self.rng.chance(self.spec.loss) {
            self.truth.lost(&value);
            return;
        }
        let value = self.damage(value);
        if self.rng.chance(self.spec.duplicate) {
            self.truth.duplicated(&value);
            self.queue(due, value.clone());
        }
        if self.rng.chance(self.spec.reorder) {
            self.truth.reordered(&value);
            let late = due + (self.rng.uniform() * HELD_BACK_US) as u64;
            self.insert(late, value);
        } else {
            self.queue(due, value);
        }
    }

    fn queue(&mut self, due: u64, value: Value) {
        self.last_due_us = due;
        // A value that was held back may be due later than this one.
        if self.pending.back().is_some_and(|(last, _)| *last > due) {
            self.insert(due, value);
        } else {
            self.pending.push_back((due, value));
        }
    }

    fn insert(&mut self, due: u64, value: Value) {
        let place = self.pending.partition_point(|(at, _)| *at <= due);
        self.pending.insert(place, (due, value));
    }

    fn damage(&mut self, mut value: Value) -> Value {
        if self.rng.chance(self.spec.truncate) {
            let length = self.rng.below(value.bytes.len().max(1));
            value.bytes.truncate(length);
            self.note_malformed(&value);
        } else if value.characteristic == Characteristic::BandTelemetry && self.rng.chance(self.spec.garble) {
            // Half of them say something that a later version may define and this one must ignore: a reserved flag,
            // with bytes to go with it. The other half contradict themselves: a continuation without a field.
            if self.rng.chance(0.5) {
                value.bytes[1] |= 0x20;
                let _ = value.bytes.try_push(0x2A);
            } else {
                value.bytes[0] = (value.bytes[0] & 0x0F) | 0x10;
                value.bytes[1] = 0;
            }
            self.note_malformed(&value);
        }
        value
    }

    fn note_malformed(&mut self, value: &Value) {
        let refused = match value.characteristic {
            Characteristic::BandTelemetry => Part::decode(&value.bytes).is_err(),
            _ => true,
        };
        if refused {
            self.truth.malformed(value);
        }
    }
}
