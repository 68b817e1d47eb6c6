//! A dwell as it was heard: enough to take it back, to repeat it, and to go on with it in another session.

use serde::{Deserialize, Serialize};

/// Mean of what came in so far.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Mean {
    sum: f64,
    count: f64,
}

impl Mean {
    pub(super) fn add(&mut self, value: f64) {
        self.sum += value;
        self.count += 1.0;
    }

    pub(super) fn join(&mut self, other: Self) {
        self.sum += other.sum;
        self.count += other.count;
    }

    /// The mean; `None` before the first value.
    pub fn get(self) -> Option<f64> {
        (self.count > 0.0).then(|| self.sum / self.count)
    }
}

/// One fresh measurement, or a silence.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Heard {
    /// When, s of session time.
    pub at_s: f64,
    /// Position of the band.
    pub band: usize,
    /// Which cell and its level in dBm (SINR in dB where that is the objective); `None`: nothing was heard.
    pub level: Option<(u64, f64)>,
}

/// A dwell at a place.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Visit {
    /// Index of the place.
    pub place: usize,
    /// When the antenna came to rest, s of session time.
    pub began_s: f64,
    /// When the dwell ended, s; `None` while it lasts.
    pub ended_s: Option<f64>,
    /// What was heard, in order.
    pub heard: Vec<Heard>,
    /// Composite input of each band, dBm.
    pub composite: Vec<Mean>,
    /// SINR of the wanted cell of each band, dB.
    pub sinr: Vec<Mean>,
}

impl Visit {
    pub(super) fn new(place: usize, began_s: f64, bands: usize) -> Self {
        Self {
            place,
            began_s,
            ended_s: None,
            heard: Vec::new(),
            composite: vec![Mean::default(); bands],
            sinr: vec![Mean::default(); bands],
        }
    }
}
