//! What the values of a band have been over the last seconds: the state before and after something happened.

use super::quantity::Quantity;
use crate::event::SessionTime;
use crate::telemetry::Reading;

/// Seconds that count as now: few, so that what was before a sudden change is not in them.
const SECONDS: u64 = 2;
const COUNT: usize = Quantity::ALL.len();

/// Means of every value, `None` where there was none.
pub(super) type Means = [Option<f64>; COUNT];

#[derive(Clone, Copy, Debug, Default)]
struct Slot {
    second: u64,
    sums: [(f64, f64); COUNT],
}

/// Values of the last seconds.
#[derive(Clone, Debug, Default)]
pub(super) struct Recent {
    slots: [Slot; SECONDS as usize],
}

impl Recent {
    /// Takes in a reading.
    pub(super) fn push(&mut self, reading: &Reading) {
        let second = reading.at.0 / 1_000_000;
        let Some(slot) = self.slots.get_mut((second % SECONDS) as usize) else {
            return;
        };
        if slot.second != second {
            *slot = Slot {
                second,
                ..Slot::default()
            };
        }
        for (quantity, (sum, count)) in Quantity::ALL.iter().zip(&mut slot.sums) {
            if let Some(tenths) = quantity.tenths(reading) {
                *sum += f64::from(tenths);
                *count += 1.0;
            }
        }
    }

    /// Means over the seconds up to `now`.
    pub(super) fn means(&self, now: SessionTime) -> Means {
        let second = now.0 / 1_000_000;
        let current = || self.slots.iter().filter(|s| s.second + SECONDS > second);
        std::array::from_fn(|i| {
            let (sum, count) = current().fold((0.0, 0.0), |(sum, count), slot| {
                (sum + slot.sums[i].0, count + slot.sums[i].1)
            });
            (count > 0.0).then(|| sum / count / 10.0)
        })
    }
}
