//! Readings that Trace draws: the last minutes of each band.

use super::Quantity;
use crate::event::SessionTime;
use crate::fold::Update;
use crate::telemetry::Reading;
use std::collections::VecDeque;

/// Readings kept per band: ten minutes at 10 Hz.
const KEPT: usize = 6_000;

/// A reading, as far as it is drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Point {
    pub(super) at: SessionTime,
    /// Readings are missing before this one, or the unit started anew.
    pub(super) after_gap: bool,
    sequence: u64,
    values: [Option<f32>; Quantity::ALL.len()],
}

impl Point {
    pub(super) fn value(&self, quantity: Quantity) -> Option<f64> {
        self.values[quantity as usize].map(f64::from)
    }
}

/// The last readings of every band.
#[derive(Clone, Debug, Default)]
pub struct History {
    bands: Vec<VecDeque<Point>>,
}

impl History {
    /// Takes in what the fold made of an event.
    pub fn observe(&mut self, update: &Update) {
        if let Update::Reading { reading, late: false } = update {
            self.reading(reading);
        }
    }

    fn reading(&mut self, reading: &Reading) {
        if self.bands.len() <= reading.position {
            self.bands.resize_with(reading.position + 1, VecDeque::new);
        }
        let Some(points) = self.bands.get_mut(reading.position) else {
            return;
        };
        if points.len() == KEPT {
            points.pop_front();
        }
        let before = points.back().map(|p| p.sequence);
        points.push_back(Point {
            at: reading.at,
            after_gap: before.is_some_and(|s| s + 1 != reading.sequence),
            sequence: reading.sequence,
            values: std::array::from_fn(|i| Quantity::ALL[i].of(reading).map(|v| v as f32)),
        });
    }

    /// Readings of a band from `start` on, and the one before, oldest first.
    pub(super) fn since(&self, position: usize, start: SessionTime) -> impl Iterator<Item = &Point> {
        let points = self.bands.get(position);
        let first = points.map_or(0, |p| {
            p.partition_point(|point| point.at < start).saturating_sub(1)
        });
        points.into_iter().flat_map(move |p| p.iter().skip(first))
    }

    /// When the oldest reading of a band came.
    pub(super) fn oldest(&self, position: usize) -> Option<SessionTime> {
        Some(self.bands.get(position)?.front()?.at)
    }
}
